// SPDX-License-Identifier: GPL-3.0-or-later
// Ranges of inks, strips and their cuts are those that the truth of the reference photographs shows
// (which tests/score reads; docs/accuracy.md compares), the rest those that a bench or a kitchen
// table shows (common practice, no source).
#include "random.h"

#include "noise.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
static const double pigment_rf_most = 0.03; // what runs so little does not run

static const struct dye palette[] = {
    {"rose", {{540, 34, 1.0}, {505, 25, 0.3}}, 2},
    {"magenta", {{556, 30, 1.0}, {520, 25, 0.45}}, 2},
    {"scarlet", {{505, 38, 1.0}, {540, 22, 0.35}}, 2},
    {"orange", {{482, 38, 1.0}}, 1},
    {"yellow", {{432, 34, 1.0}}, 1},
    {"turquoise", {{652, 42, 1.0}, {608, 30, 0.5}}, 2},
    {"blue", {{618, 40, 1.0}, {575, 34, 0.4}}, 2},
    {"deep blue", {{592, 48, 1.0}, {545, 40, 0.35}}, 2},
    {"violet", {{578, 38, 1.0}, {540, 32, 0.6}}, 2},
    {"green", {{640, 38, 0.9}, {432, 34, 0.55}}, 2},
    {"brown", {{450, 60, 0.9}, {540, 70, 0.45}}, 2},
    {"black", {{560, 150, 0.9}}, 1},
    {"grey", {{600, 140, 0.5}, {480, 60, 0.15}}, 2},
};
enum { PALETTE = sizeof palette / sizeof palette[0] };

static const char *const ink_names[] = {
    "Lamplight Sprat", "Quarry Bell",  "Ninth Ferry", "Mossgate",
    "Copper Wren",     "Slow Harvest", "Tin Orchard", "Winter Pilot",
    "Bramble Clock",   "Salt Ledger",  "Owl Terrace", "Paper Kestrel",
};
enum { INK_NAMES = sizeof ink_names / sizeof ink_names[0] };

struct dice {
    struct rng rng;
    struct scene *scene;
    double severity; ///< 0 easy, 1 normal, 2 hard
};

static double among(struct dice *dice, double low, double high)
{
    return rng_between(&dice->rng, low, high);
}

// From `easy` to `hard` as the tier goes, spread by half.
static double by_tier(struct dice *dice, double easy, double hard)
{
    double centre = easy + (hard - easy) * dice->severity / 2;
    return centre * among(dice, 0.5, 1.5);
}

// ------------------------------------------------------------------ inks

static void tidy_part(struct dice *dice, int k, int count, struct part *part)
{
    double slot = 0.86 / count;
    part->rf = fmin(0.10 + slot * (k + among(dice, 0.15, 0.95)), 0.98);
    part->spread = among(dice, 0.014, 0.034) + 0.008 * dice->severity;
    part->tail = rng_chance(&dice->rng, 0.5) ? among(dice, 0.005, 0.03 + 0.02 * dice->severity) : 0;
    part->slow = rng_chance(&dice->rng, 0.35) ? among(dice, 0.02, 0.18) : 0;
    part->reach = among(dice, 0.2, 0.8);
    part->amount = exp(among(dice, log(1.6), log(8.0)));
}

static void dip_part(struct dice *dice, struct part *part)
{
    switch (rng_below(&dice->rng, 9)) {
    case 0: // holds back
        part->rf = among(dice, 0.06, 0.28);
        part->spread = among(dice, 0.05, 0.10);
        part->slow = among(dice, 0.45, 0.85);
        part->reach = among(dice, 0.1, 0.5);
        break;
    case 1:
    case 2: // travels half way
        part->rf = among(dice, 0.32, 0.72);
        part->spread = among(dice, 0.05, 0.12);
        part->slow = among(dice, 0.12, 0.45);
        part->reach = among(dice, 0.2, 0.8);
        break;
    case 3:
    case 4: // leads
        part->rf = among(dice, 0.82, 0.98);
        part->spread = among(dice, 0.03, 0.09);
        part->slow = among(dice, 0.08, 0.40);
        part->reach = among(dice, 0.3, 1.0);
        break;
    default: // a streak
        part->rf = among(dice, 0.45, 0.90);
        part->spread = among(dice, 0.08, 0.2);
        part->slow = among(dice, 0.35, 0.85);
        part->reach = among(dice, 0.25, 1.2);
    }
    part->tail = among(dice, 0.01, 0.12);
    part->bath = rng_chance(&dice->rng, 0.4) ? among(dice, 0.01, 0.06) : 0;
    part->amount = exp(among(dice, log(2.5), log(16.0)));
}

// Most inks let their slow dyes go at a constant rate, some at a spread of speeds. The rates of one
// ink are alike. Own dice, so that nothing else that a seed draws hangs on the law.
static void roll_release(const struct scene *scene, struct ink *ink)
{
    struct rng rng = {scene->seed * 31u + (uint64_t)scene->ink_count};
    rng_next(&rng);
    bool desorbs = rng_chance(&rng, 0.9);
    double common = log(2.05) + 0.2 * rng_normal(&rng);
    for (int k = 0; desorbs && k < ink->part_count; k++) {
        ink->parts[k].release = exp(common + 0.28 * rng_normal(&rng));
    }
}

// A pigment: nothing of it runs, and drying changes little.
static void hold_pigment(struct dice *dice, struct part *part)
{
    part->rf = among(dice, 0, pigment_rf_most);
    part->spread = among(dice, 0.01, 0.03);
    part->slow = 0;
    part->bath = 0;
    part->bound_dried = among(dice, 0.92, 0.98);
    part->bound = part->bound_dried * among(dice, 0.8, 0.96);
    part->amount *= 1.5;
}

// Dyes that take to the fibre as the ink dries, all of an ink more or less.
static void fix_dyes(struct dice *dice, struct ink *ink)
{
    double usual = among(dice, 0.15, 0.6);
    for (int k = 0; k < ink->part_count; k++) {
        struct part *part = &ink->parts[k];
        part->bound_dried = usual * among(dice, 0.5, 1.5);
        part->bound = part->bound_dried * among(dice, 0.3, 0.7);
    }
}

static void roll_ink(struct dice *dice, struct ink *ink)
{
    static const int dip_counts[] = {1, 2, 2, 2, 3, 3, 3, 4, 4, 5};
    static const int tidy_counts[] = {1, 2, 3, 3, 3, 4, 4, 4, 5, 5};
    struct scene *scene = dice->scene;
    int count = (scene->dip ? dip_counts : tidy_counts)[rng_below(&dice->rng, 10)];
    bool resists = rng_chance(&dice->rng, 0.5);
    int resistant = rng_chance(&dice->rng, 0.65) ? rng_below(&dice->rng, count) : -1;
    int start = rng_below(&dice->rng, PALETTE);
    snprintf(ink->name, sizeof ink->name, "%s",
             ink_names[((int)scene->seed + scene->ink_count) % INK_NAMES]);
    ink->part_count = count;
    for (int k = 0; k < count; k++) {
        struct part *part = &ink->parts[k];
        part_defaults(part);
        part->dye_index = (start + k * (1 + 2 * (start % 3))) % PALETTE;
        snprintf(part->dye, sizeof part->dye, "%s", palette[part->dye_index].name);
        if (scene->dip) {
            dip_part(dice, part);
        } else {
            tidy_part(dice, k, count, part);
        }
        part->bound = among(dice, 0.001, 0.02);
        part->bound_dried = fmin(part->bound * among(dice, 1, 2.5), 0.03);
        if (resists && k == resistant) {
            hold_pigment(dice, part);
        }
    }
    if (resists && resistant < 0) {
        fix_dyes(dice, ink);
    }
    roll_release(scene, ink);
}

// ------------------------------------------------------------------ strips

static int roll_paper(struct dice *dice, struct paper *paper)
{
    static const double whites[5][3] = {{0.86, 0.86, 0.84},
                                        {0.82, 0.81, 0.77},
                                        {0.84, 0.83, 0.80},
                                        {0.52, 0.39, 0.25},
                                        {0.83, 0.82, 0.79}};
    int kind = PAPER_SMOOTH;
    if (dice->scene->dip) {
        kind = rng_below(&dice->rng, 5);
    } else if (rng_chance(&dice->rng, 0.25 * dice->severity)) {
        kind = PAPER_BLOTTER;
    }
    *paper = (struct paper){.kind = kind, .texture = among(dice, 0.6, 1.2)};
    snprintf(paper->name, sizeof paper->name, "%s", paper_words[kind]);
    for (int c = 0; c < 3; c++) {
        paper->reflectance[c] = whites[kind][c] * among(dice, 0.98, 1.02);
    }
    return kind;
}

static void roll_sizes(struct dice *dice, struct strip *strip)
{
    if (dice->scene->dip) {
        strip->width_mm = among(dice, 12, 24);
        strip->length_mm = among(dice, 60, 105);
        strip->origin_mm = among(dice, 8, 16);
        strip->run_mm = fmin(among(dice, 20, 42), strip->length_mm - strip->origin_mm - 6);
        strip->line_width_mm = among(dice, 0.8, 2.4);
    } else {
        strip->width_mm = among(dice, 13, 24);
        strip->length_mm = among(dice, 75, 130);
        strip->origin_mm = among(dice, 12, 20);
        strip->run_mm = (strip->length_mm - strip->origin_mm) * among(dice, 0.55, 0.9);
        strip->line_width_mm = among(dice, 0.7, 1.8);
    }
}

static void roll_hand(struct dice *dice, struct strip *strip)
{
    bool dip = dice->scene->dip;
    strip->line_slant_deg = rng_normal(&dice->rng) * (dip ? 1.5 : 0.5);
    strip->front_slant_mm = rng_normal(&dice->rng) * (dip ? 2.0 : 0.5);
    strip->front_curve_mm = rng_normal(&dice->rng) * (dip ? 1.8 : 0.5);
    strip->fingers_mm = dip ? among(dice, 1.0, 2.6) : among(dice, 0.05, 0.4);
    strip->wander = dip ? among(dice, 0.7, 2.0) : among(dice, 0.3, 1.0);
    strip->crooked_mm = dip ? among(dice, 0.1, 0.5) : among(dice, 0.0, 0.15);
    strip->taper_mm = dip ? rng_normal(&dice->rng) * 0.45 : rng_normal(&dice->rng) * 0.1;
    strip->amount = dip ? among(dice, 0.85, 1.15) : among(dice, 0.95, 1.05);
    strip->tide = rng_chance(&dice->rng, 0.55) ? among(dice, 0.3, 1.0) : 0;
    if (dip && rng_chance(&dice->rng, 0.5)) {
        strip->margin_left_mm = among(dice, 0.4, 2.5);
        strip->margin_right_mm = among(dice, 0.4, 2.5);
    }
    if (dip && rng_chance(&dice->rng, 0.25)) {
        strip->torn_mm = among(dice, 0.6, 2.2);
    }
    if (dip && rng_chance(&dice->rng, 0.25)) {
        strip->rounded_mm = among(dice, 1, 4);
    }
    if (dip && rng_chance(&dice->rng, 0.3 + 0.2 * dice->severity)) {
        strip->curl = 1 + rng_below(&dice->rng, 4);
        strip->lift_mm = exp(among(dice, log(0.8), log(4.2)));
    }
    strip->pencil = rng_chance(&dice->rng, 0.4) ? 1 + rng_below(&dice->rng, 2) : PENCIL_NONE;
    strip->front_pencil = rng_chance(&dice->rng, 0.35) ? 1 + rng_below(&dice->rng, 2) : PENCIL_NONE;
}

static void copy_for_pair(struct dice *dice, const struct strip *first, struct strip *second)
{
    *second = *first;
    roll_hand(dice, second);
    second->pencil = first->pencil;
    second->front_pencil = first->front_pencil;
    second->width_mm *= among(dice, 0.94, 1.06);
    second->length_mm *= among(dice, 0.97, 1.03);
    second->origin_mm += among(dice, -1, 1);
    second->run_mm =
        fmin(second->run_mm * among(dice, 0.93, 1.05), second->length_mm - second->origin_mm - 3);
    second->line_width_mm *= among(dice, 0.85, 1.2);
}

static void roll_strips(struct dice *dice, int count)
{
    static const char *const labels[] = {"", "", "1", "A", "DRY", "0 MIN", "K7", "10 M"};
    struct scene *scene = dice->scene;
    bool pairs = scene->layout == LAYOUT_PAIR || scene->layout == LAYOUT_PAIRS ||
                 scene->layout == LAYOUT_SEPARATE;
    for (int s = 0; s < count; s++) {
        struct strip *strip = &scene->strips[s];
        if (pairs && s % 2 == 1) {
            copy_for_pair(dice, &scene->strips[s - 1], strip);
            strip->role = ROLE_DRIED;
        } else {
            strip_defaults(strip);
            roll_sizes(dice, strip);
            if (s > 0 && scene->layout == LAYOUT_ROW) {
                strip->length_mm = scene->strips[0].length_mm * among(dice, 0.92, 1.08);
                strip->run_mm = fmin(strip->run_mm, strip->length_mm - strip->origin_mm - 4);
            }
            roll_hand(dice, strip);
            strip->role = pairs ? ROLE_IMMEDIATE : ROLE_SINGLE;
            strip->dried = rng_chance(&dice->rng, 0.5);
            roll_ink(dice, &scene->inks[scene->ink_count++]);
        }
        const struct ink *ink = &scene->inks[scene->ink_count - 1];
        snprintf(strip->ink, sizeof strip->ink, "%s", ink->name);
        snprintf(strip->paper, sizeof strip->paper, "%s", scene->papers[0].name);
        snprintf(strip->label, sizeof strip->label, "%s", labels[rng_below(&dice->rng, 8)]);
        strip->label_at_lower = rng_chance(&dice->rng, 0.1);
        if (!strip->label_at_lower &&
            strip->length_mm - strip->origin_mm - strip->run_mm < 12 + strip->torn_mm) {
            strip->label[0] = '\0';
        }
    }
    scene->strip_count = count;
}

static double roll_turn(struct dice *dice)
{
    double turn = rng_normal(&dice->rng) * (3 + 7 * dice->severity);
    if (dice->severity > 0 && rng_chance(&dice->rng, 0.3)) {
        turn += 90 * (1 + rng_below(&dice->rng, 3));
    }
    if (dice->severity > 1 && rng_chance(&dice->rng, 0.4)) {
        turn = among(dice, -180, 180);
    }
    return turn;
}

// Puts the strips side by side; returns half the length of the row through ret_half_mm.
static void place_strips(struct dice *dice, double *ret_turn_deg, double *ret_half_mm)
{
    struct scene *scene = dice->scene;
    double turn = roll_turn(dice);
    double across = 0;
    double places[STRIPS_MAX];
    for (int s = 0; s < scene->strip_count; s++) {
        bool touching = scene->dip && dice->severity > 1 && rng_chance(&dice->rng, 0.3);
        double gap = s == 0 ? 0 : touching ? among(dice, -1, 0.5) : among(dice, 3, 14);
        places[s] = across + gap + scene->strips[s].width_mm / 2;
        across += gap + scene->strips[s].width_mm;
    }
    double c = cos(turn * pi / 180);
    double n = sin(turn * pi / 180);
    for (int s = 0; s < scene->strip_count; s++) {
        double along = rng_normal(&dice->rng) * (scene->dip ? 2.5 : 1);
        double u = places[s] - across / 2;
        scene->strips[s].x_mm = u * c + along * n;
        scene->strips[s].y_mm = u * n - along * c;
        scene->strips[s].turn_deg = turn + rng_normal(&dice->rng) * (scene->dip ? 3 : 1.2);
    }
    *ret_turn_deg = turn;
    *ret_half_mm = across / 2;
}

// ------------------------------------------------------------------ around them

static void roll_object(struct dice *dice, int kind, struct object *object)
{
    static const double colours[7][3] = {{0.72, 0.71, 0.64}, {0.66, 0.67, 0.66}, {0.05, 0.2, 0.06},
                                         {0.8, 0.8, 0.77},   {0.4, 0.27, 0.1},   {0.45, 0.26, 0.11},
                                         {0.75, 0.75, 0.74}};
    *object = (struct object){.kind = kind};
    double bright = among(dice, 0.7, 1.05);
    for (int c = 0; c < 3; c++) {
        object->colour[c] = colours[kind][c] * bright * among(dice, 0.93, 1.07);
    }
    snprintf(object->text, sizeof object->text, "TEST %d", rng_below(&dice->rng, 90) + 10);
}

static void lay_beside(struct dice *dice, double turn_deg, double half_mm)
{
    static const int kinds[] = {OBJECT_CARD, OBJECT_RULER, OBJECT_PEN, OBJECT_SWATCH, OBJECT_COIN};
    static const double half_widths[] = {31, 14, 5.5, 25, 12};
    struct scene *scene = dice->scene;
    double likely = scene->dip ? 0.45 + 0.2 * dice->severity : 0.12 * dice->severity;
    double c = cos(turn_deg * pi / 180);
    double n = sin(turn_deg * pi / 180);
    for (int side = -1; side <= 1; side += 2) {
        if (!rng_chance(&dice->rng, likely)) {
            continue;
        }
        int which = rng_below(&dice->rng, 5);
        struct object *object = &scene->objects[scene->object_count++];
        roll_object(dice, kinds[which], object);
        double u = side * (half_mm + half_widths[which] + among(dice, 5, 16));
        double v = among(dice, -35, 35);
        object->x_mm = u * c + v * n;
        object->y_mm = u * n - v * c;
        object->turn_deg = turn_deg + rng_normal(&dice->rng) * 4 + (side > 0 ? 0 : 180);
    }
}

static void hold_end(struct dice *dice)
{
    struct scene *scene = dice->scene;
    if (!scene->dip || !rng_chance(&dice->rng, 0.12 + 0.1 * dice->severity)) {
        return;
    }
    const struct strip *strip = &scene->strips[rng_below(&dice->rng, scene->strip_count)];
    double free_mm = strip->length_mm - strip->origin_mm - strip->run_mm;
    double over = fmin(among(dice, 5, 11), free_mm - 2);
    if (over < 3) {
        return;
    }
    bool peg = rng_chance(&dice->rng, 0.5);
    struct object *object = &scene->objects[scene->object_count++];
    roll_object(dice, peg ? OBJECT_PEG : OBJECT_TAPE, object);
    double up = strip->length_mm / 2 + (peg ? 36 : 9.5) - over;
    double turn = strip->turn_deg * pi / 180;
    object->x_mm = strip->x_mm + up * sin(turn);
    object->y_mm = strip->y_mm - up * cos(turn);
    object->turn_deg = strip->turn_deg + (peg ? 0 : 90) + rng_normal(&dice->rng) * 4;
}

static void roll_table(struct dice *dice)
{
    static const int tidy[] = {TABLE_BLACK_CARD, TABLE_GREY,       TABLE_DARK_WOOD,
                               TABLE_LIGHT_WOOD, TABLE_WHITE_DESK, TABLE_STRIPED_CLOTH};
    static const double colours[][3] = {{0.34, 0.34, 0.35}, {0.12, 0.12, 0.13}, {0.40, 0.36, 0.30},
                                        {0.06, 0.12, 0.30}, {0.32, 0.08, 0.07}, {0.16, 0.24, 0.16}};
    struct scene *scene = dice->scene;
    if (scene->dip) {
        scene->table = rng_below(&dice->rng, TABLE_OILCLOTH + 1);
    } else {
        scene->table = tidy[rng_below(&dice->rng, dice->severity > 1   ? 6
                                                  : dice->severity > 0 ? 5
                                                                       : 3)];
    }
    int shade = rng_below(&dice->rng, scene->table == TABLE_STRIPED_CLOTH ? 6 : 3);
    memcpy(scene->table_colour, colours[shade], sizeof scene->table_colour);
    if (scene->table == TABLE_STRIPED_CLOTH) {
        memcpy(scene->table_colour, colours[3 + shade % 3], sizeof scene->table_colour);
    } else if (scene->table == TABLE_OILCLOTH) {
        static const double cream[3] = {0.72, 0.68, 0.54};
        memcpy(scene->table_colour, cream, sizeof cream);
    }
    scene->table_turn_deg = among(dice, -60, 60);
    if (scene->dip && rng_chance(&dice->rng, 0.1 * dice->severity)) {
        scene->glare = among(dice, 0.1, 0.5);
    }
}

static void roll_light(struct dice *dice)
{
    struct scene *scene = dice->scene;
    scene->light_ratio = 1 + by_tier(dice, 0.08, 0.7);
    scene->light_direction_deg = among(dice, 0, 360);
    if (rng_chance(&dice->rng, 0.2 * dice->severity)) {
        scene->shadow = among(dice, 0.1, 0.25 + 0.15 * dice->severity);
        scene->shadow_direction_deg = among(dice, 0, 360);
        scene->shadow_offset_mm = among(dice, 5, 50);
        scene->shadow_soft_mm = among(dice, 5, 40);
    }
    scene->lamp_k = among(dice, 5600 - 1100 * dice->severity, 6200 + 700 * dice->severity);
    scene->balanced = 1 - fmin(by_tier(dice, 0.1, 0.6), 0.8);
    scene->exposure_ev = among(dice, -0.15 - 0.35 * dice->severity, 0.1);
    if (dice->severity > 1 && rng_chance(&dice->rng, 0.15)) {
        scene->exposure_ev = among(dice, 0.2, 0.5); // paper begins to burn out
    }
}

static void roll_camera(struct dice *dice, double half_mm)
{
    static const int sizes[] = {1600, 2048, 2592, 3264, 4032};
    struct scene *scene = dice->scene;
    bool upright = rng_chance(&dice->rng, 0.5);
    int chosen = sizes[rng_below(&dice->rng, 5)];
    int long_side = scene->width_px > 0 ? scene->width_px : chosen;
    int short_side = long_side * 3 / 4;
    scene->width_px = upright ? short_side : long_side;
    scene->height_px = upright ? long_side : short_side;
    double need_x = 0;
    double need_y = 0;
    for (int s = 0; s < scene->strip_count; s++) {
        const struct strip *strip = &scene->strips[s];
        double turn = strip->turn_deg * pi / 180;
        double half = strip->length_mm / 2;
        double side = strip->width_mm / 2;
        need_x = fmax(need_x, fabs(strip->x_mm) + fabs(half * sin(turn)) + fabs(side * cos(turn)));
        need_y = fmax(need_y, fabs(strip->y_mm) + fabs(half * cos(turn)) + fabs(side * sin(turn)));
    }
    need_x = fmax(need_x, half_mm);
    double fill = among(dice, 0.80 - 0.17 * dice->severity, 0.92 - 0.06 * dice->severity);
    scene->px_per_mm = fill * fmin(scene->width_px / (2 * need_x), scene->height_px / (2 * need_y));
    scene->tilt_deg = fmin(by_tier(dice, 1, 10), 15);
    scene->tilt_direction_deg = among(dice, 0, 360);
    scene->roll_deg = rng_normal(&dice->rng) * 3;
    scene->blur_px = by_tier(dice, 0.6, 1.3) * long_side / 3264 + 0.3;
    scene->noise = by_tier(dice, 0.004, 0.014);
    scene->tone = rng_chance(&dice->rng, 0.15 * dice->severity) ? among(dice, 0, 0.15) : 0;
    static const int orientations[] = {1, 1, 1, 6, 8, 3};
    scene->orientation = orientations[rng_below(&dice->rng, 6)];
    scene->profile = rng_below(&dice->rng, 3);
    scene->jpeg_quality = (int)among(dice, 92 - 10 * dice->severity, 96 - 6 * dice->severity);
    if (rng_chance(&dice->rng, 0.06)) { // a flatbed or a careful phone
        scene->jpeg_quality = 0;
        scene->orientation = 1;
        scene->bits = rng_chance(&dice->rng, 0.4) ? 16 : 8;
    }
}

// ------------------------------------------------------------------ rarer things

// These have dice of their own: a scene in which none of them occurs is what it was without them.
static void roll_rolled_and_torn(struct dice *dice, uint64_t stream)
{
    struct scene *scene = dice->scene;
    for (int s = 0; scene->dip && s < scene->strip_count; s++) {
        struct strip *strip = &scene->strips[s];
        struct rng rng = {stream + 1000003 * (100 + (uint64_t)s)};
        if (rng_chance(&rng, 0.15)) {
            strip->curl = rng_chance(&rng, 0.5) ? CURL_TROUGH : CURL_RIDGE;
            strip->lift_mm =
                strip->width_mm * rng_between(&rng, 0.03, 0.07 + 0.04 * dice->severity);
        }
        if (rng_chance(&rng, 0.08)) {
            strip->torn_lower_mm = rng_between(&rng, 0.6, 2.2);
            if (strip->label_at_lower) {
                strip->label[0] = '\0';
            }
        }
    }
}

static void roll_lens(struct dice *dice, uint64_t stream)
{
    struct scene *scene = dice->scene;
    struct rng rng = {stream + 1000003 * 200};
    bool phone = scene->jpeg_quality > 0;
    if (phone && rng_chance(&rng, 0.2 + 0.2 * dice->severity)) {
        double amount = rng_between(&rng, 0.2, 0.1 + 0.6 * dice->severity);
        scene->distortion_percent = rng_chance(&rng, 0.7) ? -amount : amount; // barrel mostly
    }
}

// ------------------------------------------------------------------ refusals

static void spoil(struct dice *dice)
{
    static const char *const cases[] = {"no_strip", "blank",     "blur",
                                        "black",    "burnt_out", "cut_off"};
    struct scene *scene = dice->scene;
    int which = rng_below(&dice->rng, 6);
    scene->tier = TIER_NEGATIVE;
    snprintf(scene->negative, sizeof scene->negative, "%s", cases[which]);
    snprintf(scene->must, sizeof scene->must, "error or warning");
    scene->bands_allowed = which == 2 || which > 3;
    switch (which) {
    case 0:
        scene->strip_count = 0;
        scene->layout = LAYOUT_NONE;
        break;
    case 1:
        for (int s = 0; s < scene->strip_count; s++) {
            scene->strips[s].ink[0] = '\0';
        }
        break;
    case 2:
        scene->blur_px = 0.008 * fmax(scene->width_px, scene->height_px);
        break;
    case 3:
        scene->exposure_ev = -10;
        break;
    case 4:
        scene->exposure_ev = 1.6;
        break;
    default:
        for (int s = 0; s < scene->strip_count; s++) {
            scene->strips[s].x_mm += 0.45 * scene->width_px / scene->px_per_mm;
        }
    }
}

void random_alone(const struct scene *pair, int strip, struct scene *ret_scene)
{
    struct dice dice = {
        .rng = {pair->seed * 31 + (uint64_t)strip}, .scene = ret_scene, .severity = pair->tier};
    *ret_scene = *pair;
    ret_scene->seed = pair->seed + 5000 * ((uint64_t)strip + 1);
    ret_scene->layout = strip == 0 ? LAYOUT_IMMEDIATE : LAYOUT_DRIED;
    ret_scene->strips[0] = pair->strips[strip];
    ret_scene->strip_count = 1;
    ret_scene->object_count = 0;
    ret_scene->strips[0].x_mm = among(&dice, -6, 6);
    ret_scene->strips[0].y_mm = among(&dice, -6, 6);
    ret_scene->strips[0].turn_deg += rng_normal(&dice.rng) * 5;
    lay_beside(&dice, ret_scene->strips[0].turn_deg, 6 + ret_scene->strips[0].width_mm / 2);
    roll_table(&dice);
    roll_light(&dice);
}

// What would stand on the line for want of running runs with the others, slowly.
static void let_nothing_stay(struct scene *scene)
{
    for (int i = 0; i < scene->ink_count; i++) {
        for (int k = 0; k < scene->inks[i].part_count; k++) {
            struct part *part = &scene->inks[i].parts[k];
            part->bound = part->bound_dried = 0;
            if (part->rf <= pigment_rf_most) {
                part->rf = 0.2 + 0.1 * k;
                part->spread = 0.05;
                part->slow = 0.3;
            }
        }
    }
}

void random_scene(const struct wish *wish, struct scene *ret_scene)
{
    int tier = wish->tier;
    bool dip = wish->dip;
    uint64_t stream = wish->seed * 977 + (uint64_t)tier * 31 + (dip ? 7 : 0);
    struct dice dice = {.rng = {stream},
                        .scene = ret_scene,
                        .severity = tier == TIER_EASY   ? 0
                                    : tier == TIER_HARD ? 2
                                                        : 1};
    char ignored[200];
    double turn;
    double half;
    scene_defaults(ret_scene);
    ret_scene->seed = wish->seed;
    ret_scene->tier = tier;
    ret_scene->dip = dip;
    memcpy(ret_scene->dyes, palette, sizeof palette);
    ret_scene->dye_count = PALETTE;
    roll_paper(&dice, &ret_scene->papers[0]);
    ret_scene->paper_count = 1;
    double kind = rng_uniform(&dice.rng);
    bool spoilt = tier == TIER_NEGATIVE;
    ret_scene->layout = kind < 0.44             ? LAYOUT_PAIR
                        : kind < 0.5 && !spoilt ? LAYOUT_SEPARATE
                        : kind < 0.8 || !dip    ? LAYOUT_SINGLE
                        : kind < 0.9            ? LAYOUT_PAIRS
                                                : LAYOUT_ROW;
    if (wish->nothing_retained) {
        ret_scene->layout = LAYOUT_PAIR;
    }
    int counts[] = {1, 2, 4, 3 + rng_below(&dice.rng, 4), 0, 1, 1, 2};
    roll_strips(&dice, counts[ret_scene->layout]);
    place_strips(&dice, &turn, &half);
    lay_beside(&dice, turn, half);
    hold_end(&dice);
    roll_table(&dice);
    roll_light(&dice);
    ret_scene->width_px = wish->long_side_px;
    roll_camera(&dice, half);
    if (spoilt) {
        spoil(&dice);
    } else if (dice.severity > 0) {
        roll_rolled_and_torn(&dice, stream);
        roll_lens(&dice, stream);
    }
    if (wish->nothing_retained) {
        let_nothing_stay(ret_scene);
    }
    scene_resolve(ret_scene, ignored, sizeof ignored); // all names come from the lists above
}
