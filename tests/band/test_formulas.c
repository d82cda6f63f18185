// SPDX-License-Identifier: GPL-3.0-or-later
/* Rf, resolution, plates and symmetry against published examples and definitions. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "band/shape.h"
#include "csv.h"
#include "strandline/band.h"

/* cmocka's own comparison is in single precision. */
static void assert_close(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.12g, expected %.12g", value, expected);
}

/* Source of each row: fixtures/reference/rf-worked-examples.csv, column source. */
static void rf_of_worked_examples(void **state)
{
    (void)state;
    struct csv_row row;
    int rows = 0;
    FILE *file = csv_open("reference/rf-worked-examples.csv");
    while (csv_next(file, &row)) {
        double published = csv_number(&row, 6), decimals = csv_number(&row, 7);
        double origin = 0.0, apex = csv_number(&row, 4), front = csv_number(&row, 5);
        if (row.field[1][0]) {
            origin = csv_number(&row, 1);
            apex = csv_number(&row, 2);
            front = csv_number(&row, 3);
        }
        double tolerance = 0.5 * pow(10.0, -decimals) + 1e-12;
        if (fabs(sl_rf(apex, origin, front) - published) > tolerance)
            fail_msg("%s: %g, published %g", row.field[0], sl_rf(apex, origin, front), published);
        /* Moving and scaling the ruler changes nothing. */
        double moved = sl_rf(3.0 * (apex + 7.0), 3.0 * (origin + 7.0), 3.0 * (front + 7.0));
        assert_close(moved, sl_rf(apex, origin, front), 1e-12);
        rows++;
    }
    fclose(file);
    assert_int_equal(rows, 40);
}

/* One row of fixtures/reference/chromatography-formulas.csv: expected value(s) and tolerance. */
struct check {
    double expected[2], tolerance;
};

static struct check find_check(const char *id)
{
    struct csv_row row;
    struct check check = {{NAN, NAN}, 0.0};
    FILE *file = csv_open("reference/chromatography-formulas.csv");
    while (csv_next(file, &row)) {
        if (strcmp(row.field[0], id) != 0)
            continue;
        assert_true(sscanf(row.field[3], "%lf;%lf", &check.expected[0], &check.expected[1]) >= 1);
        check.tolerance = csv_number(&row, 4);
    }
    fclose(file);
    if (isnan(check.expected[0]))
        fail_msg("no row %s", id);
    return check;
}

static void expect(const char *id, double value)
{
    struct check check = find_check(id);
    if (fabs(value - check.expected[0]) > check.tolerance)
        fail_msg("%s: %.9g, expected %.9g", id, value, check.expected[0]);
}

/* IUPAC Gold Book R05353; USP <621>; Ph. Eur. 2.2.46. */
static void formulas_of_the_pharmacopoeias(void **state)
{
    (void)state;
    expect("rf", sl_rf(73.0, 10.0, 90.0));
    expect("hrf", sl_hrf(0.7875));
    expect("rs-planar", sl_resolution(0.40, 0.55, 5.0 / 80.0, 6.0 / 80.0));
    expect("rs-gauss-1.18", sl_resolution(0.0, 4.0, 2.354820, 2.354820));
    expect("n-half", sl_plates(63.0, 4.2));
    expect("as", sl_symmetry_factor(8.4, 3.5));
}

/* Values of the exponentially modified Gaussian were computed with an independent library (scipy).
 */
static void shape_of_a_tailing_band(void **state)
{
    (void)state;
    static const struct {
        double tau;
        const char *as, *b_a, *apex;
    } rows[] = {{0.5, "emg-0.5-as", "emg-0.5-b/a", "emg-0.5-apex"},
                {1.0, "emg-1-as", "emg-1-b/a", "emg-1-apex"},
                {2.0, "emg-2-as", "emg-2-b/a", "emg-2-apex"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double tau = rows[i].tau, lead, tenth_lead;
        double twentieth = shape_emg_width(0.0, 1.0, tau, 0.05, &lead);
        double tenth = shape_emg_width(0.0, 1.0, tau, 0.1, &tenth_lead);
        struct check apex = find_check(rows[i].apex);
        expect(rows[i].as, sl_symmetry_factor(twentieth, lead));
        expect(rows[i].b_a, (tenth - tenth_lead) / tenth_lead);
        /* The table's tail is on the far side, ours towards the origin. */
        assert_close(-shape_emg_apex(0.0, 1.0, tau), apex.expected[0], apex.tolerance);
        assert_close(shape_emg_width(0.0, 1.0, tau, 0.5, NULL), apex.expected[1], apex.tolerance);
    }
}

static void width_of_a_gaussian(void **state)
{
    (void)state;
    double lead;
    double width = shape_emg_width(0.3, 1.0, 0.0, 0.05, &lead);
    expect("w-gauss-0.05", width);
    expect("as-gauss", sl_symmetry_factor(width, lead));
    expect("w-gauss-0.5", shape_emg_width(0.3, 1.0, 0.0, 0.5, NULL));
    expect("w-gauss-0.1", shape_emg_width(0.3, 1.0, 0.0, 0.1, NULL));
}

/* Plain geometry: lengths don't matter, rounding never leaves acos without a value. */
static void signatures_differ_by_an_angle(void **state)
{
    (void)state;
    const double red[3] = {2.0, 0.0, 0.0}, half[3] = {0.3, 0.3, 0.0}, none[3] = {0.0, 0.0, 0.0};
    const double odd[3] = {0.1, 0.7, 0.3}, longer[3] = {0.3, 2.1, 0.9},
                 back[3] = {-0.1, -0.7, -0.3};
    assert_true(fabs(sl_signature_angle_rad(red, half) - acos(-1.0) / 4) < 1e-12);
    assert_true(sl_signature_angle_rad(odd, longer) < 1e-7);
    assert_true(fabs(sl_signature_angle_rad(odd, back) - acos(-1.0)) < 1e-7);
    assert_true(fabs(sl_signature_angle_rad(red, none) - acos(-1.0) / 2) < 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rf_of_worked_examples),
        cmocka_unit_test(formulas_of_the_pharmacopoeias),
        cmocka_unit_test(shape_of_a_tailing_band),
        cmocka_unit_test(width_of_a_gaussian),
        cmocka_unit_test(signatures_differ_by_an_angle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
