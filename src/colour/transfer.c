// SPDX-License-Identifier: GPL-3.0-or-later
/* The sRGB transfer function, IEC 61966-2-1:1999, extended oddly below 0 and freely above 1. */
#include "strandline/colour.h"

#include <math.h>

static const double ENCODED_KNEE = 0.04045, LINEAR_KNEE = 0.0031308;
static const double SLOPE = 12.92, SCALE = 1.055, OFFSET = 0.055, GAMMA = 2.4;

double sl_srgb_decode(double encoded)
{
    double v = fabs(encoded);
    double linear = v <= ENCODED_KNEE ? v / SLOPE : pow((v + OFFSET) / SCALE, GAMMA);
    return copysign(linear, encoded);
}

double sl_srgb_encode(double linear)
{
    double v = fabs(linear);
    double encoded = v <= LINEAR_KNEE ? v * SLOPE : SCALE * pow(v, 1 / GAMMA) - OFFSET;
    return copysign(encoded, linear);
}
