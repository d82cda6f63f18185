// SPDX-License-Identifier: GPL-3.0-or-later
/* Strips that the photo's frame cuts lengthwise: only one of their sides is in the photo, so no
 * pair of lines makes a strip of them. Such a side is a line that runs as a found strip's sides do,
 * beside that strip and about as far, has the strip's paper between itself and the frame, and less
 * of it than a strip's width. */
#include "strip/find.h"

#include <math.h>

enum { STATIONS = 15, STATIONS_LEAST = 8 };
static const double TURN_MOST_DEG = 15;                      /* strips laid by hand */
static const double LENGTH_LEAST = 0.45, BESIDE_LEAST = 0.6; /* of the strip's, of the line's */
/* Widths from the line's middle to the frame, and from any of it; more has room for both sides. */
static const double FRAME_MOST = 0.9, FRAME_ANYWHERE = 1.3;
static const double FRAME_LEAST_PX = 6;
static const double OUTSIDE_STRIP = 0.15;    /* widths from the found strip's side */
static const double NEAR_PX = 3, FAR_PX = 4; /* from the line, where colours are read */
static const double PAPER_UNLIKE = 0.1;      /* root of light */
static const double SIDE_STEP_LEAST = 0.35;  /* of the step at the found strip's sides */
static const double PAPER_PART = 0.4;        /* of the line: what is left is ink */

struct side {
    struct sl_point a, b; /* its ends */
    double nx, ny;        /* towards the frame */
};

static double dot(double ax, double ay, double bx, double by)
{
    return ax * bx + ay * by;
}

static struct sl_point middle_of(const struct find_quad *q)
{
    struct sl_point c[4];
    find_quad_corners(q, c);
    return (struct sl_point){(c[0].x + c[1].x + c[2].x + c[3].x) / 4,
                             (c[0].y + c[1].y + c[2].y + c[3].y) / 4};
}

/* Distance to the picture's frame along a direction. */
static double to_frame(const struct find_picture *p, struct sl_point from, double nx, double ny)
{
    double x = nx > 0 ? (p->width - 1 - from.x) / nx : nx < 0 ? -from.x / nx : 1e9;
    double y = ny > 0 ? (p->height - 1 - from.y) / ny : ny < 0 ? -from.y / ny : 1e9;
    return fmin(x, y);
}

/* The line lies along the strip, beside it. Its side that looks away from the strip is set. */
static bool runs_beside(const struct find_line *line, const struct find_quad *q, struct side *ret)
{
    struct sl_point m = middle_of(q);
    double length = q->upper - q->lower, half = line->half;
    if (fabs(dot(line->dx, line->dy, q->axis_x, q->axis_y)) < cos(TURN_MOST_DEG * M_PI / 180) ||
        2 * half < LENGTH_LEAST * length)
        return false;
    double along = dot(line->x - m.x, line->y - m.y, q->axis_x, q->axis_y);
    double across = dot(line->x - m.x, line->y - m.y, -q->axis_y, q->axis_x);
    double low = fmax(along - half, -length / 2), high = fmin(along + half, length / 2);
    if (high - low < BESIDE_LEAST * 2 * half || fabs(across) < (0.5 + OUTSIDE_STRIP) * q->width)
        return false;
    double sense = dot(line->x - m.x, line->y - m.y, -line->dy, line->dx) < 0 ? -1 : 1;
    *ret = (struct side){{line->x - half * line->dx, line->y - half * line->dy},
                         {line->x + half * line->dx, line->y + half * line->dy},
                         -sense * line->dy,
                         sense * line->dx};
    return true;
}

static struct sl_point station(const struct side *side, int k)
{
    double t = (k + 0.5) / STATIONS;
    return (struct sl_point){side->a.x + t * (side->b.x - side->a.x),
                             side->a.y + t * (side->b.y - side->a.y)};
}

/* Which stations have a strip of photo beyond them; false if it is too wide, or there is too little
 * of it. */
static bool frame_is_near(const struct find_picture *p, const struct side *side, double width,
                          bool ret_seen[STATIONS])
{
    int seen = 0;
    for (int k = 0; k < STATIONS; k++) {
        double far = to_frame(p, station(side, k), side->nx, side->ny);
        if (far > (k == STATIONS / 2 ? FRAME_MOST : FRAME_ANYWHERE) * width)
            return false;
        ret_seen[k] = far >= FRAME_LEAST_PX;
        seen += ret_seen[k];
    }
    return seen >= STATIONS_LEAST;
}

/* The strip's paper lies on the frame's side of the line, something else on the other. */
static bool bounds_paper(const struct find_picture *p, const struct side *side,
                         const bool seen[STATIONS], const struct find_quad *q)
{
    const float paper[FIND_PLANES] = {(float)q->paper[0], (float)q->paper[1], (float)q->paper[2]};
    int papery = 0, stepped = 0, count = 0;
    for (int k = 0; k < STATIONS; k++) {
        if (!seen[k])
            continue;
        count++;
        struct sl_point s = station(side, k);
        float in[FIND_PLANES], out[FIND_PLANES];
        find_picture_sample(p, s.x + FAR_PX * side->nx, s.y + FAR_PX * side->ny, in);
        find_picture_sample(p, s.x - NEAR_PX * side->nx, s.y - NEAR_PX * side->ny, out);
        bool is_paper = find_distance(in, paper) < PAPER_UNLIKE;
        papery += is_paper;
        stepped += find_distance(in, out) > SIDE_STEP_LEAST * q->contrast &&
                   (!is_paper || find_distance(in, paper) < find_distance(out, paper));
    }
    return papery >= PAPER_PART * count && 4 * stepped >= 3 * count;
}

static bool lies_on(struct sl_point p, const struct find_quad *q)
{
    struct sl_point m = middle_of(q);
    return fabs(dot(p.x - m.x, p.y - m.y, q->axis_x, q->axis_y)) < (q->upper - q->lower) / 2 &&
           fabs(dot(p.x - m.x, p.y - m.y, -q->axis_y, q->axis_x)) <
               (0.5 + OUTSIDE_STRIP) * q->width;
}

bool find_cut_beside(const struct find_picture *picture, const struct find_lines *lines,
                     const struct find_quad *quads, size_t count)
{
    for (size_t i = 0; i < lines->count; i++)
        for (size_t j = 0; j < count; j++) {
            const struct find_line *line = &lines->item[i];
            struct side side;
            bool seen[STATIONS], on_strip = false;
            for (size_t k = 0; k < count; k++)
                on_strip = on_strip || lies_on((struct sl_point){line->x, line->y}, &quads[k]);
            if (!on_strip && runs_beside(line, &quads[j], &side) &&
                frame_is_near(picture, &side, quads[j].width, seen) &&
                bounds_paper(picture, &side, seen, &quads[j]))
                return true;
        }
    return false;
}
