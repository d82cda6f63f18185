// SPDX-License-Identifier: GPL-3.0-or-later
#include "made_sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "strandline/profile.h"

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

struct made_spec made_spec(void)
{
    return (struct made_spec){.columns = 100,
                              .rows = 600,
                              .paper = {0.85, 0.85, 0.85},
                              .light = 0.8,
                              .water_line_finger = 0.003};
}

struct made_spec made_ink(void)
{
    struct made_spec spec = made_spec();
    spec.noise = 0.01;
    spec.band_count = 3;
    spec.band[0] =
        (struct made_band){.v = 0.15, .sigma = 0.004, .half_line = 0.006, .load = {2, 1.5, 0.8}};
    spec.band[1] =
        (struct made_band){.v = 0.4, .sigma = 0.022, .load = {0.1, 1.2, 0.3}, .foot = 0.03};
    spec.band[2] =
        (struct made_band){.v = 0.6, .sigma = 0.028, .load = {1.0, 0.3, 0.05}, .foot = 0.03};
    return spec;
}

static double shape(const struct made_band *b, double u, double v)
{
    if (u < b->margin || u > 1 - b->margin)
        return 0;
    double off = v - b->v - b->slant * (u - 0.5) - b->finger * sin(31 * u);
    double beyond = fabs(off) - b->half_line;
    double value = beyond > 0 ? exp(-beyond * beyond / (2 * b->sigma * b->sigma)) : 1;
    if (b->foot > 0 && off < 0)
        value = fmax(value, 0.6 * exp(off / b->foot));
    return value;
}

void made_load(const struct made_spec *spec, double u, double v, double ret[3])
{
    for (int c = 0; c < 3; c++)
        ret[c] = 0;
    double front = spec->front_v + spec->front_slant * (u - 0.5) + spec->front_finger * sin(31 * u);
    if (spec->front_v > 0 && v > front)
        return;
    for (int i = 0; i < spec->band_count; i++)
        for (int c = 0; c < 3; c++)
            ret[c] += spec->band[i].load[c] * shape(&spec->band[i], u, v);
}

/* What is drawn on the paper, as a factor of its light. */
static void drawn(const struct made_spec *spec, double u, double v, double factor[3])
{
    for (int c = 0; c < 3; c++)
        factor[c] = 1;
    if (spec->tick_v > 0 && u > 0.86 && fabs(v - spec->tick_v) < 0.002)
        for (int c = 0; c < 3; c++)
            factor[c] = 0.3;
    if (spec->pencil_v > 0) {
        double off = (v - spec->pencil_v) * spec->rows;
        for (int c = 0; c < 3; c++)
            factor[c] *= exp(-spec->pencil_depth * exp(-off * off / 1.6));
    }
    double wave = spec->water_line_v + spec->water_line_finger * sin(20 * u);
    if (spec->water_line_v > 0) {
        double depth = exp(-(v - wave) * (v - wave) / (2 * 0.003 * 0.003));
        const double brown[3] = {0.02, 0.05, 0.12};
        for (int c = 0; c < 3; c++)
            factor[c] *= exp(-brown[c] * depth);
    }
}

/* 0 outside the shadow, 1 within. */
static double shadowed(const struct made_spec *spec, double v)
{
    double t = fmin(fmax((v - spec->shadow_v) / 0.1 + 0.5, 0), 1);
    return spec->shadow != 0 ? t * t * (3 - 2 * t) : 0;
}

struct sl_sheet made_sheet(const struct made_spec *spec)
{
    size_t cells = (size_t)spec->columns * (size_t)spec->rows;
    struct sl_sheet sheet = {
        .columns = spec->columns, .rows = spec->rows, .px_per_row = 1, .px_per_column = 1};
    sheet.rgb = calloc(cells, 3 * sizeof *sheet.rgb);
    sheet.flags = calloc(cells, 1);
    sheet.paper = calloc((size_t)spec->rows, 3 * sizeof *sheet.paper);
    uint32_t seed = 1;
    for (int row = 0; row < spec->rows; row++)
        for (int column = 0; column < spec->columns; column++) {
            double u = (column + 0.5) / spec->columns, v = (row + 0.5) / spec->rows;
            double load[3], factor[3];
            made_load(spec, u, v, load);
            drawn(spec, u, v, factor);
            double dark = shadowed(spec, v);
            double light = spec->light * exp(spec->light_along * (v - 0.5) +
                                             spec->light_across * (u - 0.5) - spec->shadow * dark);
            double warm = spec->warm_along * (v - 0.5) + spec->shadow_tint * dark;
            for (int c = 0; c < 3; c++) {
                double r = sl_kubelka_munk_inverse(sl_kubelka_munk(spec->paper[c]) + load[c]);
                double cell =
                    light * exp((1 - c) * warm) * r * factor[c] * (1 + spec->noise * gauss(&seed));
                sheet.rgb[3 * ((size_t)row * (size_t)spec->columns + (size_t)column) + (size_t)c] =
                    (float)cell;
            }
        }
    return sheet;
}

static void swap_cells(struct sl_sheet *sheet, size_t a, size_t b)
{
    float kept[3];
    memcpy(kept, sheet->rgb + 3 * a, sizeof kept);
    memcpy(sheet->rgb + 3 * a, sheet->rgb + 3 * b, sizeof kept);
    memcpy(sheet->rgb + 3 * b, kept, sizeof kept);
}

void made_turn(struct sl_sheet *sheet)
{
    size_t cells = (size_t)sheet->columns * (size_t)sheet->rows;
    for (size_t i = 0; i < cells / 2; i++)
        swap_cells(sheet, i, cells - 1 - i);
}

void made_mirror(struct sl_sheet *sheet)
{
    size_t columns = (size_t)sheet->columns;
    for (size_t row = 0; row < (size_t)sheet->rows; row++)
        for (size_t i = 0; i < columns / 2; i++)
            swap_cells(sheet, row * columns + i, row * columns + columns - 1 - i);
}

struct sl_outline made_outline(const struct made_spec *spec)
{
    double w = spec->columns, h = spec->rows;
    struct sl_outline outline = {.corner_px = {{0, h}, {w, h}, {w, 0}, {0, 0}},
                                 .hidden_from = NAN,
                                 .hidden_to = NAN,
                                 .confidence = 1};
    for (int k = 0; k < SL_EDGE_POINTS; k++) {
        double y = h * (1 - (double)k / (SL_EDGE_POINTS - 1));
        outline.left_px[k] = (struct sl_point){0, y};
        outline.right_px[k] = (struct sl_point){w, y};
    }
    return outline;
}
