// SPDX-License-Identifier: GPL-3.0-or-later
/* Work on a photo ends wherever it is when its cancel says so: nothing comes of it, nothing is
 * lost, and what is asked for later is what it always was. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>
#include <tiffio.h>

#include "make.h"

enum { WIDTH = 96, HEIGHT = 64, KINDS = 8, LOOK_SIDE = 20 };

static struct blob make_kind(int kind)
{
    struct picture p = picture_make(WIDTH, HEIGHT, 8, 3), clear = picture_make(WIDTH, HEIGHT, 8, 4);
    struct metadata turned = {.exif = exif_make(6, "2024:01:02 03:04:05", true)};
    struct blob blob =
        kind == 0   ? jpeg_make(&p, &(struct jpeg_options){.with = turned})
        : kind == 1 ? jpeg_make(&p, &(struct jpeg_options){.progressive = true})
        : kind == 2 ? png_make(&p, &(struct png_options){.with = turned})
        : kind == 3 ? png_make(&clear, &(struct png_options){.interlaced = true})
        : kind == 4 ? tiff_make(&clear, &(struct tiff_options){.compression = COMPRESSION_LZW})
        : kind == 5 ? tiff_make(&p, &(struct tiff_options){.tile = 32, .apart = true})
        : kind == 6 ? tiff_make(&p, &(struct tiff_options){.orientation = 8})
                    : heic_make(&p, &(struct heic_options){.orientation = 3});
    free(turned.exif.bytes);
    picture_free(&p);
    picture_free(&clear);
    return blob;
}

struct count {
    long asked, yes_from; /* 0: never */
};

static bool count_down(void *context)
{
    struct count *count = context;
    count->asked++;
    return count->yes_from > 0 && count->asked >= count->yes_from;
}

typedef sl_code work(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status);

static sl_code look(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status)
{
    return sl_photo_look(photo, LOOK_SIDE, ret, status);
}

static sl_code cut(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status)
{
    return sl_photo_region(photo, (struct sl_rect){5, 7, 40, 50}, ret, status);
}

static void check_same(const struct sl_image *a, const struct sl_image *b)
{
    assert_int_equal(a->width, b->width);
    assert_int_equal(a->height, b->height);
    for (int y = 0; y < a->height; y++)
        assert_memory_equal((const uint8_t *)a->pixels + (size_t)y * a->stride,
                            (const uint8_t *)b->pixels + (size_t)y * b->stride,
                            (size_t)a->width * 3 * (a->bits / 8));
}

static void check_cancelled_at(struct blob blob, work *do_it, long at, const struct sl_image *want)
{
    struct sl_photo *photo = photo_of(blob, NULL);
    struct sl_image image = {0};
    struct sl_status status = {0};
    struct count count = {.yes_from = at};
    sl_photo_set_cancel(photo, (struct sl_cancel){count_down, &count});
    assert_int_equal(do_it(photo, &image, &status), SL_E_CANCELLED);
    assert_int_equal(status.code, SL_E_CANCELLED);
    assert_non_null(strstr(status.message, "made"));
    assert_null(image.pixels);
    sl_photo_set_cancel(photo, (struct sl_cancel){0});
    assert_int_equal(do_it(photo, &image, &status), SL_OK);
    check_same(&image, want);
    sl_image_finish(&image);
    sl_photo_close(photo);
}

/* How often the work asks. */
static long check_whole(struct blob blob, work *do_it, struct sl_image *ret)
{
    struct sl_photo *photo = photo_of(blob, NULL);
    struct count count = {0};
    sl_photo_set_cancel(photo, (struct sl_cancel){count_down, &count});
    assert_int_equal(do_it(photo, ret, NULL), SL_OK);
    sl_photo_close(photo);
    return count.asked;
}

static void work_ends_at_whatever_question_is_said_yes_to(void **state)
{
    (void)state;
    work *const works[] = {look, cut};
    for (int kind = 0; kind < KINDS; kind++)
        for (size_t w = 0; w < sizeof works / sizeof *works; w++) {
            struct blob blob = make_kind(kind);
            struct sl_image whole = {0};
            long asked = check_whole(blob, works[w], &whole);
            for (long at = 1; at <= asked; at++)
                check_cancelled_at(blob, works[w], at, &whole);
            sl_image_finish(&whole);
            free(blob.bytes);
        }
}

/* A look goes through the whole picture, at an eighth of it for a JPEG; a tile has 32 rows here,
 * and a HEIC is asked for before its one tile. */
static void it_is_asked_for_at_every_row(void **state)
{
    (void)state;
    static const long least[KINDS] = {
        HEIGHT / 8, HEIGHT, HEIGHT, HEIGHT, HEIGHT, 3 * (HEIGHT / 32) * (WIDTH / 32), HEIGHT, 1};
    for (int kind = 0; kind < KINDS; kind++) {
        struct blob blob = make_kind(kind);
        struct sl_image whole = {0};
        long asked = check_whole(blob, look, &whole);
        if (asked < least[kind])
            fail_msg("kind %d: asked %ld times only", kind, asked);
        sl_image_finish(&whole);
        free(blob.bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(work_ends_at_whatever_question_is_said_yes_to),
        cmocka_unit_test(it_is_asked_for_at_every_row),
    };
    return cmocka_run_group_tests_name("photo/cancel", tests, NULL, NULL);
}
