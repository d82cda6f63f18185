// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdict in sentences that a reader of an ink review understands, most important first:
 *
 * 1. how much lay at the line of the dried strip when it was taken out, and what that means;
 * 2. which colour that has;
 * 3. whether it holds at once or sets as it dries;
 * 4. what the water carried away;
 * 5. what is known against these numbers.
 * In place of a verdict: what prevents it, and what to do. */
#include "retention_internal.h"

#include <glib.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Below it a band is not worth a sentence (no source). */
static const double SHARE_WORTH_NAMING = 0.05;
/* Written with one decimal of a percent. */
static const double SPREAD_WORTH_NAMING = 0.0005;

enum { SHARE_BYTES = 64, LIST_BYTES = 160 };

const char *sl_retention_caution(void)
{
    return "This is an indicator from one short dip of filter paper in water. It says what the "
           "water moved there and then; it is no claim of permanence: no immersion for hours, no "
           "bleach, alcohol or light was tested, and writing paper may hold dye differently.";
}

static void say(struct sl_pair *pair, const char *format, ...) SL_PRINTF(2, 3);

static void say(struct sl_pair *pair, const char *format, ...)
{
    if (pair->reason_count == SL_REASONS_MAX)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(pair->reason[pair->reason_count++], SL_REASON_BYTES, format, args);
    va_end(args);
}

/* Percents with a dot in every locale. */
static const char *percent(double share, int decimals, char buffer[G_ASCII_DTOSTR_BUF_SIZE])
{
    double value = fmin(fmax(100 * share, 0), 100);
    return g_ascii_formatd(buffer, G_ASCII_DTOSTR_BUF_SIZE, decimals ? "%.1f" : "%.0f", value);
}

/* "12 % (9 to 15 %)"; one decimal where whole percents would hide the interval. */
static const char *share_text(double share, const double interval[2], char text[SHARE_BYTES])
{
    char value[G_ASCII_DTOSTR_BUF_SIZE], low[G_ASCII_DTOSTR_BUF_SIZE],
        high[G_ASCII_DTOSTR_BUF_SIZE];
    bool has_interval = isfinite(interval[0]) && isfinite(interval[1]);
    int decimals = (has_interval ? interval[1] : share) < 0.0995;
    if (has_interval)
        snprintf(text, SHARE_BYTES, "%s %% (%s to %s %%)", percent(share, decimals, value),
                 percent(interval[0], decimals, low), percent(interval[1], decimals, high));
    else
        snprintf(text, SHARE_BYTES, "%s %%", percent(share, decimals, value));
    return text;
}

static void explain_answer(struct sl_pair *pair)
{
    char share[SHARE_BYTES];
    share_text(pair->dried_retained_share, pair->dried_retained_interval, share);
    switch (pair->answer) {
    case SL_ANSWER_NONE:
        return;
    case SL_ANSWER_WASHES_AWAY:
        say(pair,
            "Only %s of the dye lay at the ink line of the dried strip when it was taken out; from "
            "%.0f %% on an ink counts as holding.",
            share, 100 * SL_RETAINED_LIMIT);
        return;
    case SL_ANSWER_OPEN:
        say(pair,
            "%s of the dye lay at the ink line of the dried strip when it was taken out; from "
            "%.0f %% on an ink counts as holding, so that can't be told here. Repeat the test.",
            share, 100 * SL_RETAINED_LIMIT);
        return;
    case SL_ANSWER_PARTLY_STAYS:
        say(pair,
            "%s of the dye lay at the ink line of the dried strip when it was taken out; from "
            "%.0f %% on an ink counts as holding in part.",
            share, 100 * SL_RETAINED_LIMIT);
        return;
    case SL_ANSWER_STAYS:
        say(pair,
            "%s of the dye lay at the ink line of the dried strip when it was taken out; from "
            "%.0f %% on that counts as strong.",
            share, 100 * SL_STRONG_LIMIT);
    }
}

/* Of an ink that washes away on both strips nobody asks. */
static bool drying_matters(const struct sl_pair *pair)
{
    return isfinite(pair->drying_probability) &&
           (pair->answer != SL_ANSWER_WASHES_AWAY ||
            pair->immediate_retained_share >= SL_RETAINED_LIMIT);
}

static void explain_drying(struct sl_pair *pair)
{
    char share[SHARE_BYTES];
    double more = pair->drying_probability;
    if (!drying_matters(pair))
        return;
    share_text(pair->immediate_retained_share, pair->immediate_retained_interval, share);
    if (pair->drying_interval[1] <= -SL_TRACE_LIMIT)
        say(pair,
            "The strip dipped at once retained more, %s, than the dried one. That is unusual: "
            "check that the two are not swapped.",
            share);
    else if (more >= SL_LIKELY)
        say(pair, "It is %s to hold more once dry: the strip dipped while wet retained %s.",
            sl_likelihood_words(more), share);
    else if (more < SL_UNLIKELY)
        say(pair,
            "It is %s to hold as much at once as once dry: the strip dipped while wet retained %s.",
            sl_likelihood_words(1 - more), share);
    else
        say(pair,
            "Whether it holds at once or sets as it dries can't be told: the strip dipped while "
            "wet retained %s.",
            share);
}

static void list_add(char list[LIST_BYTES], const char *name, const char *how, double rf)
{
    size_t used = strlen(list);
    if (!name || !*name || isnan(rf))
        return;
    snprintf(list + used, LIST_BYTES - used, "%s%s (%shRf %ld)", used ? ", " : "", name, how,
             lround(sl_hrf(rf)));
}

static void explain_moved(const struct sl_strip *dried, struct sl_pair *pair)
{
    char list[LIST_BYTES] = "";
    const struct sl_bands *bands = &dried->bands;
    if (bands->smeared) {
        double run = dried->marks.front - dried->marks.origin;
        for (size_t i = 0; i < bands->reach_count && i < 4; i++)
            if (bands->reach[i].last_rf * run > sl_strip_retained_reach(dried))
                list_add(list, bands->reach[i].hue_name, "up to ", bands->reach[i].last_rf);
        if (*list)
            say(pair, "The water drew dye into a streak: %s.", list);
        return;
    }
    for (size_t i = 0; i < bands->count; i++)
        if (!bands->item[i].retained && bands->item[i].share >= SHARE_WORTH_NAMING)
            list_add(list, bands->item[i].hue_name, "", bands->item[i].rf);
    if (*list)
        say(pair, "The water carried away: %s.", list);
}

static void explain_doubts(const struct sl_side *immediate, const struct sl_side *dried,
                           struct sl_pair *pair)
{
    if (sl_warned(&dried->strip->warnings, SL_W_SATURATED))
        say(pair,
            "The line on the dried strip is too dark for the photo to tell shades apart; more "
            "may be retained than is counted.");
    if (immediate->strip->marks.front_seen == SL_FRONT_NOT_SEEN ||
        dried->strip->marks.front_seen == SL_FRONT_NOT_SEEN)
        say(pair,
            "How high the water rose can't be seen, so positions (hRf) are rough; the verdict "
            "does not rest on them.");
}

/* The doubt that is in the probabilities and not in the interval. */
static void explain_ends(const struct sl_strip *dried, struct sl_pair *pair)
{
    if (sl_warned(&dried->warnings, SL_W_ORIENTATION))
        say(pair, "Which end of the dried strip was in the water is not sure; how sure the verdict "
                  "is allows for that.");
}

static void explain_colour(struct sl_pair *pair)
{
    if (*pair->retained_hue_name)
        say(pair, "What is retained is %s.", pair->retained_hue_name);
}

static const char *blank_strips(const struct sl_side *immediate, const struct sl_side *dried)
{
    if (!sl_strip_is_blank(dried->strip))
        return "the strip dipped at once";
    return sl_strip_is_blank(immediate->strip) ? "either strip" : "the strip dried first";
}

/* Fills in why there is no verdict. */
static void explain_unjudged(const struct sl_side *immediate, const struct sl_side *dried,
                             struct sl_pair *pair)
{
    switch (pair->unjudged) {
    case SL_JUDGED:
        return;
    case SL_UNJUDGED_BLANK:
        say(pair,
            "No ink was found on %s. Check that the ink line is in the photo, and that the strip "
            "is the right one.",
            blank_strips(immediate, dried));
        return;
    case SL_UNJUDGED_ORIGIN:
        say(pair, "The ink line of the dried strip may lie outside the photo, and the verdict "
                  "rests on what lies there. Take a photo of the whole strip.");
        return;
    case SL_UNJUDGED_CLIMB:
        say(pair, "The water hardly rose above the ink line of the dried strip, so even dye that "
                  "runs still lies there. Dip again and let the water climb at least 2 cm above "
                  "the line.");
        return;
    case SL_UNJUDGED_TWO_INKS:
        say(pair, "The dyes of the two strips, taken together, are of two colours, so they may be "
                  "of two inks. If they are of one, tell its name for both.");
    }
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

void sl_combined_explain(struct sl_combined *combined, double dried_spread)
{
    char spread[G_ASCII_DTOSTR_BUF_SIZE];
    struct sl_pair *pair = &combined->pair;
    if (pair->unjudged == SL_UNJUDGED_ORIGIN)
        say(pair,
            "What is retained on the dried strips could not be measured, and the verdict rests "
            "on it. Take photos of the whole strips.");
    if (pair->unjudged == SL_UNJUDGED_CLIMB)
        say(pair, "On a dried strip the water hardly rose above the ink line, so even dye that "
                  "runs still lies there. Leave that strip out, or repeat it.");
    explain_answer(pair);
    explain_colour(pair);
    explain_drying(pair);
    say(pair, "This is the mean of %zu strip%s dipped at once and %zu dried first.",
        combined->immediate_count, plural(combined->immediate_count), combined->dried_count);
    if (dried_spread >= SPREAD_WORTH_NAMING)
        say(pair,
            "Beyond what the photos leave open, the retained share of the dried strips varies by "
            "%s %% (standard deviation).",
            percent(dried_spread, dried_spread < 0.0995, spread));
    else if (dried_spread < SPREAD_WORTH_NAMING)
        say(pair, "The dried strips differ by no more than the photos leave open.");
}

void sl_pair_explain(const struct sl_side *immediate, const struct sl_side *dried,
                     struct sl_pair *pair)
{
    explain_unjudged(immediate, dried, pair);
    if (pair->unjudged != SL_JUDGED)
        return;
    explain_answer(pair);
    explain_ends(dried->strip, pair);
    explain_colour(pair);
    explain_drying(pair);
    explain_moved(dried->strip, pair);
    explain_doubts(immediate, dried, pair);
}
