// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#include "reading/reading_internal.h"

/* A strip 100 px long and 20 px wide whose middle lies at (x, y); `angle_deg` turns it clockwise
 * from upright (upper end towards the photo's top). */
static struct sl_outline outline_at(double x, double y, double angle_deg)
{
    double a = angle_deg * acos(-1) / 180;
    struct sl_point up = {sin(a), -cos(a)}, right = {cos(a), sin(a)};
    struct sl_outline o = {0};
    const double along[] = {-50, -50, 50, 50}, across[] = {-10, 10, 10, -10};
    for (int i = 0; i < 4; i++) {
        o.corner_px[i].x = x + along[i] * up.x + across[i] * right.x;
        o.corner_px[i].y = y + along[i] * up.y + across[i] * right.y;
    }
    return o;
}

static struct sl_read_item item_at(double x, double y, double angle_deg, double doubt)
{
    struct sl_read_item item = {.marks.orientation_doubt = doubt};
    item.outline = item.found = outline_at(x, y, angle_deg);
    sl_strip_hints_init(&item.hints);
    return item;
}

static double middle_x(const struct sl_read_item *item)
{
    return (item->outline.corner_px[0].x + item->outline.corner_px[2].x) / 2;
}

static void upright_strips_are_sorted_from_left_to_right(void **state)
{
    (void)state;
    struct sl_read_item items[] = {item_at(300, 100, 5, 0), item_at(100, 90, -5, 0),
                                   item_at(200, 110, 0, 0)};
    sl_read_sort(items, 3);
    for (int i = 0; i < 3; i++)
        assert_true(fabs(middle_x(&items[i]) - 100.0 * (i + 1)) < 1e-9);
}

/* Seen with the lower ends down, the photo's right is the left. */
static void turned_strips_are_sorted_as_their_reader_sees_them(void **state)
{
    (void)state;
    struct sl_read_item items[] = {item_at(100, 100, 180, 0), item_at(200, 100, 170, 0)};
    sl_read_sort(items, 2);
    assert_true(fabs(middle_x(&items[0]) - 200) < 1e-9);
}

static void lying_strips_are_sorted_too(void **state)
{
    (void)state;
    /* upper ends to the right: left is up in the photo */
    struct sl_read_item items[] = {item_at(100, 200, 90, 0), item_at(100, 100, 90, 0)};
    sl_read_sort(items, 2);
    double middle_y = (items[0].outline.corner_px[0].y + items[0].outline.corner_px[2].y) / 2;
    assert_true(fabs(middle_y - 100) < 1e-9);
}

static void a_doubtful_strip_follows_its_surer_neighbour(void **state)
{
    (void)state;
    struct sl_read_item items[] = {item_at(100, 100, 0, 0.001), item_at(200, 100, 180, 0.3)};
    assert_int_equal(sl_read_disagrees(items, 2), 1);
}

static void a_sure_strip_stays_as_it_is(void **state)
{
    (void)state;
    struct sl_read_item items[] = {item_at(100, 100, 0, 0.3), item_at(200, 100, 0, 0.3),
                                   item_at(300, 100, 180, 0.01)};
    assert_int_equal(sl_read_disagrees(items, 2), -1);
    items[2].hints.upside_down = 1;
    items[2].marks.orientation_doubt = 0.4;
    assert_int_equal(sl_read_disagrees(items, 3), -1); /* a hand-set value is never overruled */
}

static void strips_that_cross_say_nothing_about_each_other(void **state)
{
    (void)state;
    struct sl_read_item items[] = {item_at(100, 100, 0, 0.001), item_at(200, 100, 95, 0.3)};
    assert_int_equal(sl_read_disagrees(items, 2), -1);
}

static void a_picture_keeps_the_strips_shape_and_has_the_upper_end_first(void **state)
{
    (void)state;
    enum { COLUMNS = 10, ROWS = 200 };
    static float rgb[ROWS * COLUMNS * 3];
    for (int r = 0; r < ROWS; r++)
        for (int i = 0; i < COLUMNS * 3; i++)
            rgb[r * COLUMNS * 3 + i] = r < ROWS / 2 ? 0.0f : 1.2f;
    struct sl_sheet sheet = {.columns = COLUMNS, .rows = ROWS, .rgb = rgb};
    struct sl_outline outline = outline_at(0, 0, 30);
    struct sl_picture picture = {0};
    assert_int_equal(sl_picture_of_sheet(&sheet, &outline, &picture, NULL), SL_OK);
    assert_int_equal(picture.height, ROWS);
    assert_int_equal(picture.width, ROWS / 5);
    assert_int_equal(picture.rgb[0], 255);
    assert_int_equal(picture.rgb[(size_t)(ROWS - 1) * (size_t)picture.width * 3], 0);
    free(picture.rgb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(upright_strips_are_sorted_from_left_to_right),
        cmocka_unit_test(turned_strips_are_sorted_as_their_reader_sees_them),
        cmocka_unit_test(lying_strips_are_sorted_too),
        cmocka_unit_test(a_doubtful_strip_follows_its_surer_neighbour),
        cmocka_unit_test(a_sure_strip_stays_as_it_is),
        cmocka_unit_test(strips_that_cross_say_nothing_about_each_other),
        cmocka_unit_test(a_picture_keeps_the_strips_shape_and_has_the_upper_end_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
