// SPDX-License-Identifier: GPL-3.0-or-later
/* Straightening: a picture drawn through a known map comes back as it was on the paper. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

#include "strip/sheet_map.h"

enum { WIDTH = 420, HEIGHT = 700 };

/* Corners of a strip seen at a slant: wider at the lower end, turned a little. */
static const struct sl_point slanted[4] = {{90, 640}, {260, 655}, {290, 60}, {150, 50}};
static const struct sl_point upright[4] = {
    {99.5, 649.5}, {249.5, 649.5}, {249.5, 49.5}, {99.5, 49.5}};

static struct sl_outline outline_of(const struct sl_point corner[4], double bow_px)
{
    struct sl_outline o = {.hidden_from = NAN, .hidden_to = NAN};
    memcpy(o.corner_px, corner, sizeof o.corner_px);
    for (int k = 0; k < SL_EDGE_POINTS; k++) {
        double t = (double)k / (SL_EDGE_POINTS - 1), bow = bow_px * 4 * t * (1 - t);
        o.left_px[k] = (struct sl_point){corner[0].x + t * (corner[3].x - corner[0].x) + bow,
                                         corner[0].y + t * (corner[3].y - corner[0].y)};
        o.right_px[k] = (struct sl_point){corner[1].x + t * (corner[2].x - corner[1].x) + bow,
                                          corner[1].y + t * (corner[2].y - corner[1].y)};
    }
    return o;
}

/* Grey levels that rise along v and fall across u; white elsewhere. */
static struct sl_photo *draw(const struct sl_outline *outline)
{
    struct sl_sheet_map map;
    assert_true(sl_sheet_map_init(&map, outline));
    uint8_t *pixels = malloc((size_t)WIDTH * HEIGHT * 3);
    assert_non_null(pixels);
    memset(pixels, 255, (size_t)WIDTH * HEIGHT * 3);
    enum { FINE = 2400 };
    for (int i = 0; i < FINE; i++)
        for (int k = 0; k < FINE / 4; k++) {
            double v = (i + 0.5) / FINE, u = (k + 0.5) / (FINE / 4);
            struct sl_point p = sl_sheet_map_point(&map, u, v);
            int x = (int)lround(p.x), y = (int)lround(p.y);
            if (x < 0 || y < 0 || x >= WIDTH || y >= HEIGHT)
                continue;
            uint8_t *to = pixels + 3 * ((size_t)y * WIDTH + (size_t)x);
            to[0] = (uint8_t)lround(40 + 160 * v);
            to[1] = (uint8_t)lround(200 - 160 * u);
            to[2] = 120;
        }
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = WIDTH, .height = HEIGHT, .format = PNG_FORMAT_RGB};
    png_alloc_size_t bytes = 0;
    assert_true(png_image_write_to_memory(&image, NULL, &bytes, 0, pixels, 0, NULL));
    void *file = malloc(bytes);
    assert_non_null(file);
    assert_true(png_image_write_to_memory(&image, file, &bytes, 0, pixels, 0, NULL));
    struct sl_photo *photo = NULL;
    struct sl_status status;
    assert_int_equal(sl_photo_open_memory(file, bytes, "drawn", &photo, NULL, &status), SL_OK);
    free(file);
    free(pixels);
    return photo;
}

static double encoded(const struct sl_sheet *sheet, double u, double v, int c)
{
    int row = (int)(v * sheet->rows), column = (int)(u * sheet->columns);
    return 255 * sl_srgb_encode((double)sheet->rgb[3 * (row * sheet->columns + column) + c]);
}

static void check_levels(const struct sl_sheet *sheet)
{
    for (double v = 0.05; v < 0.96; v += 0.09)
        for (double u = 0.1; u < 0.95; u += 0.2) {
            /* two levels: the drawing's rounding, and half a cell of u and v */
            assert_true(fabs(encoded(sheet, u, v, 0) - (40 + 160 * v)) < 2);
            assert_true(fabs(encoded(sheet, u, v, 1) - (200 - 160 * u)) < 3);
        }
}

static void perspective_is_taken_out(void **state)
{
    (void)state;
    struct sl_outline outline = outline_of(slanted, 0);
    struct sl_photo *photo = draw(&outline);
    struct sl_sheet sheet = {0};
    struct sl_status status;
    assert_int_equal(sl_sheet_straighten(photo, &outline, &sheet, &status), SL_OK);
    check_levels(&sheet);
    /* from (175, 647.5) to (220, 55), the middles of the two ends */
    assert_true(fabs(sheet.px_per_row * sheet.rows - hypot(45, 592.5)) < 0.01);
    sl_sheet_finish(&sheet);
    sl_photo_close(photo);
}

static void curved_edges_become_straight(void **state)
{
    (void)state;
    struct sl_outline outline = outline_of(upright, 14);
    struct sl_photo *photo = draw(&outline);
    struct sl_sheet sheet = {0};
    struct sl_status status;
    assert_int_equal(sl_sheet_straighten(photo, &outline, &sheet, &status), SL_OK);
    check_levels(&sheet);
    sl_sheet_finish(&sheet);
    sl_photo_close(photo);
}

static void homography_maps_corners_and_keeps_cross_ratios(void **state)
{
    (void)state;
    struct sl_outline outline = outline_of(slanted, 0);
    struct sl_sheet_map map;
    assert_true(sl_sheet_map_init(&map, &outline));
    const double uv[4][2] = {{0, 0}, {1, 0}, {1, 1}, {0, 1}};
    for (int i = 0; i < 4; i++) {
        struct sl_point p = sl_sheet_map_point(&map, uv[i][0], uv[i][1]);
        assert_true(hypot(p.x - slanted[i].x, p.y - slanted[i].y) < 1e-6);
    }
    /* the cross ratio of v = 0, 1/3, 2/3, 1 is (2/3 * 2/3) / (1/3 * 1) = 4/3 on any line */
    struct sl_point p[4];
    for (int i = 0; i < 4; i++)
        p[i] = sl_sheet_map_point(&map, 0.5, i / 3.0);
    double ac = hypot(p[2].x - p[0].x, p[2].y - p[0].y),
           bd = hypot(p[3].x - p[1].x, p[3].y - p[1].y);
    double bc = hypot(p[2].x - p[1].x, p[2].y - p[1].y),
           ad = hypot(p[3].x - p[0].x, p[3].y - p[0].y);
    assert_true(fabs(ac * bd / (bc * ad) - 4.0 / 3) < 1e-9);
}

static void outside_of_the_photo_is_hidden(void **state)
{
    (void)state;
    struct sl_outline inside = outline_of(upright, 0);
    struct sl_photo *photo = draw(&inside);
    struct sl_point corner[4];
    memcpy(corner, upright, sizeof corner);
    corner[2].y = corner[3].y = -250;
    struct sl_outline outline = outline_of(corner, 0);
    struct sl_sheet sheet = {0};
    struct sl_status status;
    assert_int_equal(sl_sheet_straighten(photo, &outline, &sheet, &status), SL_OK);
    int last = (sheet.rows - 3) * sheet.columns + sheet.columns / 2;
    assert_true(sheet.flags[last] & SL_CELL_HIDDEN);
    assert_false(sheet.flags[10 * sheet.columns + 10] & SL_CELL_HIDDEN);
    sl_sheet_finish(&sheet);
    sl_photo_close(photo);
}

static void hidden_part_and_clipping_are_flagged(void **state)
{
    (void)state;
    struct sl_outline outline = outline_of(upright, 0);
    struct sl_photo *photo = draw(&outline);
    outline.hidden_from = 0.9;
    outline.hidden_to = 1;
    /* 40 px to the left lies the white ground: R, G, B = 255 */
    for (int i = 0; i < 4; i++)
        outline.corner_px[i].x -= 40;
    for (int k = 0; k < SL_EDGE_POINTS; k++)
        outline.left_px[k].x -= 40, outline.right_px[k].x -= 40;
    struct sl_sheet sheet = {0};
    struct sl_status status;
    assert_int_equal(sl_sheet_straighten(photo, &outline, &sheet, &status), SL_OK);
    int middle = (sheet.rows / 2) * sheet.columns, upper = (int)(0.95 * sheet.rows) * sheet.columns;
    assert_true(sheet.flags[middle + 2] & SL_CELL_CLIPPED);
    assert_false(sheet.flags[middle + sheet.columns - 3] & SL_CELL_CLIPPED);
    assert_true(sheet.flags[upper + 5] & SL_CELL_HIDDEN);
    assert_false(sheet.flags[middle + 5] & SL_CELL_HIDDEN);
    sl_sheet_finish(&sheet);
    sl_photo_close(photo);
}

static void too_small_and_crossed_are_refused(void **state)
{
    (void)state;
    struct sl_outline outline = outline_of(upright, 0);
    struct sl_photo *photo = draw(&outline);
    struct sl_sheet sheet = {0};
    struct sl_status status;
    const struct sl_point tiny[4] = {{10, 60}, {18, 60}, {18, 10}, {10, 10}};
    outline = outline_of(tiny, 0);
    assert_int_equal(sl_sheet_straighten(photo, &outline, &sheet, &status), SL_E_TOO_SMALL);
    const struct sl_point line[4] = {{10, 600}, {10, 600}, {10, 10}, {10, 10}};
    outline = outline_of(line, 0);
    assert_int_equal(sl_sheet_straighten(photo, &outline, &sheet, &status), SL_E_RANGE);
    assert_null(sheet.rgb); /* left untouched */
    sl_photo_close(photo);
    sl_sheet_finish(&sheet);
    sl_sheet_finish(NULL);
}

/* A place on a table, mm, seen by a pinhole camera whose optical axis is `tilt` rad off. */
static struct sl_point seen_at(double x, double y, double tilt)
{
    double depth = 250 + y * sin(tilt);
    return (struct sl_point){2000 + 3000 * x / depth, 1500 - 3000 * y * cos(tilt) / depth};
}

/* A trapezoid there. */
static struct sl_outline seen(double x_mm, double turn, double taper, double tilt)
{
    const double half[4][2] = {{-10, -45}, {10, -45}, {10, 45}, {-10, 45}};
    struct sl_point corner[4];
    for (int i = 0; i < 4; i++) {
        double width = exp((half[i][1] > 0 ? taper : -taper) / 2);
        double x = half[i][0] * width, y = half[i][1];
        double tx = x_mm + x * cos(turn) - y * sin(turn), ty = x * sin(turn) + y * cos(turn);
        corner[i] = seen_at(tx, ty, tilt);
    }
    return outline_of(corner, 0);
}

static void cut_is_told_from_perspective(void **state)
{
    (void)state;
    const struct sl_photo_info info = {.width_px = 4000, .height_px = 3000};
    const double taper[4] = {0, 0.045, -0.01, -0.035};
    struct sl_outlines outlines = {.count = 4};
    for (int i = 0; i < 4; i++)
        outlines.item[i] = seen(-60 + 40 * i, 0.02 * i, taper[i], 0.14);
    sl_outlines_level(&info, &outlines);
    for (int i = 0; i < 4; i++)
        assert_true(fabs(outlines.item[i].taper - taper[i]) <
                    0.01); /* 0.03 over root 4, and less */
    /* the tapered strip's middle: half its length on paper, wherever it lies in the photo */
    struct sl_sheet_map map;
    assert_true(sl_sheet_map_init(&map, &outlines.item[1]));
    struct sl_point middle = sl_sheet_map_point(&map, 0.5, 0.5);
    struct sl_point truth = {2000 + 3000 * -20 / 250.0, 1500};
    assert_true(hypot(middle.x - truth.x, middle.y - truth.y) < 3); /* of 1080 px */
    outlines.item[1].taper = 0;
    assert_true(sl_sheet_map_init(&map, &outlines.item[1]));
    middle = sl_sheet_map_point(&map, 0.5, 0.5);
    assert_true(hypot(middle.x - truth.x, middle.y - truth.y) > 8);
}

/* Seen at a slant the middle of a strip is not the middle of its outline, whatever its cut. */
static void even_edges_follow_places_on_the_strip(void **state)
{
    (void)state;
    double most = 0;
    for (int k = 0; k < 12; k++) {
        double tilt = 0.14 * sin(k), taper = 0.05 * sin(2.3 * k + 1);
        struct sl_outline outline = seen(-40, 0, taper, tilt), was = outline;
        outline.taper = taper;
        sl_outline_even(&outline);
        struct sl_point low = seen_at(-40, -45, tilt), high = seen_at(-40, 45, tilt),
                        middle = seen_at(-40, 0, tilt);
        double length = hypot(high.x - low.x, high.y - low.y);
        const struct sl_point *left = &outline.left_px[SL_EDGE_POINTS / 2],
                              *right = &outline.right_px[SL_EDGE_POINTS / 2];
        double x = (left->x + right->x) / 2, y = (left->y + right->y) / 2;
        assert_true(hypot(x - middle.x, y - middle.y) < 0.001 * length);
        most = fmax(most, fabs(was.left_px[SL_EDGE_POINTS / 2].y - middle.y) / length);
    }
    assert_true(most > 0.01);
}

static void add_edge(struct sl_outlines *outlines, const double from[2], const double to[2],
                     double tilt)
{
    struct sl_point a = seen_at(from[0], from[1], tilt), b = seen_at(to[0], to[1], tilt);
    double length = hypot(b.x - a.x, b.y - a.y);
    outlines->straight[outlines->straight_count++] =
        (struct sl_straight){.x = (a.x + b.x) / 2,
                             .y = (a.y + b.y) / 2,
                             .dx = (b.x - a.x) / length,
                             .dy = (b.y - a.y) / length,
                             .length_px = length,
                             .sigma = 2e-4};
}

/* The four sides of a card of 60 mm x 90 mm that lies anyhow. */
static void add_card(struct sl_outlines *outlines, double x_mm, double turn, double tilt)
{
    const double half[4][2] = {{-30, -45}, {30, -45}, {30, 45}, {-30, 45}};
    double corner[4][2];
    for (int i = 0; i < 4; i++) {
        corner[i][0] = x_mm + half[i][0] * cos(turn) - half[i][1] * sin(turn);
        corner[i][1] = half[i][0] * sin(turn) + half[i][1] * cos(turn);
    }
    for (int i = 0; i < 4; i++)
        add_edge(outlines, corner[i], corner[(i + 1) % 4], tilt);
}

/* Of a single strip nothing else does: over many cameras and cuts the taper's error is a fraction
 * of what it is without. */
static void a_card_tells_the_slant(void **state)
{
    (void)state;
    const struct sl_photo_info info = {.width_px = 4000, .height_px = 3000};
    enum { SCENES = 60 };
    double without = 0, with = 0;
    for (int k = 0; k < SCENES; k++) {
        double tilt = 0.14 * sin(k), taper = 0.05 * sin(2.3 * k + 1), turn = 0.8 * sin(1.7 * k);
        struct sl_outlines outlines = {.count = 1};
        outlines.item[0] = seen(-40, 0.1, taper, tilt);
        outlines.item[0].bend = 0.006;
        sl_outlines_level(&info, &outlines);
        without += pow(outlines.item[0].taper - taper, 2) / SCENES;
        add_card(&outlines, 50, turn, tilt);
        sl_outlines_level(&info, &outlines);
        with += pow(outlines.item[0].taper - taper, 2) / SCENES;
    }
    if (sqrt(with) > 0.006 || sqrt(without) < 0.025)
        fail_msg("the taper is off by %.4f, without a card by %.4f", sqrt(with), sqrt(without));
}

/* Edges that are parallel and square to nothing say nothing, and those of a card are heard among
 * them. */
static void stray_edges_are_left_alone(void **state)
{
    (void)state;
    const struct sl_photo_info info = {.width_px = 4000, .height_px = 3000};
    const double tilt = 0.12, taper = 0.05;
    struct sl_outlines alone = {.count = 1}, strays, both;
    alone.item[0] = seen(-40, 0.1, taper, tilt);
    alone.item[0].bend = 0.006;
    strays = alone;
    for (int k = 0; k < 6; k++) {
        double angle = 0.25 * k + 0.01 * k * k, x = 70 * sin(k), y = 50 * cos(2.0 * k);
        const double from[2] = {x, y}, to[2] = {x + 30 * cos(angle), y + 30 * sin(angle)};
        add_edge(&strays, from, to, tilt);
    }
    both = strays;
    add_card(&both, 50, 0.3, tilt);
    sl_outlines_level(&info, &alone);
    sl_outlines_level(&info, &strays);
    sl_outlines_level(&info, &both);
    assert_true(fabs(strays.item[0].taper - alone.item[0].taper) < 0.015);
    assert_true(fabs(both.item[0].taper - taper) < 0.01);
    assert_true(fabs(alone.item[0].taper - taper) > 0.03); /* it can't be told from a slant */
}

/* Sides that run dead straight were not cut with scissors: what they differ by is perspective. */
static void a_machine_cuts_no_taper(void **state)
{
    (void)state;
    const struct sl_photo_info info = {.width_px = 4000, .height_px = 3000};
    struct sl_outlines wandering = {.count = 2}, straight;
    wandering.item[0] = seen(-40, 0, 0.01, 0.16);
    wandering.item[1] = seen(40, 0, -0.01, 0.16);
    straight = wandering;
    for (int i = 0; i < 2; i++)
        wandering.item[i].bend = 0.006, straight.item[i].bend = 0.0006;
    sl_outlines_level(&info, &wandering);
    sl_outlines_level(&info, &straight);
    assert_true(fabs(straight.item[0].taper) < 0.002 && fabs(straight.item[1].taper) < 0.002);
    assert_true(wandering.item[0].taper - wandering.item[1].taper > 0.015);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(perspective_is_taken_out),
        cmocka_unit_test(curved_edges_become_straight),
        cmocka_unit_test(homography_maps_corners_and_keeps_cross_ratios),
        cmocka_unit_test(cut_is_told_from_perspective),
        cmocka_unit_test(even_edges_follow_places_on_the_strip),
        cmocka_unit_test(a_card_tells_the_slant),
        cmocka_unit_test(stray_edges_are_left_alone),
        cmocka_unit_test(a_machine_cuts_no_taper),
        cmocka_unit_test(outside_of_the_photo_is_hidden),
        cmocka_unit_test(hidden_part_and_clipping_are_flagged),
        cmocka_unit_test(too_small_and_crossed_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
