// SPDX-License-Identifier: GPL-3.0-or-later
/* Step 1 of probing a pair of lines: rows across the pair, far beyond the lines' overlap: colours
 * inside and just outside, how strong an edge each side shows there, and which columns show an edge
 * across or along. */
#include "strip/find_probe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ROWS_A_WIDTH = 20 };
static const double REACH_WIDTHS = 8;   /* beyond the overlap */
static const double SILENT_WIDTHS = 2.; /* without any side: nothing more to come */
static const double SIDE_TURN_DEG = 14, ACROSS_TURN_DEG = 24, ALONG_TURN_DEG = 10;
static const double SIDE_REACH_PX = 1.6, SIDE_REACH_WIDTH = 0.06;
/* A side counts as seen in full from these parts of its usual strength and colour step on: light
 * and ink vary along a strip, but grain that merely goes on in its direction is left out. */
static const double SIDE_FULL = 0.4, STEP_FULL = 0.35;
static const double STEPLESS =
    0.35; /* part that an edge between like colours counts: a neighbour */
static const double LIGHT_LEAST = 0.05; /* root of light below which noise rules */
static const double FOLLOW = 0.35;      /* of the way to the edge seen, from row to row */
static const double BOW_MOST = 0.2; /* of the width, by which a bent side leaves the straight one */

double probe_between(double x, double low, double high)
{
    return x < low ? low : x > high ? high : x;
}

/* 0 up to `none`, 1 from `full` on. */
double probe_ramp(double x, double none, double full)
{
    return probe_between((x - none) / (full - none), 0, 1);
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
                         const struct find_quad *q, const double at[4], double step,
                         struct probe_row *r)
{
    double lx = at[0], ly = at[1], wx = at[2], wy = at[3], cell = hypot(wx, wy) / PROBE_COLUMNS;
    double across = deg_of(wx, wy), along = deg_of(q->axis_x, q->axis_y);
    memset(r->mean, 0, sizeof r->mean);
    for (int k = 0; k < PROBE_COLUMNS; k++) {
        double u = (k + 0.5) / PROBE_COLUMNS, x = lx + u * wx, y = ly + u * wy;
        find_picture_sample(p, x, y, r->inside[k]);
        r->across[k] = r->along[k] = false;
        for (double t = -0.5 * step; t <= 0.5 * step && !r->across[k]; t += 0.8)
            r->across[k] =
                edge_at(e, x + t * q->axis_x, y + t * q->axis_y, across, ACROSS_TURN_DEG) > 0;
        for (double t = -0.5 * cell; t <= 0.5 * cell && !r->along[k]; t += 0.8)
            r->along[k] =
                edge_at(e, x - t * q->axis_y, y + t * q->axis_x, along, ALONG_TURN_DEG) > 0;
        if (k >= PROBE_MARGIN && k < PROBE_COLUMNS - PROBE_MARGIN)
            for (int c = 0; c < FIND_PLANES; c++)
                r->mean[c] += r->inside[k][c] / (PROBE_COLUMNS - 2 * PROBE_MARGIN);
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
                     const struct find_quad *q, double s, double step, struct probe_row *r)
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
        *off = probe_between(*off + FOLLOW * seen.off, -limit, limit);
    return seen.strength;
}

/* Rows from the middle of the overlap on in one direction, to the frame or until the sides have
 * been silent for long. Returns their number; `rows` steps by `next`. */
static int follow_rows(const struct find_picture *p, const struct find_edges *e,
                       const struct find_quad *q, double s, double step, struct probe_row *rows,
                       int next, bool *ret_cut)
{
    double limit = 0.5 * (q->upper - q->lower) + REACH_WIDTHS * q->width, silent = 0;
    double left = 0, right = 0;
    int n = 0;
    *ret_cut = false;
    for (; fabs(s) < limit && n < PROBE_ROWS_MAX / 2 - 1; s += step, n++) {
        if (!row_in_picture(p, q, s)) {
            *ret_cut = true;
            break;
        }
        struct probe_row *r = rows + n * next;
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
double probe_quantile(double *v, int n, double part)
{
    if (n == 0)
        return 0;
    qsort(v, (size_t)n, sizeof *v, by_value);
    return v[(int)(part * (n - 1) + 0.5)];
}

/* Where the light falls off, so do edges and steps, with the (square root of) light. */
static double row_light(const struct probe_row *row)
{
    return ((double)row->mean[0] + (double)row->left[0] + (double)row->right[0]) / 3 + LIGHT_LEAST;
}

/* What is usual within the lines' overlap. */
static void read_usual(struct probe_raster *r, const struct find_quad *q,
                       const struct find_edges *e, double noise)
{
    double strength[2 * PROBE_ROWS_MAX], left[PROBE_ROWS_MAX], right[PROBE_ROWS_MAX];
    int n = 0, rows = 0;
    for (int i = 0; i < r->count; i++) {
        const struct probe_row *row = &r->row[i];
        double s = r->s0 + i * r->step, light = row_light(row);
        if (s < q->lower || s > q->upper)
            continue;
        if (row->side_left > 0)
            strength[n++] = (double)row->side_left / light;
        if (row->side_right > 0)
            strength[n++] = (double)row->side_right / light;
        left[rows] = find_distance(row->mean, row->left) / light;
        right[rows++] = find_distance(row->mean, row->right) / light;
    }
    r->usual = fmax(probe_quantile(strength, n, 0.5), e->floor);
    r->step_left = fmax(probe_quantile(left, rows, 0.5), 4 * noise);
    r->step_right = fmax(probe_quantile(right, rows, 0.5), 4 * noise);
}

static float side_part(const struct probe_raster *r, const struct probe_row *row, float strength,
                       const float outside[FIND_PLANES], double usual_step)
{
    double light = row_light(row);
    double edge = (double)strength / light / (SIDE_FULL * r->usual);
    double step = find_distance(row->mean, outside) / light / (STEP_FULL * usual_step);
    return (float)(fmin(edge, 1) * fmin(fmax(step, STEPLESS), 1));
}

void probe_raster_fill(const struct find_picture *p, const struct find_edges *e,
                       const struct find_quad *q, struct probe_raster *r)
{
    double step = fmax(q->width / ROWS_A_WIDTH, 1.5);
    struct probe_row *middle = r->row + PROBE_ROWS_MAX / 2;
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
        struct probe_row *row = &r->row[i];
        row->part_left = side_part(r, row, row->side_left, row->left, r->step_left);
        row->part_right = side_part(r, row, row->side_right, row->right, r->step_right);
    }
}

bool probe_is_cut(const struct probe_raster *r, int i)
{
    return (r->cut_low && i <= 1) || (r->cut_high && i >= r->count - 2);
}

int probe_rows_of(const struct probe_raster *r, const struct find_quad *q, double widths)
{
    return (int)fmax(1, round(widths * q->width / r->step));
}

void probe_mean(const struct probe_raster *r, int from, int to, float ret[FIND_PLANES])
{
    int n = 0;
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int i = from < 0 ? 0 : from; i <= to && i < r->count; i++, n++)
        for (int c = 0; c < FIND_PLANES; c++)
            ret[c] += r->row[i].mean[c];
    for (int c = 0; c < FIND_PLANES && n > 0; c++)
        ret[c] /= (float)n;
}

double probe_sides_step(const struct probe_raster *r, int from, int to)
{
    int low = from < to ? from : to, high = from < to ? to : from, n = 0;
    double sum = 0;
    for (int i = low < 0 ? 0 : low; i <= high && i < r->count; i++, n += 2)
        sum += find_distance(r->row[i].mean, r->row[i].left) +
               find_distance(r->row[i].mean, r->row[i].right);
    return n ? sum / n : HUGE_VAL;
}

double probe_usual_step(const struct probe_raster *r, int row)
{
    return 0.5 * (r->step_left + r->step_right) * row_light(&r->row[row]);
}

struct sl_point probe_side_point(const struct find_quad *q, bool right, double s, double off)
{
    return (struct sl_point){side_x(q, right, s, off), side_y(q, right, s, off)};
}
