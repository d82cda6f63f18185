// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Colour of dyed paper: Kubelka-Munk over the wavelength, then the camera's three channels.
 */
#ifndef RENDER_SPECTRUM_H
#define RENDER_SPECTRUM_H

#include "scene.h"

enum { WAVES = 16 }; ///< 400 to 700 nm in steps of 20 nm

struct spectra {
    double weight[3][WAVES];     ///< camera channels, each sums to 1
    double dye[DYES_MAX][WAVES]; ///< K/S of amount 1
    double dye_load[DYES_MAX];   ///< K/S of a trace of amount 1, summed over the channels
};

void spectra_fill(const struct scene *scene, struct spectra *ret_spectra);

/// K/S of a paper, from its reflectance in the three channels.
void spectra_paper(const double reflectance[3], double ret_ks[WAVES]);

/// Linear light (clean white = 1) of K/S over the wavelength.
void spectra_see(const struct spectra *spectra, const double ks[WAVES], double ret_rgb[3]);

double ks_of_reflectance(double reflectance);
double reflectance_of_ks(double ks);

/// CIE L*a*b* (D50) of linear sRGB light.
void lab_of_linear(const double rgb[3], double ret_lab[3]);
/// CIEDE2000 between two L*a*b* colours.
double lab_difference(const double a[3], const double b[3]);

#endif
