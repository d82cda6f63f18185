// SPDX-License-Identifier: GPL-3.0-or-later
/* Which strips are taken together, how their bands are matched, and the verdict of several. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../report/sample.h"

static struct sl_document photos(size_t count, size_t strips, const char *ink)
{
    struct sl_document document;
    sl_document_init(&document);
    for (size_t i = 0; i < count; i++) {
        char name[32];
        snprintf(name, sizeof name, "photo-%zu.jpg", i + 1);
        sl_document_add(&document, sample_reading(name, ink, strips), NULL);
    }
    return document;
}

static void find(struct sl_document *document)
{
    assert_int_equal(sl_document_make_replicates(document, NULL), SL_OK);
}

static void strips_of_one_ink_are_combined(void **state)
{
    (void)state;
    struct sl_document document = photos(2, 3, "Ullowen Slate");
    find(&document);
    assert_int_equal(document.replicate_count, 1);
    const struct sl_replicate *set = &document.replicate[0];
    assert_int_equal(set->strip_count, 6);
    assert_string_equal(set->ink, "Ullowen Slate");
    assert_int_equal(set->band_count, 3);
    for (size_t k = 0; k < 3; k++) {
        assert_int_equal(set->band[k].rf.count, 6);
        assert_near(set->band[k].rf.value, sample_dyes[k].rf, 1e-9);
        assert_near(set->band[k].rf.between_sd, 0, 1e-9);
        for (size_t i = 0; i < 6; i++)
            assert_int_equal(set->band[k].band[i], k);
    }
    assert_true(set->band[0].retained && !set->band[1].retained);
    assert_int_equal(set->warnings.count, 0);
    sl_document_finish(&document);
}

static void without_a_told_ink_none_are(void **state)
{
    (void)state;
    struct sl_document document = photos(2, 3, "");
    find(&document);
    assert_int_equal(document.replicate_count, 0);
    sl_document_finish(&document);
}

static void other_inks_and_roles_stay_apart(void **state)
{
    (void)state;
    struct sl_document document = photos(2, 4, "Ullowen Slate");
    for (size_t i = 0; i < 4; i++)
        snprintf(document.reading[1]->strip[i].ink, SL_NAME_MAX, "Harbour Dusk");
    snprintf(document.reading[0]->strip[0].ink, SL_NAME_MAX, " ullowen SLATE");
    find(&document);
    assert_int_equal(document.replicate_count, 4);
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(document.replicate[i].strip_count, 2);
    assert_int_not_equal(document.replicate[0].role, document.replicate[1].role);
    sl_document_finish(&document);
}

static void strips_run_differently_are_not_combined(void **state)
{
    (void)state;
    struct sl_document document = photos(4, 1, "Ullowen Slate");
    snprintf(document.reading[1]->conditions.paper, SL_NAME_MAX, "blotting paper");
    snprintf(document.reading[3]->conditions.paper, SL_NAME_MAX, "blotting paper");
    find(&document);
    assert_int_equal(document.replicate_count, 2);
    assert_int_equal(document.replicate[0].strip[1].photo, 2);
    assert_int_equal(document.replicate[1].strip[1].photo, 3);
    const struct sl_warnings *told = &document.reading[1]->strip[0].warnings;
    assert_true(sl_warned(told, SL_W_CONDITIONS));
    assert_non_null(strstr(told->item[0].message, "round filter, blotting paper"));
    assert_non_null(strstr(told->item[0].message, "photo-1.jpg"));
    assert_false(sl_warned(&document.reading[3]->strip[0].warnings, SL_W_CONDITIONS));
    find(&document); /* said once, however often it is looked at */
    assert_int_equal(told->count, 1);
    sl_document_finish(&document);
}

static void time_to_dry_counts_where_it_dried(void **state)
{
    (void)state;
    struct sl_document document = photos(2, 2, "Ullowen Slate");
    document.reading[0]->conditions.dried_min = 10;
    document.reading[1]->conditions.dried_min = 60;
    find(&document);
    assert_int_equal(document.replicate_count, 1);
    assert_int_equal(document.replicate[0].role, SL_ROLE_IMMEDIATE);
    assert_true(sl_warned(&document.reading[1]->strip[1].warnings, SL_W_CONDITIONS));
    sl_document_finish(&document);
}

static void blank_strips_are_left_out(void **state)
{
    (void)state;
    struct sl_document document = photos(1, 3, "Ullowen Slate");
    document.reading[0]->strip[1].marks.blank = true;
    find(&document);
    assert_int_equal(document.replicate_count, 1);
    assert_int_equal(document.replicate[0].strip_count, 2);
    assert_int_equal(document.replicate[0].strip[1].strip, 2);
    sl_document_finish(&document);
}

static void a_strip_that_disagrees_is_named(void **state)
{
    (void)state;
    struct sl_document document = photos(1, 3, "Ullowen Slate");
    sample_retained(&document.reading[0]->strip[1], 0.5, 0.02);
    find(&document);
    const struct sl_replicate *set = &document.replicate[0];
    assert_true(sl_warned(&set->warnings, SL_W_DISAGREES));
    assert_non_null(strstr(set->warnings.item[0].message, "strip 2 of photo-1.jpg"));
    assert_null(strstr(set->warnings.item[0].message, "strip 1 of"));
    assert_true(fabs(set->retained.deviation[1]) > 1);
    assert_true(set->retained.between_sd > 0.1);
    sl_document_finish(&document);
}

/* Where all that is retained is bound both shares lie off alike: named is what the verdict rests
 * on. */
static void the_retained_share_is_named_before_the_bound_one(void **state)
{
    (void)state;
    struct sl_document document = photos(1, 3, "Ullowen Slate");
    sample_retained(&document.reading[0]->strip[1], 0.5, 0.02);
    for (size_t i = 0; i < 3; i++) {
        struct sl_bands *bands = &document.reading[0]->strip[i].bands;
        bands->bound_share = bands->retained_share;
        memcpy(bands->bound_interval, bands->retained_interval, sizeof bands->bound_interval);
    }
    find(&document);
    const struct sl_replicate *set = &document.replicate[0];
    assert_near(set->bound.deviation[1], set->retained.deviation[1], 0);
    assert_non_null(strstr(set->warnings.item[0].message, "its retained share"));
    sl_document_finish(&document);
}

static void two_that_disagree_are_both_named(void **state)
{
    (void)state;
    struct sl_document document = photos(2, 1, "Ullowen Slate");
    sample_retained(&document.reading[1]->strip[0], 0.5, 0.02);
    find(&document);
    const struct sl_warnings *warnings = &document.replicate[0].warnings;
    assert_non_null(strstr(warnings->item[0].message, "the two strips disagree"));
    assert_non_null(strstr(warnings->item[0].message, "photo-1.jpg"));
    assert_non_null(strstr(warnings->item[0].message, "photo-2.jpg"));
    sl_document_finish(&document);
}

/* A band that only one strip has, and one whose colour is another, are dyes of their own. */
static void bands_are_matched_by_place_and_colour(void **state)
{
    (void)state;
    struct sl_document document = photos(1, 3, "Ullowen Slate");
    struct sl_bands *second = &document.reading[0]->strip[1].bands;
    second->item[1].rf += 0.01;
    second->count = 2; /* the third strip's blue is not there */
    const double yellow[3] = {0, 0, 1};
    memcpy(document.reading[0]->strip[2].bands.item[1].signature, yellow, sizeof yellow);
    find(&document);
    const struct sl_replicate *set = &document.replicate[0];
    assert_int_equal(set->band_count, 4);
    size_t two = 0, one = 0, three = 0;
    for (size_t k = 0; k < set->band_count; k++) {
        one += set->band[k].rf.count == 1;
        two += set->band[k].rf.count == 2;
        three += set->band[k].rf.count == 3;
    }
    assert_int_equal(three, 1); /* what is retained */
    assert_int_equal(two, 2);
    assert_int_equal(one, 1);
    sl_document_finish(&document);
}

static bool says(const struct sl_pair *pair, const char *words)
{
    for (size_t i = 0; i < pair->reason_count; i++)
        if (strstr(pair->reason[i], words))
            return true;
    return false;
}

static void several_pairs_give_one_verdict(void **state)
{
    (void)state;
    struct sl_document document = photos(2, 4, "Ullowen Slate");
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    find(&document);
    assert_int_equal(document.pair_count, 4);
    assert_int_equal(document.combined_count, 1);
    const struct sl_combined *one = &document.combined[0];
    assert_int_equal(one->immediate_count, 4);
    assert_int_equal(one->dried_count, 4);
    assert_near(one->pair.immediate_retained_share, 0.03, 1e-9);
    assert_near(one->pair.dried_retained_share, 0.2, 1e-9);
    assert_near(one->pair.dried_bound_share, 0.15, 1e-9);
    assert_near(one->pair.index, 20, 1e-7);
    assert_int_equal(one->pair.unjudged, SL_JUDGED);
    assert_int_equal(one->pair.answer, document.pair[0].answer);
    assert_int_equal(one->pair.level, document.pair[0].level);
    assert_true(says(&one->pair, "the mean of 4 strips dipped at once and 4 dried first"));
    double single = document.pair[0].index_interval[1] - document.pair[0].index_interval[0];
    assert_true(one->pair.index_interval[1] - one->pair.index_interval[0] < single);
    sl_document_finish(&document);
}

/* One more dried strip than strips dipped at once. */
static void a_set_meets_a_single_strip(void **state)
{
    (void)state;
    struct sl_document document = photos(1, 2, "Ullowen Slate");
    struct sl_reading *more = sample_reading("more.jpg", "Ullowen Slate", 1);
    more->strip[0].role = SL_ROLE_DRIED;
    sample_retained(&more->strip[0], 0.24, 0.02);
    sl_document_add(&document, more, NULL);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    find(&document);
    assert_int_equal(document.combined_count, 1);
    assert_int_equal(document.combined[0].immediate_count, 1);
    assert_int_equal(document.combined[0].dried_count, 2);
    assert_near(document.combined[0].pair.dried_retained_share, 0.22, 1e-6);
    assert_near(document.combined[0].pair.index, 22, 1e-4);
    sl_document_finish(&document);
}

/* Dye that runs still lies at the line of a strip that the water hardly climbed: its share would
 * make the mean too high. */
static void a_strip_hardly_climbed_leaves_the_mean_unjudged(void **state)
{
    (void)state;
    struct sl_document document = photos(1, 4, "Ullowen Slate");
    struct sl_marks *marks = &document.reading[0]->strip[3].marks;
    marks->front = marks->origin + 0.05;
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    find(&document);
    assert_int_equal(document.combined_count, 1);
    const struct sl_pair *pair = &document.combined[0].pair;
    assert_int_equal(pair->unjudged, SL_UNJUDGED_CLIMB);
    assert_int_equal(pair->answer, SL_ANSWER_NONE);
    assert_true(isnan(pair->index) && isnan(pair->water_resistant_probability));
    assert_true(says(pair, "Leave that strip out, or repeat it."));
    assert_int_equal(document.pair[0].unjudged, SL_JUDGED);
    assert_int_equal(document.pair[1].unjudged, SL_UNJUDGED_CLIMB);
    sl_document_finish(&document);
}

/* Four strips that each leave it open can settle it together. */
static void the_mean_can_tell_what_no_strip_can(void **state)
{
    (void)state;
    struct sl_document document = photos(4, 2, "Ullowen Slate");
    for (size_t i = 0; i < 4; i++)
        sample_retained(&document.reading[i]->strip[1], 0.089, 0.06);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    find(&document);
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(document.pair[i].answer, SL_ANSWER_OPEN);
    assert_int_equal(document.combined_count, 1);
    const struct sl_pair *pair = &document.combined[0].pair;
    assert_int_equal(pair->answer, SL_ANSWER_PARTLY_STAYS);
    assert_near(pair->water_resistant_probability,
                sl_share_at_least(pair->dried_retained_share, pair->dried_retained_interval,
                                  SL_RETAINED_LIMIT),
                0);
    sl_document_finish(&document);
}

static void one_pair_alone_is_not_combined(void **state)
{
    (void)state;
    struct sl_document document = photos(1, 2, "Ullowen Slate");
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    find(&document);
    assert_int_equal(document.replicate_count + document.combined_count, 0);
    sl_document_finish(&document);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strips_of_one_ink_are_combined),
        cmocka_unit_test(without_a_told_ink_none_are),
        cmocka_unit_test(other_inks_and_roles_stay_apart),
        cmocka_unit_test(strips_run_differently_are_not_combined),
        cmocka_unit_test(time_to_dry_counts_where_it_dried),
        cmocka_unit_test(blank_strips_are_left_out),
        cmocka_unit_test(a_strip_that_disagrees_is_named),
        cmocka_unit_test(the_retained_share_is_named_before_the_bound_one),
        cmocka_unit_test(two_that_disagree_are_both_named),
        cmocka_unit_test(bands_are_matched_by_place_and_colour),
        cmocka_unit_test(several_pairs_give_one_verdict),
        cmocka_unit_test(a_set_meets_a_single_strip),
        cmocka_unit_test(a_strip_hardly_climbed_leaves_the_mean_unjudged),
        cmocka_unit_test(the_mean_can_tell_what_no_strip_can),
        cmocka_unit_test(one_pair_alone_is_not_combined),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
