// SPDX-License-Identifier: GPL-3.0-or-later
/* PNG out, for figures and for the strips in reports. */
#ifndef STRANDLINE_FIGURE_PNG_H
#define STRANDLINE_FIGURE_PNG_H

#include <stdio.h>

#include "strandline/figure.h"

/* 8-bit sRGB, `rgb` tightly packed; `dots_per_inch` 0: not told; `title` may be NULL. */
sl_code png_write(FILE *out, const uint8_t *rgb, int width, int height, double dots_per_inch,
                  const char *title, struct sl_status *status);

/* The picture as base64 of a PNG, 0-ended, for free(). */
sl_code png_base64(const struct sl_picture *picture, char **ret, struct sl_status *status);

#endif
