// SPDX-License-Identifier: GPL-3.0-or-later
/* PNG and PDF through cairo. */
#include <cairo-pdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "figure/canvas_private.h"
#include "figure/png.h"

#define UNITS_PER_INCH 72.0

static sl_code check_surface(struct canvas *canvas, struct sl_status *status)
{
    canvas->cairo = cairo_create(canvas->surface);
    if (cairo_status(canvas->cairo) == CAIRO_STATUS_SUCCESS)
        return SL_OK;
    return sl_status_set(status, SL_E_MEMORY, "figure/cairo", "Ask for a smaller figure.",
                         "There is not enough memory for a figure of this size.");
}

static sl_code open_png(struct canvas *canvas, struct sl_status *status)
{
    const struct canvas_setup *setup = &canvas->setup;
    int width = (int)lround(setup->width * setup->px_per_unit);
    int height = (int)lround(setup->height * setup->px_per_unit);
    canvas->surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    sl_code code = check_surface(canvas, status);
    if (code == SL_OK)
        cairo_scale(canvas->cairo, width / setup->width, height / setup->height);
    return code;
}

static cairo_status_t write_stream(void *closure, const unsigned char *bytes, unsigned count)
{
    return fwrite(bytes, 1, count, closure) == count ? CAIRO_STATUS_SUCCESS
                                                     : CAIRO_STATUS_WRITE_ERROR;
}

/* "YYYY-MM-DD HH:MM:SS" as ISO 8601. The epoch where no date is known, so that the same reading
 * gives the same file whenever it is drawn. */
static void iso_date(const char *date, char ret[24])
{
    static const char pattern[] = "dddd-dd-dd dd:dd:dd";
    bool fits = date && strlen(date) == sizeof pattern - 1;
    for (size_t i = 0; fits && i < sizeof pattern - 1; i++)
        fits = pattern[i] == 'd' ? date[i] >= '0' && date[i] <= '9' : date[i] == pattern[i];
    snprintf(ret, 24, "%s", fits ? date : "1970-01-01 00:00:00");
    ret[10] = 'T';
}

static sl_code open_pdf(struct canvas *canvas, struct sl_status *status)
{
    const struct canvas_setup *setup = &canvas->setup;
    char date[24];
    iso_date(setup->date, date);
    canvas->surface =
        cairo_pdf_surface_create_for_stream(write_stream, canvas->out, setup->width, setup->height);
    sl_code code = check_surface(canvas, status);
    if (code != SL_OK)
        return code;
    cairo_pdf_surface_restrict_to_version(canvas->surface, CAIRO_PDF_VERSION_1_4);
    cairo_pdf_surface_set_metadata(canvas->surface, CAIRO_PDF_METADATA_TITLE, canvas->title);
    cairo_pdf_surface_set_metadata(canvas->surface, CAIRO_PDF_METADATA_SUBJECT,
                                   canvas->description);
    cairo_pdf_surface_set_metadata(canvas->surface, CAIRO_PDF_METADATA_CREATOR,
                                   "strandline " SL_VERSION);
    cairo_pdf_surface_set_metadata(canvas->surface, CAIRO_PDF_METADATA_CREATE_DATE, date);
    cairo_pdf_surface_set_metadata(canvas->surface, CAIRO_PDF_METADATA_MOD_DATE, date);
    return SL_OK;
}

static void set_paint(cairo_t *cairo, struct paint paint)
{
    cairo_set_source_rgba(cairo, paint.rgb[0] / 255.0, paint.rgb[1] / 255.0, paint.rgb[2] / 255.0,
                          paint.alpha);
}

static void set_gradient(cairo_t *cairo, const struct gradient *gradient)
{
    cairo_pattern_t *pattern =
        cairo_pattern_create_linear(gradient->x0, gradient->y0, gradient->x1, gradient->y1);
    for (size_t i = 0; i < gradient->count; i++) {
        const uint8_t *rgb = gradient->rgb[i];
        cairo_pattern_add_color_stop_rgb(pattern, (double)i / (double)(gradient->count - 1),
                                         rgb[0] / 255.0, rgb[1] / 255.0, rgb[2] / 255.0);
    }
    cairo_set_source(cairo, pattern);
    cairo_pattern_destroy(pattern);
}

static void draw_shape(struct canvas *canvas, const struct canvas_shape *shape)
{
    cairo_t *cairo = canvas->cairo;
    cairo_new_path(cairo);
    for (size_t i = 0; i < shape->count; i++)
        cairo_line_to(cairo, shape->point[i].x, shape->point[i].y);
    if (shape->closed)
        cairo_close_path(cairo);
    if (shape->gradient || shape->fill) {
        if (shape->gradient)
            set_gradient(cairo, shape->gradient);
        else
            set_paint(cairo, *shape->fill);
        cairo_fill(cairo);
        return;
    }
    set_paint(cairo, shape->pen->paint);
    cairo_set_line_width(cairo, shape->pen->width);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_dash(cairo, shape->pen->dash, shape->pen->dash ? shape->pen->dash_count : 0, 0);
    cairo_stroke(cairo);
}

static void draw_circle(struct canvas *canvas, double x, double y, double radius,
                        struct paint paint)
{
    cairo_new_path(canvas->cairo);
    cairo_arc(canvas->cairo, x, y, radius, 0, 2 * 3.14159265358979323846);
    set_paint(canvas->cairo, paint);
    cairo_fill(canvas->cairo);
}

static cairo_surface_t *surface_of(const struct sl_picture *picture)
{
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture->width, picture->height);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS)
        return surface;
    unsigned char *data = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    for (int y = 0; y < picture->height; y++)
        for (int x = 0; x < picture->width; x++) {
            const uint8_t *rgb =
                picture->rgb + ((size_t)y * (size_t)picture->width + (size_t)x) * 3;
            uint32_t pixel = (uint32_t)rgb[0] << 16 | (uint32_t)rgb[1] << 8 | rgb[2];
            memcpy(data + (size_t)y * stride + (size_t)x * 4, &pixel, sizeof pixel);
        }
    cairo_surface_mark_dirty(surface);
    return surface;
}

static void draw_picture(struct canvas *canvas, const struct sl_picture *picture, double x,
                         double y, double width, double height)
{
    cairo_surface_t *surface = surface_of(picture);
    cairo_save(canvas->cairo);
    cairo_rectangle(canvas->cairo, x, y, width, height);
    cairo_clip(canvas->cairo);
    cairo_translate(canvas->cairo, x, y);
    cairo_scale(canvas->cairo, width / picture->width, height / picture->height);
    cairo_set_source_surface(canvas->cairo, surface, 0, 0);
    cairo_pattern_set_extend(cairo_get_source(canvas->cairo), CAIRO_EXTEND_PAD);
    cairo_pattern_set_filter(cairo_get_source(canvas->cairo), CAIRO_FILTER_GOOD);
    cairo_paint(canvas->cairo);
    cairo_restore(canvas->cairo);
    cairo_surface_destroy(surface);
}

static void draw_text(struct canvas *canvas, PangoLayout *layout, const char *text,
                      struct type_style style, double x, double y, double width)
{
    (void)text;
    (void)width;
    cairo_move_to(canvas->cairo, x, y);
    set_paint(canvas->cairo, style.paint);
    pango_cairo_show_layout_line(canvas->cairo, pango_layout_get_line_readonly(layout, 0));
}

static sl_code close_png(struct canvas *canvas, struct sl_status *status)
{
    cairo_surface_flush(canvas->surface);
    int width = cairo_image_surface_get_width(canvas->surface);
    int height = cairo_image_surface_get_height(canvas->surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(canvas->surface);
    const unsigned char *data = cairo_image_surface_get_data(canvas->surface);
    uint8_t *rgb = malloc((size_t)width * (size_t)height * 3);
    if (!rgb)
        return sl_status_set(status, SL_E_MEMORY, "figure/cairo", "Ask for a smaller figure.",
                             "There is not enough memory for a figure of %d x %d pixels.", width,
                             height);
    uint8_t *to = rgb;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            uint32_t pixel;
            memcpy(&pixel, data + (size_t)y * stride + (size_t)x * 4, sizeof pixel);
            *to++ = (uint8_t)(pixel >> 16);
            *to++ = (uint8_t)(pixel >> 8);
            *to++ = (uint8_t)pixel;
        }
    sl_code code = png_write(canvas->out, rgb, width, height,
                             canvas->setup.px_per_unit * UNITS_PER_INCH, canvas->title, status);
    free(rgb);
    return code;
}

static sl_code close_pdf(struct canvas *canvas, struct sl_status *status)
{
    cairo_show_page(canvas->cairo);
    cairo_surface_finish(canvas->surface);
    if (cairo_surface_status(canvas->surface) == CAIRO_STATUS_SUCCESS)
        return SL_OK;
    return sl_status_set(status, SL_E_MEMORY, "figure/cairo", "Close other programs.",
                         "There is not enough memory to write the PDF.");
}

const struct canvas_backend canvas_png_backend = {
    open_png, draw_shape, draw_circle, draw_picture, draw_text, close_png,
};
const struct canvas_backend canvas_pdf_backend = {
    open_pdf, draw_shape, draw_circle, draw_picture, draw_text, close_pdf,
};
