// SPDX-License-Identifier: GPL-3.0-or-later
/* A pair mirrored around one Rf axis: dipped at once to the left, dried first to the right, on the
 * same load scale; below it the verdict in words. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/scale.h"
#include "figure/words.h"

/* units */
#define USUAL_WIDTH 590.0
#define USUAL_HEIGHT 920.0
#define MARGIN 20.0
#define TOP 126.0
#define BOTTOM 306.0
#define AXIS_HALF 29.0 /* half the column of Rf numbers in the middle */
#define LABEL_WIDTH 82.0
#define LABEL_HEIGHT 32.0
#define GAP 6.0

struct side {
    const struct sl_reading *reading;
    const struct sl_strip *strip;
    struct trace trace;
    double sign;               /* -1 left, +1 right */
    double base_x, plot_width; /* the profile grows from base_x outwards */
    double strip_x, strip_width, label_x;
};

struct sheet {
    struct canvas *canvas;
    const struct sl_pair *pair;
    const char *name;
    const struct sl_lab *lab;
    struct side side[2];
    struct axis along;
    double width, height, per_load, load_top, factor;
    bool by_rf;
};

static void lay_out_side(struct sheet *s, struct side *side)
{
    double middle = s->width / 2;
    side->strip_width = strip_column_width(side->strip, &side->trace, &s->along, 36, 72);
    double outer = side->sign < 0 ? MARGIN : s->width - MARGIN;
    side->strip_x = side->sign < 0 ? outer : outer - side->strip_width;
    side->base_x = middle + side->sign * AXIS_HALF;
    side->label_x = outer - side->sign * (side->strip_width + GAP);
    side->plot_width = fabs(side->label_x - side->base_x) - LABEL_WIDTH;
}

static void lay_out(struct sheet *s)
{
    const struct trace *a = &s->side[0].trace, *b = &s->side[1].trace;
    s->by_rf = a->by_rf && b->by_rf;
    s->along = (struct axis){fmin(axis_from(a), axis_from(b)), fmax(axis_to(a), axis_to(b)),
                             s->height - BOTTOM, TOP + 8};
    lay_out_side(s, &s->side[0]);
    lay_out_side(s, &s->side[1]);
    s->load_top = load_axis_top(fmax(a->load_max, b->load_max));
    s->per_load = fmin(s->side[0].plot_width, s->side[1].plot_width) / s->load_top;
    s->factor =
        load_factor(fmax(trace_rest(a, s->load_top), trace_rest(b, s->load_top)), s->load_top);
}

static void draw_legend(const struct sheet *s)
{
    double width = 16, height = 11, y = 79;
    canvas_rect(s->canvas, MARGIN, y, width, height, PAINT_RETAINED);
    canvas_frame(s->canvas, MARGIN, y, width, height,
                 (struct pen){.paint = PAINT_RETAINED_EDGE, .width = 1});
    canvas_text(s->canvas, type(12, PAINT_MUTED), TEXT_START, MARGIN + width + GAP, y + height - 1,
                s->width - 2 * MARGIN - width - GAP, "the origin: dye that lies here is retained");
}

static void draw_head(const struct sheet *s)
{
    char conditions[WORDS_BYTES];
    double room = s->width - 2 * MARGIN;
    words_conditions(&s->side[1].reading->conditions, SL_ROLE_SINGLE, conditions,
                     sizeof conditions);
    canvas_text(s->canvas, type_bold(25, PAINT_TEXT), TEXT_START, MARGIN, 46, room, s->name);
    canvas_text(s->canvas, type(13.5, PAINT_MUTED), TEXT_START, MARGIN, 69, room, conditions);
    if (s->by_rf)
        draw_legend(s);
    double half = s->width / 2 - AXIS_HALF - MARGIN;
    canvas_text(s->canvas, type_bold(15.5, PAINT_TEXT), TEXT_START, MARGIN, TOP - 12, half,
                "dipped at once");
    canvas_text(s->canvas, type_bold(15.5, PAINT_TEXT), TEXT_END, s->width - MARGIN, TOP - 12, half,
                "dried first");
}

static void draw_origin_zone(const struct sheet *s, const struct side *side)
{
    double reach = origin_zone(side->strip, &side->trace);
    if (!s->by_rf || !isfinite(reach) || reach <= 0)
        return;
    double top = axis_within(&s->along, reach), bottom = axis_within(&s->along, -reach);
    double x = side->sign < 0 ? side->base_x - side->plot_width : side->base_x;
    struct pen pen = {.paint = PAINT_RETAINED_EDGE, .width = 1};
    canvas_rect(s->canvas, x, top, side->plot_width, bottom - top, PAINT_RETAINED);
    for (int k = 0; k < 2; k++) {
        double y = k ? bottom : top;
        canvas_line(s->canvas, x, y, x + side->plot_width, y, pen);
        canvas_line(s->canvas, side->strip_x, y, side->strip_x + side->strip_width, y, pen);
    }
}

/* The labels' column between strip and plot stays free of lines. */
static void draw_level(const struct sheet *s, const struct side *side, double y, bool named)
{
    static const double dashes[] = {5, 3};
    double far = side->base_x + side->sign * side->plot_width;
    struct pen grid = {.paint = PAINT_GRID, .width = 0.8};
    struct pen dashed = {.paint = PAINT_OUTLINE, .width = 1, .dash = dashes, .dash_count = 2};
    canvas_line(s->canvas, side->base_x, y, far, y, named ? dashed : grid);
    if (named)
        canvas_line(s->canvas, side->strip_x, y, side->strip_x + side->strip_width, y, dashed);
}

static const char *front_name(const struct sheet *s)
{
    for (int k = 0; k < 2; k++)
        if (s->side[k].strip->marks.front_seen == SL_FRONT_NOT_SEEN)
            return "front?";
    return "front";
}

static void draw_axis(const struct sheet *s)
{
    struct ticks ticks;
    double middle = s->width / 2;
    ticks_make(s->along.from, s->along.to, 9, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        double v = ticks.value[i], y = axis_at(&s->along, v);
        bool zero = fabs(v) < 1e-9, one = fabs(v - 1) < 1e-9;
        char number[32];
        tick_text(&ticks, i, number, sizeof number);
        canvas_text(s->canvas, type(14, PAINT_MUTED), TEXT_MIDDLE, middle, y + 5, 0, number);
        for (int k = 0; k < 2; k++)
            draw_level(s, &s->side[k], y, zero || one);
        if (s->by_rf && (zero || one))
            canvas_text(s->canvas, type(12.5, PAINT_TEXT), TEXT_MIDDLE, middle, y + 20, 0,
                        zero ? "origin" : front_name(s));
    }
    canvas_text(s->canvas, type_bold(14, PAINT_TEXT), TEXT_MIDDLE, middle, TOP - 12, 0,
                s->by_rf ? "Rf" : "place");
}

static void draw_load_axis(const struct sheet *s)
{
    struct ticks ticks;
    double y = s->along.start;
    ticks_make(0, s->load_top, 3, &ticks);
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < ticks.count; i++) {
            double x = s->side[k].base_x + s->side[k].sign * ticks.value[i] * s->per_load;
            char number[32];
            tick_text(&ticks, i, number, sizeof number);
            canvas_line(s->canvas, x, y, x, y + 5, (struct pen){.paint = PAINT_EDGE, .width = 1});
            canvas_text(s->canvas, type(12.5, PAINT_MUTED), TEXT_MIDDLE, x, y + 18, 0, number);
        }
    char title[96];
    words_load_axis(s->factor, ", the same scale on both sides", title, sizeof title);
    canvas_text(s->canvas, type(12.5, PAINT_MUTED), TEXT_MIDDLE, s->width / 2, y + 35, 0, title);
}

/* No room for intervals: the table and the strip's own figure have them. */
static void draw_bands(const struct sheet *s, const struct side *side)
{
    const struct sl_bands *bands = &side->strip->bands;
    const struct sl_band *band[SL_BANDS_MAX];
    double middle[SL_BANDS_MAX], apex[SL_BANDS_MAX], height[SL_BANDS_MAX];
    size_t n = 0;
    for (size_t i = bands->count; s->by_rf && i-- > 0;) {
        if (!isfinite(bands->item[i].rf))
            continue;
        band[n] = &bands->item[i];
        height[n] = LABEL_HEIGHT;
        apex[n] = middle[n] = axis_within(&s->along, bands->item[i].rf);
        n++;
    }
    spread_labels(middle, height, n, s->along.end + 14, s->along.start - 14);
    double far = side->base_x + side->sign * side->plot_width, inner = far + side->sign * 8;
    enum text_align align = side->sign < 0 ? TEXT_END : TEXT_START;
    for (size_t i = 0; i < n; i++) {
        double load = fmax(trace_load_at(&side->trace, band[i]->rf), 0);
        double x = side->base_x + side->sign * load * s->per_load;
        struct pen leader = {.paint = PAINT_EDGE, .width = 0.8};
        char number[32];
        canvas_line(s->canvas, x, apex[i], far, apex[i], leader);
        canvas_line(s->canvas, far, apex[i], inner - side->sign, middle[i], leader);
        canvas_circle(s->canvas, x, apex[i], 3, PAINT_TEXT);
        words_rf(band[i]->rf, NULL, number, sizeof number);
        canvas_text(s->canvas, type_bold(13.5, PAINT_TEXT), align, inner, middle[i] - 1,
                    LABEL_WIDTH - 8, number);
        canvas_text(s->canvas, type(12, PAINT_MUTED), align, inner, middle[i] + 13, LABEL_WIDTH - 4,
                    band[i]->hue_name ? band[i]->hue_name : "");
    }
}

static void draw_blank_note(const struct sheet *s, const struct side *side)
{
    if (side->strip->marks.blank)
        canvas_text(s->canvas, type(13.5, PAINT_MUTED), TEXT_MIDDLE,
                    side->base_x + side->sign * side->plot_width / 2,
                    (s->along.start + s->along.end) / 2, side->plot_width, "no ink found");
}

static void draw_chip(const struct sheet *s, double x, double y, double size)
{
    const double *lab = s->pair->retained_lab_d50;
    struct paint paint = {{0, 0, 0}, 1};
    if (!*s->pair->retained_hue_name || !isfinite(lab[0] + lab[1] + lab[2]))
        return;
    sl_lab_to_srgb8(s->lab, lab, paint.rgb);
    canvas_rect(s->canvas, x, y, size, size, paint);
    canvas_frame(s->canvas, x, y, size, size, (struct pen){.paint = PAINT_EDGE, .width = 0.8});
    canvas_text(s->canvas, type(12, PAINT_MUTED), TEXT_END, x - 8, y + size / 2 - 2, 0,
                "what is retained:");
    canvas_text(s->canvas, type(12, PAINT_MUTED), TEXT_END, x - 8, y + size / 2 + 13, 0,
                s->pair->retained_hue_name);
}

/* The answer and how sure it is, the scale, one reason; the report has the others. */
static void draw_verdict(const struct sheet *s)
{
    const struct sl_pair *pair = s->pair;
    char text[WORDS_BYTES];
    double y = s->height - BOTTOM + 78, room = s->width - 2 * MARGIN;
    canvas_line(s->canvas, MARGIN, y - 30, s->width - MARGIN, y - 30,
                (struct pen){.paint = PAINT_GRID, .width = 1});
    words_answer(pair, text, sizeof text);
    canvas_text(s->canvas, type_bold(23, PAINT_TEXT), TEXT_START, MARGIN, y, room - 150, text);
    draw_chip(s, s->width - MARGIN - 36, y - 18, 36);
    words_sure(pair, text, sizeof text);
    y = canvas_paragraph(s->canvas, type(14, PAINT_TEXT), MARGIN, y + 24, room - 150, 3, text);
    if (pair->unjudged == SL_JUDGED) {
        draw_scale(s->canvas, pair, &(struct scale_box){MARGIN, y - 4, room, 13});
        words_level(pair, text, sizeof text);
        y = canvas_paragraph(s->canvas, type(13.5, PAINT_TEXT), MARGIN, y + scale_height(13) + 16,
                             room, 1, text);
    } else if (pair->reason_count) {
        y = canvas_paragraph(s->canvas, type(14, PAINT_TEXT), MARGIN, y + 1, room, 4,
                             pair->reason[0]);
    }
    words_drying(pair, text, sizeof text);
    if (*text)
        y = canvas_paragraph(s->canvas, type(13.5, PAINT_TEXT), MARGIN, y, room, 1, text);
    struct type_style caution = type(12, PAINT_MUTED);
    caution.italic = true;
    canvas_paragraph(s->canvas, caution, MARGIN, fmax(y + 3, s->height - 45), room, 3,
                     sl_retention_caution());
}

static void draw(struct sheet *s)
{
    double top = s->along.end, tall = s->along.start - s->along.end;
    canvas_rect(s->canvas, 0, 0, s->width, s->height, PAINT_GROUND);
    draw_head(s);
    for (int k = 0; k < 2; k++) {
        const struct side *side = &s->side[k];
        double far = side->base_x + side->sign * side->plot_width;
        canvas_rect(s->canvas, fmin(side->base_x, far), top, side->plot_width, tall, PAINT_PLOT);
        draw_strip_column(s->canvas, side->strip, &side->trace, &s->along, side->strip_x,
                          side->strip_width);
        draw_origin_zone(s, side);
    }
    draw_axis(s);
    for (int k = 0; k < 2; k++) {
        const struct side *side = &s->side[k];
        draw_profile(s->canvas, &side->trace, &s->along, side->base_x, side->sign * s->per_load);
        if (s->factor > 0)
            draw_enlarged(s->canvas, &side->trace, &s->along, side->base_x,
                          side->sign * s->per_load, s->load_top, s->factor);
        canvas_line(s->canvas, side->base_x, top, side->base_x, s->along.start,
                    (struct pen){.paint = PAINT_EDGE, .width = 1});
        draw_bands(s, side);
        draw_blank_note(s, side);
    }
    draw_load_axis(s);
    draw_verdict(s);
}

static void take_side(const struct sl_document *document, struct sl_strip_ref ref, double sign,
                      const struct sl_lab *lab, struct side *ret)
{
    ret->reading = document->reading[ref.photo];
    ret->strip = &ret->reading->strip[ref.strip];
    ret->sign = sign;
    trace_make(ret->strip, lab, &ret->trace);
}

sl_code figure_draw_pair(const struct sl_document *document, const struct sl_pair *pair,
                         const struct figure_target *target, struct figure_bytes *ret,
                         struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_size size;
    struct sl_lab *lab = NULL;
    struct sheet s = {.pair = pair, .name = words_pair_name(document, pair)};
    char title[SL_PHOTO_NAME_MAX + 64], words[WORDS_BYTES];
    struct words_locale locale = words_locale_begin();
    sl_code code = figure_size_make(target->options, USUAL_WIDTH, USUAL_HEIGHT, &size, status);
    if (code == SL_OK)
        code = sl_lab_create(&lab, status);
    if (code != SL_OK)
        goto done;
    s.lab = lab;
    s.width = size.width;
    s.height = size.height;
    take_side(document, pair->immediate, -1, lab, &s.side[0]);
    take_side(document, pair->dried, 1, lab, &s.side[1]);
    lay_out(&s);
    snprintf(title, sizeof title, "%s: dipped at once and dried first", s.name);
    words_pair(pair, words, sizeof words);
    code = canvas_create(&(struct canvas_setup){.format = target->format,
                                                .width = size.width,
                                                .height = size.height,
                                                .px_per_unit = size.px_per_unit,
                                                .title = title,
                                                .description = words,
                                                .date = s.side[1].reading->conditions.date,
                                                .id_prefix = target->id_prefix},
                         &s.canvas, status);
    if (code != SL_OK)
        goto done;
    draw(&s);
    code = canvas_finish(s.canvas, &ret->bytes, &ret->count, warnings, status);
done:
    canvas_destroy(s.canvas);
    sl_lab_destroy(lab);
    words_locale_end(locale);
    return code;
}
