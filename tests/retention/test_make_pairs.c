// SPDX-License-Identifier: GPL-3.0-or-later
/* Which strips of a document become pairs. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../report/sample.h"

static struct sl_reading *add(struct sl_document *document, const char *ink, size_t strips)
{
    char file[32];
    snprintf(file, sizeof file, "photo-%zu.jpg", document->reading_count + 1);
    struct sl_reading *reading = sample_reading(file, ink, strips);
    assert_int_equal(sl_document_add(document, reading, NULL), SL_OK);
    return reading;
}

static void assert_pair(const struct sl_document *document, size_t index, size_t photo_a,
                        size_t strip_a, size_t photo_b, size_t strip_b)
{
    assert_true(index < document->pair_count);
    const struct sl_pair *pair = &document->pair[index];
    assert_int_equal(pair->immediate.photo, photo_a);
    assert_int_equal(pair->immediate.strip, strip_a);
    assert_int_equal(pair->dried.photo, photo_b);
    assert_int_equal(pair->dried.strip, strip_b);
}

static void two_strips_of_a_photo_are_a_pair(void **state)
{
    (void)state;
    struct sl_document document = {0};
    add(&document, "", 2);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 1);
    assert_pair(&document, 0, 0, 0, 0, 1);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 1);
    sl_document_finish(&document);
}

static void told_roles_win(void **state)
{
    (void)state;
    struct sl_document document = {0};
    struct sl_reading *reading = add(&document, "", 2);
    reading->strip[0].role = SL_ROLE_DRIED;
    reading->strip[1].role = SL_ROLE_IMMEDIATE;
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 1);
    assert_pair(&document, 0, 0, 1, 0, 0);
    sl_document_finish(&document);
}

static void four_strips_are_two_pairs(void **state)
{
    (void)state;
    struct sl_document document = {0};
    struct sl_reading *reading = add(&document, "", 4);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 2);
    assert_pair(&document, 0, 0, 0, 0, 1);
    assert_pair(&document, 1, 0, 2, 0, 3);
    /* told: both dipped at once on the left */
    reading->strip[1].role = SL_ROLE_IMMEDIATE;
    reading->strip[2].role = SL_ROLE_DRIED;
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 2);
    assert_pair(&document, 0, 0, 0, 0, 2);
    assert_pair(&document, 1, 0, 1, 0, 3);
    sl_document_finish(&document);
}

static void two_photos_pair_in_the_order_given(void **state)
{
    (void)state;
    struct sl_document document = {0};
    add(&document, "", 1);
    add(&document, "", 1);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 1);
    assert_pair(&document, 0, 0, 0, 1, 0);
    assert_true(sl_warned(&document.pair[0].warnings, SL_W_ROLES));
    assert_int_equal(document.reading[0]->strip[0].role, SL_ROLE_IMMEDIATE);
    assert_int_equal(document.reading[1]->strip[0].role, SL_ROLE_DRIED);
    sl_document_finish(&document);
}

static void told_roles_win_across_photos(void **state)
{
    (void)state;
    struct sl_document document = {0};
    add(&document, "", 1)->strip[0].role = SL_ROLE_DRIED;
    add(&document, "", 1)->strip[0].role = SL_ROLE_IMMEDIATE;
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_pair(&document, 0, 1, 0, 0, 0);
    assert_false(sl_warned(&document.pair[0].warnings, SL_W_ROLES));
    sl_document_finish(&document);
    sl_document_init(&document);
    add(&document, "", 1)->strip[0].role = SL_ROLE_DRIED;
    add(&document, "", 1);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_pair(&document, 0, 1, 0, 0, 0);
    assert_true(sl_warned(&document.pair[0].warnings, SL_W_ROLES));
    sl_document_finish(&document);
}

static void photos_pair_by_their_inks(void **state)
{
    (void)state;
    struct sl_document document = {0};
    add(&document, "Harbour Dusk", 1)->strip[0].role = SL_ROLE_IMMEDIATE;
    add(&document, "Quay Red", 1)->strip[0].role = SL_ROLE_IMMEDIATE;
    add(&document, "Quay Red", 1)->strip[0].role = SL_ROLE_DRIED;
    add(&document, "Harbour Dusk", 1)->strip[0].role = SL_ROLE_DRIED;
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 2);
    assert_pair(&document, 0, 0, 0, 3, 0);
    assert_pair(&document, 1, 1, 0, 2, 0);
    sl_document_finish(&document);
}

static void two_different_inks_are_refused_and_nothing_is_changed(void **state)
{
    (void)state;
    struct sl_document document = {0};
    struct sl_status status = {0};
    add(&document, "Harbour Dusk", 1);
    add(&document, "Quay Red", 1);
    assert_int_equal(sl_document_make_pairs(&document, &status), SL_E_DIFFERENT_INKS);
    assert_non_null(strstr(status.message, "Harbour Dusk"));
    assert_int_equal(document.pair_count, 0);
    assert_int_equal(document.reading[0]->strip[0].role, SL_ROLE_SINGLE);
    sl_document_finish(&document);
}

static void without_two_strips_there_is_no_pair(void **state)
{
    (void)state;
    static const size_t strips[] = {0, 1, 3};
    struct sl_document empty = {0};
    assert_int_equal(sl_document_make_pairs(&empty, NULL), SL_E_STRIP_COUNT);
    for (size_t i = 0; i < 3; i++) {
        struct sl_document document = {0};
        struct sl_status status = {0};
        add(&document, "", strips[i]);
        assert_int_equal(sl_document_make_pairs(&document, &status), SL_E_STRIP_COUNT);
        assert_true(status.remedy[0] != '\0');
        sl_document_finish(&document);
    }
}

/* The commonest mishap: both strips are in the photo, but one was not found. */
static void a_single_strip_is_told_how_to_go_on(void **state)
{
    (void)state;
    struct sl_document document = {0};
    struct sl_status status = {0};
    add(&document, "", 1);
    assert_int_equal(sl_document_make_pairs(&document, &status), SL_E_STRIP_COUNT);
    assert_non_null(strstr(status.message, "only one was found in photo-1.jpg"));
    assert_non_null(strstr(status.remedy, "--corners"));
    sl_document_finish(&document);
}

static void an_odd_photo_is_left_over(void **state)
{
    (void)state;
    struct sl_document document = {0};
    add(&document, "", 2);
    add(&document, "", 1);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    assert_int_equal(document.pair_count, 1);
    assert_int_equal(document.reading[1]->strip[0].role, SL_ROLE_SINGLE);
    sl_document_finish(&document);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_strips_of_a_photo_are_a_pair),
        cmocka_unit_test(told_roles_win),
        cmocka_unit_test(four_strips_are_two_pairs),
        cmocka_unit_test(two_photos_pair_in_the_order_given),
        cmocka_unit_test(told_roles_win_across_photos),
        cmocka_unit_test(photos_pair_by_their_inks),
        cmocka_unit_test(two_different_inks_are_refused_and_nothing_is_changed),
        cmocka_unit_test(without_two_strips_there_is_no_pair),
        cmocka_unit_test(a_single_strip_is_told_how_to_go_on),
        cmocka_unit_test(an_odd_photo_is_left_over),
    };
    return cmocka_run_group_tests_name("retention/make_pairs", tests, NULL, NULL);
}
