// SPDX-License-Identifier: GPL-3.0-or-later
/* The retention index on the scale of its levels. The levels are equally wide, so that what is
 * near a limit is seen to be near it; those that count as holding have the colour of the zone at
 * the origin. */
#include <math.h>
#include <stdio.h>

#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/scale.h"
#include "figure/words.h"

/* units: the scale by itself, as the report has it */
#define SCALE_WIDTH 440.0
#define SCALE_SIZE 13.0

/* Parts of the type size. */
static const double TRACK = 1.1, BASELINE = 0.95, BELOW = 1.15;

double scale_height(double size)
{
    return size * (1.3 * BASELINE + TRACK + 1.25 * BELOW);
}

static void draw_level(struct canvas *canvas, const struct sl_pair *pair,
                       const struct scale_box *box, int level)
{
    static const double limits[SL_LEVELS] = {0, 100 * SL_TRACE_LIMIT, 100 * SL_RETAINED_LIMIT,
                                             100 * SL_STRONG_LIMIT};
    double size = box->size, width = box->width / SL_LEVELS, x = box->x + level * width;
    double top = box->y + 1.3 * BASELINE * size, tall = TRACK * size;
    bool own = pair->level == (enum sl_level)level, holds = level >= SL_LEVEL_PARTIAL;
    struct type_style name = own ? type_bold(size, PAINT_TEXT) : type(size, PAINT_MUTED);
    char limit[16];
    canvas_rect(canvas, x, top, width, tall, PAINT_PLOT);
    if (holds)
        canvas_rect(canvas, x, top, width, tall, PAINT_RETAINED);
    canvas_frame(canvas, x, top, width, tall,
                 (struct pen){.paint = PAINT_EDGE, .width = 0.07 * size});
    canvas_text(canvas, name, TEXT_MIDDLE, x + width / 2, box->y + BASELINE * size, width,
                sl_level_name((enum sl_level)level));
    snprintf(limit, sizeof limit, "%.0f", limits[level]);
    canvas_text(canvas, type(0.9 * size, PAINT_MUTED), level ? TEXT_MIDDLE : TEXT_START, x,
                top + tall + BELOW * size, 0, limit);
}

void draw_scale(struct canvas *canvas, const struct sl_pair *pair, const struct scale_box *box)
{
    double size = box->size, top = box->y + 1.3 * BASELINE * size, middle = top + TRACK * size / 2;
    double low = box->x + box->width * words_scale_place(pair->index_interval[0]);
    double high = box->x + box->width * words_scale_place(pair->index_interval[1]);
    double at = box->x + box->width * words_scale_place(pair->index), r = 0.36 * size;
    for (int level = 0; level < SL_LEVELS; level++)
        draw_level(canvas, pair, box, level);
    canvas_text(canvas, type(0.9 * size, PAINT_MUTED), TEXT_END, box->x + box->width,
                top + TRACK * size + BELOW * size, 0, "100");
    canvas_line(canvas, low, middle, high, middle,
                (struct pen){.paint = PAINT_OUTLINE, .width = 0.2 * size});
    for (int end = 0; end < 2; end++)
        canvas_line(canvas, end ? high : low, middle - r, end ? high : low, middle + r,
                    (struct pen){.paint = PAINT_OUTLINE, .width = 0.1 * size});
    canvas_circle(canvas, at, middle, r, PAINT_TEXT);
}

sl_code figure_draw_scale(const struct sl_pair *pair, const struct figure_target *target,
                          struct figure_bytes *ret, struct sl_warnings *warnings,
                          struct sl_status *status)
{
    char words[WORDS_BYTES];
    struct canvas *canvas = NULL;
    struct words_locale locale = words_locale_begin();
    double margin = 0.3 * SCALE_SIZE, height = scale_height(SCALE_SIZE) + margin;
    words_level(pair, words, sizeof words);
    struct canvas_setup setup = {.format = target->format,
                                 .width = SCALE_WIDTH + 2 * margin,
                                 .height = height,
                                 .px_per_unit = 1,
                                 .title = "Retention index on its scale",
                                 .description = words,
                                 .date = "",
                                 .id_prefix = target->id_prefix};
    sl_code code = canvas_create(&setup, &canvas, status);
    if (code == SL_OK) {
        canvas_rect(canvas, 0, 0, setup.width, height, PAINT_GROUND);
        draw_scale(canvas, pair, &(struct scale_box){margin, margin, SCALE_WIDTH, SCALE_SIZE});
        code = canvas_finish(canvas, &ret->bytes, &ret->count, warnings, status);
    }
    canvas_destroy(canvas);
    words_locale_end(locale);
    return code;
}
