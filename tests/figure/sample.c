// SPDX-License-Identifier: GPL-3.0-or-later
#include "sample.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SAMPLES = 900, PICTURE_WIDTH = 120 };

static const double origin = 0.16, front = 0.88;
static const double noise_load = 0.006;

static void *need(void *memory)
{
    if (!memory)
        abort();
    return memory;
}

/* A small generator of its own: the same sample on every machine. */
static double noise(unsigned *state)
{
    double sum = 0;
    for (int i = 0; i < 4; i++) {
        *state = *state * 1664525u + 1013904223u;
        sum += (double)(*state >> 8) / 16777216.0 - 0.5;
    }
    return sum * 1.7;
}

static double remission(double load)
{
    double f = fmax(load, 0);
    return 1 + f - sqrt(f * f + 2 * f);
}

static void allocate_profile(struct sl_profile *p)
{
    p->count = SAMPLES;
    p->position = need(calloc(SAMPLES, sizeof *p->position));
    p->reflectance = need(calloc(SAMPLES, sizeof *p->reflectance));
    p->reflectance_se = need(calloc(SAMPLES, sizeof *p->reflectance_se));
    p->load = need(calloc(SAMPLES, sizeof *p->load));
    p->load_se = need(calloc(SAMPLES, sizeof *p->load_se));
    p->density = need(calloc(SAMPLES, sizeof *p->density));
    p->lab_d50 = need(calloc(SAMPLES, sizeof *p->lab_d50));
    p->lab_se = need(calloc(SAMPLES, sizeof *p->lab_se));
    p->light_se = need(calloc(SAMPLES, sizeof *p->light_se));
    p->flags = need(calloc(SAMPLES, sizeof *p->flags));
    p->correlation_samples = 2;
}

static void free_profile(struct sl_profile *p)
{
    free(p->position);
    free(p->reflectance);
    free(p->reflectance_se);
    free(p->load);
    free(p->load_se);
    free(p->density);
    free(p->lab_d50);
    free(p->lab_se);
    free(p->light_se);
    free(p->flags);
}

static void fill_profile(struct sl_strip *strip, const struct sample_dye *dye, size_t dyes,
                         unsigned *seed)
{
    struct sl_profile *p = &strip->profile;
    struct sl_lab *lab = NULL;
    allocate_profile(p);
    for (size_t i = 0; i < SAMPLES; i++) {
        p->position[i] = ((double)i + 0.5) / SAMPLES;
        double rf = (p->position[i] - origin) / (front - origin);
        for (int c = 0; c < 3; c++) {
            double load = noise_load * noise(seed);
            for (size_t d = 0; d < dyes; d++)
                load += dye[d].load[c] * exp(-0.5 * pow((rf - dye[d].rf) / dye[d].sigma_rf, 2));
            p->load[i][c] = load;
            p->load_se[i][c] = noise_load + 0.03 * fmax(load, 0);
            p->light_se[i][c] = 0.004;
            p->reflectance[i][c] = remission(load);
            p->reflectance_se[i][c] = 0.004;
            p->density[i][c] = -log10(p->reflectance[i][c]);
            p->lab_se[i][c] = 0.5;
        }
    }
    if (sl_lab_create(&lab, NULL) != SL_OK)
        abort();
    sl_lab_from_linear(lab, (const double(*)[3])(const void *)p->reflectance, SAMPLES, p->lab_d50);
    sl_lab_destroy(lab);
}

static void fill_picture(struct sl_strip *strip, unsigned *seed)
{
    struct sl_picture *picture = &strip->picture;
    picture->width = PICTURE_WIDTH;
    picture->height = SAMPLES;
    picture->rgb = need(malloc((size_t)PICTURE_WIDTH * SAMPLES * 3));
    for (int y = 0; y < SAMPLES; y++)
        for (int x = 0; x < PICTURE_WIDTH; x++) {
            int bow = (int)(10 * pow((double)(x - PICTURE_WIDTH / 2) / (PICTURE_WIDTH / 2.0), 2));
            int row = SAMPLES - 1 - y + bow;
            double grain = 0.012 * noise(seed);
            for (int c = 0; c < 3; c++) {
                double r = strip->profile.reflectance[row < SAMPLES ? row : SAMPLES - 1][c];
                double v = 255 * sl_srgb_encode(fmin(fmax(r + grain, 0), 1));
                picture->rgb[((size_t)y * PICTURE_WIDTH + (size_t)x) * 3 + (size_t)c] = (uint8_t)v;
            }
        }
}

static void fill_band(struct sl_band *band, const struct sample_dye *dye, double all)
{
    struct sl_lab *lab = NULL;
    double area = 0, length = 0, r[1][3], out[1][3];
    for (int c = 0; c < 3; c++) {
        area += dye->load[c] * dye->sigma_rf;
        length += dye->load[c] * dye->load[c];
        r[0][c] = remission(dye->load[c]);
        band->apex_load += dye->load[c];
    }
    for (int c = 0; c < 3; c++)
        band->signature[c] = dye->load[c] / sqrt(length);
    if (sl_lab_create(&lab, NULL) != SL_OK)
        abort();
    sl_lab_from_linear(lab, (const double(*)[3])r, 1, out);
    sl_lab_destroy(lab);
    memcpy(band->lab_d50, out[0], sizeof out[0]);
    band->hue_deg = sl_lab_hue_deg(out[0]);
    band->hue_name = sl_hue_name(out[0]);
    band->rf = dye->rf;
    band->rf_interval[0] = dye->rf - 0.006;
    band->rf_interval[1] = dye->rf + 0.006;
    band->start_rf = dye->rf - 2.15 * dye->sigma_rf;
    band->end_rf = dye->rf + 2.15 * dye->sigma_rf;
    band->share = area / all;
    band->share_interval[0] = band->share * 0.92;
    band->share_interval[1] = fmin(band->share * 1.08, 1);
    band->half_width_rf = 2.3548 * dye->sigma_rf;
    band->asymmetry = 1.1;
    band->retained = fabs(dye->rf) < 0.03;
    band->resolution_to_next = NAN;
}

static void fill_bands(struct sl_bands *bands, const struct sample_dye *dye, size_t dyes)
{
    double all = 0;
    for (size_t d = 0; d < dyes; d++)
        all += (dye[d].load[0] + dye[d].load[1] + dye[d].load[2]) * dye[d].sigma_rf;
    bands->count = dyes;
    for (size_t d = 0; d < dyes; d++)
        fill_band(&bands->item[d], &dye[d], all);
    for (size_t d = 0; d + 1 < dyes; d++)
        bands->item[d].resolution_to_next =
            1.18 * (dye[d + 1].rf - dye[d].rf) /
            (bands->item[d].half_width_rf + bands->item[d + 1].half_width_rf);
    bool retained = dyes && bands->item[0].retained;
    bands->retained_share = retained ? bands->item[0].share : 0.012;
    if (retained)
        memcpy(bands->retained_lab_d50, bands->item[0].lab_d50, sizeof bands->retained_lab_d50);
    bands->bound_share = bands->retained_share * 0.9;
    bands->retained_interval[0] = bands->retained_share * 0.85;
    bands->retained_interval[1] = bands->retained_share * 1.15;
    bands->bound_interval[0] = bands->bound_share * 0.85;
    bands->bound_interval[1] = bands->bound_share * 1.15;
    bands->total_load = all;
    bands->noise = noise_load;
}

static void fill_strip(struct sl_strip *strip, const char *ink, enum sl_role role,
                       const struct sample_dye *dye, size_t dyes, unsigned *seed)
{
    *strip = (struct sl_strip){.role = role, .length_mm = 100, .scale_source = SL_SCALE_GIVEN};
    snprintf(strip->ink, sizeof strip->ink, "%s", ink);
    strip->marks.origin = origin;
    strip->marks.front = front;
    strip->marks.origin_sigma = strip->marks.front_sigma = 0.002;
    strip->marks.line_width = 0.02;
    strip->marks.front_seen = SL_FRONT_WATER_LINE;
    strip->marks.blank = dyes == 0;
    for (int i = 0; i < 4; i++)
        strip->outline.corner_px[i] =
            (struct sl_point){200 + 300 * (i == 1 || i == 2), i < 2 ? 2400 : 300};
    fill_profile(strip, dye, dyes, seed);
    fill_picture(strip, seed);
    fill_bands(&strip->bands, dye, dyes);
}

static struct sl_reading *make_reading(const char *file, size_t strips)
{
    struct sl_reading *reading = need(calloc(1, sizeof *reading));
    struct sl_conditions *told = &reading->conditions;
    snprintf(reading->photo.file, sizeof reading->photo.file, "%s", file);
    memset(reading->photo.sha256, '5', 64);
    reading->photo.format = "JPEG";
    reading->photo.width_px = 3024;
    reading->photo.height_px = 4032;
    snprintf(reading->photo.colour_profile, sizeof reading->photo.colour_profile, "Display P3");
    snprintf(told->paper, sizeof told->paper, "Cove filter sheet");
    snprintf(told->solvent, sizeof told->solvent, "tap water");
    snprintf(told->date, sizeof told->date, "2026-05-03 10:21:44");
    told->dip_s = 12;
    told->dried_min = 10;
    reading->strip_count = strips;
    reading->strip = need(calloc(strips, sizeof *reading->strip));
    return reading;
}

static const struct sample_dye at_once[] = {
    {0.004, 0.022, {0.35, 0.28, 0.16}},
    {0.46, 0.060, {0.05, 0.75, 0.35}},
    {0.81, 0.045, {1.10, 0.42, 0.10}},
};
static const struct sample_dye dried[] = {
    {0.002, 0.022, {1.60, 1.25, 0.80}},
    {0.45, 0.055, {0.05, 0.70, 0.33}},
    {0.80, 0.045, {0.95, 0.38, 0.09}},
};
static const struct sample_dye four[] = {
    {0.18, 0.035, {0.10, 0.25, 1.15}},
    {0.46, 0.040, {0.05, 0.72, 0.34}},
    {0.57, 0.030, {0.55, 0.70, 0.12}},
    {0.84, 0.030, {0.95, 0.25, 0.05}},
};
static const struct sample_dye streak[] = {
    {0.30, 0.20, {0.30, 0.22, 0.10}},
    {0.65, 0.18, {0.24, 0.20, 0.05}},
};

static void make_streak(struct sl_strip *strip)
{
    struct sl_bands *bands = &strip->bands;
    bands->count = 0;
    bands->smeared = true;
    bands->reach_count = 1;
    bands->reach[0] = (struct sl_reach){
        .hue_name = "blue", .hue_deg = 260, .first_rf = 0.02, .last_rf = 0.97, .share = 0.94};
    strip->marks.front_seen = SL_FRONT_NOT_SEEN;
    sl_warn(&strip->warnings, SL_W_SMEAR, "band", "Dip for a shorter time, on slower paper.",
            "The dye forms a streak without a band of its own.");
    sl_warn(&strip->warnings, SL_W_FRONT_UNSEEN, "strip",
            "Mark the front with a pencil as soon as the strip is out of the water.",
            "The water's front can't be seen.");
}

static void judge_pair(const struct sl_document *document, struct sl_pair *pair)
{
    if (sl_pair_judge(document, (struct sl_strip_ref){0, 0}, (struct sl_strip_ref){0, 1}, pair,
                      NULL) != SL_OK)
        abort();
    sl_warn(&pair->warnings, SL_W_CONDITIONS, "retention", "Dip both strips for the same time.",
            "The two strips may have been dipped for different times.");
}

static void fill_trace(const struct sl_document *document, struct sl_strip_ref ref,
                       struct sl_overlay *overlay, struct sl_overlay_trace *trace)
{
    const struct sl_strip *strip = &document->reading[ref.photo]->strip[ref.strip];
    trace->ref = ref;
    snprintf(trace->label, sizeof trace->label, "%s, %s", strip->ink, sl_role_name(strip->role));
    for (size_t i = 0; i < SL_OVERLAY_SAMPLES; i++) {
        double position = origin + overlay->rf[i] * (front - origin);
        long k = (long)floor(position * SAMPLES);
        for (int c = 0; c < 3; c++)
            trace->load[i][c] = k >= 0 && k < SAMPLES ? strip->profile.load[k][c] : NAN;
    }
}

static void fill_overlay(const struct sl_document *document, struct sl_overlay *overlay)
{
    size_t n = 0;
    for (size_t i = 0; i < SL_OVERLAY_SAMPLES; i++)
        overlay->rf[i] = -0.2 + 0.0025 * (double)i;
    overlay->trace = need(calloc(5, sizeof *overlay->trace));
    for (size_t p = 0; p < document->reading_count; p++)
        for (size_t k = 0; k < document->reading[p]->strip_count; k++)
            fill_trace(document, (struct sl_strip_ref){p, k}, overlay, &overlay->trace[n++]);
    overlay->trace_count = n;
    overlay->likeness = need(calloc(n * n, sizeof *overlay->likeness));
    for (size_t i = 0; i < n * n; i++)
        overlay->likeness[i] = i % (n + 1) == 0 ? 1 : 0.1 + 0.13 * (double)((i * 7) % 6);
    overlay->shared = need(calloc(3, sizeof *overlay->shared));
    overlay->shared_count = 3;
    overlay->shared[0] = (struct sl_shared_dye){0, 1, 1, 1, 0.01, 0.02, 1.5, 4, "pink"};
    overlay->shared[1] = (struct sl_shared_dye){1, 1, 2, 1, 0.01, 0.02, 1.2, 4, "pink"};
    overlay->shared[2] = (struct sl_shared_dye){0, 2, 1, 2, 0.01, 0.02, 2.0, 4, "blue"};
}

void sample_create(struct sample *ret)
{
    unsigned seed = 7;
    struct sl_document *document = &ret->document;
    *ret = (struct sample){0};
    document->reading = need(calloc(2, sizeof *document->reading));
    document->reading_count = 2;
    struct sl_reading *pair = document->reading[0] = make_reading("harbour-pair.jpg", 2);
    struct sl_reading *row = document->reading[1] = make_reading("harbour-row.jpg", 3);
    fill_strip(&pair->strip[0], "Lantern Quay", SL_ROLE_IMMEDIATE, at_once, 3, &seed);
    fill_strip(&pair->strip[1], "Lantern Quay", SL_ROLE_DRIED, dried, 3, &seed);
    fill_strip(&row->strip[0], "Gull & <Tern> \"No. 4\"", SL_ROLE_SINGLE, four, 4, &seed);
    fill_strip(&row->strip[1], "Driftwood's Ash", SL_ROLE_SINGLE, streak, 2, &seed);
    fill_strip(&row->strip[2], "", SL_ROLE_SINGLE, NULL, 0, &seed);
    make_streak(&row->strip[1]);
    sl_warn(&row->strip[2].warnings, SL_W_BLANK, "strip", "Rule a line of ink before the dip.",
            "No ink was found on this strip.");
    sl_warn(&pair->warnings, SL_W_NO_PROFILE, "photo", "Send the photo as the phone saved it.",
            "The photo has no colour profile; sRGB is assumed.");
    judge_pair(document, &ret->pair);
    document->pair = &ret->pair;
    document->pair_count = 1;
    fill_overlay(document, &ret->overlay);
}

void sample_destroy(struct sample *sample)
{
    for (size_t p = 0; p < sample->document.reading_count; p++) {
        struct sl_reading *reading = sample->document.reading[p];
        for (size_t i = 0; i < reading->strip_count; i++) {
            free_profile(&reading->strip[i].profile);
            free(reading->strip[i].picture.rgb);
        }
        free(reading->strip);
        free(reading);
    }
    free(sample->document.reading);
    free(sample->overlay.trace);
    free(sample->overlay.likeness);
    free(sample->overlay.shared);
}

void sample_drop_pictures(struct sample *sample)
{
    for (size_t p = 0; p < sample->document.reading_count; p++)
        for (size_t i = 0; i < sample->document.reading[p]->strip_count; i++) {
            struct sl_picture *picture = &sample->document.reading[p]->strip[i].picture;
            free(picture->rgb);
            *picture = (struct sl_picture){0};
        }
}

static void spoil_strip(struct sl_strip *strip)
{
    strip->marks.front = strip->marks.front_sigma = NAN;
    strip->length_mm = NAN;
    for (size_t i = 0; i < strip->profile.count; i += 3)
        strip->profile.load[i][1] = strip->profile.lab_d50[i][0] = NAN;
    for (size_t i = 0; i < strip->bands.count; i++)
        strip->bands.item[i].rf = strip->bands.item[i].share = strip->bands.item[i].lab_d50[1] =
            NAN;
    strip->bands.retained_share = strip->bands.bound_share = NAN;
}

void sample_spoil(struct sample *sample)
{
    for (size_t p = 0; p < sample->document.reading_count; p++) {
        struct sl_reading *reading = sample->document.reading[p];
        reading->conditions.dip_s = reading->conditions.dried_min = NAN;
        for (size_t i = 0; i < reading->strip_count; i++)
            spoil_strip(&reading->strip[i]);
    }
    judge_pair(&sample->document, &sample->pair);
    for (size_t t = 0; t < sample->overlay.trace_count; t++)
        for (size_t i = 0; i < SL_OVERLAY_SAMPLES; i++)
            sample->overlay.trace[t].load[i][2] = NAN;
}
