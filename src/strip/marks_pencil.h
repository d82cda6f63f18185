// SPDX-License-Identifier: GPL-3.0-or-later
/* Graphite on the ink line: a pencil line or ticks drawn where the ink was to be ruled. */
#ifndef STRANDLINE_STRIP_MARKS_PENCIL_H
#define STRANDLINE_STRIP_MARKS_PENCIL_H

#include "strip/marks_view.h"

enum sl_pencil_kind {
    SL_PENCIL_NONE,
    SL_PENCIL_IN_DOUBT, /* graphite or a narrow line of neutral ink: can't be told apart */
    SL_PENCIL_CLEAR,
};

struct sl_pencil {
    enum sl_pencil_kind kind;
    double depth[SL_VIEW_LANES];  /* -ln R of its middle by lane, 0 where there is none */
    double ground[SL_VIEW_LANES]; /* -ln R at its feet: ink below it */
    double row[SL_VIEW_LANES];    /* its middle, where depth is more than 0 */
    double reach;                 /* rows on either side that it fills */
    double doubt;                 /* standard error, of the depth */
};

/* Looks on and about the origin. False without memory. */
bool sl_pencil_find(const struct sl_view *view, double origin, struct sl_pencil *ret);

/* Takes a clear one out of the sheet (R is divided by the graphite's). What it leaves uncertain,
 * and all of one in doubt, goes into the sheet's error of the paper white. */
void sl_pencil_take_out(const struct sl_pencil *pencil, const struct sl_view *view,
                        struct sl_sheet *sheet);

#endif
