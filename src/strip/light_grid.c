// SPDX-License-Identifier: GPL-3.0-or-later
#include "strip/light_grid.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_sort.h>

enum { BLOCKS_ALONG_MAX = 160, ROWS_PER_BLOCK_MIN = 3 };
#define NOISE_MIN 0.002         /* log light; half a level of 8-bit sRGB near white */
#define CLIPPED_PART_BLOCK 0.02 /* of a block's cells: noise has begun to be cut off */

double sl_light_quantile(double *values, size_t count, double part)
{
    if (count == 0)
        return NAN;
    gsl_sort(values, 1, count);
    return values[(size_t)(part * (double)(count - 1) + 0.5)];
}

static void block_mean(const struct sl_sheet *sheet, int row0, int row1, int column0, int column1,
                       struct sl_light_block *ret)
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
    *ret = (struct sl_light_block){0};
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

static void fill_blocks(struct sl_light_grid *g, const struct sl_sheet *sheet)
{
    for (int i = 0; i < g->along; i++)
        for (int j = 0; j < SL_LIGHT_ACROSS; j++) {
            double half = (1 - 2 * SL_LIGHT_EDGE_LEFT_OUT) / SL_LIGHT_ACROSS / 2;
            int column0 = (int)((sl_light_u(j) - half) * sheet->columns + 0.5);
            int column1 = (int)((sl_light_u(j) + half) * sheet->columns + 0.5);
            block_mean(sheet, i * sheet->rows / g->along, (i + 1) * sheet->rows / g->along, column0,
                       column1 > column0 ? column1 : column0 + 1, sl_light_at(g, i, j));
        }
}

/* Scatter of neighbours across; the calmer part of the blocks is asked, where there is no dye. */
static bool measure_noise(struct sl_light_grid *g)
{
    double *steps = calloc((size_t)g->along * SL_LIGHT_ACROSS, sizeof *steps);
    if (steps == NULL)
        return false;
    for (int k = -1; k < 2; k++) {
        size_t n = 0;
        for (int i = 0; i < g->along; i++)
            for (int j = 0; j + 1 < SL_LIGHT_ACROSS; j++) {
                const struct sl_light_block *a = sl_light_at(g, i, j),
                                            *b = sl_light_at(g, i, j + 1);
                if (!a->seen || !b->seen)
                    continue;
                steps[n++] = fabs(k < 0 ? a->y - b->y : a->d[k] - b->d[k]);
            }
        /* the 35 % quantile of |N(0, s sqrt 2)| is 0.454 s sqrt 2 */
        double sigma = n > 0 ? sl_light_quantile(steps, n, 0.35) / (0.454 * sqrt(2.0)) : 0;
        *(k < 0 ? &g->noise_y : &g->noise_d[k]) = fmax(sigma, NOISE_MIN);
    }
    free(steps);
    return true;
}

/* Takes the memory for `along` rows. */
static bool make_room(struct sl_light_grid *g)
{
    size_t along = (size_t)g->along;
    g->block = calloc(along * SL_LIGHT_ACROSS, sizeof *g->block);
    g->mean = calloc(along, 4 * sizeof *g->mean);
    if (g->block == NULL || g->mean == NULL)
        return false;
    g->variance = g->mean + along, g->trend = g->mean + 2 * along, g->se = g->mean + 3 * along;
    return true;
}

bool sl_light_grid_init(struct sl_light_grid *g, const struct sl_sheet *sheet)
{
    *g = (struct sl_light_grid){.along = sheet->rows / ROWS_PER_BLOCK_MIN};
    if (g->along > BLOCKS_ALONG_MAX)
        g->along = BLOCKS_ALONG_MAX;
    if (g->along < 2)
        g->along = 2;
    if (!make_room(g))
        return false;
    fill_blocks(g, sheet);
    return measure_noise(g);
}

bool sl_light_grid_copy(const struct sl_light_grid *from, struct sl_light_grid *ret)
{
    size_t along = (size_t)from->along;
    *ret = *from;
    if (!make_room(ret))
        return false;
    memcpy(ret->block, from->block, along * SL_LIGHT_ACROSS * sizeof *ret->block);
    memcpy(ret->mean, from->mean, 4 * along * sizeof *ret->mean);
    return true;
}

void sl_light_grid_finish(struct sl_light_grid *g)
{
    free(g->block);
    free(g->mean);
    *g = (struct sl_light_grid){0};
}
