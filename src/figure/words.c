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

void words_likely(double probability, char *ret, size_t size)
{
    *ret = '\0';
    if (!isfinite(probability))
        return;
    append(ret, size, "%s (", sl_likelihood_words(probability));
    /* cut, not rounded: the number never says more than the words */
    double percent = floor(100 * probability + 1e-9);
    if (probability >= 0.995)
        append(ret, size, "more than 99\u00a0%%)");
    else if (percent < 1)
        append(ret, size, "less than 1\u00a0%%)");
    else
        append(ret, size, "%.0f\u00a0%%)", percent);
}

static const char *unjudged_words(enum sl_unjudged why)
{
    switch (why) {
    case SL_UNJUDGED_BLANK:
        return "No ink found";
    case SL_UNJUDGED_ORIGIN:
        return "Is the ink line in the photo?";
    case SL_UNJUDGED_CLIMB:
        return "The water hardly climbed";
    case SL_UNJUDGED_TWO_INKS:
        return "Two different inks?";
    case SL_JUDGED:
        break;
    }
    return "";
}

/* "4 to 12 %" of an interval of shares. */
static void append_range(char *text, size_t size, const double interval[2])
{
    double low = fmax(100 * interval[0], 0), high = 100 * interval[1];
    int decimals = lround(low) == lround(high);
    append(text, size, "%.*f to %.*f\u00a0%%", decimals, low, decimals, high);
}

void words_answer(const struct sl_pair *pair, char *ret, size_t size)
{
    *ret = '\0';
    switch (pair->answer) {
    case SL_ANSWER_NONE:
        append(ret, size, "%s", unjudged_words(pair->unjudged));
        return;
    case SL_ANSWER_WASHES_AWAY:
        append(ret, size, "Washes away");
        return;
    case SL_ANSWER_OPEN:
        append_range(ret, size, pair->dried_retained_interval);
        append(ret, size, " stays");
        return;
    case SL_ANSWER_PARTLY_STAYS:
        append(ret, size, "Partly stays");
        return;
    case SL_ANSWER_STAYS:
        append(ret, size, "Stays in this dip");
    }
}

/* With a capital. */
static void append_likely(char *ret, size_t size, double probability)
{
    size_t start = strlen(ret);
    words_likely(probability, ret + start, size - start);
    if (ret[start] >= 'a' && ret[start] <= 'z')
        ret[start] = (char)(ret[start] - 'a' + 'A');
}

void words_sure(const struct sl_pair *pair, char *ret, size_t size)
{
    bool below = pair->answer == SL_ANSWER_WASHES_AWAY;
    double limit = pair->answer == SL_ANSWER_STAYS ? SL_STRONG_LIMIT : SL_RETAINED_LIMIT;
    *ret = '\0';
    if (pair->answer == SL_ANSWER_NONE)
        return;
    if (pair->answer == SL_ANSWER_OPEN)
        append(ret, size, "Nobody can tell from this if that is enough. ");
    append_likely(ret, size, pair->answer_probability);
    append(ret, size, ": %s %.0f\u00a0%% of the dye was still at the ink line.",
           below ? "less than" : "at least", 100 * limit);
}

void words_level(const struct sl_pair *pair, char *ret, size_t size)
{
    char index[64], likely[64];
    double probability = pair->level_probability[pair->level];
    *ret = '\0';
    if (pair->answer == SL_ANSWER_NONE)
        return;
    words_index(pair->index, pair->index_interval, index, sizeof index);
    words_likely(probability, likely, sizeof likely);
    append(ret, size, "Retention index %s: ", index);
    if (pair->answer == SL_ANSWER_STAYS) /* there the answer has told it */
        append(ret, size, "level %s.", sl_level_name(pair->level));
    else if (probability >= SL_LIKELY)
        append(ret, size, "level %s, %s.", sl_level_name(pair->level), likely);
    else
        append(ret, size, "between levels, %s the likeliest (%.0f\u00a0%%).",
               sl_level_name(pair->level), 100 * probability);
}

void words_drying(const struct sl_pair *pair, char *ret, size_t size)
{
    double more = pair->drying_probability;
    bool holds = pair->answer == SL_ANSWER_STAYS || pair->answer == SL_ANSWER_PARTLY_STAYS;
    *ret = '\0';
    if (!holds || (more >= SL_UNLIKELY && more < SL_LIKELY) || !isfinite(more))
        return;
    append_likely(ret, size, fmax(more, 1 - more));
    append(ret, size, more >= SL_LIKELY ? ": holds more once dry." : ": holds as much at once.");
}

void words_soak(const struct sl_pair *pair, char *ret, size_t size)
{
    char bound[96], likely[64];
    double leaves = pair->soak_probability, limit = 100 * SL_RETAINED_LIMIT;
    *ret = '\0';
    if (!isfinite(leaves) || pair->answer == SL_ANSWER_WASHES_AWAY)
        return;
    words_share(pair->dried_bound_share, pair->dried_bound_interval, bound, sizeof bound);
    words_likely(leaves < SL_UNLIKELY ? 1 - leaves : leaves, likely, sizeof likely);
    append(ret, size, "Would a longer soak take it? ");
    if (leaves >= SL_LIKELY)
        append(ret, size, "It is %s that at least %.0f\u00a0%% would remain", likely, limit);
    else if (leaves < SL_UNLIKELY)
        append(ret, size, "It is %s that less than %.0f\u00a0%% would remain", likely, limit);
    else
        append(ret, size,
               "Nobody can tell from one dip: that at least %.0f\u00a0%% would remain is %s", limit,
               likely);
    append(ret, size,
           ". Inferred, not seen: %s of the dye is bound. Another dried strip, left "
           "in water for an hour, would settle it.",
           bound);
}

static void append_sentence(char *ret, size_t size,
                            void (*words)(const struct sl_pair *, char *, size_t),
                            const struct sl_pair *pair)
{
    char text[WORDS_BYTES];
    words(pair, text, sizeof text);
    if (*text)
        append(ret, size, "%s ", text);
}

void words_pair(const struct sl_pair *pair, char *ret, size_t size)
{
    char share[96];
    words_answer(pair, ret, size);
    append(ret, size, ". ");
    append_sentence(ret, size, words_sure, pair);
    append_sentence(ret, size, words_level, pair);
    append_sentence(ret, size, words_drying, pair);
    words_share(pair->immediate_retained_share, pair->immediate_retained_interval, share,
                sizeof share);
    append(ret, size, "Retained share when dipped at once: %s", share);
    words_share(pair->dried_retained_share, pair->dried_retained_interval, share, sizeof share);
    append(ret, size, "; when dried first: %s. ", share);
    append_sentence(ret, size, words_soak, pair);
    append(ret, size, "%s", sl_retention_caution());
}

double words_scale_place(double index)
{
    static const double limits[SL_LEVELS + 1] = {0, 100 * SL_TRACE_LIMIT, 100 * SL_RETAINED_LIMIT,
                                                 100 * SL_STRONG_LIMIT, 100};
    int level = 0;
    while (level + 1 < SL_LEVELS && index >= limits[level + 1])
        level++;
    double inside = (index - limits[level]) / (limits[level + 1] - limits[level]);
    return (level + fmin(fmax(inside, 0), 1)) / SL_LEVELS;
}
