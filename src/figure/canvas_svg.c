// SPDX-License-Identifier: GPL-3.0-or-later
/* SVG with real text: searchable, audible, small, and the same bytes on every machine that has the
 * same fonts to measure with. `textLength` keeps the layout where the viewer's font is another. */
#include <glib.h>
#include <math.h>
#include <stdlib.h>

#include "figure/canvas_private.h"
#include "figure/png.h"

/* Hundredths of a unit, without the locale's decimal comma and without trailing zeros. */
static void put_number(FILE *out, double value)
{
    long hundredths = lround(fmin(fmax(value, -1e6), 1e6) * 100);
    unsigned long size = (unsigned long)labs(hundredths);
    if (hundredths < 0)
        fputc('-', out);
    fprintf(out, "%lu", size / 100);
    if (size % 100 == 0)
        return;
    if (size % 10 == 0)
        fprintf(out, ".%lu", size % 100 / 10);
    else
        fprintf(out, ".%02lu", size % 100);
}

static void put_attribute(FILE *out, const char *name, double value)
{
    fprintf(out, " %s=\"", name);
    put_number(out, value);
    fputc('"', out);
}

static void put_escaped(FILE *out, const char *text)
{
    char *escaped = g_markup_escape_text(text, -1);
    fputs(escaped, out);
    g_free(escaped);
}

static void put_paint(FILE *out, const char *attribute, struct paint paint)
{
    fprintf(out, " %s=\"#%02x%02x%02x\"", attribute, paint.rgb[0], paint.rgb[1], paint.rgb[2]);
    if (paint.alpha < 1) {
        fprintf(out, " %s-opacity=\"", attribute);
        put_number(out, paint.alpha);
        fputc('"', out);
    }
}

/* A surface that keeps nothing: cairo and pango only measure. */
static sl_code open_svg(struct canvas *canvas, struct sl_status *status)
{
    const struct canvas_setup *setup = &canvas->setup;
    FILE *out = canvas->out;
    canvas->surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    canvas->cairo = cairo_create(canvas->surface);
    if (cairo_status(canvas->cairo) != CAIRO_STATUS_SUCCESS)
        return sl_status_set(status, SL_E_MEMORY, "figure/svg", "Close other programs.",
                             "There is not enough memory to draw the figure.");
    fputs("<svg xmlns=\"http://www.w3.org/2000/svg\"", out);
    put_attribute(out, "width", setup->width);
    put_attribute(out, "height", setup->height);
    fputs(" viewBox=\"0 0 ", out);
    put_number(out, setup->width);
    fputc(' ', out);
    put_number(out, setup->height);
    fprintf(out, "\" role=\"img\" aria-labelledby=\"%st %sd\"", setup->id_prefix, setup->id_prefix);
    fputs(" font-family=\"'DejaVu Sans', Verdana, sans-serif\">\n", out);
    fprintf(out, "<title id=\"%st\">", setup->id_prefix);
    put_escaped(out, canvas->title);
    fprintf(out, "</title>\n<desc id=\"%sd\">", setup->id_prefix);
    put_escaped(out, canvas->description);
    fputs("</desc>\n", out);
    return SL_OK;
}

static void put_gradient(struct canvas *canvas, const struct gradient *gradient)
{
    FILE *out = canvas->out;
    fprintf(out, "<linearGradient id=\"%sg%u\" gradientUnits=\"userSpaceOnUse\"",
            canvas->setup.id_prefix, canvas->gradients);
    put_attribute(out, "x1", gradient->x0);
    put_attribute(out, "y1", gradient->y0);
    put_attribute(out, "x2", gradient->x1);
    put_attribute(out, "y2", gradient->y1);
    fputs(">", out);
    for (size_t i = 0; i < gradient->count; i++) {
        const uint8_t *rgb = gradient->rgb[i];
        /* four decimals: neighbouring stops must stay apart */
        unsigned offset = (unsigned)lround(1e4 * (double)i / (double)(gradient->count - 1));
        fprintf(out, "<stop offset=\"%u.%04u\" stop-color=\"#%02x%02x%02x\"/>", offset / 10000,
                offset % 10000, rgb[0], rgb[1], rgb[2]);
    }
    fputs("</linearGradient>\n", out);
}

static void put_path(FILE *out, const struct canvas_shape *shape)
{
    fputs("<path d=\"M", out);
    for (size_t i = 0; i < shape->count; i++) {
        if (i > 0)
            fputc(i == 1 ? 'L' : ' ', out);
        put_number(out, shape->point[i].x);
        fputc(' ', out);
        put_number(out, shape->point[i].y);
    }
    fputs(shape->closed ? "Z\"" : "\"", out);
}

static void put_pen(FILE *out, const struct pen *pen)
{
    fputs(" fill=\"none\" stroke-linejoin=\"round\"", out);
    put_paint(out, "stroke", pen->paint);
    put_attribute(out, "stroke-width", pen->width);
    if (!pen->dash)
        return;
    fputs(" stroke-dasharray=\"", out);
    for (int i = 0; i < pen->dash_count; i++) {
        if (i > 0)
            fputc(' ', out);
        put_number(out, pen->dash[i]);
    }
    fputc('"', out);
}

static void draw_shape(struct canvas *canvas, const struct canvas_shape *shape)
{
    if (shape->gradient)
        put_gradient(canvas, shape->gradient);
    put_path(canvas->out, shape);
    if (shape->gradient)
        fprintf(canvas->out, " fill=\"url(#%sg%u)\"", canvas->setup.id_prefix, canvas->gradients++);
    else if (shape->fill)
        put_paint(canvas->out, "fill", *shape->fill);
    else
        put_pen(canvas->out, shape->pen);
    fputs("/>\n", canvas->out);
}

static void draw_circle(struct canvas *canvas, double x, double y, double radius,
                        struct paint paint)
{
    fputs("<circle", canvas->out);
    put_attribute(canvas->out, "cx", x);
    put_attribute(canvas->out, "cy", y);
    put_attribute(canvas->out, "r", radius);
    put_paint(canvas->out, "fill", paint);
    fputs("/>\n", canvas->out);
}

static void draw_picture(struct canvas *canvas, const struct sl_picture *picture, double x,
                         double y, double width, double height)
{
    char *base64 = NULL;
    if (png_base64(picture, &base64, NULL) != SL_OK) {
        canvas->failed = true;
        return;
    }
    fputs("<image preserveAspectRatio=\"none\"", canvas->out);
    put_attribute(canvas->out, "x", x);
    put_attribute(canvas->out, "y", y);
    put_attribute(canvas->out, "width", width);
    put_attribute(canvas->out, "height", height);
    fprintf(canvas->out, " href=\"data:image/png;base64,%s\"/>\n", base64);
    g_free(base64);
}

static void draw_text(struct canvas *canvas, PangoLayout *layout, const char *text,
                      struct type_style style, double x, double y, double width)
{
    (void)layout;
    fputs("<text", canvas->out);
    put_attribute(canvas->out, "x", x);
    put_attribute(canvas->out, "y", y);
    put_attribute(canvas->out, "font-size", style.size);
    if (style.bold)
        fputs(" font-weight=\"bold\"", canvas->out);
    if (style.italic)
        fputs(" font-style=\"italic\"", canvas->out);
    put_paint(canvas->out, "fill", style.paint);
    put_attribute(canvas->out, "textLength", width);
    fputs(" lengthAdjust=\"spacingAndGlyphs\">", canvas->out);
    put_escaped(canvas->out, text);
    fputs("</text>\n", canvas->out);
}

static sl_code close_svg(struct canvas *canvas, struct sl_status *status)
{
    (void)status;
    fputs("</svg>\n", canvas->out);
    return SL_OK;
}

const struct canvas_backend canvas_svg_backend = {
    open_svg, draw_shape, draw_circle, draw_picture, draw_text, close_svg,
};
