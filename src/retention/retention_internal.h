// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of this folder share. */
#ifndef SL_RETENTION_INTERNAL_H
#define SL_RETENTION_INTERNAL_H

#include "strandline/retention.h"

/* One side of a pair: the strip with the photo that it is on. */
struct sl_side {
    const struct sl_reading *reading;
    const struct sl_strip *strip;
};

/* The ink that the user told for the strip; "" where none was. */
const char *sl_side_ink(const struct sl_side *side);
/* Whether two told inks are the same but for case and outer blanks; an untold one is like any. */
bool sl_ink_same(const char *a, const char *b);

/* Whether the bands of two strips can't come from one ink: warns the pair. */
void sl_pair_check_kinship(const struct sl_side *immediate, const struct sl_side *dried,
                           struct sl_warnings *warnings);
/* Whether both were run under the same conditions, as far as told: warns the pair. */
void sl_pair_check_conditions(const struct sl_side *immediate, const struct sl_side *dried,
                              struct sl_warnings *warnings);

/* Fills the pair's sentences from its numbers. */
void sl_pair_explain(const struct sl_side *immediate, const struct sl_side *dried,
                     struct sl_pair *pair);

#endif
