// SPDX-License-Identifier: GPL-3.0-or-later
/* One verdict from several strips of one ink.
 *
 * 1. Replicates are found among all strips.
 * 2. Each set of dried strips meets the immediate ones of its ink that were run alike: another set,
 *    or the one strip that one of its own is paired with. So do immediate sets that none met.
 * 3. The verdict is judged from the means of the shares as a pair's is from its two. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "retention_internal.h"

/* One side of a combined verdict: a set of replicates, or a single strip. */
struct side {
    const struct sl_replicate *set; /* or NULL */
    struct sl_strip_ref ref;        /* of the first strip */
};

static const struct sl_strip *strip_at(const struct sl_document *document, struct sl_strip_ref ref)
{
    return &document->reading[ref.photo]->strip[ref.strip];
}

static bool holds(const struct sl_replicate *set, struct sl_strip_ref ref)
{
    for (size_t i = 0; i < set->strip_count; i++)
        if (set->strip[i].photo == ref.photo && set->strip[i].strip == ref.strip)
            return true;
    return false;
}

static bool run_alike(const struct sl_document *document, struct sl_strip_ref immediate,
                      struct sl_strip_ref dried)
{
    const struct sl_reading *const reading[2] = {document->reading[immediate.photo],
                                                 document->reading[dried.photo]};
    const size_t strip[2] = {immediate.strip, dried.strip};
    char differences[SL_MESSAGE_MAX];
    sl_strips_differ(reading, strip, true, differences, sizeof differences);
    return !*differences;
}

static const struct sl_replicate *partner_set(const struct sl_document *document,
                                              const struct sl_replicate *dried)
{
    for (size_t i = 0; i < document->replicate_count; i++) {
        const struct sl_replicate *set = &document->replicate[i];
        if (set->role == SL_ROLE_IMMEDIATE && sl_name_same(set->ink, dried->ink) &&
            run_alike(document, set->strip[0], dried->strip[0]))
            return set;
    }
    return NULL;
}

/* The single strip that one of the set is paired with. */
static bool partner_strip(const struct sl_document *document, const struct sl_replicate *set,
                          struct sl_strip_ref *ret)
{
    bool is_dried = set->role == SL_ROLE_DRIED;
    for (size_t i = 0; i < document->pair_count; i++) {
        const struct sl_pair *pair = &document->pair[i];
        if (!holds(set, is_dried ? pair->dried : pair->immediate))
            continue;
        *ret = is_dried ? pair->immediate : pair->dried;
        return !sl_strip_is_blank(strip_at(document, *ret));
    }
    return false;
}

struct number {
    double *share, *interval;
};

static void take_number(const struct sl_mean *mean, double share, const double interval[2],
                        struct number ret)
{
    *ret.share = mean ? mean->value : share;
    memcpy(ret.interval, mean ? mean->interval : interval, 2 * sizeof *ret.interval);
}

static void take_side(const struct sl_document *document, const struct side *side,
                      struct number retained, struct number bound, struct sl_warnings *warnings)
{
    const struct sl_bands *bands = &strip_at(document, side->ref)->bands;
    const struct sl_replicate *set = side->set;
    take_number(set ? &set->retained : NULL, bands->retained_share, bands->retained_interval,
                retained);
    take_number(set ? &set->bound : NULL, bands->bound_share, bands->bound_interval, bound);
    for (size_t i = 0; set && i < set->warnings.count; i++) {
        const struct sl_status *w = &set->warnings.item[i];
        sl_warn(warnings, w->code, w->where, w->remedy, "%s", w->message);
    }
}

static size_t take_refs(const struct side *side, struct sl_strip_ref *ret)
{
    size_t count = side->set ? side->set->strip_count : 1;
    memcpy(ret, side->set ? side->set->strip : &side->ref, count * sizeof *ret);
    return count;
}

static bool any_hardly_climbed(const struct sl_document *document, const struct sl_combined *one)
{
    for (size_t i = 0; i < one->dried_count; i++)
        if (sl_strip_hardly_climbed(strip_at(document, one->dried[i])))
            return true;
    return false;
}

static void combine(struct sl_document *document, const struct side *immediate,
                    const struct side *dried)
{
    struct sl_combined *one = &document->combined[document->combined_count++];
    struct sl_pair *pair = &one->pair;
    const char *ink = dried->set ? dried->set->ink : immediate->set->ink;
    *one = (struct sl_combined){
        .pair = {.immediate = immediate->ref, .dried = dried->ref, .retained_hue_name = ""}};
    snprintf(pair->ink, sizeof pair->ink, "%s", ink);
    one->immediate_count = take_refs(immediate, one->immediate);
    one->dried_count = take_refs(dried, one->dried);
    take_side(document, immediate,
              (struct number){&pair->immediate_retained_share, pair->immediate_retained_interval},
              (struct number){&pair->immediate_bound_share, pair->immediate_bound_interval},
              &pair->warnings);
    take_side(document, dried,
              (struct number){&pair->dried_retained_share, pair->dried_retained_interval},
              (struct number){&pair->dried_bound_share, pair->dried_bound_interval},
              &pair->warnings);
    if (!sl_share_is_known(pair->dried_retained_share, pair->dried_retained_interval))
        sl_pair_leave_unjudged(pair, SL_UNJUDGED_ORIGIN);
    else if (any_hardly_climbed(document, one))
        sl_pair_leave_unjudged(pair, SL_UNJUDGED_CLIMB);
    else
        sl_pair_judge_shares(strip_at(document, immediate->ref), strip_at(document, dried->ref),
                             pair);
    sl_combined_explain(one, dried->set ? dried->set->retained.between_sd : NAN);
}

static void combine_all(struct sl_document *document)
{
    bool *met = calloc(document->replicate_count + 1, sizeof *met);
    for (int role = SL_ROLE_DRIED; met && role >= SL_ROLE_IMMEDIATE; role--)
        for (size_t i = 0; i < document->replicate_count; i++) {
            const struct sl_replicate *set = &document->replicate[i];
            struct side own = {set, set->strip[0]}, other = {NULL, {0, 0}};
            if (set->role != (enum sl_role)role || met[i])
                continue;
            other.set = role == SL_ROLE_DRIED ? partner_set(document, set) : NULL;
            if (other.set) {
                other.ref = other.set->strip[0];
                met[other.set - document->replicate] = true;
            } else if (!partner_strip(document, set, &other.ref)) {
                continue;
            }
            if (role == SL_ROLE_DRIED)
                combine(document, &other, &own);
            else
                combine(document, &own, &other);
        }
    free(met);
}

sl_code sl_document_make_replicates(struct sl_document *document, struct sl_status *status)
{
    size_t most = sl_replicates_most(document->reading, document->reading_count);
    struct sl_replicate *sets = calloc(most + 1, sizeof *sets);
    struct sl_combined *combined = calloc(most + 1, sizeof *combined);
    if (!sets || !combined) {
        free(sets);
        free(combined);
        return sl_status_set(status, SL_E_MEMORY, "retention", "Read fewer photos at once.",
                             "there is not enough memory to combine %zu strips", most);
    }
    free(document->replicate);
    free(document->combined);
    document->replicate = sets;
    document->combined = combined;
    document->combined_count = 0;
    document->replicate_count =
        sl_replicates_find(document->reading, document->reading_count, sets);
    if (document->pair_count)
        combine_all(document);
    return SL_OK;
}
