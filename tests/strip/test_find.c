// SPDX-License-Identifier: GPL-3.0-or-later
/* Strips are found where they were drawn, and nothing else is taken for one. The truth is the
 * geometry that the picture was drawn from. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_math.h>
#include <math.h>
#include <string.h>

#include "made_scene.h"
#include "strip/find.h"

enum { WIDTH = 640, HEIGHT = 560 };
static const double TABLE = 0.06, PAPER = 0.8, NOISE = 0.004;

struct found {
    struct sl_outlines outlines;
    struct sl_warnings warnings;
    struct sl_status status;
    sl_code code;
};

static struct found find(const struct made_scene *scene)
{
    struct found f = {0};
    struct sl_photo *photo = made_photo(scene, NOISE);
    f.code = sl_strips_find(photo, &f.outlines, &f.warnings, &f.status);
    sl_photo_close(photo);
    return f;
}

static double corner_error(const struct sl_point got[4], const struct sl_point want[4])
{
    double worst = 0;
    for (int i = 0; i < 4; i++)
        worst = fmax(worst, hypot(got[i].x - want[i].x, got[i].y - want[i].y));
    return worst;
}

static double corner_error_either_end(const struct sl_point got[4], const struct sl_point want[4])
{
    const struct sl_point turned[4] = {got[2], got[3], got[0], got[1]};
    return fmin(corner_error(got, want), corner_error(turned, want));
}

/* 0.3 px: a tenth of a millimetre even at 3 px/mm. */
static void corners_come_back_at_every_angle(void **state)
{
    (void)state;
    for (int deg = 0; deg < 180; deg += 10) {
        struct made_scene scene;
        struct sl_point want[4];
        made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
        made_corners(318.3, 280.7, 76.4, 380.2, deg, want);
        made_paper(&scene, want, PAPER, true, 0);
        struct found f = find(&scene);
        made_scene_finish(&scene);
        assert_int_equal(f.code, SL_OK);
        assert_int_equal(f.outlines.count, 1);
        const struct sl_point *got = f.outlines.item[0].corner_px;
        double error = corner_error_either_end(got, want);
        if (error > 0.3)
            fail_msg("at %d degrees a corner is %.2f px off", deg, error);
        if (deg < 70 || deg > 110)
            assert_true(got[0].y + got[1].y > got[2].y + got[3].y);
        if (deg > 70 && deg < 110)
            assert_true(got[0].x + got[1].x < got[2].x + got[3].x);
        assert_false(f.outlines.item[0].cut_off);
        assert_true(isnan(f.outlines.item[0].hidden_from));
    }
}

static void strips_come_from_left_to_right(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point want[3][4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    for (int i = 0; i < 3; i++) {
        made_corners(150 + 150 * i, 280 + 12 * i, 70, 360, 6 - 3 * i, want[i]);
        made_paper(&scene, want[i], PAPER, i != 1, 0);
    }
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 3);
    for (int i = 0; i < 3; i++)
        assert_true(corner_error(f.outlines.item[i].corner_px, want[i]) < 0.3);
}

/* Either edge of the gap may be taken for both: 1.5 px and what the crossing bands add. */
static void touching_strips_are_two(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point left[4], right[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(280, 280, 78, 380, 0, left);
    made_corners(360.5, 290, 80, 360, 0, right); /* 1.5 px apart */
    made_paper(&scene, left, PAPER, true, 0);
    const struct sl_point turned[4] = {right[2], right[3], right[0], right[1]};
    made_paper(&scene, turned, PAPER, true, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 2);
    assert_true(corner_error(f.outlines.item[0].corner_px, left) < 2.5);
    assert_true(corner_error(f.outlines.item[1].corner_px, right) < 2.5);
}

/* Paper 7 % brighter than the desk, in linear light: 3 % in lightness. */
static void white_desk(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point want[4];
    made_scene_init(&scene, WIDTH, HEIGHT, 0.70, 0.70, 0.68);
    made_corners(310, 285, 80, 370, 23, want);
    made_paper(&scene, want, 0.75, true, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    assert_true(corner_error(f.outlines.item[0].corner_px, want) < 1.5);
}

/* A trapezoid, as perspective and scissors make it, whose sides are bent. */
static void bent_sides_are_followed(void **state)
{
    (void)state;
    const struct sl_point want[4] = {{250, 500}, {352, 492}, {340, 70}, {262, 64}};
    const double bow = 9;
    struct made_scene scene;
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_paper(&scene, want, PAPER, true, bow);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    const struct sl_outline *o = &f.outlines.item[0];
    assert_true(corner_error(o->corner_px, want) < 0.6);
    struct sl_point middle = o->left_px[SL_EDGE_POINTS / 2];
    double straight =
        want[0].x + (want[3].x - want[0].x) * (want[0].y - middle.y) / (want[0].y - want[3].y);
    assert_true(fabs(middle.x - straight - bow) < 0.5);
    assert_true(fabs(o->bend - bow / 432) < 0.003);
    assert_true(sl_warned(&f.warnings, SL_W_BENT));
}

static void blank_strip_is_found(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point want[4];
    made_scene_init(&scene, WIDTH, HEIGHT, 0.2, 0.13, 0.08);
    made_corners(320, 280, 70, 340, 40, want);
    made_paper(&scene, want, PAPER, false, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    assert_true(corner_error(f.outlines.item[0].corner_px, want) < 0.3);
}

static void card_is_no_strip(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point card[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(320, 280, 250, 350, 8, card); /* 1 : 1.4 */
    made_paper(&scene, card, PAPER, false, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_E_NO_STRIP);
    assert_int_equal(f.outlines.count, 0);
    assert_true(strlen(f.status.message) > 0 && strlen(f.status.remedy) > 0);
}

static struct found find_beside_card(const struct sl_point card[4], double card_bow_px,
                                     const struct sl_point strip[4])
{
    struct made_scene scene;
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_paper(&scene, card, 0.7, false, card_bow_px);
    made_paper(&scene, strip, PAPER, true, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    return f;
}

static void card_beside_a_strip_is_left_out(void **state)
{
    (void)state;
    struct sl_point card[4], want[4];
    made_corners(440, 280, 220, 310, 0, card);
    made_corners(180, 280, 76, 380, 5, want);
    struct found f = find_beside_card(card, 0, want);
    assert_int_equal(f.outlines.count, 1);
    assert_true(corner_error(f.outlines.item[0].corner_px, want) < 0.3);
}

/* Whether an edge lies on the side from a to b and runs as it does. */
static bool runs_along(const struct sl_straight *edge, struct sl_point a, struct sl_point b)
{
    double length = hypot(b.x - a.x, b.y - a.y), dx = (b.x - a.x) / length,
           dy = (b.y - a.y) / length;
    return fabs((edge->y - a.y) * dx - (edge->x - a.x) * dy) < 0.5 &&
           fabs(edge->dx * dy - edge->dy * dx) < 0.002;
}

/* The card's four, below a pixel; none of the strip and its ink. */
static void straight_edges_of_a_card_are_found(void **state)
{
    (void)state;
    for (int deg = -20; deg <= 20; deg += 8) {
        struct made_scene scene;
        struct sl_point card[4], want[4];
        made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
        made_corners(450, 280, 180, 300, deg, card);
        made_corners(150, 280, 76, 380, 5, want);
        card[2].x += 9; /* in perspective its sides are no parallels */
        made_paper(&scene, card, 0.7, false, 0);
        made_paper(&scene, want, PAPER, true, 0);
        struct found f = find(&scene);
        made_scene_finish(&scene);
        assert_int_equal(f.code, SL_OK);
        assert_int_equal(f.outlines.straight_count, 4);
        for (int side = 0; side < 4; side++) {
            int found = 0;
            for (size_t i = 0; i < f.outlines.straight_count; i++)
                found += runs_along(&f.outlines.straight[i], card[side], card[(side + 1) % 4]);
            if (found != 1)
                fail_msg("turned by %d degrees, side %d is found %d times", deg, side, found);
        }
    }
}

/* Sides that bend tell no slant. */
static void bowed_edges_are_not_straight(void **state)
{
    (void)state;
    struct sl_point card[4], want[4];
    made_corners(440, 280, 180, 300, 8, card);
    made_corners(150, 280, 76, 380, 5, want);
    struct found f = find_beside_card(card, 6, want);
    for (size_t i = 0; i < f.outlines.straight_count; i++)
        assert_true(fabs(f.outlines.straight[i].dx) > 0.7); /* the ends alone */
}

static void frame_cuts_a_strip_off(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point want[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(320, 420, 80, 440, 4, want);
    made_paper(&scene, want, PAPER, true, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    assert_true(f.outlines.item[0].cut_off);
    assert_true(f.outlines.item[0].cut_lower);
    assert_false(f.outlines.item[0].cut_upper);
    assert_true(sl_warned(&f.warnings, SL_W_CUT_OFF));
    const struct sl_point *got = f.outlines.item[0].corner_px;
    for (int i = 2; i < 4; i++)
        assert_true(hypot(got[i].x - want[i].x, got[i].y - want[i].y) < 0.5);
}

/* A strip at the right and another beside it, whose far side lies at `right`. */
static struct found beside(double right)
{
    struct made_scene scene;
    struct sl_point whole[4], other[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(440, 280, 90, 400, 2, whole);
    made_paper(&scene, whole, PAPER, true, 0);
    made_corners(right - 45, 290, 90, 400, 4, other);
    made_paper(&scene, other, PAPER, true, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    return f;
}

/* However close to the frame: with table all along beyond its end a strip is whole. */
static void frame_that_is_near_cuts_nothing_off(void **state)
{
    (void)state;
    for (int near = 5; near < 12; near++) {
        struct made_scene scene;
        struct sl_point want[4];
        made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
        made_corners(320, 223.0 + near, 80, 440, 6, want);
        made_paper(&scene, want, PAPER, true, 0);
        struct found f = find(&scene);
        made_scene_finish(&scene);
        assert_int_equal(f.code, SL_OK);
        assert_int_equal(f.outlines.count, 1);
        assert_false(f.outlines.item[0].cut_off);
        assert_true(corner_error(f.outlines.item[0].corner_px, want) < 0.3);
    }
}

static void strip_cut_lengthwise_is_told(void **state)
{
    (void)state;
    struct found cut = beside(WIDTH + 45), whole = beside(WIDTH - 22);
    assert_int_equal(cut.outlines.count, 1);
    assert_true(sl_warned(&cut.warnings, SL_W_CUT_OFF));
    assert_int_equal(whole.outlines.count, 2);
    assert_false(sl_warned(&whole.warnings, SL_W_CUT_OFF));
}

static void expect_error(double light, sl_code code)
{
    struct made_scene scene;
    made_scene_init(&scene, WIDTH, HEIGHT, light, light, light);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, code);
    assert_int_equal(f.status.code, code);
    assert_int_equal(f.outlines.count, 0);
}

static void black_white_and_empty_photos(void **state)
{
    (void)state;
    expect_error(0.0, SL_E_TOO_DARK);
    expect_error(1.1, SL_E_BURNT_OUT);
    expect_error(0.3, SL_E_NO_STRIP);
}

/* 0.5 % of a strip's width is sharp, 3 % is worth a warning, 20 % is hopeless. */
static void blur_is_refused(void **state)
{
    (void)state;
    static const double sigma[3] = {0.8, 3.2, 16};
    static const sl_code code[3] = {SL_OK, SL_OK, SL_E_BLURRED};
    for (int i = 0; i < 3; i++) {
        struct made_scene scene;
        struct sl_point want[4];
        made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
        made_corners(320, 280, 80, 400, 10, want);
        made_paper(&scene, want, PAPER, true, 0);
        made_blur(&scene, sigma[i]);
        struct found f = find(&scene);
        made_scene_finish(&scene);
        assert_int_equal(f.code, code[i]);
        assert_int_equal(sl_warned(&f.warnings, SL_W_BLURRED), i == 1);
    }
}

static void peg_hides_an_end(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point want[4], peg[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(320, 300, 80, 400, 0, want);
    made_paper(&scene, want, PAPER, true, 0);
    made_corners(320, 85, 34, 110, 0, peg); /* from y = 30 to 140: covers 10 % */
    made_paper(&scene, peg, 0.3, false, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    assert_true(corner_error(f.outlines.item[0].corner_px, want) < 1.0);
    assert_true(fabs(f.outlines.item[0].hidden_from - 0.9) < 0.02);
    assert_true(f.outlines.item[0].hidden_to == 1.0);
    assert_true(sl_warned(&f.warnings, SL_W_HIDDEN_PART));
}

/* White paper on a white plate ends faintly; its own shadow beside one side is no measure of that.
 */
static void faint_end_beside_a_shadow(void **state)
{
    (void)state;
    static const double plate = 0.74, shadow = 0.25;
    struct made_scene scene;
    struct sl_point want[4], dark[4];
    made_scene_init(&scene, WIDTH, HEIGHT, plate, plate, plate);
    made_corners(335, 440, 80, 120, 0, dark); /* along the lower third of the right side */
    made_paper(&scene, dark, shadow, false, 0);
    made_corners(320, 300, 80, 400, 0, want);
    made_paper(&scene, want, PAPER, true, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    assert_true(corner_error(f.outlines.item[0].corner_px, want) < 1.0);
}

/* Tape over the whole end, wider than the strip: a little of the paper's light comes through. */
static void end_under_tape(void **state)
{
    (void)state;
    static const double tape = 0.35, over_paper = 0.38;
    struct made_scene scene;
    struct sl_point want[4], piece[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(320, 300, 80, 400, 0, want); /* from y = 100 */
    made_paper(&scene, want, PAPER, true, 0);
    made_corners(320, 105, 200, 80, 0, piece); /* from y = 65 to 145 */
    made_paper(&scene, piece, tape, false, 0);
    made_corners(320, 122.5, 80, 45, 0, piece);
    made_paper(&scene, piece, over_paper, false, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    assert_true(corner_error(f.outlines.item[0].corner_px, want) < 1.5);
    assert_true(fabs(f.outlines.item[0].hidden_from - 355. / 400) < 0.03);
}

/* The bath has tinted the paper below the line nearly as the table is: nothing covers it. */
static void tinted_end_is_no_cover(void **state)
{
    (void)state;
    static const double table = 0.40, tinted = 0.47;
    struct made_scene scene;
    struct sl_point want[4], below[4];
    made_scene_init(&scene, WIDTH, HEIGHT, table, table, table);
    made_corners(320, 290, 80, 400, 0, want);
    made_paper(&scene, want, PAPER, true, 0);
    made_corners(320, 470, 80, 40, 0, below);
    made_paper(&scene, below, tinted, false, 0);
    struct sl_photo *photo = made_photo(&scene, NOISE);
    made_scene_finish(&scene);
    struct sl_image look = {0};
    struct find_picture picture = {0};
    assert_int_equal(sl_photo_look(photo, FIND_LOOK_SIDE_PX, &look, NULL), SL_OK);
    assert_int_equal(find_picture_fill(&look, NULL, &picture, NULL), SL_OK);
    const double paper[FIND_PLANES] = {sqrt(PAPER), 0, 0};
    struct sl_outline outline;
    outline_straight(want, &outline);
    find_hidden(&picture, paper, &outline);
    assert_true(isnan(outline.hidden_from));
    find_picture_finish(&picture);
    sl_image_finish(&look);
    sl_photo_close(photo);
}

/* Its own sides must not be taken for the strip's, nor its inner edge or the frame for the end. */
static void peg_goes_on_to_the_frame(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point want[4], peg[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(320, 300, 80, 400, 0, want);
    made_paper(&scene, want, PAPER, true, 0);
    made_corners(325, 60, 50, 160, 0, peg); /* from beyond the frame to y = 140 */
    made_paper(&scene, peg, 0.3, false, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 1);
    assert_false(f.outlines.item[0].cut_off);
    assert_true(corner_error(f.outlines.item[0].corner_px, want) < 3.0);
}

/* Both strips are of one paper and nothing shows between them but their ink. */
static void strips_without_a_gap_are_two(void **state)
{
    (void)state;
    struct made_scene scene;
    struct sl_point left[4], right[4];
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    made_corners(280, 270, 80, 380, 0, left);
    made_corners(360, 300, 80, 380, 0, right);
    made_paper(&scene, left, PAPER, true, 0);
    made_paper(&scene, right, PAPER, true, 0);
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    assert_int_equal(f.outlines.count, 2);
    assert_true(corner_error(f.outlines.item[0].corner_px, left) < 5.0);
    assert_true(corner_error(f.outlines.item[1].corner_px, right) < 5.0);
}

/* A cloth with stripes across the whole scene, in a light that falls off to one side. */
static void striped(struct made_scene *scene, const double dark[3], const double bright[3],
                    double period_px, double deg)
{
    double nx = cos(deg * M_PI / 180), ny = sin(deg * M_PI / 180);
    for (int y = 0; y < scene->height; y++)
        for (int x = 0; x < scene->width; x++) {
            double at = (x * nx + y * ny) / period_px, light = 1 - 0.4 * x / scene->width;
            const double *colour = at - floor(at) < 0.5 ? dark : bright;
            for (int c = 0; c < 3; c++)
                scene->light[3 * ((size_t)y * (size_t)scene->width + (size_t)x) + (size_t)c] =
                    (float)(light * colour[c]);
        }
    made_blur(scene, 0.7);
}

static size_t found_on_stripes(const double dark[3], const double bright[3], double deg)
{
    struct made_scene scene;
    struct sl_point want[4][4];
    size_t n = 0;
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    striped(&scene, dark, bright, 26, deg);
    for (int i = 0; i < 4; i++) {
        made_corners(130 + 120 * i, 280 + 8 * i, 52, 260, 9 - 5 * i, want[i]);
        made_paper(&scene, want[i], PAPER, true, 0);
    }
    struct found f = find(&scene);
    made_scene_finish(&scene);
    assert_int_equal(f.code, SL_OK);
    for (size_t k = 0; k < f.outlines.count; k++)
        for (int i = 0; i < 4; i++)
            n += corner_error(f.outlines.item[k].corner_px, want[i]) < 3;
    assert_int_equal(f.outlines.count, n);
    return n;
}

/* Stripes at any angle, those along the strips' sides among them. */
static void strips_on_a_striped_cloth(void **state)
{
    (void)state;
    static const double blue[3] = {0.05, 0.1, 0.32}, red[3] = {0.35, 0.06, 0.05};
    static const double cream[3] = {0.6, 0.55, 0.45};
    for (int i = 0; i < 6; i++)
        assert_int_equal(found_on_stripes(i % 2 ? red : blue, cream, -80 + 32 * i), 4);
}

/* Black has no tint: black stripes are light and dark of one, which no map of colours takes away.
 */
static void black_stripes_stay(void **state)
{
    (void)state;
    static const double black[3] = {0, 0, 0}, cream[3] = {0.6, 0.55, 0.45};
    struct made_scene scene;
    struct sl_image look;
    struct find_picture picture;
    struct find_edges edges;
    struct find_colour_map map;
    made_scene_init(&scene, WIDTH, HEIGHT, TABLE, TABLE, TABLE);
    striped(&scene, black, cream, 40, 90);
    struct sl_photo *photo = made_photo(&scene, 0);
    assert_int_equal(sl_photo_look(photo, FIND_LOOK_SIDE_PX, &look, NULL), SL_OK);
    assert_int_equal(find_picture_fill(&look, NULL, &picture, NULL), SL_OK);
    assert_int_equal(find_edges_fill(&picture, &edges, NULL), SL_OK);
    assert_false(find_stripes(&picture, &edges, &map));
    find_edges_finish(&edges);
    find_picture_finish(&picture);
    sl_image_finish(&look);
    sl_photo_close(photo);
    made_scene_finish(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corners_come_back_at_every_angle),
        cmocka_unit_test(strips_come_from_left_to_right),
        cmocka_unit_test(touching_strips_are_two),
        cmocka_unit_test(white_desk),
        cmocka_unit_test(bent_sides_are_followed),
        cmocka_unit_test(blank_strip_is_found),
        cmocka_unit_test(card_is_no_strip),
        cmocka_unit_test(card_beside_a_strip_is_left_out),
        cmocka_unit_test(straight_edges_of_a_card_are_found),
        cmocka_unit_test(bowed_edges_are_not_straight),
        cmocka_unit_test(frame_cuts_a_strip_off),
        cmocka_unit_test(frame_that_is_near_cuts_nothing_off),
        cmocka_unit_test(strip_cut_lengthwise_is_told),
        cmocka_unit_test(black_white_and_empty_photos),
        cmocka_unit_test(blur_is_refused),
        cmocka_unit_test(peg_hides_an_end),
        cmocka_unit_test(end_under_tape),
        cmocka_unit_test(tinted_end_is_no_cover),
        cmocka_unit_test(faint_end_beside_a_shadow),
        cmocka_unit_test(peg_goes_on_to_the_frame),
        cmocka_unit_test(strips_without_a_gap_are_two),
        cmocka_unit_test(strips_on_a_striped_cloth),
        cmocka_unit_test(black_stripes_stay),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests_name("strip/find", tests, NULL, NULL);
}
