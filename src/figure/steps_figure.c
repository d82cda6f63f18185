// SPDX-License-Identifier: GPL-3.0-or-later
/* How a strip was read, a panel a step, so that whoever doubts a number sees where it came from. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/words.h"

/* units */
#define USUAL_WIDTH 1120.0
#define USUAL_HEIGHT 640.0
#define MARGIN 22.0
#define TOP 104.0
#define BOTTOM 66.0
#define GAP 22.0
#define FOUND_WIDTH 236.0
#define SHEET_WIDTH_MIN 78.0 /* room for the step's name */
#define SHEET_WIDTH_MAX 92.0
#define NAMES_WIDTH 52.0

enum { PHOTO_SIDE_PX = 1200, STEPS = 6 };

/* Red, green and blue light; told apart by dashes as well. */
static const double dashes[3][2] = {{0}, {6, 3}, {1.5, 2.5}}; /* red's line is whole */
static const struct paint channel_paint[3] = {
    {{176, 32, 38}, 1}, {{0, 104, 72}, 1}, {{38, 70, 168}, 1}};
static const char *const channel_name[3] = {"red", "green", "blue"};

struct steps {
    struct canvas *canvas;
    const struct sl_strip *strip;
    const struct sl_picture *photo, *raw;
    double photo_scale; /* px of the photo a px of its picture */
    struct axis along;  /* position on the strip, upwards */
    double panel_x[STEPS], panel_width[STEPS];
};

/* A curve over the strip, one value a sample of the profile. */
struct curve {
    const double *value; /* every `stride`th */
    size_t stride;
    struct pen pen;
};

static struct pen channel_pen(int channel)
{
    struct pen pen = {.paint = channel_paint[channel], .width = 1.4};
    if (channel > 0) {
        pen.dash = dashes[channel];
        pen.dash_count = 2;
    }
    return pen;
}

static void draw_title(const struct steps *s, int step, const char *name, const char *more)
{
    char text[64];
    double x = s->panel_x[step];
    snprintf(text, sizeof text, "%d  %s", step + 1, name);
    canvas_text(s->canvas, type_bold(14, PAINT_TEXT), TEXT_START, x, TOP - 28, 0, text);
    canvas_text(s->canvas, type(11.5, PAINT_MUTED), TEXT_START, x, TOP - 11,
                s->panel_width[step] + GAP - 4, more);
}

/* Step 1: the part of the photo around the strip, as it lies. */

struct view {
    struct sl_rect part; /* of the photo's picture */
    double x, y, scale;  /* where its corner stands, units a px */
};

static struct sl_point in_view(const struct steps *s, const struct view *view,
                               struct sl_point photo_px)
{
    double x = (photo_px.x + 0.5) / s->photo_scale - view->part.x;
    double y = (photo_px.y + 0.5) / s->photo_scale - view->part.y;
    return (struct sl_point){view->x + x * view->scale, view->y + y * view->scale};
}

static int within(double value, int high)
{
    return (int)fmin(fmax(value, 0), high);
}

static struct view view_of(const struct steps *s, double width, double height)
{
    const struct sl_point *corner = s->strip->outline.corner_px;
    double low[2] = {corner[0].x, corner[0].y}, high[2] = {corner[0].x, corner[0].y};
    for (int i = 1; i < 4; i++) {
        low[0] = fmin(low[0], corner[i].x);
        high[0] = fmax(high[0], corner[i].x);
        low[1] = fmin(low[1], corner[i].y);
        high[1] = fmax(high[1], corner[i].y);
    }
    double around = 0.12 * fmax(high[0] - low[0], high[1] - low[1]), scale = s->photo_scale;
    struct view view = {.x = s->panel_x[0], .y = TOP};
    view.part.x = within((low[0] - around) / scale, s->photo->width - 2);
    view.part.y = within((low[1] - around) / scale, s->photo->height - 2);
    view.part.width = within((high[0] + around) / scale, s->photo->width) - view.part.x;
    view.part.height = within((high[1] + around) / scale, s->photo->height) - view.part.y;
    view.part.width = view.part.width < 2 ? 2 : view.part.width;
    view.part.height = view.part.height < 2 ? 2 : view.part.height;
    view.scale = fmin(width / view.part.width, height / view.part.height);
    return view;
}

/* A dark line within a light one can be seen on any table. */
static void draw_seen(const struct steps *s, const struct sl_point *point, size_t count)
{
    struct pen under = {.paint = {{255, 255, 255}, 0.9}, .width = 3};
    struct pen over = {.paint = {{20, 20, 20}, 1}, .width = 1.1};
    canvas_polyline(s->canvas, point, count, under);
    canvas_polyline(s->canvas, point, count, over);
}

/* A point of the strip's edge in the photo. */
static struct sl_point on_edge(const struct sl_point edge_px[SL_EDGE_POINTS], double position)
{
    double at = fmin(fmax(position, 0), 1) * (SL_EDGE_POINTS - 1);
    int below = at >= SL_EDGE_POINTS - 1 ? SL_EDGE_POINTS - 2 : (int)at;
    double part = at - below;
    const struct sl_point *a = edge_px + below;
    return (struct sl_point){a[0].x + part * (a[1].x - a[0].x), a[0].y + part * (a[1].y - a[0].y)};
}

static void draw_found_mark(const struct steps *s, const struct view *view, double position)
{
    const struct sl_outline *outline = &s->strip->outline;
    if (!isfinite(position))
        return;
    struct sl_point line[2] = {in_view(s, view, on_edge(outline->left_px, position)),
                               in_view(s, view, on_edge(outline->right_px, position))};
    draw_seen(s, line, 2);
}

static void draw_found(const struct steps *s)
{
    const struct sl_outline *outline = &s->strip->outline;
    struct view view = view_of(s, s->panel_width[0], s->along.start - TOP);
    struct sl_point line[2 * SL_EDGE_POINTS + 1];
    size_t n = 0;
    draw_title(s, 0, "Found", "the strip's outline in the photo");
    if (!s->photo->rgb)
        return;
    canvas_picture(s->canvas, s->photo, view.part, view.x, view.y, view.part.width * view.scale,
                   view.part.height * view.scale);
    for (size_t i = 0; i < SL_EDGE_POINTS; i++)
        line[n++] = in_view(s, &view, outline->left_px[i]);
    for (size_t i = SL_EDGE_POINTS; i-- > 0;)
        line[n++] = in_view(s, &view, outline->right_px[i]);
    line[n++] = line[0];
    draw_seen(s, line, n);
    if (s->strip->marks.blank || s->strip->marks.origin_outside)
        return;
    draw_found_mark(s, &view, s->strip->marks.origin);
    draw_found_mark(s, &view, s->strip->marks.front);
}

/* Steps 2 and 3: the sheet before and after the light was taken out. */

static void draw_sheet(const struct steps *s, int step, const struct sl_picture *picture)
{
    if (!picture->rgb || picture->width < 2 || picture->height < 2)
        return;
    struct sl_rect all = {.width = picture->width, .height = picture->height};
    double x = s->panel_x[step], width = s->panel_width[step];
    canvas_picture(s->canvas, picture, all, x, TOP, width, s->along.start - TOP);
    canvas_frame(s->canvas, x, TOP, width, s->along.start - TOP,
                 (struct pen){.paint = PAINT_EDGE, .width = 0.7});
}

/* Steps 4 to 6: curves. */

static struct axis value_axis(const struct steps *s, int step, double top)
{
    return (struct axis){0, top, s->panel_x[step], s->panel_x[step] + s->panel_width[step]};
}

static void draw_plot(const struct steps *s, int step, const struct axis *value, const char *title)
{
    struct ticks ticks;
    double x = s->panel_x[step], width = s->panel_width[step], foot = s->along.start;
    canvas_rect(s->canvas, x, TOP, width, foot - TOP, PAINT_PLOT);
    ticks_make(value->from, value->to, 3, &ticks);
    for (size_t i = 0; i < ticks.count; i++) {
        char number[32];
        double at = axis_at(value, ticks.value[i]);
        tick_text(&ticks, i, number, sizeof number);
        canvas_line(s->canvas, at, TOP, at, foot, (struct pen){.paint = PAINT_GRID, .width = 0.8});
        canvas_text(s->canvas, type(11.5, PAINT_MUTED), TEXT_MIDDLE, at, foot + 16, 0, number);
    }
    canvas_text(s->canvas, type(11.5, PAINT_MUTED), TEXT_START, x, foot + 34, width, title);
}

static bool hidden(const struct sl_profile *profile, size_t i)
{
    return profile->flags && (profile->flags[i] & SL_CELL_HIDDEN);
}

static void draw_curve(const struct steps *s, const struct axis *value, const struct curve *curve)
{
    const struct sl_profile *profile = &s->strip->profile;
    struct sl_point *point = malloc(profile->count * sizeof *point);
    if (!point)
        return; /* a picture without a curve is better than none */
    for (size_t i = 0; i < profile->count; i++) {
        double v = hidden(profile, i) ? NAN : curve->value[i * curve->stride];
        point[i].x = axis_within(value, v);
        point[i].y = axis_at(&s->along, profile->position[i]);
    }
    canvas_polyline(s->canvas, point, profile->count, curve->pen);
    free(point);
}

static double highest(const double *value, size_t count, size_t stride)
{
    double top = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(value[i * stride]))
            top = fmax(top, value[i * stride]);
    return top;
}

static void draw_channels(const struct steps *s, const struct axis *value, double (*rows)[3])
{
    for (int c = 0; c < 3; c++)
        draw_curve(s, value, &(struct curve){&rows[0][c], 3, channel_pen(c)});
}

static void draw_legend(const struct steps *s, int step)
{
    double x = s->panel_x[step] + 6, y = s->along.start + 51;
    for (int c = 0; c < 3; c++) {
        canvas_line(s->canvas, x, y - 4, x + 18, y - 4, channel_pen(c));
        x += 22 + canvas_text(s->canvas, type(11.5, PAINT_MUTED), TEXT_START, x + 22, y, 0,
                              channel_name[c]);
        x += 10;
    }
}

static void draw_reflectance(const struct steps *s)
{
    const struct sl_profile *profile = &s->strip->profile;
    struct axis value = value_axis(s, 3, 1.08);
    draw_title(s, 3, "Reflectance", "clean paper is 1");
    draw_plot(s, 3, &value, "R, mean across the strip");
    draw_channels(s, &value, profile->reflectance);
    draw_legend(s, 3);
}

static void draw_load(const struct steps *s)
{
    const struct sl_profile *profile = &s->strip->profile;
    double top = 0;
    for (int c = 0; c < 3; c++)
        top = fmax(top, highest(&profile->load[0][c], profile->count, 3));
    struct axis value = value_axis(s, 4, load_axis_top(top));
    draw_title(s, 4, "Load", "amount of dye, by colour");
    draw_plot(s, 4, &value, "K/S less clean paper's");
    draw_channels(s, &value, profile->load);
}

static void draw_band_names(const struct steps *s)
{
    const struct sl_bands *bands = &s->strip->bands;
    const struct sl_marks *marks = &s->strip->marks;
    double y[SL_BANDS_MAX], height[SL_BANDS_MAX];
    const struct sl_band *band[SL_BANDS_MAX];
    double x = s->panel_x[5] + s->panel_width[5];
    size_t n = 0;
    for (size_t i = bands->count; i-- > 0;) {
        double at = marks->origin + bands->item[i].rf * (marks->front - marks->origin);
        if (!isfinite(at))
            continue;
        band[n] = &bands->item[i];
        y[n] = axis_within(&s->along, at);
        height[n++] = 15;
    }
    spread_labels(y, height, n, TOP + 6, s->along.start - 4);
    for (size_t i = 0; i < n; i++) {
        double at = marks->origin + band[i]->rf * (marks->front - marks->origin);
        char text[32];
        double rf = fabs(band[i]->rf) < 0.005 ? 0 : band[i]->rf; /* no -0.00 */
        snprintf(text, sizeof text, "Rf %s%.2f", rf < 0 ? "−" : "", fabs(rf));
        canvas_line(s->canvas, x, axis_within(&s->along, at), x + 8, y[i],
                    (struct pen){.paint = PAINT_EDGE, .width = 0.8});
        canvas_text(s->canvas, type(12, PAINT_TEXT), TEXT_START, x + 10, y[i] + 4, 0, text);
    }
}

static void draw_bands(const struct steps *s)
{
    static const double fit_dashes[] = {4, 2.5};
    const struct sl_bands *bands = &s->strip->bands;
    const struct sl_profile *profile = &s->strip->profile;
    bool by_rf = !s->strip->marks.origin_outside;
    draw_title(s, 5, "Bands", bands->fitted ? "dashed: the fit" : "");
    if (!bands->smooth || bands->smooth_count != profile->count) {
        draw_plot(s, 5, &(struct axis){0, 1, s->panel_x[5], s->panel_x[5] + s->panel_width[5]}, "");
        return;
    }
    struct axis value =
        value_axis(s, 5, load_axis_top(highest(bands->smooth, bands->smooth_count, 1)));
    draw_plot(s, 5, &value, "load, colours summed");
    draw_curve(s, &value,
               &(struct curve){bands->smooth, 1, {.paint = PAINT_OUTLINE, .width = 1.3}});
    if (bands->fitted)
        draw_curve(
            s, &value,
            &(struct curve){
                bands->fitted,
                1,
                {.paint = {{190, 90, 0}, 1}, .width = 1.3, .dash = fit_dashes, .dash_count = 2}});
    if (by_rf)
        draw_band_names(s);
}

/* Origin and front through the panels that share the axis. */

static void draw_mark(const struct steps *s, double position, const char *name)
{
    static const double mark_dashes[] = {5, 3};
    if (!isfinite(position))
        return;
    double y = axis_within(&s->along, position), x = s->panel_x[1];
    struct pen pen = {.paint = PAINT_OUTLINE, .width = 1, .dash = mark_dashes, .dash_count = 2};
    canvas_line(s->canvas, x - 4, y, s->panel_x[5] + s->panel_width[5], y, pen);
    canvas_text(s->canvas, type(12, PAINT_TEXT), TEXT_END, x - 7, y + 4, 0, name);
}

static void draw_marks(const struct steps *s)
{
    const struct sl_marks *marks = &s->strip->marks;
    if (marks->blank || marks->origin_outside)
        return;
    draw_mark(s, marks->origin, "origin");
    draw_mark(s, marks->front, marks->front_seen == SL_FRONT_NOT_SEEN ? "front?" : "front");
}

static void lay_out(struct steps *s, const struct figure_size *size)
{
    s->along = (struct axis){0, 1, size->height - BOTTOM, TOP};
    double tall = s->along.start - TOP, sheet = SHEET_WIDTH_MIN;
    const struct sl_picture *picture = s->strip->picture.rgb ? &s->strip->picture : s->raw;
    if (picture->rgb && picture->height > 0)
        sheet =
            fmin(fmax(tall * picture->width / picture->height, SHEET_WIDTH_MIN), SHEET_WIDTH_MAX);
    double plots = size->width - 2 * MARGIN - FOUND_WIDTH - 2 * sheet - 2 * NAMES_WIDTH - 5 * GAP;
    double width[STEPS] = {FOUND_WIDTH, sheet, sheet, plots / 3, plots / 3, plots / 3};
    double x = MARGIN;
    for (int i = 0; i < STEPS; i++) {
        s->panel_x[i] = x;
        s->panel_width[i] = width[i];
        x += width[i] + GAP + (i == 0 ? NAMES_WIDTH : 0);
    }
}

static void draw(const struct steps *s, const char *name, const struct figure_size *size)
{
    char title[SL_PHOTO_NAME_MAX + 64];
    canvas_rect(s->canvas, 0, 0, size->width, size->height, PAINT_GROUND);
    snprintf(title, sizeof title, "How it was read: %s", name);
    canvas_text(s->canvas, type_bold(20, PAINT_TEXT), TEXT_START, MARGIN, 38,
                size->width - 2 * MARGIN, title);
    draw_found(s);
    draw_title(s, 1, "Straight", "as photographed");
    draw_sheet(s, 1, s->raw);
    draw_title(s, 2, "Light", "taken out");
    draw_sheet(s, 2, &s->strip->picture);
    if (s->strip->profile.count > 1) {
        draw_reflectance(s);
        draw_load(s);
        draw_bands(s);
    }
    draw_marks(s);
}

/* The photo at about the size that it is shown in. */
static sl_code look(struct sl_photo *photo, struct sl_picture *ret, double *ret_scale,
                    struct sl_status *status)
{
    struct sl_image image = {0};
    sl_code code = sl_photo_look(photo, PHOTO_SIDE_PX, &image, status);
    if (code == SL_OK)
        code = sl_picture_of_image(&image, image.width, image.height, ret, status);
    *ret_scale = image.scale;
    sl_image_finish(&image);
    return code;
}

static sl_code straighten(struct sl_photo *photo, const struct sl_outline *outline,
                          struct sl_picture *ret, struct sl_status *status)
{
    struct sl_sheet sheet = {0};
    sl_code code = sl_sheet_straighten(photo, outline, &sheet, status);
    if (code == SL_OK)
        code = sl_picture_of_sheet(&sheet, outline, ret, status);
    sl_sheet_finish(&sheet);
    return code;
}

sl_code figure_draw_steps(struct sl_photo *photo, const struct sl_reading *reading, size_t index,
                          const struct figure_target *target, struct figure_bytes *ret,
                          struct sl_warnings *warnings, struct sl_status *status)
{
    struct figure_size size;
    struct sl_picture small = {0}, raw = {0};
    struct steps s = {.strip = &reading->strip[index], .photo = &small, .raw = &raw};
    char name[SL_PHOTO_NAME_MAX + 32], title[SL_PHOTO_NAME_MAX + 64];
    struct words_locale locale = words_locale_begin();
    sl_code code = figure_size_make(target->options, USUAL_WIDTH, USUAL_HEIGHT, &size, status);
    if (code == SL_OK)
        code = look(photo, &small, &s.photo_scale, status);
    if (code == SL_OK)
        code = straighten(photo, &s.strip->outline, &raw, status);
    words_strip_name(reading, index, name, sizeof name);
    snprintf(title, sizeof title, "How it was read: %s", name);
    if (code == SL_OK)
        code = canvas_create(
            &(struct canvas_setup){
                .format = target->format,
                .width = size.width,
                .height = size.height,
                .px_per_unit = size.px_per_unit,
                .title = title,
                .description = "Six panels: the strip found in the photo, straightened, with the "
                               "light taken out, its reflectance, its load and its bands.",
                .date = reading->conditions.date,
                .id_prefix = target->id_prefix},
            &s.canvas, status);
    if (code == SL_OK) {
        lay_out(&s, &size);
        draw(&s, name, &size);
        code = canvas_finish(s.canvas, &ret->bytes, &ret->count, warnings, status);
    }
    canvas_destroy(s.canvas);
    free(small.rgb);
    free(raw.rgb);
    words_locale_end(locale);
    return code;
}
