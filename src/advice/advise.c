// SPDX-License-Identifier: GPL-3.0-or-later
/* 0. Blur, be it of a lens or of few pixels, takes from a dark line what no interval can hold: it
 *    is said first, without a number.
 * 1. For each source of error: how much narrower the intervals are without it, by kind of number.
 * 2. What removes that source: the same light that is not known may come from a shadow, from one
 *    lamp, from white that is clipped or from ink that covers the whole width; what the photo and
 *    its warnings say of itself decides. A source that nobody can remove gives no advice.
 * 3. What would be noticed, greatest gain first. */
#include "strandline/advice.h"

#include <math.h>
#include <string.h>

/* Least part of the intervals that must go. */
static const double GAIN_LEAST = 0.1;
/* Least narrowing of the half width: half an hRf, as hRf is given in whole numbers; of shares two
 * percent, the lowest of the verdict's levels. */
static const double NARROWING_LEAST[SL_NUMBER_KINDS] = {
    [SL_NUMBER_RF] = 0.005,
    [SL_NUMBER_SHARE] = 0.02,
    [SL_NUMBER_RETAINED] = 0.02,
    [SL_NUMBER_BOUND] = 0.02,
};
/* Brightest to darkest paper along the strip from which on light counts as uneven, and the same
 * within a tenth of the length for a shadow's edge: a lamp at one side of the table makes no such
 * step. */
static const double UNEVEN_RATIO = 1.1, SHADOW_STEP = 1.12;
/* A strip that takes less of the photo's longer side than this can be had larger. */
static const double FILLS_FRAME = 0.6;
/* Lens and JPEG blur over about two pixels: of a dark line narrower than this (as it is seen) K/S
 * of the mean falls well short of the mean of K/S. */
static const double LINE_CLEAR_PX = 7;

static double width(const double interval[2])
{
    double w = interval[1] - interval[0];
    return isfinite(w) ? w : 0;
}

/* What is left of the front's error where it is marked in pencil, in fractions of the length: a
 * pencil tick's own (strip/marks_tick.c). */
static const double PENCIL_SIGMA = 0.003, Z_95 = 1.959964;

/* Sums the intervals of one kind and keeps the number that narrows most. */
struct tally {
    double now, then, most;
    struct sl_advice_effect effect;
};

static void count(struct tally *tally, size_t band, const double now[2], const double then[2])
{
    double narrowing = width(now) - width(then);
    tally->now += width(now);
    tally->then += width(then);
    if (narrowing <= tally->most)
        return;
    tally->most = narrowing;
    tally->effect.band = band;
    memcpy(tally->effect.now, now, sizeof tally->effect.now);
    memcpy(tally->effect.then, then, sizeof tally->effect.then);
}

/* The interval of an Rf without the source. */
static void rf_then(const struct sl_bands *bands, const struct sl_marks *marks,
                    enum sl_source source, size_t k, double ret[2])
{
    const struct sl_band *band = &bands->item[k];
    double pencil = Z_95 * PENCIL_SIGMA * band->rf / (marks->front - marks->origin);
    for (int i = 0; i < 2; i++) {
        double end = bands->without[source].rf_interval[k][i], now = band->rf_interval[i];
        double off = hypot(end - band->rf, source == SL_SOURCE_FRONT ? pencil : 0);
        ret[i] = band->rf + (i ? fmin(off, now - band->rf) : -fmin(off, band->rf - now));
    }
}

static struct sl_advice_effect effect_of(const struct sl_bands *bands, const struct sl_marks *marks,
                                         enum sl_source source, enum sl_number_kind kind)
{
    const struct sl_bands_without *without = &bands->without[source];
    struct tally tally = {0};
    for (size_t k = 0; k < bands->count; k++) {
        const struct sl_band *band = &bands->item[k];
        double then[2];
        rf_then(bands, marks, source, k, then);
        if (kind == SL_NUMBER_RF && !band->retained)
            count(&tally, k, band->rf_interval, then);
        if (kind == SL_NUMBER_SHARE)
            count(&tally, k, band->share_interval, without->share_interval[k]);
    }
    if (kind == SL_NUMBER_RETAINED)
        count(&tally, 0, bands->retained_interval, without->retained_interval);
    if (kind == SL_NUMBER_BOUND)
        count(&tally, 0, bands->bound_interval, without->bound_interval);
    double gain = tally.now > 0 ? 1 - tally.then / tally.now : 0;
    if (gain < GAIN_LEAST || tally.most < 2 * NARROWING_LEAST[kind])
        return (struct sl_advice_effect){0};
    tally.effect.gain = gain;
    return tally.effect;
}

struct scene {
    const struct sl_marks *marks;
    const struct sl_warnings *photo, *strip;
    double length_mm, length_px, fills; /* `fills`: of the photo's longer side */
};

/* Even light leaves a doubt under the dye too, which nobody can remove. */
static bool light_cause(const struct scene *s, enum sl_cause *ret)
{
    if (sl_warned(s->strip, SL_W_CLIPPED))
        *ret = SL_CAUSE_CLIPPED;
    else if (sl_warned(s->strip, SL_W_NO_CLEAN_PAPER))
        *ret = SL_CAUSE_CLEAN_PAPER;
    else if (s->marks->light_step > SHADOW_STEP)
        *ret = SL_CAUSE_SHADOW;
    else
        *ret = SL_CAUSE_BOTH_SIDES;
    return *ret != SL_CAUSE_BOTH_SIDES || s->marks->light_ratio > UNEVEN_RATIO;
}

/* What removes the source; false where nothing does. */
static bool cause_of(enum sl_source source, const struct scene *s, enum sl_cause *ret)
{
    switch (source) {
    case SL_SOURCE_NOISE:
        *ret = SL_CAUSE_DARK; /* the paper's own grain stays, however near one goes */
        return sl_warned(s->photo, SL_W_DARK);
    case SL_SOURCE_LIGHT:
        return light_cause(s, ret);
    case SL_SOURCE_ORIGIN:
        *ret = SL_CAUSE_ORIGIN;
        return !s->marks->given_origin;
    case SL_SOURCE_FRONT:
        *ret = SL_CAUSE_FRONT;
        return !s->marks->given_front && s->marks->front_seen != SL_FRONT_PENCIL;
    case SL_SOURCE_SCALE:
        *ret = SL_CAUSE_LENGTH;
        return !isfinite(s->length_mm);
    case SL_SOURCE_PAPER:
        *ret = SL_CAUSE_PAPER;
        return true;
    case SL_SOURCE_COUNT:
        break;
    }
    return false;
}

static double distance(struct sl_point a, struct sl_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

/* What takes more from a number than its interval tells of, and so comes first. */
static bool blurred(const struct scene *s, enum sl_cause *ret)
{
    bool blurry = sl_warned(s->photo, SL_W_BLURRED);
    bool narrow = s->marks->line_width * s->length_px < LINE_CLEAR_PX && s->fills < FILLS_FRAME;
    *ret = blurry ? SL_CAUSE_BLUR : SL_CAUSE_CLOSER;
    return blurry || narrow;
}

/* In order of gain; a cause that is there already keeps its greater gain; the least falls out. */
static void insert(struct sl_advice_list *list, const struct sl_advice *advice)
{
    size_t at = 0;
    for (size_t i = 0; i < list->count; i++)
        if (list->item[i].cause == advice->cause) {
            if (list->item[i].gain >= advice->gain)
                return;
            memmove(&list->item[i], &list->item[i + 1], (list->count - i - 1) * sizeof *list->item);
            list->count--;
            break;
        }
    while (at < list->count && list->item[at].gain >= advice->gain)
        at++;
    if (at == SL_ADVICE_MAX)
        return;
    size_t kept = list->count < SL_ADVICE_MAX ? list->count : SL_ADVICE_MAX - 1;
    memmove(&list->item[at + 1], &list->item[at], (kept - at) * sizeof *list->item);
    list->item[at] = *advice;
    list->count = kept + 1;
}

void sl_advise(const struct sl_photo_info *photo, const struct sl_outline *outline,
               const struct sl_marks *marks, double length_mm, const struct sl_bands *bands,
               const struct sl_warnings *photo_warnings, const struct sl_warnings *strip_warnings,
               struct sl_advice_list *ret)
{
    struct sl_advice_list list = {0};
    const struct sl_point *c = outline->corner_px;
    struct scene scene = {marks, photo_warnings, strip_warnings, .length_mm = length_mm};
    scene.length_px = 0.5 * (distance(c[0], c[3]) + distance(c[1], c[2]));
    scene.fills = scene.length_px / fmax(photo->width_px, photo->height_px);
    struct sl_advice untold = {.gain = INFINITY};
    if (bands->has_without && blurred(&scene, &untold.cause))
        insert(&list, &untold);
    for (int i = 0; bands->has_without && i < SL_SOURCE_COUNT; i++) {
        enum sl_source source = (enum sl_source)i;
        struct sl_advice advice = {.gain = 0};
        for (int kind = 0; kind < SL_NUMBER_KINDS; kind++) {
            advice.effect[kind] = effect_of(bands, marks, source, (enum sl_number_kind)kind);
            advice.gain = fmax(advice.gain, advice.effect[kind].gain);
        }
        if (advice.gain > 0 && cause_of(source, &scene, &advice.cause))
            insert(&list, &advice);
    }
    *ret = list;
}
