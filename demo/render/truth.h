// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What is true of a picture: places, bands, shares, profile, in the format "strip-truth-1".
 *
 * Strength is K/S = (1-R)^2/(2R) of the noise-free linear reflectance less that of clean paper,
 * summed over R, G, B; the profile its mean over the middle 90 % of the width, row by row. A band
 * is a maximum of the profile that dips to its neighbours by 2 % of the highest and 6 % of its own
 * height. Corners: lower left, lower right, upper right, upper left, the lower end being that in
 * the water.
 */
#ifndef RENDER_TRUTH_H
#define RENDER_TRUTH_H

#include "camera.h"
#include "run.h"
#include "sheet.h"

struct truth_input {
    const struct scene *scene;
    const struct spectra *spectra;
    const struct camera *camera;
    const struct run *runs;
    const struct sheet *sheets; ///< first the strips' in order, then what lies over them
    int sheet_count;
    const char *photo; ///< file name without folders
};

/// Of the first strip: for a pair that was photographed strip by strip.
struct truth_shares {
    double retained, bound;
    bool water_resistant;
};

bool truth_write(const struct truth_input *input, const char *path,
                 struct truth_shares *ret_shares);

#endif
