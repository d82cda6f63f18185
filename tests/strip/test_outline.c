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
#include "strip/find.h"

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

/* A strip 100 px wide from y = 100 to 540, inked, a peg over half its width from y = 40 to 140. An
 * outline that ends at `upper` and `lower` is looked over; returns whether it was changed. */
static bool look_for_ends(double upper, double lower, struct sl_outline *ret)
{
    struct made_scene scene;
    struct sl_point strip[4], peg[4], found[4];
    struct sl_image look;
    struct find_picture picture;
    made_scene_init(&scene, 640, 640, 0.25, 0.22, 0.2);
    made_corners(320, 320, 100, 440, 0, strip);
    made_paper(&scene, strip, 0.85, true, 0);
    made_corners(320, 90, 50, 100, 0, peg);
    made_paper(&scene, peg, 0.05, false, 0);
    struct sl_photo *scene_photo = made_photo(&scene, 0.01);
    assert_int_equal(sl_photo_look(scene_photo, FIND_LOOK_SIDE_PX, &look, NULL), SL_OK);
    assert_int_equal(find_picture_fill(&look, NULL, &picture, NULL), SL_OK);
    float paper[FIND_PLANES];
    find_picture_sample(&picture, 320 / picture.scale, 180 / picture.scale, paper);
    made_corners(320, (upper + lower) / 2, 100, lower - upper, 0, found);
    outline_straight(found, ret);
    ret->cut_off = lower > 630;
    bool moved = outline_ends(
        &picture, (const double[]){(double)paper[0], (double)paper[1], (double)paper[2]}, ret);
    find_picture_finish(&picture);
    sl_image_finish(&look);
    sl_photo_close(scene_photo);
    made_scene_finish(&scene);
    return moved;
}

static void assert_ends(const struct sl_outline *o, double upper, double lower)
{
    assert_true(fabs(o->corner_px[0].y - lower) < 3 && fabs(o->corner_px[1].y - lower) < 3);
    assert_true(fabs(o->corner_px[2].y - upper) < 3 && fabs(o->corner_px[3].y - upper) < 3);
}

static void true_ends_stay(void **state)
{
    (void)state;
    struct sl_outline o;
    assert_false(look_for_ends(100, 540, &o));
    assert_ends(&o, 100, 540);
}

static void end_behind_a_peg_is_found(void **state)
{
    (void)state;
    struct sl_outline o;
    assert_true(look_for_ends(140, 540, &o)); /* it ended at the peg's tip */
    assert_ends(&o, 100, 540);
}

static void end_beyond_the_paper_is_taken_back(void **state)
{
    (void)state;
    struct sl_outline o;
    assert_true(look_for_ends(100, 560, &o));
    assert_ends(&o, 100, 540);
}

static void end_at_the_frame_is_taken_back(void **state)
{
    (void)state;
    struct sl_outline o;
    assert_true(look_for_ends(100, 638, &o));
    assert_ends(&o, 100, 540);
    assert_false(o.cut_off);
}

static void end_at_the_ink_line_goes_on(void **state)
{
    (void)state;
    struct sl_outline o;
    assert_true(look_for_ends(100, 480, &o)); /* the line lies at 0.15 of the length */
    assert_ends(&o, 100, 540);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corners_become_straight_edges),
        cmocka_unit_test(bad_corners_are_refused),
        cmocka_unit_test(hints_start_empty),
        cmocka_unit_test(names_of_fronts),
        cmocka_unit_test(true_ends_stay),
        cmocka_unit_test(end_behind_a_peg_is_found),
        cmocka_unit_test(end_beyond_the_paper_is_taken_back),
        cmocka_unit_test(end_at_the_frame_is_taken_back),
        cmocka_unit_test(end_at_the_ink_line_goes_on),
    };
    return cmocka_run_group_tests_name("strip/outline", tests, open_photo, close_photo);
}
