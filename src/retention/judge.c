// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdict of one pair.
 *
 * 1. Both strips are there; the inks told for them don't differ.
 * 2. Index: 100 x bound share of the dried strip, with its interval.
 * 3. Level by the index, undecided where the interval reaches across a limit.
 * 4. Holds at once, or only as it dries: the interval of the difference of both bound shares.
 * 5. What speaks against the pair: other conditions, bands of two inks, blank strips.
 * 6. All of it in sentences. */
#include "retention_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Upper limits of the levels, as bound share of the dried strip. A scale of this project's own
 * (common practice, no source, is only that about a tenth left behind counts as resistant): below
 * 0.02 lies what a strip's noise and a rim of dried ink can feign; SL_BOUND_LIMIT parts a trace
 * from a component; from 0.30 on the line is plainly there to the eye. */
static const double LEVEL_LIMIT[] = {
    [SL_LEVEL_NONE] = 0.02, [SL_LEVEL_TRACE] = SL_BOUND_LIMIT, [SL_LEVEL_PARTIAL] = 0.30};
enum { LEVEL_LIMITS = sizeof LEVEL_LIMIT / sizeof *LEVEL_LIMIT };

/* An ink holds at once where the strip dipped at once keeps at least this part of what the dried
 * one keeps. */
static const double AT_ONCE_PART = 0.75;

const char *sl_level_name(enum sl_level level)
{
    static const char *const names[] = {
        [SL_LEVEL_NONE] = "none",           [SL_LEVEL_TRACE] = "trace",
        [SL_LEVEL_PARTIAL] = "partial",     [SL_LEVEL_STRONG] = "strong",
        [SL_LEVEL_UNDECIDED] = "undecided",
    };
    return names[level];
}

const char *sl_hold_name(enum sl_hold hold)
{
    static const char *const names[] = {
        [SL_HOLD_NOTHING] = "nothing",
        [SL_HOLD_AT_ONCE] = "at once",
        [SL_HOLD_AS_IT_DRIES] = "as it dries",
        [SL_HOLD_UNCLEAR] = "unclear",
    };
    return names[hold];
}

static sl_code find_side(const struct sl_document *document, struct sl_strip_ref ref,
                         struct sl_side *ret, struct sl_status *status)
{
    if (ref.photo >= document->reading_count)
        return sl_status_set(status, SL_E_STRIP_COUNT, "retention",
                             "Give a photo of each strip, or one that shows both.",
                             "a pair needs two strips: there is no photo %zu", ref.photo + 1);
    const struct sl_reading *reading = document->reading[ref.photo];
    if (ref.strip >= reading->strip_count)
        return sl_status_set(status, SL_E_STRIP_COUNT, "retention",
                             "Give a photo of each strip, or one that shows both.",
                             "a pair needs two strips: %s shows no strip %zu", reading->photo.file,
                             ref.strip + 1);
    *ret = (struct sl_side){reading, &reading->strip[ref.strip]};
    return SL_OK;
}

static bool is_interval(const double interval[2])
{
    return isfinite(interval[0]) && isfinite(interval[1]) && interval[0] <= interval[1];
}

enum sl_level sl_level_of(double share)
{
    int level = 0;
    while (level < LEVEL_LIMITS && share >= LEVEL_LIMIT[level])
        level++;
    return (enum sl_level)level; /* the limits are in the order of the levels */
}

static enum sl_level judge_level(double share, const double interval[2])
{
    if (!isfinite(share) || !is_interval(interval) ||
        sl_level_of(interval[0]) != sl_level_of(interval[1]))
        return SL_LEVEL_UNDECIDED;
    return sl_level_of(share);
}

/* Interval of a - b from the intervals of both: R. G. Newcombe, Stat. Med. 17 (1998) 873-890,
 * method 10 (square and add); holds for skew intervals too. */
static void difference(double a, const double a_interval[2], double b, const double b_interval[2],
                       double ret[2])
{
    ret[0] = a - b - hypot(a - a_interval[0], b_interval[1] - b);
    ret[1] = a - b + hypot(a_interval[1] - a, b - b_interval[0]);
}

static enum sl_hold judge_hold(const struct sl_pair *pair)
{
    double dried = pair->dried_bound_share, immediate = pair->immediate_bound_share;
    if (!is_interval(pair->dried_bound_interval) || !is_interval(pair->immediate_bound_interval))
        return SL_HOLD_UNCLEAR;
    if (dried < LEVEL_LIMIT[SL_LEVEL_NONE])
        return immediate < SL_BOUND_LIMIT ? SL_HOLD_NOTHING : SL_HOLD_UNCLEAR;
    double at_once[2], more[2];
    /* against the part that counts as "about as much", and against the whole */
    double part_interval[2] = {AT_ONCE_PART * pair->dried_bound_interval[0],
                               AT_ONCE_PART * pair->dried_bound_interval[1]};
    difference(immediate, pair->immediate_bound_interval, AT_ONCE_PART * dried, part_interval,
               at_once);
    difference(dried, pair->dried_bound_interval, immediate, pair->immediate_bound_interval, more);
    if (more[0] > 0 && at_once[1] < 0)
        return SL_HOLD_AS_IT_DRIES;
    return at_once[0] > 0 ? SL_HOLD_AT_ONCE : SL_HOLD_UNCLEAR;
}

static void judge_colour(const struct sl_strip *dried, struct sl_pair *pair)
{
    pair->retained_hue_name = "";
    for (int i = 0; i < 3; i++)
        pair->retained_lab_d50[i] = dried->bands.retained_lab_d50[i];
    bool stayed = pair->dried_bound_share >= LEVEL_LIMIT[SL_LEVEL_NONE];
    if (stayed && isfinite(pair->retained_lab_d50[0]) && isfinite(pair->retained_lab_d50[1]) &&
        isfinite(pair->retained_lab_d50[2]))
        pair->retained_hue_name = sl_hue_name(pair->retained_lab_d50);
}

static void take_bound(const struct sl_strip *strip, double *ret_share, double ret_interval[2])
{
    bool blank = sl_strip_is_blank(strip);
    *ret_share = blank ? NAN : strip->bands.bound_share;
    for (int i = 0; i < 2; i++)
        ret_interval[i] = blank ? NAN : strip->bands.bound_interval[i];
}

void sl_pair_judge_shares(const struct sl_strip *dried, struct sl_pair *pair)
{
    pair->index = 100 * pair->dried_bound_share;
    for (int i = 0; i < 2; i++)
        pair->index_interval[i] = 100 * pair->dried_bound_interval[i];
    pair->level = judge_level(pair->dried_bound_share, pair->dried_bound_interval);
    pair->water_resistant = pair->dried_bound_share >= SL_BOUND_LIMIT;
    pair->decided = is_interval(pair->dried_bound_interval) &&
                    (pair->dried_bound_interval[0] >= SL_BOUND_LIMIT ||
                     pair->dried_bound_interval[1] < SL_BOUND_LIMIT);
    pair->hold = judge_hold(pair);
    judge_colour(dried, pair);
}

static void judge_numbers(const struct sl_strip *immediate, const struct sl_strip *dried,
                          struct sl_pair *pair)
{
    take_bound(immediate, &pair->immediate_bound_share, pair->immediate_bound_interval);
    take_bound(dried, &pair->dried_bound_share, pair->dried_bound_interval);
    sl_pair_judge_shares(dried, pair);
}

static void warn_blank(const struct sl_side *immediate, const struct sl_side *dried,
                       struct sl_warnings *warnings)
{
    bool first = sl_strip_is_blank(immediate->strip), second = sl_strip_is_blank(dried->strip);
    if (first || second)
        sl_warn(warnings, SL_W_BLANK, "retention",
                "Check that the ink line is in the photo, and that the strip is the right one.",
                "no ink was found on %s, so %s",
                first && second ? "either strip"
                : first         ? "the strip that was dipped at once"
                                : "the strip that was dried first",
                second ? "there is nothing to judge"
                       : "whether the ink holds at once can't be told");
}

/* The strip's advice goes by all its numbers, the pair's by the index alone. */
static void advise(const struct sl_advice_list *list, struct sl_pair *pair)
{
    bool used[SL_ADVICE_MAX] = {false};
    for (;;) {
        size_t best = list->count;
        for (size_t i = 0; i < list->count; i++)
            if (!used[i] && list->item[i].effect[SL_NUMBER_BOUND].gain > 0 &&
                (best == list->count || list->item[i].effect[SL_NUMBER_BOUND].gain >
                                            list->item[best].effect[SL_NUMBER_BOUND].gain))
                best = i;
        if (best == list->count)
            return;
        used[best] = true;
        sl_advice_index_words(&list->item[best], pair->advice[pair->advice_count++],
                              SL_ADVICE_BYTES);
    }
}

sl_code sl_pair_judge(const struct sl_document *document, struct sl_strip_ref immediate,
                      struct sl_strip_ref dried, struct sl_pair *ret, struct sl_status *status)
{
    struct sl_side a, b;
    sl_code code = find_side(document, immediate, &a, status);
    if (code == SL_OK)
        code = find_side(document, dried, &b, status);
    if (code != SL_OK)
        return code;
    const char *ink_a = sl_strip_ink(a.reading, immediate.strip);
    const char *ink_b = sl_strip_ink(b.reading, dried.strip);
    if (!sl_name_same(ink_a, ink_b))
        return sl_status_set(status, SL_E_DIFFERENT_INKS, "retention",
                             "Give two strips of one ink, or use overlay to compare inks.",
                             "a pair is of one ink, but these strips were told to be %s and %s",
                             ink_a, ink_b);
    struct sl_pair pair = {.immediate = immediate, .dried = dried};
    snprintf(pair.ink, sizeof pair.ink, "%s", *ink_b ? ink_b : ink_a);
    judge_numbers(a.strip, b.strip, &pair);
    warn_blank(&a, &b, &pair.warnings);
    sl_pair_check_conditions(&a, &b, &pair.warnings);
    sl_pair_check_kinship(&a, &b, &pair.warnings);
    sl_pair_explain(&a, &b, &pair);
    advise(&b.strip->advice, &pair);
    *ret = pair;
    return SL_OK;
}
