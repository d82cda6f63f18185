// SPDX-License-Identifier: GPL-3.0-or-later
/* Several inks on one Rf axis: a line each, below them a ribbon each with its colours along Rf, and
 * the bands that may be the same dye marked by a letter.
 *
 * Lines are told apart twice, by colour and by dashes. Colours: M. Okabe, K. Ito, "Color Universal
 * Design", 2008, without its yellow, which is too pale on a light ground. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/words.h"

/* units */
#define USUAL_WIDTH 620.0
#define PLOT_LEFT 52.0
#define PLOT_RIGHT 22.0
#define MARGIN 22.0
#define TOP 88.0
#define PLOT_HEIGHT 300.0
#define AXIS_HEIGHT 64.0
#define ROW_HEIGHT 46.0
#define RIBBON_HEIGHT 19.0
#define NOTE_HEIGHT 17.5
#define FOOT_HEIGHT 26.0

#define RF_FROM (-0.1)
#define RF_TO 1.1

enum { NOTES_MAX = 8, LETTERS = 26, NOTE_BYTES = 4096, NOTE_CHARACTERS = 86 };

static const uint8_t line_colours[][3] = {
    {0, 114, 178}, {213, 94, 0},  {0, 158, 115},  {204, 121, 167},
    {0, 0, 0},     {230, 159, 0}, {86, 180, 233},
};
enum { LINE_COLOURS = sizeof line_colours / sizeof *line_colours };

struct dashes {
    double length[6];
    int count;
};
static const struct dashes line_dashes[] = {
    {{0}, 0},      {{9, 4}, 2},
    {{2.5, 3}, 2}, {{10, 3, 2.5, 3}, 4},
    {{15, 4}, 2},  {{2, 2, 8, 4, 8, 4}, 6},
};
enum { LINE_DASHES = sizeof line_dashes / sizeof *line_dashes };

/* A dye that several bands may share: band[i] of trace[i]. */
struct group {
    size_t band_count;
    size_t trace[SL_OVERLAY_MAX], band[SL_OVERLAY_MAX];
    const char *hue_name;
};

struct sheet {
    struct canvas *canvas;
    const struct sl_document *document;
    const struct sl_overlay *overlay;
    const struct sl_lab *lab;
    bool normalise;
    struct axis along, up;
    double width, load_top, rows_y;
    struct group *group;
    size_t group_count;
};

static const struct sl_strip *strip_of(const struct sheet *s, size_t trace)
{
    struct sl_strip_ref ref = s->overlay->trace[trace].ref;
    return &s->document->reading[ref.photo]->strip[ref.strip];
}

static struct pen line_pen(size_t trace, double width)
{
    const uint8_t *rgb = line_colours[trace % LINE_COLOURS];
    const struct dashes *dashes = &line_dashes[trace % LINE_DASHES];
    return (struct pen){.paint = {{rgb[0], rgb[1], rgb[2]}, 1},
                        .width = width,
                        .dash = dashes->count ? dashes->length : NULL,
                        .dash_count = dashes->count};
}

static double load_at(const struct sheet *s, size_t trace, size_t i)
{
    const double *load = s->overlay->trace[trace].load[i];
    double rf = s->overlay->rf[i];
    return rf >= RF_FROM - 1e-9 && rf <= RF_TO + 1e-9 ? load[0] + load[1] + load[2] : NAN;
}

static double trace_top(const struct sheet *s, size_t trace)
{
    double top = 0;
    for (size_t i = 0; i < SL_OVERLAY_SAMPLES; i++) {
        double load = load_at(s, trace, i);
        if (isfinite(load))
            top = fmax(top, load);
    }
    return top;
}

/* Bands that are linked, directly or through others, are one group. */
static bool group_has(const struct group *group, size_t trace, size_t band)
{
    for (size_t i = 0; i < group->band_count; i++)
        if (group->trace[i] == trace && group->band[i] == band)
            return true;
    return false;
}

static void group_add(struct group *group, size_t trace, size_t band)
{
    if (group->band_count >= SL_OVERLAY_MAX || group_has(group, trace, band))
        return;
    group->trace[group->band_count] = trace;
    group->band[group->band_count++] = band;
}

static struct group *group_of(struct sheet *s, size_t trace, size_t band)
{
    for (size_t g = 0; g < s->group_count; g++)
        if (group_has(&s->group[g], trace, band))
            return &s->group[g];
    return NULL;
}

static void merge_groups(struct sheet *s, struct group *into, struct group *from)
{
    for (size_t i = 0; i < from->band_count; i++)
        group_add(into, from->trace[i], from->band[i]);
    *from = s->group[--s->group_count];
}

static sl_code make_groups(struct sheet *s, struct sl_status *status)
{
    size_t pairs = s->overlay->shared_count;
    s->group = calloc(pairs ? pairs : 1, sizeof *s->group);
    if (!s->group)
        return sl_status_set(status, SL_E_MEMORY, "figure/overlay", "Overlay fewer strips.",
                             "There is not enough memory to draw the overlay.");
    for (size_t i = 0; i < pairs; i++) {
        const struct sl_shared_dye *dye = &s->overlay->shared[i];
        struct group *a = group_of(s, dye->trace_1, dye->band_1);
        struct group *b = group_of(s, dye->trace_2, dye->band_2);
        struct group *group = a ? a : b;
        if (!group) {
            group = &s->group[s->group_count++];
            *group = (struct group){.hue_name = dye->hue_name};
        }
        group_add(group, dye->trace_1, dye->band_1);
        group_add(group, dye->trace_2, dye->band_2);
        if (a && b && a != b)
            merge_groups(s, a < b ? a : b, a < b ? b : a);
    }
    return SL_OK;
}

static size_t note_count(const struct sheet *s)
{
    return s->group_count < NOTES_MAX ? s->group_count : NOTES_MAX;
}

/* Lines that a note may take, by the characters that a line commonly holds.
 */
static int note_lines(const struct sheet *s, size_t g)
{
    size_t characters = 16;
    for (size_t i = 0; i < s->group[g].band_count; i++)
        characters += strlen(s->overlay->trace[s->group[g].trace[i]].label) + 8;
    return 1 + (int)(characters / NOTE_CHARACTERS);
}

static double usual_height(const struct sheet *s)
{
    int lines = 1;
    for (size_t g = 0; g < note_count(s); g++)
        lines += note_lines(s, g);
    double notes = s->group_count ? 10 + NOTE_HEIGHT * lines : 0;
    return TOP + PLOT_HEIGHT + AXIS_HEIGHT + ROW_HEIGHT * (double)s->overlay->trace_count + notes +
           FOOT_HEIGHT;
}

static void draw_head(const struct sheet *s)
{
    char line[128];
    size_t n = s->overlay->trace_count;
    snprintf(line, sizeof line, "%zu strip%s on one Rf axis", n, n == 1 ? "" : "s");
    canvas_text(s->canvas, type_bold(24, PAINT_TEXT), TEXT_START, MARGIN, 44, 0, line);
    canvas_text(s->canvas, type(13.5, PAINT_MUTED), TEXT_START, MARGIN, 68, s->width - 2 * MARGIN,
                s->normalise ? "dye load (K/S, red + green + blue), each line scaled to a top of 1"
                             : "dye load (K/S, red + green + blue)");
}

static void draw_axes(const struct sheet *s)
{
    struct ticks ticks;
    char number[32];
    ticks_make(0, s->load_top, 5, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        double y = axis_at(&s->up, ticks.value[i]);
        canvas_line(s->canvas, s->along.start, y, s->along.end, y,
                    (struct pen){.paint = PAINT_GRID, .width = 0.8});
        tick_text(&ticks, i, number, sizeof number);
        canvas_text(s->canvas, type(13.5, PAINT_MUTED), TEXT_END, s->along.start - 8, y + 5, 0,
                    number);
    }
    ticks_make(RF_FROM, RF_TO, 7, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        double v = ticks.value[i], x = axis_at(&s->along, v);
        bool zero = fabs(v) < 1e-9, one = fabs(v - 1) < 1e-9;
        tick_text(&ticks, i, number, sizeof number);
        canvas_line(s->canvas, x, s->up.start, x, s->up.start + 5,
                    (struct pen){.paint = PAINT_EDGE, .width = 1});
        canvas_text(s->canvas, type(13.5, PAINT_MUTED), TEXT_MIDDLE, x, s->up.start + 20, 0,
                    number);
        if (!zero && !one)
            continue;
        struct pen pen = {.paint = PAINT_EDGE, .width = 1.4};
        canvas_line(s->canvas, x, s->up.end, x, s->up.start, pen);
        canvas_text(s->canvas, type(12.5, PAINT_TEXT), TEXT_MIDDLE, x, s->up.start + 36, 0,
                    zero ? "origin" : "front");
    }
    canvas_text(s->canvas, type_bold(13.5, PAINT_TEXT), TEXT_MIDDLE, axis_at(&s->along, 0.5),
                s->up.start + 38, 0, "Rf");
}

static void draw_line(const struct sheet *s, size_t trace)
{
    struct sl_point point[SL_OVERLAY_SAMPLES];
    double top = s->normalise ? trace_top(s, trace) : 1;
    for (size_t i = 0; i < SL_OVERLAY_SAMPLES; i++)
        point[i] = (struct sl_point){
            axis_at(&s->along, s->overlay->rf[i]),
            axis_within(&s->up, top > 0 ? load_at(s, trace, i) / top : load_at(s, trace, i))};
    canvas_polyline(s->canvas, point, SL_OVERLAY_SAMPLES, line_pen(trace, 2));
}

static void draw_ribbon(const struct sheet *s, size_t index, double y)
{
    struct trace trace;
    trace_make(strip_of(s, index), s->lab, &trace);
    double from = axis_within(&s->along, trace.lower_at);
    double to = axis_within(&s->along, trace.upper_at);
    if (!trace.by_rf || trace.count < 2) {
        canvas_text(s->canvas, type(12.5, PAINT_MUTED), TEXT_START, s->along.start, y + 14, 0,
                    "origin or front unknown: no place on this axis");
        return;
    }
    struct gradient gradient = trace_hues(&trace, &s->along, false);
    canvas_gradient_rect(s->canvas, from, y, to - from, RIBBON_HEIGHT, &gradient);
    canvas_frame(s->canvas, from, y, to - from, RIBBON_HEIGHT,
                 (struct pen){.paint = PAINT_EDGE, .width = 0.7});
}

static double row_y(const struct sheet *s, size_t row)
{
    return s->rows_y + ROW_HEIGHT * (double)row;
}

static void draw_rows(const struct sheet *s)
{
    for (size_t i = 0; i < s->overlay->trace_count; i++) {
        double y = row_y(s, i);
        canvas_line(s->canvas, s->along.start, y + 10, s->along.start + 44, y + 10,
                    line_pen(i, 2.6));
        canvas_text(s->canvas, type(14, PAINT_TEXT), TEXT_START, s->along.start + 54, y + 15,
                    s->along.end - s->along.start - 54, s->overlay->trace[i].label);
        draw_ribbon(s, i, y + 21);
    }
}

static double band_rf(const struct sheet *s, size_t trace, size_t band)
{
    const struct sl_bands *bands = &strip_of(s, trace)->bands;
    return band < bands->count ? bands->item[band].rf : NAN;
}

static void draw_marks(const struct sheet *s, size_t g)
{
    const struct group *group = &s->group[g];
    char letter[2] = {(char)('A' + g % LETTERS), '\0'};
    for (size_t i = 0; i < group->band_count; i++) {
        double rf = band_rf(s, group->trace[i], group->band[i]);
        double x = axis_at(&s->along, rf), y = row_y(s, group->trace[i]) + 21 + RIBBON_HEIGHT / 2;
        canvas_circle(s->canvas, x, y, 8, PAINT_OUTLINE);
        canvas_circle(s->canvas, x, y, 7, (struct paint){{255, 255, 255}, 1});
        canvas_text(s->canvas, type_bold(10.5, PAINT_TEXT), TEXT_MIDDLE, x, y + 3.9, 0, letter);
    }
}

/* Writes the dye's members from `y` on; gives where the next note begins. */
static double draw_note(const struct sheet *s, size_t g, double y)
{
    const struct group *group = &s->group[g];
    char line[NOTE_BYTES];
    int n = snprintf(line, sizeof line, "%c  %s: ", (char)('A' + g % LETTERS),
                     group->hue_name ? group->hue_name : "dye");
    for (size_t i = 0; i < group->band_count && n > 0 && n < (int)sizeof line; i++) {
        char rf[32];
        words_rf(band_rf(s, group->trace[i], group->band[i]), NULL, rf, sizeof rf);
        n += snprintf(line + n, sizeof line - (size_t)n, "%s%s %s", i ? ", " : "",
                      s->overlay->trace[group->trace[i]].label, rf);
    }
    return canvas_paragraph(s->canvas, type(12.5, PAINT_TEXT), s->along.start, y,
                            s->along.end - s->along.start, note_lines(s, g) + 1, /* one to spare */
                            line);
}

static void draw_notes(const struct sheet *s)
{
    double y = row_y(s, s->overlay->trace_count) + 22;
    if (!s->group_count)
        return;
    canvas_text(s->canvas, type_bold(13, PAINT_TEXT), TEXT_START, s->along.start, y,
                s->along.end - s->along.start,
                "May be the same dye (Rf and colour agree within their intervals):");
    y += NOTE_HEIGHT;
    for (size_t g = 0; g < s->group_count; g++) {
        draw_marks(s, g);
        if (g < NOTES_MAX)
            y = draw_note(s, g, y);
    }
}

static void lay_out(struct sheet *s, const struct figure_size *size)
{
    double extra = size->height - usual_height(s);
    s->width = size->width;
    s->along = (struct axis){RF_FROM, RF_TO, PLOT_LEFT, size->width - PLOT_RIGHT};
    double bottom = TOP + PLOT_HEIGHT + extra;
    double top = s->normalise ? 1 : 0;
    for (size_t i = 0; !s->normalise && i < s->overlay->trace_count; i++)
        top = fmax(top, trace_top(s, i));
    s->load_top = load_axis_top(top);
    s->up = (struct axis){0, s->load_top, bottom, TOP};
    s->rows_y = bottom + AXIS_HEIGHT - 12;
}

static void draw(struct sheet *s, const struct figure_size *size)
{
    lay_out(s, size);
    canvas_rect(s->canvas, 0, 0, size->width, size->height, PAINT_GROUND);
    draw_head(s);
    canvas_rect(s->canvas, s->along.start, s->up.end, s->along.end - s->along.start,
                s->up.start - s->up.end, PAINT_PLOT);
    draw_axes(s);
    for (size_t i = 0; i < s->overlay->trace_count; i++)
        draw_line(s, i);
    draw_rows(s);
    draw_notes(s);
}

static void describe(const struct sl_overlay *overlay, char *ret, size_t size)
{
    int n = snprintf(ret, size, "Dye load along Rf of: ");
    for (size_t i = 0; i < overlay->trace_count && n > 0 && n < (int)size; i++)
        n += snprintf(ret + n, size - (size_t)n, "%s%s", i ? "; " : "", overlay->trace[i].label);
    if (n > 0 && n < (int)size)
        snprintf(ret + n, size - (size_t)n, ". Pairs of bands that may be the same dye: %zu.",
                 overlay->shared_count);
}

sl_code figure_draw_overlay(const struct sl_document *document, const struct sl_overlay *overlay,
                            const struct figure_target *target, struct figure_bytes *ret,
                            struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_size size;
    struct sl_lab *lab = NULL;
    struct sheet s = {.document = document, .overlay = overlay};
    char words[4 * WORDS_BYTES];
    struct words_locale locale = words_locale_begin();
    s.normalise = target->options && target->options->normalise;
    sl_code code = make_groups(&s, status);
    if (code == SL_OK)
        code = figure_size_make(target->options, USUAL_WIDTH, usual_height(&s), &size, status);
    if (code == SL_OK)
        code = sl_lab_create(&lab, status);
    if (code != SL_OK)
        goto done;
    s.lab = lab;
    describe(overlay, words, sizeof words);
    code = canvas_create(&(struct canvas_setup){.format = target->format,
                                                .width = size.width,
                                                .height = size.height,
                                                .px_per_unit = size.px_per_unit,
                                                .title = "Inks on one Rf axis",
                                                .description = words,
                                                .date = "",
                                                .id_prefix = target->id_prefix},
                         &s.canvas, status);
    if (code != SL_OK)
        goto done;
    draw(&s, &size);
    code = canvas_finish(s.canvas, &ret->bytes, &ret->count, warnings, status);
done:
    canvas_destroy(s.canvas);
    sl_lab_destroy(lab);
    free(s.group);
    words_locale_end(locale);
    return code;
}
