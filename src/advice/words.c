// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/advice.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *name, *deed, *why; /* `why` where no number says it */
    bool at_best;                  /* even then a part of the light's error stays */
} causes[SL_CAUSE_COUNT] = {
    [SL_CAUSE_CLOSER] = {.name = "closer",
                         .deed = "Go closer, so that the strips fill the frame",
                         .why =
                             "the ink line is only a few pixels wide, and a dark line that narrow "
                             "looks paler than it is"},
    [SL_CAUSE_BOTH_SIDES] = {.name = "both-sides",
                             .deed = "Light the strips from both sides",
                             .at_best = true},
    [SL_CAUSE_SHADOW] = {.name = "shadow",
                         .deed = "Keep shadows, the phone's too, off the strips",
                         .at_best = true},
    [SL_CAUSE_BLUR] =
        {.name = "blur",
         .deed = "Hold the phone still and let it focus on the strips",
         .why = "blur makes a dark narrow line look paler than it is, so what is retained "
                "at the ink line comes out too low"},
    [SL_CAUSE_DARK] = {.name = "dark", .deed = "Take the photo with more light"},
    [SL_CAUSE_CLIPPED] =
        {.name = "clipped",
         .deed = "Take the photo with less exposure, so that the paper isn't pure white",
         .at_best = true},
    [SL_CAUSE_CLEAN_PAPER] = {.name = "clean-paper",
                              .deed =
                                  "Leave clean paper beside the ink, by ending the ink line well "
                                  "short of the strip's edges",
                              .at_best = true},
    [SL_CAUSE_FRONT] = {.name = "front",
                        .deed = "Mark the front with a pencil tick while the paper is wet"},
    [SL_CAUSE_ORIGIN] = {.name = "origin",
                         .deed =
                             "Look where the middle of the ink line lies and set it with --origin"},
    [SL_CAUSE_LENGTH] = {.name = "length",
                         .deed = "Measure the strip's length and tell it with --length-mm"},
    [SL_CAUSE_PAPER] = {.name = "paper",
                        .deed = "Tell the paper's reflectance with --paper-reflectance, if its "
                                "maker states it"},
};

static const char *const kinds[SL_NUMBER_KINDS] = {
    [SL_NUMBER_RF] = "rf",
    [SL_NUMBER_SHARE] = "share",
    [SL_NUMBER_RETAINED] = "retained",
    [SL_NUMBER_BOUND] = "bound",
};

const char *sl_cause_name(enum sl_cause cause)
{
    return causes[cause].name;
}

bool sl_cause_from_name(const char *name, enum sl_cause *ret)
{
    for (int i = 0; i < SL_CAUSE_COUNT; i++)
        if (strcmp(name, causes[i].name) == 0) {
            *ret = (enum sl_cause)i;
            return true;
        }
    return false;
}

const char *sl_number_kind_name(enum sl_number_kind kind)
{
    return kinds[kind];
}

enum { RANGE_BYTES = 2 * G_ASCII_DTOSTR_BUF_SIZE + 8 };

/* "0.31 to 0.50", with a dot in every locale. */
static const char *range(const double interval[2], double factor, int decimals,
                         char text[RANGE_BYTES])
{
    char low[G_ASCII_DTOSTR_BUF_SIZE], high[G_ASCII_DTOSTR_BUF_SIZE], format[8];
    snprintf(format, sizeof format, "%%.%df", decimals);
    double unit = pow(10, -decimals) / 2;
    double from = factor * interval[0], to = factor * interval[1];
    g_ascii_formatd(low, sizeof low, format, fabs(from) < unit ? 0 : from);
    g_ascii_formatd(high, sizeof high, format, fabs(to) < unit ? 0 : to);
    snprintf(text, RANGE_BYTES, "%s to %s", low, high);
    return text;
}

/* As many decimals as tell the ends of the narrower interval apart. */
static int decimals_for(const struct sl_advice_effect *effect, double factor, int usual)
{
    double step = pow(10, -usual);
    return factor * (effect->then[1] - effect->then[0]) < 2 * step ? usual + 1 : usual;
}

static enum sl_number_kind greatest(const struct sl_advice *advice)
{
    int best = 0;
    for (int kind = 1; kind < SL_NUMBER_KINDS; kind++)
        if (advice->effect[kind].gain > advice->effect[best].gain)
            best = kind;
    return (enum sl_number_kind)best;
}

static void name_number(enum sl_number_kind kind, size_t band, char *ret, size_t size)
{
    switch (kind) {
    case SL_NUMBER_RF:
        snprintf(ret, size, "the Rf of band %zu", band + 1);
        return;
    case SL_NUMBER_SHARE:
        snprintf(ret, size, "the share of band %zu", band + 1);
        return;
    case SL_NUMBER_RETAINED:
        snprintf(ret, size, "what is retained");
        return;
    case SL_NUMBER_BOUND:
        snprintf(ret, size, "what is bound");
    }
}

static const char *at_best(const struct sl_advice *advice)
{
    return causes[advice->cause].at_best ? "at best " : "";
}

void sl_advice_words(const struct sl_advice *advice, const char *where, char *ret, size_t size)
{
    char name[48], now[RANGE_BYTES], then[RANGE_BYTES];
    enum sl_number_kind kind = greatest(advice);
    const struct sl_advice_effect *effect = &advice->effect[kind];
    if (causes[advice->cause].why) {
        snprintf(ret, size, "%s: %s.", causes[advice->cause].deed, causes[advice->cause].why);
        return;
    }
    bool part = kind != SL_NUMBER_RF;
    double factor = part ? 100 : 1;
    int decimals = decimals_for(effect, factor, part ? 0 : 2);
    name_number(kind, effect->band, name, sizeof name);
    snprintf(ret, size, "%s: %s%s, now %s%s, would %sbe about %s%s.", causes[advice->cause].deed,
             name, where, range(effect->now, factor, decimals, now), part ? " %" : "",
             at_best(advice), range(effect->then, factor, decimals, then), part ? " %" : "");
}

void sl_advice_index_words(const struct sl_advice *advice, char *ret, size_t size)
{
    char now[RANGE_BYTES], then[RANGE_BYTES];
    const struct sl_advice_effect *effect = &advice->effect[SL_NUMBER_RETAINED];
    int decimals = decimals_for(effect, 100, 0);
    if (size > 0)
        ret[0] = '\0';
    if (effect->gain > 0)
        snprintf(ret, size, "%s: the retention index, now %s, would %sbe about %s.",
                 causes[advice->cause].deed, range(effect->now, 100, decimals, now),
                 at_best(advice), range(effect->then, 100, decimals, then));
}
