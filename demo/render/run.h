// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What the water does to the ink on one strip: amounts of every dye on a grid, noise-free colour,
 * and the averages across the strip that the truth is read from.
 */
#ifndef RENDER_RUN_H
#define RENDER_RUN_H

#include "spectrum.h"

struct run {
    const struct strip *strip;
    double step_mm, box_width_mm; ///< the grid covers the box of the widest and longest part
    int columns, rows;
    float *reflectance;           ///< linear light, 3 a cell; paper where there is no dye
    double paper_rgb[3];          ///< of clean paper
    double *origin_mm, *front_mm; ///< per column
    double *left_mm, *right_mm;   ///< cut edges per row, in u
    // averages over the middle 90 % of the width, per row
    double *load, *load_relative, *rgb; ///< 3 a row
    double *dye_load;                   ///< PARTS_MAX a row: by dye, as if it stood alone
    // over the whole strip
    double low_end_mm, high_end_mm; ///< where the paper ends, cut askew or torn: mean of the width
    double origin_mean_mm, front_mean_mm, front_spread_mm, front_low_mm, front_high_mm;
    double bound[PARTS_MAX], amount[PARTS_MAX]; ///< as used here
};

/// The dyes' amounts differ by a few percent between two strips of one ink, as hand-ruled lines do.
bool run_create(const struct scene *scene, const struct spectra *spectra, int strip_index,
                struct run *ret_run);
void run_finish(struct run *run);

/// The dried way of running: more of the dye is bound.
bool strip_is_dried(const struct strip *strip);

#endif
