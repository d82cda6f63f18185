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

/* Whether the dyes of two strips, each taken together, can't come from one ink. */
bool sl_pair_dyes_differ(const struct sl_side *immediate, const struct sl_side *dried);
/* The same, and strong bands of one strip that the other lacks: warns the pair. */
void sl_pair_check_kinship(const struct sl_side *immediate, const struct sl_side *dried,
                           struct sl_warnings *warnings);
/* Whether both were run under the same conditions, as far as told: warns the pair. */
void sl_pair_check_conditions(const struct sl_side *immediate, const struct sl_side *dried,
                              struct sl_warnings *warnings);

/* The verdict from the pair's shares; from the strips (of several, the first ones) the doubt which
 * end was in the water, and the colour of what is retained. */
void sl_pair_judge_shares(const struct sl_strip *immediate, const struct sl_strip *dried,
                          struct sl_pair *pair);
/* A pair without a verdict has no numbers that could be taken for one. */
void sl_pair_leave_unjudged(struct sl_pair *pair, enum sl_unjudged why);
/* Whether there is a share to judge, with an interval in order. */
bool sl_share_is_known(double share, const double interval[2]);
/* Whether the water rose so little that dye which runs may still lie at the line. */
bool sl_strip_hardly_climbed(const struct sl_strip *strip);

/* The sentences of several strips' verdict; `dried_spread` NAN where one strip dried first. */
void sl_combined_explain(struct sl_combined *combined, double dried_spread);

/* Fills the pair's sentences from its numbers. */
void sl_pair_explain(const struct sl_side *immediate, const struct sl_side *dried,
                     struct sl_pair *pair);

#endif
