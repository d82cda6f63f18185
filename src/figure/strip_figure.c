// SPDX-License-Identifier: GPL-3.0-or-later
/* One strip: upright as it hung, its profile beside it on the same Rf axis, its bands named. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/words.h"

/* units; 4:5 fills a phone held upright */
#define USUAL_WIDTH 600.0
#define USUAL_HEIGHT 750.0
#define MARGIN 24.0
#define TOP 102.0
#define BOTTOM 126.0
#define AXIS_WIDTH 66.0
#define LABEL_WIDTH 204.0
#define LABEL_HEIGHT 36.0
#define RETAINED_HEIGHT 15.0 /* one more line */
#define GAP 10.0

struct sheet {
    struct canvas *canvas;
    const struct sl_reading *reading;
    const struct sl_strip *strip;
    const char *name;
    const struct trace *trace;
    struct axis along;
    double strip_x, strip_width;
    double base_x, plot_width, per_load, load_top, factor;
    double label_x;
};

static void draw_head(const struct sheet *s, double width)
{
    char conditions[WORDS_BYTES];
    words_conditions(&s->reading->conditions, s->strip->role, conditions, sizeof conditions);
    double room = width - 2 * MARGIN;
    canvas_text(s->canvas, type_bold(25, PAINT_TEXT), TEXT_START, MARGIN, 46, room, s->name);
    canvas_paragraph(s->canvas, type(13.5, PAINT_MUTED), MARGIN, 68, room, 2, conditions);
}

static const char *end_name(const struct sheet *s, bool front)
{
    if (!s->trace->by_rf)
        return front ? "upper edge" : "lower edge";
    if (!front)
        return "origin";
    return s->strip->marks.front_seen == SL_FRONT_NOT_SEEN ? "front?" : "front";
}

/* Ticks left of the strip, grid lines over the plot; 0 and 1 carry their names. */
static void draw_rf_axis(const struct sheet *s)
{
    static const double dashes[] = {5, 3};
    struct ticks ticks;
    ticks_make(s->along.from, s->along.to, 9, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        double v = ticks.value[i], y = axis_at(&s->along, v);
        bool zero = fabs(v) < 1e-9, one = fabs(v - 1) < 1e-9;
        char number[32];
        tick_text(&ticks, i, number, sizeof number);
        canvas_text(s->canvas, type(14, PAINT_MUTED), TEXT_END, s->strip_x - 9, y + 5, 0, number);
        canvas_line(s->canvas, s->strip_x - 5, y, s->strip_x, y,
                    (struct pen){.paint = PAINT_EDGE, .width = 1});
        if (!zero && !one) {
            canvas_line(s->canvas, s->base_x, y, s->base_x + s->plot_width, y,
                        (struct pen){.paint = PAINT_GRID, .width = 0.8});
            continue;
        }
        struct pen pen = {.paint = PAINT_OUTLINE, .width = 1, .dash = dashes, .dash_count = 2};
        canvas_line(s->canvas, s->strip_x, y, s->base_x + s->plot_width, y, pen);
        canvas_text(s->canvas, type(12.5, PAINT_TEXT), TEXT_END, s->strip_x - 9, y + 20, 0,
                    end_name(s, one));
    }
    canvas_text(s->canvas, type_bold(14, PAINT_TEXT), TEXT_END, s->strip_x - 9, s->along.end - 10,
                0, s->trace->by_rf ? "Rf" : "place");
}

static void draw_load_axis(const struct sheet *s)
{
    double y = s->along.start;
    struct ticks ticks;
    ticks_make(0, s->load_top, 3, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        double x = s->base_x + ticks.value[i] * s->per_load;
        char number[32];
        tick_text(&ticks, i, number, sizeof number);
        canvas_line(s->canvas, x, y, x, y + 5, (struct pen){.paint = PAINT_EDGE, .width = 1});
        canvas_text(s->canvas, type(13, PAINT_MUTED), TEXT_MIDDLE, x, y + 19, 0, number);
    }
    char title[96];
    words_load_axis(s->factor, "", title, sizeof title);
    canvas_text(s->canvas, type(13, PAINT_MUTED), TEXT_START, s->base_x, y + 37, 0, title);
}

static void label_band(const struct sheet *s, const struct sl_band *band, double middle)
{
    char rf[64], share[64], line[160];
    words_rf(band->rf, band->rf_interval, rf, sizeof rf);
    words_share(band->share, band->share_interval, share, sizeof share);
    double room = LABEL_WIDTH - 4;
    snprintf(line, sizeof line, "Rf %s", rf);
    canvas_text(s->canvas, type_bold(13.2, PAINT_TEXT), TEXT_START, s->label_x, middle - 2, room,
                line);
    snprintf(line, sizeof line, "%s · %s", band->hue_name ? band->hue_name : "", share);
    canvas_text(s->canvas, type(13, PAINT_MUTED), TEXT_START, s->label_x, middle + 14, room, line);
    if (band->retained)
        canvas_text(s->canvas, type(13, PAINT_MUTED), TEXT_START, s->label_x, middle + 30, room,
                    "retained at the origin");
}

static void draw_bands(const struct sheet *s)
{
    const struct sl_bands *bands = &s->strip->bands;
    const struct sl_band *band[SL_BANDS_MAX];
    double middle[SL_BANDS_MAX], apex[SL_BANDS_MAX], height[SL_BANDS_MAX];
    size_t n = 0;
    for (size_t i = bands->count; i-- > 0;) { /* from the top of the figure down */
        if (!s->trace->by_rf || !isfinite(bands->item[i].rf))
            continue;
        band[n] = &bands->item[i];
        height[n] = LABEL_HEIGHT + (band[n]->retained ? RETAINED_HEIGHT : 0);
        apex[n] = middle[n] = axis_within(&s->along, bands->item[i].rf);
        n++;
    }
    spread_labels(middle, height, n, s->along.end + 14, s->along.start - 16);
    for (size_t i = 0; i < n; i++) {
        double x = s->base_x + fmax(trace_load_at(s->trace, band[i]->rf), 0) * s->per_load;
        double right = s->base_x + s->plot_width;
        struct pen leader = {.paint = PAINT_EDGE, .width = 0.8};
        canvas_line(s->canvas, x, apex[i], right + 6, apex[i], leader);
        canvas_line(s->canvas, right + 6, apex[i], s->label_x - 4, middle[i], leader);
        canvas_circle(s->canvas, x, apex[i], 3.2, PAINT_TEXT);
        label_band(s, band[i], middle[i]);
    }
}

/* Streaks have no apex to name: how far each colour reaches stands in the labels' place. */
static void draw_reaches(const struct sheet *s)
{
    const struct sl_bands *bands = &s->strip->bands;
    double y = s->along.end + 18;
    if (s->strip->marks.blank) {
        canvas_text(s->canvas, type(13.5, PAINT_TEXT), TEXT_START, s->label_x, y, LABEL_WIDTH - 4,
                    "No ink was found.");
        return;
    }
    canvas_paragraph(s->canvas, type(13.5, PAINT_TEXT), s->label_x, y, LABEL_WIDTH - 4, 3,
                     "No band of its own: the dye forms a streak.");
    y += 48;
    for (size_t i = 0; i < bands->reach_count; i++) {
        char line[128];
        const struct sl_reach *reach = &bands->reach[i];
        snprintf(line, sizeof line, "%s from %.2f to %.2f", reach->hue_name ? reach->hue_name : "",
                 reach->first_rf, reach->last_rf);
        canvas_text(s->canvas, type(13.5, PAINT_MUTED), TEXT_START, s->label_x, y, LABEL_WIDTH - 4,
                    line);
        y += 20;
    }
}

static void draw_foot(const struct sheet *s, double width, double height)
{
    char text[256];
    double y = height - 56, room = width - 2 * MARGIN;
    words_retained(s->strip, text, sizeof text);
    if (s->strip->marks.blank)
        snprintf(text, sizeof text, "A strip without ink: there is nothing to measure.");
    y = canvas_paragraph(s->canvas, type(13.5, PAINT_TEXT), MARGIN, y, room, 2, text);
    const char *note = words_front_doubt(s->strip);
    if (!s->trace->by_rf)
        note = "Origin or front unknown: places are parts of the strip's length, not Rf.";
    else if (!*note)
        note = "Grey: 95 % interval of the load. In brackets: 95 % intervals.";
    canvas_text(s->canvas, type(12, PAINT_MUTED), TEXT_START, MARGIN, y + 2, room, note);
}

static void lay_out(struct sheet *s, double width, double height)
{
    s->along = (struct axis){axis_from(s->trace), axis_to(s->trace), height - BOTTOM, TOP + 14};
    s->strip_x = MARGIN + AXIS_WIDTH;
    s->strip_width = strip_column_width(s->strip, s->trace, &s->along, 44, 120);
    s->base_x = s->strip_x + s->strip_width + GAP;
    s->label_x = width - MARGIN - LABEL_WIDTH + 8;
    s->plot_width = s->label_x - 26 - s->base_x;
    s->load_top = load_axis_top(s->trace->load_max);
    s->per_load = s->plot_width / s->load_top;
    s->factor = load_factor(trace_rest(s->trace, s->load_top), s->load_top);
}

static void draw(struct canvas *canvas, const struct sl_reading *reading,
                 const struct sl_strip *strip, const char *name, const struct trace *trace,
                 const struct figure_size *size)
{
    struct sheet s = {
        .canvas = canvas, .reading = reading, .strip = strip, .name = name, .trace = trace};
    lay_out(&s, size->width, size->height);
    double top = s.along.end, tall = s.along.start - s.along.end;
    canvas_rect(canvas, 0, 0, size->width, size->height, PAINT_GROUND);
    draw_head(&s, size->width);
    canvas_rect(canvas, s.base_x, top, s.plot_width, tall, PAINT_PLOT);
    draw_strip_column(canvas, strip, trace, &s.along, s.strip_x, s.strip_width);
    draw_rf_axis(&s);
    draw_profile(canvas, trace, &s.along, s.base_x, s.per_load);
    if (s.factor > 0)
        draw_enlarged(canvas, trace, &s.along, s.base_x, s.per_load, s.load_top, s.factor);
    canvas_line(canvas, s.base_x, top, s.base_x, s.along.start,
                (struct pen){.paint = PAINT_EDGE, .width = 1});
    draw_load_axis(&s);
    draw_bands(&s);
    if (!strip->bands.count)
        draw_reaches(&s);
    draw_foot(&s, size->width, size->height);
}

sl_code figure_draw_strip(const struct sl_reading *reading, size_t index,
                          const struct figure_target *target, struct figure_bytes *ret,
                          struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_size size;
    struct sl_lab *lab = NULL;
    struct canvas *canvas = NULL;
    struct trace trace;
    char name[SL_PHOTO_NAME_MAX + 32], title[SL_PHOTO_NAME_MAX + 64], words[2 * WORDS_BYTES];
    struct words_locale locale = words_locale_begin();
    const struct sl_strip *strip = &reading->strip[index];
    sl_code code = figure_size_make(target->options, USUAL_WIDTH, USUAL_HEIGHT, &size, status);
    if (code == SL_OK)
        code = sl_lab_create(&lab, status);
    if (code != SL_OK)
        goto done;
    trace_make(strip, lab, &trace);
    words_strip_name(reading, index, name, sizeof name);
    snprintf(title, sizeof title, "%s, %s", name, words_role(strip->role));
    words_strip(strip, words, sizeof words);
    code = canvas_create(&(struct canvas_setup){.format = target->format,
                                                .width = size.width,
                                                .height = size.height,
                                                .px_per_unit = size.px_per_unit,
                                                .title = title,
                                                .description = words,
                                                .date = reading->conditions.date,
                                                .id_prefix = target->id_prefix},
                         &canvas, status);
    if (code != SL_OK)
        goto done;
    draw(canvas, reading, strip, name, &trace, &size);
    code = canvas_finish(canvas, &ret->bytes, &ret->count, warnings, status);
done:
    canvas_destroy(canvas);
    sl_lab_destroy(lab);
    words_locale_end(locale);
    return code;
}
