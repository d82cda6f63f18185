// SPDX-License-Identifier: GPL-3.0-or-later
/* Origin, front, light and which end was in the water, on sheets of which everything is known. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <gsl/gsl_errno.h>
#include <math.h>
#include <string.h>

#include "made_sheet.h"
#include "strandline/profile.h"
#include "strip/light.h"
#include "strip/light_trend.h"

struct read {
    struct sl_sheet sheet;
    struct sl_outline outline;
    struct sl_marks marks;
    struct sl_warnings warnings;
    struct sl_status status;
    sl_code code;
};

static struct sl_strip_hints no_hints(void)
{
    struct sl_strip_hints hints;
    sl_strip_hints_init(&hints);
    return hints;
}

static void read_sheet(struct read *r, const struct made_spec *spec, struct sl_sheet sheet,
                       struct sl_strip_hints hints)
{
    *r = (struct read){.sheet = sheet, .outline = made_outline(spec)};
    r->code =
        sl_sheet_read_marks(&r->sheet, &r->outline, &hints, &r->marks, &r->warnings, &r->status);
}

static void read_spec(struct read *r, const struct made_spec *spec)
{
    read_sheet(r, spec, made_sheet(spec), no_hints());
    assert_int_equal(r->code, SL_OK);
}

/* Largest departure from `expected` of the rows' mean reflectance, middle of the width. */
static double worst_reflectance(const struct sl_sheet *sheet, double from, double to,
                                double expected)
{
    double worst = 0;
    for (int row = (int)(from * sheet->rows); row < (int)(to * sheet->rows); row++)
        for (int c = 0; c < 3; c++) {
            double sum = 0;
            int n = 0;
            for (int column = sheet->columns / 20; column < sheet->columns - sheet->columns / 20;
                 column++, n++)
                sum += (double)sheet->rgb[3 * (row * sheet->columns + column) + c];
            worst = fmax(worst, fabs(sum / n - expected));
        }
    return worst;
}

static double mean_reflectance(const struct sl_sheet *sheet, double from, double to, int c)
{
    double sum = 0;
    int n = 0;
    for (int row = (int)(from * sheet->rows); row < (int)(to * sheet->rows); row++)
        for (int column = sheet->columns / 20; column < sheet->columns - sheet->columns / 20;
             column++, n++)
            sum += (double)sheet->rgb[3 * (row * sheet->columns + column) + c];
    return sum / n;
}

static void flat_paper_becomes_one(void **state)
{
    (void)state;
    struct made_spec spec = made_spec();
    struct read r;
    read_spec(&r, &spec);
    assert_true(worst_reflectance(&r.sheet, 0, 1, 1) < 1e-3);
    assert_true(r.marks.blank);
    assert_true(sl_warned(&r.warnings, SL_W_BLANK));
    assert_true(fabs(r.marks.paper_rgb[0] - 0.68) < 1e-3); /* 0.8 x 0.85 */
    sl_sheet_finish(&r.sheet);
}

static void light_is_divided_out_of_an_inked_strip(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.light_along = 0.35;
    spec.light_across = 0.1;
    struct read r;
    read_spec(&r, &spec);
    assert_true(worst_reflectance(&r.sheet, 0.8, 0.98, 1) < 0.01);
    assert_true(worst_reflectance(&r.sheet, 0.02, 0.1, 1) < 0.01);
    /* what is left between is the dye's: at 0.5 both feet are 0.6 exp(-0.1 / 0.03) of 0.6 */
    double load[3];
    made_load(&spec, 0.5, 0.5, load);
    int cell = (int)(0.5 * spec.rows) * spec.columns;
    double r0 = 0;
    for (int column = 10; column < 90; column++)
        r0 += (double)r.sheet.rgb[3 * (cell + column)] / 80;
    double expected = 0;
    {
        double ks = (1 - 0.85) * (1 - 0.85) / (2 * 0.85) + load[0];
        expected = (1 + ks - sqrt(ks * ks + 2 * ks)) / 0.85;
    }
    assert_true(fabs(r0 - expected) < 0.02);
    assert_true(fabs(r.marks.light_ratio - exp(0.35)) < 0.05);
    sl_sheet_finish(&r.sheet);
}

/* An end that lies in the phone's shadow, which has a colour of its own, is clean paper there too.
 */
static void a_deep_shadow_over_an_end_is_light(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.shadow = 0.6;
    spec.shadow_v = 0.78;
    spec.shadow_tint = -0.02;
    struct read r;
    read_spec(&r, &spec);
    assert_true(worst_reflectance(&r.sheet, 0.87, 0.98, 1) < 0.015);
    assert_true(worst_reflectance(&r.sheet, 0.02, 0.1, 1) < 0.015);
    sl_sheet_finish(&r.sheet);
}

/* Grey dye over a third of the strip, with clean paper beyond it, is no shadow. */
static void a_wide_grey_band_is_no_shadow(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band[2] =
        (struct made_band){.v = 0.75, .sigma = 0.03, .half_line = 0.12, .load = {0.2, 0.2, 0.2}};
    struct read r;
    read_spec(&r, &spec);
    double ks = (1 - 0.85) * (1 - 0.85) / (2 * 0.85) + 0.2;
    double expected = (1 + ks - sqrt(ks * ks + 2 * ks)) / 0.85;
    assert_true(fabs(mean_reflectance(&r.sheet, 0.7, 0.8, 1) - expected) < 0.02);
    sl_sheet_finish(&r.sheet);
}

/* A trace of dye that shades the lower end is dye, not the light's colour; a light that gets warmer
 * along the strip as much as two lamps make it is light. */
static void a_shaded_end_does_not_colour_the_light(void **state)
{
    (void)state;
    for (int warm = 0; warm < 2; warm++) {
        struct made_spec spec = made_ink();
        struct read r;
        spec.warm_along = 0.01 * warm;
        spec.band[spec.band_count++] =
            (struct made_band){.v = 0, .sigma = 0.05, .load = {0, warm ? 0 : 0.008, 0}};
        read_spec(&r, &spec);
        assert_true(worst_reflectance(&r.sheet, 0.75, 0.95, 1) < 0.006);
        if (warm)
            assert_true(worst_reflectance(&r.sheet, 0.02, 0.1, 1) < 0.006);
        double green = mean_reflectance(&r.sheet, 0.35, 0.45, 1),
               red = mean_reflectance(&r.sheet, 0.35, 0.45, 0);
        struct made_spec plain = made_ink();
        struct read p;
        read_spec(&p, &plain);
        assert_true(fabs(log(green / mean_reflectance(&p.sheet, 0.35, 0.45, 1)) -
                         log(red / mean_reflectance(&p.sheet, 0.35, 0.45, 0))) < 0.004);
        sl_sheet_finish(&p.sheet);
        sl_sheet_finish(&r.sheet);
    }
}

/* With one end in plain sight and the other shaded by dye, that end holds the white. */
static void a_shaded_end_holds_the_white(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r;
    spec.light_along = -0.3;
    spec.band[spec.band_count++] =
        (struct made_band){.v = 0.25, .sigma = 0.2, .load = {0.02, 0.15, 0.05}};
    read_spec(&r, &spec);
    for (int k = 0; k < 4; k++) {
        double v = 0.25 + 0.04 * k, load[3];
        made_load(&spec, 0.5, v, load);
        double red = sl_kubelka_munk_inverse(sl_kubelka_munk(0.85) + load[0]) / 0.85;
        double off = log(mean_reflectance(&r.sheet, v - 0.005, v + 0.005, 0) / red);
        double se = (double)r.sheet.paper[3 * (int)(v * spec.rows)];
        assert_true(fabs(off) < 0.1);
        assert_true(fabs(off) < 2.6 * se);
        assert_true(se < 0.16);
    }
    sl_sheet_finish(&r.sheet);
}

/* A bright table that shows at a torn end is not the strip's white, under whatever dye it goes on.
 */
static void a_bright_table_at_the_end_is_no_white(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band[spec.band_count++] =
        (struct made_band){.v = 0.25, .sigma = 0.2, .load = {0.05, 0.25, 0.12}};
    struct sl_sheet sheet = made_sheet(&spec);
    for (int k = 0; k < sheet.columns * sheet.rows / 200; k++)
        for (int c = 0; c < 3; c++)
            sheet.rgb[3 * k + c] *= 1.5F;
    struct sl_light light = {0};
    assert_true(sl_light_learn(&light, &sheet));
    for (int row = 0; row < sheet.rows / 2; row++)
        assert_true(fabs(light.log_white[row][0] - light.log_white[3 * sheet.rows / 4][0]) < 0.15);
    sl_light_finish(&light);
    sl_sheet_finish(&sheet);
}

/* White that is clipped tells the brightness and the colour of the light no longer. */
static void clipped_white_is_doubted(void **state)
{
    (void)state;
    double level[2], colour[2];
    for (int clipped = 0; clipped < 2; clipped++) {
        struct made_spec spec = made_ink();
        struct sl_sheet sheet = made_sheet(&spec);
        for (int k = 0; k < sheet.rows * sheet.columns && clipped; k++)
            if (sheet.rgb[3 * k] > 0.6F)
                sheet.flags[k] |= SL_CELL_CLIPPED;
        struct read r;
        read_sheet(&r, &spec, sheet, no_hints());
        assert_int_equal(r.code, SL_OK);
        level[clipped] = r.marks.white_level_se;
        colour[clipped] = r.marks.white_colour_se[0];
        sl_sheet_finish(&r.sheet);
    }
    assert_true(level[0] < 1e-9 && level[1] > 0.05);
    assert_true(colour[0] < 0.01 && colour[1] > 0.03);
}

/* Where hardly any clean paper is seen the light's colour is no better known than its brightness.
 */
static void without_clean_paper_the_light_s_colour_is_doubted(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    double colour[2];
    for (int hidden = 0; hidden < 2; hidden++) {
        struct sl_sheet sheet = made_sheet(&spec);
        for (int k = 0; k < sheet.rows * sheet.columns && hidden; k++)
            if (4 * (k % sheet.columns) > sheet.columns)
                sheet.flags[k] |= SL_CELL_HIDDEN;
        struct sl_light light = {0};
        assert_true(sl_light_learn(&light, &sheet));
        colour[hidden] = light.colour_se[0];
        sl_light_finish(&light);
        sl_sheet_finish(&sheet);
    }
    assert_true(colour[0] < 0.01 && colour[1] > 0.03);
}

static void unseen_paper_has_the_larger_error(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r;
    read_spec(&r, &spec);
    double clean = (double)r.sheet.paper[3 * (int)(0.85 * spec.rows)];
    double dyed = (double)r.sheet.paper[3 * (int)(0.4 * spec.rows)];
    assert_true(clean > 0 && clean < 0.01);
    assert_true(dyed > 1.5 * clean);
    sl_sheet_finish(&r.sheet);
}

static void origin_is_the_line_at_mid_width(void **state)
{
    (void)state;
    const double slants[] = {-0.015, 0, 0.01};
    for (int i = 0; i < 3; i++) {
        struct made_spec spec = made_ink();
        spec.band[0].slant = slants[i];
        spec.band[0].margin = 0.1;
        struct read r;
        read_spec(&r, &spec);
        assert_false(r.marks.turned);
        assert_true(fabs(r.marks.origin - 0.15) < 0.0015); /* about one row of 600 */
        assert_true(r.marks.origin_sigma > 0 && r.marks.origin_sigma < 0.01);
        assert_true(r.marks.line_width > 0.01 && r.marks.line_width < 0.03); /* drawn: 0.021 */
        assert_false(r.marks.blank);
        sl_sheet_finish(&r.sheet);
    }
}

static void turned_strip_is_recognised(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r;
    struct sl_sheet sheet = made_sheet(&spec);
    made_turn(&sheet);
    struct sl_outline before = made_outline(&spec);
    read_sheet(&r, &spec, sheet, no_hints());
    assert_int_equal(r.code, SL_OK);
    assert_true(r.marks.turned);
    assert_true(r.marks.orientation_doubt < 0.1);
    assert_true(fabs(r.marks.origin - 0.15) < 0.002);
    for (int i = 0; i < 4; i++) {
        assert_true(r.outline.corner_px[i].x == before.corner_px[(i + 2) % 4].x);
        assert_true(r.outline.corner_px[i].y == before.corner_px[(i + 2) % 4].y);
    }
    assert_true(r.outline.left_px[0].x == before.right_px[SL_EDGE_POINTS - 1].x);
    assert_true(r.outline.left_px[0].y == before.right_px[SL_EDGE_POINTS - 1].y);
    sl_sheet_finish(&r.sheet);
}

static void mirrored_strip_gives_mirrored_marks(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.noise = 0; /* noise would be mirrored too, but not its share in the uneven lane borders */
    spec.front_v = 0.66;
    spec.band[2].slant = 0.02;
    struct read plain, mirrored;
    struct sl_sheet sheet = made_sheet(&spec);
    made_mirror(&sheet);
    read_spec(&plain, &spec);
    read_sheet(&mirrored, &spec, sheet, no_hints());
    assert_int_equal(mirrored.code, SL_OK);
    assert_true(fabs(plain.marks.origin - mirrored.marks.origin) < 1e-4);
    assert_true(fabs(plain.marks.front - mirrored.marks.front) < 2e-3);
    assert_true(fabs(plain.marks.front_slant + mirrored.marks.front_slant) < 2e-3);
    assert_int_equal(plain.marks.front_seen, mirrored.marks.front_seen);
    sl_sheet_finish(&plain.sheet);
    sl_sheet_finish(&mirrored.sheet);
}

static void front_is_read_from_tick_water_line_and_dye(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r;
    spec.tick_v = 0.75;
    read_spec(&r, &spec);
    assert_int_equal(r.marks.front_seen, SL_FRONT_PENCIL);
    assert_true(fabs(r.marks.front - 0.75) < 0.003);
    sl_sheet_finish(&r.sheet);

    spec.tick_v = 0;
    spec.water_line_v = 0.78;
    read_spec(&r, &spec);
    assert_int_equal(r.marks.front_seen, SL_FRONT_WATER_LINE);
    assert_true(fabs(r.marks.front - 0.78) < 0.008); /* the front is at the line's upper side */
    sl_sheet_finish(&r.sheet);

    spec.water_line_v = 0;
    spec.front_v = 0.615; /* cuts the upper band: dye pushed against the front */
    read_spec(&r, &spec);
    assert_int_equal(r.marks.front_seen, SL_FRONT_DYE);
    assert_true(fabs(r.marks.front - 0.615) < 0.008);
    sl_sheet_finish(&r.sheet);
}

static void unseen_front_is_told_and_wide(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r;
    read_spec(&r, &spec);
    assert_int_equal(r.marks.front_seen, SL_FRONT_NOT_SEEN);
    assert_true(sl_warned(&r.warnings, SL_W_FRONT_UNSEEN));
    assert_true(r.marks.front > 0.6 && r.marks.front < 1);
    assert_true(r.marks.front_sigma >= 0.04);
    sl_sheet_finish(&r.sheet);
}

static void hand_set_values_are_never_overruled(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.tick_v = 0.75;
    struct sl_strip_hints hints = no_hints();
    hints.origin = 0.3;
    hints.front = 0.5;
    hints.upside_down = 1; /* it is not: the user's word counts */
    hints.paper_reflectance[0] = 0.7;
    struct read r;
    read_sheet(&r, &spec, made_sheet(&spec), hints);
    assert_int_equal(r.code, SL_OK);
    assert_true(r.marks.turned);
    assert_true(r.marks.origin == 0.3 && r.marks.given_origin);
    assert_true(r.marks.front == 0.5 && r.marks.given_front);
    assert_int_equal(r.marks.front_seen, SL_FRONT_GIVEN);
    assert_true(r.marks.orientation_doubt == 0);
    assert_true(r.marks.paper_reflectance[0] == 0.7);
    sl_sheet_finish(&r.sheet);

    hints = no_hints();
    hints.origin = 0.2; /* the line is at 0.15: kept, but not in silence */
    read_sheet(&r, &spec, made_sheet(&spec), hints);
    assert_int_equal(r.code, SL_OK);
    assert_true(r.marks.origin == 0.2);
    assert_true(sl_warned(&r.warnings, SL_W_ORIGIN_UNSURE));
    sl_sheet_finish(&r.sheet);
}

/* A mark set on the wrong side of one that is plainly there is refused, not measured with. */
static void given_marks_must_fit_the_found_ones(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.tick_v = 0.75;
    struct sl_strip_hints hints = no_hints();
    struct read r;
    hints.front = 0.1; /* the line is at 0.15 */
    read_sheet(&r, &spec, made_sheet(&spec), hints);
    assert_int_equal(r.code, SL_E_ORIGIN_ABOVE_FRONT);
    assert_non_null(strstr(r.status.message, "0.15"));
    sl_sheet_finish(&r.sheet);

    hints = no_hints();
    hints.origin = 0.95; /* the front is at 0.75 */
    read_sheet(&r, &spec, made_sheet(&spec), hints);
    assert_int_equal(r.code, SL_E_ORIGIN_ABOVE_FRONT);
    assert_non_null(strstr(r.status.message, "0.75"));
    sl_sheet_finish(&r.sheet);
}

static void impossible_values_are_refused(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r;
    struct sl_strip_hints hints = no_hints();
    hints.origin = 0.6;
    hints.front = 0.5;
    read_sheet(&r, &spec, made_sheet(&spec), hints);
    assert_int_equal(r.code, SL_E_ORIGIN_ABOVE_FRONT);
    assert_true(r.status.message[0] != '\0');
    sl_sheet_finish(&r.sheet);

    hints = no_hints();
    hints.front = 1.5;
    read_sheet(&r, &spec, made_sheet(&spec), hints);
    assert_int_equal(r.code, SL_E_RANGE);
    sl_sheet_finish(&r.sheet);

    hints = no_hints();
    hints.paper_reflectance[2] = 85;
    read_sheet(&r, &spec, made_sheet(&spec), hints);
    assert_int_equal(r.code, SL_E_RANGE);
    sl_sheet_finish(&r.sheet);
}

static void brown_paper_is_told_from_white(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r;
    read_spec(&r, &spec);
    assert_true(r.marks.paper_reflectance[2] == 0.85);
    assert_false(sl_warned(&r.warnings, SL_W_COLOURED_PAPER));
    sl_sheet_finish(&r.sheet);

    const double brown[3] = {0.56, 0.45, 0.35};
    for (int c = 0; c < 3; c++)
        spec.paper[c] = brown[c];
    spec.light = 0.6;
    read_spec(&r, &spec);
    assert_true(r.marks.paper_reflectance[2] < 0.5);
    assert_true(sl_warned(&r.warnings, SL_W_COLOURED_PAPER));
    sl_sheet_finish(&r.sheet);
}

static float *cell(struct sl_sheet *sheet, int row, int column)
{
    return sheet->rgb + 3 * (row * sheet->columns + column);
}

/* A dark table shows at a torn upper end, a neighbour's shadow lies along the right edge. */
static void table_and_shadow_are_hidden(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct sl_sheet sheet = made_sheet(&spec);
    for (int row = 0; row < spec.rows; row++)
        for (int column = 0; column < spec.columns; column++)
            for (int c = 0; c < 3; c++) {
                if (row > 585 + column / 10)
                    cell(&sheet, row, column)[c] = 0.05F;
                else if (column > 85)
                    cell(&sheet, row, column)[c] *= 0.7F;
            }
    struct read r;
    read_sheet(&r, &spec, sheet, no_hints());
    assert_int_equal(r.code, SL_OK);
    assert_false(r.marks.turned);
    assert_true(fabs(r.marks.origin - 0.15) < 0.002);
    assert_true(r.sheet.flags[598 * spec.columns + 30] & SL_CELL_HIDDEN);
    assert_false(r.sheet.flags[570 * spec.columns + 30] & SL_CELL_HIDDEN);
    assert_true(r.sheet.flags[500 * spec.columns + 90] & SL_CELL_HIDDEN);
    assert_false(r.sheet.flags[500 * spec.columns + 70] & SL_CELL_HIDDEN);
    sl_sheet_finish(&r.sheet);
}

/* The ink has left its line altogether; a tick at each edge says where it was ruled. */
static struct sl_sheet sheet_with_ticks(const struct made_spec *spec)
{
    struct sl_sheet sheet = made_sheet(spec);
    for (int row = 83; row < 86; row++)
        for (int column = 0; column < spec->columns; column++)
            for (int c = 0; c < 3; c++)
                if (column < 12 || column >= spec->columns - 12)
                    cell(&sheet, row, column)[c] *= 0.3F;
    return sheet;
}

/* Two bands in the middle leave open which end was in the water, and that is said. */
static void ticks_tell_the_origin_that_ink_has_left(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band[0] = spec.band[--spec.band_count];
    struct sl_strip_hints upright = no_hints();
    upright.upside_down = 0;
    struct read open, r;
    read_sheet(&open, &spec, sheet_with_ticks(&spec), no_hints());
    assert_true(!open.marks.turned || sl_warned(&open.warnings, SL_W_ORIENTATION));
    sl_sheet_finish(&open.sheet);
    read_sheet(&r, &spec, sheet_with_ticks(&spec), upright);
    assert_int_equal(r.code, SL_OK);
    assert_true(fabs(r.marks.origin - 84.5 / 600) < 0.003);
    sl_sheet_finish(&r.sheet);
}

/* One band in the middle tells nothing; the label does: people write on the end that stays dry. */
static void writing_tells_the_dry_end(void **state)
{
    (void)state;
    for (int end = 0; end < 2; end++) {
        struct made_spec spec = made_ink();
        spec.band_count = 1;
        spec.band[0] = (struct made_band){.v = 0.5, .sigma = 0.03, .load = {1, 0.3, 0.1}};
        struct sl_sheet sheet = made_sheet(&spec);
        for (int stroke = 0; stroke < 3; stroke++)
            for (int k = 0; k < 24; k++)
                for (int c = 0; c < 9; c++)
                    cell(&sheet, end ? 530 + k : 46 + k, 30 + 12 * stroke + c / 3)[c % 3] *= 0.35F;
        struct read r;
        read_sheet(&r, &spec, sheet, no_hints());
        assert_int_equal(r.code, SL_OK);
        assert_int_equal(r.marks.turned, end == 0);
        assert_true(r.marks.orientation_doubt > 0.1); /* it is only a habit */
        sl_sheet_finish(&r.sheet);
    }
}

/* No line of its own: dye starts steeply where the line was, half a line's width below it. */
static void swallowed_line_is_placed_by_the_inks_lower_edge(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band_count = 1;
    spec.band[0] =
        (struct made_band){.v = 0.2, .sigma = 0.005, .half_line = 0.08, .load = {1, 0.8, 0.3}};
    struct read r;
    read_spec(&r, &spec);
    assert_false(r.marks.turned);
    assert_true(fabs(r.marks.origin - 0.12) < 0.02);
    assert_true(fabs(r.marks.origin - 0.12) < 2 * r.marks.origin_sigma);
    assert_true(r.marks.origin_sigma >= r.marks.line_width / 3);
    sl_sheet_finish(&r.sheet);
}

/* A straight line through the clean ends is bridged over the gap; the error grows in it. */
static void trend_bridges_a_gap(void **state)
{
    (void)state;
    enum { N = 100 };
    double y[N], variance[N], curve[N], se[N];
    for (int i = 0; i < N; i++) {
        bool seen = i < 20 || i >= 60;
        y[i] = seen ? 0.3 + 0.5 * i / N : NAN;
        variance[i] = 1e-5;
    }
    assert_true(sl_light_trend(y, variance, N, 1.0 / N, curve, se));
    for (int i = 0; i < N; i++)
        assert_true(fabs(curve[i] - 0.3 - 0.5 * i / N) < 1e-3);
    assert_true(se[40] > 3 * se[10]);
    y[5] = INFINITY;
    for (int i = 1; i < N; i++)
        y[i] = NAN;
    assert_false(sl_light_trend(y, variance, N, 1.0 / N, curve, se));
}

static double uniform(uint32_t *seed)
{
    *seed = *seed * 1664525U + 1013904223U; /* Numerical Recipes' generator */
    return ((double)(*seed >> 8) + 0.5) / 16777216.0;
}

static double gauss(uint32_t *seed)
{
    double radius = sqrt(-2 * log(uniform(seed)));
    return radius * cos(6.283185307179586 * uniform(seed));
}

/* Random walks of all sorts of roughness, of which two fifths aren't seen: 95 % of the intervals
 * in the gap's middle hold the truth, give or take four standard deviations of such a count. */
static void trends_interval_holds_in_a_gap(void **state)
{
    (void)state;
    enum { N = 100, WALKS = 400, MIDDLE = 50 };
    uint32_t seed = 7;
    int held = 0;
    for (int walk = 0; walk < WALKS; walk++) {
        double y[N], variance[N], curve[N], se[N], true_middle = 0;
        double level = 0, slope = 0.3 * gauss(&seed), rough = 0.05 * exp(2 * gauss(&seed));
        for (int i = 0; i < N; i++) {
            slope += sqrt(rough / N) * gauss(&seed);
            level += slope / N;
            y[i] = i < 30 || i >= 70 ? level + 0.003 * gauss(&seed) : NAN;
            variance[i] = 0.003 * 0.003;
            if (i == MIDDLE)
                true_middle = level;
        }
        assert_true(sl_light_trend(y, variance, N, 1.0 / N, curve, se));
        held += fabs(curve[MIDDLE] - true_middle) < 1.96 * se[MIDDLE];
    }
    assert_in_range(held, (int)(0.906 * WALKS), (int)(0.994 * WALKS));
}

static void cut_strip_has_no_invented_origin(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct sl_strip_hints hints = no_hints();
    for (int upper = 0; upper < 2; upper++)
        for (int given = 0; given < 2; given++) {
            struct read r = {.sheet = made_sheet(&spec), .outline = made_outline(&spec)};
            r.outline.cut_off = true;
            r.outline.cut_lower = upper == 0;
            r.outline.cut_upper = upper == 1;
            hints.origin = given ? 0.15 : NAN;
            r.code =
                sl_sheet_read_marks(&r.sheet, &r.outline, &hints, &r.marks, &r.warnings, &r.status);
            assert_int_equal(r.code, SL_OK);
            assert_int_equal(r.marks.origin_outside, !upper && !given);
            assert_int_equal(sl_warned(&r.warnings, SL_W_CUT_OFF), !upper && !given);
            sl_sheet_finish(&r.sheet);
        }
}

/* Laid upside down, the frame cuts what is the front end. */
static void cut_end_turns_with_the_strip(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct read r = {.sheet = made_sheet(&spec), .outline = made_outline(&spec)};
    struct sl_strip_hints hints = no_hints();
    made_turn(&r.sheet);
    r.outline.cut_off = r.outline.cut_lower = true;
    r.code = sl_sheet_read_marks(&r.sheet, &r.outline, &hints, &r.marks, &r.warnings, &r.status);
    assert_int_equal(r.code, SL_OK);
    assert_true(r.marks.turned);
    assert_true(r.outline.cut_upper);
    assert_false(r.outline.cut_lower);
    assert_false(r.marks.origin_outside);
    sl_sheet_finish(&r.sheet);
}

/* Summed load of the rows' mean reflectance about the origin, in rows. */
static double load_at_origin(const struct read *r)
{
    const struct sl_sheet *sheet = &r->sheet;
    double area = 0;
    for (int row = (int)(0.12 * sheet->rows); row < (int)(0.18 * sheet->rows); row++)
        for (size_t c = 0; c < 3; c++) {
            double sum = 0;
            for (int column = 10; column < 90; column++)
                sum += (double)sheet->rgb[3 * (size_t)(row * sheet->columns + column) + c] / 80;
            area += sl_load(sum, r->marks.paper_reflectance[c]);
        }
    return area;
}

static double read_load(const struct made_spec *spec, int *ret_warned)
{
    struct read r;
    read_spec(&r, spec);
    double load = load_at_origin(&r);
    *ret_warned = sl_warned(&r.warnings, SL_W_PENCIL);
    sl_sheet_finish(&r.sheet);
    return load;
}

static void pencil_on_the_line_is_no_ink(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    int warned;
    for (int inked = 0; inked < 2; inked++) {
        for (int c = 0; c < 3 && !inked; c++)
            spec.band[0].load[c] = 0;
        if (inked)
            spec = made_ink();
        spec.pencil_v = 0;
        double ink = read_load(&spec, &warned);
        assert_false(warned);
        spec.pencil_v = 0.15, spec.pencil_depth = 0.5;
        double with_pencil = read_load(&spec, &warned);
        assert_true(warned);
        /* the pencil alone has 3 x K/S(0.85 exp(-0.5)) over two rows, about 1.1 */
        assert_true(fabs(with_pencil - ink) < fmax(0.2, 0.07 * ink));
    }
}

static void ink_is_no_pencil(void **state)
{
    (void)state;
    for (int narrow = 0; narrow < 2; narrow++) {
        struct made_spec spec = made_ink();
        for (int c = 0; c < 3; c++)
            spec.band[0].load[c] = 1; /* black, as dark as pencil */
        if (narrow)
            spec.band[0].half_line = 0.0025, spec.band[0].sigma = 0.0025;
        double drawn = 0;
        for (int row = (int)(0.12 * spec.rows); row < (int)(0.18 * spec.rows); row++) {
            double load[3];
            made_load(&spec, 0.5, (row + 0.5) / spec.rows, load);
            drawn += load[0] + load[1] + load[2];
        }
        int warned;
        double read = read_load(&spec, &warned);
        assert_true(fabs(read - drawn) < 0.05 * drawn);
    }
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flat_paper_becomes_one),
        cmocka_unit_test(light_is_divided_out_of_an_inked_strip),
        cmocka_unit_test(a_deep_shadow_over_an_end_is_light),
        cmocka_unit_test(a_wide_grey_band_is_no_shadow),
        cmocka_unit_test(a_shaded_end_does_not_colour_the_light),
        cmocka_unit_test(a_bright_table_at_the_end_is_no_white),
        cmocka_unit_test(a_shaded_end_holds_the_white),
        cmocka_unit_test(clipped_white_is_doubted),
        cmocka_unit_test(without_clean_paper_the_light_s_colour_is_doubted),
        cmocka_unit_test(unseen_paper_has_the_larger_error),
        cmocka_unit_test(origin_is_the_line_at_mid_width),
        cmocka_unit_test(turned_strip_is_recognised),
        cmocka_unit_test(mirrored_strip_gives_mirrored_marks),
        cmocka_unit_test(front_is_read_from_tick_water_line_and_dye),
        cmocka_unit_test(unseen_front_is_told_and_wide),
        cmocka_unit_test(hand_set_values_are_never_overruled),
        cmocka_unit_test(given_marks_must_fit_the_found_ones),
        cmocka_unit_test(impossible_values_are_refused),
        cmocka_unit_test(brown_paper_is_told_from_white),
        cmocka_unit_test(table_and_shadow_are_hidden),
        cmocka_unit_test(ticks_tell_the_origin_that_ink_has_left),
        cmocka_unit_test(writing_tells_the_dry_end),
        cmocka_unit_test(swallowed_line_is_placed_by_the_inks_lower_edge),
        cmocka_unit_test(cut_strip_has_no_invented_origin),
        cmocka_unit_test(cut_end_turns_with_the_strip),
        cmocka_unit_test(pencil_on_the_line_is_no_ink),
        cmocka_unit_test(ink_is_no_pencil),
        cmocka_unit_test(trend_bridges_a_gap),
        cmocka_unit_test(trends_interval_holds_in_a_gap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
