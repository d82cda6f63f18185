// SPDX-License-Identifier: GPL-3.0-or-later
// Things that lie about and are no strips. Sizes where a scene gives none are usual ones.
#include "noise.h"
#include "things.h"

#include <math.h>
#include <stdio.h>

static const double map_step_mm = 0.15;

static double or_usual(double given, double usual)
{
    return given > 0 ? given : usual;
}

static bool begin(const struct object *object, double width, double length, double rounded,
                  struct sheet *ret_sheet)
{
    if (!sheet_create(ret_sheet, or_usual(object->width_mm, width),
                      or_usual(object->length_mm, length), map_step_mm)) {
        return false;
    }
    sheet_place(ret_sheet, object->x_mm, object->y_mm, object->turn_deg);
    sheet_fill(ret_sheet, object->colour);
    sheet_outline(ret_sheet, rounded);
    return true;
}

static bool card(const struct object *object, uint64_t seed, struct sheet *sheet)
{
    if (!begin(object, 62, 90, 2.5, sheet)) {
        return false;
    }
    struct ink_pen rule = {0.09, {0.35, 0.5, 0.62}, 0.7};
    struct ink_pen writing = {0.26, {0.05, 0.09, 0.22}, 0.85};
    double left = -sheet->width_mm / 2;
    for (double v = sheet->length_mm - 14; v > 6; v -= 7) {
        sheet_line(sheet, &rule, left + 3, v, -left - 3, v);
    }
    sheet_text(sheet, &writing, object->text, left + 6, sheet->length_mm - 13, 4.2, 1);
    for (int row = 1; row < 4; row++) { // scribbles that could be words
        double v = sheet->length_mm - 13 - 7 * row;
        double end = -left - 8 - 12 * fabs(wave_at(seed + (uint64_t)row, 0.4));
        double last = v + 1;
        for (double u = left + 6; u < end; u += 0.9) {
            double next = v + 1.4 + 1.5 * wave_at(seed + (uint64_t)row, u / 0.8);
            if (wave_at(seed + 9, u / 4.0 + row * 31) > -0.55) {
                sheet_line(sheet, &writing, u, last, u + 0.9, next);
            }
            last = next;
        }
    }
    sheet->relief = PAPER_SMOOTH;
    sheet->relief_depth = 0.3;
    return true;
}

static bool ruler(const struct object *object, struct sheet *sheet)
{
    if (!begin(object, 28, 210, 1, sheet)) {
        return false;
    }
    struct ink_pen tick = {0.1, {0.05, 0.05, 0.05}, 0.9};
    double left = -sheet->width_mm / 2;
    int last = (int)sheet->length_mm - 6;
    for (int mm = 0; mm <= last; mm++) {
        double v = 4 + mm;
        double reach = mm % 10 == 0 ? 6.5 : mm % 5 == 0 ? 5 : 3.5;
        sheet_line(sheet, &tick, left, v, left + reach, v);
        if (mm % 10 == 0) {
            char number[16];
            snprintf(number, sizeof number, "%d", mm / 10);
            tick.half_width_mm = 0.18;
            sheet_text(sheet, &tick, number, left + 8.5, v - 1.4, 2.8, 0);
            tick.half_width_mm = 0.1;
        }
    }
    sheet->height_mm = 1.2;
    return true;
}

// A round bar: dark at the sides, one streak of light.
static void shade_bar(struct sheet *sheet, double shine)
{
    for (int j = 0; j < sheet->rows; j++) {
        for (int i = 0; i < sheet->columns; i++) {
            double across = 2 * sheet_u(sheet, i) / sheet->width_mm;
            double body = 0.25 + 0.75 * sqrt(fmax(1 - across * across, 0));
            double z = (across + 0.35) / 0.09;
            double light = shine * exp(-0.5 * z * z);
            float *cell = sheet->rgb + 3 * ((size_t)j * (size_t)sheet->columns + (size_t)i);
            for (int c = 0; c < 3; c++) {
                cell[c] = (float)(cell[c] * body + light);
            }
        }
    }
}

static bool pen(const struct object *object, struct sheet *sheet)
{
    if (!begin(object, 11, 138, 5, sheet)) {
        return false;
    }
    struct ink_pen ring = {0.6, {0.35, 0.28, 0.1}, 1};
    double half = sheet->width_mm / 2;
    sheet_line(sheet, &ring, -half, 0.48 * sheet->length_mm, half, 0.48 * sheet->length_mm);
    shade_bar(sheet, 0.5);
    sheet->height_mm = 5;
    return true;
}

static bool peg(const struct object *object, struct sheet *sheet)
{
    if (!begin(object, 10, 72, 1.5, sheet)) {
        return false;
    }
    struct ink_pen gap = {0.35, {0.08, 0.05, 0.03}, 0.8};
    struct ink_pen spring = {0.5, {0.3, 0.3, 0.32}, 1};
    double half = sheet->width_mm / 2;
    for (int k = 0; k < 5; k++) {
        sheet_line(sheet, &spring, -half, 30 + 1.6 * k, half, 30 + 1.6 * k);
    }
    sheet_line(sheet, &gap, 0, 0, 0, 28);
    shade_bar(sheet, 0.03);
    sheet->height_mm = 4;
    return true;
}

static bool coin(const struct object *object, struct sheet *sheet)
{
    double diameter = or_usual(object->width_mm, 23);
    struct object round_one = *object;
    round_one.length_mm = round_one.width_mm = diameter;
    if (!begin(&round_one, diameter, diameter, diameter / 2, sheet)) {
        return false;
    }
    for (int j = 0; j < sheet->rows; j++) {
        for (int i = 0; i < sheet->columns; i++) {
            double u = sheet_u(sheet, i);
            double w = sheet_v(sheet, j) - diameter / 2;
            double r = hypot(u, w) / (diameter / 2);
            double relief = 1 + 0.25 * sin(40 * r) * (r > 0.86) +
                            0.12 * wave_at(5, u) * wave_at(6, w) + 0.2 * (u - w) / diameter;
            float *cell = sheet->rgb + 3 * ((size_t)j * (size_t)sheet->columns + (size_t)i);
            for (int c = 0; c < 3; c++) {
                cell[c] = (float)(cell[c] * relief);
            }
        }
    }
    sheet->height_mm = 1.8;
    return true;
}

static bool swatch(const struct object *object, uint64_t seed, struct sheet *sheet)
{
    if (!begin(object, 50, 84, 3, sheet)) {
        return false;
    }
    struct rng rng = {seed};
    for (int k = 0; k < 3; k++) {
        double hue = rng_between(&rng, 0, 6.28);
        double colour[3];
        for (int c = 0; c < 3; c++) {
            colour[c] = 0.22 + 0.2 * cos(hue + 2.094 * c);
        }
        struct ink_pen brush = {3.2, {colour[0], colour[1], colour[2]}, 0.55};
        double v = sheet->length_mm - 16 - 24 * k;
        for (double up = -4; up <= 6; up += 5) {
            double sway = 2 * wave_at(seed + (uint64_t)k, up);
            sheet_line(sheet, &brush, -16 + sway, v + up, 12 + sway, v + up + 0.6 * sway);
        }
    }
    return true;
}

static bool tape(const struct object *object, struct sheet *sheet)
{
    if (!begin(object, 19, 40, 0.1, sheet)) {
        return false;
    }
    sheet->opacity = object->colour[0] > 0.6 && object->colour[2] > 0.6 ? 0.22 : 0.9;
    sheet->height_mm = 0.1;
    return true;
}

bool object_sheet(const struct object *object, uint64_t seed, struct sheet *ret_sheet)
{
    switch (object->kind) {
    case OBJECT_CARD:
        return card(object, seed, ret_sheet);
    case OBJECT_RULER:
        return ruler(object, ret_sheet);
    case OBJECT_PEN:
        return pen(object, ret_sheet);
    case OBJECT_SWATCH:
        return swatch(object, seed, ret_sheet);
    case OBJECT_COIN:
        return coin(object, ret_sheet);
    case OBJECT_PEG:
        return peg(object, ret_sheet);
    default:
        return tape(object, ret_sheet);
    }
}
