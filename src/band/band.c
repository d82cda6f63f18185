// SPDX-License-Identifier: GPL-3.0-or-later
/* From a profile to bands:
 * 1. Lay the profile out on the Rf axis (track).
 * 2. Find the maxima that stand out (seed), measure each (measure), drop what is no band (sift).
 * 3. A band's share is its part of the area between its valleys.
 * 4. Fit all of it together (fit). Hand-set limits of bands come in after that (given), so that
 * what is bound does not hang on them; the fit refines apexes and adds bands under others
 * (resolve).
 * 5. Read what is retained at the origin (bound) and how far each colour reaches (reach). */
#include <gsl/gsl_math.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "band/bound.h"
#include "band/fit.h"
#include "band/given.h"
#include "band/measure.h"
#include "band/reach.h"
#include "band/resolve.h"
#include "band/seed.h"
#include "band/sift.h"
#include "band/smear.h"
#include "band/track.h"

static const double z_95 = 1.959964;
/* K/S is proportional to dye only roughly: at dark places blur, gloss and the camera's channels
 * spoil it. Part of a band's load against the others'. */
static const double load_doubt = 0.14;
/* Smear: area of a Gaussian in heights times half widths, what a tail may add to it, a half width
 * that is no band's any more, and the least part of the load that bands must hold. */
static const double gaussian_area = 1.064467, tail_allowance = 1.1;
static const double broad_band = 0.25, smear_part = 0.75;
/* Of a Gaussian: from the apex to a tenth of the height, in half widths. What of a band at the
 * origin must lie in its own shape, and how uncertain the shape's end is, in half widths. */
static const double half_tenth_width = 0.911, streak_part = 0.5, end_doubt = 0.4;
/* Less of the total beside the shape stays with the band, as its valley has it. */
static const double streak_least = 0.1;
/* A maximum less than this many times what noise and light could make hinges on little. */
static const double unsure_clearness = 1.5;
static const double poor_fit = 15.0; /* reduced chi-square, errors with texture and shape in them */

static sl_code no_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "band", "Close other programs and try again.",
                         "There is not enough memory for the bands.");
}

struct extent {
    double from, to; /* Rf between which the strip carries dye */
    double area, se;
    double paper; /* what one standard error of the paper's reflectance adds to the area */
};

static void extent_errors(const struct track *track, struct extent *extent)
{
    extent->paper = track_area_paper(track, extent->from, extent->to);
    extent->se = hypot(track_area_se(track, extent->from, extent->to),
                       track_area_light_se(track, extent->from, extent->to));
}

/* Dye lies where the smoothed load exceeds its error; clean paper beyond it is left out, so that
 * the light's error over the whole strip does not count. */
static struct extent dye_extent(const struct track *track, const struct seeds *seeds)
{
    struct extent extent = {0};
    size_t n = track->count, first = n, last = 0;
    for (size_t i = 0; i < n; i++) {
        double error = 3.0 * seeds->scale[0].smooth_se[i] + track->ghost[i];
        if (track->weight[i] > 0.0 && seeds->scale[0].smooth[i] > error) {
            first = first == n ? i : first;
            last = i;
        }
    }
    if (first < n) {
        extent.from = track->rf[first] - track->mm;
        extent.to = fmin(track->rf[last] + track->mm, 1.15 + 3.0 * track->front_se);
        extent.area = track_area(track, extent.from, extent.to);
        extent_errors(track, &extent);
    }
    return extent;
}

static void set_share(const struct track *track, const struct extent *extent,
                      const struct seeds *seeds, const struct seed *seed, struct sl_band *band)
{
    double from = fmax(seed->given ? seed->from_rf : track->rf[seed->low], extent->from);
    double to = fmin(seed->given ? seed->to_rf : track->rf[seed->high], extent->to);
    double area = from < to ? fmax(track_area(track, from, to), 0.0) : 0.0;
    double share = GSL_MIN(area / extent->area, 1.0);
    double random = track_area_se(track, from, to);
    double light = track_area_light_se(track, from, to);
    double se = hypot(hypot(random, light), share * extent->se) / extent->area;
    /* A valley's place is uncertain by about the smoothing: what lies there may go either way. */
    double edge = seeds->scale[seed->scale].sigma_samples * track->step *
                  (fmax(track->sum[seed->low], 0.0) + fmax(track->sum[seed->high], 0.0));
    se = hypot(hypot(se, 0.5 * edge / extent->area), load_doubt * share * (1.0 - share));
    double paper = (track_area_paper(track, from, to) - share * extent->paper) / extent->area;
    se = hypot(se, paper);
    band->share = share;
    band->share_interval[0] = fmax(share - z_95 * se, 0.0);
    band->share_interval[1] = fmin(share + z_95 * se, 1.0);
}

/* How far off the origin may be while it is still this line's: a place further away is another's.
 */
static double place_doubt(const struct track *track)
{
    return GSL_MIN(z_95 * track->origin_se, track->ruled);
}

static void list_bands(const struct sl_profile *profile, const struct track *track,
                       const struct seeds *seeds, const struct extent *extent, struct sl_bands *ret)
{
    size_t given = 0; /* still to come: they keep their places */
    for (size_t k = 0; k < seeds->count; k++)
        given += seeds->item[k].given;
    for (size_t k = 0; k < seeds->count; k++) {
        const struct seed *seed = &seeds->item[k];
        struct sl_band band;
        given -= seed->given;
        if (ret->count + given >= SL_BANDS_MAX)
            continue;
        band_measure(profile, track, seeds, seed, &band);
        if (seed->given)
            given_measure(track, seed, &band);
        else if (!sift_is_band(track, &band))
            continue;
        set_share(track, extent, seeds, seed, &band);
        band.unsure = !seed->given && seed->clearness < unsure_clearness;
        band.retained = fabs(band.rf) <= retained_limit(track) + place_doubt(track);
        ret->item[ret->count++] = band;
    }
}

/* A shallow valley behind the line may be lost in noise: what lies beyond the retained part may
 * then be another band's, and the interval reaches down to what is retained. */
static void allow_lost_valley(const struct track *track, const struct extent *extent,
                              struct sl_band *band)
{
    double end = fmin(retained_reach(track), extent->to);
    double own = fmax(track_area(track, extent->from, end), 0.0) / extent->area;
    if (!band->retained || band->overlapped || band->given || band->share - own < streak_least)
        return;
    double low = fmax(own - z_95 * load_doubt * own * (1.0 - own), 0.0);
    band->share_interval[0] = fmin(band->share_interval[0], low);
}

/* What lies at the origin and tails into a streak without a valley would take the whole streak in.
 * Where the band's own shape holds less than half of that, its share is what the shape holds, and
 * the rest is streak. */
static void part_from_streak(const struct track *track, const struct extent *extent,
                             struct sl_band *band)
{
    double end = band->rf + half_tenth_width * band->half_width_rf;
    double own = fmax(track_area(track, extent->from, end), 0.0) / extent->area;
    if (!band->retained || band->overlapped || band->given || own > streak_part * band->share ||
        band->share - own < streak_least)
        return;
    double paper = track_area_paper(track, extent->from, end) - own * extent->paper;
    double edge = end_doubt * band->half_width_rf * fmax(track->sum[track_at(track, end)], 0.0);
    double se = hypot(hypot(paper, edge) / extent->area, load_doubt * own * (1.0 - own));
    se = hypot(se, hypot(track_area_se(track, extent->from, end), own * extent->se) / extent->area);
    /* without a valley nobody can tell whether the streak is the band's: the interval has both */
    band->share_interval[0] = fmax(own - z_95 * se, 0.0);
    band->share_interval[1] = fmax(fmin(own + z_95 * se, 1.0), band->share_interval[1]);
    band->share = own;
}

static void set_resolutions(struct sl_bands *ret)
{
    for (size_t k = 0; k + 1 < ret->count; k++)
        ret->item[k].resolution_to_next =
            sl_resolution(ret->item[k].rf, ret->item[k + 1].rf, ret->item[k].half_width_rf,
                          ret->item[k + 1].half_width_rf);
}

/* Fits what was found; without a result `ret` stays empty and the bands stand as measured. */
static sl_code fit_bands(const struct track *track, const struct extent *extent,
                         const struct sl_bands *bands, struct fit *ret, struct sl_status *status)
{
    struct fit_start starts[SL_BANDS_MAX];
    size_t count = 0, at = track_at(track, 0.0);
    for (size_t k = 0; k < bands->count; k++) {
        const struct sl_band *band = &bands->item[k];
        if (band->retained)
            continue;
        struct fit_start *start = &starts[count++];
        *start = (struct fit_start){.rf = band->rf, .half_width = band->half_width_rf};
        double length = band->signature[0] + band->signature[1] + band->signature[2];
        for (int c = 0; c < 3; c++)
            start->load[c] = fmax(band->apex_load * band->signature[c] / length, 0.0);
    }
    double line_load[3];
    for (int c = 0; c < 3; c++)
        line_load[c] = fmax(track->load[at][c], 0.0);
    double from = fmax(extent->from, -0.5 * track->line - 3.0 * track->mm);
    return fit_make(track, from, extent->to + track->mm, starts, count, line_load, ret, status);
}

static sl_code keep_fitted(const struct track *track, const struct fit *fit, struct sl_bands *ret,
                           struct sl_status *status)
{
    ret->fitted = calloc(track->count, sizeof *ret->fitted);
    if (!ret->fitted)
        return no_memory(status);
    for (size_t i = 0; i < track->count; i++) {
        double load[3];
        model_load(&fit->model, fit->result.parameters->data, track->rf[i], load);
        ret->fitted[i] = load[0] + load[1] + load[2];
    }
    ret->goodness = fit->result.chi2 / fit->freedom;
    return SL_OK;
}

/* What the fit and what stands on the line say of the bands that were listed. */
static void measure_bands(const struct sl_profile *profile, const struct track *track,
                          const struct extent *extent, const struct fit *fit,
                          const struct settle *settle, struct sl_bands *ret)
{
    if (fit)
        resolve_bands(profile, track, fit, extent->area, ret);
    for (size_t k = 0; k < ret->count; k++) {
        allow_lost_valley(track, extent, &ret->item[k]);
        part_from_streak(track, extent, &ret->item[k]);
    }
    struct bound_total total = {extent->area, extent->se, extent->paper};
    bound_measure(track, settle, &total, ret);
}

/* All of it once more, from the same maxima and the same fit, with one source of error left out.
 * Where that changes which bands there are, theirs is not told apart. */
static void measure_without(const struct sl_profile *profile, const struct track *track,
                            const struct seeds *seeds, struct extent extent, const struct fit *fit,
                            const struct settle *settle, enum sl_source source,
                            struct sl_bands *ret)
{
    struct sl_bands_without *without = &ret->without[source];
    struct track less = track_without(track, source);
    struct sl_bands bands = {0};
    extent_errors(&less, &extent);
    list_bands(profile, &less, seeds, &extent, &bands);
    measure_bands(profile, &less, &extent, fit, settle, &bands);
    const struct sl_band *item = bands.count == ret->count ? bands.item : ret->item;
    for (size_t k = 0; k < ret->count; k++)
        for (int i = 0; i < 2; i++) {
            without->rf_interval[k][i] = item[k].rf_interval[i];
            without->share_interval[k][i] = item[k].share_interval[i];
        }
    for (int i = 0; i < 2; i++) {
        without->retained_interval[i] = bands.retained_interval[i];
        without->bound_interval[i] = bands.bound_interval[i];
    }
}

static void retained_colour(const struct sl_profile *profile, const struct track *track,
                            struct sl_bands *ret)
{
    double reach = 0.3 * track->line, n = 0.0, lab[3] = {0};
    for (size_t i = 0; i < track->count; i++) {
        if (fabs(track->rf[i]) > reach || track->weight[i] <= 0.0)
            continue;
        n += 1.0;
        for (int c = 0; c < 3; c++)
            lab[c] += profile->lab_d50[i][c];
    }
    for (int c = 0; c < 3; c++)
        ret->retained_lab_d50[c] = n > 0.0 ? lab[c] / n : (c == 0 ? 100.0 : 0.0);
}

/* A band holds about 1.06 times height times half width (a Gaussian), a tailing one somewhat more;
 * what its valleys hold beyond that, and bands broader than a quarter of the way, are streaks. */
static bool is_smeared(const struct sl_bands *bands)
{
    double held = 0.0;
    for (size_t k = 0; k < bands->count; k++) {
        const struct sl_band *band = &bands->item[k];
        double shape = gaussian_area * tail_allowance * band->apex_load * band->half_width_rf;
        double broad = fmin(broad_band / band->half_width_rf, 1.0);
        held += fmin(band->share * bands->total_load, shape) * broad;
    }
    return held < smear_part * bands->total_load;
}

/* "0.12, 0.43": the bands that may as well not be there, and the one that may. */
static void warn_of_count(const struct sl_bands *bands, struct sl_warnings *warnings)
{
    char places[8 * (SL_BANDS_MAX + 1)] = "";
    size_t unsure = 0, used = 0, possible = isfinite(bands->possible_rf) ? 1 : 0;
    for (size_t k = 0; k < bands->count + possible; k++) {
        bool listed = k < bands->count ? bands->item[k].unsure : true;
        double rf = k < bands->count ? bands->item[k].rf : bands->possible_rf;
        if (!listed)
            continue;
        unsure += k < bands->count;
        used += (size_t)snprintf(places + used, sizeof places - used, "%s%.2f", used ? ", " : "",
                                 fmin(fmax(rf, -9.0), 99.0));
    }
    if (used > 0)
        sl_warn(warnings, SL_W_BAND_COUNT, "band", "Compare with another strip of this ink.",
                "%zu to %zu bands describe the strip about equally well; in doubt: Rf %s.",
                bands->count - unsure, bands->count + possible, places);
}

static void warn_of_smear(const struct track *track, const struct sl_bands *bands,
                          struct sl_warnings *warnings)
{
    char looks[SMEAR_BYTES];
    smear_describe(track, bands, looks);
    sl_warn(warnings, SL_W_SMEAR, "band",
            "Read how far each colour reaches; a longer run may part the dyes.",
            "Much of the dye stands in a streak or gradient and not in bands%s%s.",
            looks[0] ? ": " : "", looks);
}

static void warn(const struct sl_profile *profile, const struct track *track,
                 const struct sl_bands *bands, bool fitted, struct sl_warnings *warnings)
{
    size_t saturated = 0;
    for (size_t i = 0; i < profile->count; i++)
        saturated += (profile->flags[i] & SL_CELL_SATURATED) != 0;
    if (saturated > 0)
        sl_warn(warnings, SL_W_SATURATED, "band", "Use less ink, or a longer exposure.",
                "In %zu of %zu places along the strip the ink is too dark to tell how much of it "
                "there is: shares there are lower limits.",
                saturated, profile->count);
    if (bands->smeared)
        warn_of_smear(track, bands, warnings);
    warn_of_count(bands, warnings);
    if (!fitted || bands->goodness > poor_fit)
        sl_warn(warnings, SL_W_FIT, "band", "Trust positions more than shares and widths.",
                "The profile could not be described well by bands, a line and streaks.");
}

/* What came out before any band was measured. */
enum outcome { BANDS, BLANK, WITHHELD };

struct sl_band_work {
    enum outcome outcome;
    struct track track;
    struct seeds seeds;
    struct extent extent;
    struct sl_bands found; /* listed, without limits set by hand */
    bool fitted, settled, asked;
    struct fit fit;
    struct settle settle;
};

static void blank(struct sl_bands *bands, struct sl_warnings *warnings)
{
    sl_warn(warnings, SL_W_BLANK, "band", "Check that this is the strip that carried the ink.",
            "There is no ink on the strip that stands out from the paper.");
    bands->retained_lab_d50[0] = 100.0;
}

/* Without an origin there is no Rf and nothing is known to be retained. */
static void withhold(struct sl_bands *bands)
{
    bands->retained_share = bands->bound_share = NAN;
    for (int i = 0; i < 2; i++)
        bands->retained_interval[i] = bands->bound_interval[i] = NAN;
    for (int c = 0; c < 3; c++)
        bands->retained_lab_d50[c] = NAN;
}

static void leave_bound_open(struct sl_bands *bands)
{
    bands->bound_open = true;
    bands->bound_share = NAN;
    for (int i = 0; i < 2; i++) {
        bands->bound_interval[i] = NAN;
        for (int source = 0; source < SL_SOURCE_COUNT; source++)
            bands->without[source].bound_interval[i] = NAN;
    }
}

static enum outcome look(const struct sl_profile *profile, const struct sl_marks *marks,
                         struct sl_band_work *work)
{
    struct extent *extent = &work->extent;
    *extent = dye_extent(&work->track, &work->seeds);
    if (marks->origin_outside && !marks->blank)
        return WITHHELD;
    if (!marks->blank && extent->area > 0.0)
        list_bands(profile, &work->track, &work->seeds, extent, &work->found);
    bool nothing = marks->blank || extent->area <= 3.0 * extent->se;
    if (sift_is_pencil_only(&work->found) || sift_is_no_ink(&work->found) ||
        (work->found.count == 0 && nothing))
        return BLANK;
    work->fitted = !fit_bands(&work->track, extent, &work->found, &work->fit, NULL);
    return BANDS;
}

sl_code sl_band_work_make(const struct sl_profile *profile, const struct sl_marks *marks,
                          double length_mm, struct sl_band_work **ret, struct sl_status *status)
{
    struct sl_band_work *work = calloc(1, sizeof *work);
    if (!work)
        return no_memory(status);
    sl_code code = track_make(profile, marks, length_mm, &work->track, status);
    if (!code)
        code = seeds_find(&work->track, &work->seeds, status);
    if (code) {
        sl_band_work_destroy(work);
        return code;
    }
    work->outcome = look(profile, marks, work);
    *ret = work;
    return SL_OK;
}

void sl_band_work_bound(struct sl_band_work *work)
{
    if (work->fitted && !work->asked)
        work->settled =
            !bound_settle(&work->track, &work->fit, work->extent.area, &work->settle, NULL);
    work->asked = true;
}

void sl_band_work_destroy(struct sl_band_work *work)
{
    if (!work)
        return;
    fit_finish(&work->fit);
    seeds_finish(&work->seeds);
    track_finish(&work->track);
    free(work);
}

/* The smoothed load, which the bands own. */
static sl_code show_smooth(const struct sl_band_work *work, struct sl_bands *ret,
                           struct sl_status *status)
{
    size_t n = work->track.count;
    ret->smooth = calloc(n, sizeof *ret->smooth);
    if (!ret->smooth)
        return no_memory(status);
    memcpy(ret->smooth, work->seeds.shown, n * sizeof *ret->smooth);
    ret->smooth_count = n;
    ret->noise = work->track.noise;
    return SL_OK;
}

/* The list, with the limits set by hand in it. */
static sl_code list_with_hints(const struct sl_band_work *work, const struct sl_profile *profile,
                               const struct sl_marks *marks, const struct sl_strip_hints *hints,
                               struct seeds *seeds, struct sl_bands *ret, struct sl_status *status)
{
    if (!hints || !hints->band_count) {
        ret->count = work->found.count;
        memcpy(ret->item, work->found.item, sizeof ret->item);
        return SL_OK;
    }
    sl_code code = given_seeds(&work->track, marks, hints, seeds, status);
    if (!code)
        list_bands(profile, &work->track, seeds, &work->extent, ret);
    return code;
}

static sl_code measure_all(const struct sl_band_work *work, const struct sl_profile *profile,
                           const struct sl_marks *marks, const struct sl_strip_hints *hints,
                           struct sl_bands *ret, struct sl_warnings *warnings,
                           struct sl_status *status)
{
    const struct track *track = &work->track;
    const struct fit *fit = work->fitted ? &work->fit : NULL;
    const struct settle *settle = work->settled ? &work->settle : NULL;
    struct seeds seeds = work->seeds; /* hand-set limits change the list alone: arrays are shared */
    sl_code code = fit ? keep_fitted(track, fit, ret, status) : SL_OK;
    if (!code)
        code = list_with_hints(work, profile, marks, hints, &seeds, ret, status);
    if (code)
        return code;
    measure_bands(profile, track, &work->extent, fit, settle, ret);
    for (int source = 0; source < SL_SOURCE_COUNT; source++)
        measure_without(profile, track, &seeds, work->extent, fit, settle, (enum sl_source)source,
                        ret);
    ret->has_without = true;
    if (!work->asked)
        leave_bound_open(ret);
    set_resolutions(ret);
    retained_colour(profile, track, ret);
    reach_measure(profile, track, work->extent.area, ret);
    ret->smeared = is_smeared(ret);
    warn(profile, track, ret, fit != NULL, warnings);
    return SL_OK;
}

sl_code sl_band_work_bands(const struct sl_band_work *work, const struct sl_profile *profile,
                           const struct sl_marks *marks, const struct sl_strip_hints *hints,
                           struct sl_bands *ret, struct sl_warnings *warnings,
                           struct sl_status *status)
{
    struct sl_bands bands = {.goodness = NAN, .possible_rf = NAN};
    sl_code code = show_smooth(work, &bands, status);
    /* who marks a band by hand sees one in what was taken for dirt or a water mark */
    bool seen = hints && hints->band_count > 0 && work->found.count > 0;
    bool is_blank = work->outcome == BLANK && !seen;
    if (!is_blank) {
        bands.total_load = work->extent.area;
        bands.total_load_se = work->extent.se;
    }
    if (!code && work->outcome == WITHHELD)
        withhold(&bands);
    else if (!code && is_blank)
        blank(&bands, warnings);
    else if (!code)
        code = measure_all(work, profile, marks, hints, &bands, warnings, status);
    if (code)
        sl_bands_finish(&bands);
    else
        *ret = bands;
    return code;
}

sl_code sl_bands_find(const struct sl_profile *profile, const struct sl_marks *marks,
                      double length_mm, const struct sl_strip_hints *hints, struct sl_bands *ret,
                      struct sl_warnings *warnings, struct sl_status *status)
{
    struct sl_band_work *work = NULL;
    sl_code code = sl_band_work_make(profile, marks, length_mm, &work, status);
    if (code)
        return code;
    sl_band_work_bound(work);
    code = sl_band_work_bands(work, profile, marks, hints, ret, warnings, status);
    sl_band_work_destroy(work);
    return code;
}

void sl_bands_finish(struct sl_bands *bands)
{
    if (!bands)
        return;
    free(bands->smooth);
    free(bands->fitted);
    *bands = (struct sl_bands){0};
}
