// SPDX-License-Identifier: GPL-3.0-or-later
#include "sample.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const struct sample_dye sample_dyes[3] = {
    {0.0, 0.02, 0.04, 1.0, 1.0, 0.9},
    {0.45, 0.05, 0.06, 0.1, 1.0, 0.3},
    {0.9, 0.03, 0.05, 1.0, 0.2, 0.1},
};

static double dye_load(const struct sample_dye *dye, double rf)
{
    double z = (rf - dye->rf) / dye->sigma;
    return dye->amount * exp(-z * z / 2) / (dye->sigma * sqrt(2 * 3.14159265358979));
}

static void fill_profile(struct sl_strip *strip, const struct sample_dye *dyes, size_t count)
{
    struct sl_profile *p = &strip->profile;
    size_t triple = SAMPLE_COUNT * sizeof *p->load;
    p->count = SAMPLE_COUNT;
    p->position = malloc(SAMPLE_COUNT * sizeof *p->position);
    p->load = calloc(1, triple), p->load_se = calloc(1, triple);
    p->reflectance = calloc(1, triple), p->reflectance_se = calloc(1, triple);
    p->density = calloc(1, triple), p->light_se = calloc(1, triple);
    p->lab_d50 = calloc(1, triple), p->lab_se = calloc(1, triple);
    p->flags = calloc(SAMPLE_COUNT, 1);
    p->correlation_samples = 1.5;
    p->straightened = 0.001;
    strip->bands.smooth_count = SAMPLE_COUNT;
    strip->bands.smooth = calloc(SAMPLE_COUNT, sizeof(double));
    for (size_t i = 0; i < SAMPLE_COUNT; i++) {
        p->position[i] = ((double)i + 0.5) / SAMPLE_COUNT;
        double rf = (p->position[i] - 0.2) / 0.7;
        for (size_t d = 0; d < count; d++) {
            double load = dye_load(&dyes[d], rf);
            p->load[i][0] += load * dyes[d].red;
            p->load[i][1] += load * dyes[d].green;
            p->load[i][2] += load * dyes[d].blue;
        }
        for (int c = 0; c < 3; c++) {
            double f = p->load[i][c];
            p->reflectance[i][c] = 1 + f - sqrt(f * f + 2 * f);
            p->density[i][c] = -log10(p->reflectance[i][c]);
            p->load_se[i][c] = p->reflectance_se[i][c] = 0.002;
            p->light_se[i][c] = 0.001;
            p->lab_se[i][c] = 0.2;
            strip->bands.smooth[i] += f;
        }
        p->lab_d50[i][0] = 100 * cbrt(p->reflectance[i][1]);
        p->lab_d50[i][1] = 80 * (p->reflectance[i][0] - p->reflectance[i][1]);
        p->lab_d50[i][2] = 60 * (p->reflectance[i][1] - p->reflectance[i][2]);
    }
}

static double strength(const struct sample_dye *dye)
{
    return dye->amount * (dye->red + dye->green + dye->blue);
}

static void fill_band(struct sl_band *band, const struct sample_dye *dye, double total)
{
    double norm = sqrt(dye->red * dye->red + dye->green * dye->green + dye->blue * dye->blue);
    double share = strength(dye) / total;
    *band = (struct sl_band){
        .rf = dye->rf,
        .rf_interval = {dye->rf - 0.004, dye->rf + 0.004},
        .start_rf = dye->rf - 2.146 * dye->sigma, /* a tenth of a Gaussian's height */
        .end_rf = dye->rf + 2.146 * dye->sigma,
        .share = share,
        .share_interval = {share - 0.02, share + 0.02},
        .apex_load = 3 * dye_load(dye, dye->rf),
        .lab_d50 = {55, 40 * (dye->green - dye->red), 30 * (dye->blue - dye->green)},
        .lab_se = {0.5, 0.5, 0.5},
        .signature = {dye->red / norm, dye->green / norm, dye->blue / norm},
        .signature_se = {0.01, 0.01, 0.01},
        .retained = fabs(dye->rf) < 0.02,
        .half_width_rf = 2.3548 * dye->sigma,
        .asymmetry = 1.1,
        .resolution_to_next = NAN,
    };
    band->hue_deg = sl_lab_hue_deg(band->lab_d50);
    band->hue_interval[0] = band->hue_deg - 2, band->hue_interval[1] = band->hue_deg + 2;
    band->hue_name = sl_hue_name(band->lab_d50);
}

static void fill_outline(struct sl_strip *strip)
{
    struct sl_outline *o = &strip->outline;
    const struct sl_point corners[4] = {{100, 900}, {220, 900}, {220, 100}, {100, 100}};
    memcpy(o->corner_px, corners, sizeof corners);
    for (int i = 0; i < SL_EDGE_POINTS; i++) {
        double y = 900 - 800.0 * i / (SL_EDGE_POINTS - 1);
        o->left_px[i] = (struct sl_point){100.25, y};
        o->right_px[i] = (struct sl_point){219.5, y};
    }
    o->edge_sigma_px = 0.3;
    o->hidden_from = o->hidden_to = NAN;
    o->confidence = 0.9;
}

void sample_strip(struct sl_strip *strip, enum sl_role role, const char *ink,
                  const struct sample_dye *dyes, size_t count)
{
    *strip = (struct sl_strip){.role = role, .length_mm = 80, .scale_source = SL_SCALE_GIVEN};
    snprintf(strip->ink, sizeof strip->ink, "%s", ink);
    fill_outline(strip);
    strip->marks = (struct sl_marks){
        .origin = 0.2,
        .origin_sigma = 0.001,
        .front = 0.9,
        .front_sigma = 0.002,
        .front_seen = SL_FRONT_DYE,
        .line_width = 0.015,
        .paper_rgb = {0.8, 0.8, 0.75},
        .paper_reflectance = {0.85, 0.85, 0.82},
        .light_ratio = 1.1,
        .blank = count == 0,
    };
    fill_profile(strip, dyes, count);
    double total = 0;
    for (size_t i = 0; i < count; i++)
        total += strength(&dyes[i]);
    struct sl_bands *bands = &strip->bands;
    bands->count = count;
    bands->total_load = 0.7 * total;
    bands->total_load_se = 0.002 * total;
    bands->noise = 0.003;
    bands->goodness = 1.05;
    for (size_t i = 0; i < count; i++)
        fill_band(&bands->item[i], &dyes[i], total);
    for (size_t i = 0; i + 1 < count; i++)
        bands->item[i].resolution_to_next =
            sl_resolution(dyes[i].rf, dyes[i + 1].rf, bands->item[i].half_width_rf,
                          bands->item[i + 1].half_width_rf);
    const double grey[3] = {45, -1, -2};
    memcpy(bands->retained_lab_d50, grey, sizeof grey);
    sample_retained(strip, 0.2, 0.02);
}

static void put_share(double share, double half_interval, double *ret_share, double ret_interval[2])
{
    *ret_share = share;
    ret_interval[0] = fmax(share - half_interval, 0);
    ret_interval[1] = share + half_interval;
}

void sample_retained(struct sl_strip *strip, double share, double half_interval)
{
    struct sl_bands *bands = &strip->bands;
    put_share(share, half_interval, &bands->retained_share, bands->retained_interval);
    put_share(0.75 * share, half_interval, &bands->bound_share, bands->bound_interval);
}

struct sl_advice_list sample_advice(void)
{
    return (struct sl_advice_list){
        .count = 2,
        .item = {{.cause = SL_CAUSE_BLUR, .gain = INFINITY},
                 {.cause = SL_CAUSE_FRONT,
                  .gain = 0.9,
                  .effect = {[SL_NUMBER_RF] = {0.9, 1, {0.31, 0.5}, {0.39, 0.42}}}}},
    };
}

struct sl_reading *sample_reading(const char *file, const char *ink, size_t count)
{
    struct sl_reading *reading = calloc(1, sizeof *reading);
    sl_read_options_init(&reading->settings);
    sl_conditions_init(&reading->conditions);
    snprintf(reading->photo.file, sizeof reading->photo.file, "%s", file);
    memset(reading->photo.sha256, 'a', 64);
    reading->photo.format = "JPEG";
    reading->photo.width_px = 4000;
    reading->photo.height_px = 3000;
    reading->photo.orientation = 1;
    reading->photo.bits = 8;
    snprintf(reading->photo.colour_profile, sizeof reading->photo.colour_profile, "sRGB (assumed)");
    snprintf(reading->conditions.paper, sizeof reading->conditions.paper, "round filter");
    snprintf(reading->conditions.solvent, sizeof reading->conditions.solvent, "tap water");
    reading->conditions.dip_s = 12;
    reading->strip_count = count;
    reading->strip = calloc(count ? count : 1, sizeof *reading->strip);
    for (size_t i = 0; i < count; i++) {
        bool is_pair = count == 2 || count == 4;
        enum sl_role role = !is_pair ? SL_ROLE_SINGLE : i % 2 ? SL_ROLE_DRIED : SL_ROLE_IMMEDIATE;
        sample_strip(&reading->strip[i], role, ink, sample_dyes, 3);
        if (role == SL_ROLE_IMMEDIATE)
            sample_retained(&reading->strip[i], 0.03, 0.01);
    }
    return reading;
}

struct sl_document sample_document(void)
{
    struct sl_document document;
    sl_document_init(&document);
    struct sl_reading *reading = sample_reading("harbour-dusk.jpg", "Harbour Dusk", 2);
    sl_warn(&reading->warnings, SL_W_NO_PROFILE, "photo/jpeg", "Export the photo with its profile.",
            "the photo carries no colour profile: sRGB is assumed");
    sl_warn(&reading->strip[1].warnings, SL_W_UNEVEN_LIGHT, "strip/light",
            "Light the strips from both sides.",
            "the light falls off along the strip by a factor of 1.4");
    sl_document_add(&document, reading, NULL);
    sl_document_make_pairs(&document, NULL);
    return document;
}

static void set_by_hand(struct sl_read_options *settings)
{
    struct sl_strip_hints *hint = &settings->hint[0];
    settings->hint_count = settings->role_count = settings->ink_count = 1;
    settings->role[0] = SL_ROLE_DRIED;
    snprintf(settings->ink[0], sizeof settings->ink[0], "Harbour Dusk");
    hint->has_corners = true;
    for (int i = 0; i < 4; i++)
        hint->corners_px[i] = (struct sl_point){10.5 * i, 20.25 * i};
    hint->origin = 0.21;
    hint->front = 0.9;
    hint->length_mm = 80;
    hint->upside_down = 1;
    for (int c = 0; c < 3; c++)
        hint->paper_reflectance[c] = 0.8;
    hint->band_count = 1;
    hint->band[0] = (struct sl_band_limits){0.3, 0.4};
}

struct sl_document sample_full_document(void)
{
    struct sl_document document;
    struct sl_reading *missing = sample_reading("missing.jpg", "", 0);
    struct sl_reading *reading = sample_reading("harbour-dusk.jpg", "Harbour Dusk", 4);
    struct sl_strip *last = &reading->strip[3];
    sl_document_init(&document);
    sl_status_set(&missing->error, SL_E_NO_FILE, "photo", "Check the name.", "no such file");
    sl_warn(&reading->warnings, SL_W_NO_PROFILE, "photo/jpeg", "", "sRGB is assumed");
    set_by_hand(&reading->settings);
    sample_retained(last, 0.5, 0.02);
    last->bands.count = 2;
    last->bands.reach_count = 1;
    last->bands.reach[0] = (struct sl_reach){"blue", 262, 0.01, 0.7, 0.8};
    last->bands.fitted = calloc(SAMPLE_COUNT, sizeof(double));
    last->advice = sample_advice();
    sl_warn(&last->warnings, SL_W_SMEAR, "band", "", "a streak is no band");
    sl_document_add(&document, missing, NULL);
    sl_document_add(&document, reading, NULL);
    sl_document_make_pairs(&document, NULL);
    sl_document_make_replicates(&document, NULL);
    return document;
}
