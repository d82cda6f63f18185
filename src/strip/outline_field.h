// SPDX-License-Identifier: GPL-3.0-or-later
/* A raster along a strip's sides, from well inside to well beyond an end that was found, in which
 * every cell tells whether it is likelier paper or table and whether an edge lies across it.
 * Coordinates are picture pixels. Ownership: outline_field_finish frees what _create made. */
#ifndef STRANDLINE_STRIP_OUTLINE_FIELD_H
#define STRANDLINE_STRIP_OUTLINE_FIELD_H

#include <stdbool.h>

#include "strip/find.h"

enum {
    FIELD_COLUMNS = 24, /* on the paper */
    FIELD_BESIDE = 4,   /* beside each side */
    FIELD_ALL = FIELD_COLUMNS + 2 * FIELD_BESIDE,
    FIELD_ROWS_MAX = 480,
};

struct outline_cell {
    float colour[FIND_PLANES];
    float odds;   /* that it is paper, natural logarithm, in parts of ODDS_MOST: -1..1 */
    float edge;   /* 0..1 */
    bool foreign; /* like neither */
    bool inside;  /* the picture */
};

struct outline_field {
    struct sl_point left, right;         /* the sides at the end that was found, picture px */
    struct sl_point left_dir, right_dir; /* a px outwards along the sides */
    double width;
    int rows, at;    /* `at`: the row of the end that was found */
    double step;     /* px from row to row, outwards */
    double contrast; /* usual step from paper to table */
    double paper[FIND_PLANES], sigma;
    double side[2][FIELD_ROWS_MAX + 1]; /* how clear each side is, cumulated from row to row */
    struct outline_cell *cell;          /* rows x FIELD_ALL, row 0 innermost */
    float *sum; /* FIELD_ALL x (FIELD_ROWS_MAX + 1): odds, cumulated from row to row */
};

static inline struct sl_point outline_field_picture_px(const struct find_picture *p,
                                                       struct sl_point q)
{
    return (struct sl_point){(q.x - p->x0) / p->scale, (q.y - p->y0) / p->scale};
}

/* False without memory. */
bool outline_field_create(struct outline_field *ret);
void outline_field_finish(struct outline_field *field);

/* Reads the upper or lower end of an outline; `paper` is clean paper's colour on the strip. False
 * if the strip is too small for it. May be called again and again. */
bool outline_field_fill(const struct find_picture *picture, const struct sl_outline *outline,
                        bool upper, const double paper[FIND_PLANES], struct outline_field *field);

static inline struct outline_cell *outline_field_cell(const struct outline_field *field, int row,
                                                      int column)
{
    return field->cell + (size_t)row * FIELD_ALL + (size_t)column;
}

/* Mean colour of a row's columns from..to. */
void outline_field_mean(const struct outline_field *field, int row, int from, int to,
                        float ret[FIND_PLANES]);

/* Where a column lies across the strip: 0 the left side, 1 the right. */
double outline_field_across(int column);

/* The picture's place so far across and `out` px beyond the end that was found. */
struct sl_point outline_field_place(const struct outline_field *field, double across, double out);

/* How far beyond an end that was found at a tape's edge the paper ends under the tape, px; 0 where
 * no tape is seen or nothing under it. `slope`: of the tape's edge, right minus left over the
 * width. */
double outline_under_cover(const struct outline_field *field, double slope);

#endif
