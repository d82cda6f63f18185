// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. At every place and for several slants each lane tells by how much its amount grows from below
 *    to above; the third-weakest lane in ten speaks for all.
 * 2. Local maxima that noise does not reach are edges. The lower flank of a line that has none is
 *    added, so that a line too faint or too crooked for that is an edge as well.
 * 3. Each is measured: how far the amount rises, what lies below, and what above goes on or falls
 *    again. */
#include "strip/marks_edge.h"

#include <math.h>
#include <stddef.h>

#include "strip/marks_sums.h"

#define STEP 0.002       /* of the length, from one place to the next */
#define SLANT_MAX 0.024  /* of the length, as in marks_line.c */
#define SEARCH_WIDTH 0.7 /* line widths, over which the rise is looked for */
#define GAP 0.15         /* of a stretch: blur between it and the edge */
#define APART 0.4        /* line widths; nearer ones are one edge */
#define NOISES 2.0       /* standard deviations of a row's mean */
#define ENDS_OUT 0.02    /* of the length at the lower end: cut edge, table shining in */
#define FLANK_LEAST 0.5  /* line widths: limits for the width of a line whose flank is added */
#define FLANK_MOST 1.5
#define FLANK_NEAR 0.6
enum { SLANTS = 9, PLACES_MAX = 400 };

struct places {
    int count;
    double from;
    double rise[PLACES_MAX], slant[PLACES_MAX];
};

/* Mean amount of a lane between two positions. */
static double stretch(const struct sl_sums *s, int lane, double from, double to)
{
    return sl_sums_about(s, lane, (from + to) / 2 * s->rows - 0.5, ((to - from) * s->rows - 1) / 2);
}

static double rise(const struct sl_sums *s, double v, double slant, double width, double part)
{
    double lanes[SL_VIEW_LANES], gap = GAP * width;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double at = v + slant * (sl_view_u(lane) - 0.5);
        lanes[lane] = stretch(s, lane, at + gap, at + gap + width) -
                      stretch(s, lane, at - gap - width, at - gap);
    }
    return sl_lanes_quantile(lanes, part);
}

/* Mean of the lanes' means between two distances from an edge. */
static double level(const struct sl_sums *s, const struct sl_edge *edge, double from, double to)
{
    double sum = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double at = edge->v + edge->slant * (sl_view_u(lane) - 0.5);
        sum += stretch(s, lane, at + from, at + to);
    }
    return sum / SL_VIEW_LANES;
}

static void look(const struct sl_sums *s, double width, double from, double to, struct places *ret)
{
    ret->from = from;
    ret->count = 0;
    for (double v = from; v < to && ret->count < PLACES_MAX; v += STEP) {
        double best = -INFINITY, best_slant = 0;
        for (int i = 0; i < SLANTS; i++) {
            double slant = SLANT_MAX * (2.0 * i / (SLANTS - 1) - 1);
            double value = rise(s, v, slant, SEARCH_WIDTH * width, SL_SPEAKING_PART);
            if (value > best)
                best = value, best_slant = slant;
        }
        ret->rise[ret->count] = best;
        ret->slant[ret->count++] = best_slant;
    }
}

/* Beside rows that are hidden nothing can be seen to begin. */
static bool is_in_sight(const struct sl_view *view, double v, double width)
{
    for (int row = sl_view_row(view, v - width); row <= sl_view_row(view, v + width / 2); row++)
        if (view->blind[row])
            return false;
    return true;
}

/* The first of those that are as high within reach. */
static bool is_maximum(const struct places *p, int at, int reach)
{
    for (int k = at - reach; k <= at + reach; k++) {
        if (k < 0 || k >= p->count || k == at)
            continue;
        if (p->rise[k] > p->rise[at] || (k < at && p->rise[k] >= p->rise[at]))
            return false;
    }
    return true;
}

/* Between the steps: the apex of the parabola through three of them. */
static double apex(const struct places *p, int at)
{
    double below = p->rise[at - 1], here = p->rise[at], above = p->rise[at + 1];
    double bend = below - 2 * here + above;
    double off = bend < 0 ? 0.5 * (below - above) / bend : 0;
    return p->from + STEP * (at + fmin(fmax(off, -0.5), 0.5));
}

static void measure(const struct sl_view *view, const struct sl_sums *s, double width,
                    struct sl_edge *edge)
{
    edge->step = rise(s, edge->v, edge->slant, width, 0.5);
    edge->rise = rise(s, edge->v, edge->slant, SEARCH_WIDTH * width, SL_SPEAKING_PART);
    edge->above = level(s, edge, 0.2 * width, 0.8 * width);
    edge->beyond = level(s, edge, width, 2 * width);
    edge->hidden = !is_in_sight(view, edge->v, width);
    edge->highest_below = 0;
    for (int row = (int)(ENDS_OUT * s->rows); row < (edge->v - 1.2 * width) * s->rows; row++)
        edge->highest_below = fmax(edge->highest_below, view->mean[row]);
}

static double flank(const struct sl_line *line, double width)
{
    return line->v - fmin(fmax(line->width, FLANK_LEAST * width), FLANK_MOST * width) / 2;
}

static bool has_edge(const struct sl_edge *edges, int count, const struct sl_line *line,
                     double width)
{
    for (int k = 0; k < count; k++)
        if (fabs(edges[k].v - flank(line, width)) < FLANK_NEAR * width ||
            fabs(edges[k].v + width / 2 - line->v) < FLANK_NEAR * width)
            return true;
    return false;
}

int sl_edges_find(const struct sl_view *view, const struct sl_line *lines, int count, double width,
                  double from, double to, struct sl_edge ret[SL_EDGES_MAX])
{
    struct sl_sums s;
    struct places places;
    if (!sl_sums_init(&s, view))
        return -1;
    look(&s, width, from, to, &places);
    int reach = (int)fmax(APART * width / STEP, 1), edges = 0;
    for (int i = 1; i + 1 < places.count && edges < SL_EDGES_MAX; i++)
        if (places.rise[i] > NOISES * view->noise_mean && is_maximum(&places, i, reach))
            ret[edges++] =
                (struct sl_edge){.v = apex(&places, i), .slant = places.slant[i], .risen = true};
    int risen = edges;
    for (int i = 0; i < count && edges < SL_EDGES_MAX; i++)
        if (lines[i].v > from && lines[i].v < to && !has_edge(ret, risen, &lines[i], width))
            ret[edges++] = (struct sl_edge){.v = flank(&lines[i], width), .slant = lines[i].slant};
    for (int i = 0; i < edges; i++)
        measure(view, &s, width, &ret[i]);
    sl_sums_finish(&s);
    return edges;
}
