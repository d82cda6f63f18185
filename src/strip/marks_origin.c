// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Of the lines in the part of the strip where ink is ruled the one that looks most like the ink
 *    line is taken, or a lower one that is no mere trace: dye runs upwards.
 * 2. If ink begins well below it, it was a band, and the line lies at the ink's lower edge.
 * 3. Ticks say where the line was ruled even if the ink has left; a line near them says it better.
 * 4. Without any of these: where lines are commonly ruled, with an error to match. */
#include "strip/marks_origin.h"

#include <math.h>

#include "strip/marks_end.h"

#define ORIGIN_COMMON 0.15 /* of the length; ruled there by common practice, no source */
#define ORIGIN_SIGMA 0.045
#define ORIGIN_END 0.34    /* of the length; no ink line above */
#define NO_ORIGIN (-1.0)   /* score of a line that is none */
#define WANDER_MOST 0.01   /* of the length; what is more crooked was not ruled */
#define TRACE_PART 0.2     /* of the best line's likeness */
#define TRACE_NULLS 3.0    /* times what paper alone reaches */
#define TICK_AT_LINE 0.012 /* of the length; ticks are drawn beside the line, not on it */
#define TICK_SIGMA 0.003
#define EDGE_REACH 0.03  /* of the length: a line and half as much again */
#define EDGE_PART 0.35   /* of the most below ORIGIN_END: the bath leaves less */
#define EDGE_AMOUNT 0.15 /* -ln R summed */
#define EDGE_SIGMA 0.01
#define BEGINS_BELOW 1.5      /* times the line's width */
#define RULED_WIDTH 1.4       /* times a typical line's: bands are wider */
#define RULED_WANDER 0.004    /* of the length: bands are more crooked */
#define STAIN_REACH 0.068     /* of the length, of dye that the bath leaves below the line */
#define WIDE_MOST 1.5         /* times a typical line's: no ink line is wider */
#define ORIGIN_EDGE_FROM 0.05 /* of the length, between which ink must begin */
#define ORIGIN_EDGE_END 0.28

/* Dye runs upwards, so a lower line than the best one is the ink's, if it is no mere trace: the
 * surface of the bath leaves a faint line, and crepe paper has ridges. */
static const struct sl_line *pick_origin(const struct sl_view *view, const struct sl_line *lines,
                                         int count)
{
    double null = sl_end_null(view), score = NO_ORIGIN;
    const struct sl_line *best = NULL;
    for (int i = 0; i < count && lines[i].v < ORIGIN_END; i++) {
        double now = sl_end_origin_score(view, &lines[i], null);
        if (now <= score || lines[i].wander > WANDER_MOST)
            continue;
        score = now;
        best = &lines[i];
    }
    for (int i = 0; best != NULL && &lines[i] < best; i++)
        if (lines[i].likeness > TRACE_PART * best->likeness &&
            lines[i].likeness > TRACE_NULLS * null &&
            sl_end_origin_score(view, &lines[i], null) > NO_ORIGIN)
            return &lines[i];
    return best;
}

static const struct sl_tick *pick_tick(const struct sl_seen *seen)
{
    for (int i = 0; i < seen->ticks; i++)
        if (seen->tick[i].both && seen->tick[i].v < ORIGIN_END)
            return &seen->tick[i];
    return NULL;
}

static double highest(const struct sl_view *view, int from, int to)
{
    double top = 0;
    for (int row = from < 0 ? 0 : from; row <= to && row < view->rows; row++)
        top = fmax(top, view->mean[row]);
    return top;
}

/* Where the row means first rise steeply, from less than a fifth to more than half of what follows
 * within a line's reach: a line that a band has swallowed still ends there. NAN where ink starts
 * nowhere that lines are ruled. */
static double lower_edge(const struct sl_view *view)
{
    int reach = (int)(EDGE_REACH * view->rows), last = sl_view_row(view, ORIGIN_EDGE_END);
    double most = highest(view, sl_view_row(view, ORIGIN_EDGE_FROM), sl_view_row(view, ORIGIN_END));
    double limit = fmax(fmax(EDGE_AMOUNT, 6 * view->noise_mean), EDGE_PART * most);
    for (int row = sl_view_row(view, ORIGIN_EDGE_FROM); row < last; row++) {
        double top = highest(view, row, row + reach);
        if (top > limit && view->mean[row] > top / 2 &&
            view->mean[row < reach ? 0 : row - reach] < top / 5)
            return (row + 0.5) / view->rows;
    }
    return NAN;
}

/* What was taken for the line is a band if ink begins well below it. A band is wider than a line:
 * below one that is ruled the bath at times leaves dye too. */
static bool begins_below(const struct sl_view *view, const struct sl_line *line, double edge)
{
    double typical = SL_LINE_TYPICAL * view->width_part;
    bool ruled = line->width < RULED_WIDTH * typical && line->wander < RULED_WANDER &&
                 line->v - edge < STAIN_REACH;
    double width = fmax(fmin(line->width, WIDE_MOST * typical), typical);
    return isfinite(edge) && !ruled && line->v - edge > BEGINS_BELOW * width;
}

struct sl_origin sl_origin_find(const struct sl_view *view, const struct sl_seen *seen)
{
    const struct sl_line *line = pick_origin(view, seen->line, seen->lines);
    const struct sl_tick *tick = pick_tick(seen);
    double edge = lower_edge(view), width = SL_LINE_TYPICAL * view->width_part;
    if (line != NULL && begins_below(view, line, edge))
        line = NULL;
    if (tick != NULL && (line == NULL || fabs(line->v - tick->v) > TICK_AT_LINE))
        return (struct sl_origin){tick->v, hypot(tick->sigma, TICK_SIGMA), width};
    if (line != NULL)
        return (struct sl_origin){line->v, line->sigma, line->width};
    if (isfinite(edge))
        return (struct sl_origin){edge + width / 2, EDGE_SIGMA, width};
    return (struct sl_origin){ORIGIN_COMMON, ORIGIN_SIGMA, width};
}
