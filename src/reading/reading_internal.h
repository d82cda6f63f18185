// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of this folder share. */
#ifndef SL_READING_INTERNAL_H
#define SL_READING_INTERNAL_H

#include "strandline/reading.h"

/* One strip on its way from outline to marks. */
struct sl_read_item {
    struct sl_outline found; /* as the finder gave it */
    struct sl_outline outline;
    struct sl_sheet sheet;
    struct sl_marks marks;
    struct sl_warnings warnings;
    struct sl_strip_hints hints;
};

/* Index of a strip that should lie the other way round to agree with surer strips of the photo, or
 * -1. */
int sl_read_disagrees(const struct sl_read_item *items, size_t count);

/* Sorts items from left to right as seen with the lower ends down. */
void sl_read_sort(struct sl_read_item *items, size_t count);

/* Frees the strips of a reading and leaves it without any. */
void sl_reading_drop_strips(struct sl_reading *reading);

/* The straightened strip as a small picture, light removed, first row at the upper end. */
sl_code sl_picture_make(const struct sl_sheet *sheet, const struct sl_outline *outline,
                        struct sl_picture *ret, struct sl_status *status);

#endif
