// SPDX-License-Identifier: GPL-3.0-or-later
#include "scene.h"

#include <stdio.h>
#include <string.h>

const char *const paper_words[] = {"smooth filter", "crepe filter", "blotter",
                                   "brown filter",  "towel",        NULL};
const char *const role_words[] = {"immediate", "dried", "single", NULL};
const char *const pencil_words[] = {"none", "line", "ticks", NULL};
const char *const curl_words[] = {"none",  "arch",   "ends",  "upper",
                                  "lower", "trough", "ridge", NULL};
const char *const object_words[] = {"card", "ruler", "pen", "swatch", "coin", "peg", "tape", NULL};
const char *const table_words[] = {"light wood",    "dark wood",     "black card", "grey",
                                   "white desk",    "striped cloth", "grey mat",   "notebook lines",
                                   "notebook grid", "plate",         "oilcloth",   NULL};
const char *const profile_words[] = {"none", "srgb", "p3", NULL};
const char *const tier_words[] = {"easy", "normal", "hard", "negative", NULL};
const char *const layout_words[] = {"single", "pair", "pairs", "row", "none", "sepA", "sepB", NULL};

// Beyond it the paper would hide itself from a camera that looks aslant.
#define ROLLED_MOST 0.25

void scene_defaults(struct scene *scene)
{
    *scene = (struct scene){
        .seed = 1,
        .tier = TIER_NORMAL,
        .layout = LAYOUT_SINGLE,
        .table = TABLE_GREY,
        .table_colour = {0.35, 0.35, 0.36},
        .width_px = 1600,
        .height_px = 1200,
        .px_per_mm = 12,
        .light_ratio = 1.15,
        .light_direction_deg = 40,
        .shadow_soft_mm = 15,
        .lamp_k = 5500,
        .balanced = 0.8,
        .blur_px = 0.6,
        .noise = 0.006,
        .orientation = 1,
        .profile = PROFILE_SRGB,
        .jpeg_quality = 88,
        .bits = 8,
    };
}

void strip_defaults(struct strip *strip)
{
    *strip = (struct strip){
        .ink_index = -1,
        .paper_index = -1,
        .role = ROLE_SINGLE,
        .width_mm = 20,
        .length_mm = 90,
        .origin_mm = 16,
        .run_mm = 55,
        .line_width_mm = 1.2,
        .amount = 1,
        .front_curve_mm = 0.5,
        .fingers_mm = 0.3,
        .wander = 1,
        .crooked_mm = 0.15,
    };
}

void part_defaults(struct part *part)
{
    *part = (struct part){.dye_index = -1,
                          .amount = 4,
                          .rf = 0.5,
                          .spread = 0.03,
                          .reach = 0.4,
                          .bound = 0.004,
                          .bound_dried = 0.008};
}

bool curl_is_rolled(int curl)
{
    return curl == CURL_TROUGH || curl == CURL_RIDGE;
}

static bool resolve_inks(struct scene *scene, char *ret_error, int error_size)
{
    for (int i = 0; i < scene->ink_count; i++) {
        struct ink *ink = &scene->inks[i];
        for (int k = 0; k < ink->part_count; k++) {
            struct part *part = &ink->parts[k];
            part->dye_index = -1;
            for (int d = 0; d < scene->dye_count; d++) {
                if (strcmp(scene->dyes[d].name, part->dye) == 0) {
                    part->dye_index = d;
                }
            }
            if (part->dye_index < 0) {
                snprintf(ret_error, (size_t)error_size,
                         "ink \"%s\" asks for the dye \"%s\", which is not described", ink->name,
                         part->dye);
                return false;
            }
        }
    }
    return true;
}

bool scene_resolve(struct scene *scene, char *ret_error, int error_size)
{
    if (!resolve_inks(scene, ret_error, error_size)) {
        return false;
    }
    for (int s = 0; s < scene->strip_count; s++) {
        struct strip *strip = &scene->strips[s];
        strip->ink_index = strip->paper_index = -1;
        for (int i = 0; i < scene->ink_count; i++) {
            if (strcmp(scene->inks[i].name, strip->ink) == 0) {
                strip->ink_index = i;
            }
        }
        for (int p = 0; p < scene->paper_count; p++) {
            if (strcmp(scene->papers[p].name, strip->paper) == 0) {
                strip->paper_index = p;
            }
        }
        if (strip->paper_index < 0) {
            snprintf(ret_error, (size_t)error_size,
                     "strip %d lies on the paper \"%s\", which is not described", s + 1,
                     strip->paper);
            return false;
        }
        if (strip->ink_index < 0 && strip->ink[0] != '\0') {
            snprintf(ret_error, (size_t)error_size,
                     "strip %d asks for the ink \"%s\", which is not described", s + 1, strip->ink);
            return false;
        }
        double most_mm = ROLLED_MOST * strip->width_mm;
        if (curl_is_rolled(strip->curl) && strip->lift_mm > most_mm) {
            snprintf(
                ret_error, (size_t)error_size,
                "strip %d is rolled about its long axis by %.1f mm: make lift_mm %.1f at most, "
                "%g of its width",
                s + 1, strip->lift_mm, most_mm, ROLLED_MOST);
            return false;
        }
        if (strip->origin_mm + strip->run_mm > strip->length_mm) {
            snprintf(
                ret_error, (size_t)error_size,
                "strip %d is %.1f mm long, but its front would lie at %.1f mm: make run_mm smaller",
                s + 1, strip->length_mm, strip->origin_mm + strip->run_mm);
            return false;
        }
    }
    return true;
}
