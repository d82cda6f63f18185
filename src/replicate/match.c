// SPDX-License-Identifier: GPL-3.0-or-later
/* Which bands of the strips are one dye.
 *
 * 1. All pairs of bands of two strips that can be one dye (sl_bands_alike; what never left the line
 *    pairs with its like), with how far they lie apart in parts of what is allowed.
 * 2. Nearest first they are joined, as long as no strip gets two bands in one dye. The order of the
 *    strips does not matter.
 * 3. What is left alone is a dye that was seen on one strip only. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "replicate_internal.h"
#include "strandline/colour.h"

enum { NODES = SL_REPLICATES_MAX * SL_BANDS_MAX };

struct link {
    size_t a, b; /* nodes */
    double distance;
};

struct graph {
    const struct sl_bands *bands[SL_REPLICATES_MAX];
    size_t strips;
    size_t group[NODES]; /* of each node: strip x SL_BANDS_MAX + band */
    size_t link_count;
    struct link *link;
};

static const struct sl_band *band_of(const struct graph *graph, size_t node)
{
    return &graph->bands[node / SL_BANDS_MAX]->item[node % SL_BANDS_MAX];
}

/* In parts of the allowance; infinite for what can't be one dye. */
static double distance(const struct sl_band *a, const struct sl_band *b)
{
    struct sl_likeness likeness;
    if (a->retained != b->retained)
        return INFINITY;
    if (a->retained)
        return 0;
    if (!sl_bands_alike(a, b, &likeness))
        return INFINITY;
    return hypot(likeness.rf_difference / likeness.rf_allowance,
                 likeness.angle_deg / likeness.angle_allowance_deg);
}

static void link_strips(struct graph *graph, size_t s, size_t t)
{
    for (size_t i = 0; i < graph->bands[s]->count; i++)
        for (size_t j = 0; j < graph->bands[t]->count; j++) {
            size_t a = s * SL_BANDS_MAX + i, b = t * SL_BANDS_MAX + j;
            double d = distance(band_of(graph, a), band_of(graph, b));
            if (isfinite(d))
                graph->link[graph->link_count++] = (struct link){a, b, d};
        }
}

/* Ties by node, so that one set gives one answer. */
static int nearer(const void *pa, const void *pb)
{
    const struct link *a = pa, *b = pb;
    if (a->distance != b->distance)
        return a->distance < b->distance ? -1 : 1;
    return a->a != b->a ? (a->a < b->a ? -1 : 1) : (a->b > b->b) - (a->b < b->b);
}

static bool share_a_strip(const struct graph *graph, size_t g, size_t h)
{
    for (size_t s = 0; s < graph->strips; s++) {
        bool in_g = false, in_h = false;
        for (size_t i = 0; i < graph->bands[s]->count; i++) {
            in_g = in_g || graph->group[s * SL_BANDS_MAX + i] == g;
            in_h = in_h || graph->group[s * SL_BANDS_MAX + i] == h;
        }
        if (in_g && in_h)
            return true;
    }
    return false;
}

static void join(struct graph *graph)
{
    qsort(graph->link, graph->link_count, sizeof *graph->link, nearer);
    for (size_t k = 0; k < graph->link_count; k++) {
        size_t g = graph->group[graph->link[k].a], h = graph->group[graph->link[k].b];
        if (g == h || share_a_strip(graph, g, h))
            continue;
        for (size_t n = 0; n < graph->strips * SL_BANDS_MAX; n++)
            if (graph->group[n] == h)
                graph->group[n] = g;
    }
}

static struct sl_replicate_band gather(const struct graph *graph, size_t group)
{
    struct sl_replicate_band band = {0};
    double rf[SL_REPLICATES_MAX], rf_interval[SL_REPLICATES_MAX][2];
    double share[SL_REPLICATES_MAX], share_interval[SL_REPLICATES_MAX][2], seen = 0;
    for (size_t s = 0; s < graph->strips; s++) {
        band.band[s] = SL_NO_BAND;
        rf[s] = share[s] = NAN;
        rf_interval[s][0] = rf_interval[s][1] = NAN;
        share_interval[s][0] = share_interval[s][1] = NAN;
        for (size_t i = 0; i < graph->bands[s]->count; i++) {
            if (graph->group[s * SL_BANDS_MAX + i] != group)
                continue;
            const struct sl_band *item = &graph->bands[s]->item[i];
            band.band[s] = i;
            band.retained = item->retained;
            rf[s] = item->rf;
            share[s] = item->share;
            memcpy(rf_interval[s], item->rf_interval, sizeof rf_interval[s]);
            memcpy(share_interval[s], item->share_interval, sizeof share_interval[s]);
            for (int c = 0; c < 3; c++)
                band.lab_d50[c] += item->lab_d50[c];
            seen++;
        }
    }
    for (int c = 0; c < 3; c++)
        band.lab_d50[c] /= fmax(seen, 1);
    band.hue_name = sl_hue_name(band.lab_d50);
    sl_mean_of(rf, (const double(*)[2])rf_interval, graph->strips, -INFINITY, INFINITY, &band.rf);
    sl_mean_of(share, (const double(*)[2])share_interval, graph->strips, 0, 1, &band.share);
    return band;
}

/* On more strips first, then with the larger share: what there is no room for falls out. */
static bool weighs_more(const struct sl_replicate_band *a, const struct sl_replicate_band *b)
{
    if (a->rf.count != b->rf.count)
        return a->rf.count > b->rf.count;
    return a->share.value > b->share.value;
}

static void keep(struct sl_replicate *set, const struct sl_replicate_band *band)
{
    size_t at = set->band_count;
    if (at == SL_BANDS_MAX) {
        at = 0;
        for (size_t i = 1; i < set->band_count; i++)
            if (weighs_more(&set->band[at], &set->band[i]))
                at = i;
        if (!weighs_more(band, &set->band[at]))
            return;
    } else {
        set->band_count++;
    }
    set->band[at] = *band;
}

static int lower(const void *pa, const void *pb)
{
    const struct sl_replicate_band *a = pa, *b = pb;
    return (a->rf.value > b->rf.value) - (a->rf.value < b->rf.value);
}

void sl_replicate_match(struct sl_reading *const *reading, struct sl_replicate *set)
{
    struct graph *graph = calloc(1, sizeof *graph);
    size_t most = set->strip_count * (set->strip_count - 1) / 2 * SL_BANDS_MAX * SL_BANDS_MAX;
    struct link *links = calloc(most + 1, sizeof *links);
    if (!graph || !links)
        goto done; /* the shares of the whole strip stand without bands */
    graph->link = links;
    graph->strips = set->strip_count;
    for (size_t s = 0; s < set->strip_count; s++)
        graph->bands[s] = &reading[set->strip[s].photo]->strip[set->strip[s].strip].bands;
    for (size_t n = 0; n < graph->strips * SL_BANDS_MAX; n++)
        graph->group[n] = n;
    for (size_t s = 0; s < graph->strips; s++)
        for (size_t t = s + 1; t < graph->strips; t++)
            link_strips(graph, s, t);
    join(graph);
    for (size_t n = 0; n < graph->strips * SL_BANDS_MAX; n++) {
        bool is_first = n % SL_BANDS_MAX < graph->bands[n / SL_BANDS_MAX]->count;
        for (size_t m = 0; m < n && is_first; m++)
            is_first = m % SL_BANDS_MAX >= graph->bands[m / SL_BANDS_MAX]->count ||
                       graph->group[m] != graph->group[n];
        if (!is_first)
            continue;
        struct sl_replicate_band band = gather(graph, graph->group[n]);
        keep(set, &band);
    }
    qsort(set->band, set->band_count, sizeof *set->band, lower);
done:
    free(links);
    free(graph);
}
