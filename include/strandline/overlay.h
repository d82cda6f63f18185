// SPDX-License-Identifier: GPL-3.0-or-later
/* Overlay: many strips on one Rf axis, how alike they are, and which dyes they may share.
 *
 * Ownership: an overlay borrows the document's strips and owns its arrays (finish). */
#ifndef STRANDLINE_OVERLAY_H
#define STRANDLINE_OVERLAY_H

#include "strandline/retention.h"

enum { SL_OVERLAY_SAMPLES = 561, SL_OVERLAY_MAX = 64 }; /* Rf -0.2 .. 1.2 in steps of 0.0025 */

struct sl_overlay_trace {
    struct sl_strip_ref ref;
    char label[SL_NAME_MAX + 32];       /* ink and role */
    double load[SL_OVERLAY_SAMPLES][3]; /* as measured, NAN outside the paper */
};

/* Two bands that can be the same dye: Rf and signature agree within their intervals. Bands
 * that never left the line are not compared: they agree in Rf whatever they are. */
struct sl_shared_dye {
    size_t trace_1, band_1, trace_2, band_2;
    double rf_difference, rf_allowance; /* the allowance is the 95 % interval of the difference */
    double signature_angle_deg, signature_allowance_deg;
    const char *hue_name;
};

struct sl_overlay {
    double rf[SL_OVERLAY_SAMPLES];
    size_t trace_count;
    struct sl_overlay_trace *trace;
    double *likeness; /* trace_count x trace_count, 0..1, 1 the same */
    size_t shared_count;
    struct sl_shared_dye *shared;
};

SL_API sl_code sl_overlay_make(const struct sl_document *document, struct sl_overlay *ret,
                               struct sl_status *status);
SL_API void sl_overlay_finish(struct sl_overlay *overlay);

#endif
