// SPDX-License-Identifier: GPL-3.0-or-later
/* Readings filled by hand, for the tests of figures and reports: drawn from dyes with known Rf.
 * Inks, papers and workshop are invented. */
#ifndef STRANDLINE_TESTS_SAMPLE_H
#define STRANDLINE_TESTS_SAMPLE_H

#include "strandline/overlay.h"
#include "strandline/retention.h"

struct sample_dye {
    double rf, sigma_rf;
    double load[3]; /* K/S at the apex */
};

struct sample {
    struct sl_document document; /* photo 0: a pair; photo 1: three single strips */
    struct sl_pair pair;         /* an ink that stays */
    struct sl_overlay overlay;   /* all strips */
};

/* Strips of photo 1: 0 a ink of four bands; 1 a streak without bands; 2 blank paper. */
void sample_create(struct sample *ret);
void sample_destroy(struct sample *sample);
/* No picture, as in a reading that was loaded from a file. */
void sample_drop_pictures(struct sample *sample);
/* NAN in every number that may be unknown; the pair has no verdict then. */
void sample_spoil(struct sample *sample);

#endif
