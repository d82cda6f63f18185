// SPDX-License-Identifier: GPL-3.0-or-later
/* Advice from bands whose intervals, with and without each source of error, are set by hand. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "strandline/advice.h"

struct scene {
    struct sl_photo_info photo;
    struct sl_outline outline;
    struct sl_marks marks;
    struct sl_bands bands;
    double length_mm;
    struct sl_warnings of_photo, of_strip;
};

static void interval(double middle, double half, double ret[2])
{
    ret[0] = middle - half;
    ret[1] = middle + half;
}

/* A strip of two bands that fills the frame, its length told; no source widens anything. */
static struct scene good_scene(void)
{
    struct scene s = {.photo = {.width_px = 3000, .height_px = 4000}, .length_mm = 100};
    const struct sl_point corner[4] = {{1000, 3800}, {1500, 3800}, {1500, 300}, {1000, 300}};
    memcpy(s.outline.corner_px, corner, sizeof corner);
    s.marks = (struct sl_marks){.origin = 0.2,
                                .front = 0.9,
                                .front_seen = SL_FRONT_WATER_LINE,
                                .line_width = 0.012,
                                .light_ratio = 1.05,
                                .light_step = 1.02};
    s.bands.count = 2;
    s.bands.has_without = true;
    for (size_t k = 0; k < 2; k++) {
        struct sl_band *band = &s.bands.item[k];
        *band = (struct sl_band){.rf = 0.4 + 0.4 * (double)k, .share = 0.4};
        interval(band->rf, 0.01, band->rf_interval);
        interval(band->share, 0.05, band->share_interval);
    }
    interval(0.2, 0.03, s.bands.retained_interval);
    interval(0.15, 0.1, s.bands.bound_interval);
    for (int q = 0; q < SL_SOURCE_COUNT; q++) {
        struct sl_bands_without *w = &s.bands.without[q];
        for (size_t k = 0; k < 2; k++) {
            memcpy(w->rf_interval[k], s.bands.item[k].rf_interval, sizeof w->rf_interval[k]);
            memcpy(w->share_interval[k], s.bands.item[k].share_interval,
                   sizeof w->share_interval[k]);
        }
        memcpy(w->retained_interval, s.bands.retained_interval, sizeof w->retained_interval);
        memcpy(w->bound_interval, s.bands.bound_interval, sizeof w->bound_interval);
    }
    return s;
}

static struct sl_advice_list advise(const struct scene *s)
{
    struct sl_advice_list list = {.count = 77};
    sl_advise(&s->photo, &s->outline, &s->marks, s->length_mm, &s->bands, &s->of_photo,
              &s->of_strip, &list);
    return list;
}

static void assert_causes(const struct scene *s, size_t count, const enum sl_cause *causes)
{
    struct sl_advice_list list = advise(s);
    assert_int_equal(list.count, count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(sl_cause_name(list.item[i].cause), sl_cause_name(causes[i]));
}

static void front_unseen(struct scene *s)
{
    s->marks.front_seen = SL_FRONT_NOT_SEEN;
    for (size_t k = 0; k < 2; k++)
        interval(s->bands.item[k].rf, 0.2, s->bands.item[k].rf_interval);
    for (int q = 0; q < SL_SOURCE_COUNT; q++)
        for (size_t k = 0; k < 2; k++)
            interval(s->bands.item[k].rf, q == SL_SOURCE_FRONT ? 0.01 : 0.2,
                     s->bands.without[q].rf_interval[k]);
}

static void light_unknown(struct scene *s)
{
    s->marks.light_ratio = 1.3;
    interval(0.15, 0.05, s->bands.without[SL_SOURCE_LIGHT].bound_interval);
}

static void a_good_photo_gets_none(void **state)
{
    (void)state;
    struct scene s = good_scene();
    assert_causes(&s, 0, NULL);
    front_unseen(&s); /* a loaded strip or one without ink has nothing to go by */
    s.bands.has_without = false;
    assert_causes(&s, 0, NULL);
}

static void greatest_gain_first(void **state)
{
    (void)state;
    struct scene s = good_scene();
    front_unseen(&s);
    light_unknown(&s);
    struct sl_advice_list list = advise(&s);
    assert_int_equal(list.count, 2);
    assert_int_equal(list.item[0].cause, SL_CAUSE_FRONT);
    assert_int_equal(list.item[1].cause, SL_CAUSE_BOTH_SIDES);
    assert_true(list.item[0].gain > list.item[1].gain);
    /* half of the interval of the bound share goes */
    assert_true(fabs(list.item[1].gain - 0.5) < 1e-9);
    assert_true(list.item[1].effect[SL_NUMBER_SHARE].gain == 0);
    interval(0.15, 0.001, s.bands.without[SL_SOURCE_LIGHT].bound_interval);
    list = advise(&s);
    assert_int_equal(list.item[0].cause, SL_CAUSE_BOTH_SIDES);
}

/* A pencil front has an error of its own: it is not promised away, and not asked for twice. */
static void front_marked_in_pencil(void **state)
{
    (void)state;
    struct scene s = good_scene();
    front_unseen(&s);
    struct sl_advice_list list = advise(&s);
    const struct sl_advice_effect *effect = &list.item[0].effect[SL_NUMBER_RF];
    assert_int_equal(effect->band, 0); /* both shrink alike: the first */
    assert_true(effect->then[0] < 0.4 - 0.01 && effect->then[0] > 0.4 - 0.02);
    s.marks.front_seen = SL_FRONT_PENCIL;
    assert_causes(&s, 0, NULL);
    s.marks.front_seen = SL_FRONT_GIVEN;
    s.marks.given_front = true;
    assert_causes(&s, 0, NULL);
}

static void what_is_not_noticed_is_not_said(void **state)
{
    (void)state;
    struct scene s = good_scene();
    s.marks.light_ratio = 1.3;
    double(*then)[2] = &s.bands.without[SL_SOURCE_LIGHT].bound_interval;
    interval(0.3, 0.25, s.bands.bound_interval);
    for (int q = 0; q < SL_SOURCE_COUNT; q++)
        interval(0.3, 0.25, s.bands.without[q].bound_interval);
    interval(0.3, 0.23, *then); /* 8 % of the interval */
    assert_causes(&s, 0, NULL);
    interval(0.3, 0.22, *then);
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_BOTH_SIDES});
    for (int q = 0; q < SL_SOURCE_COUNT; q++)
        interval(0.3, 0.03, s.bands.without[q].bound_interval);
    interval(0.3, 0.03, s.bands.bound_interval);
    interval(0.3, 0.015, *then); /* half of it, but only a percent and a half */
    assert_causes(&s, 0, NULL);
}

static void the_photo_tells_what_spoils_the_light(void **state)
{
    (void)state;
    struct scene s = good_scene();
    char words[SL_ADVICE_BYTES];
    light_unknown(&s);
    s.marks.light_ratio = 1.05; /* even light: what is left of its doubt nobody can remove */
    assert_causes(&s, 0, NULL);
    s.marks.light_ratio = 1.5;
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_BOTH_SIDES});
    struct sl_advice_list list = advise(&s);
    sl_advice_words(&list.item[0], "", words, sizeof words);
    assert_non_null(strstr(words, "would at best be about 10 to 20 %."));
    s.marks.light_step = 1.3;
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_SHADOW});
    sl_warn(&s.of_strip, SL_W_NO_CLEAN_PAPER, "", "", "x");
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_CLEAN_PAPER});
    sl_warn(&s.of_strip, SL_W_CLIPPED, "", "", "x");
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_CLIPPED});
}

static void blur_comes_first_and_has_no_size(void **state)
{
    (void)state;
    struct scene s = good_scene();
    char words[SL_ADVICE_BYTES];
    front_unseen(&s);
    sl_warn(&s.of_photo, SL_W_BLURRED, "", "", "x");
    assert_causes(&s, 2, (enum sl_cause[]){SL_CAUSE_BLUR, SL_CAUSE_FRONT});
    struct sl_advice_list list = advise(&s);
    sl_advice_words(&list.item[0], "", words, sizeof words);
    assert_null(strstr(words, "would be"));
    assert_non_null(strstr(words, "what is retained at the ink line comes out too low."));
    s.of_photo.count = 0;
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_FRONT});
    for (int i = 0; i < 4; i++) { /* a strip of 350 px in 4000: its line is 4 px wide */
        s.outline.corner_px[i].x /= 10;
        s.outline.corner_px[i].y /= 10;
    }
    assert_causes(&s, 2, (enum sl_cause[]){SL_CAUSE_CLOSER, SL_CAUSE_FRONT});
    s.photo.height_px = 400; /* nothing nearer fits the frame */
    s.photo.width_px = 300;
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_FRONT});
}

static void a_told_length_or_origin_is_not_asked_for(void **state)
{
    (void)state;
    struct scene s = good_scene();
    interval(0.15, 0.05, s.bands.without[SL_SOURCE_SCALE].bound_interval);
    assert_causes(&s, 0, NULL);
    s.length_mm = NAN;
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_LENGTH});
    s = good_scene();
    interval(0.4, 0.002, s.bands.without[SL_SOURCE_ORIGIN].rf_interval[0]);
    assert_causes(&s, 1, &(enum sl_cause){SL_CAUSE_ORIGIN});
    s.marks.given_origin = true;
    assert_causes(&s, 0, NULL);
}

static void words_say_deed_number_and_size(void **state)
{
    (void)state;
    struct scene s = good_scene();
    char words[SL_ADVICE_BYTES];
    s.length_mm = NAN;
    interval(0.465, 0.045, s.bands.without[SL_SOURCE_SCALE].bound_interval);
    interval(0.465, 0.095, s.bands.bound_interval);
    struct sl_advice_list list = advise(&s);
    sl_advice_words(&list.item[0], " on strip 2", words, sizeof words);
    assert_string_equal(words, "Measure the strip's length and tell it with --length-mm: what is "
                               "bound on strip 2, now 37 to 56 %, would be about 42 to 51 %.");
    sl_advice_index_words(&list.item[0], words, sizeof words);
    assert_string_equal(words, ""); /* the index is of what is retained */
    interval(0.5, 0.08, s.bands.retained_interval);
    for (int q = 0; q < SL_SOURCE_COUNT; q++)
        interval(0.5, q == SL_SOURCE_SCALE ? 0.04 : 0.08, s.bands.without[q].retained_interval);
    list = advise(&s);
    sl_advice_index_words(&list.item[0], words, sizeof words);
    assert_string_equal(words, "Measure the strip's length and tell it with --length-mm: the "
                               "retention index, now 42 to 58, would be about 46 to 54.");
    front_unseen(&s);
    list = advise(&s);
    sl_advice_index_words(&list.item[0], words, sizeof words);
    assert_string_equal(words, "");
}

static void every_cause_has_a_name(void **state)
{
    (void)state;
    for (int i = 0; i < SL_CAUSE_COUNT; i++) {
        enum sl_cause cause = SL_CAUSE_COUNT;
        assert_true(sl_cause_from_name(sl_cause_name((enum sl_cause)i), &cause));
        assert_int_equal(cause, i);
    }
    enum sl_cause cause;
    assert_false(sl_cause_from_name("sloth", &cause));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_good_photo_gets_none),
        cmocka_unit_test(greatest_gain_first),
        cmocka_unit_test(front_marked_in_pencil),
        cmocka_unit_test(what_is_not_noticed_is_not_said),
        cmocka_unit_test(the_photo_tells_what_spoils_the_light),
        cmocka_unit_test(blur_comes_first_and_has_no_size),
        cmocka_unit_test(a_told_length_or_origin_is_not_asked_for),
        cmocka_unit_test(words_say_deed_number_and_size),
        cmocka_unit_test(every_cause_has_a_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
