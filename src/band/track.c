// SPDX-License-Identifier: GPL-3.0-or-later
#include <gsl/gsl_math.h>
#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

#include "band/track.h"

/* Where no scale is known: strips are 60 to 120 mm long (common practice, no source). */
static const double usual_length_mm = 85.0, length_spread = 0.25; /* of the logarithm */
/* A line is ruled 1 to 2 mm wide (common practice, no source). As it is seen it is blurred,
 * slanting and frayed: about a quarter wider, give or take. */
static const double usual_line_mm = 1.5, line_spread = 0.35;
static const double seen_wider = 1.2, seen_spread = 0.35;
/* The narrowest line that is believed, in parts of the length. */
static const double line_least = 0.004;

static sl_code check_finite(const struct sl_profile *profile, const struct sl_marks *marks,
                            struct sl_status *status)
{
    bool good = isfinite(marks->origin) && isfinite(marks->front) && isfinite(marks->line_width) &&
                marks->front > marks->origin && profile->count > 8;
    for (size_t i = 0; good && i < profile->count; i++) {
        good = isfinite(profile->position[i]) &&
               (i == 0 || profile->position[i] > profile->position[i - 1]);
        if (profile->flags[i] & SL_CELL_HIDDEN)
            continue;
        for (int c = 0; good && c < 3; c++)
            good = isfinite(profile->load[i][c]) && isfinite(profile->load_se[i][c]) &&
                   isfinite(profile->light_se[i][c]);
    }
    if (good)
        return SL_OK;
    return sl_status_set(status, SL_E_RANGE, "band", "Read the strip again from its photo.",
                         "The profile is too short or holds values that are not finite.");
}

/* Errors of the channels share the paper's texture and have light's grain each to themselves: half
 * of the variance is taken as common. */
static double sum_error(const double se[3])
{
    double common = se[0] + se[1] + se[2];
    double own = se[0] * se[0] + se[1] * se[1] + se[2] * se[2];
    return sqrt(0.5 * (common * common + own));
}

/* Half the difference between the loads that the paper's reflectance, one standard error higher and
 * lower, makes of the same light. */
static double paper_swing(double load, double paper, double sigma)
{
    if (!(sigma > 0.0) || !(paper > 0.0))
        return 0.0;
    double relative = sl_kubelka_munk_inverse(fmax(load, 0.0) + sl_kubelka_munk(paper)) / paper;
    double high = sl_load(relative, fmin(paper + sigma, 1.0));
    double low = sl_load(relative, fmax(paper - sigma, SL_REFLECTANCE_MIN));
    return 0.5 * (high - low);
}

/* Error of ln R that the light makes, mean of the channels, from that of the loads: with x = Rp R,
 * d(K/S)/d(ln x) = (x^2 - 1) / (2 x). And the load that clean paper has where its white is taken
 * for one such error brighter than it is. Where the paper's reflectance is not known, loads stand
 * in for both. */
static void fill_light(const struct sl_profile *profile, const struct sl_marks *marks, size_t i,
                       struct track *track)
{
    track->white_se[i] = track->ghost[i] = 0.0;
    for (int c = 0; c < 3 && track->weight[i] > 0.0; c++) {
        double paper = marks->paper_reflectance[c], se = profile->light_se[i][c], ghost = se;
        if (paper > 0.0 && paper < 1.0) {
            double x =
                sl_kubelka_munk_inverse(fmax(track->load[i][c], 0.0) + sl_kubelka_munk(paper));
            se *= 2.0 * x / (1.0 - x * x);
            ghost = sl_load(exp(-se), paper);
        }
        track->white_se[i] += se / 3.0;
        track->ghost[i] += ghost;
    }
}

static void fill(const struct sl_profile *profile, const struct sl_marks *marks,
                 struct track *track)
{
    for (size_t i = 0; i < track->count; i++) {
        bool seen = !(profile->flags[i] & SL_CELL_HIDDEN);
        track->rf[i] = sl_rf(profile->position[i], marks->origin, marks->front);
        track->weight[i] = seen ? 1.0 : 0.0;
        track->sum[i] = track->sum_se[i] = track->light_se[i] = track->paper[i] = 0.0;
        for (int c = 0; c < 3; c++) {
            track->load[i][c] = seen ? profile->load[i][c] : 0.0;
            track->load_se[i][c] = seen ? profile->load_se[i][c] : 0.0;
            track->sum[i] += track->load[i][c];
            track->light_se[i] += seen ? profile->light_se[i][c] : 0.0;
            track->paper[i] +=
                paper_swing(track->load[i][c], marks->paper_reflectance[c], marks->paper_sigma);
        }
        track->sum_se[i] = sum_error(track->load_se[i]);
        fill_light(profile, marks, i, track);
    }
}

/* The quarter of the samples with the least error is clean paper on every strip that has some. */
static double clean_noise(const struct track *track, double *scratch)
{
    size_t seen = 0;
    for (size_t i = 0; i < track->count; i++)
        if (track->weight[i] > 0.0)
            scratch[seen++] = track->sum_se[i];
    gsl_sort(scratch, 1, seen);
    return seen > 0 ? scratch[seen / 8] : 0.0;
}

/* Of the strips that errors of origins were fitted to: half of them are stretched by less. */
static const double usual_stretch = 0.01;

/* A stretch of the paper moves marks and bands together, so it is no error of the mark's own. */
static double own_sigma(const struct sl_marks *marks, double sigma, double v)
{
    double shared = marks->stretch_sigma * v * (1.0 - v);
    return sqrt(fmax(sigma * sigma - shared * shared, 0.0));
}

/* The origin's own error was fitted to places on strips that curl and were cut by hand: what that
 * usually moves is in it once more, and moves the bands too. At least half of it is the line's. */
static double line_sigma(const struct sl_marks *marks)
{
    double own = own_sigma(marks, marks->origin_sigma, marks->origin), v = marks->origin;
    double usual = fmin(marks->stretch_sigma, usual_stretch) * v * (1.0 - v);
    return sqrt(fmax(own * own - usual * usual, 0.25 * own * own));
}

/* The ruled line's width from what is seen and from what is usual, weighted in logarithms. */
static void measure(const struct sl_marks *marks, double length_mm, struct track *track)
{
    double span = marks->front - marks->origin;
    double line = fmax(marks->line_width, line_least);
    bool scale = isfinite(length_mm) && length_mm > 0.0;
    double mm = 1.0 / (scale ? length_mm : usual_length_mm), doubt = scale ? 0.0 : length_spread;
    double usual_variance = line_spread * line_spread + doubt * doubt;
    double seen_variance = seen_spread * seen_spread;
    double part = usual_variance / (usual_variance + seen_variance);
    double ruled = exp(part * log(line / seen_wider) + (1.0 - part) * log(usual_line_mm * mm));
    track->length = 1.0 / span;
    track->mm = mm / span;
    track->mm_se = doubt * track->mm;
    track->line = line / span;
    track->ruled = ruled / span;
    track->ruled_se = track->ruled * sqrt(part * seen_variance);
    track->origin_se = fmax(marks->origin_sigma, 0.0) / span;
    track->line_se = line_sigma(marks) / span;
    track->front_se = own_sigma(marks, marks->front_sigma, marks->front) / span;
    track->stretch_se = marks->stretch_sigma * span;
    track->other = (marks->origin_other - marks->origin) / span;
    track->elsewhere = GSL_MIN(GSL_MAX(marks->origin_elsewhere, 0.0), 1.0);
}

double track_scale_se(const struct track *track, double rf)
{
    double ends = hypot((1.0 - rf) * track->line_se, rf * track->front_se);
    return hypot(ends, rf * (1.0 - rf) * track->stretch_se);
}

double retained_reach(const struct track *track)
{
    return 0.5 * track->ruled + track->mm;
}

double retained_limit(const struct track *track)
{
    return 0.5 * track->ruled + 0.5 * track->mm;
}

sl_code track_make(const struct sl_profile *profile, const struct sl_marks *marks, double length_mm,
                   struct track *ret, struct sl_status *status)
{
    sl_code code = check_finite(profile, marks, status);
    if (code)
        return code;
    size_t n = profile->count;
    double *block = calloc(n, 16 * sizeof *block);
    if (!block)
        return sl_status_set(status, SL_E_MEMORY, "band", "Close other programs and try again.",
                             "There is not enough memory for the bands.");
    struct track track = {.count = n, .block = block};
    track.rf = block;
    track.sum = block + n;
    track.sum_se = block + 2 * n;
    track.light_se = block + 3 * n;
    track.weight = block + 4 * n;
    track.load = (double(*)[3])(block + 5 * n);
    track.load_se = (double(*)[3])(block + 8 * n);
    track.paper = block + 11 * n;
    track.zero = block + 13 * n;
    track.white_se = block + 14 * n;
    track.ghost = block + 15 * n;
    fill(profile, marks, &track);
    track.step = (track.rf[n - 1] - track.rf[0]) / (double)(n - 1);
    track.correlation = fmax(profile->correlation_samples, 1.0);
    track.noise = clean_noise(&track, block + 12 * n);
    measure(marks, length_mm, &track);
    *ret = track;
    return SL_OK;
}

void track_finish(struct track *track)
{
    if (!track)
        return;
    free(track->block);
    *track = (struct track){0};
}

struct track track_without(const struct track *track, enum sl_source source)
{
    struct track less = *track;
    switch (source) {
    case SL_SOURCE_NOISE:
        less.sum_se = track->zero;
        break;
    case SL_SOURCE_LIGHT:
        less.light_se = track->zero;
        break;
    case SL_SOURCE_ORIGIN:
        less.origin_se = less.line_se = less.elsewhere = 0.0;
        break;
    case SL_SOURCE_FRONT:
        less.front_se = 0.0;
        break;
    case SL_SOURCE_SCALE:
        less.mm_se = 0.0;
        break;
    case SL_SOURCE_PAPER:
        less.paper = track->zero;
        break;
    case SL_SOURCE_COUNT:
        break;
    }
    return less;
}

size_t track_at(const struct track *track, double rf)
{
    double at = round((rf - track->rf[0]) / track->step);
    return (size_t)GSL_MIN(GSL_MAX(at, 0.0), (double)(track->count - 1));
}

/* How much of sample i lies in [from, to], as a width in Rf. */
static double covered(const struct track *track, size_t i, double from, double to)
{
    double low = fmax(track->rf[i] - 0.5 * track->step, from);
    double high = fmin(track->rf[i] + 0.5 * track->step, to);
    return fmax(high - low, 0.0);
}

double track_area(const struct track *track, double from_rf, double to_rf)
{
    double area = 0.0;
    for (size_t i = 0; i < track->count; i++)
        area += track->sum[i] * covered(track, i, from_rf, to_rf);
    return area;
}

double track_area_se(const struct track *track, double from_rf, double to_rf)
{
    double variance = 0.0;
    for (size_t i = 0; i < track->count; i++) {
        double part = track->sum_se[i] * covered(track, i, from_rf, to_rf);
        variance += part * part;
    }
    return sqrt(variance * track->correlation);
}

double track_area_light_se(const struct track *track, double from_rf, double to_rf)
{
    double area = 0.0;
    for (size_t i = 0; i < track->count; i++)
        area += track->light_se[i] * covered(track, i, from_rf, to_rf);
    return area;
}

double track_area_paper(const struct track *track, double from_rf, double to_rf)
{
    double area = 0.0;
    for (size_t i = 0; i < track->count; i++)
        area += track->paper[i] * covered(track, i, from_rf, to_rf);
    return area;
}
