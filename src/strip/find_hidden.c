// SPDX-License-Identifier: GPL-3.0-or-later
/* What holds a strip's end: a peg or tape that lies over the paper and goes on beyond it.
 * A column is covered at an end if the colour just inside is that of what lies just beyond, and not
 * the paper's, nor that of the table as it lies beside the strip: paper that the bath has tinted
 * can be like the table. The cover is followed inwards for as long as it stays unlike paper. */
#include "strip/outline_field.h"

#include <math.h>

enum { COLUMNS = 21, ROWS = 40, COLUMNS_LEAST = 3, TABLE_PLACES = 24 /* beside each side */ };
static const double DEEPEST = 0.3; /* of the length; a cover that goes deeper is something else */
static const double BESIDE_END = 0.05, BEYOND_END = 0.10; /* of the width */
static const double TIP_PART = 0.125; /* of the cover's columns: a peg's tip is narrow */
static const double SHADOW = 0.01;    /* of the length, before the cover */
static const double UNLIKE = 0.08;    /* root of light; a shadow on paper of a sixth */
static const double TABLE_NEAR = 0.15, TABLE_FAR = 0.35; /* of the width, from a side */
static const double TABLE_LIKE = 0.05;                   /* root of light */
static const double TABLE_LEAST = 0.2; /* of the places that show a cloth's stripes */

struct view {
    const struct find_picture *picture;
    struct sl_point left[SL_EDGE_POINTS], right[SL_EDGE_POINTS]; /* picture px */
    double length, width;
    float table[4 * TABLE_PLACES][FIND_PLANES]; /* off the middle of both sides */
};

static struct sl_point along(const struct sl_point *edge, double t)
{
    double at = fmin(fmax(t, 0), 1) * (SL_EDGE_POINTS - 1);
    int i = at >= SL_EDGE_POINTS - 1 ? SL_EDGE_POINTS - 2 : (int)at;
    double f = t * (SL_EDGE_POINTS - 1) - i; /* beyond the ends straight on */
    return (struct sl_point){edge[i].x + f * (edge[i + 1].x - edge[i].x),
                             edge[i].y + f * (edge[i + 1].y - edge[i].y)};
}

/* `u`: 0 the left side, 1 the right. */
static void colour_at(const struct view *v, double t, double u, float ret[FIND_PLANES])
{
    struct sl_point a = along(v->left, t), b = along(v->right, t);
    find_picture_sample(v->picture, a.x + u * (b.x - a.x), a.y + u * (b.y - a.y), ret);
}

static void colour(const struct view *v, double t, int column, float ret[FIND_PLANES])
{
    colour_at(v, t, (column + 0.5) / COLUMNS, ret);
}

/* What covers an end lies beside it at most, not all along the strip. */
static void read_table(struct view *v)
{
    for (int i = 0; i < TABLE_PLACES; i++) {
        double t = DEEPEST + (1 - 2 * DEEPEST) * (i + 0.5) / TABLE_PLACES;
        colour_at(v, t, -TABLE_NEAR, v->table[4 * i]);
        colour_at(v, t, -TABLE_FAR, v->table[4 * i + 1]);
        colour_at(v, t, 1 + TABLE_NEAR, v->table[4 * i + 2]);
        colour_at(v, t, 1 + TABLE_FAR, v->table[4 * i + 3]);
    }
}

static bool is_table(const struct view *v, const float colour[FIND_PLANES])
{
    int alike = 0;
    for (int i = 0; i < 4 * TABLE_PLACES; i++)
        alike += find_distance(v->table[i], colour) < TABLE_LIKE;
    return alike >= TABLE_LEAST * 4 * TABLE_PLACES;
}

static bool covered_at_end(const struct view *v, double end, double inward, int column,
                           const double paper[FIND_PLANES])
{
    float in[FIND_PLANES], out[FIND_PLANES];
    double near = BESIDE_END * v->width / v->length, far = BEYOND_END * v->width / v->length;
    colour(v, end + inward * near, column, in);
    colour(v, end - inward * far, column, out);
    double from_paper = find_distance_from(in, paper);
    return from_paper > UNLIKE && find_distance(in, out) < 0.5 * from_paper && !is_table(v, out);
}

/* How deep the cover of an end reaches, as a fraction of the length; 0: none. */
static double cover_depth(const struct view *v, double end, double inward,
                          const double paper[FIND_PLANES])
{
    int column[COLUMNS], n = 0;
    for (int k = 0; k < COLUMNS; k++)
        if (covered_at_end(v, end, inward, k, paper))
            column[n++] = k;
    if (n < COLUMNS_LEAST || column[n - 1] - column[0] >= n + COLUMNS_LEAST)
        return 0;
    double depth = 0;
    for (int i = 1; i <= ROWS; i++) {
        double t = DEEPEST * i / ROWS;
        int still = 0;
        for (int k = 0; k < n; k++) {
            float c[FIND_PLANES];
            colour(v, end + inward * t, column[k], c);
            still += find_distance_from(c, paper) > UNLIKE;
        }
        if (still < TIP_PART * n)
            break;
        depth = t;
    }
    return depth > 0 && depth < 0.99 * DEEPEST ? depth + SHADOW : 0;
}

void find_hidden(const struct find_picture *picture, const double paper[FIND_PLANES],
                 struct sl_outline *outline)
{
    struct view v = {.picture = picture};
    for (int i = 0; i < SL_EDGE_POINTS; i++) {
        v.left[i] = outline_field_picture_px(picture, outline->left_px[i]);
        v.right[i] = outline_field_picture_px(picture, outline->right_px[i]);
    }
    struct sl_point a = along(v.left, 0), b = along(v.left, 1);
    struct sl_point c = along(v.left, 0.5), d = along(v.right, 0.5);
    v.length = hypot(b.x - a.x, b.y - a.y);
    v.width = hypot(d.x - c.x, d.y - c.y);
    read_table(&v);
    double upper = cover_depth(&v, 1, -1, paper), lower = cover_depth(&v, 0, 1, paper);
    outline->hidden_from = upper > 0 ? 1 - upper : lower > 0 ? 0 : NAN;
    outline->hidden_to = upper > 0 ? 1 : lower > 0 ? lower : NAN;
}
