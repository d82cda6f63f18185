// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. The dye's upper edge: in each lane the highest dye that is thicker than dust, and where it
 *    falls to a quarter of what stands just below.
 * 2. Above it, or close to it, a pencil line (thin, straight, grey) or a tide line (thin, faint,
 *    yellowish brown: what the water carried out of the paper) marks the front itself.
 * 3. Without these the dye's edge is the front where it is pushed against it: steep, or fingered
 *    as the front is. Bands that the water left behind end softly and evenly.
 * 4. Otherwise the front is somewhere above, and the error says so. */
#include "strip/marks_front.h"

#include <math.h>
#include <stdlib.h>

#define ENDS_OUT 0.06   /* of the length at the upper end: cut edge, table shining in */
#define DYE_LEAST 0.08  /* amount; deltaE of about 2, less than light that is not well known */
#define DYE_PART 0.06   /* of the lane's highest amount */
#define THICK_PART 0.02 /* of the length: dye must go on for that much */
#define LOOK_BACK 0.08  /* of the length, in which the edge's own height is looked for */
#define EDGE_LEVEL 0.35 /* of that height; fingers are blurred to about there */
#define SOFT_EDGE                                                                                  \
    0.05             /* of the length, likewise: from here on the level counts, not the middle     \
                      */
#define STEEP 0.012  /* of the length from a tenth to eight tenths of the height */
#define FINGERED 0.2 /* spread of the edge over its softness; bands end more evenly */
#define FINGERED_SURE 0.3
#define DOUBTFUL_SIGMA 0.03
#define RUN_LEAST 0.2       /* of the length; water climbs further than that above the line */
#define SOFT_PART 0.25      /* of the softness: where within a soft edge the water stopped */
#define EDGE_SIGMA 0.006    /* of the length: from a quarter of the height to the water */
#define PENCIL_WIDTH 0.0065 /* of the length */
#define PENCIL_WANDER 0.0015
#define TIDE_WIDTH 0.016
#define TIDE_FAINT 0.3 /* amount; deltaE of up to about 6 */
#define TIDE_TINT 0.18
#define GREY_PART 0.25 /* largest less smallest channel over the sum */
/* Where nothing shows: on most strips the leading dye ends about at the front, on the others a
 * tenth or two of the length below it (rendered strips of two kinds); soon above the line never. */
#define UNSEEN_GAP 0.02
#define UNSEEN_SIGMA 0.08
#define UNSEEN_GAP_LOW 0.2
#define UNSEEN_SIGMA_LOW 0.11
#define FRONT_MOST 0.97 /* of the length */
#define BELOW_EDGE 0.03 /* how far below the dye's edge a mark can still be the front's */

struct edge {
    int lanes;
    double low, v, half,
        high; /* where a tenth, EDGE_LEVEL, half, eight tenths of the height is left */
    double spread, slant;
};

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(const double *values, int count)
{
    double copy[SL_VIEW_LANES];
    for (int i = 0; i < count; i++)
        copy[i] = values[i];
    qsort(copy, (size_t)count, sizeof copy[0], compare_doubles);
    return count % 2 ? copy[count / 2] : (copy[count / 2 - 1] + copy[count / 2]) / 2;
}

/* Amount from which on a lane's colour counts as dye. */
static double dye_limit(const struct sl_view *view, int lane, double origin, int half)
{
    double peak = 0;
    for (int row = sl_view_row(view, origin); row < sl_view_row(view, 1 - ENDS_OUT); row++)
        peak = fmax(peak, sl_view_mean_about(view, lane, row, half));
    double noise = 8 * view->noise / sqrt(2.0 * half + 1);
    return fmax(fmax(noise, DYE_LEAST), DYE_PART * peak);
}

/* Highest row whose dye goes on below it; -1 if there is none. */
static int top_of_dye(const struct sl_view *view, int lane, double origin, int half)
{
    double limit = dye_limit(view, lane, origin, half);
    int run = 0, thick = (int)ceil(THICK_PART * view->rows);
    for (int row = sl_view_row(view, 1 - ENDS_OUT); row > sl_view_row(view, origin); row--) {
        run = sl_view_mean_about(view, lane, row, half) > limit ? run + 1 : 0;
        if (run >= thick)
            return row + run - 1;
    }
    return -1;
}

static double falls_to(const struct sl_view *view, int lane, int top, int half, double level)
{
    int row = top + (int)(THICK_PART * view->rows);
    if (row >= view->rows)
        row = view->rows - 1;
    while (row > 0 && sl_view_mean_about(view, lane, row, half) < level)
        row--;
    return (row + 0.5) / view->rows;
}

static struct edge find_edge(const struct sl_view *view, double origin)
{
    double low[SL_VIEW_LANES], at[SL_VIEW_LANES], halved[SL_VIEW_LANES], high[SL_VIEW_LANES],
        u[SL_VIEW_LANES];
    int half = (int)(0.003 * view->rows), n = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        int top = top_of_dye(view, lane, origin, half);
        if (top < 0)
            continue;
        double height = 0;
        int from = sl_view_row(view, (double)top / view->rows - LOOK_BACK);
        for (int row = from; row <= top; row++)
            height = fmax(height, sl_view_mean_about(view, lane, row, half));
        low[n] = falls_to(view, lane, top, half / 2, 0.1 * height);
        at[n] = falls_to(view, lane, top, half / 2, EDGE_LEVEL * height);
        halved[n] = falls_to(view, lane, top, half / 2, 0.5 * height);
        high[n] = falls_to(view, lane, top, half / 2, 0.8 * height);
        u[n++] = sl_view_u(lane) - 0.5;
    }
    struct edge e = {.lanes = n};
    if (n == 0)
        return e;
    e.low = median(low, n), e.high = median(high, n);
    double middle = median(at, n), sum = 0, squares = 0, su = 0, suu = 0, sua = 0;
    int used = 0;
    for (int i = 0; i < n; i++) {
        /* lanes that go their own way hold writing or a shadow */
        if (fabs(at[i] - middle) > 0.06)
            continue;
        sum += at[i], squares += (at[i] - middle) * (at[i] - middle);
        su += u[i], suu += u[i] * u[i], sua += u[i] * (at[i] - middle);
        used++;
    }
    e.lanes = used;
    e.v = sum / used;
    e.half = e.v - (middle - median(halved, n));
    double mean = e.v - middle;
    e.spread = sqrt(fmax(squares / used - mean * mean, 0));
    e.slant = suu > 0 ? (sua - su * mean) / fmax(suu - su * su / used, 1e-9) : 0;
    return e;
}

static bool is_grey(const double colour[3])
{
    double sum = colour[0] + colour[1] + colour[2];
    double high = fmax(colour[0], fmax(colour[1], colour[2]));
    double low = fmin(colour[0], fmin(colour[1], colour[2]));
    return sum > 0 && high - low < GREY_PART * sum;
}

/* Faint, and absorbing blue most and red least by a clear part of the whole: the shade of a ridge
 * is grey. */
static bool is_water_mark(const double colour[3])
{
    double sum = colour[0] + colour[1] + colour[2];
    return sum > 0 && sum < TIDE_FAINT && colour[2] - colour[0] > TIDE_TINT * sum &&
           colour[2] > colour[1] && colour[1] > colour[0] * 0.9;
}

enum sl_front_seen sl_front_kind(const struct sl_view *view, const struct sl_line *line)
{
    const double *colour = line->colour;
    if (line->width < PENCIL_WIDTH && line->wander < PENCIL_WANDER && is_grey(colour) &&
        line->likeness > 12 * view->noise_mean)
        return SL_FRONT_PENCIL;
    if (line->width < TIDE_WIDTH && is_water_mark(colour) && line->likeness > 4 * view->noise_mean)
        return SL_FRONT_WATER_LINE;
    return SL_FRONT_NOT_SEEN;
}

static struct sl_front from_line(const struct sl_line *line, enum sl_front_seen kind)
{
    /* what the water carries along is laid down just below its highest point */
    double v = kind == SL_FRONT_WATER_LINE ? line->v + line->width / 3 : line->v;
    return (struct sl_front){.v = v,
                             .sigma = hypot(line->sigma, line->width / 2),
                             .seen = kind,
                             .slant = line->slant,
                             .spread = line->wander};
}

static struct sl_front from_edge(const struct edge *e, double origin)
{
    double softness = e->low - e->high;
    bool far = e->v - origin > RUN_LEAST;
    bool pushed = far && e->lanes >= SL_VIEW_LANES / 3 &&
                  (softness < STEEP || e->spread > FINGERED * softness);
    struct sl_front front = {.slant = e->slant, .spread = e->spread};
    if (pushed) {
        /* blur leaves a steep edge's half height in place; a soft one ends at its foot */
        front.v = e->half + fmin(softness / SOFT_EDGE, 1) * (e->v - e->half);
        front.sigma = hypot(fmax(EDGE_SIGMA, SOFT_PART * softness),
                            e->spread / sqrt(fmax(e->lanes / 3.0, 1)));
        if (softness > STEEP && e->spread < FINGERED_SURE * softness)
            front.sigma = hypot(front.sigma, DOUBTFUL_SIGMA);
        front.seen = SL_FRONT_DYE;
    } else {
        front.v = fmin(e->low + (far ? UNSEEN_GAP : UNSEEN_GAP_LOW), FRONT_MOST);
        front.sigma = far ? UNSEEN_SIGMA : UNSEEN_SIGMA_LOW;
        front.seen = SL_FRONT_NOT_SEEN;
    }
    return front;
}

/* The lowest pencil mark above the dye: writing at the upper end can look like more of them. */
static bool from_pencil(const struct sl_view *view, const struct sl_seen *seen, double lowest,
                        struct sl_front *ret)
{
    bool found = false;
    for (int i = 0; i < seen->lines; i++) {
        const struct sl_line *line = &seen->line[i];
        if (found || line->v < lowest || line->v > 1 - ENDS_OUT / 2 ||
            sl_front_kind(view, line) != SL_FRONT_PENCIL)
            continue;
        *ret = from_line(line, SL_FRONT_PENCIL);
        found = true;
    }
    for (int i = 0; i < seen->ticks; i++) {
        const struct sl_tick *tick = &seen->tick[i];
        if (tick->v < lowest || tick->v > (found ? ret->v : 1 - ENDS_OUT / 2))
            continue;
        *ret = (struct sl_front){
            .v = tick->v, .sigma = tick->sigma, .seen = SL_FRONT_PENCIL, .slant = tick->slant};
        return true;
    }
    return found;
}

/* The highest water line: drying leaves fainter ones below it. */
static bool from_water(const struct sl_view *view, const struct sl_seen *seen, double lowest,
                       struct sl_front *ret)
{
    bool found = false;
    for (int i = 0; i < seen->lines; i++) {
        const struct sl_line *line = &seen->line[i];
        if (line->v < lowest || line->v > 1 - ENDS_OUT / 2 ||
            sl_front_kind(view, line) != SL_FRONT_WATER_LINE)
            continue;
        *ret = from_line(line, SL_FRONT_WATER_LINE);
        found = true;
    }
    return found;
}

struct sl_front sl_front_find(const struct sl_view *view, const struct sl_seen *seen, double origin)
{
    struct edge e = find_edge(view, origin);
    double lowest = e.lanes > 0 ? e.v - BELOW_EDGE : origin + 0.1;
    struct sl_front front = {.seen = SL_FRONT_NOT_SEEN};
    if (from_pencil(view, seen, lowest, &front) || from_water(view, seen, lowest, &front))
        return front;
    if (e.lanes > 0)
        return from_edge(&e, origin);
    return (struct sl_front){
        .v = 0.65, .sigma = 0.17, .seen = SL_FRONT_NOT_SEEN}; /* anywhere on common strips */
}
