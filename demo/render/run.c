// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Model of one strip (dip of a ruled line, water rising past it). Common practice of planar
 * chromatography and of ink tests where no source is named.
 *
 *  1. A line of ink is ruled by hand: slanted, of uneven width and darkness, short of the edges.
 *  2. A part of each dye is bound: it stays where it was ruled, in the shape of the line.
 *  3. The rest is carried by the water. Its place is counted in s = (v - origin) / (front - origin)
 * of the column, so fronts that are fingered, curved or slanted take the bands along. The mobile
 * band is a Gaussian (dispersion) of the line's width at least, drawn out towards the origin by an
 * exponential tail: the exponentially modified Gaussian (E. Grushka: Characterization of
 * exponentially modified Gaussian peaks in chromatography, Anal. Chem. 44 (1972) 1733).
 *  4. A part of the mobile dye leaves the line slowly. First-order desorption (J. C. Giddings:
 * Dynamics of Chromatography, 1965): it is let go at a constant rate per distance that the water
 * runs, and runs on as the rest does, so its streak thickens upwards and exp(-release) of it still
 * stands on the line. Without a release it is a spread of speeds: a streak that fades upwards over
 * `reach` and leaves nothing behind.
 *  5. What would pass the front gathers in a narrow seam below it.
 *  6. A part bleeds into the bath, downwards from the line.
 *  7. Amounts add up over the dyes as K/S per wavelength; spectrum.c makes light of them.
 * Nothing is lost: all of a dye's amount is on the strip, so the shares put in are the shares
 * drawn.
 */
#include "run.h"

#include "noise.h"

#include <math.h>
#include <stdlib.h>

enum { CURVE_CELLS = 2400 };
static const double curve_from = -0.6, curve_step = 2.0 / CURVE_CELLS; // s = -0.6 .. 1.4
static const double seam_rf = 0.012;     // width of the seam at the front
static const double bleed_mm = 3.0;      // how far the bath carries dye down
static const double line_soft_mm = 0.16; // ink creeps along the fibres while it is ruled
static const double pi = 3.14159265358979323846;

bool strip_is_dried(const struct strip *strip)
{
    return strip->role == ROLE_DRIED || (strip->role == ROLE_SINGLE && strip->dried);
}

static double ramp(double x, double centre, double soft)
{
    return 0.5 * (1.0 + erf((x - centre) / (sqrt(2.0) * soft)));
}

// One dye's mobile part over s, of unit area.
struct curve {
    double value[CURVE_CELLS];
};

static void curve_blur(struct curve *curve, double sigma)
{
    int reach = (int)ceil(3.5 * sigma / curve_step);
    if (reach < 1) {
        return;
    }
    struct curve old = *curve;
    for (int k = 0; k < CURVE_CELLS; k++) {
        double sum = 0;
        double weights = 0;
        for (int o = -reach; o <= reach; o++) {
            double z = o * curve_step / sigma;
            double w = exp(-0.5 * z * z);
            int from = k + o;
            weights += w;
            sum += from >= 0 && from < CURVE_CELLS ? w * old.value[from] : 0;
        }
        curve->value[k] = sum / weights;
    }
}

static double curve_area(const struct curve *curve)
{
    double sum = 0;
    for (int k = 0; k < CURVE_CELLS; k++) {
        sum += curve->value[k];
    }
    return sum * curve_step;
}

// The exponential tail: a recursive filter that runs from the front to the origin.
static void curve_tail(struct curve *curve, double length)
{
    if (length <= curve_step) {
        return;
    }
    double keep = exp(-curve_step / length);
    double carried = 0;
    for (int k = CURVE_CELLS - 1; k >= 0; k--) {
        carried = carried * keep + curve->value[k] * (1 - keep);
        curve->value[k] = carried;
    }
}

static void curve_add_bell(struct curve *curve, double centre, double sigma, double area,
                           double highest)
{
    struct curve bell = {0};
    for (int k = 0; k < CURVE_CELLS; k++) {
        double s = curve_from + (k + 0.5) * curve_step;
        double z = (s - centre) / sigma;
        bell.value[k] = s <= highest ? exp(-0.5 * z * z) : 0;
    }
    double whole = curve_area(&bell);
    for (int k = 0; k < CURVE_CELLS; k++) {
        curve->value[k] += whole > 0 ? area * bell.value[k] / whole : 0;
    }
}

static void curve_gather_at_front(struct curve *curve)
{
    double over = 0;
    for (int k = 0; k < CURVE_CELLS; k++) {
        if (curve_from + (k + 0.5) * curve_step > 1) {
            over += curve->value[k] * curve_step;
            curve->value[k] = 0;
        }
    }
    curve_add_bell(curve, 1 - seam_rf, seam_rf, over, 1);
    curve_blur(curve, 0.003);
}

// Part of the mobile dye that still stands on the line when the water stops.
static double part_left(const struct part *part)
{
    return part->release > 0 ? part->slow * exp(-part->release) : 0;
}

// What was let go when the water still had u of its run to go stands at s = u rf.
static void curve_streak(struct curve *streak, const struct part *part)
{
    double highest = fmax(part->rf, 0.05);
    double growth = part->release > 0 ? part->release / highest : -1 / fmax(part->reach, 0.01);
    for (int k = 0; k < CURVE_CELLS; k++) {
        double s = curve_from + (k + 0.5) * curve_step;
        streak->value[k] = s >= 0 && s <= highest ? exp(growth * s) : 0;
    }
}

static void curve_fill(struct curve *curve, const struct part *part, double line_rf, double run_mm)
{
    *curve = (struct curve){0};
    double spread = hypot(part->spread, line_rf / sqrt(12.0));
    curve_add_bell(curve, part->rf, spread, 1 - part->slow - part->bath, 2);
    curve_tail(curve, part->tail);
    struct curve streak = {0};
    curve_streak(&streak, part);
    curve_blur(&streak, fmax(0.5 * spread, line_rf / 3));
    struct curve bleed = {0};
    for (int k = 0; k < CURVE_CELLS; k++) {
        double s = curve_from + (k + 0.5) * curve_step;
        bleed.value[k] = s <= 0 ? exp(s * run_mm / bleed_mm) : 0;
    }
    curve_blur(&bleed, line_rf / 2);
    double streak_area = curve_area(&streak);
    double bleed_area = curve_area(&bleed);
    for (int k = 0; k < CURVE_CELLS; k++) {
        curve->value[k] += (part->slow - part_left(part)) * streak.value[k] / streak_area;
        curve->value[k] += part->bath * bleed.value[k] / bleed_area;
    }
    curve_gather_at_front(curve);
    double area = curve_area(curve);
    for (int k = 0; k < CURVE_CELLS; k++) {
        curve->value[k] /= area;
    }
}

static double curve_at(const struct curve *curve, double s)
{
    double t = (s - curve_from) / curve_step - 0.5;
    if (t < 0 || t >= CURVE_CELLS - 1) {
        return 0;
    }
    int k = (int)t;
    return curve->value[k] + (t - k) * (curve->value[k + 1] - curve->value[k]);
}

// What the hand did: per column the line's place, width and darkness, and where the water got to.
struct hand {
    double *width_mm, *ruled, *carried; ///< line width; darkness as ruled, and after spreading
};

static void hand_finish(struct hand *hand)
{
    free(hand->width_mm);
    free(hand->ruled);
    free(hand->carried);
}

static void smooth_columns(const double *from, double *to, int count, double sigma_cells)
{
    int reach = (int)ceil(3 * sigma_cells);
    for (int i = 0; i < count; i++) {
        double sum = 0;
        double weights = 0;
        for (int o = -reach; o <= reach; o++) {
            // the paper ends at the edges: what would spread out of it stays in
            int k = i + o < 0 ? -(i + o) - 1 : i + o >= count ? 2 * count - 1 - i - o : i + o;
            double w = exp(-0.5 * o * o / (sigma_cells * sigma_cells));
            weights += w;
            sum += w * from[k < 0 ? 0 : k >= count ? count - 1 : k];
        }
        to[i] = sum / weights;
    }
}

static bool hand_draw(struct run *run, uint64_t seed, struct hand *ret_hand)
{
    const struct strip *strip = run->strip;
    size_t columns = (size_t)run->columns;
    ret_hand->width_mm = calloc(columns, sizeof(double));
    ret_hand->ruled = calloc(columns, sizeof(double));
    ret_hand->carried = calloc(columns, sizeof(double));
    if (ret_hand->width_mm == NULL || ret_hand->ruled == NULL || ret_hand->carried == NULL) {
        return false;
    }
    double slope = tan(strip->line_slant_deg * pi / 180);
    double half = run->box_width_mm / 2;
    for (int i = 0; i < run->columns; i++) {
        double u = i * run->step_mm - half;
        double across = u / half;
        run->origin_mm[i] =
            strip->origin_mm + slope * u + 0.10 * strip->wander * wave_at(seed, u / 3.0);
        run->front_mm[i] = strip->origin_mm + strip->run_mm + strip->front_slant_mm * across / 2 +
                           strip->front_curve_mm * (1.0 / 3.0 - across * across) +
                           strip->fingers_mm * (0.8 * wave_at(seed + 1, u / 3.3) +
                                                0.5 * wave_at(seed + 2, u / 1.3));
        ret_hand->width_mm[i] =
            strip->line_width_mm * (1 + 0.15 * strip->wander * wave_at(seed + 3, u / 2.0) +
                                    0.07 * strip->wander * wave_at(seed + 4, u / 0.6));
        double edge = strip->width_mm / 2;
        ret_hand->ruled[i] = 1 + 0.12 * strip->wander * wave_at(seed + 5, u / 4.0);
        if (strip->margin_left_mm > 0) {
            ret_hand->ruled[i] *= ramp(u, -edge + strip->margin_left_mm, 0.12);
        }
        if (strip->margin_right_mm > 0) {
            ret_hand->ruled[i] *= ramp(-u, -edge + strip->margin_right_mm, 0.12);
        }
    }
    smooth_columns(ret_hand->ruled, ret_hand->carried, run->columns, 1.2 / run->step_mm);
    return true;
}

static void cut_edges(struct run *run, uint64_t seed)
{
    const struct strip *strip = run->strip;
    for (int j = 0; j < run->rows; j++) {
        double v = j * run->step_mm;
        double half = (strip->width_mm + strip->taper_mm * (v / strip->length_mm - 0.5)) / 2;
        run->left_mm[j] = -half + strip->crooked_mm * wave_at(seed + 11, v / 18.0);
        run->right_mm[j] = half + strip->crooked_mm * wave_at(seed + 12, v / 18.0);
    }
}

static bool run_allocate(struct run *run)
{
    size_t columns = (size_t)run->columns;
    size_t rows = (size_t)run->rows;
    run->reflectance = calloc(columns * rows, 3 * sizeof(float));
    run->origin_mm = calloc(columns, sizeof(double));
    run->front_mm = calloc(columns, sizeof(double));
    run->left_mm = calloc(rows, sizeof(double));
    run->right_mm = calloc(rows, sizeof(double));
    run->load = calloc(rows, 3 * sizeof(double));
    run->load_relative = calloc(rows, 3 * sizeof(double));
    run->rgb = calloc(rows, 3 * sizeof(double));
    run->dye_load = calloc(rows, PARTS_MAX * sizeof(double));
    return run->reflectance && run->origin_mm && run->front_mm && run->left_mm && run->right_mm &&
           run->load && run->load_relative && run->rgb && run->dye_load;
}

void run_finish(struct run *run)
{
    free(run->reflectance);
    free(run->origin_mm);
    free(run->front_mm);
    free(run->left_mm);
    free(run->right_mm);
    free(run->load);
    free(run->load_relative);
    free(run->rgb);
    free(run->dye_load);
    *run = (struct run){0};
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static bool measure_front(struct run *run)
{
    int from = (int)(0.05 * run->columns);
    int count = run->columns - 2 * from;
    double *sorted = calloc((size_t)count, sizeof *sorted);
    if (sorted == NULL) {
        return false;
    }
    double squares = 0;
    for (int i = 0; i < count; i++) {
        sorted[i] = run->front_mm[from + i];
        run->origin_mean_mm += run->origin_mm[from + i] / count;
        run->front_mean_mm += run->front_mm[from + i] / count;
    }
    for (int i = 0; i < count; i++) {
        squares += pow(sorted[i] - run->front_mean_mm, 2);
    }
    run->front_spread_mm = sqrt(squares / count);
    qsort(sorted, (size_t)count, sizeof *sorted, compare_doubles);
    run->front_low_mm = sorted[(int)(0.05 * count)];
    run->front_high_mm = sorted[(int)(0.95 * count)];
    free(sorted);
    return true;
}

struct cell_maker {
    const struct ink *ink;
    const struct spectra *spectra;
    const struct hand *hand;
    struct curve *curves; ///< one a part
    double paper_ks[WAVES];
    uint64_t seed;
};

static double part_density(const struct run *run, const struct cell_maker *maker, int k, int column,
                           double v)
{
    double origin = run->origin_mm[column];
    double length = run->front_mm[column] - origin;
    double u = column * run->step_mm;
    double s = (v - origin) / length;
    // each dye takes its own way through the fibres; below the line nothing is carried anywhere
    double stray =
        s > 0 ? 1 + 0.025 * run->strip->wander * wave_at(maker->seed + 20 + (uint64_t)k, u / 5.0)
              : 1;
    double left = (1 - run->bound[k]) * part_left(&maker->ink->parts[k]);
    double mobile = maker->hand->carried[column] * (1 - run->bound[k] - left) *
                    curve_at(&maker->curves[k], s * stray) * stray / length;
    double width = maker->hand->width_mm[column];
    double stays =
        maker->hand->ruled[column] * (run->bound[k] + left) *
        (ramp(v, origin - width / 2, line_soft_mm) - ramp(v, origin + width / 2, line_soft_mm)) /
        width;
    return run->amount[k] * (mobile + stays);
}

static bool make_cell(struct run *run, const struct cell_maker *maker, int column, int row,
                      double density[PARTS_MAX], double ret_rgb[3])
{
    double v = row * run->step_mm;
    double ks[WAVES];
    double most = 0;
    for (int k = 0; k < maker->ink->part_count; k++) {
        density[k] = part_density(run, maker, k, column, v);
        most = fmax(most, density[k]);
    }
    if (most < 1e-6) {
        return false;
    }
    for (int w = 0; w < WAVES; w++) {
        ks[w] = maker->paper_ks[w];
        for (int k = 0; k < maker->ink->part_count; k++) {
            ks[w] += density[k] * maker->spectra->dye[maker->ink->parts[k].dye_index][w];
        }
    }
    spectra_see(maker->spectra, ks, ret_rgb);
    return true;
}

static void add_to_row(struct run *run, int row, const double rgb[3], double weight)
{
    for (int c = 0; c < 3; c++) {
        double white = run->paper_rgb[c];
        run->rgb[3 * row + c] += weight * rgb[c];
        run->load[3 * row + c] += weight * (ks_of_reflectance(rgb[c]) - ks_of_reflectance(white));
        run->load_relative[3 * row + c] += weight * ks_of_reflectance(rgb[c] / white);
    }
}

static void make_row(struct run *run, const struct cell_maker *maker, int row)
{
    double width = run->right_mm[row] - run->left_mm[row];
    double low = run->left_mm[row] + 0.05 * width;
    double high = run->right_mm[row] - 0.05 * width;
    int first = (int)ceil((low + run->box_width_mm / 2) / run->step_mm);
    int last = (int)floor((high + run->box_width_mm / 2) / run->step_mm);
    double weight = 1.0 / (last - first + 1);
    for (int i = 0; i < run->columns; i++) {
        double density[PARTS_MAX] = {0};
        double rgb[3] = {run->paper_rgb[0], run->paper_rgb[1], run->paper_rgb[2]};
        bool dyed = maker->ink != NULL && make_cell(run, maker, i, row, density, rgb);
        float *cell = run->reflectance + 3 * ((size_t)row * (size_t)run->columns + (size_t)i);
        for (int c = 0; c < 3; c++) {
            cell[c] = (float)rgb[c];
        }
        if (i < first || i > last) {
            continue;
        }
        add_to_row(run, row, rgb, weight);
        for (int k = 0; dyed && k < maker->ink->part_count; k++) {
            run->dye_load[row * PARTS_MAX + k] +=
                weight * density[k] * maker->spectra->dye_load[maker->ink->parts[k].dye_index];
        }
    }
}

static void choose_amounts(struct run *run, const struct ink *ink, uint64_t seed)
{
    for (int k = 0; k < ink->part_count; k++) {
        const struct part *part = &ink->parts[k];
        run->bound[k] = strip_is_dried(run->strip) ? part->bound_dried : part->bound;
        run->amount[k] =
            part->amount * run->strip->amount * (1 + 0.03 * wave_at(seed + 40 + (uint64_t)k, 0.0));
    }
}

bool run_create(const struct scene *scene, const struct spectra *spectra, int strip_index,
                struct run *ret_run)
{
    const struct strip *strip = &scene->strips[strip_index];
    uint64_t seed = scene->seed * 1000003u + (uint64_t)strip_index * 101u + 7u;
    struct run run = {.strip = strip, .step_mm = 0.1};
    struct hand hand = {0};
    struct cell_maker maker = {.spectra = spectra, .hand = &hand, .seed = seed};
    bool ok = false;
    run.box_width_mm = strip->width_mm + fabs(strip->taper_mm) / 2 + 2 * strip->crooked_mm + 0.4;
    run.columns = (int)ceil(run.box_width_mm / run.step_mm) + 1;
    run.box_width_mm = (run.columns - 1) * run.step_mm;
    run.rows = (int)ceil(strip->length_mm / run.step_mm) + 1;
    if (!run_allocate(&run) || !hand_draw(&run, seed, &hand)) {
        goto done;
    }
    cut_edges(&run, seed);
    const struct paper *paper = &scene->papers[strip->paper_index];
    spectra_paper(paper->reflectance, maker.paper_ks);
    spectra_see(spectra, maker.paper_ks, run.paper_rgb);
    if (strip->ink_index >= 0) {
        maker.ink = &scene->inks[strip->ink_index];
        choose_amounts(&run, maker.ink, seed);
        maker.curves = calloc((size_t)maker.ink->part_count + 1, sizeof *maker.curves);
        if (maker.curves == NULL) {
            goto done;
        }
        for (int k = 0; k < maker.ink->part_count; k++) {
            curve_fill(&maker.curves[k], &maker.ink->parts[k], strip->line_width_mm / strip->run_mm,
                       strip->run_mm);
        }
    }
    for (int j = 0; j < run.rows; j++) {
        make_row(&run, &maker, j);
    }
    ok = measure_front(&run);
done:
    hand_finish(&hand);
    free(maker.curves);
    if (ok) {
        *ret_run = run;
    } else {
        run_finish(&run);
    }
    return ok;
}
