// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/band.h"

#include <math.h>

double sl_rf(double apex, double origin, double front)
{
    return (apex - origin) / (front - origin);
}

double sl_hrf(double rf)
{
    return 100.0 * rf;
}

double sl_resolution(double rf_1, double rf_2, double half_width_1, double half_width_2)
{
    /* 1.18 is sqrt(2 ln 2) as the pharmacopoeias round it: the form reads 0.22 % high by design. */
    return 1.18 * (rf_2 - rf_1) / (half_width_1 + half_width_2);
}

double sl_plates(double migration, double half_width)
{
    double ratio = migration / half_width;
    return 5.54 * ratio * ratio;
}

double sl_symmetry_factor(double width_5_percent, double leading_5_percent)
{
    return width_5_percent / (2.0 * leading_5_percent);
}

double sl_signature_angle_rad(const double a[3], const double b[3])
{
    double dot = 0.0, aa = 0.0, bb = 0.0;
    for (int c = 0; c < 3; c++) {
        dot += a[c] * b[c];
        aa += a[c] * a[c];
        bb += b[c] * b[c];
    }
    return acos(fmin(fmax(dot / fmax(sqrt(aa * bb), 1e-12), -1.0), 1.0));
}
