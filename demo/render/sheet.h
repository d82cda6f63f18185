// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A flat thing on the table: a map of colours and one of distances to its outline.
 *
 * Local coordinates in mm: u to the right of the middle, v up from the lower end, as seen with the
 * upper end up. Strips, cards, rulers, pens and tape are all sheets. sheet_create() allocates,
 * sheet_finish() frees and accepts a sheet of zeros.
 */
#ifndef RENDER_SHEET_H
#define RENDER_SHEET_H

#include "scene.h"

enum { CURL_STEPS = 128 };

enum relief { RELIEF_NONE = -1 }; ///< else enum paper_kind

struct sheet {
    double x_mm, y_mm, turn_deg, width_mm, length_mm;
    double cos_turn, sin_turn;
    double step_mm;
    int columns, rows;
    float *rgb;  ///< linear light, 3 a cell
    float *edge; ///< mm inside the outline; negative outside
    double opacity;
    double height_mm; ///< how far above the table: throws the shadow
    int relief;       ///< how its paper is textured
    double relief_depth;
    double relief_shift; ///< so that no two sheets have the same fibres
    bool curled;
    double most_lift_mm;
    double roll_mm;  ///< radius of a sheet rolled about its long axis; 0: bent along its length
    double crest_mm; ///< height of its middle if that is the highest part (ridge), else 0
    double ground_mm[CURL_STEPS + 1]; ///< along the table, from the lower end
    double lift_mm[CURL_STEPS + 1];
    double slope[CURL_STEPS + 1];
};

bool sheet_create(struct sheet *sheet, double width_mm, double length_mm, double step_mm);
void sheet_finish(struct sheet *sheet);
void sheet_place(struct sheet *sheet, double x_mm, double y_mm, double turn_deg);
void sheet_fill(struct sheet *sheet, const double colour[3]);
void sheet_outline(struct sheet *sheet, double rounded_mm); ///< a rectangle with round corners
void sheet_curl(struct sheet *sheet, int kind, double lift_mm, double paper_width_mm);

/// Draws with a pen: a line with round ends. Opacity 0 to 1, multiplied with what lies there.
struct ink_pen {
    double half_width_mm, colour[3], opacity;
};
void sheet_line(struct sheet *sheet, const struct ink_pen *pen, double u0, double v0, double u1,
                double v1);
/// Letters of this height, their lower left at (u, v); returns the width. turned: reads downwards.
double sheet_text(struct sheet *sheet, const struct ink_pen *pen, const char *text, double u,
                  double v, double height_mm, double turn_deg);

double sheet_u(const struct sheet *sheet, int column);
double sheet_v(const struct sheet *sheet, int row);

/// From the table to the sheet; on a curled sheet for a point that lies lifted.
void sheet_local(const struct sheet *sheet, double x, double y, double *ret_u, double *ret_v);
/// From the sheet to the table; ret_z is the height there.
void sheet_world(const struct sheet *sheet, double u, double v, double *ret_x, double *ret_y,
                 double *ret_z);
/// Height above the table, and how it rises a mm of paper along u and v.
double sheet_lift(const struct sheet *sheet, double u, double v, double ret_slope[2]);

#endif
