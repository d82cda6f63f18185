// SPDX-License-Identifier: GPL-3.0-or-later
/* What lies beyond the paper or over it: the table at a torn or rounded end, the shadow of what
 * hides an end. */
#ifndef STRANDLINE_STRIP_MARKS_OUTSIDE_H
#define STRANDLINE_STRIP_MARKS_OUTSIDE_H

#include <stdbool.h>

#include "strandline/strip.h"

/* Sets SL_CELL_HIDDEN on such cells of a sheet whose light is removed. False without memory. */
bool sl_outside_flag(struct sl_sheet *sheet);

#endif
