// SPDX-License-Identifier: GPL-3.0-or-later
/* Ends that a peg or a clip holds: it lies over the middle or one corner of the end and goes on
 * beyond it, so that the end's edge shows in the other columns only.
 * 1. Columns end where the colour changes, all the more where an edge runs across.
 * 2. The cover is the widest run of columns between them without either, unlike the paper of the
 *    columns that end and unlike the table beyond them: a gap in a faint edge is like one of both.
 * 3. Paper comes back where the cover ends: in a gap between two strips nothing does.
 * 4. The gain is that of the columns beside the cover, less a little. */
#include "strip/find_probe.h"

#include <math.h>
#include <string.h>

enum { COVER_LEAST = 3, BESIDE_LEAST = 3 }; /* columns */
/* Of the step at the sides; alone: where no edge runs across, as at rounded corners. */
static const double COLUMN_STEP = 0.35, COLUMN_STEP_ALONE = 0.6, UNLIKE = 0.3;
static const double UNLIKE_LEAST = 0.08; /* root of light; a shadow on paper of a sixth */
static const double DEEPEST = 1.4;       /* widths that a cover reaches over the paper */
static const double HELD_WORTH =
    0.9; /* what the gain is worth beside that of an end in full view */

/* What is seen at one row, where an end may be. */
struct view {
    double sides; /* step from inside to outside at the sides */
    bool ends[PROBE_COLUMNS];
    float in[PROBE_COLUMNS][FIND_PLANES], out[PROBE_COLUMNS][FIND_PLANES];
};

static void column_mean(const struct probe_raster *r, int column, int from, int to,
                        float ret[FIND_PLANES])
{
    int low = from < to ? from : to, high = from < to ? to : from, n = 0;
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int i = low < 0 ? 0 : low; i <= high && i < r->count; i++, n++)
        for (int c = 0; c < FIND_PLANES; c++)
            ret[c] += r->row[i].inside[column][c];
    for (int c = 0; c < FIND_PLANES && n > 0; c++)
        ret[c] /= (float)n;
}

static bool across(const struct probe_raster *r, int column, int at, int reach)
{
    for (int i = at - reach < 0 ? 0 : at - reach; i <= at + reach && i < r->count; i++)
        if (r->row[i].across[column])
            return true;
    return false;
}

/* Step 1. */
static bool look(const struct probe_raster *r, const struct find_quad *q, int at, int inward,
                 double noise, struct view *ret)
{
    int reach = probe_rows_of(r, q, 0.09);
    int near = probe_rows_of(r, q, 0.06), far = near + probe_rows_of(r, q, 0.12);
    if (at - inward * far < 0 || at - inward * far >= r->count || at + inward * far < 0 ||
        at + inward * far >= r->count)
        return false;
    ret->sides = fmin(probe_sides_step(r, at + inward * near, at + inward * far),
                      probe_usual_step(r, at + inward * far)) +
                 2 * noise;
    int count = 0;
    for (int k = 0; k < PROBE_COLUMNS; k++) {
        column_mean(r, k, at + inward * near, at + inward * far, ret->in[k]);
        column_mean(r, k, at - inward * near, at - inward * far, ret->out[k]);
        double step = find_distance(ret->in[k], ret->out[k]) / ret->sides;
        ret->ends[k] = step > (across(r, k, at, reach) ? COLUMN_STEP : COLUMN_STEP_ALONE);
        count += ret->ends[k];
    }
    return count >= BESIDE_LEAST;
}

/* Mean colours of the columns that end, or of the cover's. */
static void colours(const struct view *v, const struct probe_end *e, bool covered,
                    float in[FIND_PLANES], float out[FIND_PLANES])
{
    int n = 0;
    memset(in, 0, FIND_PLANES * sizeof *in);
    memset(out, 0, FIND_PLANES * sizeof *out);
    for (int k = 0; k < PROBE_COLUMNS; k++) {
        bool inner = k > e->cover_from && k < e->cover_to; /* its edges are blurred */
        if (covered ? !inner : !v->ends[k])
            continue;
        n++;
        for (int c = 0; c < FIND_PLANES; c++) {
            in[c] += v->in[k][c];
            out[c] += v->out[k][c];
        }
    }
    for (int c = 0; c < FIND_PLANES && n > 0; c++) {
        in[c] /= (float)n;
        out[c] /= (float)n;
    }
}

/* Step 2. */
static void widest_gap(const struct view *v, struct probe_end *ret)
{
    for (int k = 0, from = 0; k <= PROBE_COLUMNS; k++)
        if (k == PROBE_COLUMNS || v->ends[k]) {
            if (k - 1 - from > ret->cover_to - ret->cover_from) {
                ret->cover_from = from;
                ret->cover_to = k - 1;
            }
            from = k + 1;
        }
}

/* As bright as paper or brighter, for the cover throws a shadow, and of its tint. */
static bool is_paper(const float colour[FIND_PLANES], const float paper[FIND_PLANES], double near)
{
    double scale = fmax((double)colour[0], 0.02) / fmax((double)paper[0], 0.02);
    return (double)(paper[0] - colour[0]) < near &&
           hypot((double)colour[1] - scale * (double)paper[1],
                 (double)colour[2] - scale * (double)paper[2]) < near;
}

/* Step 3: in most of the cover's columns. */
static bool paper_comes_back(const struct probe_raster *r, const struct find_quad *q, int at,
                             int inward, const struct probe_end *e, const float paper[FIND_PLANES],
                             double near)
{
    int back = 0, deepest = probe_rows_of(r, q, DEEPEST), run = probe_rows_of(r, q, 0.1);
    for (int k = e->cover_from; k <= e->cover_to; k++) {
        int alike = 0;
        for (int d = 0; d <= deepest && alike < run; d++) {
            int i = at + inward * d;
            if (i < 0 || i >= r->count)
                break;
            alike = is_paper(r->row[i].inside[k], paper, near) ? alike + 1 : 0;
        }
        back += alike >= run;
    }
    return 2 * back > e->cover_to - e->cover_from + 1;
}

struct probe_end probe_end_held(const struct probe_raster *r, const struct find_quad *q, int at,
                                int inward, double noise)
{
    static const struct probe_end none = {0, 0, -1};
    struct probe_end e = none;
    struct view v;
    if (probe_is_cut(r, at) || !look(r, q, at, inward, noise, &v))
        return none;
    widest_gap(&v, &e);
    int width = e.cover_to - e.cover_from + 1, beside = 0;
    for (int k = 0; k < PROBE_COLUMNS; k++)
        beside += v.ends[k];
    float paper[FIND_PLANES], table[FIND_PLANES], in[FIND_PLANES], out[FIND_PLANES];
    colours(&v, &e, false, paper, table);
    colours(&v, &e, true, in, out);
    double unlike = fmax(UNLIKE * v.sides, UNLIKE_LEAST);
    if (width < COVER_LEAST || find_distance(in, paper) < unlike ||
        find_distance(out, table) < unlike ||
        !paper_comes_back(r, q, at, inward, &e, paper, unlike))
        return none;
    e.gain = HELD_WORTH * beside / (PROBE_COLUMNS - width) *
             probe_ramp(find_distance(paper, table) / v.sides, 0.1, 0.6);
    return e;
}
