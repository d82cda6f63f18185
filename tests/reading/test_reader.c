// SPDX-License-Identifier: GPL-3.0-or-later
/* A reader that has kept much gives exactly what a fresh run gives. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "strandline/report.h"

static const char photo[] = FIXTURES_DIR "/photos/bench-pair.jpg";

static char *json_of(struct sl_reading *reading)
{
    struct sl_document document;
    struct sl_reading *one[1] = {reading};
    char *text = NULL;
    sl_document_init(&document);
    document.reading = one;
    document.reading_count = 1;
    assert_int_equal(sl_report_json(&document, NULL, 0, &text, NULL), SL_OK);
    return text;
}

static char *fresh(const struct sl_read_options *options)
{
    struct sl_reading *reading = NULL;
    assert_int_equal(sl_read(photo, options, &reading, NULL), SL_OK);
    char *text = json_of(reading);
    sl_reading_destroy(reading);
    return text;
}

/* All but the bound shares, which may be open, are those of the whole reading. */
static void check_quick(const struct sl_reading *quick, const struct sl_reading *whole)
{
    assert_int_equal(quick->strip_count, whole->strip_count);
    for (size_t i = 0; i < whole->strip_count; i++) {
        const struct sl_bands *a = &quick->strip[i].bands, *b = &whole->strip[i].bands;
        assert_false(b->bound_open);
        assert_int_equal(a->count, b->count);
        assert_true(a->retained_share == b->retained_share);
        if (a->bound_open)
            assert_true(isnan(a->bound_share) && isnan(a->bound_interval[0]));
        else
            assert_true(a->bound_share == b->bound_share);
        for (size_t k = 0; k < a->count; k++) {
            assert_true(a->item[k].rf == b->item[k].rf);
            assert_memory_equal(a->item[k].rf_interval, b->item[k].rf_interval, sizeof(double[2]));
            assert_true(a->item[k].share == b->item[k].share);
            assert_memory_equal(a->item[k].share_interval, b->item[k].share_interval,
                                sizeof(double[2]));
        }
    }
}

static struct sl_reading *read_quick(struct sl_reader *reader,
                                     const struct sl_read_options *options,
                                     const struct sl_reading *last)
{
    struct sl_reading *reading = NULL;
    struct sl_read_options *quick = malloc(sizeof *quick);
    assert_non_null(quick);
    *quick = *options;
    quick->bound_later = true;
    assert_int_equal(sl_reader_read(reader, quick, last, &reading, NULL), SL_OK);
    free(quick);
    return reading;
}

/* Reads anew with the reader, quickly and then in full, and compares with a fresh run, to the last
 * digit. */
static void check_step(struct sl_reader *reader, const struct sl_read_options *options,
                       struct sl_reading **last)
{
    struct sl_reading *reading = NULL, *quick = read_quick(reader, options, *last);
    sl_reading_destroy(*last);
    *last = quick;
    assert_int_equal(sl_reader_read(reader, options, *last, &reading, NULL), SL_OK);
    char *kept = json_of(reading), *expected = fresh(options);
    assert_string_equal(kept, expected);
    check_quick(quick, reading);
    free(kept);
    free(expected);
    sl_reading_destroy(*last);
    *last = reading;
}

static void test_every_change(void **state)
{
    (void)state;
    struct sl_reader *reader = NULL;
    struct sl_reading *last = NULL;
    struct sl_read_options *options = malloc(sizeof *options);
    assert_non_null(options);
    sl_read_options_init(options);
    assert_int_equal(sl_reader_open(photo, photo, &reader, NULL), SL_OK);
    check_step(reader, options, &last);
    assert_int_equal(last->strip_count, 2);
    options->hint_count = 2;
    options->hint[0].origin = 0.2;
    check_step(reader, options, &last);
    options->hint[0].origin = 0.21;
    options->hint[1].front = 0.9;
    check_step(reader, options, &last);
    assert_int_equal(sl_reader_wake(reader, NULL), SL_OK); /* the pixels are all there now */
    options->hint[1].length_mm = 100;
    check_step(reader, options, &last);
    options->hint[0].has_corners = true; /* one strip's corners; the other stays as found */
    memcpy(options->hint[0].corners_px, last->strip[0].outline.corner_px,
           sizeof options->hint[0].corners_px);
    options->hint[0].corners_px[2].x += 7.5;
    double found_x = last->strip[1].outline.corner_px[0].x;
    check_step(reader, options, &last);
    assert_true(last->strip[0].outline.given);
    assert_false(last->strip[1].outline.given);
    assert_true(fabs(last->strip[1].outline.corner_px[0].x - found_x) < 1e-9);
    sl_reader_rest(reader);
    options->hint[1].has_corners = true;
    memcpy(options->hint[1].corners_px, last->strip[1].outline.corner_px,
           sizeof options->hint[1].corners_px);
    check_step(reader, options, &last);
    options->hint[1].upside_down = 1;
    check_step(reader, options, &last);
    options->hint[0].band_count = 1;
    options->hint[0].band[0] = (struct sl_band_limits){0.3, 0.42};
    check_step(reader, options, &last);
    options->hint[0].band[0].to = 0.44;
    check_step(reader, options, &last);
    sl_read_options_init(options);
    check_step(reader, options, &last);
    sl_reading_destroy(last);
    sl_reader_close(reader);
    free(options);
}

/* A move leaves bound shares open until they are asked for; a band's limits never do. */
static void test_bound_share_comes_later(void **state)
{
    (void)state;
    struct sl_reader *reader = NULL;
    struct sl_reading *last = NULL;
    struct sl_read_options *options = malloc(sizeof *options);
    assert_non_null(options);
    sl_read_options_init(options);
    assert_int_equal(sl_reader_open(photo, photo, &reader, NULL), SL_OK);
    check_step(reader, options, &last);
    options->hint_count = 2;
    options->hint[0].front = 0.9;
    struct sl_reading *quick = read_quick(reader, options, last);
    assert_true(quick->strip[0].bands.bound_open);
    assert_false(quick->strip[1].bands.bound_open);
    sl_reading_destroy(last);
    last = quick;
    check_step(reader, options, &last);
    options->hint[0].band_count = 1;
    options->hint[0].band[0] = (struct sl_band_limits){0.3, 0.42};
    quick = read_quick(reader, options, last);
    assert_false(quick->strip[0].bands.bound_open);
    sl_reading_destroy(quick);
    sl_reading_destroy(last);
    sl_reader_close(reader);
    free(options);
}

static void test_bad_value_leaves_reader_sound(void **state)
{
    (void)state;
    struct sl_reader *reader = NULL;
    struct sl_reading *last = NULL, *none = NULL;
    struct sl_status status = {0};
    struct sl_read_options *options = malloc(sizeof *options);
    assert_non_null(options);
    sl_read_options_init(options);
    assert_int_equal(sl_reader_open(photo, photo, &reader, NULL), SL_OK);
    check_step(reader, options, &last);
    options->hint_count = 5;
    assert_int_equal(sl_reader_read(reader, options, last, &none, &status), SL_E_USAGE);
    assert_null(none);
    options->hint_count = 0;
    check_step(reader, options, &last);
    sl_reading_destroy(last);
    sl_reader_close(reader);
    free(options);
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

/* What was kept by the time it was cancelled is no worse for it. */
static void check_cancelled_at(struct sl_reader *reader, const struct sl_read_options *options,
                               long at, const char *expected)
{
    struct sl_reading *reading = NULL;
    struct sl_status status = {0};
    struct count count = {.yes_from = at};
    sl_reader_set_cancel(reader, (struct sl_cancel){count_down, &count});
    assert_int_equal(sl_reader_read(reader, options, NULL, &reading, &status), SL_E_CANCELLED);
    assert_int_equal(status.code, SL_E_CANCELLED);
    assert_null(reading);
    sl_reader_set_cancel(reader, (struct sl_cancel){0});
    assert_int_equal(sl_reader_read(reader, options, NULL, &reading, NULL), SL_OK);
    char *text = json_of(reading);
    assert_string_equal(text, expected);
    free(text);
    sl_reading_destroy(reading);
}

/* At places all over the reading, and at its last questions, which its strips ask. A fresh reader
 * each time: another one knows the answers. */
static void test_cancelled_reading(void **state)
{
    (void)state;
    enum { PLACES = 8, LAST = 3 };
    struct sl_read_options *options = malloc(sizeof *options);
    struct sl_reading *reading = NULL;
    struct sl_photo *whole = NULL;
    struct sl_warnings warnings = {0};
    struct count count = {0};
    assert_non_null(options);
    sl_read_options_init(options);
    assert_int_equal(sl_photo_open(photo, &whole, &warnings, NULL), SL_OK);
    sl_photo_set_cancel(whole, (struct sl_cancel){count_down, &count});
    assert_int_equal(sl_read_photo(whole, &warnings, options, &reading, NULL), SL_OK);
    char *expected = json_of(reading);
    long asked = count.asked;
    for (int i = 0; i < PLACES + LAST; i++) {
        long at = i < PLACES ? 1 + i * asked / PLACES : asked - (i - PLACES);
        struct sl_reader *reader = NULL;
        assert_int_equal(sl_reader_open(photo, photo, &reader, NULL), SL_OK);
        check_cancelled_at(reader, options, at, expected);
        sl_reader_close(reader);
    }
    free(expected);
    sl_reading_destroy(reading);
    sl_photo_close(whole);
    free(options);
}

static void test_no_file(void **state)
{
    (void)state;
    struct sl_reader *reader = NULL;
    struct sl_reading *reading = NULL;
    struct sl_read_options *options = malloc(sizeof *options);
    assert_non_null(options);
    sl_read_options_init(options);
    assert_int_equal(sl_reader_open("/nowhere/x.jpg", "x.jpg", &reader, NULL), SL_OK);
    assert_int_equal(sl_reader_read(reader, options, NULL, &reading, NULL), SL_OK);
    assert_int_equal(reading->error.code, SL_E_NO_FILE);
    assert_string_equal(reading->photo.file, "x.jpg");
    sl_reading_destroy(reading);
    sl_reader_close(reader);
    free(options);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_change),
        cmocka_unit_test(test_bound_share_comes_later),
        cmocka_unit_test(test_bad_value_leaves_reader_sound),
        cmocka_unit_test(test_cancelled_reading),
        cmocka_unit_test(test_no_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
