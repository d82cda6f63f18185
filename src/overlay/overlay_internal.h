// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of this folder share. */
#ifndef SL_OVERLAY_INTERNAL_H
#define SL_OVERLAY_INTERNAL_H

#include "strandline/overlay.h"

/* Likeness of two traces, 0..1, NAN where one has no load on their common part of the axis. */
sl_code sl_overlay_likeness(struct sl_overlay *overlay, struct sl_status *status);
/* Bands that can be one dye, over all pairs of traces. */
sl_code sl_overlay_shared(const struct sl_document *document, struct sl_overlay *overlay,
                          struct sl_status *status);

static inline const struct sl_strip *sl_overlay_strip(const struct sl_document *document,
                                                      struct sl_strip_ref ref)
{
    return &document->reading[ref.photo]->strip[ref.strip];
}

#endif
