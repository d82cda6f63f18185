// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Numbers kept within limits, inline: fmin() and fmax() are library calls, a tenth of a picture's
 * time.
 */
#ifndef RENDER_WITHIN_H
#define RENDER_WITHIN_H

static inline double within(double value, double low, double high)
{
    double not_less = value > low ? value : low;
    return not_less < high ? not_less : high;
}

static inline float within_unit(float value)
{
    float not_less = value > 0 ? value : 0;
    return not_less < 1 ? not_less : 1;
}

#endif
