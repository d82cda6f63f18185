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

/* Whether the bands of two strips can't come from one ink: warns the pair. */
void sl_pair_check_kinship(const struct sl_side *immediate, const struct sl_side *dried,
                           struct sl_warnings *warnings);
/* Whether both were run under the same conditions, as far as told: warns the pair. */
void sl_pair_check_conditions(const struct sl_side *immediate, const struct sl_side *dried,
                              struct sl_warnings *warnings);

/* Index, level and what holds, from the pair's bound shares; the colour of what stayed from the
 * dried strip. */
void sl_pair_judge_shares(const struct sl_strip *dried, struct sl_pair *pair);

/* The sentences of several strips' verdict; `dried_spread` NAN where one strip dried first. */
void sl_combined_explain(struct sl_combined *combined, double dried_spread);

/* Fills the pair's sentences from its numbers. */
void sl_pair_explain(const struct sl_side *immediate, const struct sl_side *dried,
                     struct sl_pair *pair);

#endif
