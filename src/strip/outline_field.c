// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Rows across the strip on both sides of the end, columns on the paper and some beside it.
 * 2. Every cell is likelier paper or likelier table by its colour. Paper is known from the strip,
 *    the table from beside it; what is like neither (peg, ink, pencil) says nothing.
 * 3. Every cell is an edge or not: a step away from the paper's colour, in parts of the usual one.
 * 4. So is each side, at every row. */
#include "strip/outline_field.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TABLE_MAX = 240 /* cells that stand for the table */ };
static const double INSIDE_WIDTHS = 1.6, BEYOND_WIDTHS = 1.2;
static const double BESIDE_FIRST = 0.10, BESIDE_STEP = 0.07; /* of the width */
/* Of the length: where the sides are straight. */
static const double SIDE_FROM = 0.5, SIDE_TO = 0.9;
/* Root of light: crepe paper and the light on it vary by about this much. */
static const double PAPER_LIKE = 0.12, PAPER_SIGMA_LEAST = 0.02, TABLE_RADIUS = 0.04;
static const double CONTRAST_LEAST = 0.04;
static const double UNKNOWN = 0.08; /* density of what is neither paper nor table */
static const double FOREIGN_MOST = 0.02, FOREIGN_FROM = 0.08, FOREIGN_TO = 0.25; /* of the width */
static const double FOREIGN_LOSS = 0.7; /* what an edge against ink or a peg counts less */
static const double ODDS_MOST = 2;      /* natural logarithm: no single cell decides */

double outline_field_across(int column)
{
    int left = FIELD_BESIDE - 1 - column, right = column - FIELD_BESIDE - FIELD_COLUMNS;
    if (left >= 0)
        return -BESIDE_FIRST - left * BESIDE_STEP;
    if (right >= 0)
        return 1 + BESIDE_FIRST + right * BESIDE_STEP;
    return (column - FIELD_BESIDE + 0.5) / FIELD_COLUMNS;
}

static bool is_beside(int column)
{
    return column < FIELD_BESIDE || column >= FIELD_BESIDE + FIELD_COLUMNS;
}

/* A side's direction outwards at an end, from the part of it that no end disturbs. */
static struct sl_point side_direction(const struct find_picture *p, const struct sl_point *side,
                                      bool upper)
{
    int from = (int)(SIDE_FROM * (SL_EDGE_POINTS - 1)), to = (int)(SIDE_TO * (SL_EDGE_POINTS - 1));
    struct sl_point a = outline_field_picture_px(p, side[upper ? from : SL_EDGE_POINTS - 1 - from]);
    struct sl_point b = outline_field_picture_px(p, side[upper ? to : SL_EDGE_POINTS - 1 - to]);
    double length = hypot(b.x - a.x, b.y - a.y);
    return (struct sl_point){(b.x - a.x) / length, (b.y - a.y) / length};
}

/* Where the side gets to, straight on from the part that no end disturbs. */
static struct sl_point side_end(const struct find_picture *p, const struct sl_point *side,
                                bool upper, struct sl_point direction)
{
    int to = (int)(SIDE_TO * (SL_EDGE_POINTS - 1));
    struct sl_point a = outline_field_picture_px(p, side[upper ? to : SL_EDGE_POINTS - 1 - to]);
    struct sl_point b = outline_field_picture_px(p, side[upper ? SL_EDGE_POINTS - 1 : 0]);
    double far = (b.x - a.x) * direction.x + (b.y - a.y) * direction.y;
    return (struct sl_point){a.x + far * direction.x, a.y + far * direction.y};
}

/* Moves the sides' ends so that the line between them is square to the strip. */
static void square_up(struct outline_field *r)
{
    double ax = r->left_dir.x + r->right_dir.x, ay = r->left_dir.y + r->right_dir.y;
    double off = (r->right.x - r->left.x) * ax + (r->right.y - r->left.y) * ay;
    double half = off / hypot(ax, ay) / 2;
    r->left.x += half * r->left_dir.x;
    r->left.y += half * r->left_dir.y;
    r->right.x -= half * r->right_dir.x;
    r->right.y -= half * r->right_dir.y;
}

struct sl_point outline_field_place(const struct outline_field *r, double across, double out)
{
    double lx = r->left.x + out * r->left_dir.x, ly = r->left.y + out * r->left_dir.y;
    double rx = r->right.x + out * r->right_dir.x, ry = r->right.y + out * r->right_dir.y;
    return (struct sl_point){lx + across * (rx - lx), ly + across * (ry - ly)};
}

/* Step 1. */
static bool fill(const struct find_picture *p, const struct sl_outline *o, bool upper,
                 struct outline_field *r)
{
    r->left_dir = side_direction(p, o->left_px, upper);
    r->right_dir = side_direction(p, o->right_px, upper);
    r->left = side_end(p, o->left_px, upper, r->left_dir);
    r->right = side_end(p, o->right_px, upper, r->right_dir);
    square_up(r);
    r->width = hypot(r->right.x - r->left.x, r->right.y - r->left.y);
    if (!(r->width > 0)) /* sides without a direction too */
        return false;
    r->step = fmax(1, (INSIDE_WIDTHS + BEYOND_WIDTHS) * r->width / FIELD_ROWS_MAX);
    r->at = (int)(INSIDE_WIDTHS * r->width / r->step);
    r->rows = r->at + (int)(BEYOND_WIDTHS * r->width / r->step);
    if (r->at < 12 || r->rows > FIELD_ROWS_MAX)
        return false;
    for (int i = 0; i < r->rows; i++)
        for (int k = 0; k < FIELD_ALL; k++) {
            struct outline_cell *c = outline_field_cell(r, i, k);
            struct sl_point q =
                outline_field_place(r, outline_field_across(k), (i - r->at) * r->step);
            c->inside = q.x >= 1 && q.y >= 1 && q.x <= p->width - 2 && q.y <= p->height - 2;
            find_picture_sample(p, q.x, q.y, c->colour);
        }
    return true;
}

/* Mean of the cells inside the strip that are like `about`; false if these are few. */
static bool mean_like(const struct outline_field *r, const double about[FIND_PLANES], double most,
                      double ret[FIND_PLANES], double *ret_sigma)
{
    double sum[FIND_PLANES] = {0}, square = 0, off = 0;
    int n = 0;
    for (int i = 0; i < r->at; i++)
        for (int k = FIELD_BESIDE + 2; k < FIELD_BESIDE + FIELD_COLUMNS - 2; k++) {
            const struct outline_cell *c = outline_field_cell(r, i, k);
            double d = find_distance_from(c->colour, about);
            if (!c->inside || d > most)
                continue;
            for (int j = 0; j < FIND_PLANES; j++)
                sum[j] += (double)c->colour[j];
            square += d * d;
            n++;
        }
    if (10 * n < r->at * FIELD_COLUMNS)
        return false;
    for (int j = 0; j < FIND_PLANES; j++) {
        ret[j] = sum[j] / n;
        off += (ret[j] - about[j]) * (ret[j] - about[j]);
    }
    *ret_sigma = sqrt(fmax(square / n - off, 0));
    return true;
}

/* The strip's paper as it is lit here: twice the mean about what was known, more closely. */
static void read_paper(struct outline_field *r, const double paper[FIND_PLANES])
{
    double first[FIND_PLANES], sigma = PAPER_SIGMA_LEAST;
    memcpy(r->paper, paper, sizeof r->paper);
    if (mean_like(r, paper, PAPER_LIKE, first, &sigma)) {
        memcpy(r->paper, first, sizeof first);
        mean_like(r, first, PAPER_LIKE / 3, r->paper, &sigma);
    }
    r->sigma = fmax(sigma, PAPER_SIGMA_LEAST);
}

/* Cells beside the strip, evenly spread. Sets the usual contrast. */
static int read_table(struct outline_field *r, const float *table[TABLE_MAX], double noise)
{
    double contrast[TABLE_MAX];
    int n = 0, every = r->rows * 2 * FIELD_BESIDE / TABLE_MAX + 1, at = 0;
    for (int i = 0; i < r->rows; i++)
        for (int k = 0; k < FIELD_ALL; k++) {
            const struct outline_cell *c = outline_field_cell(r, i, k);
            if (!is_beside(k) || !c->inside || at++ % every || n == TABLE_MAX)
                continue;
            contrast[n] = find_distance_from(c->colour, r->paper);
            table[n++] = c->colour;
        }
    gsl_sort(contrast, 1, (size_t)n);
    r->contrast = fmax(n ? contrast[n / 2] : 0, fmax(6 * noise, CONTRAST_LEAST));
    return n;
}

/* Step 2. */
static void weigh_colours(struct outline_field *r, double noise)
{
    const float *table[TABLE_MAX];
    int n = read_table(r, table, noise);
    double radius = fmin(TABLE_RADIUS, 0.5 * r->contrast);
    for (int i = 0; i < r->rows; i++)
        for (int k = FIELD_BESIDE; k < FIELD_BESIDE + FIELD_COLUMNS; k++) {
            struct outline_cell *c = outline_field_cell(r, i, k);
            double d = find_distance_from(c->colour, r->paper) / r->sigma, paper = exp(-d * d / 2),
                   like = 0;
            for (int j = 0; j < n; j++) {
                double a = (double)(table[j][0] - c->colour[0]);
                double b = (double)(table[j][1] - c->colour[1]);
                double e = (double)(table[j][2] - c->colour[2]);
                like += a * a + b * b + e * e < radius * radius;
            }
            double odds = log((paper + UNKNOWN) / (like / fmax(n, 1) + UNKNOWN)) / ODDS_MOST;
            c->foreign = paper + like / fmax(n, 1) < FOREIGN_MOST;
            c->odds = c->inside ? (float)fmin(fmax(odds, -1), 1) : 0;
        }
}

static void mean_of(const struct outline_field *r, int from, int to, int column,
                    float ret[FIND_PLANES])
{
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int i = from; i <= to; i++)
        for (int j = 0; j < FIND_PLANES; j++)
            ret[j] += outline_field_cell(r, i, column)->colour[j] / (float)(to - from + 1);
}

/* How much of what lies beyond a cell is like neither paper nor table. */
static double foreign_beyond(const struct outline_field *r, int row, int column)
{
    int from = row + (int)(FOREIGN_FROM * r->width / r->step), n = 0, foreign = 0;
    int to = row + (int)(FOREIGN_TO * r->width / r->step);
    for (int i = from; i <= to && i < r->rows; i++, n++)
        foreign += outline_field_cell(r, i, column)->foreign;
    return n ? (double)foreign / n : 0;
}

static double step_at(const struct outline_field *r, int row, int column, float in[FIND_PLANES],
                      float out[FIND_PLANES])
{
    mean_of(r, row - 4, row - 2, column, in);
    mean_of(r, row + 2, row + 4, column, out);
    return find_distance_from(in, (const double[]){(double)out[0], (double)out[1], (double)out[2]});
}

/* What steps are usual on the paper itself. */
static double texture(const struct outline_field *r)
{
    double *step = malloc((size_t)FIELD_ROWS_MAX * FIELD_ALL * sizeof *step), usual = 0;
    float in[FIND_PLANES], out[FIND_PLANES];
    int n = 0;
    for (int i = 4; i < r->at && step; i += 3)
        for (int k = FIELD_BESIDE + 2; k < FIELD_BESIDE + FIELD_COLUMNS - 2; k += 3)
            step[n++] = step_at(r, i, k, in, out);
    if (n) {
        gsl_sort(step, 1, (size_t)n);
        usual = step[n / 2];
    }
    free(step);
    return usual;
}

/* Step 3. */
static void find_edges(struct outline_field *r)
{
    int far = 4;
    double half = fmax(0.5 * r->contrast, 2 * texture(r));
    for (int i = far; i + far < r->rows; i++)
        for (int k = 0; k < FIELD_ALL; k++) {
            float in[FIND_PLANES], out[FIND_PLANES];
            struct outline_cell *c = outline_field_cell(r, i, k);
            double step = step_at(r, i, k, in, out);
            bool away = find_distance_from(in, r->paper) <
                        find_distance_from(out, r->paper) + 0.5 * r->contrast;
            bool seen = c->inside && outline_field_cell(r, i + far, k)->inside;
            c->edge = seen && (away || is_beside(k)) ? (float)(step / (step + half)) : 0;
            if (c->edge > 0 && !is_beside(k))
                c->edge *= (float)(1 - FOREIGN_LOSS * foreign_beyond(r, i, k));
        }
}

void outline_field_mean(const struct outline_field *r, int row, int from, int to,
                        float ret[FIND_PLANES])
{
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int k = from; k <= to; k++)
        for (int j = 0; j < FIND_PLANES; j++)
            ret[j] += outline_field_cell(r, row, k)->colour[j] / (float)(to - from + 1);
}

/* Step 4. */
static void find_sides(struct outline_field *r)
{
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < r->rows; i++) {
            float in[FIND_PLANES], out[FIND_PLANES];
            int first_in = side ? FIELD_BESIDE + FIELD_COLUMNS - 3 : FIELD_BESIDE + 1;
            int first_out = side ? FIELD_BESIDE + FIELD_COLUMNS : FIELD_BESIDE - 2;
            outline_field_mean(r, i, first_in, first_in + 1, in);
            outline_field_mean(r, i, first_out, first_out + 1, out);
            double step = find_distance_from(
                in, (const double[]){(double)out[0], (double)out[1], (double)out[2]});
            bool seen = outline_field_cell(r, i, first_in)->inside &&
                        outline_field_cell(r, i, first_out)->inside;
            r->side[side][i + 1] =
                r->side[side][i] + (seen ? step / (step + 0.5 * r->contrast) : 0);
        }
}

static void cumulate(struct outline_field *r)
{
    for (int k = FIELD_BESIDE; k < FIELD_BESIDE + FIELD_COLUMNS; k++) {
        float *s = r->sum + (size_t)k * (FIELD_ROWS_MAX + 1);
        for (int i = 0; i < r->rows; i++)
            s[i + 1] = s[i] + outline_field_cell(r, i, k)->odds;
    }
}

bool outline_field_create(struct outline_field *ret)
{
    *ret = (struct outline_field){
        .cell = calloc((size_t)FIELD_ROWS_MAX * FIELD_ALL, sizeof *ret->cell),
        .sum = calloc((size_t)FIELD_ALL * (FIELD_ROWS_MAX + 1), sizeof *ret->sum)};
    return ret->cell && ret->sum;
}

void outline_field_finish(struct outline_field *field)
{
    free(field->cell);
    free(field->sum);
    *field = (struct outline_field){0};
}

bool outline_field_fill(const struct find_picture *picture, const struct sl_outline *outline,
                        bool upper, const double paper[FIND_PLANES], struct outline_field *field)
{
    if (!fill(picture, outline, upper, field))
        return false;
    read_paper(field, paper);
    weigh_colours(field, picture->noise[0]);
    find_edges(field);
    find_sides(field);
    cumulate(field);
    return true;
}
