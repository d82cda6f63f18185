// SPDX-License-Identifier: GPL-3.0-or-later
/* An end close to the frame that the strip was thought to be cut at, but that has table beyond it:
 * paper just inside, and all across just beyond what lies beside the strip there, and not paper. */
#include "strip/outline_field.h"

#include <math.h>

enum { COLUMNS = 15 };
static const double STEP_PX = 2;     /* from the edges; they are blurred over one */
static const double BESIDE = 0.08;   /* of the width, from a side */
static const double UNLIKE = 0.08;   /* root of light; a shadow on paper of a sixth */
static const double SEEN_PART = 0.8; /* of the columns; table has grain, corners are torn */

struct end {
    struct sl_point left, right; /* corners, picture px */
    double out_x, out_y;         /* unit, away from the strip */
};

static struct end end_of(const struct find_picture *picture, const struct sl_outline *o, bool upper)
{
    struct sl_point c[4];
    for (int i = 0; i < 4; i++)
        c[i] = outline_field_picture_px(picture, o->corner_px[i]);
    struct end e = {.left = c[upper ? 3 : 0], .right = c[upper ? 2 : 1]};
    struct sl_point far_left = c[upper ? 0 : 3], far_right = c[upper ? 1 : 2];
    double x = e.left.x + e.right.x - far_left.x - far_right.x;
    double y = e.left.y + e.right.y - far_left.y - far_right.y;
    e.out_x = x / hypot(x, y), e.out_y = y / hypot(x, y);
    return e;
}

/* Colour at a place across the end (0 left corner, 1 right), so far beyond it. */
static void colour(const struct find_picture *picture, const struct end *e, double u, double out_px,
                   float ret[FIND_PLANES])
{
    find_picture_sample(picture, e->left.x + u * (e->right.x - e->left.x) + out_px * e->out_x,
                        e->left.y + u * (e->right.y - e->left.y) + out_px * e->out_y, ret);
}

static bool table_is_beyond(const struct find_picture *picture, const double paper[FIND_PLANES],
                            const struct end *e, double u)
{
    float inside[FIND_PLANES], beyond[FIND_PLANES], beside[FIND_PLANES];
    colour(picture, e, u, -STEP_PX, inside);
    colour(picture, e, u, STEP_PX, beyond);
    colour(picture, e, u < 0.5 ? -BESIDE : 1 + BESIDE, -STEP_PX, beside);
    double from_paper = find_distance_from(beyond, paper);
    return find_distance_from(inside, paper) < 0.5 * from_paper && from_paper > UNLIKE &&
           find_distance(beyond, beside) < 0.5 * from_paper;
}

static bool end_is_whole(const struct find_picture *picture, const double paper[FIND_PLANES],
                         const struct sl_outline *outline, bool upper)
{
    struct end e = end_of(picture, outline, upper);
    int seen = 0;
    if (outline_from_frame(picture->width, picture->height, e.left, e.right) < 2 * STEP_PX)
        return false;
    for (int k = 0; k < COLUMNS; k++)
        seen += table_is_beyond(picture, paper, &e, (k + 0.5) / COLUMNS);
    return seen >= SEEN_PART * COLUMNS;
}

void find_whole(const struct find_picture *picture, const double paper[FIND_PLANES],
                struct sl_outline *outline)
{
    outline->cut_off = outline->cut_off && !(end_is_whole(picture, paper, outline, false) &&
                                             end_is_whole(picture, paper, outline, true));
}
