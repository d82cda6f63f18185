// SPDX-License-Identifier: GPL-3.0-or-later
/* Inside of find_quad_probe: the raster between two lines, and what is read off it. See
 * find_probe.c for the order of steps. Rows run from the lower to the upper end, columns from left
 * to right. */
#ifndef STRANDLINE_STRIP_FIND_PROBE_H
#define STRANDLINE_STRIP_FIND_PROBE_H

#include "strip/find.h"

enum {
    PROBE_ROWS_MAX = 640,
    PROBE_COLUMNS = 15,  /* inside */
    PROBE_MARGIN = 2,    /* columns beside each edge that blur and shadow touch */
    PROBE_ENDS_MAX = 10, /* intervals whose quality is judged */
};

struct probe_row {
    double off_left, off_right; /* px towards the right, of bent sides against straight ones */
    float inside[PROBE_COLUMNS][FIND_PLANES];
    float mean[FIND_PLANES];                     /* of the columns off the margins */
    float left[FIND_PLANES], right[FIND_PLANES]; /* outside */
    float side_left, side_right;                 /* strength of the edge, 0: none */
    float part_left, part_right;                 /* how far the side is seen, 0..1 */
    bool across[PROBE_COLUMNS], along[PROBE_COLUMNS];
};

struct probe_raster {
    int count;
    bool cut_low, cut_high;       /* the picture's frame, not a limit of ours, ended the rows */
    double s0, step;              /* axial coordinate of row 0, and from row to row; px */
    double usual;                 /* strength of the sides within the overlap, median */
    double step_left, step_right; /* from inside to outside within the overlap, median */
    struct probe_row row[PROBE_ROWS_MAX];
};

/* Rows far beyond the pair's overlap, to the frame or until the sides are silent. */
void probe_raster_fill(const struct find_picture *picture, const struct find_edges *edges,
                       const struct find_quad *pair, struct probe_raster *ret);

/* Whether the frame cuts the rows there. */
bool probe_is_cut(const struct probe_raster *raster, int row);

/* Number of rows, at least 1. */
int probe_rows_of(const struct probe_raster *raster, const struct find_quad *pair, double widths);

/* Mean colour of the rows from..to that exist. */
void probe_mean(const struct probe_raster *raster, int from, int to, float ret[FIND_PLANES]);

/* Mean step in colour from inside to outside over the rows that exist, in either order; HUGE_VAL
 * where none does. */
double probe_sides_step(const struct probe_raster *raster, int from, int to);

/* The same as is usual within the lines' overlap, in the light of a row. */
double probe_usual_step(const struct probe_raster *raster, int row);

/* A point of a side, `off` px towards the right of the straight one. */
struct sl_point probe_side_point(const struct find_quad *pair, bool right, double s, double off);

/* A strip's first and last row. */
struct probe_ends {
    int low, high;
    double score;
};

/* How surely an end is seen at a row (0..1), and the columns of it that a peg lies over; none:
 * cover_to < cover_from. */
struct probe_end {
    double gain;
    int cover_from, cover_to;
};

/* `inward` is +1 or -1. */
struct probe_end probe_end_see(const struct probe_raster *raster, const struct find_quad *pair,
                               int at, int inward, double noise);

/* The same for an end that something lies over in part; gain 0 where nothing does. */
struct probe_end probe_end_held(const struct probe_raster *raster, const struct find_quad *pair,
                                int at, int inward, double noise);

/* The intervals in which the sides go on and which ends close. Returns their number. */
int probe_ends_find(const struct probe_raster *raster, const struct find_quad *pair, double noise,
                    struct probe_ends ret[PROBE_ENDS_MAX]);

/* Axial coordinate of the end near a row, in the middle, and its slope. */
double probe_end_line(const struct probe_raster *raster, const struct find_quad *pair, int at,
                      const struct probe_end *end, double *ret_slope);

/* Sets what is known of the strip between two rows: paper, sides, quality, and so on. The place of
 * the ends and how they are seen are set already. */
void probe_judge(const struct probe_raster *raster, const struct find_picture *picture,
                 const struct find_quad *pair, struct probe_ends ends,
                 const struct probe_end end[2], struct find_quad *quad);

double probe_between(double x, double low, double high);
double probe_ramp(double x, double none, double full); /* 0 up to `none`, 1 from `full` on */
double probe_quantile(double *v, int n, double part);  /* sorts */

#endif
