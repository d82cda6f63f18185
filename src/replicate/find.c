// SPDX-License-Identifier: GPL-3.0-or-later
/* Which strips are replicates of one another.
 *
 * 1. Strip after strip: it joins the first set of its ink and role whose first strip was run alike.
 *    Where there is such a set but none was run alike, it begins its own and is told why.
 * 2. Sets of one strip are no replicates.
 * 3. Means of the shares, bands matched and their means, strips that disagree. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "replicate_internal.h"

static const char where[] = "replicate";

static bool can_be_combined(const struct sl_strip *strip)
{
    return !sl_strip_is_blank(strip) && !strip->marks.origin_outside;
}

static const char *file_of(const struct sl_reading *reading)
{
    const char *slash = strrchr(reading->photo.file, '/');
    return slash ? slash + 1 : reading->photo.file;
}

/* "strip 2 of row.jpg" */
static void name_strip(struct sl_reading *const *reading, struct sl_strip_ref ref, char *ret,
                       size_t size)
{
    const struct sl_reading *photo = reading[ref.photo];
    if (photo->strip_count > 1)
        snprintf(ret, size, "strip %zu of %s", ref.strip + 1, file_of(photo));
    else
        snprintf(ret, size, "%s", file_of(photo));
}

static void begin(struct sl_replicate *set, const char *ink, enum sl_role role,
                  struct sl_strip_ref ref)
{
    *set = (struct sl_replicate){.role = role, .strip_count = 1};
    snprintf(set->ink, sizeof set->ink, "%s", ink);
    set->strip[0] = ref;
}

static void place(struct sl_reading *const *reading, struct sl_strip_ref ref,
                  struct sl_replicate *sets, size_t *count)
{
    struct sl_strip *strip = &reading[ref.photo]->strip[ref.strip];
    const char *ink = sl_strip_ink(reading[ref.photo], ref.strip);
    char differences[SL_MESSAGE_MAX] = "", other[SL_MESSAGE_MAX] = "";
    for (size_t i = 0; i < *count; i++) {
        struct sl_replicate *set = &sets[i];
        if (set->role != strip->role || !sl_name_same(set->ink, ink) ||
            set->strip_count == SL_REPLICATES_MAX)
            continue;
        const struct sl_reading *const both[2] = {reading[set->strip[0].photo], reading[ref.photo]};
        const size_t strips[2] = {set->strip[0].strip, ref.strip};
        char found[SL_MESSAGE_MAX];
        sl_strips_differ(both, strips, true, found, sizeof found);
        if (!*found) {
            set->strip[set->strip_count++] = ref;
            return;
        }
        if (!*differences) {
            snprintf(differences, sizeof differences, "%s", found);
            name_strip(reading, set->strip[0], other, sizeof other);
        }
    }
    if (*differences)
        sl_warn(&strip->warnings, SL_W_CONDITIONS, where,
                "Combine only strips that were run alike.",
                "this strip was not combined with %.100s, which was run differently: %.180s", other,
                differences);
    begin(&sets[(*count)++], ink, strip->role, ref);
}

static void mean_shares(struct sl_reading *const *reading, struct sl_replicate *set)
{
    double share[2][SL_REPLICATES_MAX], interval[2][SL_REPLICATES_MAX][2];
    for (size_t i = 0; i < set->strip_count; i++) {
        const struct sl_bands *bands =
            &reading[set->strip[i].photo]->strip[set->strip[i].strip].bands;
        share[0][i] = bands->retained_share;
        share[1][i] = bands->bound_share;
        memcpy(interval[0][i], bands->retained_interval, sizeof interval[0][i]);
        memcpy(interval[1][i], bands->bound_interval, sizeof interval[1][i]);
    }
    sl_mean_of(share[0], (const double(*)[2])interval[0], set->strip_count, 0, 1, &set->retained);
    sl_mean_of(share[1], (const double(*)[2])interval[1], set->strip_count, 0, 1, &set->bound);
}

/* The number by which a strip is furthest from the others, in words; 0 where it agrees in all. */
static double worst_of(const struct sl_replicate *set, size_t strip, char *ret, size_t size)
{
    double worst = 1;
    if (fabs(set->retained.deviation[strip]) > worst) {
        worst = fabs(set->retained.deviation[strip]);
        snprintf(ret, size, "its retained share");
    }
    if (fabs(set->bound.deviation[strip]) > worst) {
        worst = fabs(set->bound.deviation[strip]);
        snprintf(ret, size, "its bound share");
    }
    for (size_t k = 0; k < set->band_count; k++) {
        const struct sl_replicate_band *band = &set->band[k];
        if (fabs(band->rf.deviation[strip]) > worst) {
            worst = fabs(band->rf.deviation[strip]);
            snprintf(ret, size, "the Rf of its %s band (mean %.2f)", band->hue_name,
                     band->rf.value);
        }
        if (fabs(band->share.deviation[strip]) > worst) {
            worst = fabs(band->share.deviation[strip]);
            snprintf(ret, size, "the share of its %s band at Rf %.2f", band->hue_name,
                     band->rf.value);
        }
    }
    return worst > 1 ? worst : 0;
}

static void point_at(struct sl_reading *const *reading, struct sl_replicate *set)
{
    static const char again[] =
        "Look at the strip and its photo, and run it again if something went wrong.";
    char list[SL_MESSAGE_MAX] = "", what[96] = "", name[96];
    size_t used = 0, found = 0;
    for (size_t i = 0; i < set->strip_count; i++) {
        if (worst_of(set, i, what, sizeof what) <= 0)
            continue;
        name_strip(reading, set->strip[i], name, sizeof name);
        int n =
            snprintf(list + used, sizeof list - used, "%s%s (%s)", found ? ", " : "", name, what);
        used = n > 0 && used + (size_t)n < sizeof list ? used + (size_t)n : sizeof list - 1;
        found++;
    }
    if (found == 0)
        return;
    if (set->strip_count == 2)
        sl_warn(&set->warnings, SL_W_DISAGREES, where, "Run a third strip.",
                "the two strips disagree by more than chance, and which is right can't be told: "
                "%s",
                list);
    else if (found == 1)
        sl_warn(&set->warnings, SL_W_DISAGREES, where, again,
                "one strip differs from the others by more than chance: %s", list);
    else
        sl_warn(&set->warnings, SL_W_DISAGREES, where, again,
                "%zu strips differ from the others by more than chance: %s", found, list);
}

size_t sl_replicates_most(struct sl_reading *const *reading, size_t count)
{
    size_t strips = 0;
    for (size_t p = 0; p < count; p++)
        strips += reading[p]->strip_count;
    return strips;
}

size_t sl_replicates_find(struct sl_reading *const *reading, size_t count, struct sl_replicate *ret)
{
    size_t sets = 0, kept = 0;
    for (size_t p = 0; p < count; p++)
        for (size_t s = 0; s < reading[p]->strip_count; s++)
            if (can_be_combined(&reading[p]->strip[s]) && *sl_strip_ink(reading[p], s))
                place(reading, (struct sl_strip_ref){p, s}, ret, &sets);
    for (size_t i = 0; i < sets; i++) {
        if (ret[i].strip_count < 2)
            continue;
        ret[kept] = ret[i];
        mean_shares(reading, &ret[kept]);
        sl_replicate_match(reading, &ret[kept]);
        point_at(reading, &ret[kept++]);
    }
    return kept;
}
