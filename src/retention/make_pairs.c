// SPDX-License-Identifier: GPL-3.0-or-later
/* Which strips belong together.
 *
 * 1. Within a photo: each immediate with the next dried one that is still free.
 * 2. Photos of one strip each: told roles first, immediate with dried of the same ink in the order
 *    given; then those without a role, two by two. Their roles are noted once all is judged. */
#include "retention_internal.h"

#include <stdlib.h>

struct plan {
    size_t count;
    struct sl_strip_ref (*pair)[2]; /* immediate, dried */
    bool *assumed;                  /* roles were taken from the order */
};

static struct sl_strip *strip_at(const struct sl_document *document, struct sl_strip_ref ref)
{
    return &document->reading[ref.photo]->strip[ref.strip];
}

static void plan_add(struct plan *plan, struct sl_strip_ref immediate, struct sl_strip_ref dried,
                     bool assumed)
{
    plan->pair[plan->count][0] = immediate;
    plan->pair[plan->count][1] = dried;
    plan->assumed[plan->count++] = assumed;
}

static void plan_within(const struct sl_document *document, size_t photo, struct plan *plan)
{
    const struct sl_reading *reading = document->reading[photo];
    bool used[SL_STRIPS_MAX] = {false};
    for (size_t i = 0; i < reading->strip_count; i++) {
        if (reading->strip[i].role != SL_ROLE_IMMEDIATE)
            continue;
        /* the next to the right; where there is none, one on the left will do */
        for (size_t step = 1; step < reading->strip_count; step++) {
            size_t j = (i + step) % reading->strip_count;
            if (reading->strip[j].role != SL_ROLE_DRIED || used[j])
                continue;
            used[j] = true;
            plan_add(plan, (struct sl_strip_ref){photo, i}, (struct sl_strip_ref){photo, j}, false);
            break;
        }
    }
}

static bool same_ink(const struct sl_document *document, size_t photo_a, size_t photo_b)
{
    return sl_name_same(sl_strip_ink(document->reading[photo_a], 0),
                        sl_strip_ink(document->reading[photo_b], 0));
}

/* The first free loose photo with this role, of the same ink if there is one. */
static size_t find_loose(const struct sl_document *document, const bool *loose, size_t partner,
                         enum sl_role role)
{
    size_t other_ink = document->reading_count;
    for (size_t i = 0; i < document->reading_count; i++) {
        if (!loose[i] || i == partner || document->reading[i]->strip[0].role != role)
            continue;
        if (same_ink(document, partner, i))
            return i;
        if (other_ink == document->reading_count)
            other_ink = i;
    }
    return other_ink;
}

static void plan_couple(struct plan *plan, bool *loose, size_t immediate, size_t dried,
                        bool assumed)
{
    loose[immediate] = loose[dried] = false;
    plan_add(plan, (struct sl_strip_ref){immediate, 0}, (struct sl_strip_ref){dried, 0}, assumed);
}

/* `from` photos look for a partner of role `wanted`. */
static void plan_loose(const struct sl_document *document, struct plan *plan, bool *loose,
                       enum sl_role from, enum sl_role wanted)
{
    for (size_t i = 0; i < document->reading_count; i++) {
        if (!loose[i] || document->reading[i]->strip[0].role != from)
            continue;
        size_t j = find_loose(document, loose, i, wanted);
        if (j == document->reading_count)
            continue;
        bool swap = from == SL_ROLE_DRIED;
        plan_couple(plan, loose, swap ? j : i, swap ? i : j,
                    from == SL_ROLE_SINGLE || wanted == SL_ROLE_SINGLE);
    }
}

static void plan_all(const struct sl_document *document, struct plan *plan, bool *loose)
{
    for (size_t i = 0; i < document->reading_count; i++) {
        plan_within(document, i, plan);
        loose[i] = document->reading[i]->strip_count == 1;
    }
    plan_loose(document, plan, loose, SL_ROLE_IMMEDIATE, SL_ROLE_DRIED);
    plan_loose(document, plan, loose, SL_ROLE_IMMEDIATE, SL_ROLE_SINGLE);
    plan_loose(document, plan, loose, SL_ROLE_DRIED, SL_ROLE_SINGLE);
    plan_loose(document, plan, loose, SL_ROLE_SINGLE, SL_ROLE_SINGLE);
}

static sl_code no_pair(const struct sl_document *document, struct sl_status *status)
{
    size_t strips = 0;
    for (size_t i = 0; i < document->reading_count; i++)
        strips += document->reading[i]->strip_count;
    if (document->reading_count == 1 && strips == 1)
        return sl_status_set(status, SL_E_STRIP_COUNT, "retention",
                             "If the photo shows both, tell the corners of each with --corners; "
                             "else give the photo of the other strip too.",
                             "no verdict: it compares two strips, and only one was found in %s",
                             document->reading[0]->photo.file);
    return sl_status_set(status, SL_E_STRIP_COUNT, "retention",
                         "Give one photo of both strips, or a photo of each; say --roles where "
                         "they lie otherwise.",
                         "a pair needs a strip dipped at once and one dried first; in %zu photo%s "
                         "there %s %zu strip%s and no such two",
                         document->reading_count, document->reading_count == 1 ? "" : "s",
                         strips == 1 ? "is" : "are", strips, strips == 1 ? "" : "s");
}

static sl_code judge_plan(struct sl_document *document, const struct plan *plan,
                          struct sl_pair *pairs, struct sl_status *status)
{
    sl_code code = SL_OK;
    for (size_t i = 0; i < plan->count && code == SL_OK; i++) {
        code = sl_pair_judge(document, plan->pair[i][0], plan->pair[i][1], &pairs[i], status);
        if (code == SL_OK && plan->assumed[i])
            sl_warn(&pairs[i].warnings, SL_W_ROLES, "retention",
                    "Say --roles if it was the other way round.",
                    "taken for granted: %s shows the strip dipped at once, %s the one dried first",
                    document->reading[plan->pair[i][0].photo]->photo.file,
                    document->reading[plan->pair[i][1].photo]->photo.file);
    }
    return code;
}

static void keep(struct sl_document *document, const struct plan *plan, struct sl_pair *pairs)
{
    for (size_t i = 0; i < plan->count; i++) {
        strip_at(document, plan->pair[i][0])->role = SL_ROLE_IMMEDIATE;
        strip_at(document, plan->pair[i][1])->role = SL_ROLE_DRIED;
    }
    free(document->pair);
    document->pair = pairs;
    document->pair_count = plan->count;
}

sl_code sl_document_make_pairs(struct sl_document *document, struct sl_status *status)
{
    /* a photo has at most half as many pairs as strips; a loose photo half a pair */
    size_t most = document->reading_count * (SL_STRIPS_MAX / 2) + 1;
    struct plan plan = {.pair = calloc(most, sizeof *plan.pair),
                        .assumed = calloc(most, sizeof *plan.assumed)};
    bool *loose = calloc(document->reading_count + 1, sizeof *loose);
    struct sl_pair *pairs = NULL;
    sl_code code = SL_E_MEMORY;
    if (plan.pair && plan.assumed && loose) {
        plan_all(document, &plan, loose);
        pairs = calloc(plan.count + 1, sizeof *pairs);
    }
    if (!pairs)
        sl_status_set(status, code, "retention", "Read fewer photos at once.",
                      "there is not enough memory for the pairs of %zu photos",
                      document->reading_count);
    else if (plan.count == 0)
        code = no_pair(document, status);
    else
        code = judge_plan(document, &plan, pairs, status);
    if (code == SL_OK) {
        keep(document, &plan, pairs);
        pairs = NULL;
    }
    free(pairs);
    free(loose);
    free(plan.assumed);
    free(plan.pair);
    return code;
}
