// SPDX-License-Identifier: GPL-3.0-or-later
/* Graphite absorbs all colours alike and lies on the paper as a line much narrower than ink that
 * was ruled and has run, so it adds one narrow ridge to -ln R of all channels.
 * 1. In each lane the weakest channel near the origin; its white top-hat (what an opening by a
 *    length takes off; J. Serra, Image Analysis and Mathematical Morphology, 1982) with a length
 *    between a pencil line's width and an ink line's holds the pencil and only the tip of an ink
 *    line.
 * 2. It must stand out over what the paper's own relief gives below the line, and run from an edge
 *    or across most of the width.
 * 3. An opening twice as long takes off narrow ink lines too. Where the short one takes off nearly
 *    as much, it is pencil; where clearly less, it may be either.
 * 4. The ridge above a straight line between its feet is divided out, lane by lane. */
#include "strip/marks_pencil.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

/* Parts of the strip's width, from mm on the common 20 mm: pencil lines are seen 0.3 to 0.5 mm
 * wide, ink lines are ruled 0.7 mm wide and more (common practice, no source). */
#define SHORT_PART 0.03
#define SEARCH_PART                                                                                \
    0.06 /* about the origin: the two lines are ruled at slightly different slants */
#define REACH_PART 0.0225
#define DEPTH_LEAST 0.08 /* -ln R; a light pencil line has 0.2 */
#define NULL_FACTOR 1.5  /* over the tenth-highest of the paper's own */
#define CLEAR_RATIO 0.65 /* short over long top-hat: pencil 0.8, narrowest ink 0.5 */
#define DOUBT_RATIO 0.55
#define CLEAR_DOUBT 0.03 /* of the depth: feet */
#define EITHER_DOUBT 0.5 /* the 95 % interval reaches from none of it to all */
#define INK_DOUBT 0.25   /* of the ink below: curvature of its line */
enum { ROWS_LEAST = 3, LANES_LEAST = 2, LINE_LANES = SL_VIEW_LANES / 2 };

struct scan {
    const struct sl_view *view;
    double *grey;        /* by row */
    int shorter, longer; /* rows */
};

static void read_lane(const struct scan *s, int lane)
{
    for (int row = 0; row < s->view->rows; row++) {
        const float *a = s->view->colour[row][lane];
        s->grey[row] = (double)fminf(a[0], fminf(a[1], a[2]));
    }
}

static int inside(const struct scan *s, int row)
{
    return row < 0 ? 0 : row >= s->view->rows ? s->view->rows - 1 : row;
}

/* What an opening by `length` rows takes off at `row`. */
static double top_hat(const struct scan *s, int row, int length)
{
    double opened = -INFINITY;
    for (int from = row - length + 1; from <= row; from++) {
        double least = INFINITY;
        for (int i = from; i < from + length; i++)
            least = fmin(least, s->grey[inside(s, i)]);
        opened = fmax(opened, least);
    }
    return s->grey[row] - opened;
}

static int highest_hat(const struct scan *s, int from, int to, double *ret_height)
{
    int best = inside(s, from);
    *ret_height = 0;
    for (int row = inside(s, from); row <= inside(s, to); row++) {
        double height = top_hat(s, row, s->shorter);
        if (height > *ret_height)
            *ret_height = height, best = row;
    }
    return best;
}

/* Lines cross most of the width, ticks begin at an edge; anything else is dust or writing. */
static bool is_drawn(int from, int end)
{
    bool at_edge = from < LANES_LEAST || end > SL_VIEW_LANES - LANES_LEAST;
    return end - from >= LINE_LANES || (at_edge && end - from >= LANES_LEAST);
}

static int drop_lone_lanes(struct sl_pencil *pencil)
{
    int kept = 0;
    for (int lane = 0; lane < SL_VIEW_LANES;) {
        int end = lane;
        while (end < SL_VIEW_LANES && pencil->depth[end] > 0)
            end++;
        bool drawn = is_drawn(lane, end);
        for (int k = lane; !drawn && k < end; k++)
            pencil->depth[k] = 0;
        kept += drawn ? end - lane : 0;
        lane = end + 1;
    }
    return kept;
}

static double foot(const struct scan *s, int top, int reach)
{
    return (s->grey[inside(s, top - reach)] + s->grey[inside(s, top + reach)]) / 2;
}

static void judge(const double *shorter, const double *longer, struct sl_pencil *pencil)
{
    int lanes = drop_lone_lanes(pencil);
    double sum[2] = {0, 0}, depth = 0, ground = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        depth += pencil->depth[lane];
        ground += pencil->depth[lane] > 0 ? pencil->ground[lane] : 0;
        sum[0] += pencil->depth[lane] > 0 ? shorter[lane] : 0;
        sum[1] += pencil->depth[lane] > 0 ? longer[lane] : 0;
    }
    if (lanes > 0 && sum[0] > CLEAR_RATIO * sum[1]) {
        pencil->kind = SL_PENCIL_CLEAR;
        pencil->doubt = CLEAR_DOUBT + INK_DOUBT * fmin(ground / depth, 1);
    } else if (lanes > 0 && sum[0] > DOUBT_RATIO * sum[1]) {
        pencil->kind = SL_PENCIL_IN_DOUBT;
        pencil->doubt = EITHER_DOUBT;
    }
}

static void look(struct scan *s, double origin, struct sl_pencil *ret)
{
    const struct sl_view *view = s->view;
    double unit = view->width_part * view->rows, shorter[SL_VIEW_LANES], longer[SL_VIEW_LANES];
    double paper[SL_VIEW_LANES], sorted[SL_VIEW_LANES];
    int search = (int)ceil(SEARCH_PART * unit), middle = sl_view_row(view, origin);
    int clean = middle - search - 2 * s->longer;
    ret->reach = ceil(REACH_PART * unit);
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        read_lane(s, lane);
        highest_hat(s, clean - 2 * search, clean, &paper[lane]);
        int top = highest_hat(s, middle - search, middle + search, &shorter[lane]);
        longer[lane] = top_hat(s, top, s->longer);
        ret->row[lane] = top;
        ret->ground[lane] = fmax(foot(s, top, (int)ret->reach), 0);
        ret->depth[lane] = fmax(s->grey[top] - ret->ground[lane], 0);
        sorted[lane] = paper[lane];
    }
    gsl_sort(sorted, 1, SL_VIEW_LANES);
    double limit = fmax(DEPTH_LEAST, NULL_FACTOR * sorted[SL_VIEW_LANES - 3]);
    for (int lane = 0; lane < SL_VIEW_LANES; lane++)
        if (shorter[lane] < limit)
            ret->depth[lane] = 0;
    judge(shorter, longer, ret);
}

bool sl_pencil_find(const struct sl_view *view, double origin, struct sl_pencil *ret)
{
    *ret = (struct sl_pencil){.kind = SL_PENCIL_NONE};
    struct scan s = {.view = view, .grey = calloc((size_t)view->rows, sizeof *s.grey)};
    if (s.grey == NULL)
        return false;
    s.shorter = (int)lround(SHORT_PART * view->width_part * view->rows);
    s.longer = 2 * s.shorter;
    if (s.shorter >= ROWS_LEAST)
        look(&s, origin, ret);
    free(s.grey);
    return true;
}

/* The ridge in one lane, row by row from its lower foot. */
static void read_ridge(const struct sl_pencil *pencil, const struct sl_view *view, int lane,
                       int row, double *ret)
{
    int reach = (int)pencil->reach, top = (int)pencil->row[lane];
    int low = top - reach < 0 ? 0 : top - reach;
    int high = top + reach >= view->rows ? view->rows - 1 : top + reach;
    double grey[3] = {0, 0, 0};
    const int at[3] = {low, row, high};
    *ret = 0;
    if (pencil->depth[lane] <= 0 || row <= low || row >= high)
        return;
    for (int k = 0; k < 3; k++) {
        const float *a = view->colour[at[k]][lane];
        grey[k] = (double)fminf(a[0], fminf(a[1], a[2]));
    }
    double part = (double)(row - low) / (high - low);
    *ret = fmax(grey[1] - (1 - part) * grey[0] - part * grey[2], 0);
}

static void divide_row(const double depth[SL_VIEW_LANES], int row, struct sl_sheet *sheet)
{
    for (int column = 0; column < sheet->columns; column++) {
        double u = (column + 0.5) / sheet->columns;
        int lane = (int)floor((u - SL_VIEW_FROM) / (SL_VIEW_TO - SL_VIEW_FROM) * SL_VIEW_LANES);
        lane = lane < 0 ? 0 : lane >= SL_VIEW_LANES ? SL_VIEW_LANES - 1 : lane;
        float *cell = sheet->rgb + 3 * ((size_t)row * (size_t)sheet->columns + (size_t)column);
        for (int c = 0; c < 3; c++)
            cell[c] *= (float)exp(depth[lane]);
    }
}

void sl_pencil_take_out(const struct sl_pencil *pencil, const struct sl_view *view,
                        struct sl_sheet *sheet)
{
    if (pencil->kind == SL_PENCIL_NONE)
        return;
    for (int row = 0; row < sheet->rows; row++) {
        double depth[SL_VIEW_LANES], mean = 0;
        for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
            read_ridge(pencil, view, lane, row, &depth[lane]);
            mean += depth[lane] / SL_VIEW_LANES;
        }
        if (mean <= 0)
            continue;
        for (size_t c = 0; c < 3; c++) {
            float *se = &sheet->paper[3 * (size_t)row + c];
            *se = (float)hypot((double)*se, pencil->doubt * mean);
        }
        if (pencil->kind == SL_PENCIL_CLEAR)
            divide_row(depth, row, sheet);
    }
}
