// SPDX-License-Identifier: GPL-3.0-or-later
/* How likely a share is to lie on one side of a limit, and how that is told. */
#include <gsl/gsl_cdf.h>
#include <math.h>

#include "strandline/retention.h"

static const double Z_95 = 1.959964; /* half a 95 % interval, in standard deviations */
/* Of a share that is known exactly. */
static const double SD_LEAST = 1e-9;

double sl_share_at_least(double share, const double interval[2], double limit)
{
    double sd = (interval[1] - interval[0]) / (2 * Z_95);
    if (!isfinite(share + sd))
        return NAN;
    return gsl_cdf_ugaussian_P((share - limit) / fmax(sd, SD_LEAST));
}

const char *sl_likelihood_words(double probability)
{
    static const struct {
        double from;
        const char *words;
    } scale[] = {
        {0.99, "virtually certain"},
        {0.90, "very likely"},
        {SL_LIKELY, "likely"},
        {SL_UNLIKELY, "about as likely as not"},
        {0.10, "unlikely"},
        {0.01, "very unlikely"},
        {0, "exceptionally unlikely"},
    };
    for (size_t i = 0; i < sizeof scale / sizeof *scale; i++)
        if (probability >= scale[i].from)
            return scale[i].words;
    return "";
}
