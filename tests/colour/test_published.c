// SPDX-License-Identifier: GPL-3.0-or-later
/* The colour step against published figures; the source of each table stands at its head. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "strandline/colour.h"

#include "../band/csv.h"

static int setup(void **state)
{
    struct sl_lab *lab = NULL;
    assert_int_equal(sl_lab_create(&lab, NULL), SL_OK);
    *state = lab;
    return 0;
}

static int teardown(void **state)
{
    sl_lab_destroy(*state);
    return 0;
}

static void transfer_function_is_that_of_the_standard(void **state)
{
    (void)state;
    struct csv_row row;
    size_t rows = 0;
    FILE *file = csv_open("reference/srgb-transfer.csv");
    while (csv_next(file, &row)) {
        double in = csv_number(&row, 1), want = csv_number(&row, 2);
        double got = strcmp(row.field[0], "decode8") == 0  ? sl_srgb_decode(in / 255)
                     : strcmp(row.field[0], "decode") == 0 ? sl_srgb_decode(in)
                                                           : sl_srgb_encode(in);
        if (fabs(got - want) > csv_number(&row, 3))
            fail_msg("%s %g: %.10f instead of %.10f", row.field[0], in, got, want);
        rows++;
    }
    fclose(file);
    assert_int_equal(rows, 26);
}

static void transfer_function_extends_oddly_and_without_a_clamp(void **state)
{
    (void)state;
    for (double v = -2; v <= 2; v += 0.001) {
        assert_true(fabs(sl_srgb_encode(sl_srgb_decode(v)) - v) < 1e-6);
        assert_true(sl_srgb_decode(-v) == -sl_srgb_decode(v));
    }
}

/* The whole chain: encoded samples, linear light, L*a*b*. The table has four decimals and agrees
 * with lcms2 to 6e-5; single precision in between adds some 1e-5. */
static void encoded_colours_have_the_lab_values_of_the_table(void **state)
{
    struct csv_row row;
    struct sl_colour *srgb = NULL;
    size_t rows = 0;
    assert_int_equal(sl_colour_create(NULL, 0, &srgb, NULL), SL_OK);
    FILE *file = csv_open("reference/srgb8-to-lab-d50.csv");
    while (csv_next(file, &row)) {
        uint8_t rgb[3];
        float linear[3];
        double wide[1][3], lab[1][3];
        for (size_t k = 0; k < 3; k++)
            rgb[k] = (uint8_t)csv_number(&row, 1 + k);
        sl_colour_to_linear(srgb, rgb, 8, 1, linear);
        for (int k = 0; k < 3; k++)
            wide[0][k] = (double)linear[k];
        sl_lab_from_linear(*state, (const double(*)[3])wide, 1, lab);
        for (size_t k = 0; k < 3; k++)
            if (fabs(lab[0][k] - csv_number(&row, 4 + k)) > 0.001)
                fail_msg("%s: %.4f instead of %s", row.field[0], lab[0][k], row.field[4 + k]);
        uint8_t back[3];
        sl_lab_to_srgb8(*state, lab[0], back);
        assert_memory_equal(back, rgb, 3);
        rows++;
    }
    fclose(file);
    sl_colour_destroy(srgb);
    assert_int_equal(rows, 25);
}

/* The linear values are published to 5e-5 of an own computation, L*a*b* to three decimals; in the
 * darkest channels (0.007 of yellow's blue) 5e-5 is 0.1 in b*, elsewhere far less. */
static void chart_of_24_patches_has_its_lab_values(void **state)
{
    struct csv_row row;
    size_t rows = 0;
    FILE *file = csv_open("reference/chart24.csv");
    while (csv_next(file, &row)) {
        double linear[1][3], lab[1][3], want[3];
        for (size_t k = 0; k < 3; k++) {
            want[k] = csv_number(&row, 1 + k);
            linear[0][k] = csv_number(&row, 4 + k);
        }
        sl_lab_from_linear(*state, (const double(*)[3])linear, 1, lab);
        double difference = sl_ciede2000(lab[0], want);
        if (difference > 0.03)
            fail_msg("%s: CIEDE2000 %.4f", row.field[0], difference);
        rows++;
    }
    fclose(file);
    assert_int_equal(rows, 24);
}

static void ciede2000_matches_all_published_pairs_both_ways(void **state)
{
    (void)state;
    struct csv_row row;
    size_t rows = 0;
    FILE *file = csv_open("reference/ciede2000-pairs.csv");
    while (csv_next(file, &row)) {
        double first[3], second[3], want = csv_number(&row, 7);
        for (size_t k = 0; k < 3; k++) {
            first[k] = csv_number(&row, 1 + k);
            second[k] = csv_number(&row, 4 + k);
        }
        if (fabs(sl_ciede2000(first, second) - want) > 5e-5 + 1e-9 ||
            fabs(sl_ciede2000(second, first) - want) > 5e-5 + 1e-9)
            fail_msg("pair %s: %.5f and %.5f instead of %.4f", row.field[0],
                     sl_ciede2000(first, second), sl_ciede2000(second, first), want);
        rows++;
    }
    fclose(file);
    assert_int_equal(rows, 34);
}

/* CIE 15: C*ab = sqrt(a*^2 + b*^2), h_ab = atan2(b*, a*), 0 to 360 degrees. */
static void chroma_and_hue_angle_follow_cie_15(void **state)
{
    (void)state;
    const double cases[][5] = {{50, 3, 4, 5, 53.13010235},
                               {50, -3, 4, 5, 126.86989765},
                               {50, -3, -4, 5, 233.13010235},
                               {50, 3, -4, 5, 306.86989765},
                               {50, 7, 0, 7, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_true(fabs(sl_lab_chroma(cases[i]) - cases[i][3]) < 1e-12);
        assert_true(fabs(sl_lab_hue_deg(cases[i]) - cases[i][4]) < 1e-7);
    }
    const double just_below[3] = {50, 7, -1e-300};
    assert_true(sl_lab_hue_deg(just_below) >= 0 && sl_lab_hue_deg(just_below) < 360);
}

static void light_beyond_white_and_below_black_stays_finite_and_ordered(void **state)
{
    const double linear[3][3] = {{1.5, 1.5, 1.5}, {1, 1, 1}, {-0.02, 0.3, 0.4}};
    double lab[3][3];
    uint8_t rgb[3];
    sl_lab_from_linear(*state, linear, 3, lab);
    /* L* of 1.5 times white: 116 x 1.5^(1/3) - 16 (CIE 15) */
    assert_true(fabs(lab[0][0] - (116 * cbrt(1.5) - 16)) < 1e-3);
    assert_true(fabs(lab[1][0] - 100) < 1e-3 && sl_lab_chroma(lab[1]) < 1e-3);
    assert_true(lab[2][1] < 0 && isfinite(lab[2][2]));
    sl_lab_to_srgb8(*state, lab[2], rgb); /* out of the gamut: clipped */
    assert_int_equal(rgb[0], 0);
    sl_lab_to_srgb8(*state, lab[0], rgb);
    assert_int_equal(rgb[0], 255);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(transfer_function_is_that_of_the_standard),
        cmocka_unit_test(transfer_function_extends_oddly_and_without_a_clamp),
        cmocka_unit_test(encoded_colours_have_the_lab_values_of_the_table),
        cmocka_unit_test(chart_of_24_patches_has_its_lab_values),
        cmocka_unit_test(ciede2000_matches_all_published_pairs_both_ways),
        cmocka_unit_test(chroma_and_hue_angle_follow_cie_15),
        cmocka_unit_test(light_beyond_white_and_below_black_stays_finite_and_ordered),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
