// SPDX-License-Identifier: GPL-3.0-or-later
/* Writing, ticks, dust: dark spots that hang together with no dye. */
#ifndef STRANDLINE_STRIP_MARKS_WRITING_H
#define STRANDLINE_STRIP_MARKS_WRITING_H

#include <stdbool.h>

#include "strandline/strip.h"

/* Sets SL_CELL_MARK on the cells of a sheet whose light is removed. False without memory. */
bool sl_writing_flag(struct sl_sheet *sheet);
/* Where flagged cells are: -1 all near the lower end .. 1 all near the upper one; few count little.
 */
double sl_writing_up(const struct sl_sheet *sheet);

#endif
