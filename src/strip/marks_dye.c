// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. In each lane, from the upper end down, the first dye that stands out of the least amount seen
 *    above it and goes on for more than dust does. So shade that grows towards the upper end, and
 *    what goes on below a peg, has no end there.
 * 2. Its height is the most it reaches soon below; the end is where a third of that is left.
 * 3. Lanes whose end is far from the others' hold writing or a shadow and are left out.
 * 4. The lanes laid on top of each other by their ends give the shape: how softly the dye ends, and
 *    how far the apex lies from both its sides; and where its last trace is lost in what the paper
 *    above does from row to row. */
#include "strip/marks_dye.h"

#include <gsl/gsl_statistics_double.h>
#include <math.h>

#define ENDS_OUT 0.06   /* of the length at the upper end: cut edge, table shining in */
#define DYE_LEAST 0.08  /* amount; deltaE of about 2, less than light that is not well known */
#define DYE_PART 0.06   /* of the lane's highest amount */
#define NOISES 8.0      /* standard deviations of a smoothed amount */
#define SMOOTH 0.003    /* of the length, on either side */
#define THICK_PART 0.02 /* of the length: dye must go on for that much */
#define LOOK_BACK 0.08  /* of the length, in which the end's own height is looked for */
#define EDGE_LEVEL 0.35 /* of that height; fingers are blurred to about there */
#define APART_MOST 0.06 /* of the length, from the middle lane's end */
#define SHAPE_ABOVE                                                                                \
    0.04 /* of the length, from the end: the part that is laid on top of each other */
/* Of the length above the end: dye is faded there, and the paper can be judged. */
#define PAPER_FROM 0.05
#define PAPER_TO 0.12
#define TRACE_LEAST 0.02 /* amount; deltaE of about half */
#define TRACE_SCATTER 4.0
#define FADE_MOST 0.06 /* of the length above the end */

enum {
    BLIND_BLUR = 2, /* rows beside hidden ones that these shine into */
    PAPER_ROWS = 28,
    PAPER_ROWS_FEW = 5
};

struct lane_end {
    int lane, top;
    double base, height, at; /* amount above it; amount over that; where EDGE_LEVEL is left */
};

/* Amount over what lies above from which on a lane's colour counts as dye. */
static double dye_limit(const struct sl_view *view, int lane, double origin, int half)
{
    double peak = 0;
    for (int row = sl_view_row(view, origin); row < sl_view_row(view, 1 - ENDS_OUT); row++)
        peak = fmax(peak, sl_view_mean_about(view, lane, row, half));
    double noise = NOISES * view->noise / sqrt(2.0 * half + 1);
    return fmax(fmax(noise, DYE_LEAST), DYE_PART * peak);
}

static double falls_to(const struct sl_view *view, int lane, int row, int half, double level)
{
    while (row > 0 && sl_view_mean_about(view, lane, row, half) < level)
        row--;
    return (row + 0.5) / view->rows;
}

/* Highest row whose dye goes on below it; false if there is none. */
static bool find_lane(const struct sl_view *view, int lane, double origin, struct lane_end *ret)
{
    int half = (int)(SMOOTH * view->rows), thick = (int)ceil(THICK_PART * view->rows), run = 0,
        seen = 0;
    double limit = dye_limit(view, lane, origin, half), least = INFINITY;
    for (int row = sl_view_row(view, 1 - ENDS_OUT); row > sl_view_row(view, origin); row--) {
        seen = view->blind[row] ? 0 : seen + 1;
        if (seen <= half + BLIND_BLUR) {
            run = 0, least = INFINITY;
            continue;
        }
        double here = sl_view_mean_about(view, lane, row, half);
        least = fmax(fmin(least, here), 0);
        run = here > least + limit ? run + 1 : 0;
        if (run < thick)
            continue;
        *ret = (struct lane_end){.lane = lane, .top = row + run - 1, .base = least};
        break;
    }
    if (run < thick)
        return false;
    int from = sl_view_row(view, (double)ret->top / view->rows - LOOK_BACK);
    for (int row = from; row <= ret->top; row++)
        ret->height = fmax(ret->height, sl_view_mean_about(view, lane, row, half) - ret->base);
    int above = ret->top + thick >= view->rows ? view->rows - 1 : ret->top + thick;
    double level = ret->base + EDGE_LEVEL * ret->height;
    ret->at = falls_to(view, lane, above, half / 2, level);
    return sl_view_mean_about(view, lane, above, half / 2) < level;
}

/* Keeps the lanes that end near the middle one. Returns their number. */
static int keep_near(struct lane_end *ends, int count)
{
    double at[SL_VIEW_LANES];
    int kept = 0;
    for (int i = 0; i < count; i++)
        at[i] = ends[i].at;
    double middle = gsl_stats_median(at, 1, (size_t)count); /* leaves `at` in another order */
    for (int i = 0; i < count; i++)
        if (fabs(ends[i].at - middle) <= APART_MOST)
            ends[kept++] = ends[i];
    return kept;
}

static void measure_across(const struct lane_end *ends, int count, struct sl_dye_end *ret)
{
    double sum = 0, squares = 0, su = 0, suu = 0, sua = 0, steps = 0;
    int pairs = 0;
    for (int i = 0; i < count; i++) {
        double u = sl_view_u(ends[i].lane) - 0.5, at = ends[i].at - ends[0].at;
        sum += at, squares += at * at, su += u, suu += u * u, sua += u * at;
        if (i == 0 || ends[i].lane != ends[i - 1].lane + 1)
            continue;
        steps += (ends[i].at - ends[i - 1].at) * (ends[i].at - ends[i - 1].at);
        pairs++;
    }
    double mean = sum / count;
    ret->v = ends[0].at + mean;
    ret->spread = sqrt(fmax(squares / count - mean * mean, 0));
    ret->slant = (sua - su * mean) / fmax(suu - su * su / count, 1e-9);
    ret->rough = pairs > 0 ? sqrt(steps / (2.0 * pairs)) : ret->spread;
}

/* Mean of the lanes, each over its own height, `offset` rows from their ends. */
static double shape_at(const struct sl_view *view, const struct lane_end *ends, int count,
                       int offset)
{
    double sum = 0;
    for (int i = 0; i < count; i++) {
        int row = sl_view_row(view, ends[i].at) + offset;
        row = row < 0 ? 0 : row >= view->rows ? view->rows - 1 : row;
        sum += ((double)view->amount[row][ends[i].lane] - ends[i].base) / ends[i].height;
    }
    return sum / count;
}

/* Mean amount of the lanes, `offset` rows from their ends; NAN where too few are seen. */
static double amount_at(const struct sl_view *view, const struct lane_end *ends, int count,
                        int offset)
{
    double sum = 0;
    int seen = 0;
    for (int i = 0; i < count; i++) {
        int row = sl_view_row(view, ends[i].at) + offset;
        if (row < 0 || row >= view->rows || view->blind[row])
            continue;
        sum += (double)view->amount[row][ends[i].lane];
        seen++;
    }
    return 2 * seen < count ? NAN : sum / seen;
}

/* Amount above which a mean of the lanes is dye still. */
static double trace_limit(const struct sl_view *view, const struct lane_end *ends, int count)
{
    double paper[PAPER_ROWS], work[PAPER_ROWS];
    size_t n = 0;
    for (int k = 0; k < PAPER_ROWS; k++) {
        double away = PAPER_FROM + (PAPER_TO - PAPER_FROM) * k / PAPER_ROWS;
        double here = amount_at(view, ends, count, (int)(away * view->rows));
        if (isfinite(here))
            paper[n++] = here;
    }
    if (n < PAPER_ROWS_FEW)
        return TRACE_LEAST;
    double scatter = gsl_stats_mad(paper, 1, n, work);
    return gsl_stats_median(paper, 1, n) + fmax(TRACE_LEAST, TRACE_SCATTER * scatter);
}

/* Rows from the lanes' ends up to where dye is lost in the paper. */
static int rows_to_fade(const struct sl_view *view, const struct lane_end *ends, int count)
{
    double limit = trace_limit(view, ends, count);
    int most = (int)(FADE_MOST * view->rows), offset = 0;
    while (offset < most && amount_at(view, ends, count, offset + 1) > limit)
        offset++;
    return offset;
}

static int first_above(const struct sl_view *view, const struct lane_end *ends, int count,
                       int offset, double level)
{
    int last = -(int)(LOOK_BACK * view->rows);
    while (offset > last && shape_at(view, ends, count, offset) < level)
        offset--;
    return offset;
}

static void measure_shape(const struct sl_view *view, const struct lane_end *ends, int count,
                          double origin, struct sl_dye_end *ret)
{
    int above = (int)(SHAPE_ABOVE * view->rows), apex = above;
    double top = 0;
    for (int offset = above; offset > -(int)(LOOK_BACK * view->rows); offset--) {
        double here = shape_at(view, ends, count, offset);
        if (here > top)
            top = here, apex = offset;
    }
    int foot = first_above(view, ends, count, above, 0.1 * top);
    int half = first_above(view, ends, count, above, 0.5 * top);
    int high = first_above(view, ends, count, above, 0.8 * top);
    int level = first_above(view, ends, count, above, EDGE_LEVEL * top);
    int last = sl_view_row(view, origin) - sl_view_row(view, ret->v), trail = apex;
    while (trail > last && shape_at(view, ends, count, trail) > 0.5 * top)
        trail--;
    ret->half = ret->v + (double)(half - level) / view->rows;
    ret->foot = ret->v + (double)(foot - level) / view->rows;
    ret->fade = ret->v + (double)rows_to_fade(view, ends, count) / view->rows;
    ret->soft = (double)(foot - high + 1) / view->rows;
    ret->lead = (double)(half - apex + 1) / view->rows;
    ret->trail = (double)(apex - trail + 1) / view->rows;
    for (int i = 0; i < count; i++)
        ret->height += top * ends[i].height / count;
}

struct sl_dye_end sl_dye_end_find(const struct sl_view *view, double origin)
{
    struct lane_end ends[SL_VIEW_LANES];
    struct sl_dye_end ret = {0};
    int count = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++)
        count += find_lane(view, lane, origin, &ends[count]);
    if (count > 0)
        count = keep_near(ends, count);
    if (count == 0)
        return ret;
    ret.lanes = count;
    measure_across(ends, count, &ret);
    measure_shape(view, ends, count, origin, &ret);
    for (int lane = 0; lane < SL_VIEW_LANES; lane++)
        ret.at[lane] = ret.v;
    for (int i = 0; i < count; i++)
        ret.at[ends[i].lane] = ends[i].at;
    return ret;
}
