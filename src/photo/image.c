// SPDX-License-Identifier: GPL-3.0-or-later
#include "photo/decoder.h"

#include <stdlib.h>

bool image_alloc(struct sl_image *image, int width, int height, unsigned bits, unsigned channels)
{
    /* sides are at most SL_PHOTO_SIDE_MAX and pixels SL_PHOTO_PIXELS_MAX: no overflow in 64 bits,
     * and a 32-bit size_t is checked */
    uint64_t stride = (uint64_t)width * channels * (bits / 8);
    uint64_t bytes = stride * (uint64_t)height;
    void *pixels = bytes > 0 && bytes <= SIZE_MAX / 2 ? malloc((size_t)bytes) : NULL;
    if (!pixels)
        return false;
    *image = (struct sl_image){.width = width,
                               .height = height,
                               .scale = 1,
                               .bits = bits,
                               .stride = (size_t)stride,
                               .pixels = pixels};
    return true;
}

uint8_t *image_row(const struct sl_image *image, int y)
{
    return (uint8_t *)image->pixels + (size_t)y * image->stride;
}

void sl_image_finish(struct sl_image *image)
{
    if (!image)
        return;
    free(image->pixels);
    *image = (struct sl_image){0};
}

void sl_image_row_linear(const struct sl_image *image, int y, float *ret_rgb_linear)
{
    sl_colour_to_linear(image->colour, image_row(image, y), image->bits, (size_t)image->width,
                        ret_rgb_linear);
}

struct sl_image image_view(const struct sl_image *from, struct sl_rect rect)
{
    struct sl_image view = *from;
    view.width = rect.width;
    view.height = rect.height;
    view.pixels = image_row(from, rect.y) + (size_t)rect.x * (from->bits / 8 * 3);
    view.x0 += rect.x;
    view.y0 += rect.y;
    return view;
}

static void add_row(const struct sl_image *from, int y, int factor, uint64_t *sum)
{
    const uint8_t *s8 = image_row(from, y);
    const uint16_t *s16 = (const uint16_t *)(const void *)s8;
    for (int x = 0; x < from->width; x++) {
        uint64_t *cell = sum + x / factor * 3;
        for (int k = 0; k < 3; k++)
            cell[k] += from->bits == 8 ? s8[3 * x + k] : s16[3 * x + k];
    }
}

static void write_means(const struct sl_image *from, struct sl_image *to, int y, int rows,
                        int factor, uint64_t *sum)
{
    uint8_t *d8 = image_row(to, y);
    uint16_t *d16 = (uint16_t *)(void *)d8;
    for (int x = 0; x < to->width; x++) {
        int columns = from->width - x * factor < factor ? from->width - x * factor : factor;
        uint64_t n = (uint64_t)columns * (uint64_t)rows;
        for (int k = 0; k < 3; k++) {
            uint64_t mean = (sum[3 * x + k] + n / 2) / n;
            if (to->bits == 8)
                d8[3 * x + k] = (uint8_t)mean;
            else
                d16[3 * x + k] = (uint16_t)mean;
            sum[3 * x + k] = 0;
        }
    }
}

sl_code image_reduce(const struct sl_photo *photo, const struct sl_image *from, int factor,
                     struct sl_image *ret, struct sl_status *status)
{
    struct sl_image small = {0};
    sl_code code = SL_OK;
    int width = (from->width + factor - 1) / factor, height = (from->height + factor - 1) / factor;
    uint64_t *sum = calloc((size_t)width * 3, sizeof *sum);
    if (!sum || !image_alloc(&small, width, height, from->bits, 3)) {
        free(sum);
        return photo_no_memory(photo, status);
    }
    for (int y = 0; y < height && !code; y++) {
        code = sl_photo_check_cancel(photo, status);
        int rows = from->height - y * factor < factor ? from->height - y * factor : factor;
        for (int i = 0; i < rows; i++)
            add_row(from, y * factor + i, factor, sum);
        write_means(from, &small, y, rows, factor, sum);
    }
    free(sum);
    if (code) {
        sl_image_finish(&small);
        return code;
    }
    small.scale = from->scale * factor;
    small.x0 = from->x0;
    small.y0 = from->y0;
    *ret = small;
    return SL_OK;
}

static uint64_t over_white(uint64_t sample, uint64_t alpha, uint64_t top, bool premultiplied)
{
    if (!premultiplied)
        sample = (sample * alpha + top / 2) / top;
    uint64_t over = sample + (top - alpha);
    return over < top ? over : top;
}

sl_code image_lay_over_white(const struct sl_photo *photo, struct sl_image *image,
                             bool premultiplied, struct sl_status *status)
{
    uint64_t top = image->bits == 8 ? 255 : 65535;
    sl_code code = SL_OK;
    for (int y = 0; y < image->height && !code; y++) {
        code = sl_photo_check_cancel(photo, status);
        uint8_t *row8 = image_row(image, y);
        uint16_t *row16 = (uint16_t *)(void *)row8;
        for (int i = 0; i < image->width * 3; i++) {
            int at = i / 3 * 4;
            if (image->bits == 8)
                row8[i] = (uint8_t)over_white(row8[at + i % 3], row8[at + 3], top, premultiplied);
            else
                row16[i] =
                    (uint16_t)over_white(row16[at + i % 3], row16[at + 3], top, premultiplied);
        }
    }
    return code;
}
