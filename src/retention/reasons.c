// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdict in sentences that a reader of an ink review understands, most important first:
 *
 * 1. how much stayed on the dried strip, and what that means;
 * 2. which colour stayed;
 * 3. whether it holds at once or sets as it dries;
 * 4. what lies near the line but had begun to move, and what the water carried away;
 * 5. what is known against these numbers. */
#include "retention_internal.h"

#include <glib.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Below it a band or a tail is not worth a sentence. */
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

static void explain_undecided(struct sl_pair *pair, const char *share)
{
    const double *interval = pair->dried_bound_interval;
    if (!isfinite(interval[0]) || !isfinite(interval[1]))
        say(pair,
            "About %s of the dye stayed at the ink line of the dried strip, but how sure that "
            "is can't be told.",
            share);
    else if (interval[0] >= SL_BOUND_LIMIT)
        say(pair,
            "%s of the dye stayed at the ink line of the dried strip: likely water-resistant; "
            "whether in part or strongly lies within the uncertainty.",
            share);
    else if (interval[1] < SL_BOUND_LIMIT)
        say(pair,
            "%s of the dye stayed at the ink line of the dried strip: a trace or nothing, in "
            "any case too little to count as water-resistant.",
            share);
    else
        say(pair,
            "%s of the dye stayed at the ink line of the dried strip; from %.0f %% on a dye "
            "counts as water-resistant, so that can't be decided here. Repeat the test.",
            share, 100 * SL_BOUND_LIMIT);
}

static void explain_level(struct sl_pair *pair)
{
    char share[SHARE_BYTES];
    share_text(pair->dried_bound_share, pair->dried_bound_interval, share);
    switch (pair->level) {
    case SL_LEVEL_NONE:
        say(pair,
            "Next to nothing stayed at the ink line of the dried strip, %s of the dye: water "
            "takes this ink away.",
            share);
        return;
    case SL_LEVEL_TRACE:
        say(pair,
            "Only a trace stayed at the ink line of the dried strip, %s of the dye: too "
            "little to count as water-resistant.",
            share);
        return;
    case SL_LEVEL_PARTIAL:
        say(pair,
            "%s of the dye stayed at the ink line of the dried strip: a part of this ink is "
            "likely water-resistant.",
            share);
        return;
    case SL_LEVEL_STRONG:
        say(pair,
            "%s of the dye stayed at the ink line of the dried strip: a large part of it held in "
            "this dip, likely water-resistant on this paper.",
            share);
        return;
    case SL_LEVEL_UNDECIDED:
        explain_undecided(pair, share);
    }
}

static void explain_hold(struct sl_pair *pair)
{
    char share[SHARE_BYTES];
    if (!isfinite(pair->immediate_bound_share))
        return;
    share_text(pair->immediate_bound_share, pair->immediate_bound_interval, share);
    if (pair->immediate_bound_interval[0] > pair->dried_bound_interval[1]) {
        say(pair,
            "The strip dipped at once kept more, %s, than the dried one. That is unusual: "
            "check that the two are not swapped.",
            share);
        return;
    }
    switch (pair->hold) {
    case SL_HOLD_NOTHING:
        return;
    case SL_HOLD_AT_ONCE:
        say(pair, "It holds at once: %s stayed on the strip that was dipped while wet.", share);
        return;
    case SL_HOLD_AS_IT_DRIES:
        if (pair->immediate_bound_share >= SL_BOUND_LIMIT)
            say(pair,
                "Some of it holds at once, more sets as it dries: %s stayed on the strip that "
                "was dipped while wet.",
                share);
        else if (pair->immediate_bound_interval[1] >= SL_BOUND_LIMIT)
            say(pair,
                "It holds more once dry; whether some of it holds at once lies within the "
                "uncertainty: %s stayed on the strip that was dipped while wet.",
                share);
        else
            say(pair, "It sets only as it dries: %s stayed on the strip that was dipped while wet.",
                share);
        return;
    case SL_HOLD_UNCLEAR:
        if (pair->dried_bound_interval[1] < SL_BOUND_LIMIT)
            return; /* too little holds for that to matter */
        say(pair,
            "Whether it holds at once or sets as it dries can't be told apart: %s stayed on "
            "the strip that was dipped while wet.",
            share);
    }
}

static void explain_tail(const struct sl_strip *dried, struct sl_pair *pair)
{
    char share[G_ASCII_DTOSTR_BUF_SIZE];
    double tail = dried->bands.retained_share - dried->bands.bound_share;
    if (tail >= SHARE_WORTH_NAMING)
        say(pair, "Another %s %% lies close to the line but had begun to move; it is not counted.",
            percent(tail, 0, share));
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
        for (size_t i = 0; i < bands->reach_count && i < 4; i++)
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
            "may have stayed than is counted.");
    if (immediate->strip->marks.front_seen == SL_FRONT_NOT_SEEN ||
        dried->strip->marks.front_seen == SL_FRONT_NOT_SEEN)
        say(pair,
            "How high the water rose can't be seen, so positions (hRf) are rough; the verdict "
            "does not rest on them.");
}

static void explain_colour(struct sl_pair *pair)
{
    /* next to white nobody sees a colour */
    if (*pair->retained_hue_name && strcmp(pair->retained_hue_name, "white") != 0)
        say(pair, "What stayed is %s.", pair->retained_hue_name);
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

void sl_combined_explain(struct sl_combined *combined, double dried_spread)
{
    char spread[G_ASCII_DTOSTR_BUF_SIZE];
    struct sl_pair *pair = &combined->pair;
    explain_level(pair);
    explain_colour(pair);
    explain_hold(pair);
    say(pair, "This is the mean of %zu strip%s dipped at once and %zu dried first.",
        combined->immediate_count, plural(combined->immediate_count), combined->dried_count);
    if (dried_spread >= SPREAD_WORTH_NAMING)
        say(pair,
            "Beyond what the photos leave open, the bound share of the dried strips varies by %s "
            "%% "
            "(standard deviation).",
            percent(dried_spread, dried_spread < 0.0995, spread));
    else if (dried_spread < SPREAD_WORTH_NAMING)
        say(pair, "The dried strips differ by no more than the photos leave open.");
}

void sl_pair_explain(const struct sl_side *immediate, const struct sl_side *dried,
                     struct sl_pair *pair)
{
    if (!isfinite(pair->dried_bound_share)) {
        say(pair, "%s",
            dried->strip->marks.origin_outside
                ? "The ink line of the dried strip may lie outside the photo: there is nothing to "
                  "judge."
                : "No ink was found on the dried strip: there is nothing to judge.");
        return;
    }
    explain_level(pair);
    explain_colour(pair);
    explain_hold(pair);
    explain_tail(dried->strip, pair);
    explain_moved(dried->strip, pair);
    explain_doubts(immediate, dried, pair);
}
