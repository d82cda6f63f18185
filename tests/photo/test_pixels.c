// SPDX-License-Identifier: GPL-3.0-or-later
/* Pixels: every format, every orientation, looks and regions against a whole decode made with the
 * format's library alone. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <tiffio.h>

#include "make.h"

enum { WIDTH = 131, HEIGHT = 75 }; /* no multiple of a block, and far from square */

static void photo_shows_picture(struct sl_photo *photo, const struct picture *stored,
                                int orientation)
{
    struct sl_image image = whole_of(photo);
    bool swap = orientation >= 5;
    assert_int_equal(image.width, swap ? stored->height : stored->width);
    assert_int_equal(image.height, swap ? stored->width : stored->height);
    assert_int_equal(image.bits, stored->bits);
    for (int v = 0; v < stored->height; v++)
        for (int u = 0; u < stored->width; u++) {
            int x, y;
            displayed_at(orientation, stored->width, stored->height, u, v, &x, &y);
            for (int k = 0; k < 3; k++) {
                uint16_t want = picture_at(stored, u, v)[stored->channels >= 3 ? k : 0];
                if (sample_of(&image, x, y, k) != want)
                    fail_msg("orientation %d: stored (%d, %d) shown at (%d, %d) is %d, not %d",
                             orientation, u, v, x, y, sample_of(&image, x, y, k), want);
            }
        }
    sl_image_finish(&image);
}

/* What libjpeg alone makes of a file. */
static struct picture jpeg_reference(struct blob blob)
{
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&jpeg);
    jpeg_mem_src(&jpeg, blob.bytes, blob.count);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_RGB;
    jpeg_start_decompress(&jpeg);
    struct picture p = picture_make((int)jpeg.output_width, (int)jpeg.output_height, 8, 3);
    uint8_t *row = malloc((size_t)p.width * 3);
    for (int y = 0; y < p.height; y++) {
        jpeg_read_scanlines(&jpeg, &row, 1);
        for (int i = 0; i < 3 * p.width; i++)
            picture_at(&p, 0, y)[i] = row[i];
    }
    free(row);
    jpeg_destroy_decompress(&jpeg);
    return p;
}

static void check_jpeg(const struct picture *picture, struct jpeg_options options)
{
    for (int orientation = 1; orientation <= 8; orientation++) {
        options.with.exif = exif_make(orientation, "2024:05:06 07:08:09", orientation % 2);
        struct blob blob = jpeg_make(picture, &options);
        struct picture reference = jpeg_reference(blob);
        struct sl_photo *photo = photo_of(blob, NULL);
        assert_string_equal(sl_photo_info(photo)->format, "JPEG");
        assert_int_equal(sl_photo_info(photo)->orientation, orientation);
        photo_shows_picture(photo, &reference, orientation);
        sl_photo_close(photo);
        picture_free(&reference);
        free(options.with.exif.bytes);
        free(blob.bytes);
    }
}

static void jpeg_is_shown_as_its_orientation_says(void **state)
{
    (void)state;
    struct picture colour = picture_make(WIDTH, HEIGHT, 8, 3);
    struct picture grey = picture_make(WIDTH, HEIGHT, 8, 1);
    check_jpeg(&colour, (struct jpeg_options){0});
    check_jpeg(&colour, (struct jpeg_options){.h = 1, .v = 1});
    check_jpeg(&colour, (struct jpeg_options){.progressive = true});
    check_jpeg(&colour, (struct jpeg_options){.many_scans = true});
    check_jpeg(&grey, (struct jpeg_options){0});
    picture_free(&colour);
    picture_free(&grey);
}

static void png_is_shown_as_its_orientation_says(void **state)
{
    (void)state;
    const unsigned kinds[][2] = {{8, 3}, {16, 3}, {8, 1}, {16, 1}};
    for (size_t i = 0; i < 4; i++) {
        struct picture picture = picture_make(WIDTH, HEIGHT, kinds[i][0], kinds[i][1]);
        for (int orientation = 1; orientation <= 8; orientation++) {
            struct png_options options = {.interlaced = orientation % 2};
            options.with.exif = exif_make(orientation, "2024:05:06 07:08:09", true);
            struct blob blob = png_make(&picture, &options);
            struct sl_photo *photo = photo_of(blob, NULL);
            assert_string_equal(sl_photo_info(photo)->format, "PNG");
            photo_shows_picture(photo, &picture, orientation);
            sl_photo_close(photo);
            free(options.with.exif.bytes);
            free(blob.bytes);
        }
        picture_free(&picture);
    }
}

static void check_tiff(unsigned bits, unsigned channels, struct tiff_options options)
{
    struct picture picture = picture_make(WIDTH, HEIGHT, bits, channels);
    for (int orientation = 1; orientation <= 8; orientation++) {
        options.orientation = orientation;
        struct blob blob = tiff_make(&picture, &options);
        struct sl_photo *photo = photo_of(blob, NULL);
        assert_string_equal(sl_photo_info(photo)->format, "TIFF");
        assert_int_equal(sl_photo_info(photo)->orientation, orientation);
        photo_shows_picture(photo, &picture, orientation);
        sl_photo_close(photo);
        free(blob.bytes);
    }
    picture_free(&picture);
}

static void tiff_is_shown_as_its_orientation_says(void **state)
{
    (void)state;
    check_tiff(8, 3, (struct tiff_options){0});
    check_tiff(16, 3, (struct tiff_options){.compression = COMPRESSION_LZW});
    check_tiff(8, 3, (struct tiff_options){.tile = 32});
    check_tiff(16, 3, (struct tiff_options){.tile = 48, .apart = true});
    check_tiff(8, 3, (struct tiff_options){.apart = true});
    check_tiff(16, 1, (struct tiff_options){0});
    check_tiff(8, 1, (struct tiff_options){.compression = COMPRESSION_ADOBE_DEFLATE});
}

/* HEIC carries its own transforms; EXIF's orientation, which phones write beside them, must not
 * turn the photo a second time. */
static void heic_is_shown_as_its_own_transforms_say(void **state)
{
    (void)state;
    struct picture picture = picture_make(128, 80, 8, 3), plain = picture_make(128, 80, 8, 3);
    struct heic_options options = {0};
    struct blob blob = heic_make(&picture, &options);
    struct sl_photo *photo = photo_of(blob, NULL);
    struct sl_image image = whole_of(photo);
    double error = 0;
    for (int y = 0; y < 80; y++)
        for (int i = 0; i < 3 * 128; i++) {
            picture_at(&plain, 0, y)[i] = sample_of(&image, i / 3, y, i % 3);
            error += fabs((double)picture_at(&plain, 0, y)[i] - picture_at(&picture, 0, y)[i]);
        }
    assert_true(error / (80 * 128 * 3) < 3); /* levels; the coding is lossy */
    sl_image_finish(&image);
    sl_photo_close(photo);
    free(blob.bytes);
    for (int orientation = 1; orientation <= 8; orientation++) {
        options.orientation = orientation;
        options.with.exif = exif_make(orientation, "2024:05:06 07:08:09", false);
        blob = heic_make(&picture, &options);
        photo = photo_of(blob, NULL);
        assert_string_equal(sl_photo_info(photo)->format, "HEIC");
        assert_int_equal(sl_photo_info(photo)->orientation, 1);
        assert_string_equal(sl_photo_info(photo)->date, "2024-05-06 07:08:09");
        photo_shows_picture(photo, &plain, orientation);
        sl_photo_close(photo);
        free(blob.bytes);
        free(options.with.exif.bytes);
    }
    picture_free(&picture);
    picture_free(&plain);
}

static void heic_of_ten_bits_keeps_them(void **state)
{
    (void)state;
    struct picture picture = picture_make(128, 80, 16, 3);
    struct blob blob = heic_make(&picture, &(struct heic_options){0});
    struct sl_photo *photo = photo_of(blob, NULL);
    struct sl_image image = whole_of(photo);
    double error = 0;
    bool between = false; /* values that 8 bits can't hold */
    assert_int_equal(image.bits, 16);
    for (int y = 0; y < 80; y++)
        for (int i = 0; i < 3 * 128; i++) {
            uint16_t got = sample_of(&image, i / 3, y, i % 3);
            error += fabs((double)got - picture_at(&picture, 0, y)[i]);
            between = between || got % 257 != 0;
        }
    assert_true(between);
    assert_true(error / (80 * 128 * 3) < 3 * 257);
    sl_image_finish(&image);
    sl_photo_close(photo);
    free(blob.bytes);
    picture_free(&picture);
}

/* Every region must be the very pixels that a decode of the whole gives. */
static void regions_equal_the_whole(struct blob blob)
{
    struct sl_photo *photo = photo_of(blob, NULL);
    struct sl_image whole = whole_of(photo), part;
    for (int y = 0; y < whole.height; y += 13)
        for (int x = 0; x < whole.width; x += 17) {
            int w = 1 + (x * 7 + y) % (whole.width - x), h = 1 + (y * 5 + x) % (whole.height - y);
            assert_int_equal(sl_photo_region(photo, (struct sl_rect){x, y, w, h}, &part, NULL),
                             SL_OK);
            assert_int_equal(part.width, w);
            assert_int_equal(part.height, h);
            assert_true(part.x0 == x && part.y0 == y && part.scale == 1);
            size_t pixel = whole.bits / 8 * 3;
            for (int row = 0; row < h; row++)
                assert_memory_equal((uint8_t *)part.pixels + (size_t)row * part.stride,
                                    (uint8_t *)whole.pixels + (size_t)(y + row) * whole.stride +
                                        (size_t)x * pixel,
                                    (size_t)w * pixel);
            sl_image_finish(&part);
        }
    sl_image_finish(&whole);
    sl_photo_close(photo);
}

static void regions_are_bit_exact(void **state)
{
    (void)state;
    struct picture wide = picture_make(211, 187, 8, 3), deep = picture_make(100, 90, 16, 3);
    for (int orientation = 1; orientation <= 8; orientation++) {
        struct jpeg_options jpeg = {.progressive = orientation == 3};
        /* all chroma samplings that cameras use, and 4:1:1 */
        static const int samplings[9][2] = {[2] = {1, 1}, [4] = {2, 1}, [5] = {1, 2}, [6] = {4, 1}};
        jpeg.h = samplings[orientation][0];
        jpeg.v = samplings[orientation][1];
        jpeg.restart = orientation == 7 ? 5 : 0;
        jpeg.with.exif = exif_make(orientation, "2024:05:06 07:08:09", false);
        struct png_options png = {.with = jpeg.with};
        struct blob blobs[3] = {
            jpeg_make(&wide, &jpeg), png_make(&deep, &png),
            tiff_make(&deep, &(struct tiff_options){.orientation = orientation})};
        for (int i = 0; i < 3; i++) {
            regions_equal_the_whole(blobs[i]);
            free(blobs[i].bytes);
        }
        free(jpeg.with.exif.bytes);
    }
    picture_free(&wide);
    picture_free(&deep);
}

static void regions_are_clipped_or_refused(void **state)
{
    (void)state;
    struct picture picture = picture_make(60, 40, 8, 3);
    struct blob blob = jpeg_make(&picture, &(struct jpeg_options){0});
    struct sl_photo *photo = photo_of(blob, NULL);
    struct sl_image image = {0};
    assert_int_equal(sl_photo_region(photo, (struct sl_rect){-10, 35, 30, 100}, &image, NULL),
                     SL_OK);
    assert_true(image.x0 == 0 && image.y0 == 35 && image.width == 20 && image.height == 5);
    sl_image_finish(&image);
    const struct sl_rect outside[] = {{60, 0, 5, 5}, {0, 40, 5, 5}, {-5, -5, 5, 5},
                                      {0, 0, 0, 5},  {5, 5, -3, 2}, {INT32_MAX, 0, INT32_MAX, 1}};
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
        assert_int_equal(sl_photo_region(photo, outside[i], &image, NULL), SL_E_RANGE);
        assert_null(image.pixels);
    }
    assert_int_equal(sl_photo_look(photo, 0, &image, NULL), SL_E_RANGE);
    sl_photo_close(photo);
    free(blob.bytes);
    picture_free(&picture);
}

/* A dark spot on white; its middle in stored pixels. */
static struct picture spot_picture(int width, int height, double u, double v)
{
    struct picture p = picture_make(width, height, 8, 3);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            for (int k = 0; k < 3; k++) {
                double r2 = (x - u) * (x - u) + (y - v) * (y - v);
                picture_at(&p, x, y)[k] = (uint16_t)lround(255 - 200 * exp(-r2 / (2 * 18 * 18)));
            }
    return p;
}

static void centroid(const struct sl_image *image, double *ret_x, double *ret_y)
{
    double sum = 0, sum_x = 0, sum_y = 0;
    for (int j = 0; j < image->height; j++)
        for (int i = 0; i < image->width; i++) {
            double dark = 255 - sample_of(image, i, j, 1);
            dark = dark > 6 ? dark : 0; /* ringing of the coding */
            sum += dark;
            sum_x += dark * (image->x0 + (i + 0.5) * image->scale - 0.5);
            sum_y += dark * (image->y0 + (j + 0.5) * image->scale - 0.5);
        }
    *ret_x = sum_x / sum;
    *ret_y = sum_y / sum;
}

static void check_look(struct blob blob, int orientation, int w, int h, int u, int v, int side)
{
    struct sl_photo *photo = photo_of(blob, NULL);
    struct sl_image image = {0};
    int x, y, longer = w > h ? w : h;
    double got_x, got_y;
    displayed_at(orientation, w, h, u, v, &x, &y);
    assert_int_equal(sl_photo_look(photo, side, &image, NULL), SL_OK);
    int got_side = image.width > image.height ? image.width : image.height;
    if (longer >= side)
        assert_in_range(got_side, side, 2 * side);
    else
        assert_int_equal(got_side, longer);
    assert_true(image.x0 <= 0 && image.y0 <= 0);
    assert_true(image.x0 + image.width * image.scale >= sl_photo_info(photo)->width_px);
    centroid(&image, &got_x, &got_y);
    if (fabs(got_x - x) > 0.3 || fabs(got_y - y) > 0.3)
        fail_msg("orientation %d side %d scale %g: spot at (%.2f, %.2f) instead of (%d, %d)",
                 orientation, side, image.scale, got_x, got_y, x, y);
    sl_image_finish(&image);
    sl_photo_close(photo);
}

/* The look's own coordinates must lead back to the photo's, at every scale and orientation. */
static void looks_know_where_they_are(void **state)
{
    (void)state;
    enum { W = 501, H = 299, U = 333, V = 120 };
    static const int sides[] = {25, 60, 100, 170, 250, 400, 501, 900};
    struct picture picture = spot_picture(W, H, U, V);
    for (int orientation = 1; orientation <= 8; orientation++) {
        struct metadata with = {.exif = exif_make(orientation, "2024:05:06 07:08:09", true)};
        struct blob blobs[3] = {
            jpeg_make(&picture, &(struct jpeg_options){.with = with, .quality = 98}),
            jpeg_make(&picture,
                      &(struct jpeg_options){.with = with, .quality = 98, .progressive = true}),
            png_make(&picture, &(struct png_options){.with = with})};
        for (size_t i = 0; i < sizeof sides / sizeof *sides; i++)
            for (int b = 0; b < 3; b++)
                check_look(blobs[b], orientation, W, H, U, V, sides[i]);
        for (int b = 0; b < 3; b++)
            free(blobs[b].bytes);
        free(with.exif.bytes);
    }
    picture_free(&picture);
}

/* A look is the mean of what it shrinks. */
static void looks_are_box_means(void **state)
{
    (void)state;
    for (unsigned bits = 8; bits <= 16; bits += 8) {
        struct picture picture = picture_make(100, 70, bits, 3);
        struct blob blob = png_make(&picture, &(struct png_options){0});
        struct sl_photo *photo = photo_of(blob, NULL);
        struct sl_image image = {0};
        assert_int_equal(sl_photo_look(photo, 33, &image, NULL), SL_OK); /* factor 3 */
        assert_int_equal(image.width, 34);
        assert_int_equal(image.height, 24);
        for (int j = 0; j < image.height; j++)
            for (int i = 0; i < image.width; i++) {
                double sum = 0, n = 0;
                for (int y = 3 * j; y < 3 * j + 3 && y < 70; y++)
                    for (int x = 3 * i; x < 3 * i + 3 && x < 100; x++, n++)
                        sum += picture_at(&picture, x, y)[2];
                assert_true(fabs(sample_of(&image, i, j, 2) - sum / n) <= 0.5 + 1e-9);
            }
        sl_image_finish(&image);
        sl_photo_close(photo);
        free(blob.bytes);
        picture_free(&picture);
    }
}

/* The palette that make.c writes. */
static uint8_t palette_sample(int index, int channel)
{
    return (uint8_t)(channel == 0 ? index * 7 + 3 : channel == 1 ? 255 - index * 5 : index * 13);
}

static void palettes_become_their_colours(void **state)
{
    (void)state;
    struct picture picture = picture_make(64, 48, 8, 1);
    struct blob blobs[2] = {png_make(&picture, &(struct png_options){.palette = true}),
                            tiff_make(&picture, &(struct tiff_options){.palette = true})};
    for (int b = 0; b < 2; b++) {
        struct sl_photo *photo = photo_of(blobs[b], NULL);
        struct sl_image image = whole_of(photo);
        for (int y = 0; y < 48; y++)
            for (int i = 0; i < 64 * 3; i++)
                assert_int_equal(sample_of(&image, i / 3, y, i % 3),
                                 palette_sample(*picture_at(&picture, i / 3, y), i % 3));
        sl_image_finish(&image);
        sl_photo_close(photo);
        free(blobs[b].bytes);
    }
    picture_free(&picture);
}

/* Grey of 1, 2 and 4 bits spreads over the whole range. */
static void png_of_few_bits_reaches_white(void **state)
{
    (void)state;
    for (int depth = 1; depth <= 4; depth *= 2) {
        struct picture picture = picture_make(61, 40, 8, 1);
        struct blob blob = png_make(&picture, &(struct png_options){.depth = depth});
        struct sl_photo *photo = photo_of(blob, NULL);
        struct sl_image image = whole_of(photo);
        int top = (1 << depth) - 1;
        assert_int_equal(image.bits, 8);
        for (int i = 0; i < 61 * 40; i++)
            assert_int_equal(sample_of(&image, i % 61, i / 61, i % 3),
                             (*picture_at(&picture, i % 61, i / 61) >> (8 - depth)) * 255 / top);
        sl_image_finish(&image);
        sl_photo_close(photo);
        free(blob.bytes);
        picture_free(&picture);
    }
}

static void tiff_with_white_as_zero_is_not_a_negative(void **state)
{
    (void)state;
    struct picture picture = picture_make(64, 48, 16, 1);
    struct blob blob = tiff_make(&picture, &(struct tiff_options){.white_is_zero = true});
    struct sl_photo *photo = photo_of(blob, NULL);
    struct sl_image image = whole_of(photo);
    assert_int_equal(sample_of(&image, 5, 6, 1), 65535 - *picture_at(&picture, 5, 6));
    sl_image_finish(&image);
    sl_photo_close(photo);
    free(blob.bytes);
    picture_free(&picture);
}

/* Over white: c a + 1 - a, W3C Compositing and Blending Level 1, 5.1 with a white backdrop. */
static void alpha_is_laid_over_white(void **state)
{
    (void)state;
    for (unsigned bits = 8; bits <= 16; bits += 8)
        for (int kind = 0; kind < 4; kind++) {
            unsigned channels = kind == 3 ? 2 : 4;
            struct picture picture = picture_make(64, 48, bits, channels);
            double top = bits == 8 ? 255 : 65535;
            picture_at(&picture, 0, 0)[channels - 1] = 0;
            picture_at(&picture, 1, 0)[channels - 1] = (uint16_t)top;
            struct blob blob =
                kind == 0   ? png_make(&picture, &(struct png_options){0})
                : kind == 1 ? tiff_make(&picture, &(struct tiff_options){0})
                : kind == 2
                    ? tiff_make(&picture, &(struct tiff_options){.associated = true, .apart = true})
                    : png_make(&picture, &(struct png_options){.interlaced = true});
            struct sl_photo *photo = photo_of(blob, NULL);
            struct sl_image image = whole_of(photo);
            for (int y = 0; y < 48; y++)
                for (int i = 0; i < 64 * 3; i++) {
                    const uint16_t *p = picture_at(&picture, i / 3, y);
                    double alpha = p[channels - 1] / top, c = p[channels == 4 ? i % 3 : 0];
                    double want = c * (kind == 2 ? 1 : alpha) + top * (1 - alpha);
                    assert_true(fabs(sample_of(&image, i / 3, y, i % 3) - fmin(want, top)) < 1);
                }
            sl_image_finish(&image);
            sl_photo_close(photo);
            free(blob.bytes);
            picture_free(&picture);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(jpeg_is_shown_as_its_orientation_says),
        cmocka_unit_test(png_is_shown_as_its_orientation_says),
        cmocka_unit_test(tiff_is_shown_as_its_orientation_says),
        cmocka_unit_test(heic_is_shown_as_its_own_transforms_say),
        cmocka_unit_test(heic_of_ten_bits_keeps_them),
        cmocka_unit_test(regions_are_bit_exact),
        cmocka_unit_test(regions_are_clipped_or_refused),
        cmocka_unit_test(looks_know_where_they_are),
        cmocka_unit_test(looks_are_box_means),
        cmocka_unit_test(palettes_become_their_colours),
        cmocka_unit_test(png_of_few_bits_reaches_white),
        cmocka_unit_test(tiff_with_white_as_zero_is_not_a_negative),
        cmocka_unit_test(alpha_is_laid_over_white),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
