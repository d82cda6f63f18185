// SPDX-License-Identifier: GPL-3.0-or-later
#include "truth.h"

#include "picture.h"
#include "things.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BANDS_MAX = 24, PROFILE_CELLS = 200 };

static const double pi = 3.14159265358979323846;
static const double dip_of_highest = 0.02, dip_of_own = 0.06;
static const double faint_de00 = 4.0, tide_seen_de00 = 1.0;
static const double separated_at = 0.8;        // resolution
static const double water_resistant_at = 0.08; // bound share of the dried strip
static const double noise_floor = 1e-4;        // strength that no camera can see

struct band {
    int apex, low, high; ///< rows; low and high are the valleys
    bool valley_below, valley_above;
    double height, prominence, share, fwhm_mm;
    int leading; ///< the dye that makes up most of the apex, or -1
};

struct measured {
    const struct run *run;
    const struct ink *ink;
    double *strength; ///< a row
    double total;
    struct band bands[BANDS_MAX];
    int band_count;
    double stains_mm[BANDS_MAX];
    int stain_count;
};

static double row_mm(const struct run *run, double row)
{
    return row * run->step_mm;
}

static double length_mm(const struct run *run)
{
    return run->high_end_mm - run->low_end_mm;
}

// From the lower end, as a part of the length.
static double part_of_length(const struct run *run, double mm)
{
    return (mm - run->low_end_mm) / length_mm(run);
}

static double rf_of(const struct run *run, double mm)
{
    return (mm - run->origin_mean_mm) / (run->front_mean_mm - run->origin_mean_mm);
}

// ------------------------------------------------------------------ bands

static int lowest_between(const double *s, int from, int to)
{
    int best = from;
    for (int k = from; k <= to; k++) {
        if (s[k] < s[best]) {
            best = k;
        }
    }
    return best;
}

static int collect_maxima(const double *s, int rows, int *peaks, int capacity)
{
    int count = 0;
    for (int k = 1; k + 1 < rows && count < capacity; k++) {
        if (s[k] > s[k - 1] && s[k] >= s[k + 1] && s[k] > noise_floor) {
            peaks[count++] = k;
        }
    }
    return count;
}

// Takes away the maximum whose dip is the smallest for its needs, until all dips are deep enough.
static int keep_deep(const double *s, int rows, int *peaks, int count)
{
    double highest = 0;
    for (int k = 0; k < count; k++) {
        highest = fmax(highest, s[peaks[k]]);
    }
    for (;;) {
        int worst = -1;
        double worst_ratio = 1;
        for (int k = 0; k < count; k++) {
            int below = k > 0 ? peaks[k - 1] : 0;
            int above = k + 1 < count ? peaks[k + 1] : rows - 1;
            double left = s[peaks[k]] - s[lowest_between(s, below, peaks[k])];
            double right = s[peaks[k]] - s[lowest_between(s, peaks[k], above)];
            double need = fmax(dip_of_highest * highest, dip_of_own * s[peaks[k]]);
            double ratio = fmin(left, right) / need;
            if (ratio < worst_ratio) {
                worst_ratio = ratio;
                worst = k;
            }
        }
        if (worst < 0) {
            return count;
        }
        memmove(peaks + worst, peaks + worst + 1, (size_t)(count - worst - 1) * sizeof *peaks);
        count--;
    }
}

static int leading_dye(const struct measured *m, int row)
{
    int best = -1;
    double most = 0;
    for (int k = 0; m->ink != NULL && k < m->ink->part_count; k++) {
        double load = m->run->dye_load[row * PARTS_MAX + k];
        if (load > most) {
            most = load;
            best = k;
        }
    }
    return best;
}

static double width_of_dye(const struct measured *m, int apex, int dye)
{
    const double *load = m->run->dye_load + dye;
    double half = load[apex * PARTS_MAX] / 2;
    int low = apex;
    int high = apex;
    while (low > 0 && load[low * PARTS_MAX] > half) {
        low--;
    }
    while (high + 1 < m->run->rows && load[high * PARTS_MAX] > half) {
        high++;
    }
    return row_mm(m->run, high - low);
}

static bool near_line(const struct run *run, int row, double more_mm)
{
    return fabs(row_mm(run, row) - run->origin_mean_mm) <= run->strip->line_width_mm / 2 + more_mm;
}

// Two crests of one wavy band: same dye, both away from the line, no further apart than the front
// wavers.
static int join_crests(struct measured *m, int *peaks, int count)
{
    for (int k = 0; k + 1 < count; k++) {
        bool same = leading_dye(m, peaks[k]) == leading_dye(m, peaks[k + 1]);
        bool away = !near_line(m->run, peaks[k], 0.5) && !near_line(m->run, peaks[k + 1], 0.5);
        double apart = row_mm(m->run, peaks[k + 1] - peaks[k]);
        if (same && away && apart < 1 + 2 * m->run->front_spread_mm) {
            int stays =
                m->strength[peaks[k]] >= m->strength[peaks[k + 1]] ? peaks[k] : peaks[k + 1];
            peaks[k] = stays;
            memmove(peaks + k + 1, peaks + k + 2, (size_t)(count - k - 2) * sizeof *peaks);
            count--;
            k--;
        }
    }
    return count;
}

static void describe_band(struct measured *m, const int *peaks, int count, int k, struct band *band)
{
    const double *s = m->strength;
    int rows = m->run->rows;
    int valley_low = k > 0 ? lowest_between(s, peaks[k - 1], peaks[k]) : 0;
    int valley_high = k + 1 < count ? lowest_between(s, peaks[k], peaks[k + 1]) : rows - 1;
    band->apex = peaks[k];
    band->height = s[band->apex];
    band->prominence = (band->height - fmax(s[valley_low], s[valley_high])) / band->height;
    band->low = band->high = band->apex;
    while (band->low > valley_low && s[band->low] > 0.1 * band->height) {
        band->low--;
    }
    while (band->high < valley_high && s[band->high] > 0.1 * band->height) {
        band->high++;
    }
    band->valley_below = k > 0 && band->low == valley_low;
    band->valley_above = k + 1 < count && band->high == valley_high;
    double sum = 0;
    for (int j = valley_low + (k > 0); j <= valley_high; j++) {
        sum += s[j];
    }
    band->share = sum / m->total;
    band->leading = leading_dye(m, band->apex);
    band->fwhm_mm = band->leading >= 0 ? width_of_dye(m, band->apex, band->leading) : 0;
}

static void find_bands(struct measured *m)
{
    int peaks[256];
    int count = collect_maxima(m->strength, m->run->rows, peaks, 256);
    count = keep_deep(m->strength, m->run->rows, peaks, count);
    count = join_crests(m, peaks, count);
    for (int k = 0; k < count; k++) {
        double mm = row_mm(m->run, peaks[k]);
        if (mm < m->run->origin_mean_mm - m->run->strip->line_width_mm / 2 - 1) {
            if (m->stain_count < BANDS_MAX) {
                m->stains_mm[m->stain_count++] = mm;
            }
        } else if (m->band_count < BANDS_MAX) {
            describe_band(m, peaks, count, k, &m->bands[m->band_count++]);
        }
    }
}

static bool measure(const struct scene *scene, const struct run *run, struct measured *ret)
{
    *ret = (struct measured){.run = run};
    int ink = run->strip->ink_index;
    ret->ink = ink >= 0 ? &scene->inks[ink] : NULL;
    ret->strength = calloc((size_t)run->rows, sizeof *ret->strength);
    if (ret->strength == NULL) {
        return false;
    }
    for (int j = 0; j < run->rows; j++) {
        for (int c = 0; c < 3; c++) {
            ret->strength[j] += run->load[3 * j + c];
        }
        ret->total += ret->strength[j];
    }
    if (ret->ink != NULL && ret->total > 0) {
        find_bands(ret);
    }
    return true;
}

// ------------------------------------------------------------------ JSON

static json_t *number(double value)
{
    double rounded = round(value * 1e5) / 1e5;
    return json_real(isfinite(rounded) ? rounded : 0);
}

static json_t *list_of(const double *values, int count)
{
    json_t *list = json_array();
    for (int k = 0; k < count; k++) {
        json_array_append_new(list, number(values[k]));
    }
    return list;
}

static double resolution(const struct measured *m, int k)
{
    if (k < 0 || k + 1 >= m->band_count) {
        return -1;
    }
    const struct band *a = &m->bands[k];
    const struct band *b = &m->bands[k + 1];
    return 1.18 * row_mm(m->run, b->apex - a->apex) / (a->fwhm_mm + b->fwhm_mm);
}

static json_t *or_null(double value)
{
    return value < 0 ? json_null() : number(value);
}

static json_t *band_json(const struct measured *m, int k)
{
    const struct band *band = &m->bands[k];
    const struct run *run = m->run;
    double relative[3];
    double lab[3];
    double white[3];
    const double ones[3] = {1, 1, 1};
    for (int c = 0; c < 3; c++) {
        relative[c] = run->rgb[3 * band->apex + c] / run->paper_rgb[c];
    }
    lab_of_linear(relative, lab);
    lab_of_linear(ones, white);
    double difference = lab_difference(lab, white);
    double hue = fmod(atan2(lab[2], lab[1]) * 180 / pi + 360, 360);
    double below = resolution(m, k - 1);
    double above = resolution(m, k);
    bool separated = (below < 0 || below >= separated_at) && (above < 0 || above >= separated_at);
    double run_mm = run->front_mean_mm - run->origin_mean_mm;
    json_t *json = json_object();
    json_object_set_new(json, "rf", number(rf_of(run, row_mm(run, band->apex))));
    json_object_set_new(json, "start_rf", number(rf_of(run, row_mm(run, band->low))));
    json_object_set_new(json, "end_rf", number(rf_of(run, row_mm(run, band->high))));
    json_object_set_new(json, "start_at_valley", json_boolean(band->valley_below));
    json_object_set_new(json, "end_at_valley", json_boolean(band->valley_above));
    json_object_set_new(json, "pos_mm", number(row_mm(run, band->apex) - run->low_end_mm));
    json_object_set_new(json, "share", number(band->share));
    json_object_set_new(json, "apex_ks", number(band->height));
    json_object_set_new(json, "prominence", number(band->prominence));
    json_object_set_new(json, "lab", list_of(lab, 3));
    json_object_set_new(json, "chroma", number(hypot(lab[1], lab[2])));
    json_object_set_new(json, "hue_deg", number(hue));
    json_object_set_new(json, "contrast_de00", number(difference));
    json_object_set_new(json, "faint", json_boolean(difference < faint_de00));
    json_object_set_new(json, "retained", json_boolean(near_line(run, band->apex, 0.5)));
    json_object_set_new(json, "fwhm_rf", number(band->fwhm_mm / run_mm));
    json_object_set_new(json, "rs_prev", or_null(below));
    json_object_set_new(json, "rs_next", or_null(above));
    json_object_set_new(json, "separated", json_boolean(separated));
    json_object_set_new(json, "overlapping", json_boolean(!separated));
    if (band->leading >= 0) {
        json_object_set_new(json, "leading_dye", json_string(m->ink->parts[band->leading].dye));
    }
    return json;
}

// Where a dye's mobile part is densest; -1 where it only fades away from the line.
static int mobile_apex(const struct measured *m, int dye)
{
    const struct run *run = m->run;
    const double *load = run->dye_load + dye;
    int from = (int)((run->origin_mean_mm + run->strip->line_width_mm / 2 + 0.5) / run->step_mm);
    int best = from;
    for (int j = from; j < run->rows; j++) {
        if (load[j * PARTS_MAX] > load[best * PARTS_MAX]) {
            best = j;
        }
    }
    return best == from ? -1 : best;
}

static double dye_weight(const struct measured *m, const struct spectra *spectra, int k)
{
    return m->run->amount[k] * spectra->dye_load[m->ink->parts[k].dye_index];
}

static double bound_share(const struct measured *m, const struct spectra *spectra)
{
    double bound = 0;
    double all = 0;
    for (int k = 0; m->ink != NULL && k < m->ink->part_count; k++) {
        bound += m->run->bound[k] * dye_weight(m, spectra, k);
        all += dye_weight(m, spectra, k);
    }
    return all > 0 ? bound / all : 0;
}

static double retained_share(const struct measured *m)
{
    double sum = 0;
    for (int j = 0; j < m->run->rows; j++) {
        sum += near_line(m->run, j, 1) ? m->strength[j] : 0;
    }
    return m->total > 0 ? sum / m->total : 0;
}

static json_t *components_json(const struct measured *m, const struct spectra *spectra)
{
    json_t *list = json_array();
    double all = 0;
    for (int k = 0; m->ink != NULL && k < m->ink->part_count; k++) {
        all += dye_weight(m, spectra, k);
    }
    for (int k = 0; m->ink != NULL && k < m->ink->part_count; k++) {
        int apex = mobile_apex(m, k);
        double rf = apex < 0 ? m->ink->parts[k].rf : rf_of(m->run, row_mm(m->run, apex));
        bool own = false;
        for (int b = 0; b < m->band_count; b++) {
            double away = fabs(rf_of(m->run, row_mm(m->run, m->bands[b].apex)) - rf);
            own = own || (m->bands[b].leading == k && away < 0.05);
        }
        json_t *json = json_object();
        json_object_set_new(json, "dye", json_string(m->ink->parts[k].dye));
        json_object_set_new(json, "mobile_apex_rf", number(rf));
        json_object_set_new(json, "share_spectral", number(dye_weight(m, spectra, k) / all));
        json_object_set_new(json, "bound_fraction", number(m->run->bound[k]));
        json_object_set_new(json, "slow_release", number(m->ink->parts[k].slow));
        json_object_set_new(json, "own_band", json_boolean(own));
        json_object_set_new(json, "gradient", json_boolean(apex < 0));
        json_array_append_new(list, json);
    }
    return list;
}

static json_t *profile_json(const struct run *run)
{
    json_t *pos = json_array();
    json_t *load = json_array();
    json_t *relative = json_array();
    for (int k = 0; k < PROFILE_CELLS; k++) {
        double sums[6] = {0};
        double cell_mm = length_mm(run) / PROFILE_CELLS;
        int from = (int)ceil((run->low_end_mm + k * cell_mm) / run->step_mm);
        int to = (int)ceil((run->low_end_mm + (k + 1) * cell_mm) / run->step_mm) - 1;
        to = to < from ? from : to >= run->rows ? run->rows - 1 : to;
        for (int j = from; j <= to; j++) {
            for (int c = 0; c < 3; c++) {
                sums[c] += run->load[3 * j + c] / (to - from + 1);
                sums[3 + c] += run->load_relative[3 * j + c] / (to - from + 1);
            }
        }
        json_array_append_new(pos, number((k + 0.5) / PROFILE_CELLS));
        json_array_append_new(load, list_of(sums, 3));
        json_array_append_new(relative, list_of(sums + 3, 3));
    }
    json_t *json = json_object();
    json_object_set_new(json, "pos", pos);
    json_object_set_new(json, "load", load);
    json_object_set_new(json, "load_relative", relative);
    return json;
}

static json_t *front_signs(const struct measured *m)
{
    const struct run *run = m->run;
    json_t *list = json_array();
    double highest = m->band_count > 0 ? m->bands[m->band_count - 1].apex : 0;
    double run_mm = run->front_mean_mm - run->origin_mean_mm;
    int edge = (int)((run->front_mean_mm - 0.05 * run_mm) / run->step_mm);
    if (m->band_count > 0 && rf_of(run, row_mm(run, highest)) > 0.95) {
        json_array_append_new(list, json_string("dye"));
    } else if (m->strength[edge] > 0.05) {
        json_array_append_new(list, json_string("dye edge"));
    }
    if (tide_line_de00(run) >= tide_seen_de00) {
        json_array_append_new(list, json_string("tide line"));
    }
    if (run->strip->front_pencil == PENCIL_LINE) {
        json_array_append_new(list, json_string("pencil line"));
    } else if (run->strip->front_pencil == PENCIL_TICKS) {
        json_array_append_new(list, json_string("pencil tick"));
    }
    return list;
}

// ------------------------------------------------------------------ places

static void corner(const struct truth_input *in, int s, double u, double v, double ret_px[2])
{
    double x;
    double y;
    double z;
    sheet_world(&in->sheets[s], u, v, &x, &y, &z);
    camera_project(in->camera, x, y, z, &ret_px[0], &ret_px[1]);
}

static void corners(const struct truth_input *in, int s, double ret[4][2])
{
    const struct run *run = &in->runs[s];
    int bottom = (int)(run->low_end_mm / run->step_mm);
    int top = (int)(run->high_end_mm / run->step_mm);
    corner(in, s, run->left_mm[bottom], run->low_end_mm, ret[0]);
    corner(in, s, run->right_mm[bottom], run->low_end_mm, ret[1]);
    corner(in, s, run->right_mm[top], run->high_end_mm, ret[2]);
    corner(in, s, run->left_mm[top], run->high_end_mm, ret[3]);
}

static json_t *corners_json(const struct truth_input *in, double px[4][2], bool stored)
{
    json_t *list = json_array();
    for (int k = 0; k < 4; k++) {
        double place[2] = {px[k][0], px[k][1]};
        if (stored) {
            picture_stored(in->scene, px[k][0], px[k][1], &place[0], &place[1]);
        }
        json_array_append_new(list, list_of(place, 2));
    }
    return list;
}

static bool covered(const struct sheet *sheet, double x, double y)
{
    double u;
    double v;
    sheet_local(sheet, x, y, &u, &v);
    return fabs(u) < sheet->width_mm / 2 && v > 0 && v < sheet->length_mm;
}

static json_t *occluded_json(const struct truth_input *in, int s)
{
    enum { ACROSS = 12, ALONG = 80 };
    int hidden = 0;
    double lowest = 1;
    int by = -1;
    for (int k = 0; k < ACROSS * ALONG; k++) {
        double across = (k % ACROSS + 0.5) / ACROSS - 0.5;
        double along = ((double)(k / ACROSS) + 0.5) / ALONG;
        double x;
        double y;
        double z;
        sheet_world(&in->sheets[s], across * in->runs[s].strip->width_mm,
                    along * in->runs[s].strip->length_mm, &x, &y, &z);
        for (int o = s + 1; o < in->sheet_count; o++) {
            if (covered(&in->sheets[o], x, y)) {
                hidden++;
                by = o;
                lowest = fmin(lowest, along);
                break;
            }
        }
    }
    if (hidden < ACROSS * ALONG / 200) {
        return json_null();
    }
    const char *what = by < in->scene->strip_count    ? "strip"
                       : in->sheets[by].opacity < 0.5 ? "clear tape"
                       : in->sheets[by].height_mm > 2 ? "peg"
                                                      : "tape";
    json_t *json = json_object();
    json_object_set_new(json, "by", json_string(what));
    json_object_set_new(json, "fraction", number((double)hidden / (ACROSS * ALONG)));
    json_object_set_new(json, "from_frac", number(lowest));
    return json;
}

static double direction_deg(double px[4][2])
{
    double dx = (px[2][0] + px[3][0] - px[0][0] - px[1][0]) / 2;
    double dy = (px[2][1] + px[3][1] - px[0][1] - px[1][1]) / 2;
    return fmod(atan2(dx, -dy) * 180 / pi + 360, 360);
}

static bool all_in_frame(const struct scene *scene, double px[4][2])
{
    for (int k = 0; k < 4; k++) {
        if (px[k][0] < 0 || px[k][1] < 0 || px[k][0] > scene->width_px - 1 ||
            px[k][1] > scene->height_px - 1) {
            return false;
        }
    }
    return true;
}

// ------------------------------------------------------------------ strips

static void put_places(const struct truth_input *in, int s, json_t *json)
{
    const struct run *run = &in->runs[s];
    const struct strip *strip = run->strip;
    double px[4][2];
    corners(in, s, px);
    double direction = direction_deg(px);
    json_object_set_new(json, "corners", corners_json(in, px, false));
    json_object_set_new(json, "corners_stored", corners_json(in, px, true));
    json_object_set_new(json, "front_direction_deg", number(direction));
    json_object_set_new(json, "upside_down", json_boolean(direction > 90 && direction < 270));
    json_object_set_new(json, "in_frame", json_boolean(all_in_frame(in->scene, px)));
    json_object_set_new(json, "width_mm", number(strip->width_mm));
    json_object_set_new(json, "length_mm", number(length_mm(run)));
    json_object_set_new(json, "origin_mm", number(run->origin_mean_mm - run->low_end_mm));
    json_object_set_new(json, "front_mm", number(run->front_mean_mm - run->low_end_mm));
    json_object_set_new(json, "origin_frac", number(part_of_length(run, run->origin_mean_mm)));
    json_object_set_new(json, "front_frac", number(part_of_length(run, run->front_mean_mm)));
    json_object_set_new(json, "front_spread_mm", number(run->front_spread_mm));
    double range[2] = {part_of_length(run, run->front_low_mm),
                       part_of_length(run, run->front_high_mm)};
    json_object_set_new(json, "front_range_frac", list_of(range, 2));
    double margins[2] = {strip->margin_left_mm, strip->margin_right_mm};
    json_object_set_new(json, "line_width_mm", number(strip->line_width_mm));
    json_object_set_new(json, "line_slant_deg", number(strip->line_slant_deg));
    json_object_set_new(json, "line_margins_mm", list_of(margins, 2));
    json_object_set_new(json, "ink_amount", number(strip->amount));
    json_object_set_new(json, "occluded", occluded_json(in, s));
}

static void put_paper(const struct truth_input *in, int s, json_t *json)
{
    const struct strip *strip = in->runs[s].strip;
    const struct paper *paper = &in->scene->papers[strip->paper_index];
    json_object_set_new(json, "role", json_string(role_words[strip->role]));
    json_object_set_new(json, "dried", json_boolean(strip_is_dried(strip)));
    if (in->scene->dip) {
        json_object_set_new(json, "style", json_string("dip"));
    }
    json_object_set_new(json, "ink", json_string(strip->ink));
    json_object_set_new(json, "paper", json_string(paper_words[paper->kind]));
    json_object_set_new(json, "label", json_string(strip->label));
    json_object_set_new(json, "pencil_origin", json_string(pencil_words[strip->pencil]));
    json_object_set_new(json, "torn",
                        json_pack("[b,b]", strip->torn_lower_mm > 0, strip->torn_mm > 0));
    if (strip->curl == CURL_NONE) {
        json_object_set_new(json, "curl", json_null());
    } else {
        json_object_set_new(json, "curl",
                            json_pack("{s:s,s:o}", "kind", curl_words[strip->curl], "lift_mm",
                                      number(strip->lift_mm)));
    }
}

static void put_readings(const struct truth_input *in, const struct measured *m, json_t *json)
{
    json_t *signs = front_signs(m);
    json_object_set_new(json, "front_visible", json_boolean(json_array_size(signs) > 0));
    json_object_set_new(json, "front_visible_by", signs);
    json_object_set_new(json, "tide_line_de00", number(tide_line_de00(m->run)));
    json_t *bands = json_array();
    for (int k = 0; k < m->band_count; k++) {
        json_array_append_new(bands, band_json(m, k));
    }
    json_object_set_new(json, "bands", bands);
    json_t *stains = json_array();
    for (int k = 0; k < m->stain_count; k++) {
        json_array_append_new(stains,
                              json_pack("{s:o}", "rf", number(rf_of(m->run, m->stains_mm[k]))));
    }
    json_object_set_new(json, "stains", stains);
    json_object_set_new(json, "components", components_json(m, in->spectra));
    json_object_set_new(json, "retained_share", number(retained_share(m)));
    double bound = bound_share(m, in->spectra);
    json_object_set_new(json, "bound_share", number(bound));
    json_object_set_new(json, "water_resistant_component",
                        strip_is_dried(m->run->strip) ? json_boolean(bound >= water_resistant_at)
                                                      : json_null());
    json_object_set_new(json, "profile", profile_json(m->run));
}

static json_t *pair_json(const struct truth_input *in, const struct measured *all, int first)
{
    const struct measured *wet = &all[first];
    const struct measured *dry = &all[first + 1];
    double bound = bound_share(dry, in->spectra);
    json_t *json = json_object();
    json_object_set_new(json, "strips", json_pack("[i,i]", first, first + 1));
    json_object_set_new(json, "immediate_retained", number(retained_share(wet)));
    json_object_set_new(json, "dried_retained", number(retained_share(dry)));
    json_object_set_new(json, "immediate_bound", number(bound_share(wet, in->spectra)));
    json_object_set_new(json, "dried_bound", number(bound));
    json_object_set_new(json, "water_resistant_component",
                        json_boolean(bound >= water_resistant_at));
    return json;
}

static void put_pairs(const struct truth_input *in, const struct measured *all, json_t *json)
{
    const struct scene *scene = in->scene;
    json_object_set_new(json, "pair", json_null());
    json_object_set_new(json, "pairs", json_null());
    if (scene->layout == LAYOUT_PAIR && scene->strip_count == 2) {
        json_object_set_new(json, "pair", pair_json(in, all, 0));
    } else if (scene->layout == LAYOUT_PAIRS) {
        json_t *list = json_array();
        for (int s = 0; s + 1 < scene->strip_count; s += 2) {
            json_array_append_new(list, pair_json(in, all, s));
        }
        json_object_set_new(json, "pairs", list);
    }
}

static void put_scene(const struct truth_input *in, json_t *json)
{
    const struct scene *scene = in->scene;
    bool turned = picture_turned(scene->orientation);
    json_object_set_new(json, "format", json_string("strip-truth-1"));
    json_object_set_new(json, "photo", json_string(in->photo));
    json_object_set_new(json, "seed", json_integer((json_int_t)scene->seed));
    json_object_set_new(json, "rendered", json_true());
    json_object_set_new(json, "tier", json_string(tier_words[scene->tier]));
    json_object_set_new(json, "medium", json_string("phone-like"));
    json_object_set_new(json, "style", json_string(scene->dip ? "dip" : "tidy"));
    json_object_set_new(json, "layout", json_string(layout_words[scene->layout]));
    json_object_set_new(json, "orientation", json_integer(scene->orientation));
    json_object_set_new(json, "icc", json_string(profile_words[scene->profile]));
    json_object_set_new(json, "bits", json_integer(scene->bits));
    json_object_set_new(json, "displayed_size",
                        json_pack("[i,i]", scene->width_px, scene->height_px));
    json_object_set_new(json, "stored_size",
                        turned ? json_pack("[i,i]", scene->height_px, scene->width_px)
                               : json_pack("[i,i]", scene->width_px, scene->height_px));
    json_object_set_new(json, "px_per_mm", number(scene->px_per_mm));
    json_object_set_new(json, "background", json_string(table_words[scene->table]));
    json_t *objects = json_array();
    for (int k = 0; k < scene->object_count; k++) {
        json_array_append_new(objects, json_string(object_words[scene->objects[k].kind]));
    }
    json_object_set_new(
        json, "scene",
        json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:b,s:o,s:o,s:i,s:o}", "tilt_deg",
                  number(scene->tilt_deg), "distortion_percent", number(scene->distortion_percent),
                  "light_ratio", number(scene->light_ratio), "ev", number(scene->exposure_ev),
                  "cct", number(scene->lamp_k), "wb_corrected", number(scene->balanced), "shadow",
                  scene->shadow > 0, "blur_px", number(scene->blur_px), "noise",
                  number(scene->noise), "jpeg_quality", scene->jpeg_quality, "objects", objects));
    if (scene->negative[0] == '\0') {
        json_object_set_new(json, "negative", json_null());
        json_object_set_new(json, "expect", json_null());
    } else {
        json_object_set_new(json, "negative", json_string(scene->negative));
        json_object_set_new(
            json, "expect",
            json_pack("{s:s,s:b}", "must", scene->must, "bands", scene->bands_allowed));
    }
}

bool truth_write(const struct truth_input *in, const char *path, struct truth_shares *ret_shares)
{
    struct measured all[STRIPS_MAX] = {0};
    json_t *json = json_object();
    json_t *strips = json_array();
    bool ok = json != NULL && strips != NULL;
    put_scene(in, json);
    for (int s = 0; ok && s < in->scene->strip_count; s++) {
        json_t *strip = json_object();
        ok = measure(in->scene, &in->runs[s], &all[s]);
        if (ok) {
            put_paper(in, s, strip);
            put_places(in, s, strip);
            put_readings(in, &all[s], strip);
        }
        json_array_append_new(strips, strip);
    }
    json_object_set_new(json, "strips", strips);
    if (ok && in->scene->strip_count > 0) {
        ret_shares->retained = retained_share(&all[0]);
        ret_shares->bound = bound_share(&all[0], in->spectra);
        ret_shares->water_resistant = ret_shares->bound >= water_resistant_at;
    }
    if (ok) {
        put_pairs(in, all, json);
        ok = json_dump_file(json, path, JSON_INDENT(1) | JSON_REAL_PRECISION(8)) == 0;
    }
    for (int s = 0; s < in->scene->strip_count; s++) {
        free(all[s].strength);
    }
    json_decref(json);
    return ok;
}
