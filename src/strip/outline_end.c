// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the paper ends, looked for again around an end that was found. The search takes the first
 * edge that closes both sides; that can be a peg's tip, tape, writing, a ruled line of the table or
 * the place where rounded corners begin.
 * 1. What lies about the end is read into a raster (outline_field.c).
 * 2. The end is the straight line across that parts paper from table best, has edges under it and
 *    beyond which the sides stop. Edges that go on beyond both sides are the table's or a tape's.
 * 3. It replaces the end that was found only where it is clearly better. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "strip/outline_field.h"

static const double WINDOW_WIDTHS = 0.35; /* on both sides of a line */
static const double SLOPE_MOST = 0.35, SLOPE_SIGMA = 0.12, SLOPE_COST = 0.05; /* of the width */
static const double AWAY_COST = 0.1;                                          /* a width away */
static const double FAR_WIDTHS = 0.05, BETWEEN_LEAST = 0.15;
static const double GAIN_LEAST = 0.08;
/* Of the width, from the end that was found: further in it is ink, further out another strip. */
static const double INWARD_MOST = 0.25, OUTWARD_MOST = 0.7;
/* Where nothing at all ends the strip, as at the photo's frame, a plain end may lie further in. */
static const double NO_END = 0.25, PLAIN_END = 1.0, INWARD_FURTHER = 1.2;
static const double TAPE_EDGE = 0.3;   /* of an edge, beside the strip */
static const double FRAME_NEAR = 0.15; /* of the width */

static struct sl_point to_photo(const struct find_picture *p, struct sl_point q)
{
    return (struct sl_point){p->x0 + q.x * p->scale, p->y0 + q.y * p->scale};
}

static int line_row(const struct outline_field *r, double row, double slope, int column)
{
    int i = (int)lround(row + slope * (outline_field_across(column) - 0.5) * r->width / r->step);
    return i < 0 ? 0 : i >= r->rows ? r->rows - 1 : i;
}

/* The most of an edge within a row of the line. */
static double edge_near(const struct outline_field *r, int row, int column)
{
    double most = 0;
    for (int i = row - 1; i <= row + 1; i++)
        if (i >= 0 && i < r->rows)
            most = fmax(most, (double)outline_field_cell(r, i, column)->edge);
    return most;
}

static double goes_on(const struct outline_field *r, double row, double slope)
{
    double left = 0, right = 0;
    for (int k = 0; k < FIELD_BESIDE; k++) {
        int other = FIELD_ALL - 1 - k;
        left += edge_near(r, line_row(r, row, slope, k), k) / FIELD_BESIDE;
        right += edge_near(r, line_row(r, row, slope, other), other) / FIELD_BESIDE;
    }
    return fmin(left, right);
}

/* How well a line parts paper from table in one column. */
static double parts(const struct outline_field *r, int row, int column)
{
    int window = (int)fmax(4, WINDOW_WIDTHS * r->width / r->step);
    int low = row - window < 0 ? 0 : row - window;
    int high = row + window > r->rows ? r->rows : row + window;
    const float *s = r->sum + (size_t)column * (FIELD_ROWS_MAX + 1);
    return ((double)(s[row] - s[low]) - (double)(s[high] - s[row])) / (2 * window);
}

/* How much clearer a side is within the line than beyond. */
static double side_ends(const struct outline_field *r, int side, int row)
{
    int window = (int)fmax(4, WINDOW_WIDTHS * r->width / r->step);
    int low = row - window < 0 ? 0 : row - window;
    int high = row + window > r->rows ? r->rows : row + window;
    const double *s = r->side[side];
    return (s[row] - s[low]) / fmax(row - low, 1) - (s[high] - s[row]) / fmax(high - row, 1);
}

static double both_sides(const struct outline_field *r, double row, double slope)
{
    return (side_ends(r, 0, line_row(r, row, slope, FIELD_BESIDE)) +
            side_ends(r, 1, line_row(r, row, slope, FIELD_BESIDE + FIELD_COLUMNS - 1))) /
           2;
}

/* Mean odds of what lies between the end that was found and a line; 0 where that is nothing. */
static double between(const struct outline_field *r, double row, double slope)
{
    double odds = 0, n = 0;
    for (int k = FIELD_BESIDE; k < FIELD_BESIDE + FIELD_COLUMNS; k++) {
        int i = line_row(r, row, slope, k), j = r->at;
        const float *s = r->sum + (size_t)k * (FIELD_ROWS_MAX + 1);
        odds += (i > j ? 1 : -1) * (double)(s[i] - s[j]);
        n += abs(i - j);
    }
    return n > 4 * FIELD_COLUMNS ? odds / n : 0;
}

/* Step 2, for one line. */
static double worth(const struct outline_field *r, double row, double slope)
{
    double edges = 0, parted = 0;
    for (int k = FIELD_BESIDE; k < FIELD_BESIDE + FIELD_COLUMNS; k++) {
        int i = line_row(r, row, slope, k);
        edges += edge_near(r, i, k) / FIELD_COLUMNS;
        parted += parts(r, i, k) / FIELD_COLUMNS;
    }
    double turn = slope / SLOPE_SIGMA, sides = both_sides(r, row, slope);
    return edges + parted + sides - goes_on(r, row, slope) - SLOPE_COST * turn * turn -
           AWAY_COST * fabs(row - r->at) * r->step / r->width;
}

struct end {
    double row, slope, worth;
};

/* Not an end: paper lies beyond it, up to the end that was found, or table lies before it. */
static bool is_within(const struct outline_field *r, double row, double slope)
{
    double far = fabs(row - r->at) * r->step / r->width, odds = between(r, row, slope);
    return far > FAR_WIDTHS && (row < r->at ? odds > -BETWEEN_LEAST : odds < -BETWEEN_LEAST);
}

static void try_lines(const struct outline_field *r, const double rows[3], const double slopes[3],
                      struct end *best)
{
    int margin = (int)(0.1 * r->width / r->step) + 5;
    for (double row = fmax(rows[0], margin); row <= fmin(rows[1], r->rows - margin); row += rows[2])
        for (double slope = slopes[0]; slope <= slopes[1]; slope += slopes[2]) {
            double w = worth(r, row, slope);
            if (w > best->worth && !is_within(r, row, slope))
                *best = (struct end){row, slope, w};
        }
}

static struct end best_line(const struct outline_field *r, double inward_widths)
{
    struct end best = {r->at, 0, -1e9};
    double width = r->width / r->step;
    const double rows[] = {r->at - inward_widths * width, r->at + OUTWARD_MOST * width, 2};
    const double slopes[] = {-SLOPE_MOST, SLOPE_MOST, 0.035};
    try_lines(r, rows, slopes, &best);
    const double near_rows[] = {best.row - 2, best.row + 2, 1};
    const double near_slopes[] = {best.slope - 0.03, best.slope + 0.03, 0.01};
    try_lines(r, near_rows, near_slopes, &best);
    return best;
}

/* The end as it was found, at its best within a pixel or two. */
static double worth_before(const struct outline_field *r, double row, double slope)
{
    double most = -1e9;
    for (int d = -2; d <= 2; d++)
        most = fmax(most, worth(r, row + d, slope));
    return most;
}

static double along(struct sl_point from, struct sl_point direction, struct sl_point p)
{
    return (p.x - from.x) * direction.x + (p.y - from.y) * direction.y;
}

static void put_end(const struct find_picture *p, const struct outline_field *r, double out,
                    double half, struct sl_point *left, struct sl_point *right)
{
    *left = to_photo(p, outline_field_place(r, 0, out - half));
    *right = to_photo(p, outline_field_place(r, 1, out + half));
}

static bool find_end(const struct find_picture *p, const double paper[FIND_PLANES], bool upper,
                     struct outline_field *r, struct sl_outline *o)
{
    struct sl_point *left = &o->corner_px[upper ? 3 : 0], *right = &o->corner_px[upper ? 2 : 1];
    if (!outline_field_fill(p, o, upper, paper, r))
        return false;
    double at_left = along(r->left, r->left_dir, outline_field_picture_px(p, *left));
    double at_right = along(r->right, r->right_dir, outline_field_picture_px(p, *right));
    double row = r->at + (at_left + at_right) / 2 / r->step;
    double before = worth_before(r, row, (at_right - at_left) / r->width);
    struct end best = best_line(r, INWARD_MOST);
    struct end further = before < NO_END ? best_line(r, INWARD_FURTHER) : best;
    if (further.worth > PLAIN_END)
        best = further;
    double slope = (at_right - at_left) / r->width, under = 0;
    if (goes_on(r, row, slope) > TAPE_EDGE)
        under = outline_under_cover(r, slope);
    if (under > 0)
        put_end(p, r, under, 0, left, right);
    else if (best.worth >= before + GAIN_LEAST)
        put_end(p, r, (best.row - r->at) * r->step, best.slope * r->width / 2, left, right);
    else
        return false;
    return true;
}

/* Of one of its ends, px of the picture. */
static double from_frame(const struct find_picture *p, const struct sl_outline *o, bool upper)
{
    struct sl_point a = outline_field_picture_px(p, o->corner_px[upper ? 3 : 0]);
    struct sl_point b = outline_field_picture_px(p, o->corner_px[upper ? 2 : 1]);
    return outline_from_frame(p->width, p->height, a, b);
}

/* The end that the frame cut has been found inside it. */
static bool is_whole_now(const struct find_picture *p, const struct sl_outline *before,
                         const struct sl_outline *now, const bool moved[2])
{
    const struct sl_point *c = now->corner_px;
    bool upper = from_frame(p, before, true) < from_frame(p, before, false);
    double width = hypot(c[1].x - c[0].x, c[1].y - c[0].y) / p->scale;
    return moved[upper] && from_frame(p, now, upper) > FRAME_NEAR * width;
}

bool outline_ends(const struct find_picture *picture, const double paper[FIND_PLANES],
                  struct sl_outline *outline)
{
    struct outline_field r;
    struct sl_outline found = *outline;
    bool moved[2] = {false, false}, ready = outline_field_create(&r);
    for (int end = 0; end < 2 && ready; end++)
        moved[end] = find_end(picture, paper, end == 1, &r, &found);
    outline_field_finish(&r);
    if (!moved[0] && !moved[1])
        return false;
    outline->cut_off = outline->cut_off && !is_whole_now(picture, outline, &found, moved);
    struct sl_outline straight;
    outline_straight(found.corner_px, &straight);
    memcpy(outline->corner_px, straight.corner_px, sizeof straight.corner_px);
    memcpy(outline->left_px, straight.left_px, sizeof straight.left_px);
    memcpy(outline->right_px, straight.right_px, sizeof straight.right_px);
    return true;
}
