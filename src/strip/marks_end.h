// SPDX-License-Identifier: GPL-3.0-or-later
/* Which end of a strip was in the water. */
#ifndef STRANDLINE_STRIP_MARKS_END_H
#define STRANDLINE_STRIP_MARKS_END_H

#include "strip/marks_front.h"

/* Log odds (natural) that row 0 is at the lower end. */
double sl_end_log_odds(const struct sl_view *view, const struct sl_seen *seen);

/* How much a line looks like the ruled ink line, seen from the lower end: a log likelihood but for
 * a constant. `null` is the likeness that paper alone reaches. */
double sl_end_origin_score(const struct sl_view *view, const struct sl_line *line, double null);
double sl_end_null(const struct sl_view *view);

#endif
