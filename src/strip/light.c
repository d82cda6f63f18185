// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. The sheet is divided into blocks; a block has a brightness (mean of the three channels' log
 *    light) and two colour differences (light_grid.c). Dye lowers the brightness, most of it
 *    changes the colour too; light changes brightness smoothly and colour hardly.
 * 2. A first plane of brightness lies on the upper side of the blocks (asymmetric least squares:
 *    W. Newey, J. Powell, Econometrica 55 (1987) 819-847); the paper's colour is the median of
 *    the blocks near it.
 * 3. Clean blocks are those near the white in brightness and colour. White is learnt anew from the
 *    clean blocks (a smooth trend along the strip, light_trend.c; a slope across; colour,
 *    light_colour.c), and so on until it settles. As the trend's error is counted in, clean areas
 *    grow along a shadow; what lies beside dye counts for less.
 * 4. Where dye covers the whole width, white can't be darker than the channel that the dye leaves
 *    alone: such rows pull the trend up. Ends of the strip that are not clean pull it both ways.
 * 5. An end that lies in a deep shadow is no clean paper by the first white. With the trend drawn
 *    to it the blocks are judged once more, now with room for a shadow's own colour. That white
 *    is taken if it leaves much more of the strip and of its ends clean.
 * 6. The trend's standard error, small on clean paper and larger under the dye, is the light's. */
#include "strip/light.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#include "strip/light_colour.h"
#include "strip/light_grid.h"
#include "strip/light_trend.h"

enum {
    ROUNDS = 8,
    SHADOW_ROUNDS = 16, /* clean paper grows into the shadow row by row */
    PLANE_ROUNDS = 25,
    CLEAN_ACROSS_MIN = 3, /* blocks of a row that must be clean to be believed */
    ROWS_ALIKE = 8,   /* rows that share their error: cockles and texture; measured on blank drawn
                         strips as 4 (median), 8 (upper quartile) */
    SKIRT_ROWS = 3,   /* beside a row that is not clean; of 160 along, 2 % of the strip */
    SKIRT_REACH = 12, /* and where its doubt has faded away: wide bands have wide skirts */
};
#define DARK_WEIGHT 0.03 /* of a block below the first plane, against one above it */
#define DARK_SIGMAS 2.5  /* dye only darkens, so the lower limit is the tighter one */
#define BRIGHT_SIGMAS 4.0
#define COLOUR_SIGMAS 3.5
#define TREND_SE_CAP 0.04  /* log light; more would let weak dye pass for shadow */
#define ACROSS_PRIOR 0.05  /* in units of the terms' squares: blocks in some rows outweigh it */
#define ENDS_CLEAN 0.6     /* part of each end's blocks that a good white leaves clean */
#define ANOTHER_START 0.15 /* by which another start must be better */
/* log R/G or B/G over log light: in shadows on drawn photos, whose cameras have a tone curve */
#define SHADOW_TINT 0.025
#define TINT_SIGMAS 2.0
/* By which a white with a deep shadow must be better, of 3: that is an end and a bit of the rest.
 * With less, grey dye passes for shadow now and then. */
#define SHADOW_BETTER 0.3
#define SHADOW_TRUST 2.0  /* a shadow's edge bends the trend more than the rest of it tells */
#define SHADOW_SE_CAP 0.1 /* for TREND_SE_CAP */
#define TOUCH_SE 0.015    /* log light; dyes leave no channel quite alone */
/* Where it is all clipped, white is brighter than it looks by an amount that nothing in the photo
 * tells, and one channel more than another: what photos that were drawn too bright are off by. */
#define CLIPPED_SE 0.08
#define CLIPPED_COLOUR_SE 0.05
#define END_FROM 0.01      /* parts of the length from each end: beyond the cut edge's blur, */
#define END_TO 0.06        /* and below any line that is ruled */
#define TREND_SE_MOST 0.15 /* log light; of two places on one strip, in the light of a room */
#define WHITE_SE_MIN 0.002
/* Log light; the faint skirts of bands pass for clean paper. This and the reach are those with
 * which white under the dye of drawn photos is least off. */
#define SKIRT_SE 0.03

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

/* Solves a x = b for a symmetric positive definite matrix of n x n; both are overwritten. */
static bool solve(double *a, double *b, size_t n)
{
    gsl_matrix_view matrix = gsl_matrix_view_array(a, n, n);
    gsl_vector_view vector = gsl_vector_view_array(b, n);
    return gsl_linalg_cholesky_decomp1(&matrix.matrix) == GSL_SUCCESS &&
           gsl_linalg_cholesky_svx(&matrix.matrix, &vector.vector) == GSL_SUCCESS;
}

static void first_plane(const struct sl_light_grid *g, double plane[3])
{
    plane[0] = plane[1] = plane[2] = 0;
    for (int round = 0; round < PLANE_ROUNDS; round++) {
        double a[9] = {1e-9, 0, 0, 0, 1e-9, 0, 0, 0, 1e-9}, b[3] = {0, 0, 0};
        for (int i = 0; i < g->along; i++)
            for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
                const struct sl_light_block *block = sl_light_at(g, i, j);
                if (!block->seen)
                    continue;
                double x[3] = {1, sl_light_v(g, i) - 0.5, sl_light_u(j) - 0.5};
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
static void first_colour(struct sl_light_grid *g, struct start start, double *room)
{
    size_t n = 0;
    double limit = -INFINITY;
    for (int pass = 0; pass < 3; pass++) {
        n = 0;
        for (int i = 0; i < g->along; i++)
            for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
                const struct sl_light_block *b = sl_light_at(g, i, j);
                double r =
                    b->y - g->trend[i] - across_part(g->across, sl_light_u(j), sl_light_v(g, i));
                if (!b->seen || sl_light_v(g, i) < start.from || sl_light_v(g, i) > start.to ||
                    r < limit)
                    continue;
                room[n++] = pass == 0 ? r : b->d[pass - 1];
            }
        if (pass == 0)
            limit = n > 0 ? sl_light_quantile(room, n, 0.6) : 0;
        else
            g->colour[pass - 1][0] = n > 0 ? sl_light_quantile(room, n, 0.5) : 0;
    }
}

/* The first plane stands in for the trend. */
static bool first_guess(struct sl_light_grid *g, struct start start)
{
    double plane[3];
    first_plane(g, plane);
    double *room = calloc((size_t)g->along * SL_LIGHT_ACROSS, sizeof *room);
    if (room == NULL)
        return false;
    memset(g->across, 0, sizeof g->across);
    g->across[0] = plane[2];
    sl_light_colour_start(g, TREND_SE_CAP); /* no better than brightness is */
    for (int i = 0; i < g->along; i++) {
        g->trend[i] = plane[0] + plane[1] * (sl_light_v(g, i) - 0.5);
        g->se[i] = TREND_SE_CAP;
    }
    first_colour(g, start, room);
    free(room);
    return true;
}

static bool has_whites_colour(const struct sl_light_grid *g, int i, const struct sl_light_block *b,
                              double patience)
{
    double v = sl_light_v(g, i), away = fabs(g->trend[i] - g->level);
    for (int k = 0; k < 2; k++) {
        double tint = TINT_SIGMAS * sqrt(g->colour_variance[k][8]) * away;
        double off = fabs(b->d[k] - sl_light_colour_at(g, k, v, g->trend[i]));
        if (!(off < patience * COLOUR_SIGMAS * g->noise_d[k] + tint))
            return false;
    }
    return true;
}

static void judge_blocks(struct sl_light_grid *g, double patience)
{
    bool shadow = g->tint_usual > 0;
    double cap = shadow ? SHADOW_SE_CAP : TREND_SE_CAP, trust = shadow ? SHADOW_TRUST : 1;
    for (int i = 0; i < g->along; i++) {
        double sigma = hypot(g->noise_y, fmin(trust * g->se[i], cap));
        for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
            struct sl_light_block *b = sl_light_at(g, i, j);
            double r = b->y - g->trend[i] - across_part(g->across, sl_light_u(j), sl_light_v(g, i));
            b->clean = b->seen && r > -DARK_SIGMAS * sigma && r < BRIGHT_SIGMAS * sigma &&
                       has_whites_colour(g, i, b, patience);
        }
    }
}

/* Bands end in skirts, and what lies between two of them is seldom quite clean: grey dye there
 * looks like shadow. Rows beside such that are not clean say less of the light. */
static void doubt_skirts(struct sl_light_grid *g)
{
    int last = -SKIRT_REACH;
    for (int pass = 0; pass < 2; pass++) {
        for (int k = 0; k < g->along; k++) {
            int i = pass == 0 ? k : g->along - 1 - k, away = abs(i - last);
            if (!isfinite(g->mean[i]))
                last = i;
            else if (away < SKIRT_REACH) {
                double part = (double)(SKIRT_REACH - away) / (SKIRT_REACH - SKIRT_ROWS);
                double se = SKIRT_SE * fmin(part, 1);
                g->variance[i] = fmax(g->variance[i], se * se);
            }
        }
        last = g->along + SKIRT_REACH;
    }
}

/* Rows' means of the clean blocks, as observations of the trend. */
static int observe(struct sl_light_grid *g)
{
    int rows = 0;
    for (int i = 0; i < g->along; i++) {
        double sum = 0;
        int n = 0;
        for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
            const struct sl_light_block *b = sl_light_at(g, i, j);
            if (!b->clean)
                continue;
            sum += b->y - across_part(g->across, sl_light_u(j), sl_light_v(g, i));
            n++;
        }
        bool enough = n >= CLEAN_ACROSS_MIN;
        g->mean[i] = enough ? sum / n : NAN;
        g->variance[i] = enough ? g->noise_y * g->noise_y * ROWS_ALIKE / n : NAN;
        rows += enough;
    }
    doubt_skirts(g);
    return rows;
}

static void learn_across(struct sl_light_grid *g)
{
    double a[16] = {0}, b[4] = {0};
    /* the weak prior holds level what few blocks say */
    for (int k = 0; k < 4; k++)
        a[5 * k] = ACROSS_PRIOR;
    for (int i = 0; i < g->along; i++) {
        if (!isfinite(g->mean[i]))
            continue;
        for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
            const struct sl_light_block *block = sl_light_at(g, i, j);
            double term[4], r = block->y - g->trend[i];
            if (!block->clean)
                continue;
            across_terms(sl_light_u(j), sl_light_v(g, i), term);
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

/* False without memory, and where too little is seen: the trend stays as it was. */
static bool follow_trend(struct sl_light_grid *g)
{
    return sl_light_trend(g->mean, g->variance, g->along, 1.0 / g->along, g->trend, g->se);
}

/* False without memory. */
static bool refine(struct sl_light_grid *g, int rounds)
{
    for (int round = 0; round < rounds; round++) {
        double patience = round < 2 ? 2 : 1;
        judge_blocks(g, patience);
        if (observe(g) < 2)
            return true;
        if (!follow_trend(g))
            return false;
        learn_across(g);
        sl_light_colour_learn(g);
    }
    return true;
}

/* Part of the blocks between two positions that is clean. */
static double clean_part(const struct sl_light_grid *g, double from, double to)
{
    int clean = 0, seen = 0;
    for (int i = 0; i < g->along; i++) {
        if (sl_light_v(g, i) < from || sl_light_v(g, i) > to)
            continue;
        for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
            clean += sl_light_at(g, i, j)->clean;
            seen += sl_light_at(g, i, j)->seen;
        }
    }
    return seen > 0 ? (double)clean / seen : 0;
}

/* The whole strip and both its ends, which are mostly clean: below the line, above the front. */
static const struct start whole = {0, 1}, upper = {0.9, 0.97}, lower = {0.03, 0.1};

static double goodness(const struct sl_light_grid *g)
{
    return clean_part(g, lower.from, lower.to) + clean_part(g, upper.from, upper.to) +
           clean_part(g, 0, 1);
}

static bool refine_from(struct sl_light_grid *g, struct start start)
{
    return first_guess(g, start) && refine(g, ROUNDS);
}

/* A white that says that an end is not clean may have taken a pale dye for paper; then the ends'
 * own colours are tried too. */
static bool refine_best(struct sl_light_grid *g)
{
    const struct start starts[] = {whole, upper, lower};
    enum { STARTS = sizeof starts / sizeof *starts };
    int best = 0, last = 0;
    double most = -1;
    for (int k = 0; k < STARTS; k++) {
        if (!refine_from(g, starts[k]))
            return false;
        last = k;
        double good = goodness(g);
        if (good > most + (k == 0 ? 0 : ANOTHER_START)) {
            most = good;
            best = k;
        }
        if (k == 0 && fmin(clean_part(g, lower.from, lower.to),
                           clean_part(g, upper.from, upper.to)) > ENDS_CLEAN)
            break;
    }
    return best == last || refine_from(g, starts[best]);
}

/* The brightness that the row's least absorbed channel implies, and how much less the most absorbed
 * one does. */
static double touching(const struct sl_light_grid *g, int i, double *ret_spread)
{
    double best = -INFINITY, least = INFINITY, v = sl_light_v(g, i) - 0.5;
    double c0 = sl_light_colour_at(g, 0, v + 0.5, g->trend[i]),
           c1 = sl_light_colour_at(g, 1, v + 0.5, g->trend[i]);
    double white[3] = {c0 - (c0 + c1) / 3, -(c0 + c1) / 3, c1 - (c0 + c1) / 3};
    double sum[3] = {0, 0, 0};
    int n = 0;
    for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
        const struct sl_light_block *b = sl_light_at(g, i, j);
        if (!b->seen)
            continue;
        double green =
            b->y - (b->d[0] + b->d[1]) / 3 - across_part(g->across, sl_light_u(j), v + 0.5);
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
static double end_variance(const struct sl_light_grid *g, int i, double spread)
{
    double v = sl_light_v(g, i), away = fmin(v, 1 - v);
    if (away < END_FROM || away > END_TO || !isfinite(spread))
        return NAN;
    double se = TOUCH_SE + 0.5 * spread;
    return se * se * (END_TO - END_FROM) * g->along; /* one error that its rows share */
}

static void touch(struct sl_light_grid *g)
{
    bool touched = false;
    for (int i = 0; i < g->along; i++) {
        double spread, v = sl_light_v(g, i);
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
        follow_trend(g);
}

/* From a trend that is drawn to an end in shadow. False without memory. */
static bool refine_shadow(struct sl_light_grid *g)
{
    struct sl_light_grid other;
    bool ok = sl_light_grid_copy(g, &other);
    if (ok) {
        touch(&other);
        sl_light_colour_allow_tint(&other, SHADOW_TINT);
        ok = refine(&other, SHADOW_ROUNDS);
    }
    if (ok && goodness(&other) > goodness(g) + SHADOW_BETTER) {
        struct sl_light_grid worse = *g;
        *g = other;
        other = worse;
    }
    sl_light_grid_finish(&other);
    return ok;
}

static double interpolate(const double *values, int count, double v)
{
    double where = fmin(fmax(v * count - 0.5, 0), count - 1);
    int i = where >= count - 1 ? count - 2 : (int)where;
    double part = where - i;
    return values[i] + part * (values[i + 1] - values[i]);
}

static bool row_is_clean(const struct sl_light_grid *g, double v)
{
    int i = (int)(v * g->along), n = 0;
    i = i >= g->along ? g->along - 1 : i;
    for (int j = 0; j < SL_LIGHT_ACROSS; j++)
        n += sl_light_at(g, i, j)->clean;
    return 4 * n >= 3 * SL_LIGHT_ACROSS;
}

static void write_light(const struct sl_light_grid *g, struct sl_light *light)
{
    int clean = 0, seen = 0, clipped = 0;
    for (int k = 0; k < g->along * SL_LIGHT_ACROSS; k++) {
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
        double c0 = sl_light_colour_at(g, 0, v, y), c1 = sl_light_colour_at(g, 1, v, y);
        double green = y - (c0 + c1) / 3, white[3] = {green + c0, green, green + c1};
        double off[2] = {sl_light_colour_variance(g, 0, v, y),
                         sl_light_colour_variance(g, 1, v, y)};
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
    struct sl_light_grid g;
    size_t rows = (size_t)sheet->rows;
    *light = (struct sl_light){.rows = sheet->rows};
    light->log_white = calloc(rows, sizeof *light->log_white);
    light->se = calloc(rows, sizeof *light->se);
    light->clean = calloc(rows, sizeof *light->clean);
    bool ok = sl_light_grid_init(&g, sheet) && light->log_white != NULL && light->se != NULL &&
              light->clean != NULL && refine_best(&g) && refine_shadow(&g);
    if (ok) {
        touch(&g);
        write_light(&g, light);
    }
    sl_light_grid_finish(&g);
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
