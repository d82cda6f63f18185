// SPDX-License-Identifier: GPL-3.0-or-later
/* Replicates: each number of each strip as a dot with its 95 % interval, and below them their mean
 * with its own. One block for what is retained and one a dye; Rf to the left, share to the right.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/words.h"

#define FIGURE_WIDTH 640.0
#define HEAD 78.0 /* title, what is drawn */
#define MARGIN 24.0
#define LABELS 126.0 /* width of the blocks' names */
#define GAP 36.0     /* between the two plots, and after the second */
#define BLOCK_GAP 12.0
#define AXIS 34.0
#define LEGEND_LINE 13.0
#define ROW_USUAL 11.0 /* of one strip */
#define ROW_LEAST 4.0
#define ROWS_ROOM 80.0 /* of all strips of a block, where the usual height would take more */

struct sheet {
    struct canvas *canvas;
    const struct sl_document *document;
    const struct sl_replicate *set;
    const struct sl_lab *lab;
    struct axis rf, share;
    double row, top, bottom;
};

static const struct sl_bands *bands_of(const struct sheet *s, size_t strip)
{
    struct sl_strip_ref ref = s->set->strip[strip];
    return &s->document->reading[ref.photo]->strip[ref.strip].bands;
}

static double block_height(const struct sl_replicate *set, double row)
{
    return row * ((double)set->strip_count + 1.4);
}

/* One interval with its value: a strip's, or the mean, larger and as a diamond. */
struct mark {
    double value;
    const double *interval;
    bool is_mean, disagrees;
    struct paint paint;
};

static void draw_diamond(struct canvas *canvas, double x, double y, double r, struct paint paint)
{
    const struct sl_point corner[4] = {{x - r, y}, {x, y - r}, {x + r, y}, {x, y + r}};
    canvas_polygon(canvas, corner, 4, paint);
}

/* On the side where there is room. */
static void draw_differs(const struct sheet *s, const struct axis *axis, double y,
                         const double interval[2])
{
    struct type_style style = {.size = 7.5, .bold = true, .paint = PAINT_TEXT};
    double low = axis_within(axis, interval[0]), high = axis_within(axis, interval[1]);
    if (axis->end - high >= low - axis->start)
        canvas_text(s->canvas, style, TEXT_START, high + 6, y + 2.7, 0, "differs");
    else
        canvas_text(s->canvas, style, TEXT_END, low - 6, y + 2.7, 0, "differs");
}

static void draw_mark(const struct sheet *s, const struct axis *axis, double y,
                      const struct mark *mark)
{
    if (!isfinite(mark->value) || !isfinite(mark->interval[0] + mark->interval[1]))
        return;
    double x = axis_at(axis, mark->value), r = fmin(0.34 * s->row, 3.2);
    struct pen pen = {.paint = PAINT_OUTLINE, .width = mark->is_mean ? 2 : 1};
    canvas_line(s->canvas, axis_within(axis, mark->interval[0]), y,
                axis_within(axis, mark->interval[1]), y, pen);
    if (mark->is_mean) {
        draw_diamond(s->canvas, x, y, 1.9 * r, PAINT_OUTLINE);
        draw_diamond(s->canvas, x, y, 1.9 * r - 1.2, mark->paint);
        return;
    }
    canvas_circle(s->canvas, x, y, r + 0.8, PAINT_OUTLINE);
    canvas_circle(s->canvas, x, y, r, mark->paint);
    if (mark->disagrees)
        draw_differs(s, axis, y, mark->interval);
}

/* The value of strip `i`: its dye's Rf or share, or its retained share where `band` is NULL. */
static struct mark strip_mark(const struct sheet *s, const struct sl_replicate_band *band, size_t i,
                              const struct sl_mean *mean, struct paint paint)
{
    const struct sl_bands *bands = bands_of(s, i);
    struct mark mark = {NAN, bands->retained_interval, false, fabs(mean->deviation[i]) > 1, paint};
    if (!band) {
        mark.value = bands->retained_share;
    } else if (band->band[i] != SL_NO_BAND) {
        const struct sl_band *item = &bands->item[band->band[i]];
        bool is_rf = mean == &band->rf;
        mark.value = is_rf ? item->rf : item->share;
        mark.interval = is_rf ? item->rf_interval : item->share_interval;
    }
    return mark;
}

static void draw_numbers(const struct sheet *s, const struct axis *axis, double y,
                         const struct sl_replicate_band *band, const struct sl_mean *mean,
                         struct paint paint)
{
    size_t n = s->set->strip_count;
    for (size_t i = 0; i < n; i++) {
        struct mark mark = strip_mark(s, band, i, mean, paint);
        draw_mark(s, axis, y + s->row * ((double)i + 0.5), &mark);
    }
    struct mark mark = {mean->value, mean->interval, true, false, paint};
    draw_mark(s, axis, y + s->row * ((double)n + 0.8), &mark);
}

static void draw_block_name(const struct sheet *s, double y, const char *name, const char *more)
{
    canvas_text(s->canvas, (struct type_style){.size = 10, .bold = true, .paint = PAINT_TEXT},
                TEXT_START, MARGIN, y + 11, LABELS - 8, name);
    canvas_text(s->canvas, (struct type_style){.size = 8, .paint = PAINT_MUTED}, TEXT_START, MARGIN,
                y + 23, LABELS - 8, more);
    if (s->row < 7)
        return;
    for (size_t i = 0; i < s->set->strip_count; i++) {
        char number[24];
        snprintf(number, sizeof number, "%zu", i + 1);
        canvas_text(s->canvas, (struct type_style){.size = 7, .paint = PAINT_MUTED}, TEXT_END,
                    MARGIN + LABELS - 12, y + s->row * ((double)i + 0.5) + 2.5, 0, number);
    }
    canvas_text(s->canvas, (struct type_style){.size = 7, .bold = true, .paint = PAINT_TEXT},
                TEXT_END, MARGIN + LABELS - 12,
                y + s->row * ((double)s->set->strip_count + 0.8) + 2.5, 0, "mean");
}

static void draw_blocks(const struct sheet *s)
{
    double y = s->top, step = block_height(s->set, s->row) + BLOCK_GAP;
    const struct paint grey = {{150, 150, 150}, 1};
    draw_block_name(s, y, "retained share", "what lay at the line");
    draw_numbers(s, &s->share, y, NULL, &s->set->retained, grey);
    for (size_t k = 0; k < s->set->band_count; k++) {
        const struct sl_replicate_band *band = &s->set->band[k];
        struct paint paint = {.alpha = 1};
        char more[48];
        sl_lab_to_srgb8(s->lab, band->lab_d50, paint.rgb);
        snprintf(more, sizeof more, "on %zu of %zu strips", band->rf.count, s->set->strip_count);
        y += step;
        draw_block_name(s, y, band->hue_name, more);
        draw_numbers(s, &s->rf, y, band, &band->rf, paint);
        draw_numbers(s, &s->share, y, band, &band->share, paint);
    }
}

static void draw_axis(const struct sheet *s, const struct axis *axis, double top, const char *name)
{
    struct ticks ticks;
    canvas_rect(s->canvas, axis->start - 6, top - 5, axis->end - axis->start + 12,
                s->bottom - top + 10, PAINT_PLOT);
    ticks_make(axis->from, axis->to, 4, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        char text[32];
        double x = axis_at(axis, ticks.value[i]);
        tick_text(&ticks, i, text, sizeof text);
        canvas_line(s->canvas, x, top - 5, x, s->bottom + 5,
                    (struct pen){.paint = PAINT_GRID, .width = 0.8});
        canvas_text(s->canvas, (struct type_style){.size = 8.5, .paint = PAINT_MUTED}, TEXT_MIDDLE,
                    x, s->bottom + 15, 0, text);
    }
    canvas_text(s->canvas, (struct type_style){.size = 9.5, .bold = true, .paint = PAINT_TEXT},
                TEXT_MIDDLE, 0.5 * (axis->start + axis->end), s->bottom + 29, 0, name);
}

static void widen(struct axis *axis, const double interval[2])
{
    if (!isfinite(interval[0] + interval[1]))
        return;
    axis->from = fmin(axis->from, interval[0]);
    axis->to = fmax(axis->to, interval[1]);
}

static void make_axes(struct sheet *s)
{
    double width = (FIGURE_WIDTH - 2 * MARGIN - LABELS - 2 * GAP) / 2, x = MARGIN + LABELS;
    s->rf = (struct axis){0, 1, x, x + width};
    s->share = (struct axis){0, 0.05, x + width + GAP, x + 2 * width + GAP};
    for (size_t i = 0; i < s->set->strip_count; i++) {
        const struct sl_bands *bands = bands_of(s, i);
        widen(&s->share, bands->retained_interval);
        for (size_t k = 0; k < bands->count; k++) {
            widen(&s->rf, bands->item[k].rf_interval);
            widen(&s->share, bands->item[k].share_interval);
        }
    }
    widen(&s->share, s->set->retained.interval);
    for (size_t k = 0; k < s->set->band_count; k++) {
        widen(&s->rf, s->set->band[k].rf.interval);
        widen(&s->share, s->set->band[k].share.interval);
    }
    s->rf.from = fmax(s->rf.from, -0.2); /* a front that was not seen would fill the figure */
    s->rf.to = fmin(s->rf.to, 1.3);
}

static void title_of(const struct sl_replicate *set, char *ret, size_t size)
{
    snprintf(ret, size, "%s, %s: %zu strips", set->ink, words_treatment(set->role),
             set->strip_count);
}

static void draw_head(const struct sheet *s, const char *title)
{
    canvas_text(s->canvas, (struct type_style){.size = 19, .bold = true, .paint = PAINT_TEXT},
                TEXT_START, MARGIN, 36, FIGURE_WIDTH - 2 * MARGIN, title);
    canvas_text(s->canvas, (struct type_style){.size = 9.5, .paint = PAINT_MUTED}, TEXT_START,
                MARGIN, 55, FIGURE_WIDTH - 2 * MARGIN,
                "Dots: each strip. Diamonds: their mean. Lines: 95 % intervals.");
}

static void draw_legend(const struct sheet *s)
{
    double y = s->bottom + AXIS + 12;
    for (size_t i = 0; i < s->set->strip_count; i++, y += LEGEND_LINE) {
        struct sl_strip_ref ref = s->set->strip[i];
        char text[SL_PHOTO_NAME_MAX + 48];
        snprintf(text, sizeof text, "%zu: strip %zu of %s", i + 1, ref.strip + 1,
                 words_file(s->document->reading[ref.photo]->photo.file));
        canvas_text(s->canvas, (struct type_style){.size = 8.5, .paint = PAINT_MUTED}, TEXT_START,
                    MARGIN, y, FIGURE_WIDTH - 2 * MARGIN, text);
    }
}

static void draw(struct sheet *s, const struct figure_size *size, const char *title)
{
    double first = block_height(s->set, s->row) + BLOCK_GAP;
    make_axes(s);
    canvas_rect(s->canvas, 0, 0, size->width, size->height, PAINT_GROUND);
    draw_head(s, title);
    if (s->set->band_count)
        draw_axis(s, &s->rf, s->top + first, "Rf");
    draw_axis(s, &s->share, s->top, "share");
    draw_blocks(s);
    draw_legend(s);
}

sl_code figure_draw_replicate(const struct sl_document *document, const struct sl_replicate *set,
                              const struct figure_target *target, struct figure_bytes *ret,
                              struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_size size;
    struct sl_lab *lab = NULL;
    struct canvas *canvas = NULL;
    struct words_locale locale = words_locale_begin();
    char title[SL_NAME_MAX + 64];
    double row = fmax(fmin(ROW_USUAL, ROWS_ROOM / (double)set->strip_count), ROW_LEAST);
    double blocks = (double)set->band_count + 1, each = block_height(set, row) + BLOCK_GAP;
    double bottom = HEAD + blocks * each - BLOCK_GAP;
    double height = bottom + AXIS + LEGEND_LINE * (double)set->strip_count + MARGIN;
    sl_code code = figure_size_make(target->options, FIGURE_WIDTH, height, &size, status);
    if (code == SL_OK)
        code = sl_lab_create(&lab, status);
    if (code != SL_OK)
        goto done;
    title_of(set, title, sizeof title);
    code = canvas_create(
        &(struct canvas_setup){.format = target->format,
                               .width = size.width,
                               .height = size.height,
                               .px_per_unit = size.px_per_unit,
                               .title = title,
                               .description =
                                   "Each strip's retained share and the Rf and share of each "
                                   "dye with its interval, and their means.",
                               .date = "",
                               .id_prefix = target->id_prefix},
        &canvas, status);
    if (code != SL_OK)
        goto done;
    struct sheet sheet = {.canvas = canvas,
                          .document = document,
                          .set = set,
                          .lab = lab,
                          .row = row,
                          .top = HEAD,
                          .bottom = bottom};
    draw(&sheet, &size, title);
    code = canvas_finish(canvas, &ret->bytes, &ret->count, warnings, status);
done:
    canvas_destroy(canvas);
    sl_lab_destroy(lab);
    words_locale_end(locale);
    return code;
}
