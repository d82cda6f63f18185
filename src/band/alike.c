// SPDX-License-Identifier: GPL-3.0-or-later
/* Whether two bands can be the same dye: their Rf and the direction of their load
 * agree within the 95 % interval of the difference. Agreement is a hint, never proof: other dyes
 * may run as high and look alike.
 *
 * The interval of a difference has two parts: how well each strip was measured, and how well a run
 * can be repeated at all, which one strip can't tell. */
#include <math.h>

#include "strandline/band.h"

/* 95 % half width of the difference in Rf of one dye between two runs (common practice, no
 * source). */
static const double RF_REPEAT = 0.03;
/* The same for the angle between signatures: K/S of a broad camera channel isn't quite proportional
 * to dye, so the direction turns a little with concentration. */
static const double SIGNATURE_REPEAT_DEG = 5;
/* A wider allowance than this agrees with nearly any colour: no telling. */
static const double SIGNATURE_ALLOWANCE_MAX_DEG = 20;
static const double RF_ALLOWANCE_MAX = 0.15;
/* 95 % point of chi-square with 2 degrees of freedom: an angle's error lies in a plane. */
static const double CHI_SQUARE_2 = 5.991;
static const double DEG_PER_RAD = 57.29577951308232;

/* Variance of a unit vector's direction: what its channels' errors have across it. */
static double variance_across(const struct sl_band *band)
{
    double sum = 0;
    for (int c = 0; c < 3; c++)
        sum += band->signature_se[c] * band->signature_se[c] *
               (1 - band->signature[c] * band->signature[c]);
    return sum;
}

static double signature_allowance_deg(const struct sl_band *a, const struct sl_band *b)
{
    /* both directions across share the variance, hence the half */
    double variance = (variance_across(a) + variance_across(b)) / 2;
    return hypot(sqrt(CHI_SQUARE_2 * variance) * DEG_PER_RAD, SIGNATURE_REPEAT_DEG);
}

/* Half width of the 95 % interval of the difference, on the side that faces the other band. */
static double rf_allowance(const struct sl_band *low, const struct sl_band *high)
{
    double up = low->rf_interval[1] - low->rf, down = high->rf - high->rf_interval[0];
    return hypot(hypot(up, down), RF_REPEAT);
}

bool sl_bands_alike(const struct sl_band *a, const struct sl_band *b, struct sl_likeness *ret)
{
    ret->rf_difference = b->rf - a->rf;
    ret->rf_allowance = a->rf <= b->rf ? rf_allowance(a, b) : rf_allowance(b, a);
    ret->angle_deg = sl_signature_angle_rad(a->signature, b->signature) * DEG_PER_RAD;
    ret->angle_allowance_deg = signature_allowance_deg(a, b);
    return fabs(ret->rf_difference) <= ret->rf_allowance && ret->rf_allowance <= RF_ALLOWANCE_MAX &&
           ret->angle_deg <= ret->angle_allowance_deg &&
           ret->angle_allowance_deg <= SIGNATURE_ALLOWANCE_MAX_DEG;
}
