// SPDX-License-Identifier: GPL-3.0-or-later
/* Step 4 of probing a pair of lines: how well what lies between two ends looks like a strip. */
#include "strip/find_probe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double STEP_PX = 3; /* of a sharp edge in the smoothed picture: step over slope */
static const double STEPPED_NONE = 0.08, STEPPED_FULL = 0.35;

static const double DARK_LOSS = 0.4, GREY_LOSS = 0.75; /* of what is darker than the table */
static const double AROUND_LOSS = 0.15; /* the same of brown paper with one table all around it */
static const double AROUND_ALIKE = 0.4; /* of the contrast */
static const double BLANK_WORTH =
    0.8; /* of paper without ink: a card's margin more often than a strip */
static const double ALIKE_STEP = 0.35; /* of the usual step */
/* Of `apart`, the more telling end's part in it, and what is left of the table between two strips.
 */
static const double APART_NONE = 0.35, APART_FULL = 0.6, APART_CLEARER = 0.7, GAP_WORTH = 0.1;
static const double SEEN = 0.5;      /* of a row's side */
static const double NEIGHBOUR = 0.6; /* what a row counts whose side lies on paper */
/* Scissors that slip by 10 % seen at a slant of 15 degrees give 0.25; two strips that lie at an
 * angle, or a strip and what lies beside it, more. */
static const double TAPER_FULL = 0.25, TAPER_NONE = 0.45;
/* What a held end's or a cut end's colour counts: a peg throws a shadow, the frame may cut in dye.
 */
static const double SHADED = 0.6;

struct look {
    double paper[FIND_PLANES];
    double table[FIND_PLANES]; /* colour beside the paper's clean rows */
    double dyed; /* how far the colour just within an end is from clean paper's; the worse end's */
    double contrast; /* median over rows and sides of the step from inside to outside */
    double uneven;   /* mean distance of left part, middle and right part at the same height */
    double varied;   /* how far rows differ from one another: ink */
    double darker;   /* how much darker the paper is than outside, in parts of outside */
    double side_left, side_right;   /* part of the rows with an edge */
    double clean_left, clean_right; /* the same of the brighter half of the rows */
    double along;                   /* most of an inner column's rows with an edge along */
    double beyond; /* part of the rows beyond the ends in which both sides go on; the worse end's */
    double stepped; /* contrast in parts of what the edge's steepness makes expect: ruled lines are
                       steep, and the same on both sides */
    double within;  /* the same just within the ends, of either side */
    double open_left, open_right;   /* part of the rows where paper lies outside too */
    double alike_left, alike_right; /* part of the rows with hardly a step at the side */
    double scale;                   /* part of the rows with an edge across at one side only */
    double apart[2]; /* what lies beyond an end: 1 as what lies beside it, 0 as what lies within */
    bool alone; /* the same lies beside both sides and beyond both ends, or three of the four */
};

static void part_of(const struct probe_row *r, int from, float ret[FIND_PLANES])
{
    for (int c = 0; c < FIND_PLANES; c++)
        ret[c] = (r->inside[from][c] + r->inside[from + 1][c] + r->inside[from + 2][c] +
                  r->inside[from + 3][c]) /
                 4;
}

static double brightness_above(const struct probe_raster *r, int low, int high, double part)
{
    double light[PROBE_ROWS_MAX];
    int n = 0;
    for (int i = low; i <= high; i++)
        light[n++] = (double)r->row[i].mean[0];
    return probe_quantile(light, n, part);
}

/* Clean paper is the brightest sixth of the rows; mean over them. */
static void read_paper(const struct probe_raster *r, int low, int high, struct look *ret)
{
    double least = brightness_above(r, low, high, 5. / 6);
    int taken = 0;
    for (int i = low; i <= high; i++) {
        const struct probe_row *row = &r->row[i];
        if ((double)row->mean[0] < least)
            continue;
        for (int c = 0; c < FIND_PLANES; c++) {
            ret->paper[c] += (double)row->mean[c];
            ret->table[c] += 0.5 * ((double)row->left[c] + (double)row->right[c]);
        }
        taken++;
    }
    for (int c = 0; c < FIND_PLANES; c++) {
        ret->paper[c] /= taken;
        ret->table[c] /= taken;
    }
    ret->table[0] = fmax(ret->table[0], 0.02);
    ret->darker = (ret->table[0] - ret->paper[0]) / ret->table[0];
}

/* How much redder and yellower than the table. */
static double brownness(const struct look *k)
{
    double paper = fmax(k->paper[0], 0.02);
    return (k->paper[1] + k->paper[2]) / paper - (k->table[1] + k->table[2]) / k->table[0];
}

static double inner_along(const struct probe_raster *r, int low, int high)
{
    double most = 0;
    for (int k = PROBE_MARGIN; k + 1 < PROBE_COLUMNS - PROBE_MARGIN; k++) {
        int hit = 0;
        for (int i = low; i <= high; i++)
            hit += r->row[i].along[k] || r->row[i].along[k + 1];
        most = fmax(most, (double)hit / (high - low + 1));
    }
    return most;
}

static double both_sides(const struct probe_raster *r, int from, int to)
{
    double left = 0, right = 0;
    int n = 0;
    for (int i = from < 0 ? 0 : from; i <= to && i < r->count; i++, n++) {
        left += (double)r->row[i].part_left;
        right += (double)r->row[i].part_right;
    }
    return n ? fmin(left, right) / n : 0;
}

/* Close to the end, where a peg's edge was taken for it, or further on, where a band's was. */
static double goes_on(const struct probe_raster *r, const struct find_quad *q, int at, int outward)
{
    int near = at + outward * probe_rows_of(r, q, 0.10),
        middle = at + outward * probe_rows_of(r, q, 0.26);
    int far = at + outward * probe_rows_of(r, q, 0.7);
    if (probe_is_cut(r, at))
        return 0;
    return fmax(both_sides(r, near < middle ? near : middle, near < middle ? middle : near),
                both_sides(r, near < far ? near : far, near < far ? far : near));
}

/* What each row's sides count for: as far as they are seen, or where what lies outside is paper
 * too, as another strip's or a light stripe of the cloth, a good part. */
struct credit {
    double left[PROBE_ROWS_MAX], right[PROBE_ROWS_MAX];
    double open_left, open_right; /* part of the rows that are given credit */
};

/* Mean colour outside where the sides are seen. */
static bool usual_outside(const struct probe_raster *r, int low, int high, float ret[FIND_PLANES])
{
    int n = 0;
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int i = low; i <= high; i++)
        for (int side = 0; side < 2; side++) {
            const struct probe_row *row = &r->row[i];
            if ((double)(side ? row->part_right : row->part_left) < SEEN)
                continue;
            n++;
            for (int c = 0; c < FIND_PLANES; c++)
                ret[c] += side ? row->right[c] : row->left[c];
        }
    for (int c = 0; c < FIND_PLANES && n > 0; c++)
        ret[c] /= (float)n;
    return n > 0;
}

static void give_credit(const struct probe_raster *r, int low, int high,
                        const double clean[FIND_PLANES], struct credit *ret)
{
    float table[FIND_PLANES],
        paper[FIND_PLANES] = {(float)clean[0], (float)clean[1], (float)clean[2]};
    bool known = usual_outside(r, low, high, table);
    ret->open_left = ret->open_right = 0;
    for (int i = low; i <= high; i++) {
        const struct probe_row *row = &r->row[i];
        double left = (double)row->part_left, right = (double)row->part_right;
        bool by_left = known && find_distance(row->left, paper) < find_distance(row->left, table);
        bool by_right =
            known && find_distance(row->right, paper) < find_distance(row->right, table);
        bool open_left = by_left && left < NEIGHBOUR && (row->side_left > 0 || right >= SEEN);
        bool open_right = by_right && right < NEIGHBOUR && (row->side_right > 0 || left >= SEEN);
        ret->left[i] = open_left ? NEIGHBOUR : left;
        ret->right[i] = open_right ? NEIGHBOUR : right;
        ret->open_left += (double)open_left / (high - low + 1);
        ret->open_right += (double)open_right / (high - low + 1);
    }
}

/* How far both sides are still seen just within an end. */
static double reaches(const struct probe_raster *r, const struct find_quad *q,
                      const struct credit *credit, int at, int inward)
{
    double sum = 0;
    int n = 0, near = probe_rows_of(r, q, 0.08), far = probe_rows_of(r, q, 0.45);
    for (int d = near; d <= far; d++) {
        int i = at + inward * d;
        if (i < 0 || i >= r->count)
            break;
        sum += credit->left[i] + credit->right[i];
        n += 2;
    }
    return n ? sum / n : 0;
}

/* Mean colour of what no peg covers nor the sides blur. */
static void open_mean(const struct probe_raster *r, int from, int to, const struct probe_end *end,
                      float ret[FIND_PLANES])
{
    int n = 0;
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int k = 1; k < PROBE_COLUMNS - 1; k++) {
        bool covered =
            end->cover_to >= end->cover_from && k >= end->cover_from - 1 && k <= end->cover_to + 1;
        if (covered)
            continue;
        for (int i = from; i <= to; i++, n++)
            for (int c = 0; c < FIND_PLANES; c++)
                ret[c] += r->row[i].inside[k][c];
    }
    for (int c = 0; c < FIND_PLANES && n > 0; c++)
        ret[c] /= (float)n;
}

/* Paper reaches beyond ink at both ends, so a dyed end is a band's edge taken for the paper's.
 * Shadow makes paper darker, but the table beside it too. */
static double dyed_end(const struct probe_raster *r, const struct find_quad *q, int at, int inward,
                       const struct probe_end *end, const struct look *k)
{
    float in[FIND_PLANES];
    int from = at + inward * probe_rows_of(r, q, 0.05),
        to = at + inward * probe_rows_of(r, q, 0.15);
    double beside = 0;
    if (to < 0 || to >= r->count)
        return 0;
    open_mean(r, from < to ? from : to, from < to ? to : from, end, in);
    for (int i = from < to ? from : to; i <= (from < to ? to : from); i++)
        beside += 0.5 * ((double)r->row[i].left[0] + (double)r->row[i].right[0]);
    beside = fmax(beside / (abs(to - from) + 1), 0.02);
    double light = fmax((double)in[0], 0.02), paper = fmax(k->paper[0], 0.02);
    double darker = fabs(1 - light / paper),
           against_table = fabs(1 - light / beside * k->table[0] / paper);
    double dyed =
        hypot(fmin(darker, against_table), hypot((double)in[1] / light - k->paper[1] / paper,
                                                 (double)in[2] / light - k->paper[2] / paper));
    bool held = end->cover_to >= end->cover_from;
    return held || probe_is_cut(r, at) ? SHADED * dyed : dyed;
}

/* How much brighter it is beyond an end than on the paper, in parts of the brighter. */
static double brighter_beyond(const struct probe_raster *r, const struct find_quad *q, int at,
                              int outward, double paper)
{
    float out[FIND_PLANES];
    int from = at + outward * probe_rows_of(r, q, 0.1),
        to = at + outward * probe_rows_of(r, q, 0.25);
    if (probe_is_cut(r, at) || from < 0 || from >= r->count)
        return 0;
    probe_mean(r, from < to ? from : to, from < to ? to : from, out);
    return ((double)out[0] - paper) / fmax((double)out[0], 0.02);
}

/* A ruler's scale: edges across in row after row at one side, none at the other. */
static double scale_marks(const struct probe_raster *r, int low, int high)
{
    double left = 0, right = 0;
    for (int i = low; i <= high; i++) {
        left += r->row[i].across[1] || r->row[i].across[2];
        right += r->row[i].across[PROBE_COLUMNS - 2] || r->row[i].across[PROBE_COLUMNS - 3];
    }
    return fabs(left - right) / (high - low + 1);
}

/* In parts of the usual step at the clearer side. */
static void read_steps(const struct probe_raster *r, int low, int high, struct look *ret)
{
    double left[PROBE_ROWS_MAX], right[PROBE_ROWS_MAX], sorted[2][PROBE_ROWS_MAX];
    int n = 0;
    for (int i = low; i <= high; i++, n++) {
        left[n] = sorted[0][n] = find_distance(r->row[i].mean, r->row[i].left);
        right[n] = sorted[1][n] = find_distance(r->row[i].mean, r->row[i].right);
    }
    double usual = fmax(probe_quantile(sorted[0], n, 0.5), probe_quantile(sorted[1], n, 0.5));
    for (int i = 0; i < n; i++) {
        ret->alike_left += (double)(left[i] < ALIKE_STEP * usual) / n;
        ret->alike_right += (double)(right[i] < ALIKE_STEP * usual) / n;
    }
}

/* Mean colours of what lies beside the rows. */
static void beside_mean(const struct probe_raster *r, int from, int to, float left[FIND_PLANES],
                        float right[FIND_PLANES])
{
    int n = 0;
    memset(left, 0, FIND_PLANES * sizeof *left);
    memset(right, 0, FIND_PLANES * sizeof *right);
    for (int i = from < 0 ? 0 : from; i <= to && i < r->count; i++, n++)
        for (int c = 0; c < FIND_PLANES; c++) {
            left[c] += r->row[i].left[c];
            right[c] += r->row[i].right[c];
        }
    for (int c = 0; c < FIND_PLANES && n > 0; c++) {
        left[c] /= (float)n;
        right[c] /= (float)n;
    }
}

/* Mean colours just within an end and beyond it; false where nothing of that is in the photo. */
static bool end_means(const struct probe_raster *r, const struct find_quad *q, int at, int outward,
                      float in[FIND_PLANES], float out[FIND_PLANES])
{
    int within = at - outward * probe_rows_of(r, q, 0.6);
    int near = at - outward * probe_rows_of(r, q, 0.06);
    int from = at + outward * probe_rows_of(r, q, 0.1),
        to = at + outward * probe_rows_of(r, q, 0.4);
    if (probe_is_cut(r, at) || from < 0 || from >= r->count)
        return false;
    probe_mean(r, within < near ? within : near, within < near ? near : within, in);
    probe_mean(r, from < to ? from : to, from < to ? to : from, out);
    return true;
}

/* The table lies beside a strip and beyond its ends; between two strips, or a strip and a card, it
 * lies within and beyond the ends. */
static double beyond_apart(const struct probe_raster *r, const struct find_quad *q, int at,
                           int outward)
{
    int within = at - outward * probe_rows_of(r, q, 0.6);
    float in[FIND_PLANES], out[FIND_PLANES], left[FIND_PLANES], right[FIND_PLANES];
    if (!end_means(r, q, at, outward, in, out))
        return 0.5;
    beside_mean(r, within < at ? within : at, within < at ? at : within, left, right);
    double own = find_distance(out, in);
    double other = fmin(find_distance(out, left), find_distance(out, right));
    return own / (own + other + 1e-6);
}

/* Of what lies on four sides three are alike. */
static bool lies_alone(const struct probe_raster *r, const struct find_quad *q, int low, int high,
                       double contrast)
{
    float around[4][FIND_PLANES], in[FIND_PLANES];
    bool seen[4] = {true, true, end_means(r, q, low, -1, in, around[2]),
                    end_means(r, q, high, 1, in, around[3])};
    beside_mean(r, low, high, around[0], around[1]);
    for (int i = 0; i < 4; i++) {
        int alike = 0;
        for (int k = 0; k < 4; k++)
            alike +=
                seen[i] && seen[k] && find_distance(around[i], around[k]) < AROUND_ALIKE * contrast;
        if (alike >= 3)
            return true;
    }
    return false;
}

/* What lies beside the side that no neighbour touches: the brighter rows, as with paper. */
static void read_table(const struct probe_raster *r, int low, int high, const struct look *k,
                       double ret[FIND_PLANES])
{
    double light[PROBE_ROWS_MAX];
    float left[FIND_PLANES], right[FIND_PLANES];
    int n = 0, taken = 0;
    beside_mean(r, low, high, left, right);
    bool use_right = find_distance_from(right, k->paper) > find_distance_from(left, k->paper);
    for (int i = low; i <= high; i++)
        light[n++] = (double)(use_right ? r->row[i].right[0] : r->row[i].left[0]);
    double least = probe_quantile(light, n, 2. / 3);
    memset(ret, 0, FIND_PLANES * sizeof *ret);
    for (int i = low; i <= high; i++) {
        const float *colour = use_right ? r->row[i].right : r->row[i].left;
        if ((double)colour[0] < least)
            continue;
        taken++;
        for (int c = 0; c < FIND_PLANES; c++)
            ret[c] += (double)colour[c];
    }
    for (int c = 0; c < FIND_PLANES; c++)
        ret[c] /= taken;
}

/* Step 4, the measurements. */
static void read_look(const struct probe_raster *r, const struct find_quad *q, double noise,
                      int low, int high, const struct probe_end end[2], struct look *ret)
{
    double step[2 * PROBE_ROWS_MAX], strength[2 * PROBE_ROWS_MAX], ink[PROBE_ROWS_MAX],
        half = brightness_above(r, low, high, 0.5);
    int n = 0, rows = 0, clean = 0;
    struct credit credit;
    memset(ret, 0, sizeof *ret);
    read_paper(r, low, high, ret);
    give_credit(r, low, high, ret->paper, &credit);
    read_steps(r, low, high, ret);
    ret->open_left = credit.open_left;
    ret->open_right = credit.open_right;
    for (int i = low; i <= high; i++) {
        const struct probe_row *row = &r->row[i];
        float a[FIND_PLANES], b[FIND_PLANES], m[FIND_PLANES];
        part_of(row, 1, a);
        part_of(row, (PROBE_COLUMNS - 4) / 2, m);
        part_of(row, PROBE_COLUMNS - 5, b);
        strength[n] = (double)row->side_left;
        step[n++] = find_distance(a, row->left);
        strength[n] = (double)row->side_right;
        step[n++] = find_distance(b, row->right);
        ret->uneven +=
            (find_distance(a, b) + 0.5 * find_distance(a, m) + 0.5 * find_distance(b, m)) / 2 /
            (high - low + 1);
        ink[rows++] = hypot((double)m[0] - ret->paper[0],
                            hypot((double)m[1] - ret->paper[1], (double)m[2] - ret->paper[2]));
        double left = credit.left[i], right = credit.right[i];
        ret->side_left += left;
        ret->side_right += right;
        if ((double)row->mean[0] >= half) {
            ret->clean_left += left;
            ret->clean_right += right;
            clean++;
        }
    }
    ret->contrast = probe_quantile(step, n, 0.5);
    ret->varied = probe_quantile(ink, rows, 0.9);
    ret->stepped =
        ret->contrast / (STEP_PX * probe_quantile(strength, 2 * rows, 0.5) * noise + 1e-6);
    ret->side_left /= rows;
    ret->side_right /= rows;
    ret->clean_left /= clean;
    ret->clean_right /= clean;
    ret->along = inner_along(r, low, high);
    ret->scale = scale_marks(r, low, high);
    ret->apart[0] = beyond_apart(r, q, low, -1);
    ret->apart[1] = beyond_apart(r, q, high, 1);
    ret->alone = lies_alone(r, q, low, high, ret->contrast);
    ret->dyed = fmax(dyed_end(r, q, low, 1, &end[0], ret), dyed_end(r, q, high, -1, &end[1], ret));
    ret->within = fmin(reaches(r, q, &credit, low, 1), reaches(r, q, &credit, high, -1));
    ret->beyond = fmax(goes_on(r, q, low, -1), goes_on(r, q, high, 1));
    ret->darker = fmax(ret->darker, brighter_beyond(r, q, low, -1, ret->paper[0]));
    ret->darker = fmax(ret->darker, brighter_beyond(r, q, high, 1, ret->paper[0]));
}

/* How much wider one end is than the other, ln. */
static double taper(const struct find_quad *q)
{
    struct sl_point c[4];
    find_quad_corners(q, c);
    double lower = hypot(c[1].x - c[0].x, c[1].y - c[0].y);
    double upper = hypot(c[2].x - c[3].x, c[2].y - c[3].y);
    return fabs(log(fmax(upper, 1) / fmax(lower, 1)));
}

/* Step 4. Every factor is 1 where nothing speaks against a strip; the ramps' ends say what never
 * and what always passes. */
static double judge(const struct look *k, const struct find_picture *p, struct find_quad *q,
                    double length)
{
    double aspect = length / q->width;
    double weaker = fmin(k->side_left, k->side_right), other = fmax(k->side_left, k->side_right);
    double clean = fmin(k->clean_left, k->clean_right);
    double sides = probe_ramp(weaker, 0.15, 0.95) * probe_ramp(other, 0.3, 0.95) *
                   probe_ramp(clean, 0.05, 0.5) * probe_ramp(k->within, 0.1, 0.6);
    double ends = probe_ramp(fmin(q->end_lower, q->end_upper), 0.05, 0.8) *
                  probe_ramp(fmax(q->end_lower, q->end_upper), 0.2, 0.9);
    double shape = probe_ramp(aspect, 1.8, 2.4) * (1 - probe_ramp(aspect, 8.5, 10.5)) *
                   (1 - probe_ramp(taper(q), TAPER_FULL, TAPER_NONE));
    double even =
        1 - probe_ramp(k->uneven / (k->contrast + k->varied + 8 * p->noise[0]), 0.05, 0.7);
    double step = probe_ramp(k->stepped, STEPPED_NONE, STEPPED_FULL);
    double single = (1 - probe_ramp(k->along, 0.3, 0.8)) * (1 - probe_ramp(k->beyond, 0.4, 0.9));
    /* Darker than what lies around it is unbleached paper on a white plate, which is rare; what is
     * not even brown is ink on a card. Tints can't be told where the cloth's were taken away. */
    double brown = p->stripeless ? 1 : probe_ramp(brownness(k), 0.03, 0.10);
    double brown_loss = k->alone ? AROUND_LOSS : DARK_LOSS;
    double loss = brown_loss + (1 - brown) * (GREY_LOSS - brown_loss);
    double bright = 1 - loss * probe_ramp(k->darker, 0.02, 0.2);
    double scaleless = 1 - probe_ramp(k->scale, 0.2, 0.5);
    double contrast = probe_ramp(k->contrast, 0, 12 * p->noise[0] + 0.01);
    double tint = hypot(k->paper[1], k->paper[2]) / fmax(k->paper[0], 0.02);
    double pale = 1 - probe_ramp(tint, 0.8, 1.1);
    double inked = BLANK_WORTH +
                   (1 - BLANK_WORTH) * probe_ramp(k->varied / fmax(k->paper[0], 0.02), 0.03, 0.08);
    double clearer = fmax(k->apart[0], k->apart[1]), other_end = fmin(k->apart[0], k->apart[1]);
    double apart = probe_ramp(APART_CLEARER * clearer + (1 - APART_CLEARER) * other_end, APART_NONE,
                              APART_FULL);
    double no_gap = GAP_WORTH + (1 - GAP_WORTH) * apart;
    q->evenness = even;
    q->contrast = k->contrast;
    q->ink = k->varied;
    return pow(sides, 0.8) * pow(ends, 0.6) * shape * even * step * single * scaleless * bright *
           sqrt(contrast) * pale * inked * no_gap;
}

void probe_judge(const struct probe_raster *r, const struct find_picture *picture,
                 const struct find_quad *pair, struct probe_ends e, const struct probe_end end[2],
                 struct find_quad *q)
{
    struct look look;
    read_look(r, pair, picture->noise[0], e.low, e.high, end, &look);
    q->side_left = look.side_left;
    q->side_right = look.side_right;
    q->alike_left = look.alike_left;
    q->alike_right = look.alike_right;
    q->open_left = look.open_left;
    q->open_right = look.open_right;
    memcpy(q->paper, look.paper, sizeof q->paper);
    read_table(r, e.low, e.high, &look, q->table);
    q->clean_ends = 1 - 0.7 * probe_ramp(look.dyed, 0.1, 0.35);
    q->quality = judge(&look, picture, q, q->upper - q->lower);
}
