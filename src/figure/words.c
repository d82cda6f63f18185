// SPDX-License-Identifier: GPL-3.0-or-later
#define _XOPEN_SOURCE 700 /* uselocale */

#include "figure/words.h"

#include <locale.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct words_locale words_locale_begin(void)
{
    locale_t made = newlocale(LC_NUMERIC_MASK, "C", duplocale(uselocale((locale_t)0)));
    return (struct words_locale){.made = made, .before = made ? uselocale(made) : NULL};
}

void words_locale_end(struct words_locale locale)
{
    if (!locale.made)
        return;
    uselocale(locale.before);
    freelocale(locale.made);
}

static void append(char *text, size_t size, const char *format, ...) SL_PRINTF(3, 4);

static void append(char *text, size_t size, const char *format, ...)
{
    size_t used = strlen(text);
    va_list args;
    va_start(args, format);
    vsnprintf(text + used, size - used, format, args);
    va_end(args);
}

static bool known(const double interval[2])
{
    return interval && isfinite(interval[0]) && isfinite(interval[1]) && interval[1] > interval[0];
}

/* With a true minus sign: a hyphen beside the interval's dash can't be told from it. */
static void append_rf(char *text, size_t size, double rf)
{
    append(text, size, "%s%.3f", rf <= -0.0005 ? "−" : "", fabs(rf));
}

void words_rf(double rf, const double interval[2], char *ret, size_t size)
{
    *ret = '\0';
    if (!isfinite(rf))
        append(ret, size, "–");
    else
        append_rf(ret, size, rf);
    if (!isfinite(rf) || !known(interval))
        return;
    append(ret, size, " (");
    append_rf(ret, size, interval[0]);
    append(ret, size, "–");
    append_rf(ret, size, interval[1]);
    append(ret, size, ")");
}

/* Whole percents, tenths where these would say too little. */
static int percent_decimals(double share)
{
    return share < 0.0995 ? 1 : 0;
}

void words_share(double share, const double interval[2], char *ret, size_t size)
{
    *ret = '\0';
    if (!isfinite(share)) {
        append(ret, size, "–");
        return;
    }
    int decimals = percent_decimals(share);
    append(ret, size, "%.*f\u00a0%%", decimals, 100 * share);
    if (known(interval))
        append(ret, size, " (%.*f–%.*f)", decimals, 100 * interval[0], decimals, 100 * interval[1]);
}

static double turned(double deg)
{
    double hue = fmod(round(deg), 360);
    return hue < 0 ? hue + 360 : hue;
}

void words_hue(double deg, const double interval[2], char *ret, size_t size)
{
    *ret = '\0';
    if (!isfinite(deg)) {
        append(ret, size, "–");
        return;
    }
    append(ret, size, "%.0f°", turned(deg));
    if (known(interval))
        append(ret, size, " (%.0f–%.0f)", turned(interval[0]), turned(interval[1]));
}

void words_index(double index, const double interval[2], char *ret, size_t size)
{
    *ret = '\0';
    if (!isfinite(index)) {
        append(ret, size, "–");
        return;
    }
    int decimals = percent_decimals(index / 100);
    append(ret, size, "%.*f", decimals, index);
    if (known(interval))
        append(ret, size, " (%.*f–%.*f)", decimals, interval[0], decimals, interval[1]);
}

const char *words_treatment(enum sl_role role)
{
    return role == SL_ROLE_SINGLE ? "run alike" : words_role(role);
}

const char *words_role(enum sl_role role)
{
    switch (role) {
    case SL_ROLE_IMMEDIATE:
        return "dipped at once";
    case SL_ROLE_DRIED:
        return "dried first";
    case SL_ROLE_SINGLE:
        break;
    }
    return "single strip";
}

const char *words_file(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

void words_strip_name(const struct sl_reading *reading, size_t strip, char *ret, size_t size)
{
    const char *own = reading->strip[strip].ink;
    const char *ink = *own ? own : reading->conditions.ink, *file = words_file(reading->photo.file);
    *ret = '\0';
    if (*ink)
        append(ret, size, "%s", ink);
    else if (*file && reading->strip_count == 1)
        append(ret, size, "%s", file);
    else
        append(ret, size, "%s%sstrip %zu", file, *file ? ", " : "", strip + 1);
}

const char *words_pair_name(const struct sl_document *document, const struct sl_pair *pair)
{
    const char *file = words_file(document->reading[pair->dried.photo]->photo.file);
    return *pair->ink ? pair->ink : *file ? file : "A pair";
}

static void add_condition(char *ret, size_t size, const char *text)
{
    if (*text)
        append(ret, size, "%s%s", *ret ? " · " : "", text);
}

void words_conditions(const struct sl_conditions *conditions, enum sl_role role, char *ret,
                      size_t size)
{
    char number[64];
    *ret = '\0';
    if (role != SL_ROLE_SINGLE)
        add_condition(ret, size, words_role(role));
    add_condition(ret, size, conditions->solvent);
    if (isfinite(conditions->dip_s)) {
        snprintf(number, sizeof number, "%g s dip", conditions->dip_s);
        add_condition(ret, size, number);
    }
    if (isfinite(conditions->dried_min) && role != SL_ROLE_IMMEDIATE) {
        snprintf(number, sizeof number, "%g min dried", conditions->dried_min);
        add_condition(ret, size, number);
    }
    add_condition(ret, size, conditions->paper);
    snprintf(number, sizeof number, "%.10s", conditions->date);
    add_condition(ret, size, number);
}

void words_load_axis(double factor, const char *more, char *ret, size_t size)
{
    *ret = '\0';
    append(ret, size, "dye load (K/S, red + green + blue)%s", more);
    if (factor > 0)
        append(ret, size, "; dashed: × %.0f", factor);
}

const char *words_front_doubt(const struct sl_strip *strip)
{
    if (strip->marks.front_seen != SL_FRONT_NOT_SEEN)
        return "";
    return "The water's front was not seen: Rf values may be off by as much as their intervals "
           "say.";
}

void words_retained(const struct sl_strip *strip, char *ret, size_t size)
{
    char text[96];
    *ret = '\0';
    if (strip->marks.blank || !isfinite(strip->bands.retained_share))
        return;
    words_share(strip->bands.retained_share, strip->bands.retained_interval, text, sizeof text);
    append(ret, size, "Retained at the origin: %s of the dye", text);
    if (isfinite(strip->bands.bound_share)) {
        words_share(strip->bands.bound_share, strip->bands.bound_interval, text, sizeof text);
        append(ret, size, "; bound, not moving at all: %s", text);
    } else if (strip->bands.bound_open) {
        append(ret, size, "; what of it is bound is being worked out");
    }
    append(ret, size, ".");
}

static void add_bands(const struct sl_bands *bands, char *ret, size_t size)
{
    char rf[64], share[64];
    append(ret, size, "%zu band%s: ", bands->count, bands->count == 1 ? "" : "s");
    for (size_t i = 0; i < bands->count; i++) {
        const struct sl_band *band = &bands->item[i];
        words_rf(band->rf, band->rf_interval, rf, sizeof rf);
        words_share(band->share, band->share_interval, share, sizeof share);
        append(ret, size, "%s%s at Rf %s with %s of the load%s", i ? "; " : "",
               band->hue_name ? band->hue_name : "a colour", rf, share,
               band->retained ? ", retained" : "");
    }
    append(ret, size, ". ");
}

static void add_reaches(const struct sl_bands *bands, char *ret, size_t size)
{
    for (size_t i = 0; i < bands->reach_count; i++)
        append(ret, size, "%s%s from Rf %.2f to %.2f", i ? ", " : "How far the colours reach: ",
               bands->reach[i].hue_name ? bands->reach[i].hue_name : "a colour",
               bands->reach[i].first_rf, bands->reach[i].last_rf);
    if (bands->reach_count)
        append(ret, size, ". ");
}

void words_strip(const struct sl_strip *strip, char *ret, size_t size)
{
    char retained[256];
    *ret = '\0';
    if (strip->marks.blank) {
        append(ret, size, "No ink was found on this strip.");
        return;
    }
    if (strip->marks.origin_outside) {
        append(ret, size, "The ink line may lie outside the photo: no bands are given.");
        return;
    }
    if (strip->bands.count)
        add_bands(&strip->bands, ret, size);
    else
        append(ret, size, "No band of its own. ");
    if (strip->bands.smeared || !strip->bands.count)
        add_reaches(&strip->bands, ret, size);
    words_retained(strip, retained, sizeof retained);
    append(ret, size, "%s", retained);
    if (*words_front_doubt(strip))
        append(ret, size, " %s", words_front_doubt(strip));
}

/* Where the interval lies on one side of the limit that matters, the level is two of four. */
static const char *undecided_words(const double interval[2])
{
    if (interval[0] >= SL_BOUND_LIMIT)
        return "Partial or strong retention";
    if (interval[1] < SL_BOUND_LIMIT)
        return "No or a trace of retention";
    return "Undecided";
}

const char *words_level(const struct sl_pair *pair)
{
    switch (pair->level) {
    case SL_LEVEL_NONE:
        return "No retention";
    case SL_LEVEL_TRACE:
        return "A trace of retention";
    case SL_LEVEL_PARTIAL:
        return "Partial retention";
    case SL_LEVEL_STRONG:
        return "Strong retention";
    case SL_LEVEL_UNDECIDED:
        break;
    }
    return undecided_words(pair->dried_bound_interval);
}

const char *words_water(const struct sl_pair *pair)
{
    if (!pair->decided)
        return "The photo does not decide whether a component is water-resistant.";
    if (pair->water_resistant)
        return "A component is likely to be water-resistant.";
    return "No component is likely to be water-resistant.";
}

const char *words_hold(const struct sl_pair *pair)
{
    switch (pair->hold) {
    case SL_HOLD_AT_ONCE:
        return "It holds at once.";
    case SL_HOLD_AS_IT_DRIES:
        /* "only" where the strip dipped at once surely held too little to count */
        return pair->immediate_bound_interval[1] < SL_BOUND_LIMIT ? "It sets only as it dries."
                                                                  : "It holds more once dry.";
    case SL_HOLD_NOTHING:
    case SL_HOLD_UNCLEAR:
        break;
    }
    return "";
}

void words_pair(const struct sl_pair *pair, char *ret, size_t size)
{
    char index[64], at_once[64], dried[64];
    *ret = '\0';
    words_index(pair->index, pair->index_interval, index, sizeof index);
    words_share(pair->immediate_bound_share, pair->immediate_bound_interval, at_once,
                sizeof at_once);
    words_share(pair->dried_bound_share, pair->dried_bound_interval, dried, sizeof dried);
    append(ret, size,
           "%s, retention index %s. %s %s Bound share when dipped at once: %s; when dried "
           "first: %s. ",
           words_level(pair), index, words_water(pair), words_hold(pair), at_once, dried);
    append(ret, size, "%s", sl_retention_caution());
}
