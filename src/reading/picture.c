// SPDX-License-Identifier: GPL-3.0-or-later
#include "reading_internal.h"

#include <math.h>
#include <stdlib.h>

enum { PICTURE_HEIGHT_MAX = 900, PICTURE_WIDTH_MAX = 400, STEPS = 4096 };

static int clamp_int(double x, int low, int high)
{
    return x < low ? low : x > high ? high : (int)x;
}

static uint8_t to_srgb8(double reflectance)
{
    double v = sl_srgb_encode(fmin(fmax(reflectance, 0), 1));
    return (uint8_t)lrint(255 * v);
}

/* The curve rises: between two steps with one level there is no other. The rest is reckoned. */
struct levels {
    uint8_t at[STEPS + 1];
};

static void levels_init(struct levels *levels)
{
    for (int i = 0; i <= STEPS; i++)
        levels->at[i] = to_srgb8((double)i / STEPS);
}

static uint8_t level_of(const struct levels *levels, double reflectance)
{
    double v = fmin(fmax(reflectance, 0), 1) * STEPS;
    int i = v < STEPS ? (int)v : STEPS - 1;
    return levels->at[i] == levels->at[i + 1] ? levels->at[i] : to_srgb8(reflectance);
}

/* Mean reflectance of the cells in rows r0..r1 and columns c0..c1 (ends out). */
static void box_mean(const struct sl_sheet *sheet, int r0, int r1, int c0, int c1, double ret[3])
{
    ret[0] = ret[1] = ret[2] = 0;
    for (int r = r0; r < r1; r++)
        for (int c = c0; c < c1; c++) {
            const float *cell = sheet->rgb + ((size_t)r * (size_t)sheet->columns + (size_t)c) * 3;
            for (int k = 0; k < 3; k++)
                ret[k] += (double)cell[k];
        }
    for (int k = 0; k < 3; k++)
        ret[k] /= (double)(r1 - r0) * (c1 - c0);
}

static double aspect(const struct sl_outline *o)
{
    double width = 0, length = 0;
    const struct sl_point *c = o->corner_px;
    width = hypot(c[1].x - c[0].x, c[1].y - c[0].y) + hypot(c[2].x - c[3].x, c[2].y - c[3].y);
    length = hypot(c[3].x - c[0].x, c[3].y - c[0].y) + hypot(c[2].x - c[1].x, c[2].y - c[1].y);
    return length > 0 ? width / length : 1;
}

sl_code sl_picture_of_sheet(const struct sl_sheet *sheet, const struct sl_outline *outline,
                            struct sl_picture *ret, struct sl_status *status)
{
    int height = sheet->rows < PICTURE_HEIGHT_MAX ? sheet->rows : PICTURE_HEIGHT_MAX;
    int width = clamp_int(height * aspect(outline) + 0.5, 1, PICTURE_WIDTH_MAX);
    uint8_t *rgb = malloc((size_t)height * (size_t)width * 3);
    if (!rgb)
        return sl_status_set(status, SL_E_MEMORY, "reading/picture", "Close other programs.",
                             "there is not enough memory for a picture of the strip");
    struct levels levels;
    levels_init(&levels);
    for (int y = 0; y < height; y++) {
        int r1 = sheet->rows - (int)((long)y * sheet->rows / height);
        int r0 = sheet->rows - (int)((long)(y + 1) * sheet->rows / height);
        for (int x = 0; x < width; x++) {
            int c0 = (int)((long)x * sheet->columns / width);
            int c1 = (int)((long)(x + 1) * sheet->columns / width);
            double mean[3];
            box_mean(sheet, r0 < r1 ? r0 : r1 - 1, r1, c0, c1 > c0 ? c1 : c0 + 1, mean);
            for (int k = 0; k < 3; k++)
                rgb[((size_t)y * (size_t)width + (size_t)x) * 3 + (size_t)k] =
                    level_of(&levels, mean[k]);
        }
    }
    *ret = (struct sl_picture){width, height, rgb};
    return SL_OK;
}
