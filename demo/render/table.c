// SPDX-License-Identifier: GPL-3.0-or-later
#include "table.h"

#include "within.h"

#include <math.h>

void surface_fill(const struct scene *scene, struct surface *ret_surface)
{
    ret_surface->scene = scene;
    tile_fill(&ret_surface->cloud, scene->seed + 1001, 4, 128, 0.72);
    tile_fill(&ret_surface->grain, scene->seed + 2002, 64, 256, 0.85);
    double turn = scene->table_turn_deg * 3.14159265358979323846 / 180;
    ret_surface->cos_turn = cos(turn);
    ret_surface->sin_turn = sin(turn);
}

static void set(float rgb[3], const double colour[3], double factor)
{
    for (int c = 0; c < 3; c++) {
        double value = colour[c] * factor;
        rgb[c] = (float)(value > 0.002 ? value : 0.002);
    }
}

static void blend(float rgb[3], const double colour[3], double part)
{
    for (int c = 0; c < 3; c++) {
        rgb[c] += (float)(part * (colour[c] - rgb[c]));
    }
}

static void wood(const struct surface *s, double a, double b, const double dark[3],
                 const double light[3], float rgb[3])
{
    double sway = b + 0.9 * tile_at(&s->cloud, a * 0.25, b * 0.4);
    double ring = tile_at(&s->cloud, a * 0.35 + 70, sway * 4.5);
    double fibre = tile_at(&s->grain, a * 1.1, sway * 11);
    double part = within(0.5 + 0.22 * ring + 0.14 * fibre, 0, 1.15);
    for (int c = 0; c < 3; c++) {
        rgb[c] = (float)(dark[c] + part * (light[c] - dark[c]));
    }
}

// Cover of a line of a grid with this pitch, drawn half_width wide to each side.
static double grid_line(double x, double pitch, double half_width, double px_per_mm)
{
    double away = fabs(x - pitch * floor(x / pitch + 0.5));
    return within(0.5 + (half_width - away) * px_per_mm, 0, 1);
}

static void plate(const struct surface *s, double a, double b, float rgb[3])
{
    static const double glaze[3] = {0.78, 0.78, 0.77};
    static const double paint[3] = {0.12, 0.28, 0.33};
    const double *table = s->scene->table_colour;
    double r = hypot(a, b);
    double angle = atan2(b, a);
    double soft = s->scene->px_per_mm;
    double rim = 1 - 0.10 * exp(-0.5 * pow((r - 84) / 4, 2)) + 0.05 * cos(angle - 0.8) * (r > 84);
    set(rgb, glaze, rim);
    double ring = within(0.5 + (0.6 - fabs(r - 92)) * soft, 0, 1);
    double leaf = 5.5 * (0.35 + 0.65 * fabs(sin(angle * 9))) - fabs(r - 103);
    blend(rgb, paint, 0.85 * fmax(ring, within(0.5 + leaf * soft, 0, 1)));
    double outside = within(0.5 + (r - 116) * soft, 0, 1);
    double shade = 1 - 0.45 * exp(-(r - 116) / 7);
    float around[3];
    set(around, table, shade * (1 + 0.03 * tile_at(&s->grain, a * 6, b * 6)));
    for (int c = 0; c < 3; c++) {
        rgb[c] += (float)outside * (around[c] - rgb[c]);
    }
}

static void oilcloth(const struct surface *s, double a, double b, float rgb[3])
{
    static const double petals[2][3] = {{0.42, 0.36, 0.08}, {0.42, 0.30, 0.20}};
    static const double eye[3] = {0.75, 0.7, 0.55};
    set(rgb, s->scene->table_colour, 1 + 0.01 * tile_at(&s->grain, a * 5, b * 5));
    double row = floor(b / 21);
    double shift = fmod(fabs(row), 2) * 12;
    double column = floor((a + shift) / 24);
    double u = a + shift - 24 * (column + 0.5);
    double v = b - 21 * (row + 0.5);
    double r = hypot(u, v);
    double leaf = 5.2 + 2.6 * cos(5 * atan2(v, u) + column) - r;
    double soft = s->scene->px_per_mm;
    int which = ((int)fabs(row) + (int)fabs(column)) % 2;
    blend(rgb, petals[which], 0.9 * within(0.5 + leaf * soft, 0, 1));
    blend(rgb, eye, within(0.5 + (1.8 - r) * soft, 0, 1));
}

static void ruled(const struct surface *s, double a, double b, float rgb[3])
{
    static const double lines[3] = {0.38, 0.55, 0.55};
    static const double page[3] = {0.78, 0.76, 0.68};
    double soft = s->scene->px_per_mm;
    set(rgb, page, 1 + 0.008 * tile_at(&s->cloud, a * 3, b * 3));
    if (s->scene->table == TABLE_NOTEBOOK) {
        blend(rgb, lines, 0.75 * grid_line(b, 8, 0.14, soft));
    } else {
        double cover = fmax(grid_line(b, 5, 0.09, soft), grid_line(a, 5, 0.09, soft));
        blend(rgb, lines, 0.7 * cover);
    }
}

static void mat(const struct surface *s, double a, double b, float rgb[3])
{
    static const double mark[3] = {0.32, 0.32, 0.31};
    double soft = s->scene->px_per_mm;
    set(rgb, s->scene->table_colour,
        0.4 * (1 + 0.06 * tile_at(&s->grain, a * 9, b * 9) + 0.03 * tile_at(&s->cloud, a, b)));
    double thick = fmax(grid_line(a, 10, 0.17, soft), grid_line(b, 10, 0.17, soft));
    double thin = fmax(grid_line(a, 5, 0.06, soft), grid_line(b, 5, 0.06, soft));
    blend(rgb, mark, fmax(0.75 * thick, 0.35 * thin));
}

static void cloth(const struct surface *s, double a, double b, float rgb[3])
{
    static const double pale[3] = {0.55, 0.53, 0.48};
    double weave = 1 + 0.09 * sin(a * 6.3) * sin(b * 6.3) + 0.07 * tile_at(&s->grain, a * 8, b * 8);
    double wobble = b + 0.1 * tile_at(&s->cloud, a * 2, b * 2);
    double part = within((fabs(fmod(fabs(wobble), 11) - 5.5) - 2.6) * 5 + 0.5, 0, 1);
    for (int c = 0; c < 3; c++) {
        double stripe = s->scene->table_colour[c];
        rgb[c] = (float)((pale[c] + part * (stripe - pale[c])) * weave);
    }
}

static void plain(const struct surface *s, double a, double b, float rgb[3])
{
    double fine = tile_at(&s->grain, a * 7, b * 7);
    double large = tile_at(&s->cloud, a * 1.3, b * 1.3);
    switch (s->scene->table) {
    case TABLE_BLACK_CARD: {
        static const double black[3] = {0.022, 0.022, 0.023};
        set(rgb, black, 1 + 0.16 * fine + 0.08 * large);
        break;
    }
    case TABLE_WHITE_DESK: {
        static const double white[3] = {0.74, 0.735, 0.72};
        set(rgb, white, 1 + 0.004 * fine + 0.006 * large);
        break;
    }
    default: {
        double speck = tile_at(&s->grain, a * 3.1 + 9, b * 3.1 + 4);
        set(rgb, s->scene->table_colour,
            1 + 0.02 * fine + 0.025 * large + (speck > 2.4 ? 0.25 : 0) - (speck < -2.5 ? 0.3 : 0));
    }
    }
}

void table_colour(const struct surface *s, double x, double y, float ret_rgb[3])
{
    static const double light_dark[3] = {0.16, 0.082, 0.036};
    static const double light_light[3] = {0.46, 0.29, 0.15};
    static const double dark_dark[3] = {0.018, 0.009, 0.005};
    static const double dark_light[3] = {0.115, 0.054, 0.026};
    double a = x * s->cos_turn + y * s->sin_turn;
    double b = y * s->cos_turn - x * s->sin_turn;
    switch (s->scene->table) {
    case TABLE_LIGHT_WOOD:
        wood(s, a, b, light_dark, light_light, ret_rgb);
        break;
    case TABLE_DARK_WOOD:
        wood(s, a, b, dark_dark, dark_light, ret_rgb);
        break;
    case TABLE_STRIPED_CLOTH:
        cloth(s, a, b, ret_rgb);
        break;
    case TABLE_MAT:
        mat(s, a, b, ret_rgb);
        break;
    case TABLE_NOTEBOOK:
    case TABLE_SQUARED:
        ruled(s, a, b, ret_rgb);
        break;
    case TABLE_PLATE:
        plate(s, a, b, ret_rgb);
        break;
    case TABLE_OILCLOTH:
        oilcloth(s, a, b, ret_rgb);
        break;
    default:
        plain(s, a, b, ret_rgb);
    }
}

float paper_relief(const struct surface *s, int paper_kind, double depth, double u, double v)
{
    double d = 0;
    switch (paper_kind) {
    case PAPER_SMOOTH:
        d = 0.010 * tile_at(&s->grain, u * 8, v * 8) + 0.006 * tile_at(&s->cloud, u * 6, v * 6);
        break;
    case PAPER_CREPE: { // ridges across the strip, 0.5 to 1 mm apart and some mm long
        double sway = v + 0.25 * tile_at(&s->cloud, u * 2, v * 1.2);
        d = 0.050 * tile_at(&s->grain, u * 1.5 + 11, sway * 9.5) +
            0.022 * tile_at(&s->grain, u * 3.5, sway * 21);
        break;
    }
    case PAPER_BLOTTER:
        d = 0.018 * tile_at(&s->cloud, u * 10, v * 10) + 0.010 * tile_at(&s->grain, u * 8, v * 8);
        break;
    case PAPER_BROWN: { // weaker ridges, and fibres that were not bleached
        double sway = v + 0.25 * tile_at(&s->cloud, u * 2, v * 1.2);
        d = 0.036 * tile_at(&s->grain, u * 1.8 + 23, sway * 11) +
            0.024 * tile_at(&s->grain, u * 7, v * 9);
        break;
    }
    case PAPER_TOWEL:
        d = 0.035 * sin(u * 1.9) * sin(v * 1.9) + 0.022 * tile_at(&s->cloud, u * 14, v * 14) +
            0.015 * tile_at(&s->grain, u * 8, v * 8);
        break;
    default:
        break;
    }
    return (float)(1 + depth * d);
}
