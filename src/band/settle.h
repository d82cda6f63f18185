// SPDX-License-Identifier: GPL-3.0-or-later
/* How much of the dye is bound to the line: what the data, the physics and common practice leave
 * possible. */
#ifndef BAND_SETTLE_H
#define BAND_SETTLE_H

#include "band/fit.h"

enum { SETTLE_POINTS = 17, SETTLE_KINDS = 2 };

/* How well the strip can be described where the bound share is held at one value after the other,
 * rising: chi-square, and the share that is described as still to be released there. */
struct settle_profile {
    size_t count;
    double at[SETTLE_POINTS], chi2[SETTLE_POINTS], left[SETTLE_POINTS];
};

struct settle {
    struct settle_profile kind[SETTLE_KINDS]; /* of streak; one may be without points */
    double scale; /* of what lies at the line: measured over described */
};

/* `fit` is where the search starts, `total` the area under the load, `most` the largest bound share
 * that is asked for. SL_E_MEMORY, SL_E_INTERNAL where nothing could be fitted. */
sl_code settle_make(const struct track *track, const struct fit *fit, double total, double most,
                    struct settle *ret, struct sl_status *status);

/* What is known beside that: the retained share, and its standard error without what moves it and
 * the bound share alike; the standard error of the load that stands on the line, as a share; the
 * error of both, as a part of them. */
struct settle_known {
    double retained, retained_se, line_se, common;
    /* Probability that the line is at another place, and what was retained there. */
    double elsewhere, retained_elsewhere;
};

/* Bound share: the median with the line at the likelier place, the 95 % interval of all places. */
struct settled {
    double middle, low, high;
};
/* NAN where no answer goes with what is known. */
struct settled settle_weigh(const struct settle *settle, const struct settle_known *known);

#endif
