// SPDX-License-Identifier: GPL-3.0-or-later
/* Strips on one axis: resampling keeps areas, likeness behaves as a likeness, shared dyes are found
 * within their uncertainty and not beyond it. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../report/sample.h"

enum { INKS = 4 };

static const struct sample_dye near_ink[3] = {{0.0, 0.02, 0.04, 1.0, 1.0, 0.9},
                                              {0.47, 0.05, 0.05, 0.1, 1.0, 0.3},
                                              {0.7, 0.04, 0.05, 1.0, 0.2, 0.1}};
static const struct sample_dye far_ink[1] = {{0.65, 0.03, 0.1, 0.0, 0.05, 1.0}};

static void renew(struct sl_strip *strip, const char *ink, const struct sample_dye *dyes,
                  size_t count)
{
    sl_profile_finish(&strip->profile);
    sl_bands_finish(&strip->bands);
    sample_strip(strip, SL_ROLE_SINGLE, ink, dyes, count);
}

/* Strip 0 and 1 the same ink, 2 a related one, 3 another; all single. */
static struct sl_document row(void)
{
    struct sl_document document = {0};
    struct sl_reading *reading = sample_reading("row.jpg", "", INKS);
    renew(&reading->strip[0], "Harbour Dusk", sample_dyes, 3);
    renew(&reading->strip[1], "Harbour Dusk", sample_dyes, 3);
    renew(&reading->strip[2], "Harbour Fog", near_ink, 3);
    renew(&reading->strip[3], "Lantern", far_ink, 1);
    assert_int_equal(sl_document_add(&document, reading, NULL), SL_OK);
    return document;
}

static struct sl_overlay made(const struct sl_document *document)
{
    struct sl_overlay overlay;
    assert_int_equal(sl_overlay_make(document, &overlay, NULL), SL_OK);
    return overlay;
}

static double like(const struct sl_overlay *overlay, size_t i, size_t j)
{
    return overlay->likeness[i * overlay->trace_count + j];
}

static void the_axis_is_as_documented(void **state)
{
    (void)state;
    struct sl_document document = row();
    struct sl_overlay overlay = made(&document);
    assert_near(overlay.rf[0], -0.2, 1e-12);
    assert_near(overlay.rf[80], 0, 1e-12);
    assert_near(overlay.rf[SL_OVERLAY_SAMPLES - 1], 1.2, 1e-12);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

/* The yellow dye's area is 0.1 in Rf, times 1.05 for its channels. */
static void resampling_keeps_area_and_place(void **state)
{
    (void)state;
    struct sl_document document = row();
    struct sl_overlay overlay = made(&document);
    double area = 0, moment = 0;
    for (size_t k = 0; k < SL_OVERLAY_SAMPLES; k++) {
        const double *load = overlay.trace[3].load[k];
        if (!isfinite(load[0]))
            continue;
        area += (load[0] + load[1] + load[2]) * 0.0025;
        moment += (load[0] + load[1] + load[2]) * 0.0025 * overlay.rf[k];
    }
    assert_near(area, 0.105, 0.105 * 1e-4);
    assert_near(moment / area, 0.65, 1e-4);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

/* Origin 0.2 and front 0.9: the paper ends at Rf 1.143 and begins at -0.286. */
static void off_the_paper_nothing_is_known(void **state)
{
    (void)state;
    struct sl_document document = row();
    document.reading[0]->strip[1].profile.flags[120] = SL_CELL_HIDDEN;
    struct sl_overlay overlay = made(&document);
    assert_true(isfinite(overlay.trace[0].load[0][0]));
    assert_true(isfinite(overlay.trace[0].load[536][0]));
    assert_true(isnan(overlay.trace[0].load[538][0]));
    double hidden_rf = ((120 + 0.5) / SAMPLE_COUNT - 0.2) / 0.7;
    size_t k = (size_t)lround((hidden_rf + 0.2) / 0.0025);
    assert_true(isnan(overlay.trace[1].load[k][1]) && isfinite(overlay.trace[0].load[k][1]));
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static void likeness_is_symmetric_and_one_with_itself(void **state)
{
    (void)state;
    struct sl_document document = row();
    struct sl_overlay overlay = made(&document);
    for (size_t i = 0; i < INKS; i++) {
        assert_near(like(&overlay, i, i), 1, 1e-12);
        for (size_t j = 0; j < INKS; j++) {
            assert_near(like(&overlay, i, j), like(&overlay, j, i), 0);
            assert_true(like(&overlay, i, j) >= 0 && like(&overlay, i, j) <= 1);
        }
    }
    assert_near(like(&overlay, 0, 1), 1, 1e-12);
    assert_true(like(&overlay, 0, 2) > 0.3 && like(&overlay, 0, 2) < 0.9);
    assert_true(like(&overlay, 0, 3) < 0.1);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static void likeness_does_not_depend_on_the_amount_of_ink(void **state)
{
    (void)state;
    struct sl_document document = row();
    struct sl_overlay before = made(&document);
    struct sl_profile *profile = &document.reading[0]->strip[0].profile;
    for (size_t i = 0; i < profile->count; i++)
        for (int c = 0; c < 3; c++)
            profile->load[i][c] *= 0.4;
    struct sl_overlay after = made(&document);
    for (size_t i = 0; i < INKS * INKS; i++)
        assert_near(before.likeness[i], after.likeness[i], 1e-9);
    sl_overlay_finish(&before);
    sl_overlay_finish(&after);
    sl_document_finish(&document);
}

/* Two bands of equal Gaussians, sigma s, d apart: likeness = erfc(d / (2 sqrt 2 s)), the overlap of
 * two normal distributions; s with the blur of 0.01 Rf. */
static void likeness_of_shifted_bands_is_their_overlap(void **state)
{
    (void)state;
    static const struct sample_dye here = {0.40, 0.04, 0.1, 0.2, 1.0, 0.4};
    static const struct sample_dye there = {0.46, 0.04, 0.1, 0.2, 1.0, 0.4};
    struct sl_document document = row();
    renew(&document.reading[0]->strip[0], "", &here, 1);
    renew(&document.reading[0]->strip[1], "", &there, 1);
    struct sl_overlay overlay = made(&document);
    double s = hypot(0.04, 0.01);
    assert_near(like(&overlay, 0, 1), erfc(0.06 / (2 * sqrt(2) * s)), 2e-3);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static bool shares(const struct sl_overlay *overlay, size_t t1, size_t b1, size_t t2, size_t b2)
{
    for (size_t i = 0; i < overlay->shared_count; i++) {
        const struct sl_shared_dye *s = &overlay->shared[i];
        if (s->trace_1 == t1 && s->band_1 == b1 && s->trace_2 == t2 && s->band_2 == b2)
            return true;
    }
    return false;
}

static void shared_dyes_agree_in_rf_and_colour(void **state)
{
    (void)state;
    struct sl_document document = row();
    struct sl_overlay overlay = made(&document);
    for (size_t b = 1; b < 3; b++)
        assert_true(shares(&overlay, 0, b, 1, b));
    assert_false(shares(&overlay, 0, 0, 1, 0)); /* grey at the line: what stays has no Rf to tell */
    assert_false(shares(&overlay, 0, 0, 2, 0));
    assert_true(shares(&overlay, 0, 1, 2, 1));  /* pink, 0.02 apart */
    assert_false(shares(&overlay, 0, 2, 2, 2)); /* turquoise, 0.2 apart */
    assert_false(shares(&overlay, 2, 2, 3, 0)); /* near, but of other colour */
    for (size_t i = 0; i < overlay.shared_count; i++) {
        const struct sl_shared_dye *s = &overlay.shared[i];
        assert_true(s->trace_1 < s->trace_2);
        assert_true(fabs(s->rf_difference) <= s->rf_allowance);
        assert_true(s->signature_angle_deg <= s->signature_allowance_deg);
        assert_true(s->hue_name[0] != '\0');
    }
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

/* 0.004 each and 0.03 between runs: sqrt(2 * 0.004^2 + 0.03^2) = 0.030529. Standard errors of 0.01
 * in each channel: both directions across share sum(se^2 (1 - s^2)) = 2e-4 a band, so the angle is
 * allowed sqrt(5.991 * 2e-4) rad = 1.9833 degrees, with 5 between runs 5.379. */
static void allowances_are_those_of_the_difference(void **state)
{
    (void)state;
    struct sl_document document = row();
    struct sl_overlay overlay = made(&document);
    assert_near(overlay.shared[0].rf_allowance, 0.030529, 1e-6);
    assert_near(overlay.shared[0].signature_allowance_deg, 5.379, 1e-3);
    sl_overlay_finish(&overlay);
    struct sl_band *band = &document.reading[0]->strip[0].bands.item[2];
    band->rf_interval[0] = 0.3; /* a front that was not seen */
    band->rf_interval[1] = 1.5;
    overlay = made(&document);
    assert_false(shares(&overlay, 0, 2, 1, 2));
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static void labels_tell_strips_apart(void **state)
{
    (void)state;
    struct sl_document document = row();
    struct sl_overlay overlay = made(&document);
    assert_string_equal(overlay.trace[0].label, "Harbour Dusk");
    assert_string_equal(overlay.trace[1].label, "Harbour Dusk (2)");
    assert_string_equal(overlay.trace[2].label, "Harbour Fog");
    sl_overlay_finish(&overlay);
    struct sl_strip *strip = document.reading[0]->strip;
    strip[0].ink[0] = strip[1].ink[0] = '\0';
    strip[1].role = SL_ROLE_DRIED;
    snprintf(document.reading[0]->photo.file, 64, "photos/quay.jpg");
    overlay = made(&document);
    assert_string_equal(overlay.trace[0].label, "quay.jpg 1");
    assert_string_equal(overlay.trace[1].label, "quay.jpg 2, dried first");
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static void blank_strips_are_left_out(void **state)
{
    (void)state;
    struct sl_document document = row();
    document.reading[0]->strip[1].marks.blank = true;
    struct sl_overlay overlay = made(&document);
    assert_int_equal(overlay.trace_count, INKS - 1);
    assert_int_equal(overlay.trace[1].ref.strip, 2);
    sl_overlay_finish(&overlay);
    for (size_t i = 0; i < INKS; i++)
        document.reading[0]->strip[i].marks.blank = true;
    assert_int_equal(sl_overlay_make(&document, &overlay, NULL), SL_E_STRIP_COUNT);
    sl_document_finish(&document);
}

static void too_many_strips_are_refused(void **state)
{
    (void)state;
    struct sl_document document = {0};
    for (size_t i = 0; i <= SL_OVERLAY_MAX / 8; i++)
        assert_int_equal(sl_document_add(&document, sample_reading("p.jpg", "", 8), NULL), SL_OK);
    struct sl_overlay overlay;
    struct sl_status status = {0};
    assert_int_equal(sl_overlay_make(&document, &overlay, &status), SL_E_STRIP_COUNT);
    assert_non_null(strstr(status.message, "64"));
    sl_document_finish(&document);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_axis_is_as_documented),
        cmocka_unit_test(resampling_keeps_area_and_place),
        cmocka_unit_test(off_the_paper_nothing_is_known),
        cmocka_unit_test(likeness_is_symmetric_and_one_with_itself),
        cmocka_unit_test(likeness_does_not_depend_on_the_amount_of_ink),
        cmocka_unit_test(likeness_of_shifted_bands_is_their_overlap),
        cmocka_unit_test(shared_dyes_agree_in_rf_and_colour),
        cmocka_unit_test(allowances_are_those_of_the_difference),
        cmocka_unit_test(labels_tell_strips_apart),
        cmocka_unit_test(blank_strips_are_left_out),
        cmocka_unit_test(too_many_strips_are_refused),
    };
    return cmocka_run_group_tests_name("overlay", tests, NULL, NULL);
}
