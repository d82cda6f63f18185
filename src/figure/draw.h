// SPDX-License-Identifier: GPL-3.0-or-later
/* The figures as bytes in memory, for files and for the HTML report. */
#ifndef STRANDLINE_FIGURE_DRAW_H
#define STRANDLINE_FIGURE_DRAW_H

#include "strandline/figure.h"

struct figure_bytes {
    char *bytes; /* for free() */
    size_t count;
};

/* `id_prefix` keeps ids apart where several SVGs stand in one page. */
struct figure_target {
    enum sl_figure_format format;
    const struct sl_figure_options *options; /* NULL: the usual ones */
    const char *id_prefix;
};

sl_code figure_draw_strip(const struct sl_reading *reading, size_t strip,
                          const struct figure_target *target, struct figure_bytes *ret,
                          struct sl_warnings *warnings, struct sl_status *status);
sl_code figure_draw_pair(const struct sl_document *document, const struct sl_pair *pair,
                         const struct figure_target *target, struct figure_bytes *ret,
                         struct sl_warnings *warnings, struct sl_status *status);
/* The index on the scale of its levels; the pair has a verdict. */
sl_code figure_draw_scale(const struct sl_pair *pair, const struct figure_target *target,
                          struct figure_bytes *ret, struct sl_warnings *warnings,
                          struct sl_status *status);
sl_code figure_draw_review(const struct sl_document *document, const struct sl_pair *pair,
                           enum sl_review_shape shape, const struct figure_target *target,
                           struct figure_bytes *ret, struct sl_warnings *warnings,
                           struct sl_status *status);
sl_code figure_draw_replicate(const struct sl_document *document, const struct sl_replicate *set,
                              const struct figure_target *target, struct figure_bytes *ret,
                              struct sl_warnings *warnings, struct sl_status *status);
sl_code figure_draw_overlay(const struct sl_document *document, const struct sl_overlay *overlay,
                            const struct figure_target *target, struct figure_bytes *ret,
                            struct sl_warnings *warnings, struct sl_status *status);
sl_code figure_draw_steps(struct sl_photo *photo, const struct sl_reading *reading, size_t strip,
                          const struct figure_target *target, struct figure_bytes *ret,
                          struct sl_warnings *warnings, struct sl_status *status);

/* Size of a figure: `usual` units unless the options ask for another; never smaller than usual. */
struct figure_size {
    double width, height; /* units */
    double px_per_unit;
};
sl_code figure_size_make(const struct sl_figure_options *options, double usual_width,
                         double usual_height, struct figure_size *ret, struct sl_status *status);

#endif
