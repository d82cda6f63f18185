// SPDX-License-Identifier: GPL-3.0-or-later
// Model:
//  1. K/S of dye and paper add up at each wavelength and R = 1 + K/S - sqrt((K/S)^2 + 2 K/S):
//     P. Kubelka, F. Munk: Ein Beitrag zur Optik der Farbanstriche, Z. tech. Physik 12 (1931) 593.
//  2. A channel of the camera is a Gaussian over the wavelength, without negative lobes, and is
//     taken as linear sRGB (centres near those of phone sensors: common practice, no source).
//     So a band's colour changes a little with its concentration, as it does on real paper.
#include "spectrum.h"

#include <lcms2.h>
#include <math.h>

static const double channel_centre_nm[3] = {605, 540, 455};
static const double channel_width_nm[3] = {28, 32, 26};
// Light under this part of full scale is lost in the scatter of the lens and of the paper itself.
static const double reflectance_floor = 0.004;

static double wave_nm(int k)
{
    return 400.0 + 20.0 * k;
}

static double bell(double x, double centre, double width)
{
    double z = (x - centre) / width;
    return exp(-0.5 * z * z);
}

void spectra_fill(const struct scene *scene, struct spectra *ret_spectra)
{
    *ret_spectra = (struct spectra){0};
    for (int c = 0; c < 3; c++) {
        double sum = 0;
        for (int k = 0; k < WAVES; k++) {
            ret_spectra->weight[c][k] = bell(wave_nm(k), channel_centre_nm[c], channel_width_nm[c]);
            sum += ret_spectra->weight[c][k];
        }
        for (int k = 0; k < WAVES; k++) {
            ret_spectra->weight[c][k] /= sum;
        }
    }
    for (int d = 0; d < scene->dye_count; d++) {
        for (int k = 0; k < WAVES; k++) {
            const struct dye *dye = &scene->dyes[d];
            for (int p = 0; p < dye->peak_count; p++) {
                ret_spectra->dye[d][k] +=
                    dye->peaks[p].height *
                    bell(wave_nm(k), dye->peaks[p].centre_nm, dye->peaks[p].width_nm);
            }
            for (int c = 0; c < 3; c++) {
                ret_spectra->dye_load[d] += ret_spectra->weight[c][k] * ret_spectra->dye[d][k];
            }
        }
    }
}

double ks_of_reflectance(double reflectance)
{
    double r = fmin(fmax(reflectance, reflectance_floor), 1.0);
    return (1.0 - r) * (1.0 - r) / (2.0 * r);
}

double reflectance_of_ks(double ks)
{
    return 1.0 + ks - sqrt(ks * (ks + 2.0));
}

void spectra_paper(const double reflectance[3], double ret_ks[WAVES])
{
    for (int k = 0; k < WAVES; k++) {
        double nm = fmin(fmax(wave_nm(k), channel_centre_nm[2]), channel_centre_nm[0]);
        int upper = nm > channel_centre_nm[1] ? 0 : 1;
        double t = (nm - channel_centre_nm[upper + 1]) /
                   (channel_centre_nm[upper] - channel_centre_nm[upper + 1]);
        ret_ks[k] = ks_of_reflectance(reflectance[upper + 1] * (1 - t) + reflectance[upper] * t);
    }
}

void spectra_see(const struct spectra *spectra, const double ks[WAVES], double ret_rgb[3])
{
    double reflectance[WAVES];
    for (int k = 0; k < WAVES; k++) {
        reflectance[k] = reflectance_of_ks(ks[k]);
    }
    for (int c = 0; c < 3; c++) {
        double sum = 0;
        for (int k = 0; k < WAVES; k++) {
            sum += spectra->weight[c][k] * reflectance[k];
        }
        ret_rgb[c] = fmax(sum, reflectance_floor);
    }
}

void lab_of_linear(const double rgb[3], double ret_lab[3])
{
    // linear sRGB to XYZ with D50 as white, by the Bradford method (IEC 61966-2-1, ICC.1)
    static const double to_xyz[3][3] = {{0.4360747, 0.3850649, 0.1430804},
                                        {0.2225045, 0.7168786, 0.0606169},
                                        {0.0139322, 0.0971045, 0.7141733}};
    double v[3] = {0};
    for (int i = 0; i < 3; i++) {
        for (int c = 0; c < 3; c++) {
            v[i] += to_xyz[i][c] * rgb[c];
        }
    }
    cmsCIEXYZ xyz = {v[0], v[1], v[2]};
    cmsCIELab lab;
    cmsXYZ2Lab(NULL, &lab, &xyz);
    ret_lab[0] = lab.L;
    ret_lab[1] = lab.a;
    ret_lab[2] = lab.b;
}

double lab_difference(const double a[3], const double b[3])
{
    cmsCIELab p = {a[0], a[1], a[2]};
    cmsCIELab q = {b[0], b[1], b[2]};
    return cmsCIE2000DeltaE(&p, &q, 1, 1, 1);
}
