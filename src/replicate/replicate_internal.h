// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef SL_REPLICATE_INTERNAL_H
#define SL_REPLICATE_INTERNAL_H

#include "strandline/replicate.h"

/* Fills the bands of a set whose strips are listed. */
void sl_replicate_match(struct sl_reading *const *reading, struct sl_replicate *set);

#endif
