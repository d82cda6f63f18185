// SPDX-License-Identifier: GPL-3.0-or-later
/* Looks closely at one pair of lines, in a raster straightened between them.
 * 1. Rows across the pair, far beyond the lines' overlap: colours inside and just outside, how
 *    strong an edge each side shows there, and which columns show an edge across or along.
 * 2. The ends: the interval in which the sides go on, closed at both ends by an edge across at
 *    which the colour changes; bands of ink are such edges too, but the sides go on beyond them.
 * 3. The end lines, for ends cut askew.
 * 4. Quality, a product of what must hold: sides and ends seen, shape, the same colour across the
 *    width at every height (bands cross a strip; ticks, writing and grain don't), no edge running
 *    along inside (two strips, a ruler's scale), paper that is no darker than what lies around it
 *    and differs from it. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROWS_MAX = 640,
    COLUMNS = 15, /* inside */
    ROWS_A_WIDTH = 20,
    MARGIN = 2,    /* columns beside each edge that blur and shadow touch */
    ENDS_MAX = 10, /* intervals whose quality is judged */
};
static const double REACH_WIDTHS = 8;   /* beyond the overlap */
static const double SILENT_WIDTHS = 2.; /* without any side: nothing more to come */
static const double SIDE_TURN_DEG = 14, ACROSS_TURN_DEG = 24, ALONG_TURN_DEG = 10;
static const double SIDE_REACH_PX = 1.6, SIDE_REACH_WIDTH = 0.06;
static const double ASPECT_LEAST = 1.7, ASPECT_MOST = 10.5;
/* A side counts as seen in full from these parts of its usual strength and colour step on: light
 * and ink vary along a strip, but grain that merely goes on in its direction is left out. */
static const double SIDE_FULL = 0.4, STEP_FULL = 0.35;
static const double STEPLESS =
    0.35; /* part that an edge between like colours counts: a neighbour */
static const double LIGHT_LEAST = 0.05; /* root of light below which noise rules */
static const double STEP_PX = 3; /* of a sharp edge in the smoothed picture: step over slope */
static const double STEPPED_NONE = 0.08, STEPPED_FULL = 0.35;
static const double FOLLOW = 0.35;  /* of the way to the edge seen, from row to row */
static const double BOW_MOST = 0.2; /* of the width, by which a bent side leaves the straight one */
static const double ROW_COST = 0.55;     /* a row with one side only neither gains nor loses much */
static const double END_GAIN = 0.45;     /* a closed end is worth this many widths of sides */
static const double FRAME_GAIN = 0.6;    /* the photo's frame instead of an end */
static const double THROUGH_WORTH = 0.3; /* of what runs through the photo from frame to frame */

struct row {
    double off_left, off_right; /* px towards the right, of bent sides against straight ones */
    float inside[COLUMNS][FIND_PLANES];
    float mean[FIND_PLANES];                     /* of the columns off the margins */
    float left[FIND_PLANES], right[FIND_PLANES]; /* outside */
    float side_left, side_right;                 /* strength of the edge, 0: none */
    float part_left, part_right;                 /* how far the side is seen, 0..1 */
    bool across[COLUMNS], along[COLUMNS];
};

struct raster {
    int count;
    bool cut_low, cut_high;       /* the picture's frame, not a limit of ours, ended the rows */
    double s0, step;              /* axial coordinate of row 0, and from row to row; px */
    double usual;                 /* strength of the sides within the overlap, median */
    double step_left, step_right; /* from inside to outside within the overlap, median */
    struct row row[ROWS_MAX];
};

static double gap(const float a[FIND_PLANES], const float b[FIND_PLANES])
{
    double sum = 0;
    for (int c = 0; c < FIND_PLANES; c++)
        sum += ((double)a[c] - (double)b[c]) * ((double)a[c] - (double)b[c]);
    return sqrt(sum);
}

static double between(double x, double low, double high)
{
    return x < low ? low : x > high ? high : x;
}

/* 0 up to `none`, 1 from `full` on. */
static double ramp(double x, double none, double full)
{
    return between((x - none) / (full - none), 0, 1);
}

/* Strength of the edge at a pixel if it runs in the direction asked for, else 0. */
static float edge_at(const struct find_edges *e, double x, double y, double direction_deg,
                     double turn_deg)
{
    int i = (int)(x + 0.5), j = (int)(y + 0.5);
    if (i < 0 || j < 0 || i >= e->width || j >= e->height)
        return 0;
    size_t at = (size_t)j * (size_t)e->width + (size_t)i;
    if (!e->direction[at])
        return 0;
    double turn = fabs(e->direction[at] - 0.5 - direction_deg);
    return (turn > 90 ? 180 - turn : turn) <= turn_deg ? e->strength[at] : 0;
}

static double deg_of(double dx, double dy)
{
    double a = atan2(dy, dx) * 180 / M_PI;
    return a < 0 ? a + 180 : a >= 180 ? a - 180 : a;
}

struct seen {
    float strength; /* 0: no edge */
    double off;     /* px from where it was looked for, towards the right */
};

static struct seen side_seen(const struct find_edges *e, const struct find_quad *q, double x,
                             double y, double deg)
{
    int reach = (int)ceil(SIDE_REACH_PX + SIDE_REACH_WIDTH * q->width);
    struct seen best = {0, 0};
    for (int k = -reach; k <= reach; k++) {
        float s = edge_at(e, x - k * q->axis_y, y + k * q->axis_x, deg, SIDE_TURN_DEG);
        if (s > best.strength)
            best = (struct seen){s, k};
    }
    return best;
}

static bool in_picture(const struct find_picture *p, double x, double y)
{
    return x >= 1.5 && y >= 1.5 && x <= p->width - 2.5 && y <= p->height - 2.5;
}

static bool row_in_picture(const struct find_picture *p, const struct find_quad *q, double s)
{
    return in_picture(p, q->left_x + s * q->left_dx, q->left_y + s * q->left_dy) &&
           in_picture(p, q->right_x + s * q->right_dx, q->right_y + s * q->right_dy);
}

static void read_columns(const struct find_picture *p, const struct find_edges *e,
                         const struct find_quad *q, const double at[4], double step, struct row *r)
{
    double lx = at[0], ly = at[1], wx = at[2], wy = at[3], cell = hypot(wx, wy) / COLUMNS;
    double across = deg_of(wx, wy), along = deg_of(q->axis_x, q->axis_y);
    memset(r->mean, 0, sizeof r->mean);
    for (int k = 0; k < COLUMNS; k++) {
        double u = (k + 0.5) / COLUMNS, x = lx + u * wx, y = ly + u * wy;
        find_picture_sample(p, x, y, r->inside[k]);
        r->across[k] = r->along[k] = false;
        for (double t = -0.5 * step; t <= 0.5 * step && !r->across[k]; t += 0.8)
            r->across[k] =
                edge_at(e, x + t * q->axis_x, y + t * q->axis_y, across, ACROSS_TURN_DEG) > 0;
        for (double t = -0.5 * cell; t <= 0.5 * cell && !r->along[k]; t += 0.8)
            r->along[k] =
                edge_at(e, x - t * q->axis_y, y + t * q->axis_x, along, ALONG_TURN_DEG) > 0;
        if (k >= MARGIN && k < COLUMNS - MARGIN)
            for (int c = 0; c < FIND_PLANES; c++)
                r->mean[c] += r->inside[k][c] / (COLUMNS - 2 * MARGIN);
    }
}

static double side_x(const struct find_quad *q, bool right, double s, double off)
{
    return (right ? q->right_x + s * q->right_dx : q->left_x + s * q->left_dx) - off * q->axis_y;
}

static double side_y(const struct find_quad *q, bool right, double s, double off)
{
    return (right ? q->right_y + s * q->right_dy : q->left_y + s * q->left_dy) + off * q->axis_x;
}

/* Step 1, one row; its offsets are set. */
static void read_row(const struct find_picture *p, const struct find_edges *e,
                     const struct find_quad *q, double s, double step, struct row *r)
{
    double lx = side_x(q, false, s, r->off_left), ly = side_y(q, false, s, r->off_left);
    double wx = side_x(q, true, s, r->off_right) - lx, wy = side_y(q, true, s, r->off_right) - ly;
    double width = hypot(wx, wy), out = fmax(3.0, 0.10 * width) / width;
    read_columns(p, e, q, (const double[4]){lx, ly, wx, wy}, step, r);
    find_picture_sample(p, lx - out * wx, ly - out * wy, r->left);
    find_picture_sample(p, lx + (1 + out) * wx, ly + (1 + out) * wy, r->right);
}

/* Follows one side from row to row: a bent side leaves its straight line by little and steadily. */
static float follow(const struct find_edges *e, const struct find_quad *q, bool right, double s,
                    double *off)
{
    double deg = right ? deg_of(q->right_dx, q->right_dy) : deg_of(q->left_dx, q->left_dy);
    struct seen seen = side_seen(e, q, side_x(q, right, s, *off), side_y(q, right, s, *off), deg);
    double limit = BOW_MOST * q->width;
    if (seen.strength > 0)
        *off = between(*off + FOLLOW * seen.off, -limit, limit);
    return seen.strength;
}

/* Rows from the middle of the overlap on in one direction, to the frame or until the sides have
 * been silent for long. Returns their number; `rows` steps by `next`. */
static int follow_rows(const struct find_picture *p, const struct find_edges *e,
                       const struct find_quad *q, double s, double step, struct row *rows, int next,
                       bool *ret_cut)
{
    double limit = 0.5 * (q->upper - q->lower) + REACH_WIDTHS * q->width, silent = 0;
    double left = 0, right = 0;
    int n = 0;
    *ret_cut = false;
    for (; fabs(s) < limit && n < ROWS_MAX / 2 - 1; s += step, n++) {
        if (!row_in_picture(p, q, s)) {
            *ret_cut = true;
            break;
        }
        struct row *r = rows + n * next;
        r->side_left = follow(e, q, false, s, &left);
        r->side_right = follow(e, q, true, s, &right);
        r->off_left = left;
        r->off_right = right;
        silent = r->side_left > 0 || r->side_right > 0 ? 0 : silent + fabs(step);
        if (silent > SILENT_WIDTHS * q->width)
            break;
    }
    return n;
}

static int by_value(const void *a, const void *b)
{
    double d = *(const double *)a - *(const double *)b;
    return d > 0 ? 1 : d < 0 ? -1 : 0;
}

/* Sorts. */
static double quantile(double *v, int n, double part)
{
    if (n == 0)
        return 0;
    qsort(v, (size_t)n, sizeof *v, by_value);
    return v[(int)(part * (n - 1) + 0.5)];
}

/* Where the light falls off, so do edges and steps, with the (square root of) light. */
static double row_light(const struct row *row)
{
    return ((double)row->mean[0] + (double)row->left[0] + (double)row->right[0]) / 3 + LIGHT_LEAST;
}

/* What is usual within the lines' overlap. */
static void read_usual(struct raster *r, const struct find_quad *q, const struct find_edges *e,
                       double noise)
{
    double strength[2 * ROWS_MAX], left[ROWS_MAX], right[ROWS_MAX];
    int n = 0, rows = 0;
    for (int i = 0; i < r->count; i++) {
        const struct row *row = &r->row[i];
        double s = r->s0 + i * r->step, light = row_light(row);
        if (s < q->lower || s > q->upper)
            continue;
        if (row->side_left > 0)
            strength[n++] = (double)row->side_left / light;
        if (row->side_right > 0)
            strength[n++] = (double)row->side_right / light;
        left[rows] = gap(row->mean, row->left) / light;
        right[rows++] = gap(row->mean, row->right) / light;
    }
    r->usual = fmax(quantile(strength, n, 0.5), e->floor);
    r->step_left = fmax(quantile(left, rows, 0.5), 4 * noise);
    r->step_right = fmax(quantile(right, rows, 0.5), 4 * noise);
}

static float side_part(const struct raster *r, const struct row *row, float strength,
                       const float outside[FIND_PLANES], double usual_step)
{
    double light = row_light(row);
    double edge = (double)strength / light / (SIDE_FULL * r->usual);
    double step = gap(row->mean, outside) / light / (STEP_FULL * usual_step);
    return (float)(fmin(edge, 1) * fmin(fmax(step, STEPLESS), 1));
}

static void read_rows(const struct find_picture *p, const struct find_edges *e,
                      const struct find_quad *q, struct raster *r)
{
    double step = fmax(q->width / ROWS_A_WIDTH, 1.5);
    struct row *middle = r->row + ROWS_MAX / 2;
    int up = follow_rows(p, e, q, 0, step, middle, 1, &r->cut_high);
    int down = follow_rows(p, e, q, -step, -step, middle - 1, -1, &r->cut_low);
    r->step = step;
    r->count = up + down;
    r->s0 = -down * step;
    memmove(r->row, middle - down, (size_t)r->count * sizeof *r->row);
    for (int i = 0; i < r->count; i++)
        read_row(p, e, q, r->s0 + i * step, step, &r->row[i]);
    read_usual(r, q, e, p->noise[0]);
    for (int i = 0; i < r->count; i++) {
        struct row *row = &r->row[i];
        row->part_left = side_part(r, row, row->side_left, row->left, r->step_left);
        row->part_right = side_part(r, row, row->side_right, row->right, r->step_right);
    }
}

/* Part of the columns with an edge across within `reach` rows. */
static double across_near(const struct raster *r, int at, int reach)
{
    int hit = 0;
    for (int k = 0; k < COLUMNS; k++)
        for (int i = at - reach; i <= at + reach; i++)
            if (i >= 0 && i < r->count && r->row[i].across[k]) {
                hit++;
                break;
            }
    return (double)hit / COLUMNS;
}

static bool is_cut(const struct raster *r, int i)
{
    return (r->cut_low && i <= 1) || (r->cut_high && i >= r->count - 2);
}

static int rows_of(const struct raster *r, const struct find_quad *q, double widths)
{
    return (int)fmax(1, round(widths * q->width / r->step));
}

static void mean_of(const struct raster *r, int from, int to, float ret[FIND_PLANES])
{
    int n = 0;
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int i = from < 0 ? 0 : from; i <= to && i < r->count; i++, n++)
        for (int c = 0; c < FIND_PLANES; c++)
            ret[c] += r->row[i].mean[c];
    for (int c = 0; c < FIND_PLANES && n > 0; c++)
        ret[c] /= (float)n;
}

/* Colour change at an end in parts of that at the sides beside it; `inward` is +1 or -1. */
static double end_step(const struct raster *r, const struct find_quad *q, int at, int inward,
                       double noise)
{
    int near = rows_of(r, q, 0.06), far = near + rows_of(r, q, 0.12);
    int i0 = at + inward * near, i1 = at + inward * far, o0 = at - inward * near;
    int o1 = at - inward * far;
    float in[FIND_PLANES], out[FIND_PLANES];
    if (o0 < 0 || o0 >= r->count)
        return 0;
    mean_of(r, i0 < i1 ? i0 : i1, i0 < i1 ? i1 : i0, in);
    mean_of(r, o0 < o1 ? o0 : o1, o0 < o1 ? o1 : o0, out);
    double sides = 0;
    int n = 0;
    for (int i = i0 < i1 ? i0 : i1; i <= (i0 < i1 ? i1 : i0); i++)
        if (i >= 0 && i < r->count) {
            sides += gap(r->row[i].mean, r->row[i].left) + gap(r->row[i].mean, r->row[i].right);
            n += 2;
        }
    return n ? gap(in, out) / (sides / n + 2 * noise) : 0;
}

static double end_gain(const struct raster *r, const struct find_quad *q, int at, int inward,
                       double noise)
{
    int reach = rows_of(r, q, 0.09);
    if (is_cut(r, at))
        return FRAME_GAIN;
    double seen = 0.5 * across_near(r, at, reach) + 0.5 * across_near(r, at, reach / 3);
    return seen * ramp(end_step(r, q, at, inward, noise), 0.1, 0.6);
}

struct ends {
    int low, high;
    double score;
};

/* Keeps the best few intervals, of near-alike ones the better. */
static int keep_ends(struct ends *best, int n, struct ends e, int alike)
{
    for (int k = 0; k < n; k++)
        if (abs(best[k].low - e.low) <= alike && abs(best[k].high - e.high) <= alike) {
            if (e.score > best[k].score)
                best[k] = e;
            return n;
        }
    if (n < ENDS_MAX) {
        best[n] = e;
        return n + 1;
    }
    int worst = 0;
    for (int k = 1; k < n; k++)
        if (best[k].score < best[worst].score)
            worst = k;
    if (best[worst].score < e.score)
        best[worst] = e;
    return n;
}

/* Step 2: intervals with a high sum, where a row counts for what its sides show. */
static int find_ends(const struct raster *r, const struct find_quad *q, double noise,
                     struct ends best[ENDS_MAX])
{
    double sum[ROWS_MAX + 1], low[ROWS_MAX], high[ROWS_MAX];
    double gain = END_GAIN * q->width / r->step;
    int n = 0, alike = rows_of(r, q, 0.15);
    sum[0] = 0;
    for (int i = 0; i < r->count; i++) {
        const struct row *row = &r->row[i];
        double sides = 0.5 * ((double)row->part_left + (double)row->part_right);
        sum[i + 1] = sum[i] + sides - ROW_COST;
        low[i] = gain * end_gain(r, q, i, 1, noise);
        high[i] = gain * end_gain(r, q, i, -1, noise);
    }
    int least = (int)(ASPECT_LEAST * q->width / r->step);
    int most = (int)(ASPECT_MOST * q->width / r->step);
    for (int i = 0; i < r->count; i++) {
        if (low[i] < 0.2 * gain)
            continue;
        for (int j = i + least; j < r->count && j <= i + most; j++) {
            double score = sum[j + 1] - sum[i] + low[i] + high[j];
            if (high[j] >= 0.2 * gain && score > 0)
                n = keep_ends(best, n, (struct ends){i, j, score}, alike);
        }
    }
    return n;
}

/* Step 3: in each column the edge across nearest to the end, then the median of slopes between
 * columns half a width apart and the median of what remains (Theil-Sen). */
static double end_line(const struct raster *r, const struct find_quad *q, int at, double *ret_slope)
{
    double place[COLUMNS], slope[COLUMNS], rest[COLUMNS];
    int column[COLUMNS], n = 0, slopes = 0, reach = rows_of(r, q, 0.16);
    for (int k = 0; k < COLUMNS; k++)
        for (int d = 0; d <= reach; d++) {
            bool above = at + d < r->count && r->row[at + d].across[k];
            bool below = at - d >= 0 && r->row[at - d].across[k];
            if (above || below) {
                column[n] = k;
                place[n++] = r->s0 + (at + (above ? d : -d)) * r->step;
                break;
            }
        }
    for (int i = 0; i < n; i++)
        for (int j = i + 1; j < n; j++)
            if (column[j] - column[i] == COLUMNS / 2)
                slope[slopes++] = (place[j] - place[i]) * COLUMNS / (column[j] - column[i]);
    *ret_slope =
        slopes >= 3 ? between(quantile(slope, slopes, 0.5), -0.4 * q->width, 0.4 * q->width) : 0;
    for (int i = 0; i < n; i++)
        rest[i] = place[i] - *ret_slope * ((column[i] + 0.5) / COLUMNS - 0.5);
    return n >= COLUMNS / 3 ? quantile(rest, n, 0.5) : r->s0 + at * r->step;
}

struct look {
    double paper[FIND_PLANES];
    double table; /* lightness beside the paper's clean rows */
    double dyed;  /* how far the colour just within an end is from clean paper's; the worse end's */
    double contrast; /* median over rows and sides of the step from inside to outside */
    double uneven;   /* mean distance of left part, middle and right part at the same height */
    double varied;   /* how far rows differ from one another: ink */
    double darker;   /* how much darker the paper is than outside, in parts of outside */
    double side_left, side_right;   /* part of the rows with an edge */
    double clean_left, clean_right; /* the same of the brighter half of the rows */
    double along;                   /* most of an inner column's rows with an edge along */
    double beyond; /* part of the rows beyond the ends in which both sides go on; the worse end's */
    double stepped; /* contrast in parts of what the edge's steepness makes expect: ruled lines are
                       steep, and the same on both sides */
    double within;  /* the same just within the ends, of either side */
    double scale;   /* part of the rows with an edge across at one side only */
};

static void part_of(const struct row *r, int from, float ret[FIND_PLANES])
{
    for (int c = 0; c < FIND_PLANES; c++)
        ret[c] = (r->inside[from][c] + r->inside[from + 1][c] + r->inside[from + 2][c] +
                  r->inside[from + 3][c]) /
                 4;
}

static double brightness_above(const struct raster *r, int low, int high, double part)
{
    double light[ROWS_MAX];
    int n = 0;
    for (int i = low; i <= high; i++)
        light[n++] = (double)r->row[i].mean[0];
    return quantile(light, n, part);
}

/* Clean paper is the brightest sixth of the rows; mean over them. */
static void read_paper(const struct raster *r, int low, int high, struct look *ret)
{
    double least = brightness_above(r, low, high, 5. / 6), table = 0;
    int taken = 0;
    for (int i = low; i <= high; i++) {
        const struct row *row = &r->row[i];
        if ((double)row->mean[0] < least)
            continue;
        for (int c = 0; c < FIND_PLANES; c++)
            ret->paper[c] += (double)row->mean[c];
        table += 0.5 * ((double)row->left[0] + (double)row->right[0]);
        taken++;
    }
    for (int c = 0; c < FIND_PLANES; c++)
        ret->paper[c] /= taken;
    table /= taken;
    ret->table = fmax(table, 0.02);
    ret->darker = (table - ret->paper[0]) / fmax(table, 0.02);
}

static double inner_along(const struct raster *r, int low, int high)
{
    double most = 0;
    for (int k = MARGIN; k + 1 < COLUMNS - MARGIN; k++) {
        int hit = 0;
        for (int i = low; i <= high; i++)
            hit += r->row[i].along[k] || r->row[i].along[k + 1];
        most = fmax(most, (double)hit / (high - low + 1));
    }
    return most;
}

static double both_sides(const struct raster *r, int from, int to)
{
    double left = 0, right = 0;
    int n = 0;
    for (int i = from < 0 ? 0 : from; i <= to && i < r->count; i++, n++) {
        left += (double)r->row[i].part_left;
        right += (double)r->row[i].part_right;
    }
    return n ? fmin(left, right) / n : 0;
}

/* Close to the end, where a peg's edge was taken for it, or further on, where a band's was. */
static double goes_on(const struct raster *r, const struct find_quad *q, int at, int outward)
{
    int near = at + outward * rows_of(r, q, 0.10), middle = at + outward * rows_of(r, q, 0.26);
    int far = at + outward * rows_of(r, q, 0.7);
    if (is_cut(r, at))
        return 0;
    return fmax(both_sides(r, near < middle ? near : middle, near < middle ? middle : near),
                both_sides(r, near < far ? near : far, near < far ? far : near));
}

/* How far both sides are still seen just within an end. */
static double reaches(const struct raster *r, const struct find_quad *q, int at, int inward)
{
    double sum = 0;
    int n = 0, near = rows_of(r, q, 0.08), far = rows_of(r, q, 0.45);
    for (int d = near; d <= far; d++) {
        int i = at + inward * d;
        if (i < 0 || i >= r->count)
            break;
        sum += (double)r->row[i].part_left + (double)r->row[i].part_right;
        n += 2;
    }
    return n ? sum / n : 0;
}

/* Paper reaches beyond ink at both ends, so a dyed end is a band's edge taken for the paper's.
 * Shadow makes paper darker, but the table beside it too. */
static double dyed_end(const struct raster *r, const struct find_quad *q, int at, int inward,
                       const struct look *k)
{
    float in[FIND_PLANES];
    int from = at + inward * rows_of(r, q, 0.05), to = at + inward * rows_of(r, q, 0.15);
    double beside = 0;
    if (is_cut(r, at) || to < 0 || to >= r->count)
        return 0;
    mean_of(r, from < to ? from : to, from < to ? to : from, in);
    for (int i = from < to ? from : to; i <= (from < to ? to : from); i++)
        beside += 0.5 * ((double)r->row[i].left[0] + (double)r->row[i].right[0]);
    beside = fmax(beside / (abs(to - from) + 1), 0.02);
    double light = fmax((double)in[0], 0.02), paper = fmax(k->paper[0], 0.02);
    double darker = fabs(1 - light / paper),
           against_table = fabs(1 - light / beside * k->table / paper);
    return hypot(fmin(darker, against_table), hypot((double)in[1] / light - k->paper[1] / paper,
                                                    (double)in[2] / light - k->paper[2] / paper));
}

/* How much brighter it is beyond an end than on the paper, in parts of the brighter. */
static double brighter_beyond(const struct raster *r, const struct find_quad *q, int at,
                              int outward, double paper)
{
    float out[FIND_PLANES];
    int from = at + outward * rows_of(r, q, 0.1), to = at + outward * rows_of(r, q, 0.25);
    if (is_cut(r, at) || from < 0 || from >= r->count)
        return 0;
    mean_of(r, from < to ? from : to, from < to ? to : from, out);
    return ((double)out[0] - paper) / fmax((double)out[0], 0.02);
}

/* A ruler's scale: edges across in row after row at one side, none at the other. */
static double scale_marks(const struct raster *r, int low, int high)
{
    double left = 0, right = 0;
    for (int i = low; i <= high; i++) {
        left += r->row[i].across[1] || r->row[i].across[2];
        right += r->row[i].across[COLUMNS - 2] || r->row[i].across[COLUMNS - 3];
    }
    return fabs(left - right) / (high - low + 1);
}

/* Step 4, the measurements. */
static void read_look(const struct raster *r, const struct find_quad *q, double noise, int low,
                      int high, struct look *ret)
{
    double step[2 * ROWS_MAX], strength[2 * ROWS_MAX], ink[ROWS_MAX],
        half = brightness_above(r, low, high, 0.5);
    int n = 0, rows = 0, clean = 0;
    memset(ret, 0, sizeof *ret);
    read_paper(r, low, high, ret);
    for (int i = low; i <= high; i++) {
        const struct row *row = &r->row[i];
        float a[FIND_PLANES], b[FIND_PLANES], m[FIND_PLANES];
        part_of(row, 1, a);
        part_of(row, (COLUMNS - 4) / 2, m);
        part_of(row, COLUMNS - 5, b);
        strength[n] = (double)row->side_left;
        step[n++] = gap(a, row->left);
        strength[n] = (double)row->side_right;
        step[n++] = gap(b, row->right);
        ret->uneven += (gap(a, b) + 0.5 * gap(a, m) + 0.5 * gap(b, m)) / 2 / (high - low + 1);
        ink[rows++] = hypot((double)m[0] - ret->paper[0],
                            hypot((double)m[1] - ret->paper[1], (double)m[2] - ret->paper[2]));
        double left = (double)row->part_left, right = (double)row->part_right;
        ret->side_left += left;
        ret->side_right += right;
        if ((double)row->mean[0] >= half) {
            ret->clean_left += left;
            ret->clean_right += right;
            clean++;
        }
    }
    ret->contrast = quantile(step, n, 0.5);
    ret->varied = quantile(ink, rows, 0.9);
    ret->stepped = ret->contrast / (STEP_PX * quantile(strength, 2 * rows, 0.5) * noise + 1e-6);
    ret->side_left /= rows;
    ret->side_right /= rows;
    ret->clean_left /= clean;
    ret->clean_right /= clean;
    ret->along = inner_along(r, low, high);
    ret->scale = scale_marks(r, low, high);
    ret->dyed = fmax(dyed_end(r, q, low, 1, ret), dyed_end(r, q, high, -1, ret));
    ret->within = fmin(reaches(r, q, low, 1), reaches(r, q, high, -1));
    ret->beyond = fmax(goes_on(r, q, low, -1), goes_on(r, q, high, 1));
    ret->darker = fmax(ret->darker, brighter_beyond(r, q, low, -1, ret->paper[0]));
    ret->darker = fmax(ret->darker, brighter_beyond(r, q, high, 1, ret->paper[0]));
}

/* Step 4. Every factor is 1 where nothing speaks against a strip; the ramps' ends say what never
 * and what always passes. */
static double judge(const struct look *k, const struct find_picture *p, struct find_quad *q,
                    double length)
{
    double aspect = length / q->width;
    double weaker = fmin(k->side_left, k->side_right), other = fmax(k->side_left, k->side_right);
    double clean = fmin(k->clean_left, k->clean_right);
    double sides = ramp(weaker, 0.15, 0.95) * ramp(other, 0.3, 0.95) * ramp(clean, 0.05, 0.5) *
                   ramp(k->within, 0.1, 0.6);
    double ends = ramp(fmin(q->end_lower, q->end_upper), 0.05, 0.8) *
                  ramp(fmax(q->end_lower, q->end_upper), 0.2, 0.9);
    double shape = ramp(aspect, 1.8, 2.4) * (1 - ramp(aspect, 8.5, 10.5));
    double even = 1 - ramp(k->uneven / (k->contrast + k->varied + 8 * p->noise[0]), 0.05, 0.7);
    double step = ramp(k->stepped, STEPPED_NONE, STEPPED_FULL);
    double single = (1 - ramp(k->along, 0.3, 0.8)) * (1 - ramp(k->beyond, 0.4, 0.9));
    /* unbleached paper on a white plate is darker than the table, but that is rare */
    double bright = 1 - 0.4 * ramp(k->darker, 0.02, 0.2);
    double scaleless = 1 - ramp(k->scale, 0.2, 0.5);
    double contrast = ramp(k->contrast, 0, 12 * p->noise[0] + 0.01);
    double tint = hypot(k->paper[1], k->paper[2]) / fmax(k->paper[0], 0.02);
    double pale = 1 - ramp(tint, 0.8, 1.1);
    q->evenness = even;
    q->contrast = k->contrast;
    q->ink = k->varied;
    return pow(sides, 0.8) * pow(ends, 0.6) * shape * even * step * single * scaleless * bright *
           sqrt(contrast) * pale;
}

/* Steps 3 and 4 for one interval. */
static struct find_quad close_ends(const struct raster *r, const struct find_picture *picture,
                                   const struct find_quad *pair, struct ends e)
{
    struct find_quad q = *pair;
    struct look look;
    double noise = picture->noise[0];
    bool cut_low = is_cut(r, e.low), cut_high = is_cut(r, e.high);
    q.cut_off = cut_low || cut_high;
    q.end_lower = end_gain(r, pair, e.low, 1, noise);
    q.end_upper = end_gain(r, pair, e.high, -1, noise);
    read_look(r, pair, noise, e.low, e.high, &look);
    q.lower = cut_low ? r->s0 : end_line(r, pair, e.low, &q.lower_slope);
    q.upper =
        cut_high ? r->s0 + (r->count - 1) * r->step : end_line(r, pair, e.high, &q.upper_slope);
    q.lower_off[0] = r->row[e.low].off_left;
    q.lower_off[1] = r->row[e.low].off_right;
    q.upper_off[0] = r->row[e.high].off_left;
    q.upper_off[1] = r->row[e.high].off_right;
    q.side_left = look.side_left;
    q.side_right = look.side_right;
    memcpy(q.paper, look.paper, sizeof q.paper);
    q.clean_ends = 1 - 0.7 * ramp(look.dyed, 0.1, 0.35);
    q.quality = judge(&look, picture, &q, q.upper - q.lower);
    if (cut_low && cut_high)
        q.quality *= THROUGH_WORTH;
    return q;
}

double find_quad_worth(const struct find_quad *q)
{
    return q->quality * q->clean_ends * sqrt(q->width * (q->upper - q->lower));
}

void find_quad_probe(const struct find_picture *picture, const struct find_edges *edges,
                     struct find_quad *quad)
{
    struct raster *r = malloc(sizeof *r);
    struct ends ends[ENDS_MAX];
    struct find_quad best = *quad;
    best.quality = 0;
    if (!r)
        goto done;
    read_rows(picture, edges, quad, r);
    int n = r->count < 8 ? 0 : find_ends(r, quad, picture->noise[0], ends);
    for (int k = 0; k < n; k++) {
        struct find_quad q = close_ends(r, picture, quad, ends[k]);
        if (find_quad_worth(&q) > find_quad_worth(&best))
            best = q;
    }
done:
    *quad = best;
    free(r);
}

static struct sl_point side_point(const struct find_quad *q, bool right, double s, double off)
{
    return (struct sl_point){side_x(q, right, s, off), side_y(q, right, s, off)};
}

void find_quad_corners(const struct find_quad *q, struct sl_point ret[4])
{
    double ls = q->lower_slope / 2, us = q->upper_slope / 2;
    ret[0] = side_point(q, false, q->lower - ls, q->lower_off[0]);
    ret[1] = side_point(q, true, q->lower + ls, q->lower_off[1]);
    ret[2] = side_point(q, true, q->upper + us, q->upper_off[1]);
    ret[3] = side_point(q, false, q->upper - us, q->upper_off[0]);
}
