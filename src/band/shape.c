// SPDX-License-Identifier: GPL-3.0-or-later
/* The exponentially modified Gaussian is a Gaussian G(d; sigma), d = x - mean, convolved with
 * exp(t/tau)/tau, t < 0:
 *     f = exp(sigma^2/(2 tau^2) + d/tau) erfc((sigma/tau + d/sigma)/sqrt 2) / (2 tau)
 * E. Grushka, Anal. Chem. 44 (1972) 1733-1738, mirrored. From the convolution f - tau f' = G, which
 * gives the derivatives without further special functions:
 *     f' = (f - G)/tau,  df/dmean = -f',  df/d(sigma^2) = f''/2. */
#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_erf.h>
#include <math.h>

#include "band/shape.h"

/* Below this ratio the tail is hardly more than a shift, and the closed form loses its digits. */
static const double tau_least = 0.05;
static const double farthest = 37.0; /* exp(-farthest^2/2) is nothing in double */

static double gauss(double d, double sigma)
{
    double z = d / sigma;
    return fabs(z) < farthest ? exp(-0.5 * z * z) / (sigma * sqrt(2.0 * M_PI)) : 0.0;
}

/* The normal distribution's integral. */
static double phi(double z)
{
    return 0.5 * erfc(-z * M_SQRT1_2);
}

static double emg_value(double d, double sigma, double tau)
{
    double z = (sigma / tau + d / sigma) * M_SQRT1_2;
    double exponent = 0.5 * gsl_pow_2(sigma / tau) + d / tau;
    if (z > 3.0) /* both factors are huge: add their logarithms */
        return exp(exponent + gsl_sf_log_erfc(z)) / (2.0 * tau);
    return exponent < -700.0 ? 0.0 : exp(exponent) * erfc(z) / (2.0 * tau);
}

/* With a tail that short: a Gaussian of the same mean and variance, so that a search that passes
 * the limit meets no step there. `d` is from that mean. */
static struct emg emg_short(double d, double sigma, double tau)
{
    double variance = sigma * sigma + tau * tau, g = gauss(d, sqrt(variance));
    double slope = g * d / variance, wider = g * (d * d / variance - 1.0) / variance;
    return (struct emg){g, slope, sigma * sigma * wider, tau * tau * wider - tau * slope};
}

struct emg shape_emg(double x, double mean, double sigma, double tau)
{
    double d = x - mean, g = gauss(d, sigma);
    if (tau < tau_least * sigma)
        return emg_short(d + tau, sigma, tau);
    double f = emg_value(d, sigma, tau);
    double slope = (f - g) / tau;
    double curvature = (slope + g * d / (sigma * sigma)) / tau;
    double by_tau = -f * (1.0 / tau + d / (tau * tau) + sigma * sigma / gsl_pow_3(tau)) +
                    g * sigma * sigma / gsl_pow_3(tau);
    return (struct emg){f, -slope, sigma * sigma * curvature, tau * by_tau};
}

struct line shape_line(double x, double middle, double width, double blur)
{
    double low = (x - middle + 0.5 * width) / blur, high = (x - middle - 0.5 * width) / blur;
    double g_low = gauss(low, 1.0), g_high = gauss(high, 1.0);
    double value = (phi(low) - phi(high)) / width;
    return (struct line){.value = value,
                         .by_middle = (g_high - g_low) / (width * blur),
                         .by_ln_width = -value + 0.5 * (g_low + g_high) / blur,
                         .by_ln_blur = (high * g_high - low * g_low) / width};
}

struct streak shape_streak(double x, double blur, double end, double sigma, double rate)
{
    double z = (end - x) / sigma;
    double rise = rate * exp(fmin(-rate * (end - x), 50.0)) * phi(x / blur);
    double value = rise * phi(z), edge = rise * gauss(z, 1.0);
    return (struct streak){value, -rate * value + edge / sigma, -edge * z,
                           value * (1.0 - rate * (end - x))};
}

struct streak shape_fading(double x, double blur, double end, double sigma, double rate)
{
    double z = (end - x) / sigma;
    double fall = rate * exp(GSL_MIN(-rate * x, 50.0)) * phi(x / blur);
    double value = fall * phi(z), edge = fall * gauss(z, 1.0);
    return (struct streak){value, edge / sigma, -edge * z, value * (1.0 - rate * x)};
}

struct bath shape_bath(double x, double blur, double reach)
{
    double fall = exp(GSL_MIN(x / reach, 0.0)) * phi(-x / blur) / reach;
    return (struct bath){fall, fall * (-GSL_MIN(x / reach, 0.0) - 1.0)};
}

double shape_emg_apex(double mean, double sigma, double tau)
{
    double low = mean - 2.0 * sigma - fmin(tau, 3.0 * sigma), high = mean;
    if (tau < tau_least * sigma)
        return mean - tau;
    for (int i = 0; i < 60; i++) { /* the slope falls from positive to negative: halve */
        double middle = 0.5 * (low + high);
        if (shape_emg(middle, mean, sigma, tau).by_mean < 0.0)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

static double crossing(double mean, double sigma, double tau, double level, double inside,
                       double outside)
{
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (inside + outside);
        if (shape_emg(middle, mean, sigma, tau).value > level)
            inside = middle;
        else
            outside = middle;
    }
    return 0.5 * (inside + outside);
}

double shape_emg_width(double mean, double sigma, double tau, double part, double *ret_lead)
{
    double apex = shape_emg_apex(mean, sigma, tau);
    double level = part * shape_emg(apex, mean, sigma, tau).value;
    double reach = sigma * (3.0 + 2.0 * sqrt(-log(part))) - log(part) * 3.0 * tau;
    double low = crossing(mean, sigma, tau, level, apex, apex - reach);
    double high = crossing(mean, sigma, tau, level, apex, apex + reach);
    if (ret_lead)
        *ret_lead = high - apex;
    return high - low;
}
