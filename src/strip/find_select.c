// SPDX-License-Identifier: GPL-3.0-or-later
/* The best set of quads.
 * 1. Best first; a quad that lies on a chosen one is dropped (strips may overlap a little).
 * 2. Strips of one photo are cut from one paper: what is unlike the best in width, direction or
 *    colour has to be better to be taken. Three of a kind make a row: one more that is like any of
 *    them (light and perspective change along a row) is taken on less.
 * 3. Paper on the far side of a long side must be another strip's: where none was chosen there the
 *    quad is part of a card or a page, and has to be better to be taken. So has the table between
 *    two strips, and what has the table's colour.
 * 4. Left to right as seen with the strips upright. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double QUALITY_LEAST = 0.42;
static const double BLANK_LEAST =
    0.45; /* for what has no ink: a card's margin as likely as a strip */
static const double BLANK_LEAD = 0.5;   /* what its worth counts beside what has ink */
static const double INK_LEAST = 0.08;   /* root of light, from the clean paper's */
static const double CUT_LEAST = 0.45;   /* for what the frame cuts: mostly a card, a ruler, a pen */
static const double ALONE_LEAST = 0.9;  /* for what is quite unlike the best */
static const double ALIKE_LEAST = 0.15; /* for what is just like the best */
enum { ROW_LEAST = 3 };                 /* strips that make a row */
static const double ROW_PART = 0.8;     /* of what is asked elsewhere, for one more of a row */
static const double OVERLAP_MOST = 0.22; /* of the smaller one's area */

static const double OPEN_MOST = 0.4;     /* of a side, where paper lies beyond it */
static const double ALIKE_SIDE = 0.15;   /* of a side that two strips share */
static const double DOUBTED_WORTH = 0.5; /* of its quality */
static const double TABLE_WORTH = 0.25;  /* the same of what has the table's colour */
static const double TABLE_LIKE = 0.5;    /* as near as this to it, against the paper's */
static const double UNLIKE_PAPER = 0.5;  /* of the contrast */
static const double CLOSE = 0.05;        /* widths: nearer than the probe looks outside */
static const double BESIDE = 0.15;       /* widths from a side, where its neighbour is looked for */
enum { PLACES = 8, PLACES_LEAST = 3 };   /* along a side */

static double cross(struct sl_point a, struct sl_point b, struct sl_point c)
{
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

static double area(const struct sl_point *p, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        struct sl_point a = p[i], b = p[(i + 1) % n];
        sum += a.x * b.y - b.x * a.y;
    }
    return fabs(sum) / 2;
}

/* Sutherland and Hodgman, Communications of the ACM 17 (1974) 32-42: both are convex. */
static double common_area(const struct sl_point a[4], const struct sl_point b[4])
{
    struct sl_point out[16], in[16];
    size_t n = 4;
    memcpy(out, a, 4 * sizeof *out);
    double sense = cross(b[0], b[1], b[2]) < 0 ? -1 : 1;
    for (size_t e = 0; e < 4 && n > 0; e++) {
        struct sl_point p = b[e], q = b[(e + 1) % 4];
        size_t m = n;
        memcpy(in, out, m * sizeof *in);
        n = 0;
        for (size_t i = 0; i < m; i++) {
            struct sl_point u = in[i], v = in[(i + 1) % m];
            double du = sense * cross(p, q, u), dv = sense * cross(p, q, v);
            if (du >= 0 && n < 16)
                out[n++] = u;
            if ((du >= 0) != (dv >= 0) && n < 16) {
                double t = du / (du - dv);
                out[n++] = (struct sl_point){u.x + t * (v.x - u.x), u.y + t * (v.y - u.y)};
            }
        }
    }
    return n > 2 ? area(out, n) : 0;
}

static double overlap(const struct find_quad *a, const struct find_quad *b)
{
    struct sl_point p[4], q[4];
    find_quad_corners(a, p);
    find_quad_corners(b, q);
    double least = fmin(area(p, 4), area(q, 4));
    return least > 0 ? common_area(p, q) / least : 1;
}

/* 1: as if of one family; falls with each difference. */
static double likeness(const struct find_quad *a, const struct find_quad *b)
{
    double width = fabs(log(a->width / b->width));
    double turn = fabs(a->axis_x * b->axis_y - a->axis_y * b->axis_x);
    double length = fabs(log((a->upper - a->lower) / (b->upper - b->lower)));
    double colour = 0;
    for (int c = 0; c < FIND_PLANES; c++)
        colour += (a->paper[c] - b->paper[c]) * (a->paper[c] - b->paper[c]);
    colour = sqrt(colour) / fmax(fmax(a->paper[0], b->paper[0]), 0.02);
    return exp(-0.5 * (pow(width / 0.33, 2) + pow(turn / 0.35, 2) + pow(colour / 0.2, 2) +
                       pow(length / 0.5, 2)));
}

/* What has no ink leads only where nothing has. */
static double lead(const struct find_quad *q)
{
    return find_quad_worth(q) * (q->ink < INK_LEAST ? BLANK_LEAD : 1);
}

static int better_first(const void *a, const void *b)
{
    double x = lead(a), y = lead(b);
    return y > x ? 1 : y < x ? -1 : 0;
}

static void middle(const struct find_quad *q, struct sl_point *ret)
{
    struct sl_point c[4];
    find_quad_corners(q, c);
    ret->x = (c[0].x + c[1].x + c[2].x + c[3].x) / 4;
    ret->y = (c[0].y + c[1].y + c[2].y + c[3].y) / 4;
}

static void sort_from_left(struct find_quad *quad, size_t n)
{
    for (size_t i = 1; i < n; i++)
        for (size_t j = i; j > 0; j--) {
            struct sl_point a, b;
            middle(&quad[j - 1], &a);
            middle(&quad[j], &b);
            double right_x = -quad[0].axis_y, right_y = quad[0].axis_x;
            if ((b.x - a.x) * right_x + (b.y - a.y) * right_y >= 0)
                break;
            struct find_quad swap = quad[j];
            quad[j] = quad[j - 1];
            quad[j - 1] = swap;
        }
}

/* Quality that a quad must have beside those chosen already. */
static double quality_least(const struct find_quad *chosen, size_t n, const struct find_quad *q)
{
    double lone = q->cut_off ? CUT_LEAST : q->ink < INK_LEAST ? BLANK_LEAST : QUALITY_LEAST;
    if (n == 0)
        return lone;
    bool row = n >= ROW_LEAST;
    double family = likeness(&chosen[0], q);
    for (size_t k = 1; k < n && row; k++)
        family = fmax(family, likeness(&chosen[k], q));
    double alike = row ? ROW_PART * ALIKE_LEAST : ALIKE_LEAST;
    double least = alike + (ALONE_LEAST - ALIKE_LEAST) * (1 - sqrt(family));
    return q->cut_off ? fmax(least, lone) : least;
}

static bool inside(const struct sl_point corner[4], struct sl_point p)
{
    double sense = 0;
    for (int i = 0; i < 4; i++) {
        double side = cross(corner[i], corner[(i + 1) % 4], p);
        if (side * sense < 0)
            return false;
        sense = side;
    }
    return true;
}

/* Whether another strip lies along a side, `widths` away. */
static bool has_neighbour(const struct find_quad *q, bool right, double widths,
                          const struct find_quad *other)
{
    struct sl_point c[4], o[4];
    find_quad_corners(q, c);
    find_quad_corners(other, o);
    struct sl_point a = right ? c[1] : c[0], b = right ? c[2] : c[3];
    double off = (right ? widths : -widths) * q->width;
    int hit = 0;
    for (int i = 0; i < PLACES; i++) {
        double t = (i + 0.5) / PLACES;
        struct sl_point p = {a.x + t * (b.x - a.x) - off * q->axis_y,
                             a.y + t * (b.y - a.y) + off * q->axis_x};
        hit += inside(o, p);
    }
    return hit >= PLACES_LEAST;
}

/* A side on paper, where no strip lies: the quad is part of a card or a page. */
static bool lies_on_paper(const struct find_quad *chosen, size_t n, size_t which)
{
    const struct find_quad *q = &chosen[which];
    bool left = q->open_left > OPEN_MOST, right = q->open_right > OPEN_MOST;
    for (size_t k = 0; k < n; k++) {
        if (k == which)
            continue;
        left = left && !has_neighbour(q, false, BESIDE, &chosen[k]);
        right = right && !has_neighbour(q, true, BESIDE, &chosen[k]);
    }
    return left || right;
}

static double from_colour(const double a[FIND_PLANES], const double b[FIND_PLANES])
{
    return hypot(a[0] - b[0], hypot(a[1] - b[1], a[2] - b[2]));
}

/* Two better strips touch it, and its paper is not theirs. */
static bool is_between(const struct find_quad *chosen, size_t n, size_t which)
{
    const struct find_quad *q = &chosen[which];
    bool left = false, right = false;
    for (size_t k = 0; k < n; k++) {
        const struct find_quad *o = &chosen[k];
        if (k == which || o->quality < q->quality ||
            from_colour(q->paper, o->paper) <= UNLIKE_PAPER * o->contrast)
            continue;
        left = left || has_neighbour(q, false, CLOSE, o);
        right = right || has_neighbour(q, true, CLOSE, o);
    }
    return left && right;
}

/* A side at which a better strip begins without a gap, but with the step from paper to table: the
 * quad is the table between two strips, or between one and a card. */
static bool is_gap(const struct find_quad *chosen, size_t n, size_t which)
{
    const struct find_quad *q = &chosen[which];
    for (size_t k = 0; k < n; k++) {
        if (k == which || find_quad_worth(&chosen[k]) < find_quad_worth(q))
            continue;
        if ((fmax(q->alike_left, q->open_left) < ALIKE_SIDE &&
             has_neighbour(q, false, CLOSE, &chosen[k])) ||
            (fmax(q->alike_right, q->open_right) < ALIKE_SIDE &&
             has_neighbour(q, true, CLOSE, &chosen[k])))
            return true;
    }
    return false;
}

/* What touches a better strip and is far more like the table beyond than like its paper. */
static bool is_table(const struct find_quad *chosen, size_t n, size_t which)
{
    const struct find_quad *q = &chosen[which], *near = NULL;
    struct sl_point at, other;
    double least = HUGE_VAL;
    middle(q, &at);
    for (size_t k = 0; k < n; k++) {
        if (k == which || chosen[k].quality < q->quality)
            continue;
        middle(&chosen[k], &other);
        double far = hypot(other.x - at.x, other.y - at.y);
        if (far < least) {
            least = far;
            near = &chosen[k];
        }
    }
    return near &&
           (has_neighbour(q, false, BESIDE, near) || has_neighbour(q, true, BESIDE, near)) &&
           from_colour(q->paper, near->table) < TABLE_LIKE * from_colour(q->paper, near->paper);
}

/* Steps 1 and 2. */
static size_t choose(const struct find_quads *quads, struct find_quad ret[SL_STRIPS_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < quads->count && n < SL_STRIPS_MAX; i++) {
        const struct find_quad *q = &quads->item[i];
        bool free_place = true;
        for (size_t k = 0; k < n && free_place; k++)
            free_place = overlap(&ret[k], q) < OVERLAP_MOST;
        if (free_place && q->quality >= quality_least(ret, n, q))
            ret[n++] = *q;
    }
    return n;
}

/* Whether two are one and the same pair of lines, closed at the same ends. */
static bool is_same(const struct find_quad *a, const struct find_quad *b)
{
    return a->left_x == b->left_x && a->left_y == b->left_y && a->right_x == b->right_x &&
           a->right_y == b->right_y && a->lower == b->lower && a->upper == b->upper;
}

/* Step 3. Lowers the quality of chosen quads that lie on paper, each once; true if there were any.
 */
static bool doubt(struct find_quads *quads, const struct find_quad *chosen, size_t n)
{
    bool any = false;
    for (size_t k = 0; k < n; k++) {
        bool table = is_table(chosen, n, k) || is_between(chosen, n, k);
        if (chosen[k].doubted || (!table && !lies_on_paper(chosen, n, k) && !is_gap(chosen, n, k)))
            continue;
        for (size_t i = 0; i < quads->count; i++) {
            struct find_quad *q = &quads->item[i];
            if (q->doubted || !is_same(q, &chosen[k]))
                continue;
            q->quality *= table ? TABLE_WORTH : DOUBTED_WORTH;
            q->doubted = true;
            any = true;
        }
    }
    return any;
}

size_t find_quads_select(struct find_quads *quads, struct find_quad ret[SL_STRIPS_MAX])
{
    size_t n;
    do {
        qsort(quads->item, quads->count, sizeof *quads->item, better_first);
        n = choose(quads, ret);
    } while (doubt(quads, ret, n));
    sort_from_left(ret, n);
    return n;
}
