// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

#include "made_scene.h"
#include "strip/find.h"

enum { FINE = 4 }; /* samples a pixel, each way */

void made_scene_init(struct made_scene *scene, int width, int height, double r, double g, double b)
{
    size_t n = (size_t)width * (size_t)height;
    *scene = (struct made_scene){width, height, malloc(n * 3 * sizeof(float))};
    assert_non_null(scene->light);
    for (size_t i = 0; i < n; i++) {
        scene->light[3 * i] = (float)r;
        scene->light[3 * i + 1] = (float)g;
        scene->light[3 * i + 2] = (float)b;
    }
}

void made_scene_finish(struct made_scene *scene)
{
    free(scene->light);
    scene->light = NULL;
}

void made_corners(double x, double y, double width, double length, double deg,
                  struct sl_point ret[4])
{
    static const double side[4] = {-0.5, 0.5, 0.5, -0.5}, end[4] = {0.5, 0.5, -0.5, -0.5};
    double c = cos(deg * M_PI / 180), s = sin(deg * M_PI / 180);
    for (int i = 0; i < 4; i++) {
        double u = side[i] * width, v = end[i] * length;
        ret[i] = (struct sl_point){x + c * u - s * v, y + s * u + c * v};
    }
}

static double off_line(struct sl_point a, struct sl_point b, double x, double y)
{
    return ((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x)) / hypot(b.x - a.x, b.y - a.y);
}

/* Whether a place is on the paper, and how far up, 0..1. */
static bool on_paper(const struct sl_point c[4], double bow_px, double x, double y, double *ret_v)
{
    double low = -off_line(c[0], c[1], x, y), high = off_line(c[3], c[2], x, y);
    double v = low / (low + high), bow = bow_px * 4 * v * (1 - v);
    *ret_v = v;
    return low >= 0 && high >= 0 && off_line(c[0], c[3], x, y) >= bow &&
           off_line(c[1], c[2], x, y) <= bow;
}

/* A line at 0.15, bands at 0.45 and 0.7 of the length, Gaussian along the strip. */
static void inked(double v, double reflectance, bool ink, double ret[3])
{
    static const double at[3] = {0.15, 0.45, 0.7}, wide[3] = {0.01, 0.04, 0.03};
    static const double load[3][3] = {{3, 3, 2}, {2, 0.6, 0.1}, {0.1, 1.5, 0.8}};
    for (int c = 0; c < 3; c++) {
        double density = 0;
        for (int b = 0; b < 3 && ink; b++)
            density += load[b][c] * exp(-0.5 * pow((v - at[b]) / wide[b], 2));
        ret[c] = reflectance * exp(-density);
    }
}

void made_paper(struct made_scene *scene, const struct sl_point corner[4], double reflectance,
                bool ink, double bow_px)
{
    int left = scene->width, top = scene->height, right = 0, bottom = 0;
    int margin = (int)ceil(fabs(bow_px)) + 2;
    for (int i = 0; i < 4; i++) {
        left = GSL_MIN(left, (int)corner[i].x - margin);
        right = GSL_MAX(right, (int)corner[i].x + margin);
        top = GSL_MIN(top, (int)corner[i].y - margin);
        bottom = GSL_MAX(bottom, (int)corner[i].y + margin);
    }
    for (int y = GSL_MAX(top, 0); y < GSL_MIN(bottom, scene->height); y++)
        for (int x = GSL_MAX(left, 0); x < GSL_MIN(right, scene->width); x++) {
            double sum[3] = {0, 0, 0}, v, colour[3];
            int hit = 0;
            for (int k = 0; k < FINE * FINE; k++) {
                double px = x + (k % FINE + 0.5) / FINE - 0.5;
                double py = y + (k / FINE + 0.5) / FINE - 0.5;
                if (!on_paper(corner, bow_px, px, py, &v))
                    continue;
                inked(v, reflectance, ink, colour);
                for (int c = 0; c < 3; c++)
                    sum[c] += colour[c];
                hit++;
            }
            float *to = scene->light + 3 * ((size_t)y * (size_t)scene->width + (size_t)x);
            for (int c = 0; c < 3 && hit; c++)
                to[c] = (float)((double)to[c] * (1 - (double)hit / (FINE * FINE)) +
                                sum[c] / (FINE * FINE));
        }
}

static void blur_line(const float *in, float *out, int n, int stride, double sigma)
{
    int reach = (int)(3 * sigma);
    for (int i = 0; i < n; i++) {
        double sum = 0, weight = 0;
        for (int k = -reach; k <= reach; k++) {
            int at = i + k < 0 ? 0 : i + k >= n ? n - 1 : i + k;
            double w = exp(-0.5 * k * k / (sigma * sigma));
            sum += w * (double)in[(ptrdiff_t)at * stride];
            weight += w;
        }
        out[(ptrdiff_t)i * stride] = (float)(sum / weight);
    }
}

void made_blur(struct made_scene *scene, double sigma_px)
{
    size_t w = (size_t)scene->width, h = (size_t)scene->height;
    float *copy = malloc(w * h * 3 * sizeof *copy);
    assert_non_null(copy);
    for (size_t y = 0; y < h; y++)
        for (size_t c = 0; c < 3; c++)
            blur_line(scene->light + y * w * 3 + c, copy + y * w * 3 + c, scene->width, 3,
                      sigma_px);
    for (size_t x = 0; x < w * 3; x++)
        blur_line(copy + x, scene->light + x, scene->height, scene->width * 3, sigma_px);
    free(copy);
}

/* Sum of four uniform numbers, scaled to standard deviation 1. */
static double noise_next(uint32_t *state)
{
    double sum = 0;
    for (int i = 0; i < 4; i++) {
        *state = *state * 1664525u + 1013904223u;
        sum += (double)(*state >> 8) / 16777216.0 - 0.5;
    }
    return sum * sqrt(3.0);
}

struct sl_photo *made_photo(const struct made_scene *scene, double noise)
{
    size_t n = (size_t)scene->width * (size_t)scene->height * 3;
    uint8_t *pixels = malloc(n);
    uint32_t state = 20240607;
    assert_non_null(pixels);
    for (size_t i = 0; i < n; i++) {
        double light = (double)scene->light[i] + noise * noise_next(&state);
        double code = 255 * sl_srgb_encode(fmin(fmax(light, 0), 1));
        pixels[i] = (uint8_t)lround(code);
    }
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)scene->width,
                       .height = (png_uint_32)scene->height,
                       .flags = PNG_IMAGE_FLAG_FAST,
                       .format = PNG_FORMAT_RGB};
    png_alloc_size_t bytes = PNG_IMAGE_PNG_SIZE_MAX(image);
    void *png = malloc(bytes);
    assert_non_null(png);
    assert_true(png_image_write_to_memory(&image, png, &bytes, 0, pixels, 0, NULL));
    struct sl_photo *photo = NULL;
    assert_int_equal(sl_photo_open_memory(png, bytes, "made.png", &photo, NULL, NULL), SL_OK);
    free(png);
    free(pixels);
    return photo;
}
