// SPDX-License-Identifier: GPL-3.0-or-later
/* What tells the ends apart, from what is common practice (no source): the ink line is ruled 10 to
 * 20 mm above the lower end, is the straightest and mostly the narrowest thing on the strip, and
 * dye runs from there upwards.
 * 1. From each end the best candidate for the ink line is scored by how it stands out, by its
 *    width, straightness and distance from the end.
 * 2. Bands widen on their way (diffusion): the narrow ones lie towards the origin.
 * 3. A band drags a foot behind it, so its lower foot is the longer one, and dye is pushed
 *    against the front: steep edges look upwards.
 * 4. Pencil ticks: one at each edge near an end marks the origin, a single one the front.
 * 5. Water lines mark the front, and ink mostly leaves something where it was ruled.
 * The sum of all, as log odds, is capped: no single strip is certain. */
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
#define EDGE_WEIGHT 1.5
#define WIDEN_WEIGHT 1.5
#define BAND_LIKENESS 0.05 /* of the likest line: bands that take part in the second point */
#define TICK_ODDS 1.5
#define WATER_LINE_ODDS 1.0
#define WATER_LINE_COST 2.0
#define SAME_COLOUR 0.94 /* cosine; 20 degrees */
#define DYE_AMOUNT 0.08
#define SKEW_COST 2.0 /* log likelihood that a wholly one-sided line loses */
#define SKEW_LINE 0.4
#define SKEW_WEIGHT 6.0
#define SKEW_MOST 0.25 /* a neighbouring band can make more of it */
#define SKEW_ODDS 1.5
#define BAND_WIDTH 0.02 /* of the length */
#define GAP_COST 2.0
#define GAP_COMMON 0.21 /* of the length: where the lowest ink is seen at the latest */
#define GAP_SCALE 0.03
#define LOG_ODDS_CAP 6.0
#define ENDS_OUT 0.06      /* of the length at both ends: cut edges, table shining in */
#define RIDGE_WIDTH 0.0065 /* of the length: crepe paper's ridges and pencil are thinner */
#define EDGE_REACH 0.012   /* of the length */

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

/* Correlation of band width with position, by rank-free least squares on the logarithm; -1..1. */
static double widening(const struct sl_view *view, const struct sl_line *lines, int count)
{
    double likest = 0, n = 0, sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
    for (int i = 0; i < count; i++)
        likest = fmax(likest, lines[i].likeness);
    for (int i = 0; i < count; i++) {
        if (lines[i].width < RIDGE_WIDTH ||
            lines[i].likeness < fmax(BAND_LIKENESS * likest, 4 * sl_end_null(view)))
            continue;
        double x = lines[i].v, y = log(fmax(lines[i].width, 1e-4));
        n++, sx += x, sy += y, sxx += x * x, syy += y * y, sxy += x * y;
    }
    double vx = sxx - sx * sx / fmax(n, 1), vy = syy - sy * sy / fmax(n, 1);
    if (n < 3 || !(vx > 0) || !(vy > 0))
        return 0;
    return (sxy - sx * sy / n) / sqrt(vx * vy);
}

static bool on_line(const struct sl_line *lines, int count, double v, double null)
{
    for (int i = 0; i < count; i++)
        if (lines[i].likeness > 4 * null && lines[i].wander < WANDER &&
            fabs(lines[i].skew) < SKEW_LINE &&
            fabs(v - lines[i].v) < 1.5 * lines[i].width + EDGE_REACH)
            return true;
    return false;
}

/* Cubes let the steepest edges speak. +1: all steep edges look upwards. */
static double edges_up(const struct sl_view *view, const struct sl_line *lines, int count)
{
    int reach = (int)(EDGE_REACH * view->rows);
    reach = reach < 1 ? 1 : reach;
    double up = 0, down = 0;
    for (int row = (int)(ENDS_OUT * view->rows); row < (1 - ENDS_OUT) * view->rows; row += 2) {
        if (on_line(lines, count, (row + 0.5) / view->rows, sl_end_null(view)))
            continue;
        for (int lane = 2; lane < SL_VIEW_LANES - 2; lane++) {
            double step = sl_view_mean_about(view, lane, row + reach, reach / 2) -
                          sl_view_mean_about(view, lane, row - reach, reach / 2);
            if (fabs(step) < 3 * view->noise)
                continue;
            *(step < 0 ? &up : &down) += fabs(step * step * step);
        }
    }
    return up + down > 0 ? (up - down) / (up + down) : 0;
}

/* The front is marked by a tick at one edge or at both, the origin by one at both. */
static double ticks_up(const struct sl_seen *seen)
{
    double odds = 0;
    for (int i = 0; i < seen->ticks; i++) {
        double v = seen->tick[i].v;
        bool lower = v > LINE_FROM && v<LINE_TO, upper = 1 - v> LINE_FROM && 1 - v < LINE_TO;
        if (seen->tick[i].both && (lower || upper))
            odds += lower ? TICK_ODDS : -TICK_ODDS;
        else if (!seen->tick[i].both && v > 0.1 && v < 0.9)
            odds += v > 0.5 ? TICK_ODDS : -TICK_ODDS;
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
    double odds = best_origin(view, lines, count, false) - best_origin(view, lines, count, true);
    odds += WIDEN_WEIGHT * widening(view, lines, count);
    odds += EDGE_WEIGHT * edges_up(view, lines, count);
    odds += ticks_up(seen) + water_lines_up(view, lines, count);
    odds += feet_down(lines, count, sl_end_null(view));
    odds += gap_cost(view, true) - gap_cost(view, false);
    return fmin(fmax(odds, -LOG_ODDS_CAP), LOG_ODDS_CAP);
}
