// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Each part of the strip has a mean colour of its clean blocks.
 * 2. Three coefficients go through these by least squares, held by what is usual.
 * 3. Water carries traces of dye below the line, which shade paper that else looks clean: parts
 *    that leave the curve count for less, as errors of Student's distribution have it (K. L. Lange,
 *    R. J. A. Little, J. M. G. Taylor, J. Am. Statist. Assoc. 84 (1989) 881-896). */
#include "strip/light_colour.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

enum {
    PARTS = 12, /* of the strip, each with a mean colour of its own */
    ROUNDS = 4,
    TERMS = 3,
    PART_FREEDOM = 3, /* degrees of freedom of Student's distribution */
};
#define SLOPE 0.01    /* log R/G or B/G over the strip's length, that two lights may make */
#define PART_SE 0.004 /* of the same in a part of the strip: paper, JPEG's steps of colour */
#define HELD 1e12     /* 1 / variance of a coefficient that stays 0 */

struct colour_part {
    double x[TERMS], d, variance; /* x: 1, v - 0.5, trend - level; d and its variance, log light */
};

static void colour_terms(const struct sl_light_grid *g, double v, double trend, double ret[TERMS])
{
    ret[0] = 1;
    ret[1] = v - 0.5;
    ret[2] = trend - g->level;
}

void sl_light_colour_start(struct sl_light_grid *g, double se)
{
    const double usual[TERMS] = {se, SLOPE, g->tint_usual};
    for (int k = 0; k < 2; k++) {
        memset(g->colour_variance[k], 0, sizeof g->colour_variance[k]);
        g->colour[k][1] = g->colour[k][2] = 0;
        for (int p = 0; p < TERMS; p++)
            g->colour_variance[k][(TERMS + 1) * p] = usual[p] * usual[p];
    }
}

void sl_light_colour_allow_tint(struct sl_light_grid *g, double usual)
{
    g->tint_usual = usual;
    for (int k = 0; k < 2; k++)
        g->colour_variance[k][TERMS * TERMS - 1] = usual * usual;
}

/* Mean colour difference k of the clean blocks in each part of the strip. */
static int colour_parts(const struct sl_light_grid *g, int k, struct colour_part ret[PARTS])
{
    struct colour_part sum[PARTS] = {0};
    int count = 0;
    for (int i = 0; i < g->along; i++)
        for (int j = 0; j < SL_LIGHT_ACROSS && isfinite(g->mean[i]); j++) {
            const struct sl_light_block *b = sl_light_at(g, i, j);
            struct colour_part *s = &sum[i * PARTS / g->along];
            double x[TERMS];
            if (!b->clean)
                continue;
            colour_terms(g, sl_light_v(g, i), g->trend[i], x);
            for (int p = 0; p < TERMS; p++)
                s->x[p] += x[p];
            s->d += b->d[k];
        }
    for (int part = 0; part < PARTS; part++) {
        double n = sum[part].x[0];
        if (!(n > 0))
            continue;
        ret[count] = (struct colour_part){
            .d = sum[part].d / n,
            .variance = PART_SE * PART_SE + g->noise_d[k] * g->noise_d[k] / n,
        };
        for (int p = 0; p < TERMS; p++)
            ret[count].x[p] = sum[part].x[p] / n;
        count++;
    }
    return count;
}

static void add_part(const struct colour_part *part, const double colour[TERMS],
                     double a[TERMS * TERMS], double b[TERMS])
{
    double off = part->d;
    for (int p = 0; p < TERMS; p++)
        off -= colour[p] * part->x[p];
    double weight = (PART_FREEDOM + 1) / (PART_FREEDOM * part->variance + off * off);
    for (int p = 0; p < TERMS; p++) {
        for (int q = 0; q < TERMS; q++)
            a[TERMS * p + q] += weight * part->x[p] * part->x[q];
        b[p] += weight * part->x[p] * part->d;
    }
}

static bool fit_once(struct sl_light_grid *g, int k, const struct colour_part *part, int parts)
{
    double tint = g->tint_usual > 0 ? 1 / (g->tint_usual * g->tint_usual) : HELD;
    double a[TERMS * TERMS] = {0, 0, 0, 0, 1 / (SLOPE * SLOPE), 0, 0, 0, tint}, b[TERMS] = {0};
    for (int p = 0; p < parts; p++)
        add_part(&part[p], g->colour[k], a, b);
    gsl_matrix_view matrix = gsl_matrix_view_array(a, TERMS, TERMS);
    gsl_vector_view vector = gsl_vector_view_array(b, TERMS);
    if (gsl_linalg_cholesky_decomp1(&matrix.matrix) != GSL_SUCCESS ||
        gsl_linalg_cholesky_svx(&matrix.matrix, &vector.vector) != GSL_SUCCESS ||
        gsl_linalg_cholesky_invert(&matrix.matrix) != GSL_SUCCESS)
        return false;
    memcpy(g->colour[k], b, sizeof b);
    memcpy(g->colour_variance[k], a, sizeof a);
    return true;
}

/* The clean rows' mean brightness. */
static void find_level(struct sl_light_grid *g)
{
    double sum = 0;
    int n = 0;
    for (int i = 0; i < g->along; i++) {
        if (!isfinite(g->mean[i]))
            continue;
        sum += g->trend[i];
        n++;
    }
    if (n > 0)
        g->level = sum / n;
}

void sl_light_colour_learn(struct sl_light_grid *g)
{
    find_level(g);
    for (int k = 0; k < 2; k++) {
        struct colour_part part[PARTS];
        int parts = colour_parts(g, k, part);
        for (int round = 0; round < ROUNDS && parts > 0; round++)
            if (!fit_once(g, k, part, parts))
                break;
    }
}

double sl_light_colour_at(const struct sl_light_grid *g, int k, double v, double trend)
{
    double x[TERMS], sum = 0;
    colour_terms(g, v, trend, x);
    for (int p = 0; p < TERMS; p++)
        sum += g->colour[k][p] * x[p];
    return sum;
}

double sl_light_colour_variance(const struct sl_light_grid *g, int k, double v, double trend)
{
    double x[TERMS], sum = 0;
    colour_terms(g, v, trend, x);
    for (int p = 0; p < TERMS; p++)
        for (int q = 0; q < TERMS; q++)
            sum += x[p] * x[q] * g->colour_variance[k][TERMS * p + q];
    return sum;
}
