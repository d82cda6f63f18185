// SPDX-License-Identifier: GPL-3.0-or-later
/* Which bands of different strips can be the same dye (sl_bands_alike). */
#include "overlay_internal.h"

#include <stdlib.h>

static sl_code append(struct sl_overlay *overlay, const struct sl_shared_dye *found,
                      size_t *capacity, struct sl_status *status)
{
    if (overlay->shared_count == *capacity) {
        size_t wanted = *capacity ? 2 * *capacity : 16;
        struct sl_shared_dye *grown = realloc(overlay->shared, wanted * sizeof *grown);
        if (!grown)
            return sl_status_set(status, SL_E_MEMORY, "overlay",
                                 "Lay fewer strips over each other.",
                                 "there is not enough memory for the shared dyes");
        overlay->shared = grown;
        *capacity = wanted;
    }
    overlay->shared[overlay->shared_count++] = *found;
    return SL_OK;
}

static sl_code compare(const struct sl_document *document, struct sl_overlay *overlay, size_t i,
                       size_t j, size_t *capacity, struct sl_status *status)
{
    const struct sl_bands *a = &sl_overlay_strip(document, overlay->trace[i].ref)->bands;
    const struct sl_bands *b = &sl_overlay_strip(document, overlay->trace[j].ref)->bands;
    sl_code code = SL_OK;
    for (size_t p = 0; p < a->count; p++)
        for (size_t q = 0; q < b->count && code == SL_OK; q++) {
            /* what never left the line agrees in Rf whatever it is */
            if (a->item[p].retained && b->item[q].retained)
                continue;
            struct sl_shared_dye found = {.trace_1 = i, .band_1 = p, .trace_2 = j, .band_2 = q};
            struct sl_likeness likeness;
            if (!sl_bands_alike(&a->item[p], &b->item[q], &likeness))
                continue;
            found.rf_difference = likeness.rf_difference;
            found.rf_allowance = likeness.rf_allowance;
            found.signature_angle_deg = likeness.angle_deg;
            found.signature_allowance_deg = likeness.angle_allowance_deg;
            const struct sl_band *more =
                a->item[p].share >= b->item[q].share ? &a->item[p] : &b->item[q];
            found.hue_name = more->hue_name;
            code = append(overlay, &found, capacity, status);
        }
    return code;
}

sl_code sl_overlay_shared(const struct sl_document *document, struct sl_overlay *overlay,
                          struct sl_status *status)
{
    size_t capacity = 0;
    sl_code code = SL_OK;
    for (size_t i = 0; i < overlay->trace_count; i++)
        for (size_t j = i + 1; j < overlay->trace_count && code == SL_OK; j++)
            code = compare(document, overlay, i, j, &capacity, status);
    return code;
}
