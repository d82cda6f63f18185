// SPDX-License-Identifier: GPL-3.0-or-later
/* Which quads are taken together for the strips of one photo. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>

#include "strip/find.h"

enum { WIDTH = 20, LENGTH = 90, STEP = 30 };
static const double SURE = 0.9, FAINT = 0.14;

/* The i-th of a row of like strips, upright and side by side. */
static struct find_quad in_row(int i, double quality)
{
    struct find_quad q = {.axis_y = -1, .left_dy = -1, .right_dy = -1};
    q.left_x = i * STEP, q.right_x = i * STEP + WIDTH;
    q.width = WIDTH, q.upper = LENGTH;
    q.paper[0] = 0.8, q.paper[1] = q.paper[2] = 0.02;
    q.quality = quality, q.clean_ends = 1;
    return q;
}

/* How many of `sure` sure strips and one faint one at the end of their row are taken. */
static size_t taken(int sure, struct find_quad faint)
{
    struct find_quads *quads = calloc(1, sizeof *quads);
    struct find_quad chosen[SL_STRIPS_MAX];
    assert_non_null(quads);
    for (int i = 0; i < sure; i++)
        quads->item[quads->count++] = in_row(i, SURE);
    quads->item[quads->count++] = faint;
    size_t n = find_quads_select(quads, chosen);
    free(quads);
    return n;
}

static void one_more_of_a_row_is_taken_on_less(void **state)
{
    (void)state;
    assert_int_equal(taken(1, in_row(1, FAINT)), 1);
    assert_int_equal(taken(2, in_row(2, FAINT)), 2);
    assert_int_equal(taken(3, in_row(3, FAINT)), 4);
    assert_int_equal(taken(5, in_row(5, FAINT)), 6);
}

static void what_is_unlike_the_row_is_not(void **state)
{
    (void)state;
    struct find_quad card = in_row(3, FAINT);
    card.right_x += 2 * WIDTH;
    card.width *= 3;
    assert_int_equal(taken(3, card), 3);
    struct find_quad grey = in_row(3, FAINT);
    grey.paper[0] = 0.4;
    assert_int_equal(taken(3, grey), 3);
}

static void what_lies_on_a_strip_is_not(void **state)
{
    (void)state;
    struct find_quad on_top = in_row(1, SURE / 2);
    on_top.left_x += 3, on_top.right_x += 3;
    assert_int_equal(taken(3, on_top), 3);
}

/* Two strips that touch: the shared side has paper beyond it, which is the other strip's. */
static void paper_beyond_a_side_is_a_neighbour_s(void **state)
{
    (void)state;
    struct find_quads *quads = calloc(1, sizeof *quads);
    struct find_quad chosen[SL_STRIPS_MAX];
    assert_non_null(quads);
    for (int i = 0; i < 2; i++) {
        quads->item[i] = in_row(i, 0.7);
        quads->item[i].left_x = i * WIDTH, quads->item[i].right_x = (i + 1) * WIDTH;
    }
    quads->item[0].open_right = quads->item[1].open_left = 0.8;
    quads->count = 2;
    assert_int_equal(find_quads_select(quads, chosen), 2);
    quads->item[0] = in_row(0, 0.7);
    quads->item[0].open_right = 0.8;
    quads->count = 1;
    assert_int_equal(find_quads_select(quads, chosen), 0); /* part of a card */
    free(quads);
}

/* What lies between two strips has a full step at both sides, as a strip has. */
static void the_gap_between_two_strips_is_none(void **state)
{
    (void)state;
    struct find_quads *quads = calloc(1, sizeof *quads);
    struct find_quad chosen[SL_STRIPS_MAX];
    assert_non_null(quads);
    for (int i = 0; i < 3; i++) {
        quads->item[i] = in_row(i, i == 1 ? 0.25 : SURE);
        quads->item[i].left_x = i * WIDTH, quads->item[i].right_x = (i + 1) * WIDTH;
    }
    quads->count = 3;
    assert_int_equal(find_quads_select(quads, chosen), 2);
    for (int i = 0; i < 3; i++) { /* strips that touch */
        quads->item[i] = in_row(i, i == 1 ? 0.25 : SURE);
        quads->item[i].left_x = i * WIDTH, quads->item[i].right_x = (i + 1) * WIDTH;
        quads->item[i].alike_left = quads->item[i].alike_right = 0.6;
    }
    quads->count = 3;
    assert_int_equal(find_quads_select(quads, chosen), 3);
    free(quads);
}

/* Between a strip and a ruler: as good as a strip to look at, but of the table's colour. */
static void what_has_the_table_s_colour_is_not(void **state)
{
    (void)state;
    struct find_quads *quads = calloc(1, sizeof *quads);
    struct find_quad chosen[SL_STRIPS_MAX];
    assert_non_null(quads);
    for (int table = 0; table < 2; table++) {
        for (int i = 0; i < 2; i++) {
            quads->item[i] = in_row(i, i == 1 ? 0.5 : SURE);
            quads->item[i].table[0] = 0.72, quads->item[i].ink = 0.3;
            quads->item[i].left_x = i * WIDTH, quads->item[i].right_x = (i + 1) * WIDTH;
            quads->item[i].alike_left = quads->item[i].alike_right = 0.6;
        }
        quads->item[1].paper[0] = table ? 0.73 : 0.79;
        quads->count = 2;
        assert_int_equal(find_quads_select(quads, chosen), table ? 1 : 2);
    }
    free(quads);
}

/* A ruler is larger than the strips beside it, and blank. */
static void what_is_blank_does_not_lead(void **state)
{
    (void)state;
    struct find_quads *quads = calloc(1, sizeof *quads);
    struct find_quad chosen[SL_STRIPS_MAX];
    assert_non_null(quads);
    for (int i = 0; i < 2; i++) {
        quads->item[i] = in_row(i, 0.6);
        quads->item[i].ink = 0.3;
    }
    struct find_quad ruler = in_row(3, 0.6);
    ruler.upper *= 2, ruler.right_x += 0.6 * WIDTH, ruler.width *= 1.6;
    ruler.paper[0] = 0.6;
    quads->item[2] = ruler;
    quads->count = 3;
    assert_int_equal(find_quads_select(quads, chosen), 2);
    for (int i = 0; i < 2; i++)
        assert_true(chosen[i].ink > 0);
    quads->item[0] = ruler; /* alone it may be a blank strip */
    quads->count = 1;
    assert_int_equal(find_quads_select(quads, chosen), 1);
    free(quads);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_more_of_a_row_is_taken_on_less),
        cmocka_unit_test(what_is_unlike_the_row_is_not),
        cmocka_unit_test(what_lies_on_a_strip_is_not),
        cmocka_unit_test(the_gap_between_two_strips_is_none),
        cmocka_unit_test(what_has_the_table_s_colour_is_not),
        cmocka_unit_test(what_is_blank_does_not_lead),
        cmocka_unit_test(paper_beyond_a_side_is_a_neighbour_s),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
