// SPDX-License-Identifier: GPL-3.0-or-later
/* From profile to bands, on strips whose bands are known exactly. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_math.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "band/shape.h"
#include "band/smear.h"
#include "band/track.h"
#include "strandline/band.h"
#include "strip_maker.h"

#define BLUE                                                                                       \
    {                                                                                              \
        0.72, 0.23, 0.05                                                                           \
    }
#define RED                                                                                        \
    {                                                                                              \
        0.05, 0.75, 0.20                                                                           \
    }
#define YELLOW                                                                                     \
    {                                                                                              \
        0.02, 0.08, 0.90                                                                           \
    }
#define BLACK                                                                                      \
    {                                                                                              \
        0.36, 0.33, 0.31                                                                           \
    }
static const double length_mm = 100.0;
static const double same_band = 0.03; /* Rf */

static void assert_between(double value, double low, double high)
{
    if (!(value >= low && value <= high))
        fail_msg("%g is not within %g .. %g", value, low, high);
}

static struct sl_bands find(const struct strip *strip, struct sl_warnings *warnings)
{
    struct sl_bands bands;
    struct sl_status status = {0};
    if (sl_bands_find(&strip->profile, &strip->marks, length_mm, NULL, &bands, warnings, &status))
        fail_msg("%s", status.message);
    return bands;
}

static const struct sl_band *nearest(const struct sl_bands *bands, double rf)
{
    const struct sl_band *best = NULL;
    for (size_t k = 0; k < bands->count; k++)
        if (fabs(bands->item[k].rf - rf) < same_band &&
            (!best || fabs(bands->item[k].rf - rf) < fabs(best->rf - rf)))
            best = &bands->item[k];
    return best;
}

static void noise_is_no_band(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        struct strip strip;
        struct sl_warnings warnings = {0};
        strip_make(&(struct maker){.noise = 0.004, .seed = seed}, &strip);
        struct sl_bands bands = find(&strip, &warnings);
        assert_int_equal(bands.count, 0);
        assert_true(sl_warned(&warnings, SL_W_BLANK));
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* A band of this colour whose load at the apex, summed over the channels, is `apex`. */
static bool reads_as_blank(double apex, double red, double green, double blue)
{
    struct maker maker = {.bands = 1, .noise = 0.0005, .seed = 5};
    maker.band[0] = (struct maker_band){.rf = 0.5, .sigma = 0.05, .colour = {red, green, blue}};
    maker.band[0].area = apex * maker.band[0].sigma * sqrt(2 * M_PI);
    struct strip strip;
    struct sl_warnings warnings = {0};
    strip_make(&maker, &strip);
    struct sl_bands bands = find(&strip, &warnings);
    bool blank = sl_warned(&warnings, SL_W_BLANK);
    assert_int_equal(blank, bands.count == 0);
    assert_int_equal(blank, !(bands.total_load > 0));
    sl_bands_finish(&bands);
    strip_finish(&strip);
    return blank;
}

/* A water mark is paler than any ink, dirt is grey and pale; what is darker or coloured is ink. */
static void water_marks_and_dirt_are_no_ink(void **state)
{
    (void)state;
    assert_true(reads_as_blank(0.011, 0.25, 0.33, 0.42));
    assert_true(reads_as_blank(0.03, 0.33, 0.33, 0.34));
    assert_false(reads_as_blank(0.15, 0.33, 0.33, 0.34));
    assert_false(reads_as_blank(0.03, 0.1, 0.3, 0.6));
    assert_false(reads_as_blank(0.03, 0.7, 0.2, 0.1));
}

static void gradient_is_no_band(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        struct strip strip;
        double gradient = seed % 2 ? 0.3 : -0.3;
        strip_make(&(struct maker){.noise = 0.004, .gradient = gradient, .seed = seed}, &strip);
        struct sl_bands bands = find(&strip, NULL);
        assert_int_equal(bands.count, 0);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* A streak without a band: its line is retained, but nothing is made up along the way. */
static void streak_is_no_band(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct strip strip;
        struct sl_warnings warnings = {0};
        struct maker maker = {.noise = 0.004,
                              .streak_area = 0.5,
                              .streak_end = 0.95,
                              .streak_rate = 0.4,
                              .streak_colour = BLUE,
                              .seed = seed};
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, &warnings);
        for (size_t k = 0; k < bands.count; k++)
            assert_true(bands.item[k].retained || bands.item[k].rf > 0.85);
        assert_true(bands.reach_count >= 1);
        assert_between(bands.reach[0].last_rf, 0.85, 1.05);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

static struct maker random_strip(uint64_t seed)
{
    static const double colours[4][3] = {BLUE, RED, YELLOW, BLACK};
    uint64_t state = seed * 7919 + 3;
    struct maker maker = {.noise = 0.003, .seed = seed, .line_area = 0.05, .line_colour = BLACK};
    double rf = maker_uniform(&state, 0.14, 0.22);
    for (size_t b = 0; b < 4; b++) {
        struct maker_band *band = &maker.band[maker.bands++];
        band->rf = rf;
        band->sigma = maker_uniform(&state, 0.012, 0.025);
        band->tau = band->sigma * maker_uniform(&state, 0.0, 1.0);
        band->area = maker_uniform(&state, 0.01, 0.1);
        memcpy(band->colour, colours[(seed + b) % 4], sizeof band->colour);
        rf += maker_uniform(&state, 0.16, 0.24);
    }
    return maker;
}

/* Of 160 bands nearly all must be found, and the intervals must hold 95 in 100: of 160, 144 and
 * more in all but one of a thousand such runs (binomial distribution). */
static void positions_and_shares_with_their_intervals(void **state)
{
    (void)state;
    int bands_made = 0, found = 0, rf_inside = 0, share_inside = 0, reported = 0;
    double widest = 0.0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        struct maker maker = random_strip(seed);
        struct strip strip;
        double total = maker.line_area;
        for (size_t b = 0; b < maker.bands; b++)
            total += maker.band[b].area;
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        reported += (int)bands.count;
        for (size_t b = 0; b < maker.bands; b++) {
            const struct maker_band *made = &maker.band[b];
            double rf = shape_emg_apex(made->rf, made->sigma, made->tau);
            const struct sl_band *band = nearest(&bands, rf);
            bands_made++;
            if (!band)
                continue;
            found++;
            rf_inside += band->rf_interval[0] <= rf && rf <= band->rf_interval[1];
            share_inside += band->share_interval[0] <= made->area / total &&
                            made->area / total <= band->share_interval[1];
            widest = fmax(widest, band->rf_interval[1] - band->rf_interval[0]);
        }
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
    assert_int_equal(bands_made, 160);
    assert_true(found >= 157);
    assert_true(reported <= found + 40 + 3); /* the line is retained on each strip */
    assert_true(rf_inside >= 144);
    assert_true(share_inside >= 144);
    assert_true(widest < 0.05);
}

static void shares_add_up(void **state)
{
    (void)state;
    struct maker maker = random_strip(5);
    struct strip strip;
    double sum = 0.0;
    strip_make(&maker, &strip);
    struct sl_bands bands = find(&strip, NULL);
    for (size_t k = 0; k < bands.count; k++)
        sum += bands.item[k].share;
    assert_between(sum, 0.98, 1.02);
    assert_int_equal(bands.smooth_count, strip.profile.count);
    assert_true(bands.fitted != NULL && bands.goodness > 0.0);
    assert_false(bands.smeared);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

/* Three times the ink: the same positions and shares. */
static void scale_changes_nothing(void **state)
{
    (void)state;
    struct maker maker = random_strip(9);
    struct strip strip;
    strip_make(&maker, &strip);
    struct sl_bands once = find(&strip, NULL);
    for (size_t i = 0; i < strip.profile.count; i++) {
        for (int c = 0; c < 3; c++) {
            strip.profile.load[i][c] *= 3.0;
            strip.profile.load_se[i][c] *= 3.0;
            strip.profile.light_se[i][c] *= 3.0;
        }
    }
    struct sl_bands thrice = find(&strip, NULL);
    assert_int_equal(once.count, thrice.count);
    for (size_t k = 0; k < once.count; k++) {
        assert_between(thrice.item[k].rf - once.item[k].rf, -1e-3, 1e-3);
        assert_between(thrice.item[k].share - once.item[k].share, -1e-3, 1e-3);
    }
    sl_bands_finish(&once);
    sl_bands_finish(&thrice);
    strip_finish(&strip);
}

static void one_tailing_band_stays_one(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 12; seed++) {
        double tau = 0.01 * (double)seed;
        struct strip strip;
        struct maker maker = {
            .noise = 0.003, .seed = seed, .bands = 1, .band = {{0.6, 0.03, tau, 0.1, BLUE}}};
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        size_t mobile = 0;
        for (size_t k = 0; k < bands.count; k++)
            mobile += !bands.item[k].retained;
        assert_int_equal(mobile, 1);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* Two dyes so near that there is one maximum: told apart by hue, whichever runs ahead. */
static void overlap_of_two_hues_is_resolved(void **state)
{
    (void)state;
    static const double hues[2][3] = {BLUE, YELLOW};
    for (uint64_t seed = 1; seed <= 6; seed++) {
        struct strip strip;
        struct maker maker = {
            .noise = 0.003,
            .seed = seed,
            .bands = 2,
            .band = {{0.50, 0.03, 0.0, 0.1, BLUE}, {0.555, 0.03, 0.0, 0.05, BLUE}}};
        memcpy(maker.band[0].colour, hues[seed % 2], sizeof hues[0]);
        memcpy(maker.band[1].colour, hues[1 - seed % 2], sizeof hues[0]);
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        const struct sl_band *first = nearest(&bands, 0.50), *second = nearest(&bands, 0.555);
        assert_int_equal(bands.count, 2);
        assert_true(first && second && first != second);
        assert_false(first->overlapped);
        assert_true(second->overlapped);
        assert_between(second->share, 0.2, 0.45); /* made with a third */
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* Of 20 strips' bands, the colour that the made load has at the apex lies in the interval; a hue
 * that noise could turn any way has none. */
static void colour_is_that_of_the_apex(void **state)
{
    (void)state;
    int inside = 0, asked = 0;
    struct sl_lab *lab = NULL;
    assert_int_equal(sl_lab_create(&lab, NULL), SL_OK);
    for (uint64_t seed = 1; seed <= 20; seed++) {
        struct maker maker = {.noise = 0.003, .seed = seed};
        struct strip strip;
        double r[1][3], made[1][3];
        maker.band[maker.bands++] = (struct maker_band){0.5, 0.04, 0.0, 0.08, BLUE};
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        const struct sl_band *band = nearest(&bands, 0.5);
        assert_non_null(band);
        double top = 0.08 * shape_emg(0.5, 0.5, 0.04, 0.0).value;
        for (int c = 0; c < 3; c++)
            r[0][c] = sl_kubelka_munk_inverse(top * maker.band[0].colour[c]);
        sl_lab_from_linear(lab, (const double(*)[3])r, 1, made);
        for (int k = 0; k < 3; k++, asked++)
            inside += fabs(band->lab_d50[k] - made[0][k]) < 1.96 * band->lab_se[k];
        double hue = sl_lab_hue_deg(made[0]);
        assert_between(hue, band->hue_interval[0] - 1.0, band->hue_interval[1] + 1.0);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
    assert_int_equal(asked, 60);
    assert_true(inside >= 54);
    sl_lab_destroy(lab);
}

/* White whose red or blue is wrong by 2 % widens L*, a* and b* by as much as it moves them. */
static void the_colour_of_white_widens_that_of_a_band(void **state)
{
    (void)state;
    static const double hues[3][3] = {BLUE, RED, YELLOW};
    struct sl_lab *lab = NULL;
    assert_int_equal(sl_lab_create(&lab, NULL), SL_OK);
    for (int hue = 0; hue < 3; hue++)
        for (int k = 0; k < 2; k++) {
            struct maker maker = {.noise = 0.001, .seed = 3};
            struct strip strip;
            maker.band[maker.bands++] = (struct maker_band){0.5, 0.04, 0.0, 0.02, BLUE};
            memcpy(maker.band[0].colour, hues[hue], sizeof hues[hue]);
            strip_make(&maker, &strip);
            struct sl_bands sure = find(&strip, NULL);
            strip.profile.white_colour_se[k] = 0.02;
            struct sl_bands bands = find(&strip, NULL);
            const struct sl_band *band = nearest(&bands, 0.5), *before = nearest(&sure, 0.5);
            double top = 0.02 * shape_emg(0.5, 0.5, 0.04, 0.0).value, r[2][3], made[2][3];
            for (int c = 0; c < 3; c++) {
                r[0][c] = sl_kubelka_munk_inverse(top * maker.band[0].colour[c]);
                r[1][c] = r[0][c] * exp(0.02 * ((c == 2 * k) - 1.0 / 3.0));
            }
            sl_lab_from_linear(lab, (const double(*)[3])r, 2, made);
            for (int i = 0; i < 3; i++) {
                double wider = sqrt(
                    fmax(band->lab_se[i] * band->lab_se[i] - before->lab_se[i] * before->lab_se[i],
                         0.0));
                assert_true(fabs(wider - fabs(made[1][i] - made[0][i])) <
                            0.1 + 0.25 * fabs(made[1][i] - made[0][i]));
            }
            sl_bands_finish(&sure);
            sl_bands_finish(&bands);
            strip_finish(&strip);
        }
    sl_lab_destroy(lab);
}

/* Rounds the Cb and Cr of a colour's linear light to steps that begin at `from` (ITU-T T.871). */
static void round_colour(const double linear[3], double step, const double from[2], double ret[3])
{
    double e[3];
    for (int c = 0; c < 3; c++)
        e[c] = 255.0 * sl_srgb_encode(linear[c]);
    double y = 0.299 * e[0] + 0.587 * e[1] + 0.114 * e[2];
    double cb = step * round((e[2] - y) / 1.772 / step - from[0]) + from[0] * step;
    double cr = step * round((e[0] - y) / 1.402 / step - from[1]) + from[1] * step;
    ret[0] = sl_srgb_decode((y + 1.402 * cr) / 255.0);
    ret[1] = sl_srgb_decode((y - 0.344136 * cb - 0.714136 * cr) / 255.0);
    ret[2] = sl_srgb_decode((y + 1.772 * cb) / 255.0);
}

/* What JPEG's steps do to L*, a*, b*, seen over 400 roundings, is what the intervals grow by. */
static void steps_of_colour_widen_that_of_a_band(void **state)
{
    (void)state;
    static const double white[3] = {0.62, 0.58, 0.50}, step = 1.1;
    struct sl_lab *lab = NULL;
    assert_int_equal(sl_lab_create(&lab, NULL), SL_OK);
    struct maker maker = {.noise = 0.001, .seed = 3};
    struct strip strip;
    maker.band[maker.bands++] = (struct maker_band){0.5, 0.04, 0.0, 0.05, BLUE};
    strip_make(&maker, &strip);
    struct sl_bands sure = find(&strip, NULL);
    memcpy(strip.profile.white_rgb, white, sizeof white);
    strip.profile.chroma_step = step;
    struct sl_bands bands = find(&strip, NULL);
    double top = 0.05 * shape_emg(0.5, 0.5, 0.04, 0.0).value, r[2][3], made[2][3], sum[3] = {0};
    for (int c = 0; c < 3; c++)
        r[0][c] = sl_kubelka_munk_inverse(top * maker.band[0].colour[c]);
    for (int k = 0; k < 400; k++) {
        double from[2][2] = {{k % 20 / 20.0, k / 20 / 20.0},
                             {(k * 7) % 20 / 20.0, (k * 3 + k / 20) % 20 / 20.0}};
        double seen_white[3], seen[3], light[3];
        for (int c = 0; c < 3; c++)
            light[c] = white[c] * r[0][c];
        round_colour(white, step, from[0], seen_white);
        round_colour(light, step, from[1], seen);
        for (int c = 0; c < 3; c++)
            r[1][c] = seen[c] / seen_white[c];
        sl_lab_from_linear(lab, (const double(*)[3])r, 2, made);
        for (int i = 0; i < 3; i++)
            sum[i] += (made[1][i] - made[0][i]) * (made[1][i] - made[0][i]) / 400;
    }
    const struct sl_band *band = nearest(&bands, 0.5), *before = nearest(&sure, 0.5);
    for (int i = 1; i < 3; i++) {
        double grown = band->lab_se[i] * band->lab_se[i] - before->lab_se[i] * before->lab_se[i];
        assert_true(fabs(sqrt(grown) - sqrt(sum[i])) < 0.3 * sqrt(sum[i]));
    }
    sl_bands_finish(&sure);
    sl_bands_finish(&bands);
    strip_finish(&strip);
    sl_lab_destroy(lab);
}

/* A band that fades: sure at first, then doubted and said so, then gone. */
static void a_fading_band_is_doubted_before_it_goes(void **state)
{
    (void)state;
    int sure = 0, doubted = 0, gone = 0;
    for (double area = 0.02; area > 1e-4; area *= 0.8) {
        struct maker maker = {.noise = 0.004, .seed = 8};
        struct strip strip;
        struct sl_warnings warnings = {0};
        maker.band[maker.bands++] = (struct maker_band){0.3, 0.03, 0.0, 0.05, BLUE};
        maker.band[maker.bands++] = (struct maker_band){0.7, 0.03, 0.0, area, BLUE};
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, &warnings);
        const struct sl_band *faint = nearest(&bands, 0.7);
        sure += faint && !faint->unsure;
        doubted += faint && faint->unsure;
        gone += !faint;
        assert_true(!faint || faint->unsure == sl_warned(&warnings, SL_W_BAND_COUNT));
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
    assert_true(sure >= 3 && doubted >= 1 && gone >= 1);
}

/* Blue that never let go of the line up to Rf 0.45, clean paper, red ahead. */
static void a_smear_is_told_as_it_looks(void **state)
{
    (void)state;
    struct strip strip;
    struct track track;
    struct maker maker = {.noise = 0.002,
                          .streak_area = 0.6,
                          .streak_end = 0.45,
                          .streak_rate = 1.5,
                          .streak_colour = BLUE,
                          .seed = 3};
    maker.band[maker.bands++] = (struct maker_band){0.85, 0.025, 0.0, 0.02, RED};
    strip_make(&maker, &strip);
    struct sl_bands bands = find(&strip, NULL);
    char words[SMEAR_BYTES];
    assert_int_equal(track_make(&strip.profile, &strip.marks, length_mm, &track, NULL), SL_OK);
    smear_describe(&track, &bands, words);
    double streak = 0.0, white = 0.0, lead = 0.0;
    int told = sscanf(words,
                      "a streak reaches from the line to Rf %lf, white follows up to Rf %lf, "
                      "%*s leads up to Rf %lf",
                      &streak, &white, &lead);
    assert_int_equal(told, 3);
    assert_between(streak, 0.42, 0.56); /* it ends at 0.45 within its blur */
    assert_between(white, 0.70, 0.82);
    assert_between(lead, 0.88, 0.95);
    track_finish(&track);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

/* White that may be off by a half, alike over the whole strip: what stands on the line is no less a
 * band, what is paler than that doubt is none. */
static void unknown_light_hides_the_pale_alone(void **state)
{
    (void)state;
    const double white_se = 0.5, paper = 0.85;
    struct maker maker = {.noise = 0.001, .line_area = 0.05, .line_colour = BLACK, .seed = 4};
    maker.band[maker.bands++] = (struct maker_band){0.6, 0.08, 0.0, 0.01, BLUE};
    struct strip strip;
    strip_make(&maker, &strip);
    struct sl_bands sure = find(&strip, NULL);
    for (size_t i = 0; i < strip.profile.count; i++)
        for (int c = 0; c < 3; c++) {
            double load = fmax(strip.profile.load[i][c], 0.0);
            double x = sl_kubelka_munk_inverse(load + sl_kubelka_munk(paper));
            strip.profile.light_se[i][c] = white_se * (1.0 - x * x) / (2.0 * x);
        }
    for (int c = 0; c < 3; c++)
        strip.marks.paper_reflectance[c] = paper;
    struct sl_bands bands = find(&strip, NULL);
    assert_int_equal(sure.count, 2);
    assert_int_equal(bands.count, 1);
    assert_true(bands.item[0].retained);
    sl_bands_finish(&sure);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

static struct sl_bands find_within(const struct strip *strip, size_t count,
                                   const struct sl_band_limits *limits)
{
    struct sl_bands bands;
    struct sl_strip_hints hints;
    struct sl_status status = {0};
    sl_strip_hints_init(&hints);
    hints.band_count = count;
    memcpy(hints.band, limits, count * sizeof *limits);
    if (sl_bands_find(&strip->profile, &strip->marks, length_mm, &hints, &bands, NULL, &status))
        fail_msg("%s", status.message);
    return bands;
}

static double position_of(const struct strip *strip, double rf)
{
    return strip->marks.origin + rf * (strip->marks.front - strip->marks.origin);
}

/* Who marks a band by hand on what was taken for a water mark gets its numbers. */
static void a_band_set_by_hand_is_ink(void **state)
{
    (void)state;
    struct strip strip;
    struct maker maker = {
        .noise = 0.001, .seed = 3, .bands = 1, .band = {{0.5, 0.04, 0.0, 0.0012, BLUE}}};
    strip_make(&maker, &strip);
    struct sl_bands none = find(&strip, NULL);
    assert_int_equal(none.count, 0);
    struct sl_band_limits limits = {position_of(&strip, 0.38), position_of(&strip, 0.62)};
    struct sl_bands bands = find_within(&strip, 1, &limits);
    assert_int_equal(bands.count, 1);
    assert_true(bands.item[0].given);
    assert_between(bands.item[0].rf, 0.48, 0.52);
    assert_between(bands.item[0].share, 0.8, 1.0);
    sl_bands_finish(&none);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

/* What a strip was made with lies between the limits: that is the share. */
static void hand_set_limits_hold_their_load(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 12; seed++) {
        struct maker maker = random_strip(seed);
        struct strip strip;
        strip_make(&maker, &strip);
        struct sl_bands found = find(&strip, NULL);
        const struct maker_band *made = &maker.band[1]; /* its tail points to the origin */
        double low = made->rf - 2.5 * made->sigma - 2.0 * made->tau;
        double high = made->rf + 2.5 * made->sigma;
        struct sl_band_limits limits = {position_of(&strip, low), position_of(&strip, high)};
        struct sl_bands bands = find_within(&strip, 1, &limits);
        const struct sl_band *band = nearest(&bands, made->rf);
        double total = maker.line_area;
        for (size_t b = 0; b < maker.bands; b++)
            total += maker.band[b].area;
        assert_non_null(band);
        assert_true(band->given);
        assert_between(band->start_rf, low - 1e-9, low + 1e-9);
        assert_between(band->end_rf, high - 1e-9, high + 1e-9);
        assert_between(made->area / total, band->share_interval[0], band->share_interval[1]);
        assert_between(found.bound_share - bands.bound_share, 0.0, 0.0);
        sl_bands_finish(&found);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* A half of a band, and the rest of it beside: together they are the whole. */
static void a_limit_through_a_band_parts_it(void **state)
{
    (void)state;
    struct strip strip;
    struct maker maker = {
        .noise = 0.002, .seed = 5, .bands = 1, .band = {{0.50, 0.03, 0.0, 0.1, BLUE}}};
    strip_make(&maker, &strip);
    struct sl_band_limits halves[2] = {{position_of(&strip, 0.50), position_of(&strip, 0.64)},
                                       {position_of(&strip, 0.36), position_of(&strip, 0.50)}};
    struct sl_bands bands = find_within(&strip, 2, halves);
    assert_int_equal(bands.count, 2);
    assert_true(bands.item[0].given && bands.item[1].given);
    assert_between(bands.item[0].share, 0.46, 0.54);
    assert_between(bands.item[0].share + bands.item[1].share, 0.97, 1.0);
    sl_bands_finish(&bands);
    bands = find_within(&strip, 1, halves); /* the found band keeps what is below */
    assert_int_equal(bands.count, 1);       /* its apex lies on the limit: it went with it */
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

/* On a flank there is no maximum: the band's place is told no better than the limits are apart. */
static void a_flank_has_no_sharp_place(void **state)
{
    (void)state;
    struct strip strip;
    struct maker maker = {
        .noise = 0.002, .seed = 7, .bands = 1, .band = {{0.50, 0.03, 0.0, 0.1, BLUE}}};
    strip_make(&maker, &strip);
    struct sl_band_limits flank = {position_of(&strip, 0.53), position_of(&strip, 0.59)};
    struct sl_bands bands = find_within(&strip, 1, &flank);
    assert_int_equal(bands.count, 2);
    assert_false(bands.item[0].given);
    assert_true(bands.item[1].given);
    assert_between(bands.item[1].rf, 0.53, 0.56);
    assert_true(bands.item[1].rf_interval[0] <= 0.535 && bands.item[1].rf_interval[1] >= 0.565);
    assert_between(bands.item[0].share + bands.item[1].share, 0.95, 1.0);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

static void limits_out_of_order_are_refused(void **state)
{
    (void)state;
    static const struct sl_band_limits wrong[][2] = {{{0.4, 0.3}, {0.5, 0.6}},
                                                     {{0.3, 0.5}, {0.4, 0.6}},
                                                     {{-0.1, 0.2}, {0.5, 0.6}},
                                                     {{0.3, NAN}, {0.5, 0.6}},
                                                     {{0.3, 0.4}, {0.9, 1.1}}};
    struct strip strip;
    struct maker maker = random_strip(3);
    strip_make(&maker, &strip);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct sl_bands bands;
        struct sl_strip_hints hints;
        sl_strip_hints_init(&hints);
        hints.band_count = 2;
        memcpy(hints.band, wrong[i], sizeof wrong[i]);
        assert_int_equal(
            sl_bands_find(&strip.profile, &strip.marks, length_mm, &hints, &bands, NULL, NULL),
            SL_E_RANGE);
    }
    strip_finish(&strip);
}

static void weak_retained_line_is_a_band(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct maker maker = random_strip(seed);
        struct strip strip;
        double mobile = 0.0;
        for (size_t b = 0; b < maker.bands; b++)
            mobile += maker.band[b].area;
        maker.line_area = 0.015 * mobile;
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        const struct sl_band *line = nearest(&bands, 0.0);
        assert_true(line && line->retained);
        assert_between(line->share, 0.008, 0.025);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

static void nothing_is_given_without_an_origin(void **state)
{
    (void)state;
    struct maker maker = random_strip(3);
    struct strip strip;
    strip_make(&maker, &strip);
    strip.marks.origin_outside = true;
    struct sl_bands bands = find(&strip, NULL);
    assert_int_equal(bands.count, 0);
    assert_int_equal(bands.reach_count, 0);
    assert_true(isnan(bands.retained_share) && isnan(bands.bound_share));
    assert_true(isnan(bands.bound_interval[0]) && isnan(bands.bound_interval[1]));
    assert_true(bands.total_load > 0);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

/* Blue runs to the middle, yellow ahead of it: each with its own first and last position. */
static void each_colour_has_its_reach(void **state)
{
    (void)state;
    struct strip strip;
    struct maker maker = {.noise = 0.003,
                          .seed = 6,
                          .bands = 2,
                          .band = {{0.3, 0.04, 0.0, 0.1, BLUE}, {0.8, 0.04, 0.0, 0.1, YELLOW}}};
    strip_make(&maker, &strip);
    struct sl_bands bands = find(&strip, NULL);
    assert_int_equal(bands.reach_count, 2);
    assert_string_not_equal(bands.reach[0].hue_name, bands.reach[1].hue_name);
    assert_between(bands.reach[0].first_rf, 0.12, 0.22); /* three sigma and more below the apex */
    assert_between(bands.reach[0].last_rf, 0.38, 0.48);
    assert_between(bands.reach[1].first_rf, 0.62, 0.72);
    assert_between(bands.reach[1].last_rf, 0.88, 0.98);
    assert_between(bands.reach[0].share, 0.45, 0.55);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

/* Below the line lies a stain of the bath, at the front the water's own faint brownish line. */
static void stains_and_water_line_are_no_bands(void **state)
{
    (void)state;
    struct strip strip;
    struct maker maker = {.noise = 0.002,
                          .seed = 3,
                          .bands = 3,
                          .line_area = 0.05,
                          .line_colour = BLACK,
                          .band = {{-0.12, 0.02, 0.0, 0.02, BLUE},
                                   {0.5, 0.03, 0.0, 0.1, BLUE},
                                   {1.0, 0.01, 0.0, 0.0006, {0.2, 0.3, 0.5}}}};
    strip_make(&maker, &strip);
    struct sl_bands bands = find(&strip, NULL);
    assert_int_equal(bands.count, 2);
    assert_true(bands.item[0].retained);
    assert_between(bands.item[1].rf, 0.48, 0.52);
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

/* What is bound stays in the line's shape and feeds nothing. */
static void bound_line_without_streak(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct strip strip;
        struct maker maker = {.noise = 0.003,
                              .seed = seed,
                              .bands = 1,
                              .line_area = 0.06,
                              .line_colour = BLACK,
                              .band = {{0.6, 0.03, 0.01, 0.14, BLUE}}};
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        assert_between(bands.bound_share, 0.25, 0.33); /* made with 0.3 */
        assert_between(0.3, bands.bound_interval[0], bands.bound_interval[1]);
        assert_between(0.3, bands.retained_interval[0], bands.retained_interval[1]);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* The same line, but all of it is still being released into a streak: not bound. */
static void slow_release_is_not_bound(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct strip strip;
        struct maker maker = {.noise = 0.003,
                              .seed = seed,
                              .bands = 1,
                              .band = {{0.7, 0.04, 0.0, 0.1, BLUE}},
                              .streak_area = 0.12,
                              .streak_end = 0.7,
                              .streak_rate = 2.0,
                              .streak_colour = BLUE};
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        assert_true(bands.retained_share > 0.1);
        assert_true(bands.bound_share < 0.06);
        assert_true(bands.bound_interval[0] < 0.02);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* The marks have the line's width wrong: its flanks in the load say how wide it is, so that what is
 * bound and what is still being released are told apart as well as on a line of usual width. */
static void flanks_say_how_wide_the_line_is(void **state)
{
    (void)state;
    static const double wrong[] = {0.55, 1.0, 1.7};
    for (uint64_t run = 0; run < 12; run++) {
        struct strip strip;
        bool bound = run % 2 == 0;
        struct maker maker = {
            .noise = 0.003,
            .seed = 40 + run,
            .bands = 2,
            .line_area = bound ? 0.08 : 0.0,
            .line_colour = BLACK,
            .band = {{0.12, 0.035, 0.01, 0.04, RED}, {0.7, 0.04, 0.0, 0.16, BLUE}},
            .streak_area = bound ? 0.0 : 0.12,
            .streak_end = 0.7,
            .streak_rate = 2.6,
            .streak_colour = BLUE};
        strip_make(&maker, &strip);
        strip.marks.line_width *= wrong[run % 3];
        struct sl_bands bands = find(&strip, NULL);
        assert_between(bands.bound_share, bound ? 0.2 : 0.0, bound ? 0.36 : 0.06);
        assert_between(bound ? 0.08 / 0.28 : 0.0, bands.bound_interval[0] - (bound ? 0.0 : 0.02),
                       bands.bound_interval[1]);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* What is bound is a part of what lies at the line, whatever stands on and above it. */
static void bound_is_part_of_retained(void **state)
{
    (void)state;
    uint64_t seed = 77;
    for (uint64_t run = 1; run <= 18; run++) {
        struct strip strip;
        struct maker maker = {.noise = maker_uniform(&seed, 0.001, 0.012),
                              .seed = run,
                              .bands = run % 3,
                              .line_area = maker_uniform(&seed, 0.0, 0.2),
                              .line_colour = BLACK,
                              .band = {{maker_uniform(&seed, 0.05, 0.5), 0.04, 0.05, 0.1, BLUE},
                                       {0.9, 0.03, 0.01, 0.05, RED}},
                              .streak_area = maker_uniform(&seed, 0.0, 0.2),
                              .streak_end = 0.9,
                              .streak_rate = maker_uniform(&seed, 0.5, 6.0),
                              .streak_colour = BLUE};
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        assert_between(bands.bound_share, 0.0, bands.retained_share);
        assert_between(bands.bound_interval[0], 0.0, bands.retained_interval[0]);
        assert_between(bands.bound_interval[1], 0.0, bands.retained_interval[1]);
        assert_between(bands.bound_share, bands.bound_interval[0], bands.bound_interval[1]);
        assert_between(bands.retained_share, bands.retained_interval[0],
                       bands.retained_interval[1]);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* A line that feeds a long streak without a valley: the streak is not the line's. */
static struct maker streaked_strip(uint64_t seed)
{
    return (struct maker){.noise = 0.003,
                          .seed = seed,
                          .line_area = 0.04,
                          .line_colour = BLUE,
                          .streak_area = 0.2,
                          .streak_end = 0.6,
                          .streak_rate = 4.0,
                          .streak_colour = BLUE};
}

static void origin_band_leaves_its_streak(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct strip strip;
        struct maker maker = streaked_strip(seed);
        strip_make(&maker, &strip);
        struct sl_bands bands = find(&strip, NULL);
        assert_true(bands.count > 0 && bands.item[0].retained);
        assert_between(bands.item[0].share, 0.5 * bands.retained_share, 1.5 * bands.retained_share);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* Light read against paper that may be a little lighter or darker: all shares may move, so all
 * intervals are wider, and no estimate changes. */
static void doubt_of_the_paper_widens_intervals(void **state)
{
    (void)state;
    struct strip strip;
    struct maker maker = {.noise = 0.002,
                          .seed = 3,
                          .bands = 1,
                          .line_area = 0.06,
                          .line_colour = BLACK,
                          .band = {{0.6, 0.06, 0.01, 0.1, BLUE}}};
    strip_make(&maker, &strip);
    for (int c = 0; c < 3; c++)
        strip.marks.paper_reflectance[c] = 0.85;
    struct sl_bands known = find(&strip, NULL);
    strip.marks.paper_sigma = 0.03;
    struct sl_bands doubted = find(&strip, NULL);
    assert_true(doubted.retained_share == known.retained_share);
    assert_true(doubted.retained_interval[0] < known.retained_interval[0]);
    assert_true(doubted.retained_interval[1] > known.retained_interval[1]);
    assert_true(doubted.bound_interval[1] > known.bound_interval[1]);
    const struct sl_band *a = nearest(&known, 0.6), *b = nearest(&doubted, 0.6);
    assert_non_null(a);
    assert_non_null(b);
    assert_true(b->share == a->share);
    assert_true(b->share_interval[1] > a->share_interval[1]);
    sl_bands_finish(&known);
    sl_bands_finish(&doubted);
    strip_finish(&strip);
}

/* Hidden under a peg: what lies there is not looked at, even where it is not finite. */
static void hidden_part_is_left_out(void **state)
{
    (void)state;
    struct maker maker = random_strip(4);
    struct strip strip;
    strip_make(&maker, &strip);
    for (size_t i = 800; i < strip.profile.count; i++) {
        strip.profile.flags[i] = SL_CELL_HIDDEN;
        strip.profile.load[i][1] = NAN;
    }
    struct sl_bands bands = find(&strip, NULL);
    assert_true(bands.count >= 4);
    for (size_t k = 0; k < bands.count; k++)
        assert_true(isfinite(bands.item[k].rf) && isfinite(bands.item[k].share));
    for (size_t i = 0; i < bands.smooth_count; i++)
        assert_true(isfinite(bands.smooth[i]));
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

static void profile_that_is_not_finite_is_refused(void **state)
{
    (void)state;
    struct maker maker = random_strip(2);
    struct strip strip;
    struct sl_bands bands = {.count = 77};
    struct sl_status status = {0};
    strip_make(&maker, &strip);
    strip.profile.load[450][2] = INFINITY;
    assert_int_equal(sl_bands_find(&strip.profile, &strip.marks, NAN, NULL, &bands, NULL, &status),
                     SL_E_RANGE);
    assert_int_equal(bands.count, 77);
    assert_true(strlen(status.message) > 0);
    strip_finish(&strip);
}

/* Without a scale the line's width sets the measure; the numbers stay close. */
static void no_scale_changes_little(void **state)
{
    (void)state;
    struct maker maker = random_strip(8);
    struct strip strip;
    struct sl_bands bands;
    strip_make(&maker, &strip);
    struct sl_bands scaled = find(&strip, NULL);
    assert_int_equal(sl_bands_find(&strip.profile, &strip.marks, NAN, NULL, &bands, NULL, NULL),
                     SL_OK);
    assert_int_equal(bands.count, scaled.count);
    assert_between(scaled.retained_share, bands.retained_interval[0], bands.retained_interval[1]);
    sl_bands_finish(&bands);
    sl_bands_finish(&scaled);
    strip_finish(&strip);
}

/* How far up dye is looked for hangs on the front's error a little. */
static void assert_near(double value, double wanted)
{
    assert_between(value, wanted - 1e-4, wanted + 1e-4);
}

static void assert_same_intervals(const struct sl_bands *bands, enum sl_source source,
                                  const struct sl_bands *without)
{
    const struct sl_bands_without *told = &bands->without[source];
    assert_int_equal(bands->count, without->count);
    for (int i = 0; i < 2; i++) {
        for (size_t k = 0; k < bands->count; k++) {
            assert_near(told->rf_interval[k][i], without->item[k].rf_interval[i]);
            assert_near(told->share_interval[k][i], without->item[k].share_interval[i]);
        }
        assert_near(told->retained_interval[i], without->retained_interval[i]);
        assert_near(told->bound_interval[i], without->bound_interval[i]);
    }
}

/* What is told for a source of error gone is what a strip without it gives. */
static void each_source_of_error_can_be_left_out(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        struct maker maker = random_strip(seed);
        struct strip strip, less;
        strip_make(&maker, &strip);
        strip.marks.origin_sigma = 0.002;
        strip.marks.front_sigma = 0.01;
        strip.marks.paper_sigma = 0.03;
        struct sl_bands bands = find(&strip, NULL);
        assert_true(bands.has_without);
        for (int k = 0; k < 3; k++) {
            static const enum sl_source source[] = {SL_SOURCE_ORIGIN, SL_SOURCE_FRONT,
                                                    SL_SOURCE_PAPER};
            less = strip;
            *(k == 0   ? &less.marks.origin_sigma
              : k == 1 ? &less.marks.front_sigma
                       : &less.marks.paper_sigma) = 0;
            struct sl_bands without = find(&less, NULL);
            assert_same_intervals(&bands, source[k], &without);
            sl_bands_finish(&without);
        }
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

static double width(const double interval[2])
{
    return interval[1] - interval[0];
}

/* A place v that is off by k v (1 - v) is so for marks and bands alike: the Rf that follows from
 * the three moved places is off by one standard error of what k adds, and marks are by none. */
static void a_stretch_moves_bands_with_their_marks(void **state)
{
    (void)state;
    const double k = 0.01;
    for (uint64_t seed = 1; seed <= 4; seed++) {
        struct maker maker = random_strip(seed);
        struct strip strip;
        strip_make(&maker, &strip);
        double from = strip.marks.origin, to = strip.marks.front;
        double own[2] = {strip.marks.origin_sigma, strip.marks.front_sigma};
        struct sl_bands flat = find(&strip, NULL);
        strip.marks.stretch_sigma = k;
        strip.marks.origin_sigma = hypot(own[0], k * from * (1 - from));
        strip.marks.front_sigma = hypot(own[1], k * to * (1 - to));
        struct sl_bands bands = find(&strip, NULL);
        assert_int_equal(bands.count, flat.count);
        from += k * from * (1 - from);
        to += k * to * (1 - to);
        for (size_t i = 0; i < bands.count; i++) {
            double rf = bands.item[i].rf,
                   v = strip.marks.origin + rf * (strip.marks.front - strip.marks.origin);
            double moved = fabs((v + k * v * (1 - v) - from) / (to - from) - rf);
            double wide = width(bands.item[i].rf_interval), was = width(flat.item[i].rf_interval);
            double added = sqrt(fmax(wide * wide - was * was, 0)) / (2 * 1.96);
            assert_true(fabs(added - moved) < 0.05 * moved + 1e-5);
        }
        sl_bands_finish(&flat);
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* The line's place is as well known as on strips that errors were fitted to; paper that bends more
 * makes no Rf surer. */
static void no_bend_narrows_an_interval(void **state)
{
    (void)state;
    static const double bends[] = {0.01, 0.02, 0.06};
    for (uint64_t seed = 1; seed <= 4; seed++) {
        struct maker maker = random_strip(seed);
        struct strip strip;
        strip_make(&maker, &strip);
        double last[SL_BANDS_MAX] = {0}, from = strip.marks.origin, to = strip.marks.front;
        for (size_t k = 0; k < sizeof bends / sizeof *bends; k++) {
            strip.marks.stretch_sigma = bends[k];
            strip.marks.origin_sigma = hypot(0.003, bends[k] * from * (1 - from));
            strip.marks.front_sigma = hypot(0.003, bends[k] * to * (1 - to));
            struct sl_bands bands = find(&strip, NULL);
            for (size_t i = 0; i < bands.count; i++) {
                assert_true(width(bands.item[i].rf_interval) > last[i] - 1e-6);
                last[i] = width(bands.item[i].rf_interval);
            }
            sl_bands_finish(&bands);
        }
        strip_finish(&strip);
    }
}

static void no_source_left_out_widens(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct maker maker = random_strip(seed);
        struct strip strip;
        struct sl_bands bands;
        strip_make(&maker, &strip);
        strip.marks.front_sigma = 0.01;
        assert_int_equal(sl_bands_find(&strip.profile, &strip.marks, NAN, NULL, &bands, NULL, NULL),
                         SL_OK);
        for (int s = 0; s < SL_SOURCE_COUNT; s++) {
            const struct sl_bands_without *w = &bands.without[s];
            /* without noise the samples' weights change too, and the apex by a hair */
            double allowed = s == SL_SOURCE_NOISE ? 1.05 : 1 + 1e-9;
            for (size_t k = 0; k < bands.count; k++) {
                assert_true(width(w->rf_interval[k]) <= allowed * width(bands.item[k].rf_interval));
                assert_true(width(w->share_interval[k]) <=
                            allowed * width(bands.item[k].share_interval));
            }
            assert_true(width(w->retained_interval) <= allowed * width(bands.retained_interval));
        }
        const struct sl_band *top = &bands.item[bands.count - 1];
        assert_true(width(bands.without[SL_SOURCE_FRONT].rf_interval[bands.count - 1]) <
                    width(top->rf_interval));
        sl_bands_finish(&bands);
        strip_finish(&strip);
    }
}

/* A streak passes the end of what counts as retained: where that is hangs on the scale. */
static void a_scale_left_unknown_shows_on_a_streak(void **state)
{
    (void)state;
    struct maker maker = streaked_strip(4);
    struct strip strip;
    struct sl_bands bands;
    strip_make(&maker, &strip);
    assert_int_equal(sl_bands_find(&strip.profile, &strip.marks, NAN, NULL, &bands, NULL, NULL),
                     SL_OK);
    assert_true(width(bands.without[SL_SOURCE_SCALE].retained_interval) <
                width(bands.retained_interval));
    sl_bands_finish(&bands);
    strip_finish(&strip);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(noise_is_no_band),
        cmocka_unit_test(water_marks_and_dirt_are_no_ink),
        cmocka_unit_test(a_band_set_by_hand_is_ink),
        cmocka_unit_test(gradient_is_no_band),
        cmocka_unit_test(streak_is_no_band),
        cmocka_unit_test(positions_and_shares_with_their_intervals),
        cmocka_unit_test(shares_add_up),
        cmocka_unit_test(scale_changes_nothing),
        cmocka_unit_test(one_tailing_band_stays_one),
        cmocka_unit_test(overlap_of_two_hues_is_resolved),
        cmocka_unit_test(hand_set_limits_hold_their_load),
        cmocka_unit_test(a_limit_through_a_band_parts_it),
        cmocka_unit_test(a_flank_has_no_sharp_place),
        cmocka_unit_test(limits_out_of_order_are_refused),
        cmocka_unit_test(weak_retained_line_is_a_band),
        cmocka_unit_test(a_fading_band_is_doubted_before_it_goes),
        cmocka_unit_test(a_smear_is_told_as_it_looks),
        cmocka_unit_test(colour_is_that_of_the_apex),
        cmocka_unit_test(the_colour_of_white_widens_that_of_a_band),
        cmocka_unit_test(steps_of_colour_widen_that_of_a_band),
        cmocka_unit_test(unknown_light_hides_the_pale_alone),
        cmocka_unit_test(nothing_is_given_without_an_origin),
        cmocka_unit_test(each_colour_has_its_reach),
        cmocka_unit_test(stains_and_water_line_are_no_bands),
        cmocka_unit_test(bound_line_without_streak),
        cmocka_unit_test(slow_release_is_not_bound),
        cmocka_unit_test(flanks_say_how_wide_the_line_is),
        cmocka_unit_test(bound_is_part_of_retained),
        cmocka_unit_test(origin_band_leaves_its_streak),
        cmocka_unit_test(doubt_of_the_paper_widens_intervals),
        cmocka_unit_test(hidden_part_is_left_out),
        cmocka_unit_test(profile_that_is_not_finite_is_refused),
        cmocka_unit_test(no_scale_changes_little),
        cmocka_unit_test(each_source_of_error_can_be_left_out),
        cmocka_unit_test(a_stretch_moves_bands_with_their_marks),
        cmocka_unit_test(no_bend_narrows_an_interval),
        cmocka_unit_test(no_source_left_out_widens),
        cmocka_unit_test(a_scale_left_unknown_shows_on_a_streak),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
