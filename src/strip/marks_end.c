// SPDX-License-Identifier: GPL-3.0-or-later
/* What tells the ends apart, from what is common practice (no source): the ink line is ruled 10 to
 * 20 mm above the lower end, is the straightest and mostly the narrowest thing on the strip, and
 * dye runs from there upwards.
 * 1. From each end the best candidate for the ink line is scored by how it stands out, by its
 *    width, straightness and distance from the end.
 * 2. A band drags a foot behind it, so its lower foot is the longer one.
 * 3. Ink mostly leaves something where it was ruled: the way from the lower end to the first dye is
 *    short.
 * 4. Strips are written on at the end that stays dry.
 * 5. Pencil ticks at both edges mark the origin; water lines mark the front.
 * The sum of all, as log odds, is capped: no single strip is certain. The weights are those of a
 * logistic regression on some 400 rendered strips, rounded. Two clues that sound good got no weight
 * beside these and are left out: that bands widen upwards, and that steep edges look upwards. */
#include "strip/marks_end.h"

#include <math.h>

#define LINE_WIDTH 0.085     /* of the strip's width: 1.7 mm on 20 mm */
#define LINE_WIDTH_SIGMA 0.6 /* of its natural logarithm */
#define LINE_FROM 0.08       /* of the length, where lines are commonly ruled */
#define LINE_TO 0.24
#define LINE_SIGMA 0.04  /* how fast it grows unlikely outside */
#define LINE_END 0.34    /* no ink line beyond */
#define WANDER 0.003     /* of the length */
#define WANDER_WORST 3.0 /* log likelihood that a crooked line can lose at most */
#define STANDOUT_BEST 4.0
#define NO_LINE (-1.0) /* score of an end where no line is seen: ink can run off it all */
#define ORIGIN_WEIGHT 1.3
#define WRITING_ODDS 1.2
#define TICK_ODDS 1.0
#define WATER_LINE_ODDS 0.4
#define WATER_LINE_COST 2.0
#define SAME_COLOUR 0.94 /* cosine; 20 degrees */
#define DYE_AMOUNT 0.08
#define SKEW_COST 2.0 /* log likelihood that a wholly one-sided line loses */
#define SKEW_WEIGHT 8.7
#define SKEW_MOST 0.25 /* a neighbouring band can make more of it */
#define SKEW_ODDS 2.2
#define BAND_WIDTH 0.02 /* of the length */
#define GAP_COST 2.2
#define GAP_COMMON 0.21 /* of the length: where the lowest ink is seen at the latest */
#define GAP_SCALE 0.03
#define LOG_ODDS_CAP 6.0
#define ENDS_OUT 0.06 /* of the length at both ends: cut edges, table shining in */

double sl_end_null(const struct sl_view *view)
{
    return fmax(1.5 * view->noise_mean, 1e-3);
}

static double square(double x)
{
    return x * x;
}

/* Cosine between a line's colour and all the dye's on the strip. */
static double likeness_to_dye(const struct sl_view *view, const double colour[3])
{
    double dye[3] = {0, 0, 0}, dot = 0, a = 0, b = 0;
    for (int row = (int)(ENDS_OUT * view->rows); row < (1 - ENDS_OUT) * view->rows; row++) {
        if (view->mean[row] < DYE_AMOUNT)
            continue;
        for (int lane = 0; lane < SL_VIEW_LANES; lane++)
            for (int c = 0; c < 3; c++)
                dye[c] += (double)view->colour[row][lane][c];
    }
    for (int c = 0; c < 3; c++) {
        dot += dye[c] * colour[c];
        a += dye[c] * dye[c];
        b += colour[c] * colour[c];
    }
    return a > 0 && b > 0 ? dot / sqrt(a * b) : 0;
}

/* A water mark's brown; of a brown ink it can't be told. */
static bool is_water_line(const struct sl_view *view, const struct sl_line *line)
{
    return sl_front_kind(view, line) == SL_FRONT_WATER_LINE &&
           likeness_to_dye(view, line->colour) < SAME_COLOUR;
}

double sl_end_origin_score(const struct sl_view *view, const struct sl_line *line, double null)
{
    double standout = fmin(log((line->likeness + null) / null), STANDOUT_BEST);
    double width = log(fmax(line->width, 1e-4) / view->width_part / LINE_WIDTH) / LINE_WIDTH_SIGMA;
    double outside = fmax(fmax(LINE_FROM - line->v, line->v - LINE_TO), 0) / LINE_SIGMA;
    double crooked = fmin(square(line->wander / WANDER) / 2, WANDER_WORST);
    double score = standout - square(width) / 2 - square(outside) / 2 - crooked -
                   SKEW_COST * square(line->skew);
    return is_water_line(view, line) ? score - WATER_LINE_COST : score;
}

static struct sl_line turned(struct sl_line line)
{
    line.v = 1 - line.v;
    return line;
}

static double best_origin(const struct sl_view *view, const struct sl_line *lines, int count,
                          bool turn)
{
    double best = NO_LINE;
    for (int i = 0; i < count; i++) {
        struct sl_line line = turn ? turned(lines[i]) : lines[i];
        if (line.v > LINE_END)
            continue;
        best = fmax(best, sl_end_origin_score(view, &line, sl_end_null(view)));
    }
    return best;
}

/* The origin is marked by a tick at both edges. */
static double ticks_up(const struct sl_seen *seen)
{
    double odds = 0;
    for (int i = 0; i < seen->ticks; i++) {
        double v = seen->tick[i].v;
        bool lower = v > LINE_FROM && v<LINE_TO, upper = 1 - v> LINE_FROM && 1 - v < LINE_TO;
        if (seen->tick[i].both && (lower || upper))
            odds += lower ? TICK_ODDS : -TICK_ODDS;
    }
    return fmin(fmax(odds, -TICK_ODDS), TICK_ODDS);
}

/* A band drags its foot towards the origin. */
static double feet_down(const struct sl_line *lines, int count, double null)
{
    double sum = 0;
    for (int i = 0; i < count; i++) {
        if (lines[i].likeness < 4 * null || lines[i].width < BAND_WIDTH)
            continue;
        if (lines[i].v < LINE_TO || lines[i].v > 1 - LINE_TO)
            continue;
        sum -= fmin(fmax(lines[i].skew, -SKEW_MOST), SKEW_MOST);
    }
    return fmin(fmax(SKEW_WEIGHT * sum, -SKEW_ODDS), SKEW_ODDS);
}

/* Ink mostly leaves something at its line: strips that are clean for long from the lower end on
 * are rare. Positive: that speaks against row 0 as the lower end. */
static double gap_cost(const struct sl_view *view, bool turn)
{
    double limit = fmax(DYE_AMOUNT, 5 * view->noise_mean), gap = ENDS_OUT;
    for (; gap < 0.5; gap += 0.005) {
        double v = turn ? 1 - gap : gap;
        if (view->mean[sl_view_row(view, v)] > limit)
            break;
    }
    return GAP_COST * fmin(fmax((gap - GAP_COMMON) / GAP_SCALE, 0), 1);
}

static double water_lines_up(const struct sl_view *view, const struct sl_line *lines, int count)
{
    double odds = 0;
    for (int i = 0; i < count; i++)
        if (is_water_line(view, &lines[i]) && lines[i].likeness > 4 * sl_end_null(view))
            odds += lines[i].v > 0.5 ? WATER_LINE_ODDS : -WATER_LINE_ODDS;
    return fmin(fmax(odds, -WATER_LINE_ODDS), WATER_LINE_ODDS);
}

double sl_end_log_odds(const struct sl_view *view, const struct sl_seen *seen)
{
    const struct sl_line *lines = seen->line;
    int count = seen->lines;
    double odds = ORIGIN_WEIGHT *
                  (best_origin(view, lines, count, false) - best_origin(view, lines, count, true));
    odds += WRITING_ODDS * seen->writing;
    odds += ticks_up(seen) + water_lines_up(view, lines, count);
    odds += feet_down(lines, count, sl_end_null(view));
    odds += gap_cost(view, true) - gap_cost(view, false);
    return fmin(fmax(odds, -LOG_ODDS_CAP), LOG_ODDS_CAP);
}
