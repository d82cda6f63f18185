// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "strandline/figure.h"

/* Encoded sRGB of linear light by a table: 4096 steps of its square root are finer than 8 bits. */
enum { STEPS = 4096 };
static void make_table(uint8_t table[STEPS])
{
    for (int i = 0; i < STEPS; i++) {
        double root = (double)i / (STEPS - 1);
        table[i] = (uint8_t)lrint(255 * fmin(fmax(sl_srgb_encode(root * root), 0), 1));
    }
}

static uint8_t look_up(const uint8_t table[STEPS], double linear)
{
    return table[lrint(sqrt(fmin(fmax(linear, 0), 1)) * (STEPS - 1))];
}

/* Adds `from` columns of a row to the sums of the picture's `to` columns that they fall into. */
static void add_row(const float *row, int from, int to, double *sum, int *seen)
{
    for (int x = 0; x < from; x++) {
        int column = (int)((long)x * to / from);
        for (int k = 0; k < 3; k++)
            sum[3 * column + k] += (double)row[3 * x + k];
        seen[column]++;
    }
}

sl_code sl_picture_of_image(const struct sl_image *image, int width, int height,
                            struct sl_picture *ret, struct sl_status *status)
{
    uint8_t table[STEPS];
    uint8_t *rgb = malloc((size_t)width * (size_t)height * 3);
    float *row = malloc((size_t)image->width * 3 * sizeof *row);
    double *sum = calloc((size_t)width, 3 * sizeof *sum);
    int *seen = calloc((size_t)width, sizeof *seen);
    bool room = rgb && row && sum && seen;
    make_table(table);
    for (int y = 0, from = 0; room && y < height; y++) {
        int to = (int)((long)(y + 1) * image->height / height);
        memset(sum, 0, (size_t)width * 3 * sizeof *sum);
        memset(seen, 0, (size_t)width * sizeof *seen);
        for (; from < to; from++) {
            sl_image_row_linear(image, from, row);
            add_row(row, image->width, width, sum, seen);
        }
        for (int i = 0; i < 3 * width; i++)
            rgb[(size_t)y * (size_t)width * 3 + (size_t)i] =
                look_up(table, seen[i / 3] ? sum[i] / seen[i / 3] : 0);
    }
    free(row);
    free(sum);
    free(seen);
    if (!room) {
        free(rgb);
        return sl_status_set(status, SL_E_MEMORY, "figure/picture", "Close other programs.",
                             "There is not enough memory for the picture.");
    }
    *ret = (struct sl_picture){width, height, rgb};
    return SL_OK;
}
