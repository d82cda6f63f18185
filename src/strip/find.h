// SPDX-License-Identifier: GPL-3.0-or-later
/* Inside of sl_strips_find: what its steps hand to each other. See find.c for the order of steps.
 *
 * All steps but the last work on a "picture": the photo reduced to about a thousand pixels, as the
 * square root of linear light (which makes photon noise even) in one light plane and two opponent
 * colour planes. Coordinates are picture pixels, (0, 0) the centre of the top left one.
 * Ownership: whoever calls _create or _fill calls _finish (NULL fields allowed). */
#ifndef STRANDLINE_STRIP_FIND_H
#define STRANDLINE_STRIP_FIND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <gsl/gsl_math.h> /* M_PI, which C17 leaves out */

#include "strandline/photo.h"
#include "strandline/strip.h"

enum {
    FIND_PLANES = 3,
    FIND_LINES_MAX = 700,     /* longest and clearest kept; more is table texture */
    FIND_QUADS_MAX = 300,     /* pairs of lines that are looked at closely */
    FIND_SIDE_PX = 900,       /* aimed length of the picture's longer side */
    FIND_LOOK_SIDE_PX = 1600, /* of the look that edges are refined on */
};

struct find_picture {
    int width, height;
    double x0, y0, scale;      /* photo px = x0 + x * scale */
    float *plane[FIND_PLANES]; /* lightness, red - green, yellow - blue; slightly smoothed */
    double noise[FIND_PLANES]; /* standard deviation of a gradient's component, per px */
    double light_mean;         /* of linear light, all channels */
    double light_high;         /* 99th percentile of linear light */
    double burnt_fraction;     /* pixels with all channels at the upper end */
    bool stripeless;           /* a cloth's stripes were taken away; tints are not what they were */
};

/* Linear light in, linear light out. */
struct find_colour_map {
    float m[3][3];
};

/* `map` may be NULL: colours as they are. */
sl_code find_picture_fill(const struct sl_image *look, const struct find_colour_map *map,
                          struct find_picture *ret, struct sl_status *status);
void find_picture_finish(struct find_picture *picture);

/* The three planes at a place between pixels; outside the picture the nearest pixel. */
void find_picture_sample(const struct find_picture *picture, double x, double y,
                         float ret[FIND_PLANES]);

/* How far two colours are apart, root of light; and one from clean paper's or another mean. */
double find_distance(const float a[FIND_PLANES], const float b[FIND_PLANES]);
double find_distance_from(const float colour[FIND_PLANES], const double mean[FIND_PLANES]);

/* Standard deviation of the blur of the sharpest clear edges, picture px; 0 where none is clear.
 * The picture's own smoothing is in it: about 1.1 for a sharp photo. */
double find_blur_px(const struct find_picture *picture);

/* Thin edges. `direction` holds 0 where there is no edge, else 1 + the edge's direction along the
 * line (not its normal) in steps of 180/180 degrees, mod 180. */
struct find_edges {
    int width, height;
    uint8_t *direction;
    float *strength; /* in units of the noise */
    double floor;    /* weakest strength kept */
};

sl_code find_edges_fill(const struct find_picture *picture, struct find_edges *ret,
                        struct sl_status *status);
void find_edges_finish(struct find_edges *edges);

/* True if the strips lie on a striped cloth; then `ret` is the map that takes its stripes away. */
bool find_stripes(const struct find_picture *picture, const struct find_edges *edges,
                  struct find_colour_map *ret);

/* A straight edge, fragments on one line joined. */
struct find_line {
    double x, y;     /* its middle */
    double dx, dy;   /* unit vector */
    double half;     /* half its length */
    double covered;  /* part of the length with edge pixels */
    double strength; /* mean */
};

struct find_lines {
    size_t count;
    struct find_line item[FIND_LINES_MAX];
};

sl_code find_lines_fill(const struct find_edges *edges, struct find_lines *ret,
                        struct sl_status *status);

/* A pair of lines as sides of a strip that is yet to be closed at its ends. At axial coordinate s
 * the left side is at left + s * left_step, the right side at right + s * right_step. The axis
 * points from the lower to the upper end. */
struct find_quad {
    double axis_x, axis_y;
    double left_x, left_y, left_dx, left_dy;
    double right_x, right_y, right_dx, right_dy;
    double width;        /* between the sides, at s = 0 */
    double lower, upper; /* range of s: first of the lines' overlap, then of the strip */
    double lower_slope, upper_slope;   /* of the end lines: ds from the left to the right side */
    double lower_off[2], upper_off[2]; /* px of the left and right corner off the straight sides,
                                          towards the right: bent sides */
    double paper[FIND_PLANES];         /* clean paper's colour */
    double table[FIND_PLANES];         /* what lies beside it */
    double quality;                    /* 0..1 */
    bool cut_off;
    bool doubted; /* its quality was lowered beside what else was chosen */
    double side_left, side_right, end_lower, end_upper; /* part of each side with an edge */
    double open_left, open_right; /* part of each side beyond which paper goes on: a neighbour's */
    double alike_left, alike_right; /* part of each side with hardly a step in colour */
    double evenness, contrast, ink;
    double clean_ends; /* 1: paper within both ends; less: ink up to an end */
};

struct find_quads {
    size_t count;
    struct find_quad item[FIND_QUADS_MAX];
};

/* Pairs of lines that could be two sides of one strip, best first. */
void find_quads_pair(const struct find_picture *picture, const struct find_lines *lines,
                     struct find_quads *ret);

/* Looks at one pair closely: closes the ends, sets lower, upper, slopes, quality (0: no strip). */
void find_quad_probe(const struct find_picture *picture, const struct find_edges *edges,
                     struct find_quad *quad);

/* For choosing between quads: quality, and more for those that explain more of the photo. */
double find_quad_worth(const struct find_quad *quad);

void find_quad_corners(const struct find_quad *quad, struct sl_point ret[4]);

/* The best set of quads that can lie side by side, from left to right. Returns the count. */
size_t find_quads_select(struct find_quads *quads, struct find_quad ret[SL_STRIPS_MAX]);

/* True if the frame seems to cut a further strip lengthwise, beside one of those chosen. */
bool find_cut_beside(const struct find_picture *picture, const struct find_lines *lines,
                     const struct find_quad *quads, size_t count);

/* Finds the edges below a pixel on the look. False if they can't be followed; what can't be
 * followed stays as it was. */
bool outline_refine(const struct sl_image *look, struct sl_outline *outline);

/* Looks for both ends again, more widely, on the picture; `paper` is clean paper's colour there.
 * True if an end moved: then the sides are straight between the corners again, and cut_off is taken
 * back where the end that the frame cut was found well inside it. */
bool outline_ends(const struct find_picture *picture, const double paper[FIND_PLANES],
                  struct sl_outline *outline);

/* Sets hidden_from, hidden_to where a peg or tape covers an end. */
void find_hidden(const struct find_picture *picture, const double paper[FIND_PLANES],
                 struct sl_outline *outline);

/* Takes cut_off back where both ends have table beyond them. */
void find_whole(const struct find_picture *picture, const double paper[FIND_PLANES],
                struct sl_outline *outline);

/* Straight edges of what else lies on the table, for sl_outlines_level. */
void find_straight(const struct sl_image *look, const struct find_picture *picture,
                   const struct find_lines *lines, struct sl_outlines *outlines);

/* How far an end's nearer corner lies inside the frame of a picture of this size, px. */
double outline_from_frame(int width, int height, struct sl_point a, struct sl_point b);

/* Tells at which ends a strip that the frame cuts is cut. */
void outline_cut_ends(const struct sl_photo_info *info, struct sl_outline *outline);

/* Fills edges, bend, and so on from four corners. */
void outline_straight(const struct sl_point corners_px[4], struct sl_outline *ret);

#endif
