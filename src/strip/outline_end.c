// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the paper ends, looked for again around an end that was found. The search takes the first
 * edge that closes both sides; that can be a peg's tip, tape, writing, a ruled line of the table or
 * the place where rounded corners begin.
 * 1. A raster along the strip's sides, from well inside to well beyond the end, with columns on the
 *    paper and some beside it.
 * 2. Every cell is likelier paper or likelier table by its colour. Paper is known from the strip,
 *    the table from beside it; what is like neither (peg, ink, pencil) says nothing.
 * 3. Every cell is an edge or not: a step away from the paper's colour.
 * 4. The end is the straight line across that parts paper from table best and has edges under it.
 *    Edges that go on beyond both sides are the table's or a tape's.
 * 5. It replaces the end that was found only where it is clearly better. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    COLUMNS = 24,
    BESIDE = 4, /* columns beside each side */
    ALL = COLUMNS + 2 * BESIDE,
    ROWS_MAX = 480,
    TABLE_MAX = 240, /* cells that stand for the table */
};
static const double INSIDE_WIDTHS = 1.6, BEYOND_WIDTHS = 1.2;
static const double BESIDE_FIRST = 0.10, BESIDE_STEP = 0.07; /* of the width */
static const double SIDE_FROM = 0.5,
                    SIDE_TO = 0.9; /* of the length: where the sides are straight */
static const double PAPER_LIKE = 0.12, PAPER_SIGMA_LEAST = 0.02, TABLE_RADIUS = 0.04;
static const double UNKNOWN = 0.08; /* density of what is neither paper nor table */
static const double FOREIGN_MOST = 0.02, FOREIGN_FROM = 0.08, FOREIGN_TO = 0.25; /* of the width */
static const double FOREIGN_LOSS = 0.7; /* what an edge against ink or a peg counts less */
static const double ODDS_MOST = 2;
static const double WINDOW_WIDTHS = 0.35;
static const double SLOPE_MOST = 0.35, SLOPE_SIGMA = 0.12, SLOPE_COST = 0.05;
static const double AWAY_COST = 0.02;      /* a width away */
static const double CONTRAST_LEAST = 0.04; /* crepe paper varies by this much */
static const double FAR_WIDTHS = 0.05, BETWEEN_LEAST = 0.15;
static const double GAIN_LEAST = 0.08;
/* Of the width, from the end that was found: further in it is ink, further out another strip. */
static const double INWARD_MOST = 0.25, OUTWARD_MOST = 0.7;

struct cell {
    float colour[FIND_PLANES];
    float odds;   /* that it is paper, natural logarithm, in parts of ODDS_MOST: -1..1 */
    float edge;   /* 0..1 */
    bool foreign; /* like neither */
    bool inside;  /* the picture */
};

struct raster {
    struct sl_point left, right;         /* the sides at the end that was found, picture px */
    struct sl_point left_dir, right_dir; /* a px outwards along the sides */
    double width;
    int rows, at;    /* `at`: the row of the end that was found */
    double step;     /* px from row to row, outwards */
    double contrast; /* usual step from paper to table */
    double paper[FIND_PLANES], sigma;
    double side[2][ROWS_MAX + 1]; /* how clear each side is, cumulated from row to row */
    struct cell *cell;            /* rows x ALL, row 0 innermost */
    float *sum;                   /* ALL x (ROWS_MAX + 1): odds, cumulated from row to row */
};

static struct cell *cell_at(const struct raster *r, int row, int column)
{
    return r->cell + (size_t)row * ALL + (size_t)column;
}

static double unlike(const float a[FIND_PLANES], const double b[FIND_PLANES])
{
    return hypot((double)a[0] - b[0], hypot((double)a[1] - b[1], (double)a[2] - b[2]));
}

static double place_across(int column)
{
    int left = BESIDE - 1 - column, right = column - BESIDE - COLUMNS;
    if (left >= 0)
        return -BESIDE_FIRST - left * BESIDE_STEP;
    if (right >= 0)
        return 1 + BESIDE_FIRST + right * BESIDE_STEP;
    return (column - BESIDE + 0.5) / COLUMNS;
}

static bool is_beside(int column)
{
    return column < BESIDE || column >= BESIDE + COLUMNS;
}

static struct sl_point to_picture(const struct find_picture *p, struct sl_point q)
{
    return (struct sl_point){(q.x - p->x0) / p->scale, (q.y - p->y0) / p->scale};
}

static struct sl_point to_photo(const struct find_picture *p, struct sl_point q)
{
    return (struct sl_point){p->x0 + q.x * p->scale, p->y0 + q.y * p->scale};
}

/* A side's direction outwards at an end, from the part of it that no end disturbs. */
static struct sl_point side_direction(const struct find_picture *p, const struct sl_point *side,
                                      bool upper)
{
    int from = (int)(SIDE_FROM * (SL_EDGE_POINTS - 1)), to = (int)(SIDE_TO * (SL_EDGE_POINTS - 1));
    struct sl_point a = to_picture(p, side[upper ? from : SL_EDGE_POINTS - 1 - from]);
    struct sl_point b = to_picture(p, side[upper ? to : SL_EDGE_POINTS - 1 - to]);
    double length = hypot(b.x - a.x, b.y - a.y);
    return (struct sl_point){(b.x - a.x) / length, (b.y - a.y) / length};
}

/* Where the side gets to, straight on from the part that no end disturbs. */
static struct sl_point side_end(const struct find_picture *p, const struct sl_point *side,
                                bool upper, struct sl_point direction)
{
    int to = (int)(SIDE_TO * (SL_EDGE_POINTS - 1));
    struct sl_point a = to_picture(p, side[upper ? to : SL_EDGE_POINTS - 1 - to]);
    struct sl_point b = to_picture(p, side[upper ? SL_EDGE_POINTS - 1 : 0]);
    double far = (b.x - a.x) * direction.x + (b.y - a.y) * direction.y;
    return (struct sl_point){a.x + far * direction.x, a.y + far * direction.y};
}

/* Moves the sides' ends so that the line between them is square to the strip. */
static void square_up(struct raster *r)
{
    double ax = r->left_dir.x + r->right_dir.x, ay = r->left_dir.y + r->right_dir.y;
    double off = (r->right.x - r->left.x) * ax + (r->right.y - r->left.y) * ay;
    double half = off / hypot(ax, ay) / 2;
    r->left.x += half * r->left_dir.x;
    r->left.y += half * r->left_dir.y;
    r->right.x -= half * r->right_dir.x;
    r->right.y -= half * r->right_dir.y;
}

static struct sl_point place(const struct raster *r, double across, double out)
{
    double lx = r->left.x + out * r->left_dir.x, ly = r->left.y + out * r->left_dir.y;
    double rx = r->right.x + out * r->right_dir.x, ry = r->right.y + out * r->right_dir.y;
    return (struct sl_point){lx + across * (rx - lx), ly + across * (ry - ly)};
}

/* Step 1. */
static bool fill(const struct find_picture *p, const struct sl_outline *o, bool upper,
                 struct raster *r)
{
    r->left_dir = side_direction(p, o->left_px, upper);
    r->right_dir = side_direction(p, o->right_px, upper);
    r->left = side_end(p, o->left_px, upper, r->left_dir);
    r->right = side_end(p, o->right_px, upper, r->right_dir);
    square_up(r);
    r->width = hypot(r->right.x - r->left.x, r->right.y - r->left.y);
    r->step = fmax(1, (INSIDE_WIDTHS + BEYOND_WIDTHS) * r->width / ROWS_MAX);
    r->at = (int)(INSIDE_WIDTHS * r->width / r->step);
    r->rows = r->at + (int)(BEYOND_WIDTHS * r->width / r->step);
    if (r->at < 12 || r->rows > ROWS_MAX)
        return false;
    for (int i = 0; i < r->rows; i++)
        for (int k = 0; k < ALL; k++) {
            struct cell *c = cell_at(r, i, k);
            struct sl_point q = place(r, place_across(k), (i - r->at) * r->step);
            c->inside = q.x >= 1 && q.y >= 1 && q.x <= p->width - 2 && q.y <= p->height - 2;
            find_picture_sample(p, q.x, q.y, c->colour);
        }
    return true;
}

/* Mean of the cells inside the strip that are like `about`; false if these are few. */
static bool mean_like(const struct raster *r, const double about[FIND_PLANES], double most,
                      double ret[FIND_PLANES], double *ret_sigma)
{
    double sum[FIND_PLANES] = {0}, square = 0, off = 0;
    int n = 0;
    for (int i = 0; i < r->at; i++)
        for (int k = BESIDE + 2; k < BESIDE + COLUMNS - 2; k++) {
            const struct cell *c = cell_at(r, i, k);
            double d = unlike(c->colour, about);
            if (!c->inside || d > most)
                continue;
            for (int j = 0; j < FIND_PLANES; j++)
                sum[j] += (double)c->colour[j];
            square += d * d;
            n++;
        }
    if (10 * n < r->at * COLUMNS)
        return false;
    for (int j = 0; j < FIND_PLANES; j++) {
        ret[j] = sum[j] / n;
        off += (ret[j] - about[j]) * (ret[j] - about[j]);
    }
    *ret_sigma = sqrt(fmax(square / n - off, 0));
    return true;
}

/* The strip's paper as it is lit here: twice the mean about what was known, more closely. */
static void read_paper(struct raster *r, const double paper[FIND_PLANES])
{
    double first[FIND_PLANES], sigma = PAPER_SIGMA_LEAST;
    memcpy(r->paper, paper, sizeof r->paper);
    if (mean_like(r, paper, PAPER_LIKE, first, &sigma)) {
        memcpy(r->paper, first, sizeof first);
        mean_like(r, first, PAPER_LIKE / 3, r->paper, &sigma);
    }
    r->sigma = fmax(sigma, PAPER_SIGMA_LEAST);
}

static int by_value(const void *a, const void *b)
{
    double d = *(const double *)a - *(const double *)b;
    return d > 0 ? 1 : d < 0 ? -1 : 0;
}

/* Cells beside the strip, evenly spread. Sets the usual contrast. */
static int read_table(struct raster *r, const float *table[TABLE_MAX], double noise)
{
    double contrast[TABLE_MAX];
    int n = 0, every = r->rows * 2 * BESIDE / TABLE_MAX + 1, at = 0;
    for (int i = 0; i < r->rows; i++)
        for (int k = 0; k < ALL; k++) {
            const struct cell *c = cell_at(r, i, k);
            if (!is_beside(k) || !c->inside || at++ % every || n == TABLE_MAX)
                continue;
            contrast[n] = unlike(c->colour, r->paper);
            table[n++] = c->colour;
        }
    qsort(contrast, (size_t)n, sizeof *contrast, by_value);
    r->contrast = fmax(n ? contrast[n / 2] : 0, fmax(6 * noise, CONTRAST_LEAST));
    return n;
}

/* Step 2. */
static void weigh_colours(struct raster *r, double noise)
{
    const float *table[TABLE_MAX];
    int n = read_table(r, table, noise);
    double radius = fmin(TABLE_RADIUS, 0.5 * r->contrast);
    for (int i = 0; i < r->rows; i++)
        for (int k = BESIDE; k < BESIDE + COLUMNS; k++) {
            struct cell *c = cell_at(r, i, k);
            double d = unlike(c->colour, r->paper) / r->sigma, paper = exp(-d * d / 2), like = 0;
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

static void mean_of(const struct raster *r, int from, int to, int column, float ret[FIND_PLANES])
{
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int i = from; i <= to; i++)
        for (int j = 0; j < FIND_PLANES; j++)
            ret[j] += cell_at(r, i, column)->colour[j] / (float)(to - from + 1);
}

/* How much of what lies beyond a cell is like neither paper nor table. */
static double foreign_beyond(const struct raster *r, int row, int column)
{
    int from = row + (int)(FOREIGN_FROM * r->width / r->step), n = 0, foreign = 0;
    int to = row + (int)(FOREIGN_TO * r->width / r->step);
    for (int i = from; i <= to && i < r->rows; i++, n++)
        foreign += cell_at(r, i, column)->foreign;
    return n ? (double)foreign / n : 0;
}

static double step_at(const struct raster *r, int row, int column, float in[FIND_PLANES],
                      float out[FIND_PLANES])
{
    mean_of(r, row - 4, row - 2, column, in);
    mean_of(r, row + 2, row + 4, column, out);
    return unlike(in, (const double[]){(double)out[0], (double)out[1], (double)out[2]});
}

/* What steps are usual on the paper itself. */
static double texture(const struct raster *r)
{
    double *step = malloc((size_t)ROWS_MAX * ALL * sizeof *step), usual = 0;
    float in[FIND_PLANES], out[FIND_PLANES];
    int n = 0;
    for (int i = 4; i < r->at && step; i += 3)
        for (int k = BESIDE + 2; k < BESIDE + COLUMNS - 2; k += 3)
            step[n++] = step_at(r, i, k, in, out);
    if (n)
        qsort(step, (size_t)n, sizeof *step, by_value), usual = step[n / 2];
    free(step);
    return usual;
}

/* Step 3. */
static void find_edges(struct raster *r)
{
    int far = 4;
    double half = fmax(0.5 * r->contrast, 2 * texture(r));
    for (int i = far; i + far < r->rows; i++)
        for (int k = 0; k < ALL; k++) {
            float in[FIND_PLANES], out[FIND_PLANES];
            struct cell *c = cell_at(r, i, k);
            double step = step_at(r, i, k, in, out);
            bool away = unlike(in, r->paper) < unlike(out, r->paper) + 0.5 * r->contrast;
            bool seen = c->inside && cell_at(r, i + far, k)->inside;
            c->edge = seen && (away || is_beside(k)) ? (float)(step / (step + half)) : 0;
            if (c->edge > 0 && !is_beside(k))
                c->edge *= (float)(1 - FOREIGN_LOSS * foreign_beyond(r, i, k));
        }
}

static void mean_across(const struct raster *r, int row, int from, int to, float ret[FIND_PLANES])
{
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int k = from; k <= to; k++)
        for (int j = 0; j < FIND_PLANES; j++)
            ret[j] += cell_at(r, row, k)->colour[j] / (float)(to - from + 1);
}

/* Step 3 for the sides. */
static void find_sides(struct raster *r)
{
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < r->rows; i++) {
            float in[FIND_PLANES], out[FIND_PLANES];
            int first_in = side ? BESIDE + COLUMNS - 3 : BESIDE + 1;
            int first_out = side ? BESIDE + COLUMNS : BESIDE - 2;
            mean_across(r, i, first_in, first_in + 1, in);
            mean_across(r, i, first_out, first_out + 1, out);
            double step =
                unlike(in, (const double[]){(double)out[0], (double)out[1], (double)out[2]});
            bool seen = cell_at(r, i, first_in)->inside && cell_at(r, i, first_out)->inside;
            r->side[side][i + 1] =
                r->side[side][i] + (seen ? step / (step + 0.5 * r->contrast) : 0);
        }
}

static int line_row(const struct raster *r, double row, double slope, int column)
{
    int i = (int)lround(row + slope * (place_across(column) - 0.5) * r->width / r->step);
    return i < 0 ? 0 : i >= r->rows ? r->rows - 1 : i;
}

/* The most of an edge within a row of the line. */
static double edge_near(const struct raster *r, int row, int column)
{
    double most = 0;
    for (int i = row - 1; i <= row + 1; i++)
        if (i >= 0 && i < r->rows)
            most = fmax(most, (double)cell_at(r, i, column)->edge);
    return most;
}

static double goes_on(const struct raster *r, double row, double slope)
{
    double left = 0, right = 0;
    for (int k = 0; k < BESIDE; k++) {
        int other = ALL - 1 - k;
        left += edge_near(r, line_row(r, row, slope, k), k) / BESIDE;
        right += edge_near(r, line_row(r, row, slope, other), other) / BESIDE;
    }
    return fmin(left, right);
}

/* How well a line parts paper from table in one column. */
static double parts(const struct raster *r, int row, int column)
{
    int window = (int)fmax(4, WINDOW_WIDTHS * r->width / r->step);
    int low = row - window < 0 ? 0 : row - window;
    int high = row + window > r->rows ? r->rows : row + window;
    const float *s = r->sum + (size_t)column * (ROWS_MAX + 1);
    return ((double)(s[row] - s[low]) - (double)(s[high] - s[row])) / (2 * window);
}

/* How much clearer a side is within the line than beyond. */
static double side_ends(const struct raster *r, int side, int row)
{
    int window = (int)fmax(4, WINDOW_WIDTHS * r->width / r->step);
    int low = row - window < 0 ? 0 : row - window;
    int high = row + window > r->rows ? r->rows : row + window;
    const double *s = r->side[side];
    return (s[row] - s[low]) / fmax(row - low, 1) - (s[high] - s[row]) / fmax(high - row, 1);
}

static double both_sides(const struct raster *r, double row, double slope)
{
    return (side_ends(r, 0, line_row(r, row, slope, BESIDE)) +
            side_ends(r, 1, line_row(r, row, slope, BESIDE + COLUMNS - 1))) /
           2;
}

/* Mean odds of what lies between the end that was found and a line; 0 where that is nothing. */
static double between(const struct raster *r, double row, double slope)
{
    double odds = 0, n = 0;
    for (int k = BESIDE; k < BESIDE + COLUMNS; k++) {
        int i = line_row(r, row, slope, k), j = r->at;
        const float *s = r->sum + (size_t)k * (ROWS_MAX + 1);
        odds += (i > j ? 1 : -1) * (double)(s[i] - s[j]);
        n += abs(i - j);
    }
    return n > 4 * COLUMNS ? odds / n : 0;
}

/* Step 4, for one line. */
static double worth(const struct raster *r, double row, double slope)
{
    double edges = 0, parted = 0;
    for (int k = BESIDE; k < BESIDE + COLUMNS; k++) {
        int i = line_row(r, row, slope, k);
        edges += edge_near(r, i, k) / COLUMNS;
        parted += parts(r, i, k) / COLUMNS;
    }
    double turn = slope / SLOPE_SIGMA, sides = both_sides(r, row, slope);
    return edges + parted + sides - goes_on(r, row, slope) - SLOPE_COST * turn * turn -
           AWAY_COST * fabs(row - r->at) * r->step / r->width;
}

struct end {
    double row, slope, worth;
};

/* Not an end: paper lies beyond it, up to the end that was found, or table lies before it. */
static bool is_within(const struct raster *r, double row, double slope)
{
    double far = fabs(row - r->at) * r->step / r->width, odds = between(r, row, slope);
    return far > FAR_WIDTHS && (row < r->at ? odds > -BETWEEN_LEAST : odds < -BETWEEN_LEAST);
}

static void try_lines(const struct raster *r, const double rows[3], const double slopes[3],
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

static struct end best_line(const struct raster *r)
{
    struct end best = {r->at, 0, -1e9};
    double width = r->width / r->step;
    const double rows[] = {r->at - INWARD_MOST * width, r->at + OUTWARD_MOST * width, 2};
    const double slopes[] = {-SLOPE_MOST, SLOPE_MOST, 0.035};
    try_lines(r, rows, slopes, &best);
    const double near_rows[] = {best.row - 2, best.row + 2, 1};
    const double near_slopes[] = {best.slope - 0.03, best.slope + 0.03, 0.01};
    try_lines(r, near_rows, near_slopes, &best);
    return best;
}

/* The end as it was found, at its best within a pixel or two. */
static double worth_before(const struct raster *r, double row, double slope)
{
    double most = -1e9;
    for (int d = -2; d <= 2; d++)
        most = fmax(most, worth(r, row + d, slope));
    return most;
}

static void cumulate(struct raster *r)
{
    for (int k = BESIDE; k < BESIDE + COLUMNS; k++) {
        float *s = r->sum + (size_t)k * (ROWS_MAX + 1);
        for (int i = 0; i < r->rows; i++)
            s[i + 1] = s[i] + cell_at(r, i, k)->odds;
    }
}

/* px outwards along a side. */
static double along(struct sl_point from, struct sl_point direction, struct sl_point p)
{
    return (p.x - from.x) * direction.x + (p.y - from.y) * direction.y;
}

static bool find_end(const struct find_picture *p, const double paper[FIND_PLANES], bool upper,
                     struct raster *r, struct sl_outline *o)
{
    struct sl_point *left = &o->corner_px[upper ? 3 : 0], *right = &o->corner_px[upper ? 2 : 1];
    if (!fill(p, o, upper, r))
        return false;
    read_paper(r, paper);
    weigh_colours(r, p->noise[0]);
    find_edges(r);
    find_sides(r);
    cumulate(r);
    double at_left = along(r->left, r->left_dir, to_picture(p, *left));
    double at_right = along(r->right, r->right_dir, to_picture(p, *right));
    double row = r->at + (at_left + at_right) / 2 / r->step;
    struct end best = best_line(r);
    if (best.worth < worth_before(r, row, (at_right - at_left) / r->width) + GAIN_LEAST)
        return false;
    double out = (best.row - r->at) * r->step, half = best.slope * r->width / 2;
    *left = to_photo(p, place(r, 0, out - half));
    *right = to_photo(p, place(r, 1, out + half));
    return true;
}

bool outline_ends(const struct find_picture *picture, const double paper[FIND_PLANES],
                  struct sl_outline *outline)
{
    struct raster r = {.cell = calloc((size_t)ROWS_MAX * ALL, sizeof *r.cell),
                       .sum = calloc((size_t)ALL * (ROWS_MAX + 1), sizeof *r.sum)};
    struct sl_outline found = *outline;
    bool moved = false;
    for (int end = 0; end < 2 && r.cell && r.sum; end++)
        moved = find_end(picture, paper, end == 1, &r, &found) || moved;
    free(r.cell);
    free(r.sum);
    if (!moved)
        return false;
    struct sl_outline straight;
    outline_straight(found.corner_px, &straight);
    memcpy(outline->corner_px, straight.corner_px, sizeof straight.corner_px);
    memcpy(outline->left_px, straight.left_px, sizeof straight.left_px);
    memcpy(outline->right_px, straight.right_px, sizeof straight.right_px);
    return true;
}
