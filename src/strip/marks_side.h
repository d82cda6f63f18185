// SPDX-License-Identifier: GPL-3.0-or-later
/* Long edges in the shadow of a neighbouring strip, or under it. */
#ifndef STRANDLINE_STRIP_MARKS_SIDE_H
#define STRANDLINE_STRIP_MARKS_SIDE_H

#include <stdbool.h>

#include "strip/light.h"

/* On a sheet whose light is removed: evens out what is left of light across the width where clean
 * rows show it, and sets SL_CELL_HIDDEN on columns at the edges that are too dark for that. False
 * without memory. */
bool sl_side_even(struct sl_sheet *sheet, const struct sl_light *light);

#endif
