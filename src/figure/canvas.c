// SPDX-License-Identifier: GPL-3.0-or-later
/* The checks, the measuring and the wrapping that all three ways of keeping share. */
#include "figure/canvas_private.h"

#include <glib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FONT_FAMILY "DejaVu Sans"
#define WHERE "figure/canvas"

static sl_code no_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, WHERE, "Close other programs, or ask for less.",
                         "There is not enough memory to draw the figure.");
}

/* Metrics without hinting: the layout is the same at every size. */
static sl_code make_context(struct canvas *canvas, struct sl_status *status)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    canvas->context = pango_cairo_create_context(canvas->cairo);
    pango_cairo_context_set_font_options(canvas->context, options);
    pango_cairo_context_set_resolution(canvas->context, 72);
    pango_context_set_round_glyph_positions(canvas->context, FALSE);
    cairo_font_options_destroy(options);
    return canvas->context ? SL_OK : no_memory(status);
}

/* Valid UTF-8 on one line; what XML forbids becomes a space. For g_free(). */
static char *clean_text(const char *text)
{
    char *clean = g_utf8_make_valid(text, -1);
    for (char *c = clean; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f)
            *c = ' ';
    return clean;
}

sl_code canvas_create(const struct canvas_setup *setup, struct canvas **ret,
                      struct sl_status *status)
{
    static const struct canvas_backend *const backends[] = {
        [SL_FIGURE_PNG] = &canvas_png_backend,
        [SL_FIGURE_SVG] = &canvas_svg_backend,
        [SL_FIGURE_PDF] = &canvas_pdf_backend,
    };
    struct canvas *canvas = calloc(1, sizeof *canvas);
    if (!canvas)
        return no_memory(status);
    canvas->setup = *setup;
    canvas->backend = backends[setup->format];
    canvas->title = clean_text(setup->title);
    canvas->description = clean_text(setup->description);
    sl_code code = SL_OK;
    canvas->out = open_memstream(&canvas->bytes, &canvas->count);
    if (!canvas->out)
        code = no_memory(status);
    if (code == SL_OK)
        code = canvas->backend->open(canvas, status);
    if (code == SL_OK)
        code = make_context(canvas, status);
    if (code == SL_OK)
        *ret = canvas;
    else
        canvas_destroy(canvas);
    return code;
}

void canvas_destroy(struct canvas *canvas)
{
    if (!canvas)
        return;
    if (canvas->context)
        g_object_unref(canvas->context);
    if (canvas->cairo)
        cairo_destroy(canvas->cairo);
    if (canvas->surface)
        cairo_surface_destroy(canvas->surface);
    if (canvas->out)
        fclose(canvas->out);
    free(canvas->bytes);
    g_free(canvas->title);
    g_free(canvas->description);
    free(canvas);
}

sl_code canvas_finish(struct canvas *canvas, char **ret, size_t *ret_count,
                      struct sl_warnings *warnings, struct sl_status *status)
{
    sl_code code = canvas->failed ? no_memory(status) : canvas->backend->close(canvas, status);
    if (code != SL_OK)
        return code;
    bool bad = ferror(canvas->out) != 0;
    bad = fclose(canvas->out) != 0 || bad;
    canvas->out = NULL;
    if (bad || cairo_status(canvas->cairo) != CAIRO_STATUS_SUCCESS)
        return no_memory(status);
    if (canvas->missing_glyphs > 0)
        sl_warn(warnings, SL_W_GLYPHS, WHERE,
                "Install fonts that have these letters and make the figure again.",
                "The installed fonts lack %d of the letters in this figure; boxes stand in their "
                "place.",
                canvas->missing_glyphs);
    *ret = canvas->bytes;
    *ret_count = canvas->count;
    canvas->bytes = NULL;
    return SL_OK;
}

static bool finite_point(struct sl_point p)
{
    return isfinite(p.x) && isfinite(p.y);
}

static bool finite_points(const struct sl_point *point, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!finite_point(point[i]))
            return false;
    return true;
}

static void corners(double x, double y, double width, double height, struct sl_point ret[4])
{
    ret[0] = (struct sl_point){x, y};
    ret[1] = (struct sl_point){x + width, y};
    ret[2] = (struct sl_point){x + width, y + height};
    ret[3] = (struct sl_point){x, y + height};
}

static void closed_shape(struct canvas *canvas, const struct sl_point *point, size_t count,
                         struct canvas_shape shape)
{
    if (count < 3 || !finite_points(point, count))
        return;
    shape.point = point;
    shape.count = count;
    shape.closed = true;
    canvas->backend->shape(canvas, &shape);
}

void canvas_polygon(struct canvas *canvas, const struct sl_point *point, size_t count,
                    struct paint paint)
{
    closed_shape(canvas, point, count, (struct canvas_shape){.fill = &paint});
}

void canvas_gradient(struct canvas *canvas, const struct sl_point *point, size_t count,
                     const struct gradient *gradient)
{
    if (gradient->count < 2)
        return;
    closed_shape(canvas, point, count, (struct canvas_shape){.gradient = gradient});
}

void canvas_gradient_rect(struct canvas *canvas, double x, double y, double width, double height,
                          const struct gradient *gradient)
{
    struct sl_point corner[4];
    corners(x, y, width, height, corner);
    canvas_gradient(canvas, corner, 4, gradient);
}

void canvas_rect(struct canvas *canvas, double x, double y, double width, double height,
                 struct paint paint)
{
    struct sl_point corner[4];
    corners(x, y, width, height, corner);
    canvas_polygon(canvas, corner, 4, paint);
}

void canvas_frame(struct canvas *canvas, double x, double y, double width, double height,
                  struct pen pen)
{
    struct sl_point corner[4];
    corners(x, y, width, height, corner);
    closed_shape(canvas, corner, 4, (struct canvas_shape){.pen = &pen});
}

void canvas_circle(struct canvas *canvas, double x, double y, double radius, struct paint paint)
{
    if (isfinite(x) && isfinite(y) && radius > 0)
        canvas->backend->circle(canvas, x, y, radius, paint);
}

void canvas_polyline(struct canvas *canvas, const struct sl_point *point, size_t count,
                     struct pen pen)
{
    for (size_t i = 0; i < count;) {
        size_t end = i;
        while (end < count && finite_point(point[end]))
            end++;
        if (end - i >= 2) {
            struct canvas_shape shape = {.point = point + i, .count = end - i, .pen = &pen};
            canvas->backend->shape(canvas, &shape);
        }
        i = end + 1;
    }
}

void canvas_line(struct canvas *canvas, double x0, double y0, double x1, double y1, struct pen pen)
{
    struct sl_point point[2] = {{x0, y0}, {x1, y1}};
    canvas_polyline(canvas, point, 2, pen);
}

void canvas_picture(struct canvas *canvas, const struct sl_picture *picture, struct sl_rect part,
                    double x, double y, double width, double height)
{
    if (!picture->rgb || part.width < 1 || part.height < 1 || part.x < 0 || part.y < 0 ||
        part.x + part.width > picture->width || part.y + part.height > picture->height)
        return;
    if (!isfinite(x + y + width + height) || width <= 0 || height <= 0)
        return;
    size_t row_bytes = (size_t)part.width * 3;
    struct sl_picture cut = {.width = part.width, .height = part.height};
    cut.rgb = malloc(row_bytes * (size_t)part.height);
    if (!cut.rgb) {
        canvas->failed = true;
        return;
    }
    for (int j = 0; j < part.height; j++) {
        size_t from = ((size_t)(part.y + j) * (size_t)picture->width + (size_t)part.x) * 3;
        memcpy(cut.rgb + (size_t)j * row_bytes, picture->rgb + from, row_bytes);
    }
    canvas->backend->picture(canvas, &cut, x, y, width, height);
    free(cut.rgb);
}

static PangoLayout *lay_out(struct canvas *canvas, struct type_style style, const char *clean)
{
    PangoLayout *layout = pango_layout_new(canvas->context);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family(font, FONT_FAMILY ", sans-serif");
    pango_font_description_set_absolute_size(font, style.size * PANGO_SCALE);
    if (style.bold)
        pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    if (style.italic)
        pango_font_description_set_style(font, PANGO_STYLE_ITALIC);
    pango_layout_set_font_description(layout, font);
    pango_layout_set_text(layout, clean, -1);
    pango_font_description_free(font);
    return layout;
}

static double layout_width(PangoLayout *layout)
{
    PangoRectangle logical;
    pango_layout_get_extents(layout, NULL, &logical);
    return (double)logical.width / PANGO_SCALE;
}

double canvas_text_width(struct canvas *canvas, struct type_style style, const char *text)
{
    char *clean = clean_text(text);
    PangoLayout *layout = lay_out(canvas, style, clean);
    double width = layout_width(layout);
    g_object_unref(layout);
    g_free(clean);
    return width;
}

/* Takes characters off the end until the text with "…" fits; pango's own way of shortening can't be
 * read back for SVG. */
static char *shorten(struct canvas *canvas, struct type_style style, const char *clean,
                     double max_width)
{
    for (long keep = g_utf8_strlen(clean, -1) - 1; keep > 0; keep--) {
        char *head = g_utf8_substring(clean, 0, keep);
        char *cut = g_strconcat(g_strchomp(head), "…", NULL);
        g_free(head);
        if (canvas_text_width(canvas, style, cut) <= max_width)
            return cut;
        g_free(cut);
    }
    return g_strdup("…");
}

double canvas_text(struct canvas *canvas, struct type_style style, enum text_align align, double x,
                   double y, double max_width, const char *text)
{
    if (!text || !*text || !isfinite(x) || !isfinite(y))
        return 0;
    char *clean = clean_text(text);
    PangoLayout *layout = lay_out(canvas, style, clean);
    if (max_width > 0 && layout_width(layout) > max_width) {
        char *cut = shorten(canvas, style, clean, max_width);
        g_free(clean);
        clean = cut;
        pango_layout_set_text(layout, clean, -1);
    }
    double width = layout_width(layout);
    double left = align == TEXT_MIDDLE ? x - width / 2 : align == TEXT_END ? x - width : x;
    canvas->missing_glyphs += pango_layout_get_unknown_glyphs_count(layout);
    canvas->backend->text(canvas, layout, clean, style, left, y, width);
    g_object_unref(layout);
    g_free(clean);
    return width;
}

double canvas_paragraph(struct canvas *canvas, struct type_style style, double x, double y,
                        double width, int lines_max, const char *text)
{
    if (!text || !*text)
        return y;
    char *clean = clean_text(text);
    PangoLayout *layout = lay_out(canvas, style, clean);
    pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    int lines = pango_layout_get_line_count(layout);
    for (int i = 0; i < lines && i < lines_max; i++) {
        PangoLayoutLine *line = pango_layout_get_line_readonly(layout, i);
        bool last = i == lines_max - 1; /* what does not fit is shortened there */
        char *piece = last ? g_strdup(clean + line->start_index)
                           : g_strndup(clean + line->start_index, (gsize)line->length);
        canvas_text(canvas, style, TEXT_START, x, y, last ? width : 0, g_strchomp(piece));
        g_free(piece);
        y += style.size * CANVAS_LINE_HEIGHT;
    }
    g_object_unref(layout);
    g_free(clean);
    return y;
}
