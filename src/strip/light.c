// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. The sheet is divided into blocks; a block has a brightness (mean of the three channels' log
 *    light) and two colour differences. Dye lowers the brightness, most of it changes the colour
 *    too; light changes brightness smoothly and colour hardly.
 * 2. A first plane of brightness lies on the upper side of the blocks (asymmetric least squares:
 *    W. Newey, J. Powell, Econometrica 55 (1987) 819-847); the paper's colour is the median of
 *    the blocks near it.
 * 3. Clean blocks are those near the white in brightness and colour. White is learnt anew from the
 *    clean blocks (a smooth trend along the strip, a slope across, colour on a line), and so on
 *    until it settles. As the trend's error is counted in, clean areas grow along a shadow; what
 *    lies beside dye counts for less.
 * 4. Where dye covers the whole width, white can't be darker than the channel that the dye leaves
 *    alone: such rows pull the trend up. Ends of the strip that are not clean pull it both ways.
 * 5. The trend's standard error, small on clean paper and larger under the dye, is the light's. */
#include "strip/light.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_sort.h>

#include "strip/light_trend.h"

enum {
    BLOCKS_ACROSS = 8,
    BLOCKS_ALONG_MAX = 160,
    ROWS_PER_BLOCK_MIN = 3,
    ROUNDS = 8,
    PLANE_ROUNDS = 25,
    CLEAN_ACROSS_MIN = 3, /* blocks of a row that must be clean to be believed */
    COLOUR_PARTS = 12,    /* of the strip, each with a mean colour of its own */
    COLOUR_ROUNDS = 4,
    SKIRT_ROWS = 3, /* beside a row that is not clean; of BLOCKS_ALONG_MAX, 2 % of the strip */
};
#define EDGE_LEFT_OUT 0.05 /* of the width on each side: the cut edge is blurred */
#define DARK_WEIGHT 0.03   /* of a block below the first plane, against one above it */
#define DARK_SIGMAS 2.5    /* dye only darkens, so the lower limit is the tighter one */
#define BRIGHT_SIGMAS 4.0
#define COLOUR_SIGMAS 3.5
#define COLOUR_SLOPE 0.01  /* log R/G or B/G over the strip's length, that two lights may make */
#define PART_SE 0.004      /* of the same in a part of the strip: paper, JPEG's steps of colour */
#define PART_FREEDOM 3     /* degrees of freedom of Student's distribution */
#define NOISE_MIN 0.002    /* log light; half a level of 8-bit sRGB near white */
#define ROUGHNESS_MIN 0.01 /* a lamp half a metre away bends log light of 100 mm by 0.1 to 0.2 */
#define ROUGHNESS_MAX 20.0 /* a shadow's edge: 0.3 over a fifth of the length */
#define TREND_SE_CAP 0.04  /* log light; more would let weak dye pass for shadow */
#define ACROSS_PRIOR 0.05  /* in units of the terms' squares: blocks in some rows outweigh it */
#define ENDS_CLEAN 0.6     /* part of each end's blocks that a good white leaves clean */
#define ANOTHER_START 0.15 /* by which another start must be better */
#define TOUCH_SE 0.015     /* log light; dyes leave no channel quite alone */
#define CLIPPED_PART_BLOCK 0.02 /* of a block's cells: noise has begun to be cut off */
/* Where it is all clipped, white is brighter than it looks by an amount that nothing in the photo
 * tells, and one channel more than another: what photos that were drawn too bright are off by. */
#define CLIPPED_SE 0.08
#define CLIPPED_COLOUR_SE 0.05
#define END_FROM 0.01      /* parts of the length from each end: beyond the cut edge's blur, */
#define END_TO 0.06        /* and below any line that is ruled */
#define TREND_SE_MOST 0.15 /* log light; of two places on one strip, in the light of a room */
#define WHITE_SE_MIN 0.002
#define SKIRT_SE 0.03 /* log light; the faint skirts of bands pass for clean paper */

struct block {
    double y, d[2]; /* brightness; log R - log G, log B - log G */
    bool seen, clean, clipped;
};

struct colour_part {
    double v, d, variance; /* v from the strip's middle; d and its variance, log light */
};

struct grid {
    int along;
    struct block *block;     /* along x BLOCKS_ACROSS */
    double *mean, *variance; /* along: observations of the trend */
    double *trend, *se;
    double across[4];
    double colour[2][2];          /* d = colour[k][0] + colour[k][1] (v - 0.5) */
    double colour_variance[2][3]; /* of both coefficients of a colour: 00, 01, 11 */
    double noise_y, noise_d[2];
};

static double v_of(const struct grid *g, int i)
{
    return (i + 0.5) / g->along;
}

static double u_of(int j)
{
    return EDGE_LEFT_OUT + (1 - 2 * EDGE_LEFT_OUT) * (j + 0.5) / BLOCKS_ACROSS;
}

static struct block *at(const struct grid *g, int i, int j)
{
    return &g->block[(size_t)i * BLOCKS_ACROSS + (size_t)j];
}

/* A lamp at one side makes a slope, a paper bent about its long axis a bow; both can change along
 * the strip. The terms have no mean across. */
static void across_terms(double u, double v, double ret[4])
{
    double slope = u - 0.5, bow = slope * slope - 1.0 / 12;
    ret[0] = slope;
    ret[1] = slope * (v - 0.5);
    ret[2] = bow;
    ret[3] = bow * (v - 0.5);
}

static double across_part(const double across[4], double u, double v)
{
    double term[4], sum = 0;
    across_terms(u, v, term);
    for (int k = 0; k < 4; k++)
        sum += across[k] * term[k];
    return sum;
}

/* Sorts `values`. */
static double quantile(double *values, size_t count, double part)
{
    if (count == 0)
        return NAN;
    gsl_sort(values, 1, count);
    return values[(size_t)(part * (double)(count - 1) + 0.5)];
}

static void block_mean(const struct sl_sheet *sheet, int row0, int row1, int column0, int column1,
                       struct block *ret)
{
    double sum[3] = {0, 0, 0};
    int count = 0, clipped = 0;
    for (int row = row0; row < row1; row++)
        for (int column = column0; column < column1; column++) {
            size_t cell = (size_t)row * (size_t)sheet->columns + (size_t)column;
            if (sheet->flags[cell] & SL_CELL_HIDDEN)
                continue;
            clipped += (sheet->flags[cell] & SL_CELL_CLIPPED) != 0;
            for (int c = 0; c < 3; c++)
                sum[c] += (double)sheet->rgb[3 * cell + (size_t)c];
            count++;
        }
    *ret = (struct block){0};
    if (2 * count < (row1 - row0) * (column1 - column0) || count == 0)
        return;
    double l[3];
    for (int c = 0; c < 3; c++)
        l[c] = log(fmax(sum[c] / count, 1e-4));
    ret->y = (l[0] + l[1] + l[2]) / 3;
    ret->d[0] = l[0] - l[1];
    ret->d[1] = l[2] - l[1];
    ret->seen = true;
    ret->clipped = clipped > CLIPPED_PART_BLOCK * count;
}

static void fill_blocks(struct grid *g, const struct sl_sheet *sheet)
{
    for (int i = 0; i < g->along; i++)
        for (int j = 0; j < BLOCKS_ACROSS; j++) {
            double half = (1 - 2 * EDGE_LEFT_OUT) / BLOCKS_ACROSS / 2;
            int column0 = (int)((u_of(j) - half) * sheet->columns + 0.5);
            int column1 = (int)((u_of(j) + half) * sheet->columns + 0.5);
            block_mean(sheet, i * sheet->rows / g->along, (i + 1) * sheet->rows / g->along, column0,
                       column1 > column0 ? column1 : column0 + 1, at(g, i, j));
        }
}

/* Scatter of neighbours across; the calmer part of the blocks is asked, where there is no dye. */
static bool measure_noise(struct grid *g)
{
    double *steps = calloc((size_t)g->along * BLOCKS_ACROSS, sizeof *steps);
    if (steps == NULL)
        return false;
    for (int k = -1; k < 2; k++) {
        size_t n = 0;
        for (int i = 0; i < g->along; i++)
            for (int j = 0; j + 1 < BLOCKS_ACROSS; j++) {
                const struct block *a = at(g, i, j), *b = at(g, i, j + 1);
                if (!a->seen || !b->seen)
                    continue;
                steps[n++] = fabs(k < 0 ? a->y - b->y : a->d[k] - b->d[k]);
            }
        /* the 35 % quantile of |N(0, s sqrt 2)| is 0.454 s sqrt 2 */
        double sigma = n > 0 ? quantile(steps, n, 0.35) / (0.454 * sqrt(2.0)) : 0;
        *(k < 0 ? &g->noise_y : &g->noise_d[k]) = fmax(sigma, NOISE_MIN);
    }
    free(steps);
    return true;
}

/* Solves a x = b for a symmetric positive definite matrix of n x n; both are overwritten. */
static bool solve(double *a, double *b, size_t n)
{
    gsl_matrix_view matrix = gsl_matrix_view_array(a, n, n);
    gsl_vector_view vector = gsl_vector_view_array(b, n);
    return gsl_linalg_cholesky_decomp1(&matrix.matrix) == GSL_SUCCESS &&
           gsl_linalg_cholesky_svx(&matrix.matrix, &vector.vector) == GSL_SUCCESS;
}

static void first_plane(const struct grid *g, double plane[3])
{
    plane[0] = plane[1] = plane[2] = 0;
    for (int round = 0; round < PLANE_ROUNDS; round++) {
        double a[9] = {1e-9, 0, 0, 0, 1e-9, 0, 0, 0, 1e-9}, b[3] = {0, 0, 0};
        for (int i = 0; i < g->along; i++)
            for (int j = 0; j < BLOCKS_ACROSS; j++) {
                const struct block *block = at(g, i, j);
                if (!block->seen)
                    continue;
                double x[3] = {1, v_of(g, i) - 0.5, u_of(j) - 0.5};
                double r = block->y - plane[0] - plane[1] * x[1] - plane[2] * x[2];
                double weight = round == 0 || r > 0 ? 1 : DARK_WEIGHT;
                for (int p = 0; p < 3; p++) {
                    for (int q = 0; q < 3; q++)
                        a[3 * p + q] += weight * x[p] * x[q];
                    b[p] += weight * x[p] * block->y;
                }
            }
        if (!solve(a, b, 3))
            return;
        memcpy(plane, b, sizeof b);
    }
}

/* Where the paper's colour is taken from to begin with: a part of the strip. */
struct start {
    double from, to;
};

/* The commonest colour of the brighter blocks of a part of the strip. */
static void first_colour(struct grid *g, struct start start, double *room)
{
    size_t n = 0;
    double limit = -INFINITY;
    for (int pass = 0; pass < 3; pass++) {
        n = 0;
        for (int i = 0; i < g->along; i++)
            for (int j = 0; j < BLOCKS_ACROSS; j++) {
                const struct block *b = at(g, i, j);
                double r = b->y - g->trend[i] - across_part(g->across, u_of(j), v_of(g, i));
                if (!b->seen || v_of(g, i) < start.from || v_of(g, i) > start.to || r < limit)
                    continue;
                room[n++] = pass == 0 ? r : b->d[pass - 1];
            }
        if (pass == 0)
            limit = n > 0 ? quantile(room, n, 0.6) : 0;
        else
            g->colour[pass - 1][0] = n > 0 ? quantile(room, n, 0.5) : 0;
    }
    g->colour[0][1] = g->colour[1][1] = 0;
}

/* The first plane stands in for the trend. */
static bool first_guess(struct grid *g, struct start start)
{
    double plane[3];
    first_plane(g, plane);
    double *room = calloc((size_t)g->along * BLOCKS_ACROSS, sizeof *room);
    if (room == NULL)
        return false;
    memset(g->across, 0, sizeof g->across);
    g->across[0] = plane[2];
    for (int k = 0; k < 2; k++) {
        g->colour_variance[k][0] = TREND_SE_CAP * TREND_SE_CAP; /* no better than brightness is */
        g->colour_variance[k][1] = 0;
        g->colour_variance[k][2] = COLOUR_SLOPE * COLOUR_SLOPE;
    }
    for (int i = 0; i < g->along; i++) {
        g->trend[i] = plane[0] + plane[1] * (v_of(g, i) - 0.5);
        g->se[i] = TREND_SE_CAP;
    }
    first_colour(g, start, room);
    free(room);
    return true;
}

static void judge_blocks(struct grid *g, double patience)
{
    for (int i = 0; i < g->along; i++) {
        double v = v_of(g, i) - 0.5;
        double sigma = hypot(g->noise_y, fmin(g->se[i], TREND_SE_CAP));
        for (int j = 0; j < BLOCKS_ACROSS; j++) {
            struct block *b = at(g, i, j);
            double r = b->y - g->trend[i] - across_part(g->across, u_of(j), v_of(g, i));
            b->clean = b->seen && r > -DARK_SIGMAS * sigma && r < BRIGHT_SIGMAS * sigma;
            for (int k = 0; k < 2 && b->clean; k++) {
                double e = b->d[k] - g->colour[k][0] - g->colour[k][1] * v;
                b->clean = fabs(e) < patience * COLOUR_SIGMAS * g->noise_d[k];
            }
        }
    }
}

/* Bands end in skirts, and what lies between two of them is seldom quite clean: grey dye there
 * looks like shadow. Rows beside such that are not clean say less of the light. */
static void doubt_skirts(struct grid *g)
{
    int last = -SKIRT_ROWS - 1;
    for (int pass = 0; pass < 2; pass++) {
        for (int k = 0; k < g->along; k++) {
            int i = pass == 0 ? k : g->along - 1 - k, away = abs(i - last);
            if (!isfinite(g->mean[i]))
                last = i;
            else if (away <= SKIRT_ROWS)
                g->variance[i] = fmax(g->variance[i], SKIRT_SE * SKIRT_SE);
        }
        last = g->along + SKIRT_ROWS;
    }
}

/* Rows' means of the clean blocks, as observations of the trend. */
static int observe(struct grid *g)
{
    int rows = 0;
    for (int i = 0; i < g->along; i++) {
        double sum = 0;
        int n = 0;
        for (int j = 0; j < BLOCKS_ACROSS; j++) {
            const struct block *b = at(g, i, j);
            if (!b->clean)
                continue;
            sum += b->y - across_part(g->across, u_of(j), v_of(g, i));
            n++;
        }
        bool enough = n >= CLEAN_ACROSS_MIN;
        g->mean[i] = enough ? sum / n : NAN;
        g->variance[i] = enough ? g->noise_y * g->noise_y * 2 / n : NAN;
        rows += enough;
    }
    doubt_skirts(g);
    return rows;
}

static void learn_across(struct grid *g)
{
    double a[16] = {0}, b[4] = {0};
    /* the weak prior holds level what few blocks say */
    for (int k = 0; k < 4; k++)
        a[5 * k] = ACROSS_PRIOR;
    for (int i = 0; i < g->along; i++) {
        if (!isfinite(g->mean[i]))
            continue;
        for (int j = 0; j < BLOCKS_ACROSS; j++) {
            const struct block *block = at(g, i, j);
            double term[4], r = block->y - g->trend[i];
            if (!block->clean)
                continue;
            across_terms(u_of(j), v_of(g, i), term);
            for (int p = 0; p < 4; p++) {
                for (int q = 0; q < 4; q++)
                    a[4 * p + q] += term[p] * term[q];
                b[p] += term[p] * r;
            }
        }
    }
    if (solve(a, b, 4))
        memcpy(g->across, b, sizeof b);
}

/* Mean colour difference k of the clean blocks in each of COLOUR_PARTS parts of the strip. */
static int colour_parts(const struct grid *g, int k, struct colour_part ret[COLOUR_PARTS])
{
    double n[COLOUR_PARTS] = {0}, v[COLOUR_PARTS] = {0}, d[COLOUR_PARTS] = {0};
    int count = 0;
    for (int i = 0; i < g->along; i++)
        for (int j = 0; j < BLOCKS_ACROSS && isfinite(g->mean[i]); j++) {
            const struct block *b = at(g, i, j);
            int part = i * COLOUR_PARTS / g->along;
            if (!b->clean)
                continue;
            n[part]++, v[part] += v_of(g, i) - 0.5, d[part] += b->d[k];
        }
    for (int part = 0; part < COLOUR_PARTS; part++)
        if (n[part] > 0)
            ret[count++] =
                (struct colour_part){v[part] / n[part], d[part] / n[part],
                                     PART_SE * PART_SE + g->noise_d[k] * g->noise_d[k] / n[part]};
    return count;
}

/* The colour of the light changes little along a strip: a line, held level by what is usual. Water
 * carries traces of dye below the line, which shade paper that else looks clean: parts that leave
 * the line count for less, as errors of Student's distribution have it (K. L. Lange, R. J. A.
 * Little, J. M. G. Taylor, J. Am. Statist. Assoc. 84 (1989) 881-896). */
static void learn_colour(struct grid *g)
{
    for (int k = 0; k < 2; k++) {
        struct colour_part part[COLOUR_PARTS];
        int parts = colour_parts(g, k, part);
        for (int round = 0; round < COLOUR_ROUNDS && parts > 0; round++) {
            double w = 0, wv = 0, wvv = 1 / (COLOUR_SLOPE * COLOUR_SLOPE), wd = 0, wvd = 0;
            for (int p = 0; p < parts; p++) {
                double v = part[p].v, off = part[p].d - g->colour[k][0] - g->colour[k][1] * v;
                double weight = (PART_FREEDOM + 1) / (PART_FREEDOM * part[p].variance + off * off);
                w += weight, wv += weight * v, wvv += weight * v * v;
                wd += weight * part[p].d, wvd += weight * v * part[p].d;
            }
            double det = w * wvv - wv * wv;
            g->colour[k][0] = (wd * wvv - wvd * wv) / det;
            g->colour[k][1] = (w * wvd - wv * wd) / det;
            g->colour_variance[k][0] = wvv / det;
            g->colour_variance[k][1] = -wv / det;
            g->colour_variance[k][2] = w / det;
        }
    }
}

static void refine(struct grid *g)
{
    for (int round = 0; round < ROUNDS; round++) {
        double patience = round < 2 ? 2 : 1;
        judge_blocks(g, patience);
        if (observe(g) < 2)
            return;
        double step = 1.0 / g->along;
        if (sl_light_trend(g->mean, g->variance, g->along, step, ROUGHNESS_MIN, ROUGHNESS_MAX,
                           g->trend, g->se) < 0)
            return;
        learn_across(g);
        learn_colour(g);
    }
}

/* Part of the blocks between two positions that is clean. */
static double clean_part(const struct grid *g, double from, double to)
{
    int clean = 0, seen = 0;
    for (int i = 0; i < g->along; i++) {
        if (v_of(g, i) < from || v_of(g, i) > to)
            continue;
        for (int j = 0; j < BLOCKS_ACROSS; j++) {
            clean += at(g, i, j)->clean;
            seen += at(g, i, j)->seen;
        }
    }
    return seen > 0 ? (double)clean / seen : 0;
}

/* Both ends of a strip are mostly clean: below the line, above the front. A white that says
 * otherwise may have taken a pale dye for paper; then the ends' own colours are tried too. */
static bool refine_best(struct grid *g)
{
    static const struct start starts[] = {{0, 1}, {0.9, 0.97}, {0.03, 0.1}};
    enum { STARTS = sizeof starts / sizeof *starts };
    int best = 0, last = 0;
    double most = -1;
    for (int k = 0; k < STARTS; k++) {
        if (!first_guess(g, starts[k]))
            return false;
        refine(g);
        last = k;
        double low = clean_part(g, starts[2].from, starts[2].to),
               high = clean_part(g, starts[1].from, starts[1].to);
        double score = low + high + clean_part(g, 0, 1);
        if (score > most + (k == 0 ? 0 : ANOTHER_START)) {
            most = score;
            best = k;
        }
        if (k == 0 && fmin(low, high) > ENDS_CLEAN)
            break;
    }
    if (best == last)
        return true;
    if (!first_guess(g, starts[best]))
        return false;
    refine(g);
    return true;
}

/* The brightness that the row's least absorbed channel implies, and how much less the most absorbed
 * one does. */
static double touching(const struct grid *g, int i, double *ret_spread)
{
    double best = -INFINITY, least = INFINITY, v = v_of(g, i) - 0.5;
    double c0 = g->colour[0][0] + g->colour[0][1] * v, c1 = g->colour[1][0] + g->colour[1][1] * v;
    double white[3] = {c0 - (c0 + c1) / 3, -(c0 + c1) / 3, c1 - (c0 + c1) / 3};
    double sum[3] = {0, 0, 0};
    int n = 0;
    for (int j = 0; j < BLOCKS_ACROSS; j++) {
        const struct block *b = at(g, i, j);
        if (!b->seen)
            continue;
        double green = b->y - (b->d[0] + b->d[1]) / 3 - across_part(g->across, u_of(j), v + 0.5);
        double l[3] = {green + b->d[0], green, green + b->d[1]};
        for (int c = 0; c < 3; c++)
            sum[c] += l[c] - white[c];
        n++;
    }
    for (int c = 0; c < 3 && n > 0; c++) {
        best = fmax(best, sum[c] / n);
        least = fmin(least, sum[c] / n);
    }
    *ret_spread = best - least;
    return best;
}

/* The ends hold no band, but traces of dye that water has left: white is what the least absorbed
 * channel says, give or take half of what the others lack. */
static double end_variance(const struct grid *g, int i, double spread)
{
    double v = v_of(g, i), away = fmin(v, 1 - v);
    if (away < END_FROM || away > END_TO || !isfinite(spread))
        return NAN;
    double se = TOUCH_SE + 0.5 * spread;
    return se * se * (END_TO - END_FROM) * g->along; /* one error that its rows share */
}

static void touch(struct grid *g)
{
    bool touched = false;
    for (int i = 0; i < g->along; i++) {
        double spread, v = v_of(g, i);
        if (isfinite(g->mean[i]) || fmin(v, 1 - v) < END_FROM)
            continue;
        double y = touching(g, i, &spread), end = end_variance(g, i, spread);
        bool higher = y > g->trend[i] + 0.25 * g->se[i];
        if (!higher && !isfinite(end))
            continue;
        g->mean[i] = y;
        g->variance[i] = higher ? TOUCH_SE * TOUCH_SE : end;
        touched = true;
    }
    if (touched)
        sl_light_trend(g->mean, g->variance, g->along, 1.0 / g->along, ROUGHNESS_MIN, ROUGHNESS_MAX,
                       g->trend, g->se);
}

static double interpolate(const double *values, int count, double v)
{
    double where = fmin(fmax(v * count - 0.5, 0), count - 1);
    int i = where >= count - 1 ? count - 2 : (int)where;
    double part = where - i;
    return values[i] + part * (values[i + 1] - values[i]);
}

static bool row_is_clean(const struct grid *g, double v)
{
    int i = (int)(v * g->along), n = 0;
    i = i >= g->along ? g->along - 1 : i;
    for (int j = 0; j < BLOCKS_ACROSS; j++)
        n += at(g, i, j)->clean;
    return 4 * n >= 3 * BLOCKS_ACROSS;
}

static double colour_variance(const struct grid *g, int k, double v)
{
    const double *variance = g->colour_variance[k];
    return variance[0] + (v - 0.5) * (2 * variance[1] + (v - 0.5) * variance[2]);
}

static void write_light(const struct grid *g, struct sl_light *light)
{
    int clean = 0, seen = 0, clipped = 0;
    for (int k = 0; k < g->along * BLOCKS_ACROSS; k++) {
        clean += g->block[k].clean;
        seen += g->block[k].seen;
        clipped += g->block[k].clean && g->block[k].clipped;
    }
    double clipped_part = clean > 0 ? (double)clipped / clean : 0;
    light->clean_part = seen > 0 ? (double)clean / seen : 0;
    memcpy(light->across, g->across, sizeof light->across);
    double colour[2] = {0, 0};
    for (int row = 0; row < light->rows; row++) {
        double v = (row + 0.5) / light->rows;
        double y = interpolate(g->trend, g->along, v),
               se = fmin(interpolate(g->se, g->along, v), TREND_SE_MOST);
        double c0 = g->colour[0][0] + g->colour[0][1] * (v - 0.5);
        double c1 = g->colour[1][0] + g->colour[1][1] * (v - 0.5);
        double green = y - (c0 + c1) / 3, white[3] = {green + c0, green, green + c1};
        double off[2] = {colour_variance(g, 0, v), colour_variance(g, 1, v)};
        /* white is brightness and (2 c0 - c1, - c0 - c1, 2 c1 - c0) / 3 */
        double own[3] = {4 * off[0] + off[1], off[0] + off[1], off[0] + 4 * off[1]};
        for (int c = 0; c < 3; c++) {
            light->log_white[row][c] = white[c];
            light->se[row][c] = sqrt(se * se + own[c] / 9 + WHITE_SE_MIN * WHITE_SE_MIN);
        }
        for (int k = 0; k < 2; k++)
            colour[k] += off[k] / light->rows;
        light->clean[row] = row_is_clean(g, v);
    }
    for (int k = 0; k < 2; k++)
        light->colour_se[k] = hypot(sqrt(colour[k]), CLIPPED_COLOUR_SE * clipped_part);
    light->level_se = CLIPPED_SE * clipped_part;
}

bool sl_light_learn(struct sl_light *light, const struct sl_sheet *sheet)
{
    struct grid g = {.along = sheet->rows / ROWS_PER_BLOCK_MIN};
    if (g.along > BLOCKS_ALONG_MAX)
        g.along = BLOCKS_ALONG_MAX;
    if (g.along < 2)
        g.along = 2;
    size_t along = (size_t)g.along, rows = (size_t)sheet->rows;
    *light = (struct sl_light){.rows = sheet->rows};
    light->log_white = calloc(rows, sizeof *light->log_white);
    light->se = calloc(rows, sizeof *light->se);
    light->clean = calloc(rows, sizeof *light->clean);
    g.block = calloc(along * BLOCKS_ACROSS, sizeof *g.block);
    double *work = calloc(along, 4 * sizeof *work);
    bool ok = light->log_white != NULL && light->se != NULL && light->clean != NULL &&
              g.block != NULL && work != NULL;
    if (!ok)
        goto done;
    g.mean = work, g.variance = work + along, g.trend = work + 2 * along, g.se = work + 3 * along;
    fill_blocks(&g, sheet);
    ok = measure_noise(&g) && refine_best(&g);
    if (!ok)
        goto done;
    touch(&g);
    write_light(&g, light);
done:
    free(g.block);
    free(work);
    return ok;
}

void sl_light_divide(const struct sl_light *light, struct sl_sheet *sheet)
{
    for (int row = 0; row < sheet->rows; row++) {
        double v = (row + 0.5) / sheet->rows;
        for (int column = 0; column < sheet->columns; column++) {
            double across = across_part(light->across, (column + 0.5) / sheet->columns, v);
            size_t cell = (size_t)row * (size_t)sheet->columns + (size_t)column;
            for (int c = 0; c < 3; c++) {
                double white = exp(light->log_white[row][c] + across);
                sheet->rgb[3 * cell + (size_t)c] =
                    (float)((double)sheet->rgb[3 * cell + (size_t)c] / white);
            }
        }
        for (int c = 0; c < 3; c++)
            sheet->paper[3 * (size_t)row + (size_t)c] = (float)light->se[row][c];
    }
}

void sl_light_finish(struct sl_light *light)
{
    free(light->log_white);
    free(light->se);
    free(light->clean);
    *light = (struct sl_light){0};
}
