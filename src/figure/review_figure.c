// SPDX-License-Identifier: GPL-3.0-or-later
/* A pair as one picture for a review, wide or tall, read on a phone: few words, and large ones.
 *
 * The strips stand mirrored around one Rf axis as in the pair's figure; the verdict stands beside
 * them (wide) or below them (tall). What a reader should take away is at least a thirtieth of the
 * picture's shorter side. Intervals of single bands, the scale of the load and the reasons are left
 * to the pair's figure and the report. */
#include <math.h>
#include <stdio.h>

#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/scale.h"
#include "figure/words.h"

/* Pixels of the picture are the canvas' units. */
#define MARGIN 56.0
#define LEVEL_SIZE 76.0
#define LEVEL_SIZE_TWO_LINES 60.0
#define NAME_SIZE 54.0
#define MAIN_SIZE 36.0
#define MARK_SIZE 32.0
#define SMALL_SIZE 27.0
#define CHIP 84.0
#define AXIS_HALF 62.0
#define STRIP_MIN 90.0
#define STRIP_MAX 140.0
#define LABEL_WIDTH 174.0
#define LABEL_HEIGHT 72.0
#define GAP 14.0

struct box {
    double x, y, width, height;
};

/* Where things stand on the picture. */
struct frame {
    double width, height;
    struct box head, pair, verdict;
    int caution_lines;
};

static const struct frame frames[] = {
    [SL_REVIEW_LANDSCAPE] = {.width = 1920,
                             .height = 1080,
                             .head = {1100, 84, 764, 150},
                             .pair = {MARGIN, 60, 980, 964},
                             .verdict = {1100, 300, 764, 724},
                             .caution_lines = 5},
    [SL_REVIEW_PORTRAIT] = {.width = 1080,
                            .height = 1920,
                            .head = {MARGIN, 96, 968, 100},
                            .pair = {MARGIN, 224, 968, 840},
                            .verdict = {MARGIN, 1184, 968, 688},
                            .caution_lines = 4},
};

struct side {
    const struct sl_strip *strip;
    struct trace trace;
    double sign; /* -1 left, +1 right */
    double strip_x, strip_width, base_x, plot_width;
};

struct review {
    struct canvas *canvas;
    const struct frame *frame;
    const struct sl_pair *pair;
    const struct sl_lab *lab;
    const char *name;
    const struct sl_conditions *conditions;
    struct side side[2];
    struct axis along;
    double load_top, per_load, factor;
    bool by_rf;
};

static void lay_out_side(struct review *r, struct side *side)
{
    const struct box *box = &r->frame->pair;
    double outer = side->sign < 0 ? box->x : box->x + box->width;
    side->strip_width =
        strip_column_width(side->strip, &side->trace, &r->along, STRIP_MIN, STRIP_MAX);
    side->strip_x = side->sign < 0 ? outer : outer - side->strip_width;
    side->base_x = box->x + box->width / 2 + side->sign * AXIS_HALF;
    side->plot_width = fabs(outer - side->base_x) - side->strip_width - GAP - LABEL_WIDTH;
}

static void lay_out(struct review *r)
{
    const struct trace *a = &r->side[0].trace, *b = &r->side[1].trace;
    const struct box *box = &r->frame->pair;
    r->by_rf = a->by_rf && b->by_rf;
    r->along = (struct axis){fmin(axis_from(a), axis_from(b)), fmax(axis_to(a), axis_to(b)),
                             box->y + box->height - 1.9 * SMALL_SIZE, box->y + 0.6 * MAIN_SIZE};
    lay_out_side(r, &r->side[0]);
    lay_out_side(r, &r->side[1]);
    r->load_top = load_axis_top(fmax(a->load_max, b->load_max));
    r->per_load = fmin(r->side[0].plot_width, r->side[1].plot_width) / r->load_top;
    r->factor =
        load_factor(fmax(trace_rest(a, r->load_top), trace_rest(b, r->load_top)), r->load_top);
}

static double far_x(const struct side *side)
{
    return side->base_x + side->sign * side->plot_width;
}

static void draw_ground(const struct review *r, const struct side *side)
{
    double top = r->along.end, tall = r->along.start - r->along.end;
    double x = fmin(side->base_x, far_x(side)), reach = origin_zone(side->strip, &side->trace);
    canvas_rect(r->canvas, x, top, side->plot_width, tall, PAINT_PLOT);
    draw_strip_column(r->canvas, side->strip, &side->trace, &r->along, side->strip_x,
                      side->strip_width);
    if (!r->by_rf || !isfinite(reach) || reach <= 0)
        return;
    double upper = axis_within(&r->along, reach), lower = axis_within(&r->along, -reach);
    canvas_rect(r->canvas, x, upper, side->plot_width, lower - upper, PAINT_RETAINED);
    canvas_frame(r->canvas, x, upper, side->plot_width, lower - upper,
                 (struct pen){.paint = PAINT_RETAINED_EDGE, .width = 1.5});
}

static void draw_axis(const struct review *r)
{
    struct ticks ticks;
    double middle = r->frame->pair.x + r->frame->pair.width / 2;
    ticks_make(r->along.from, r->along.to, 4, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        double y = axis_at(&r->along, ticks.value[i]);
        bool zero = fabs(ticks.value[i]) < 1e-9, one = fabs(ticks.value[i] - 1) < 1e-9;
        char number[32];
        tick_text(&ticks, i, number, sizeof number);
        canvas_text(r->canvas, type(MARK_SIZE, PAINT_MUTED), TEXT_MIDDLE, middle,
                    y + 0.36 * MARK_SIZE, 0, number);
        for (int k = 0; k < 2; k++)
            canvas_line(r->canvas, r->side[k].base_x, y, far_x(&r->side[k]), y,
                        (struct pen){.paint = one ? PAINT_EDGE : PAINT_GRID, .width = 1.5});
        if (r->by_rf && (zero || one))
            canvas_text(r->canvas, type(SMALL_SIZE, PAINT_TEXT), TEXT_MIDDLE, middle,
                        y + MARK_SIZE + 6, 2 * AXIS_HALF, zero ? "origin" : "front");
    }
    canvas_text(r->canvas, type_bold(MARK_SIZE, PAINT_TEXT), TEXT_MIDDLE, middle, r->frame->pair.y,
                0, r->by_rf ? "Rf" : "place");
}

static size_t take_bands(const struct review *r, const struct side *side,
                         const struct sl_band *band[SL_BANDS_MAX], double apex[SL_BANDS_MAX])
{
    const struct sl_bands *bands = &side->strip->bands;
    size_t n = 0;
    for (size_t i = bands->count; r->by_rf && i-- > 0;)
        if (isfinite(bands->item[i].rf)) {
            band[n] = &bands->item[i];
            apex[n++] = axis_within(&r->along, bands->item[i].rf);
        }
    return n;
}

static void draw_bands(const struct review *r, const struct side *side)
{
    const struct sl_band *band[SL_BANDS_MAX];
    double apex[SL_BANDS_MAX], middle[SL_BANDS_MAX], height[SL_BANDS_MAX];
    size_t n = take_bands(r, side, band, apex);
    for (size_t i = 0; i < n; i++) {
        middle[i] = apex[i];
        height[i] = LABEL_HEIGHT;
    }
    spread_labels(middle, height, n, r->along.end + MARK_SIZE, r->along.start - MARK_SIZE);
    double far = far_x(side), inner = far + side->sign * GAP;
    enum text_align align = side->sign < 0 ? TEXT_END : TEXT_START;
    for (size_t i = 0; i < n; i++) {
        double load = fmax(trace_load_at(&side->trace, band[i]->rf), 0);
        double x = side->base_x + side->sign * load * r->per_load;
        struct pen leader = {.paint = PAINT_EDGE, .width = 1.5};
        char number[32];
        canvas_line(r->canvas, x, apex[i], far, apex[i], leader);
        canvas_line(r->canvas, far, apex[i], inner - side->sign * 2, middle[i], leader);
        canvas_circle(r->canvas, x, apex[i], 6, PAINT_TEXT);
        words_rf(band[i]->rf, NULL, number, sizeof number);
        canvas_text(r->canvas, type_bold(MARK_SIZE, PAINT_TEXT), align, inner, middle[i] - 2,
                    LABEL_WIDTH - GAP, number);
        canvas_text(r->canvas, type(SMALL_SIZE, PAINT_MUTED), align, inner, middle[i] + SMALL_SIZE,
                    LABEL_WIDTH - GAP, band[i]->hue_name ? band[i]->hue_name : "");
    }
}

static void draw_side(const struct review *r, const struct side *side)
{
    bool left = side->sign < 0;
    double outer = left ? r->frame->pair.x : r->frame->pair.x + r->frame->pair.width;
    draw_profile(r->canvas, &side->trace, &r->along, side->base_x, side->sign * r->per_load);
    if (r->factor > 0)
        draw_enlarged(r->canvas, &side->trace, &r->along, side->base_x, side->sign * r->per_load,
                      r->load_top, r->factor);
    canvas_line(r->canvas, side->base_x, r->along.end, side->base_x, r->along.start,
                (struct pen){.paint = PAINT_EDGE, .width = 1.5});
    draw_bands(r, side);
    double room = side->plot_width + LABEL_WIDTH; /* where there is no ink, there are no labels */
    if (side->strip->marks.blank)
        canvas_text(r->canvas, type(MARK_SIZE, PAINT_MUTED), TEXT_MIDDLE,
                    side->base_x + side->sign * room / 2, (r->along.start + r->along.end) / 2, room,
                    "no ink");
    canvas_text(r->canvas, type_bold(MAIN_SIZE, PAINT_TEXT), left ? TEXT_START : TEXT_END, outer,
                r->frame->pair.y, r->frame->pair.width / 2 - AXIS_HALF,
                left ? "dipped at once" : "dried first");
}

/* One line below the strips says what the yellow zone and the dashed line are. */
static void draw_key(const struct review *r)
{
    const struct box *box = &r->frame->pair;
    double y = box->y + box->height, size = 0.8 * SMALL_SIZE;
    char text[128];
    if (!r->by_rf)
        return;
    snprintf(text, sizeof text, "the origin: dye here is retained");
    canvas_rect(r->canvas, box->x, y - size, 1.5 * size, size, PAINT_RETAINED);
    canvas_frame(r->canvas, box->x, y - size, 1.5 * size, size,
                 (struct pen){.paint = PAINT_RETAINED_EDGE, .width = 1.5});
    canvas_text(r->canvas, type(SMALL_SIZE, PAINT_MUTED), TEXT_START, box->x + 1.5 * size + GAP, y,
                0.6 * box->width, text);
    if (r->factor <= 0)
        return;
    snprintf(text, sizeof text, "dashed: × %.0f", r->factor);
    canvas_text(r->canvas, type(SMALL_SIZE, PAINT_MUTED), TEXT_END, box->x + box->width, y,
                0.35 * box->width, text);
}

static void draw_head(const struct review *r)
{
    const struct box *box = &r->frame->head;
    char conditions[WORDS_BYTES];
    words_conditions(r->conditions, SL_ROLE_SINGLE, conditions, sizeof conditions);
    double y = canvas_paragraph(r->canvas, type_bold(NAME_SIZE, PAINT_TEXT), box->x, box->y,
                                box->width, 1, r->name);
    canvas_paragraph(r->canvas, type(SMALL_SIZE, PAINT_MUTED), box->x,
                     y - NAME_SIZE + SMALL_SIZE + 6, box->width, 2, conditions);
}

/* The colour of what is retained, with its name. */
static void draw_chip(const struct review *r, double x, double y, double width)
{
    const double *lab = r->pair->retained_lab_d50;
    struct paint paint = {{0, 0, 0}, 1};
    if (!*r->pair->retained_hue_name || !isfinite(lab[0] + lab[1] + lab[2]))
        return;
    char text[96];
    sl_lab_to_srgb8(r->lab, lab, paint.rgb);
    canvas_rect(r->canvas, x, y, CHIP, CHIP, paint);
    canvas_frame(r->canvas, x, y, CHIP, CHIP, (struct pen){.paint = PAINT_EDGE, .width = 1.5});
    snprintf(text, sizeof text, "What is retained: %s", r->pair->retained_hue_name);
    canvas_text(r->canvas, type(MAIN_SIZE, PAINT_TEXT), TEXT_START, x + CHIP + 2 * GAP,
                y + CHIP / 2 + 0.36 * MAIN_SIZE, width - CHIP - 2 * GAP, text);
}

/* Gives the first baseline below it. */
static double draw_answer(const struct review *r, double x, double y, double room)
{
    char answer[96];
    struct type_style style = type_bold(LEVEL_SIZE, PAINT_TEXT);
    words_answer(r->pair, answer, sizeof answer);
    if (canvas_text_width(r->canvas, style, answer) > room)
        style.size = LEVEL_SIZE_TWO_LINES;
    y = canvas_paragraph(r->canvas, style, x, y, room, 2, answer);
    return y - style.size + MAIN_SIZE + GAP;
}

static double draw_words(const struct review *r, double y, int lines,
                         void (*words)(const struct sl_pair *, char *, size_t))
{
    const struct box *box = &r->frame->verdict;
    char text[WORDS_BYTES];
    words(r->pair, text, sizeof text);
    return *text ? canvas_paragraph(r->canvas, type(MAIN_SIZE, PAINT_TEXT), box->x, y, box->width,
                                    lines, text)
                 : y;
}

static void draw_verdict(const struct review *r)
{
    const struct box *box = &r->frame->verdict;
    const struct sl_pair *pair = r->pair;
    double x = box->x, y = box->y, room = box->width;
    canvas_line(r->canvas, x, y - LEVEL_SIZE - GAP, x + room, y - LEVEL_SIZE - GAP,
                (struct pen){.paint = PAINT_EDGE, .width = 1.5});
    y = draw_answer(r, x, y, room);
    y = draw_words(r, y, 4, words_sure);
    if (pair->unjudged == SL_JUDGED) {
        struct scale_box scale = {x, y - 0.5 * MAIN_SIZE, room, MARK_SIZE};
        draw_scale(r->canvas, pair, &scale);
        y = draw_words(r, scale.y + scale_height(scale.size) + MAIN_SIZE + GAP, 2, words_level);
    } else if (pair->reason_count) {
        y = canvas_paragraph(r->canvas, type(MAIN_SIZE, PAINT_TEXT), x, y, room, 6,
                             pair->reason[0]);
    }
    y = draw_words(r, y, 2, words_drying);
    struct type_style caution = type(SMALL_SIZE, PAINT_MUTED);
    caution.italic = true;
    int lines = r->frame->caution_lines;
    double first = box->y + box->height - (lines - 1) * SMALL_SIZE * CANVAS_LINE_HEIGHT;
    canvas_paragraph(r->canvas, caution, x, first, room, lines, sl_retention_caution());
    y -= 0.4 * MAIN_SIZE;
    if (y + CHIP + GAP + SMALL_SIZE < first)
        draw_chip(r, x, y, room);
}

static void draw(const struct review *r)
{
    canvas_rect(r->canvas, 0, 0, r->frame->width, r->frame->height, PAINT_GROUND);
    draw_head(r);
    for (int k = 0; k < 2; k++)
        draw_ground(r, &r->side[k]);
    draw_axis(r);
    for (int k = 0; k < 2; k++)
        draw_side(r, &r->side[k]);
    draw_key(r);
    draw_verdict(r);
}

static void take_side(struct review *r, const struct sl_document *document, struct sl_strip_ref ref,
                      int k)
{
    struct side *side = &r->side[k];
    side->strip = &document->reading[ref.photo]->strip[ref.strip];
    side->sign = k ? 1 : -1;
    trace_make(side->strip, r->lab, &side->trace);
}

sl_code figure_draw_review(const struct sl_document *document, const struct sl_pair *pair,
                           enum sl_review_shape shape, const struct figure_target *target,
                           struct figure_bytes *ret, struct sl_warnings *warnings,
                           struct sl_status *status)
{
    struct sl_lab *lab = NULL;
    struct review r = {.frame = &frames[shape],
                       .pair = pair,
                       .name = words_pair_name(document, pair),
                       .conditions = &document->reading[pair->dried.photo]->conditions};
    char title[SL_PHOTO_NAME_MAX + 64], words[WORDS_BYTES];
    struct words_locale locale = words_locale_begin();
    sl_code code = sl_lab_create(&lab, status);
    if (code != SL_OK)
        goto done;
    r.lab = lab;
    take_side(&r, document, pair->immediate, 0);
    take_side(&r, document, pair->dried, 1);
    lay_out(&r);
    snprintf(title, sizeof title, "%s: does it stay when water passes?", r.name);
    words_pair(pair, words, sizeof words);
    code = canvas_create(&(struct canvas_setup){.format = target->format,
                                                .width = r.frame->width,
                                                .height = r.frame->height,
                                                .px_per_unit = 1,
                                                .title = title,
                                                .description = words,
                                                .date = r.conditions->date,
                                                .id_prefix = target->id_prefix},
                         &r.canvas, status);
    if (code != SL_OK)
        goto done;
    draw(&r);
    code = canvas_finish(r.canvas, &ret->bytes, &ret->count, warnings, status);
done:
    canvas_destroy(r.canvas);
    sl_lab_destroy(lab);
    words_locale_end(locale);
    return code;
}
