// SPDX-License-Identifier: GPL-3.0-or-later
/* Which way strips lie and in which order, judged for all strips of a photo together: people lay
 * the strips of one photo side by side, the same way round (common practice, no source). */
#include "reading_internal.h"

#include <math.h>
#include <string.h>

/* Below this doubt a strip's own evidence is not overruled by its neighbours. */
static const double DOUBT_OPEN = 0.005;
/* Strips that lie within 60 degrees of one line count as parallel. */
static const double PARALLEL_COSINE = 0.5;

static struct sl_point middle(struct sl_point a, struct sl_point b)
{
    return (struct sl_point){(a.x + b.x) / 2, (a.y + b.y) / 2};
}

static struct sl_point unit(struct sl_point from, struct sl_point to)
{
    double x = to.x - from.x, y = to.y - from.y, n = hypot(x, y);
    return n > 0 ? (struct sl_point){x / n, y / n} : (struct sl_point){0, 0};
}

static double dot(struct sl_point a, struct sl_point b)
{
    return a.x * b.x + a.y * b.y;
}

/* From the lower to the upper end. */
static struct sl_point up_direction(const struct sl_outline *o)
{
    return unit(middle(o->corner_px[0], o->corner_px[1]), middle(o->corner_px[2], o->corner_px[3]));
}

static struct sl_point right_direction(const struct sl_outline *o)
{
    return unit(middle(o->corner_px[0], o->corner_px[3]), middle(o->corner_px[1], o->corner_px[2]));
}

static struct sl_point centre(const struct sl_outline *o)
{
    return middle(middle(o->corner_px[0], o->corner_px[1]),
                  middle(o->corner_px[2], o->corner_px[3]));
}

/* Log odds that the strip lies as its marks say. */
static double certainty(const struct sl_marks *marks)
{
    double doubt = fmin(fmax(marks->orientation_doubt, 1e-4), 0.5);
    return log((1 - doubt) / doubt);
}

int sl_read_disagrees(const struct sl_read_item *items, size_t count)
{
    int worst = -1;
    double worst_gain = 0;
    for (size_t i = 0; i < count; i++) {
        const struct sl_read_item *it = &items[i];
        if (it->marks.orientation_doubt < DOUBT_OPEN || it->hints.upside_down >= 0 ||
            it->found.given)
            continue;
        double others = 0;
        for (size_t j = 0; j < count; j++) {
            double c = dot(up_direction(&it->outline), up_direction(&items[j].outline));
            if (j != i && fabs(c) > PARALLEL_COSINE)
                others += (c < 0 ? 1 : -1) * certainty(&items[j].marks);
        }
        double gain = others - certainty(&it->marks);
        if (gain > worst_gain) {
            worst_gain = gain;
            worst = (int)i;
        }
    }
    return worst;
}

void sl_read_sort(struct sl_read_item *items, size_t count)
{
    struct sl_point right = {0, 0};
    for (size_t i = 0; i < count; i++) {
        struct sl_point r = right_direction(&items[i].outline);
        right.x += r.x;
        right.y += r.y;
    }
    for (size_t i = 1; i < count; i++) /* insertion: at most eight, and stable */
        for (size_t j = i; j > 0 && dot(centre(&items[j].outline), right) <
                                        dot(centre(&items[j - 1].outline), right);
             j--) {
            struct sl_read_item swap = items[j];
            items[j] = items[j - 1];
            items[j - 1] = swap;
        }
}
