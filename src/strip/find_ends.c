// SPDX-License-Identifier: GPL-3.0-or-later
/* Steps 2 and 3 of probing a pair of lines: where its ends are, and their lines. */
#include "strip/find_probe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double ASPECT_LEAST = 1.7, ASPECT_MOST = 10.5;
static const double ROW_COST = 0.55;  /* a row with one side only neither gains nor loses much */
static const double END_GAIN = 0.45;  /* a closed end is worth this many widths of sides */
static const double FRAME_GAIN = 0.6; /* the photo's frame instead of an end */

/* Part of the columns with an edge across within `reach` rows. */
static double across_near(const struct probe_raster *r, int at, int reach)
{
    int hit = 0;
    for (int k = 0; k < PROBE_COLUMNS; k++)
        for (int i = at - reach; i <= at + reach; i++)
            if (i >= 0 && i < r->count && r->row[i].across[k]) {
                hit++;
                break;
            }
    return (double)hit / PROBE_COLUMNS;
}

/* Colour change at an end in parts of that at the sides beside it, or of the usual one, as the
 * strip's own shadow may lie beside it; `inward` is +1 or -1. */
static double end_step(const struct probe_raster *r, const struct find_quad *q, int at, int inward,
                       double noise)
{
    int near = probe_rows_of(r, q, 0.06), far = near + probe_rows_of(r, q, 0.12);
    int i0 = at + inward * near, i1 = at + inward * far, o0 = at - inward * near;
    int o1 = at - inward * far;
    float in[FIND_PLANES], out[FIND_PLANES];
    if (o0 < 0 || o0 >= r->count)
        return 0;
    probe_mean(r, i0 < i1 ? i0 : i1, i0 < i1 ? i1 : i0, in);
    probe_mean(r, o0 < o1 ? o0 : o1, o0 < o1 ? o1 : o0, out);
    double sides = fmin(probe_sides_step(r, i0, i1), probe_usual_step(r, at));
    return find_distance(in, out) / (sides + 2 * noise);
}

struct probe_end probe_end_see(const struct probe_raster *r, const struct find_quad *q, int at,
                               int inward, double noise)
{
    int reach = probe_rows_of(r, q, 0.09);
    struct probe_end open = {FRAME_GAIN, 0, -1};
    if (probe_is_cut(r, at))
        return open;
    double seen = 0.5 * across_near(r, at, reach) + 0.5 * across_near(r, at, reach / 3);
    open.gain = seen * probe_ramp(end_step(r, q, at, inward, noise), 0.1, 0.6);
    struct probe_end held = probe_end_held(r, q, at, inward, noise);
    return held.gain > open.gain ? held : open;
}

/* Keeps the best few intervals, of near-alike ones the better. */
static int keep_ends(struct probe_ends *best, int n, struct probe_ends e, int alike)
{
    for (int k = 0; k < n; k++)
        if (abs(best[k].low - e.low) <= alike && abs(best[k].high - e.high) <= alike) {
            if (e.score > best[k].score)
                best[k] = e;
            return n;
        }
    if (n < PROBE_ENDS_MAX) {
        best[n] = e;
        return n + 1;
    }
    int worst = 0;
    for (int k = 1; k < n; k++)
        if (best[k].score < best[worst].score)
            worst = k;
    if (best[worst].score < e.score)
        best[worst] = e;
    return n;
}

/* Step 2: intervals with a high sum, where a row counts for what its sides show. */
int probe_ends_find(const struct probe_raster *r, const struct find_quad *q, double noise,
                    struct probe_ends best[PROBE_ENDS_MAX])
{
    double sum[PROBE_ROWS_MAX + 1], low[PROBE_ROWS_MAX], high[PROBE_ROWS_MAX];
    double gain = END_GAIN * q->width / r->step;
    int n = 0, alike = probe_rows_of(r, q, 0.15);
    sum[0] = 0;
    for (int i = 0; i < r->count; i++) {
        const struct probe_row *row = &r->row[i];
        double sides = 0.5 * ((double)row->part_left + (double)row->part_right);
        sum[i + 1] = sum[i] + sides - ROW_COST;
        low[i] = gain * probe_end_see(r, q, i, 1, noise).gain;
        high[i] = gain * probe_end_see(r, q, i, -1, noise).gain;
    }
    int least = (int)(ASPECT_LEAST * q->width / r->step);
    int most = (int)(ASPECT_MOST * q->width / r->step);
    for (int i = 0; i < r->count; i++) {
        if (low[i] < 0.2 * gain)
            continue;
        for (int j = i + least; j < r->count && j <= i + most; j++) {
            double score = sum[j + 1] - sum[i] + low[i] + high[j];
            if (high[j] >= 0.2 * gain && score > 0)
                n = keep_ends(best, n, (struct probe_ends){i, j, score}, alike);
        }
    }
    return n;
}

/* Step 3: in each column the edge across nearest to the end, then the median of slopes between
 * columns half a width apart and the median of what remains (Theil-Sen). */
double probe_end_line(const struct probe_raster *r, const struct find_quad *q, int at,
                      const struct probe_end *end, double *ret_slope)
{
    double place[PROBE_COLUMNS], slope[PROBE_COLUMNS * PROBE_COLUMNS], rest[PROBE_COLUMNS];
    int column[PROBE_COLUMNS], n = 0, slopes = 0, reach = probe_rows_of(r, q, 0.16);
    for (int k = 0; k < PROBE_COLUMNS; k++)
        for (int d = 0; d <= reach && (k < end->cover_from || k > end->cover_to); d++) {
            bool above = at + d < r->count && r->row[at + d].across[k];
            bool below = at - d >= 0 && r->row[at - d].across[k];
            if (above || below) {
                column[n] = k;
                place[n++] = r->s0 + (at + (above ? d : -d)) * r->step;
                break;
            }
        }
    bool held = end->cover_to >= end->cover_from;
    for (int i = 0; i < n; i++)
        for (int j = i + 1; j < n; j++)
            if (held ? column[j] - column[i] >= PROBE_COLUMNS / 2
                     : column[j] - column[i] == PROBE_COLUMNS / 2)
                slope[slopes++] = (place[j] - place[i]) * PROBE_COLUMNS / (column[j] - column[i]);
    *ret_slope = slopes >= 3 ? probe_between(probe_quantile(slope, slopes, 0.5), -0.4 * q->width,
                                             0.4 * q->width)
                             : 0;
    for (int i = 0; i < n; i++)
        rest[i] = place[i] - *ret_slope * ((column[i] + 0.5) / PROBE_COLUMNS - 0.5);
    int open = PROBE_COLUMNS - (end->cover_to - end->cover_from + 1);
    return 3 * n >= open ? probe_quantile(rest, n, 0.5) : r->s0 + at * r->step;
}
