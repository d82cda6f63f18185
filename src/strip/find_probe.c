// SPDX-License-Identifier: GPL-3.0-or-later
/* Looks closely at one pair of lines, in a raster straightened between them.
 * 1. Rows across the pair, far beyond the lines' overlap: colours inside and just outside, whether
 *    each side shows an edge there, and which columns show an edge across.
 * 2. The ends: the interval in which the sides go on, closed by edges across at both ends; bands of
 *    ink are edges across too, but the sides go on beyond them.
 * 3. The end lines, for ends cut askew.
 * 4. Quality, a product of what must hold: sides and ends seen, shape, the same colour across the
 *    width at every height (bands cross a strip; ticks, writing and grain don't), paper that is no
 *    darker than what lies around it, colours that differ from what lies around. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROWS_MAX = 900,
    COLUMNS = 15, /* inside */
    ROWS_A_WIDTH = 28,
    MARGIN = 2, /* columns beside each edge that blur and shadow touch */
};
static const double REACH_WIDTHS = 9; /* beyond the overlap */
static const double SIDE_TURN_DEG = 14, ACROSS_TURN_DEG = 24;
static const double SIDE_REACH_PX = 1.6, SIDE_REACH_WIDTH = 0.035;
static const double ASPECT_LEAST = 1.7, ASPECT_MOST = 10.5;

struct row {
    float inside[COLUMNS][FIND_PLANES];
    float left[FIND_PLANES], right[FIND_PLANES]; /* outside */
    bool seen;                                   /* both sides in the picture */
    bool side_left, side_right;
    bool across[COLUMNS];
};

struct raster {
    int count;
    double s0, step; /* axial coordinate of row 0, and from row to row; px */
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

static bool edge_at(const struct find_edges *e, double x, double y, double direction_deg,
                    double turn_deg)
{
    int i = (int)lround(x), j = (int)lround(y);
    if (i < 0 || j < 0 || i >= e->width || j >= e->height)
        return false;
    uint8_t d = e->direction[(size_t)j * (size_t)e->width + (size_t)i];
    if (!d)
        return false;
    double turn = fabs(fmod(fabs(d - 0.5 - direction_deg), 180));
    return (turn > 90 ? 180 - turn : turn) <= turn_deg;
}

static double deg_of(double dx, double dy)
{
    double a = atan2(dy, dx) * 180 / M_PI;
    return a < 0 ? a + 180 : a;
}

static bool side_seen(const struct find_edges *e, const struct find_quad *q, double x, double y,
                      double deg)
{
    int reach = (int)ceil(SIDE_REACH_PX + SIDE_REACH_WIDTH * q->width);
    for (int k = -reach; k <= reach; k++)
        if (edge_at(e, x - k * q->axis_y, y + k * q->axis_x, deg, SIDE_TURN_DEG))
            return true;
    return false;
}

static bool in_picture(const struct find_picture *p, double x, double y)
{
    return x >= 1.5 && y >= 1.5 && x <= p->width - 2.5 && y <= p->height - 2.5;
}

/* Step 1, one row. */
static void read_row(const struct find_picture *p, const struct find_edges *e,
                     const struct find_quad *q, double s, double step, struct row *r)
{
    double lx = q->left_x + s * q->left_dx, ly = q->left_y + s * q->left_dy;
    double wx = q->right_x + s * q->right_dx - lx, wy = q->right_y + s * q->right_dy - ly;
    double across = deg_of(wx, wy);
    double width = hypot(wx, wy), out = fmax(3.0, 0.10 * width) / width;
    for (int k = 0; k < COLUMNS; k++) {
        double u = (k + 0.5) / COLUMNS, x = lx + u * wx, y = ly + u * wy;
        find_picture_sample(p, x, y, r->inside[k]);
        r->across[k] = false;
        for (double t = -0.5 * step; t <= 0.5 * step && !r->across[k]; t += 0.7)
            r->across[k] =
                edge_at(e, x + t * q->axis_x, y + t * q->axis_y, across, ACROSS_TURN_DEG);
    }
    find_picture_sample(p, lx - out * wx, ly - out * wy, r->left);
    find_picture_sample(p, lx + (1 + out) * wx, ly + (1 + out) * wy, r->right);
    r->side_left = side_seen(e, q, lx, ly, deg_of(q->left_dx, q->left_dy));
    r->side_right = side_seen(e, q, lx + wx, ly + wy, deg_of(q->right_dx, q->right_dy));
    r->seen = in_picture(p, lx, ly) && in_picture(p, lx + wx, ly + wy);
}

static void read_rows(const struct find_picture *p, const struct find_edges *e,
                      const struct find_quad *q, struct raster *raster)
{
    raster->step = fmax(q->width / ROWS_A_WIDTH, 1.0);
    double low = q->lower - REACH_WIDTHS * q->width, high = q->upper + REACH_WIDTHS * q->width;
    double middle = 0.5 * (q->lower + q->upper);
    /* walk outwards from the overlap while at least one side is in the picture */
    int up = 0, down = 0;
    for (double s = middle; s < high && up < ROWS_MAX / 2 - 1; s += raster->step, up++)
        if (!in_picture(p, q->left_x + s * q->left_dx, q->left_y + s * q->left_dy) ||
            !in_picture(p, q->right_x + s * q->right_dx, q->right_y + s * q->right_dy))
            break;
    for (double s = middle; s > low && down < ROWS_MAX / 2 - 1; s -= raster->step, down++)
        if (!in_picture(p, q->left_x + s * q->left_dx, q->left_y + s * q->left_dy) ||
            !in_picture(p, q->right_x + s * q->right_dx, q->right_y + s * q->right_dy))
            break;
    raster->count = up + down + 1;
    raster->s0 = middle - down * raster->step;
    for (int i = 0; i < raster->count; i++)
        read_row(p, e, q, raster->s0 + i * raster->step, raster->step, &raster->row[i]);
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
    return !r->row[i].seen || i <= 0 || i >= r->count - 1;
}

/* Step 2: the interval with the highest sum, where a row counts for what its sides show. */
static double find_ends(const struct raster *r, const struct find_quad *q, int *ret_low,
                        int *ret_high)
{
    double sum[ROWS_MAX + 1], end[ROWS_MAX], best = -1e9;
    int reach = (int)fmax(1, round(0.09 * q->width / r->step));
    sum[0] = 0;
    for (int i = 0; i < r->count; i++) {
        double sides = 0.5 * (r->row[i].side_left + r->row[i].side_right);
        sum[i + 1] = sum[i] + sides - 0.55;
        double seen = across_near(r, i, reach), sharp = across_near(r, i, reach / 3);
        end[i] = 0.45 * q->width / r->step * (is_cut(r, i) ? 0.4 : 0.5 * seen + 0.5 * sharp);
    }
    int least = (int)(ASPECT_LEAST * q->width / r->step);
    int most = (int)(ASPECT_MOST * q->width / r->step);
    for (int i = 0; i < r->count; i++)
        for (int j = i + least; j < r->count && j <= i + most; j++) {
            double score = sum[j + 1] - sum[i] + end[i] + end[j];
            if (score > best) {
                best = score;
                *ret_low = i;
                *ret_high = j;
            }
        }
    return best;
}

static int by_value(const void *a, const void *b)
{
    double d = *(const double *)a - *(const double *)b;
    return d > 0 ? 1 : d < 0 ? -1 : 0;
}

static double median(double *v, int n)
{
    if (n == 0)
        return 0;
    qsort(v, (size_t)n, sizeof *v, by_value);
    return n % 2 ? v[n / 2] : 0.5 * (v[n / 2 - 1] + v[n / 2]);
}

/* Step 3: in each column the edge across nearest to the end, then the median of slopes between
 * columns half a width apart and the median of what remains (Theil-Sen). */
static double end_line(const struct raster *r, const struct find_quad *q, int at, double *ret_slope)
{
    double where_s[COLUMNS], slope[COLUMNS], rest[COLUMNS];
    int n = 0, slopes = 0, reach = (int)fmax(2, round(0.16 * q->width / r->step));
    int column[COLUMNS];
    for (int k = 0; k < COLUMNS; k++)
        for (int d = 0; d <= reach; d++) {
            bool above = at + d < r->count && r->row[at + d].across[k];
            bool below = at - d >= 0 && r->row[at - d].across[k];
            if (above || below) {
                column[n] = k;
                where_s[n++] = r->s0 + (at + (above ? d : -d)) * r->step;
                break;
            }
        }
    for (int i = 0; i < n; i++)
        for (int j = i + 1; j < n; j++)
            if (column[j] - column[i] == COLUMNS / 2)
                slope[slopes++] = (where_s[j] - where_s[i]) * COLUMNS / (column[j] - column[i]);
    *ret_slope = slopes >= 3 ? between(median(slope, slopes), -0.4 * q->width, 0.4 * q->width) : 0;
    for (int i = 0; i < n; i++)
        rest[i] = where_s[i] - *ret_slope * ((column[i] + 0.5) / COLUMNS - 0.5);
    return n >= COLUMNS / 3 ? median(rest, n) : r->s0 + at * r->step;
}

/* The row's colour: median over the columns, each plane by itself. */
static void row_colour(const struct row *r, float ret[FIND_PLANES])
{
    for (int c = 0; c < FIND_PLANES; c++) {
        double v[COLUMNS];
        for (int k = MARGIN; k < COLUMNS - MARGIN; k++)
            v[k - MARGIN] = (double)r->inside[k][c];
        ret[c] = (float)median(v, COLUMNS - 2 * MARGIN);
    }
}

struct look {
    double paper[FIND_PLANES], table[FIND_PLANES];
    double contrast; /* median over rows and sides of the step from inside to outside */
    double uneven;   /* mean distance between left and right part at the same height */
    double varied;   /* how far rows differ from one another: ink */
    double darker;   /* how much darker the paper is than outside, in parts of outside */
    double side_left, side_right;
};

static void third(const struct row *r, int from, float ret[FIND_PLANES])
{
    for (int c = 0; c < FIND_PLANES; c++)
        ret[c] = (r->inside[from][c] + r->inside[from + 1][c] + r->inside[from + 2][c] +
                  r->inside[from + 3][c]) /
                 4;
}

/* Clean paper is the brightest sixth of the rows; mean over them. */
static void read_paper(const struct raster *r, int low, int high, struct look *ret)
{
    double light[ROWS_MAX];
    float colour[FIND_PLANES];
    int n = 0, taken = 0;
    for (int i = low; i <= high; i++) {
        row_colour(&r->row[i], colour);
        light[n++] = (double)colour[0];
    }
    median(light, n);
    double least = light[n - 1 - n / 6];
    for (int i = low; i <= high; i++) {
        row_colour(&r->row[i], colour);
        if ((double)colour[0] < least)
            continue;
        for (int c = 0; c < FIND_PLANES; c++) {
            ret->paper[c] += (double)colour[c];
            ret->table[c] += 0.5 * ((double)r->row[i].left[c] + (double)r->row[i].right[c]);
        }
        taken++;
    }
    for (int c = 0; c < FIND_PLANES; c++) {
        ret->paper[c] /= taken;
        ret->table[c] /= taken;
    }
    ret->darker = (ret->table[0] - ret->paper[0]) / fmax(ret->table[0], 0.02);
}

/* Step 4, the measurements. */
static void read_look(const struct raster *r, int low, int high, struct look *ret)
{
    double step[2 * ROWS_MAX], light[ROWS_MAX];
    int n = 0, rows = 0, left = 0, right = 0;
    memset(ret, 0, sizeof *ret);
    read_paper(r, low, high, ret);
    for (int i = low; i <= high; i++) {
        const struct row *row = &r->row[i];
        float a[FIND_PLANES], b[FIND_PLANES], middle[FIND_PLANES];
        third(row, 1, a);
        third(row, COLUMNS - 5, b);
        row_colour(row, middle);
        step[n++] = gap(a, row->left);
        step[n++] = gap(b, row->right);
        ret->uneven += gap(a, b) / (high - low + 1);
        light[rows++] =
            hypot((double)middle[0] - ret->paper[0],
                  hypot((double)middle[1] - ret->paper[1], (double)middle[2] - ret->paper[2]));
        left += row->side_left;
        right += row->side_right;
    }
    ret->contrast = median(step, n);
    median(light, rows);
    ret->varied = light[rows * 9 / 10];
    ret->side_left = (double)left / rows;
    ret->side_right = (double)right / rows;
}

/* Step 4. Every factor is 1 where nothing speaks against a strip; the ramps' ends say what never
 * and what always passes. */
static double judge(const struct look *k, const struct find_picture *p, const struct find_quad *q,
                    double length)
{
    double aspect = length / q->width;
    double weaker = fmin(k->side_left, k->side_right), other = fmax(k->side_left, k->side_right);
    double sides = ramp(weaker, 0.15, 0.75) * ramp(other, 0.3, 0.9);
    double ends = ramp(fmin(q->end_lower, q->end_upper), 0.1, 0.7) *
                  ramp(fmax(q->end_lower, q->end_upper), 0.3, 0.9);
    double shape = ramp(aspect, 1.7, 2.4) * (1 - ramp(aspect, 8.5, 10.5));
    double even = 1 - ramp(k->uneven / (k->contrast + k->varied + 8 * p->noise[0]), 0.15, 0.7);
    double bright = 1 - ramp(k->darker, 0.02, 0.2);
    double contrast = ramp(k->contrast, 0, 12 * p->noise[0] + 0.01);
    double tint = hypot(k->paper[1], k->paper[2]) / fmax(k->paper[0], 0.02);
    double pale = 1 - ramp(tint, 0.45, 0.7);
    return pow(sides, 0.8) * pow(ends, 0.6) * shape * even * bright * sqrt(contrast) * pale;
}

void find_quad_probe(const struct find_picture *picture, const struct find_edges *edges,
                     struct find_quad *quad)
{
    struct raster *r = malloc(sizeof *r);
    quad->quality = 0;
    if (!r)
        return;
    int low = 0, high = 0;
    read_rows(picture, edges, quad, r);
    if (r->count < 8 || find_ends(r, quad, &low, &high) < 0)
        goto done;
    int reach = (int)fmax(1, round(0.12 * quad->width / r->step));
    struct look look;
    bool cut_low = is_cut(r, low), cut_high = is_cut(r, high);
    quad->cut_off = cut_low || cut_high;
    quad->end_lower = cut_low ? 0.6 : across_near(r, low, reach);
    quad->end_upper = cut_high ? 0.6 : across_near(r, high, reach);
    read_look(r, low, high, &look);
    quad->lower = end_line(r, quad, low, &quad->lower_slope);
    quad->upper = end_line(r, quad, high, &quad->upper_slope);
    quad->side_left = look.side_left;
    quad->side_right = look.side_right;
    quad->evenness = look.uneven;
    quad->contrast = look.contrast;
    quad->ink = look.varied;
    memcpy(quad->paper, look.paper, sizeof quad->paper);
    quad->quality = judge(&look, picture, quad, quad->upper - quad->lower);
done:
    free(r);
}

static struct sl_point side_point(double x, double y, double dx, double dy, double s)
{
    return (struct sl_point){x + s * dx, y + s * dy};
}

void find_quad_corners(const struct find_quad *q, struct sl_point ret[4])
{
    double low = q->lower, up = q->upper, ls = q->lower_slope / 2, us = q->upper_slope / 2;
    ret[0] = side_point(q->left_x, q->left_y, q->left_dx, q->left_dy, low - ls);
    ret[1] = side_point(q->right_x, q->right_y, q->right_dx, q->right_dy, low + ls);
    ret[2] = side_point(q->right_x, q->right_y, q->right_dx, q->right_dy, up + us);
    ret[3] = side_point(q->left_x, q->left_y, q->left_dx, q->left_dy, up - us);
}
