// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdict of one pair.
 *
 * 1. Both strips are there; the inks told for them don't differ.
 * 2. What leaves nothing to judge: a blank strip, an origin outside the photo, water that hardly
 *    rose, strips of two inks.
 * 3. Index: 100 x retained share of the dried strip, with its interval; from that the probability
 *    of each level, and the answer.
 * 4. Whether it sets as it dries: the difference of both retained shares. Whether a longer soak
 *    would take it: the bound share of the dried strip.
 * 5. What speaks against the pair: other conditions, bands of two inks.
 * 6. All of it in sentences. */
#include "retention_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Where each level begins, as retained share of the dried strip. */
static const double LEVEL_FROM[SL_LEVELS] = {
    [SL_LEVEL_NONE] = -INFINITY,
    [SL_LEVEL_TRACE] = SL_TRACE_LIMIT,
    [SL_LEVEL_PARTIAL] = SL_RETAINED_LIMIT,
    [SL_LEVEL_STRONG] = SL_STRONG_LIMIT,
};

/* How far the water must have climbed, in reaches of the zone where dye counts as retained: a dye
 * that runs with a third of the water has just left it then (no source; the rendered dips at hand
 * climb 8 reaches or more). */
static const double CLIMB_LEAST = 3;

/* How often the model behind the bound share is wrong as a whole: bound dye and dye that is let go
 * slowly look alike in one dip. Fitted by tests/fit/soak.py on the tidy and kitchen-table reference
 * photographs of another hand, of the second kitchen-table set the even ones: 0.18 (0.10 to 0.30);
 * the upper end, as the odd ones let expect no less. */
static const double SOAK_DOUBT = 0.30;
/* Before anything is seen, half of all inks hold, and may hold any share (common practice, no
 * source). */
static const double HOLDS = 0.5;

const char *sl_level_name(enum sl_level level)
{
    static const char *const names[] = {
        [SL_LEVEL_NONE] = "none",
        [SL_LEVEL_TRACE] = "trace",
        [SL_LEVEL_PARTIAL] = "partial",
        [SL_LEVEL_STRONG] = "strong",
    };
    return names[level];
}

const char *sl_unjudged_name(enum sl_unjudged why)
{
    static const char *const names[] = {
        [SL_JUDGED] = "",
        [SL_UNJUDGED_BLANK] = "blank",
        [SL_UNJUDGED_ORIGIN] = "no origin",
        [SL_UNJUDGED_CLIMB] = "water too low",
        [SL_UNJUDGED_TWO_INKS] = "two inks",
    };
    return names[why];
}

const char *sl_answer_name(enum sl_answer answer)
{
    static const char *const names[] = {
        [SL_ANSWER_NONE] = "none",   [SL_ANSWER_WASHES_AWAY] = "washes away",
        [SL_ANSWER_OPEN] = "open",   [SL_ANSWER_PARTLY_STAYS] = "partly stays",
        [SL_ANSWER_STAYS] = "stays",
    };
    return names[answer];
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

enum sl_level sl_level_of(double retained_share)
{
    int level = SL_LEVELS - 1;
    while (level > 0 && !(retained_share >= LEVEL_FROM[level]))
        level--;
    return (enum sl_level)level;
}

/* What is left of a probability where with that doubt the number says nothing. */
static double doubted(double probability, double doubt, double unseen)
{
    return (1 - doubt) * probability + doubt * unseen;
}

static double retained_at_least(const struct sl_pair *pair, double limit, double doubt)
{
    return doubted(
        sl_share_at_least(pair->dried_retained_share, pair->dried_retained_interval, limit), doubt,
        HOLDS * (1 - limit));
}

static void judge_level(struct sl_pair *pair, double doubt)
{
    double above = 1; /* probability of this level and all higher ones */
    pair->level = SL_LEVEL_NONE;
    for (int i = 0; i < SL_LEVELS; i++) {
        double next = i + 1 < SL_LEVELS ? retained_at_least(pair, LEVEL_FROM[i + 1], doubt) : 0;
        pair->level_probability[i] = above - next;
        /* on a limit the level that begins there */
        if (pair->level_probability[i] >= pair->level_probability[pair->level])
            pair->level = (enum sl_level)i;
        above = next;
    }
}

static void judge_answer(struct sl_pair *pair)
{
    double holds = pair->water_resistant_probability;
    double strongly = pair->level_probability[SL_LEVEL_STRONG];
    pair->answer = SL_ANSWER_OPEN;
    pair->answer_probability = holds;
    if (strongly >= SL_LIKELY) {
        pair->answer = SL_ANSWER_STAYS;
        pair->answer_probability = strongly;
    } else if (holds >= SL_LIKELY) {
        pair->answer = SL_ANSWER_PARTLY_STAYS;
    } else if (holds < SL_UNLIKELY) {
        pair->answer = SL_ANSWER_WASHES_AWAY;
        pair->answer_probability = 1 - holds;
    }
}

/* Interval of the difference from the intervals of both: R. G. Newcombe, Stat. Med. 17 (1998)
 * 873-890, method 10 (square and add); holds for skew intervals too. */
static void judge_drying(struct sl_pair *pair, double doubt)
{
    double a = pair->dried_retained_share, b = pair->immediate_retained_share;
    const double *in_a = pair->dried_retained_interval, *in_b = pair->immediate_retained_interval;
    pair->drying_difference = a - b;
    pair->drying_interval[0] = a - b - hypot(a - in_a[0], in_b[1] - b);
    pair->drying_interval[1] = a - b + hypot(in_a[1] - a, b - in_b[0]);
    pair->drying_probability =
        doubted(sl_share_at_least(pair->drying_difference, pair->drying_interval, SL_TRACE_LIMIT),
                doubt, HOLDS);
}

static void judge_colour(const struct sl_strip *dried, struct sl_pair *pair)
{
    const double *lab = dried->bands.retained_lab_d50;
    memcpy(pair->retained_lab_d50, lab, sizeof pair->retained_lab_d50);
    bool retained = pair->dried_retained_share >= SL_TRACE_LIMIT;
    if (!retained || !isfinite(lab[0] + lab[1] + lab[2]))
        return;
    const char *name = sl_hue_name(lab);
    /* next to white nobody sees a colour */
    pair->retained_hue_name = strcmp(name, "white") == 0 ? "" : name;
}

bool sl_share_is_known(double share, const double interval[2])
{
    return isfinite(share + interval[0] + interval[1]) && interval[0] <= interval[1];
}

static void take_share(const struct sl_strip *strip, double share, const double interval[2],
                       double *ret_share, double ret_interval[2])
{
    bool blank = sl_strip_is_blank(strip);
    *ret_share = blank ? NAN : share;
    for (int i = 0; i < 2; i++)
        ret_interval[i] = blank ? NAN : interval[i];
}

static void take_shares(const struct sl_strip *immediate, const struct sl_strip *dried,
                        struct sl_pair *pair)
{
    const struct sl_bands *a = &immediate->bands, *b = &dried->bands;
    take_share(immediate, a->retained_share, a->retained_interval, &pair->immediate_retained_share,
               pair->immediate_retained_interval);
    take_share(immediate, a->bound_share, a->bound_interval, &pair->immediate_bound_share,
               pair->immediate_bound_interval);
    take_share(dried, b->retained_share, b->retained_interval, &pair->dried_retained_share,
               pair->dried_retained_interval);
    take_share(dried, b->bound_share, b->bound_interval, &pair->dried_bound_share,
               pair->dried_bound_interval);
}

/* That the strip's ends were swapped: then what was measured lies elsewhere. 0..0.5. */
static double end_doubt(const struct sl_strip *strip)
{
    return fmin(fmax(strip->marks.orientation_doubt, 0), 0.5); /* a saved reading may hold any */
}

void sl_pair_judge_shares(const struct sl_strip *immediate, const struct sl_strip *dried,
                          struct sl_pair *pair)
{
    double doubt = end_doubt(dried), either = 1 - (1 - doubt) * (1 - end_doubt(immediate));
    double bound =
        sl_share_at_least(pair->dried_bound_share, pair->dried_bound_interval, SL_RETAINED_LIMIT);
    pair->unjudged = SL_JUDGED;
    pair->index = 100 * pair->dried_retained_share;
    for (int i = 0; i < 2; i++)
        pair->index_interval[i] = 100 * pair->dried_retained_interval[i];
    pair->water_resistant_probability = retained_at_least(pair, SL_RETAINED_LIMIT, doubt);
    pair->water_resistant = pair->water_resistant_probability >= 0.5;
    pair->soak_probability = doubted(bound, 1 - (1 - SOAK_DOUBT) * (1 - doubt), HOLDS);
    judge_level(pair, doubt);
    judge_answer(pair);
    judge_drying(pair, either);
    judge_colour(dried, pair);
}

void sl_pair_leave_unjudged(struct sl_pair *pair, enum sl_unjudged why)
{
    pair->unjudged = why;
    pair->index = pair->index_interval[0] = pair->index_interval[1] = NAN;
    for (int i = 0; i < SL_LEVELS; i++)
        pair->level_probability[i] = NAN;
    for (int i = 0; i < 3; i++)
        pair->retained_lab_d50[i] = NAN;
    pair->water_resistant_probability = pair->answer_probability = pair->soak_probability = NAN;
    pair->drying_difference = pair->drying_probability = NAN;
    pair->drying_interval[0] = pair->drying_interval[1] = NAN;
}

bool sl_strip_hardly_climbed(const struct sl_strip *strip)
{
    const struct sl_marks *marks = &strip->marks;
    return marks->front_seen != SL_FRONT_NOT_SEEN &&
           marks->front - marks->origin < CLIMB_LEAST * sl_strip_retained_reach(strip);
}

/* `told_one`: the user told one ink for both strips. */
static enum sl_unjudged what_prevents(const struct sl_side *immediate, const struct sl_side *dried,
                                      bool told_one)
{
    if (sl_strip_is_blank(immediate->strip) || sl_strip_is_blank(dried->strip))
        return SL_UNJUDGED_BLANK;
    const struct sl_bands *bands = &dried->strip->bands;
    if (!sl_share_is_known(bands->retained_share, bands->retained_interval))
        return SL_UNJUDGED_ORIGIN;
    if (sl_strip_hardly_climbed(dried->strip))
        return SL_UNJUDGED_CLIMB;
    return !told_one && sl_pair_dyes_differ(immediate, dried) ? SL_UNJUDGED_TWO_INKS : SL_JUDGED;
}

/* The strip's advice goes by all its numbers, the pair's by the index alone. */
static void advise(const struct sl_advice_list *list, struct sl_pair *pair)
{
    bool used[SL_ADVICE_MAX] = {false};
    for (;;) {
        size_t best = list->count;
        for (size_t i = 0; i < list->count; i++)
            if (!used[i] && list->item[i].effect[SL_NUMBER_RETAINED].gain > 0 &&
                (best == list->count || list->item[i].effect[SL_NUMBER_RETAINED].gain >
                                            list->item[best].effect[SL_NUMBER_RETAINED].gain))
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
    struct sl_pair pair = {.immediate = immediate, .dried = dried, .retained_hue_name = ""};
    snprintf(pair.ink, sizeof pair.ink, "%s", *ink_b ? ink_b : ink_a);
    take_shares(a.strip, b.strip, &pair);
    enum sl_unjudged why = what_prevents(&a, &b, *ink_a && *ink_b);
    if (why == SL_JUDGED) {
        sl_pair_judge_shares(a.strip, b.strip, &pair);
        advise(&b.strip->advice, &pair);
    } else {
        sl_pair_leave_unjudged(&pair, why);
    }
    sl_pair_check_conditions(&a, &b, &pair.warnings);
    sl_pair_check_kinship(&a, &b, &pair.warnings);
    sl_pair_explain(&a, &b, &pair);
    *ret = pair;
    return SL_OK;
}
