// SPDX-License-Identifier: GPL-3.0-or-later
/* The line's flanks, on profiles whose line is known exactly. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include "band/edges.h"
#include "strip_maker.h"

/* The maker's line: 0.02 wide, its flanks blurred by 0.003. */
static const double width = 0.02, blur = 0.003;

static struct edges edges_of(struct maker maker, double line_width)
{
    struct strip strip;
    struct track track = {0};
    strip_make(&maker, &strip);
    strip.marks.line_width *= line_width;
    assert_int_equal(track_make(&strip.profile, &strip.marks, NAN, &track, NULL), SL_OK);
    struct edges edges = edges_find(&track);
    track_finish(&track);
    strip_finish(&strip);
    return edges;
}

static void assert_near(double value, double wanted, double by)
{
    if (!(fabs(value - wanted) <= by))
        fail_msg("%g is not within %g of %g", value, by, wanted);
}

static const struct maker lined = {
    .noise = 0.002, .line_area = 0.05, .line_colour = {0.3, 0.3, 0.4}};

static void flanks_lie_where_the_line_ends(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        struct maker maker = lined;
        maker.seed = seed;
        struct edges edges = edges_of(maker, maker_uniform(&seed, 0.6, 1.6));
        assert_true(edges.found);
        assert_near(edges.from, -width / 2, 0.002);
        assert_near(edges.to, width / 2, 0.002);
        assert_near(edges.blur, blur, 0.5 * blur);
    }
}

/* A band beside the line raises one flank's foot and leaves the flank where it is. */
static void a_band_beside_the_line_moves_no_flank(void **state)
{
    (void)state;
    struct maker maker = lined;
    maker.seed = 5;
    maker.bands = 1;
    maker.band[0] = (struct maker_band){0.07, 0.03, 0.0, 0.06, {0.5, 0.3, 0.2}};
    struct edges edges = edges_of(maker, 1.0);
    assert_true(edges.found);
    assert_near(edges.to, width / 2, 0.003);
}

static void without_a_line_there_are_none(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        struct maker bare = {.noise = 0.004, .seed = seed};
        assert_false(edges_of(bare, 1.0).found);
        struct maker slope = {.noise = 0.004, .seed = seed, .gradient = 1.0};
        assert_false(edges_of(slope, 1.0).found);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flanks_lie_where_the_line_ends),
        cmocka_unit_test(a_band_beside_the_line_moves_no_flank),
        cmocka_unit_test(without_a_line_there_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
