// SPDX-License-Identifier: GPL-3.0-or-later
/* Looks closely at one pair of lines, in a raster straightened between them.
 * 1. (find_raster.c) Rows across the pair, far beyond the lines' overlap: colours inside and just
 * outside, how strong an edge each side shows there, and which columns show an edge across or
 * along.
 * 2. (find_ends.c) The ends: the interval in which the sides go on, closed at both ends by an edge
 * across at which the colour changes; bands of ink are such edges too, but the sides go on beyond
 * them.
 * 3. The end lines, for ends cut askew.
 * 4. (find_judge.c) Quality, a product of what must hold: sides and ends seen, shape, the same
 * colour across the width at every height (bands cross a strip; ticks, writing and grain don't), no
 * edge running along inside (two strips, a ruler's scale), paper that is no darker than what lies
 * around it and differs from it. */
#include "strip/find_probe.h"

#include <math.h>
#include <stdlib.h>

static const double CUT_WORTH = 0.8;     /* of what the frame cuts at one end */
static const double THROUGH_WORTH = 0.3; /* of what runs through the photo from frame to frame */

/* Steps 3 and 4 for one interval. */
static struct find_quad close_ends(const struct probe_raster *r, const struct find_picture *picture,
                                   const struct find_quad *pair, struct probe_ends e)
{
    struct find_quad q = *pair;
    double noise = picture->noise[0];
    bool cut_low = probe_is_cut(r, e.low), cut_high = probe_is_cut(r, e.high);
    q.cut_off = cut_low || cut_high;
    const struct probe_end end[2] = {probe_end_see(r, pair, e.low, 1, noise),
                                     probe_end_see(r, pair, e.high, -1, noise)};
    q.end_lower = end[0].gain;
    q.end_upper = end[1].gain;
    q.lower = cut_low ? r->s0 : probe_end_line(r, pair, e.low, &end[0], &q.lower_slope);
    q.upper = cut_high ? r->s0 + (r->count - 1) * r->step
                       : probe_end_line(r, pair, e.high, &end[1], &q.upper_slope);
    q.lower_off[0] = r->row[e.low].off_left;
    q.lower_off[1] = r->row[e.low].off_right;
    q.upper_off[0] = r->row[e.high].off_left;
    q.upper_off[1] = r->row[e.high].off_right;
    probe_judge(r, picture, pair, e, end, &q);
    if (cut_low || cut_high)
        q.quality *= cut_low && cut_high ? THROUGH_WORTH : CUT_WORTH;
    return q;
}

double find_quad_worth(const struct find_quad *q)
{
    return q->quality * q->clean_ends * sqrt(q->width * (q->upper - q->lower));
}

void find_quad_probe(const struct find_picture *picture, const struct find_edges *edges,
                     struct find_quad *quad)
{
    struct probe_raster *r = malloc(sizeof *r);
    struct probe_ends ends[PROBE_ENDS_MAX];
    struct find_quad best = *quad;
    best.quality = 0;
    if (!r)
        goto done;
    probe_raster_fill(picture, edges, quad, r);
    int n = r->count < 8 ? 0 : probe_ends_find(r, quad, picture->noise[0], ends);
    for (int k = 0; k < n; k++) {
        struct find_quad q = close_ends(r, picture, quad, ends[k]);
        if (find_quad_worth(&q) > find_quad_worth(&best))
            best = q;
    }
done:
    *quad = best;
    free(r);
}

void find_quad_corners(const struct find_quad *q, struct sl_point ret[4])
{
    double ls = q->lower_slope / 2, us = q->upper_slope / 2;
    ret[0] = probe_side_point(q, false, q->lower - ls, q->lower_off[0]);
    ret[1] = probe_side_point(q, true, q->lower + ls, q->lower_off[1]);
    ret[2] = probe_side_point(q, true, q->upper + us, q->upper_off[1]);
    ret[3] = probe_side_point(q, false, q->upper - us, q->upper_off[0]);
}
