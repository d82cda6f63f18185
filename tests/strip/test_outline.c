// SPDX-License-Identifier: GPL-3.0-or-later
/* Outlines from corners set by hand, and the names that readings carry. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "made_scene.h"

static struct sl_photo *photo;

static int open_photo(void **state)
{
    (void)state;
    struct made_scene scene;
    made_scene_init(&scene, 200, 300, 0.5, 0.5, 0.5);
    photo = made_photo(&scene, 0);
    made_scene_finish(&scene);
    return 0;
}

static int close_photo(void **state)
{
    (void)state;
    sl_photo_close(photo);
    return 0;
}

static const struct sl_point good[4] = {{40, 280}, {100, 285}, {110, 20}, {60, 15}};

static void corners_become_straight_edges(void **state)
{
    (void)state;
    struct sl_outline o;
    assert_int_equal(sl_outline_from_corners(photo, good, &o, NULL), SL_OK);
    assert_true(o.given);
    assert_memory_equal(o.corner_px, good, sizeof good);
    assert_true(hypot(o.left_px[0].x - 40, o.left_px[0].y - 280) < 1e-9);
    assert_true(hypot(o.left_px[SL_EDGE_POINTS - 1].x - 60, o.left_px[SL_EDGE_POINTS - 1].y - 15) <
                1e-9);
    struct sl_point middle = o.right_px[SL_EDGE_POINTS / 2];
    assert_true(hypot(middle.x - 105, middle.y - 152.5) < 1e-9);
    assert_true(o.bend == 0 && isnan(o.hidden_from));
}

static void refuse(const struct sl_point corner[4])
{
    struct sl_outline o, before;
    struct sl_status status = {0};
    memset(&o, 7, sizeof o);
    before = o;
    assert_int_equal(sl_outline_from_corners(photo, corner, &o, &status), SL_E_RANGE);
    assert_int_equal(status.code, SL_E_RANGE);
    assert_memory_equal(&o, &before, sizeof o);
}

static void bad_corners_are_refused(void **state)
{
    (void)state;
    const struct sl_point outside[4] = {{40, 280}, {100, 285}, {210, 20}, {60, 15}};
    const struct sl_point crossed[4] = {{40, 280}, {100, 285}, {60, 15}, {110, 20}};
    const struct sl_point swapped[4] = {{100, 285}, {40, 280}, {60, 15}, {110, 20}};
    const struct sl_point thin[4] = {{40, 280}, {41, 280}, {41, 20}, {40, 20}};
    const struct sl_point unknown[4] = {{NAN, 280}, {100, 285}, {110, 20}, {60, 15}};
    refuse(outside);
    refuse(crossed);
    refuse(swapped);
    refuse(thin);
    refuse(unknown);
}

static void hints_start_empty(void **state)
{
    (void)state;
    struct sl_strip_hints h;
    memset(&h, 1, sizeof h);
    sl_strip_hints_init(&h);
    assert_false(h.has_corners);
    assert_true(isnan(h.origin) && isnan(h.front) && isnan(h.length_mm));
    assert_true(isnan(h.paper_reflectance[0]) && isnan(h.paper_reflectance[2]));
    assert_int_equal(h.upside_down, -1);
}

static void names_of_fronts(void **state)
{
    (void)state;
    assert_string_equal(sl_front_seen_name(SL_FRONT_DYE), "dye");
    assert_string_equal(sl_front_seen_name(SL_FRONT_WATER_LINE), "water line");
    assert_string_equal(sl_front_seen_name(SL_FRONT_PENCIL), "pencil");
    assert_string_equal(sl_front_seen_name(SL_FRONT_GIVEN), "given");
    assert_string_equal(sl_front_seen_name(SL_FRONT_NOT_SEEN), "no");
    assert_string_equal(sl_front_seen_name((enum sl_front_seen)99), "no");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corners_become_straight_edges),
        cmocka_unit_test(bad_corners_are_refused),
        cmocka_unit_test(hints_start_empty),
        cmocka_unit_test(names_of_fronts),
    };
    return cmocka_run_group_tests_name("strip/outline", tests, open_photo, close_photo);
}
