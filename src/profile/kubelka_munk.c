// SPDX-License-Identifier: GPL-3.0-or-later
/* P. Kubelka, F. Munk, Z. tech. Phys. 12 (1931) 593-601: a layer so thick that nothing shines
 * through has K/S = (1 - R)^2 / (2 R). */
#include <math.h>

#include "strandline/profile.h"

double sl_kubelka_munk(double reflectance)
{
    return (1 - reflectance) * (1 - reflectance) / (2 * reflectance);
}

double sl_kubelka_munk_inverse(double k_over_s)
{
    /* 1 / (1 + F + sqrt(F^2 + 2 F)) is the same as 1 + F - sqrt(F^2 + 2 F) without the loss of
     * digits that the difference of two large numbers has */
    return 1 / (1 + k_over_s + sqrt(k_over_s * k_over_s + 2 * k_over_s));
}

/* Noise lifts some cells above clean paper. Beyond R = 1 the formula would turn upwards again and
 * make dye of light, so it goes on straight with the slope that it has at the paper's R. */
double sl_load(double reflectance, double paper_reflectance)
{
    double p = paper_reflectance;
    double slope = p < 1 ? (p * p - 1) / (2 * p * p) : 0;
    if (reflectance >= 1)
        return slope * p * (reflectance - 1);
    double r = fmax(reflectance, SL_REFLECTANCE_MIN) * p;
    return sl_kubelka_munk(r) - sl_kubelka_munk(p);
}

double sl_optical_density(double reflectance)
{
    return -log10(fmax(reflectance, SL_REFLECTANCE_MIN));
}
