// SPDX-License-Identifier: GPL-3.0-or-later
#include "figure/draw.h"

#include <math.h>
#include <stdlib.h>

enum { SIDE_MIN_PX = 100, SIDE_MAX_PX = 16000 };

/* 144 px an inch: letters are sharp on a phone and in print at half a page's width. */
#define USUAL_PX_PER_UNIT 2.0

void sl_figure_options_init(struct sl_figure_options *options)
{
    *options = (struct sl_figure_options){0};
}

static sl_code check_side(int side_px, struct sl_status *status)
{
    if (side_px == 0 || (side_px >= SIDE_MIN_PX && side_px <= SIDE_MAX_PX))
        return SL_OK;
    return sl_status_set(status, SL_E_RANGE, "figure/size", "Name a size within these limits.",
                         "A figure of %d pixels can't be drawn: the limits are %d and %d.", side_px,
                         SIDE_MIN_PX, SIDE_MAX_PX);
}

sl_code figure_size_make(const struct sl_figure_options *options, double usual_width,
                         double usual_height, struct figure_size *ret, struct sl_status *status)
{
    int width_px = options ? options->width_px : 0, height_px = options ? options->height_px : 0;
    sl_code code = check_side(width_px, status);
    if (code == SL_OK)
        code = check_side(height_px, status);
    if (code != SL_OK)
        return code;
    double scale = USUAL_PX_PER_UNIT;
    if (width_px && height_px)
        scale = fmin(width_px / usual_width, height_px / usual_height);
    else if (width_px)
        scale = width_px / usual_width;
    else if (height_px)
        scale = height_px / usual_height;
    *ret = (struct figure_size){usual_width, usual_height, scale};
    if (width_px && height_px) {
        ret->width = width_px / scale;
        ret->height = height_px / scale;
    }
    return SL_OK;
}

/* Takes over `figure`. */
static sl_code save(sl_code code, struct figure_bytes *figure, const char *path,
                    struct sl_status *status)
{
    if (code == SL_OK)
        code = sl_write_file(path, figure->bytes, figure->count, status);
    free(figure->bytes);
    return code;
}

sl_code sl_figure_strip(const struct sl_reading *reading, size_t strip,
                        enum sl_figure_format format, const struct sl_figure_options *options,
                        const char *path, struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_target target = {format, options, ""};
    struct figure_bytes figure = {0};
    sl_code code = figure_draw_strip(reading, strip, &target, &figure, warnings, status);
    return save(code, &figure, path, status);
}

sl_code sl_figure_steps(struct sl_photo *photo, const struct sl_reading *reading, size_t strip,
                        enum sl_figure_format format, const struct sl_figure_options *options,
                        const char *path, struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_target target = {format, options, ""};
    struct figure_bytes figure = {0};
    sl_code code = figure_draw_steps(photo, reading, strip, &target, &figure, warnings, status);
    return save(code, &figure, path, status);
}

sl_code sl_figure_pair(const struct sl_document *document, const struct sl_pair *pair,
                       enum sl_figure_format format, const struct sl_figure_options *options,
                       const char *path, struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_target target = {format, options, ""};
    struct figure_bytes figure = {0};
    sl_code code = figure_draw_pair(document, pair, &target, &figure, warnings, status);
    return save(code, &figure, path, status);
}

sl_code sl_figure_review(const struct sl_document *document, const struct sl_pair *pair,
                         enum sl_review_shape shape, const char *path, struct sl_warnings *warnings,
                         struct sl_status *status)
{
    struct figure_target target = {SL_FIGURE_PNG, NULL, ""};
    struct figure_bytes figure = {0};
    sl_code code = figure_draw_review(document, pair, shape, &target, &figure, warnings, status);
    return save(code, &figure, path, status);
}

sl_code sl_figure_replicate(const struct sl_document *document, const struct sl_replicate *set,
                            enum sl_figure_format format, const struct sl_figure_options *options,
                            const char *path, struct sl_warnings *warnings,
                            struct sl_status *status)
{
    struct figure_target target = {format, options, ""};
    struct figure_bytes figure = {0};
    sl_code code = figure_draw_replicate(document, set, &target, &figure, warnings, status);
    return save(code, &figure, path, status);
}

sl_code sl_figure_overlay(const struct sl_document *document, const struct sl_overlay *overlay,
                          enum sl_figure_format format, const struct sl_figure_options *options,
                          const char *path, struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_target target = {format, options, ""};
    struct figure_bytes figure = {0};
    sl_code code = figure_draw_overlay(document, overlay, &target, &figure, warnings, status);
    return save(code, &figure, path, status);
}
