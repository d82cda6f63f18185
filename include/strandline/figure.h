// SPDX-License-Identifier: GPL-3.0-or-later
/* Figures: pictures fit to publish, as PNG, SVG and PDF (cairo, pango). Files appear whole or not
 * at all. */
#ifndef STRANDLINE_FIGURE_H
#define STRANDLINE_FIGURE_H

#include "strandline/overlay.h"
#include "strandline/retention.h"

/* Writes a whole file through a temporary one beside it and a rename. SL_E_WRITE on failure. */
SL_API sl_code sl_write_file(const char *path, const void *bytes, size_t count,
                             struct sl_status *status);

/* The image in sRGB, brought down to `width` x `height` px (each at most the image's own) by means
 * of linear light. `ret->rgb` is for free(). SL_E_MEMORY. */
SL_API sl_code sl_picture_of_image(const struct sl_image *image, int width, int height,
                                   struct sl_picture *ret, struct sl_status *status);
/* A picture as the bytes of a file, for free(). `quality` of the JPEG: 1..100. */
SL_API sl_code sl_picture_png(const struct sl_picture *picture, void **ret, size_t *ret_bytes,
                              struct sl_status *status);
SL_API sl_code sl_picture_jpeg(const struct sl_picture *picture, int quality, void **ret,
                               size_t *ret_bytes, struct sl_status *status);

enum sl_figure_format { SL_FIGURE_PNG, SL_FIGURE_SVG, SL_FIGURE_PDF };

struct sl_figure_options {
    int width_px,
        height_px;  /* of the PNG; SVG and PDF keep the shape; 0: the figure's usual size */
    bool normalise; /* overlay: every trace to a top of 1 */
};
SL_API void sl_figure_options_init(struct sl_figure_options *options);

/* The strip itself beside its profile in its own hues, with band marks and an Rf axis. */
SL_API sl_code sl_figure_strip(const struct sl_reading *reading, size_t strip,
                               enum sl_figure_format format,
                               const struct sl_figure_options *options, const char *path,
                               struct sl_warnings *warnings, struct sl_status *status);
/* Both strips of a pair mirrored around one Rf axis, with the verdict. */
SL_API sl_code sl_figure_pair(const struct sl_document *document, const struct sl_pair *pair,
                              enum sl_figure_format format, const struct sl_figure_options *options,
                              const char *path, struct sl_warnings *warnings,
                              struct sl_status *status);
/* How a strip was read, a panel a step, on one axis along the strip: found in the photo,
 * straightened, light taken out, reflectance, load, bands. `photo` is the one that the reading is
 * of, opened by the caller. A reading that was loaded from JSON is drawn as well. Errors: what
 * decoding gives, SL_E_MEMORY, SL_E_WRITE. */
SL_API sl_code sl_figure_steps(struct sl_photo *photo, const struct sl_reading *reading,
                               size_t strip, enum sl_figure_format format,
                               const struct sl_figure_options *options, const char *path,
                               struct sl_warnings *warnings, struct sl_status *status);
/* The pair as a picture for a review, PNG: 1920 x 1080 or 1080 x 1920, in few words that can be
 * read on a phone. */
enum sl_review_shape { SL_REVIEW_LANDSCAPE, SL_REVIEW_PORTRAIT };
SL_API sl_code sl_figure_review(const struct sl_document *document, const struct sl_pair *pair,
                                enum sl_review_shape shape, const char *path,
                                struct sl_warnings *warnings, struct sl_status *status);
/* Replicates: each strip's numbers with their intervals, and the means. */
SL_API sl_code sl_figure_replicate(const struct sl_document *document,
                                   const struct sl_replicate *set, enum sl_figure_format format,
                                   const struct sl_figure_options *options, const char *path,
                                   struct sl_warnings *warnings, struct sl_status *status);
/* Several inks on one Rf axis. */
SL_API sl_code sl_figure_overlay(const struct sl_document *document,
                                 const struct sl_overlay *overlay, enum sl_figure_format format,
                                 const struct sl_figure_options *options, const char *path,
                                 struct sl_warnings *warnings, struct sl_status *status);

#endif
