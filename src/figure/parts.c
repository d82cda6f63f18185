// SPDX-License-Identifier: GPL-3.0-or-later
#include "figure/parts.h"

#include <math.h>
#include <stdio.h>

#define Z_95 1.959963984540054 /* two-sided 95 % of the normal distribution */

/* A strip of which the water only climbed a third must not shrink the part that matters. */
#define AXIS_FROM_MIN (-0.5)
#define AXIS_TO_MAX 1.6
/* K/S of a tint that the eye barely tells from paper, three channels together */
#define LOAD_TOP_MIN 0.15
/* What is lower than this is noise or too faint to be worth a second scale. */
#define REST_MIN 0.05
#define FACTOR_MIN 5.0

struct type_style type(double size, struct paint paint)
{
    return (struct type_style){.size = size, .paint = paint};
}

struct type_style type_bold(double size, struct paint paint)
{
    return (struct type_style){.size = size, .paint = paint, .bold = true};
}

double axis_at(const struct axis *axis, double value)
{
    return axis->start + (value - axis->from) / (axis->to - axis->from) * (axis->end - axis->start);
}

double axis_from(const struct trace *trace)
{
    return fmin(fmax(trace->lower_at, AXIS_FROM_MIN), 0);
}

double axis_to(const struct trace *trace)
{
    return fmax(fmin(trace->upper_at, AXIS_TO_MAX), 1);
}

double axis_within(const struct axis *axis, double value)
{
    double low = fmin(axis->from, axis->to), high = fmax(axis->from, axis->to);
    return axis_at(axis, isnan(value) ? value : fmin(fmax(value, low), high));
}

void ticks_make(double from, double to, double wanted, struct ticks *ret)
{
    *ret = (struct ticks){0};
    if (!isfinite(from) || !isfinite(to) || to <= from)
        return;
    double raw = (to - from) / wanted, power = pow(10, floor(log10(raw))), step = power;
    if (raw > power * 5)
        step = power * 10;
    else if (raw > power * 2)
        step = power * 5;
    else if (raw > power)
        step = power * 2;
    double digits = -floor(log10(step) + 1e-9);
    ret->decimals = digits > 0 ? (int)fmin(digits, 6) : 0;
    for (double k = ceil(from / step - 1e-9); k * step <= to + step * 1e-9; k++)
        if (ret->count < TICKS_MAX)
            ret->value[ret->count++] = k == 0 ? 0 : k * step; /* no -0 */
}

double load_axis_top(double load_max)
{
    return fmax(load_max * 1.06, LOAD_TOP_MIN);
}

void tick_text(const struct ticks *ticks, size_t index, char *ret, size_t size)
{
    double value = ticks->value[index];
    snprintf(ret, size, "%s%.*f", value < 0 ? "−" : "", ticks->decimals, fabs(value));
}

void spread_labels(double *y, const double *height, size_t count, double top, double bottom)
{
    double all = 0;
    for (size_t i = 0; i + 1 < count; i++)
        all += height[i];
    double squeeze = all > bottom - top ? (bottom - top) / all : 1;
    for (size_t i = 0; i < count; i++)
        y[i] = fmax(y[i], i > 0 ? y[i - 1] + squeeze * height[i - 1] : top);
    for (size_t i = count; i-- > 0;)
        y[i] = fmin(y[i], i + 1 < count ? y[i + 1] - squeeze * height[i] : bottom);
}

/* Sums over the profile's samples that make one drawn sample. */
struct bin {
    double load, se, lab[3];
    size_t loads, labs;
};

static void bin_add(struct bin *bin, const struct sl_profile *profile, size_t i)
{
    double load = 0, common = 0, own = 0, light = 0;
    for (int c = 0; c < 3; c++) {
        load += profile->load[i][c];
        double se = profile->load_se ? profile->load_se[i][c] : 0;
        common += se;
        own += se * se;
        light += profile->light_se ? profile->light_se[i][c] : 0;
    }
    bool hidden = profile->flags && (profile->flags[i] & SL_CELL_HIDDEN);
    if (!hidden && isfinite(load)) {
        /* the channels err together by half, as where bands are measured */
        double se = sqrt((common * common + own) / 2 + light * light);
        bin->load += load;
        bin->se += isfinite(se) ? se : 0;
        bin->loads++;
    }
    const double *lab = profile->lab_d50[i];
    if (!hidden && isfinite(lab[0] + lab[1] + lab[2])) {
        for (int c = 0; c < 3; c++)
            bin->lab[c] += lab[c];
        bin->labs++;
    }
}

static void bin_finish(struct bin *bin, const struct sl_lab *lab, struct trace *ret, size_t k)
{
    double n = (double)bin->loads, m = (double)bin->labs;
    ret->load[k] = n > 0 ? bin->load / n : NAN;
    ret->low[k] = n > 0 ? (bin->load - Z_95 * bin->se) / n : NAN;
    ret->high[k] = n > 0 ? (bin->load + Z_95 * bin->se) / n : NAN;
    double mean[3] = {100, 0, 0}; /* paper white where nothing is known */
    for (int c = 0; c < 3 && m > 0; c++)
        mean[c] = bin->lab[c] / m;
    sl_lab_to_srgb8(lab, mean, ret->rgb[k]);
    if (isfinite(ret->load[k]))
        ret->load_max = fmax(ret->load_max, ret->load[k]);
}

static double place(const struct sl_strip *strip, bool by_rf, double position)
{
    return by_rf ? sl_strip_rf(strip, position) : position;
}

void trace_make(const struct sl_strip *strip, const struct sl_lab *lab, struct trace *ret)
{
    const struct sl_profile *profile = &strip->profile;
    const struct sl_marks *marks = &strip->marks;
    *ret = (struct trace){0};
    ret->by_rf = isfinite(marks->origin) && isfinite(marks->front) && marks->front > marks->origin;
    ret->lower_at = place(strip, ret->by_rf, 0);
    ret->upper_at = place(strip, ret->by_rf, 1);
    size_t n = profile->count;
    size_t bins = n < TRACE_SAMPLES_MAX ? n : TRACE_SAMPLES_MAX;
    for (size_t k = 0; k < bins; k++) {
        size_t from = k * n / bins, to = (k + 1) * n / bins;
        struct bin bin = {0};
        for (size_t i = from; i < to; i++)
            bin_add(&bin, profile, i);
        double middle = (profile->position[from] + profile->position[to - 1]) / 2;
        ret->at[k] = place(strip, ret->by_rf, middle);
        bin_finish(&bin, lab, ret, k);
    }
    ret->count = bins;
}

double trace_load_at(const struct trace *trace, double at)
{
    double best = INFINITY, load = NAN;
    for (size_t k = 0; k < trace->count; k++)
        if (isfinite(trace->load[k]) && fabs(trace->at[k] - at) < best) {
            best = fabs(trace->at[k] - at);
            load = trace->load[k];
        }
    return load;
}

static bool drawable(const struct trace *trace, const struct axis *along, size_t k)
{
    double low = fmin(along->from, along->to), high = fmax(along->from, along->to);
    return isfinite(trace->load[k]) && isfinite(trace->at[k]) && trace->at[k] >= low &&
           trace->at[k] <= high;
}

struct gradient trace_hues(const struct trace *trace, const struct axis *along, bool upright)
{
    double from = axis_at(along, trace->at[0]), to = axis_at(along, trace->at[trace->count - 1]);
    struct gradient gradient = {.rgb = trace->rgb, .count = trace->count};
    if (upright) {
        gradient.y0 = from;
        gradient.y1 = to;
    } else {
        gradient.x0 = from;
        gradient.x1 = to;
    }
    return gradient;
}

/* A stretch of samples that are all known. */
static void draw_stretch(struct canvas *canvas, const struct trace *trace, const struct axis *along,
                         double base_x, double per_load, size_t from, size_t to)
{
    struct sl_point area[TRACE_SAMPLES_MAX + 2], doubt[2 * TRACE_SAMPLES_MAX];
    size_t n = to - from;
    for (size_t i = 0; i < n; i++) {
        size_t k = from + i;
        double y = axis_at(along, trace->at[k]);
        area[i] = (struct sl_point){base_x + fmax(trace->load[k], 0) * per_load, y};
        doubt[i] = (struct sl_point){base_x + fmax(trace->low[k], 0) * per_load, y};
        double high = fmin(fmax(trace->high[k], 0), trace->load_max * 1.04);
        doubt[2 * n - 1 - i] = (struct sl_point){base_x + high * per_load, y};
    }
    area[n] = (struct sl_point){base_x, area[n - 1].y};
    area[n + 1] = (struct sl_point){base_x, area[0].y};
    struct gradient gradient = trace_hues(trace, along, true);
    canvas_gradient(canvas, area, n + 2, &gradient);
    canvas_polygon(canvas, doubt, 2 * n, PAINT_DOUBT);
    canvas_polyline(canvas, area, n, (struct pen){.paint = PAINT_OUTLINE, .width = 0.9});
}

void draw_profile(struct canvas *canvas, const struct trace *trace, const struct axis *along,
                  double base_x, double per_load)
{
    for (size_t k = 0; k < trace->count; k++) {
        size_t end = k;
        while (end < trace->count && drawable(trace, along, end))
            end++;
        if (end - k >= 2)
            draw_stretch(canvas, trace, along, base_x, per_load, k, end);
        k = end;
    }
}

/* Samples of the highest peak: around it, above a tenth of its height. */
static void highest_peak(const struct trace *trace, size_t *ret_from, size_t *ret_to)
{
    size_t top = 0;
    for (size_t k = 0; k < trace->count; k++)
        if (trace->load[k] >= trace->load_max)
            top = k;
    size_t from = top, to = top;
    while (from > 0 && trace->load[from - 1] > 0.1 * trace->load_max)
        from--;
    while (to + 1 < trace->count && trace->load[to + 1] > 0.1 * trace->load_max)
        to++;
    *ret_from = from;
    *ret_to = to;
}

double trace_rest(const struct trace *trace, double load_top)
{
    size_t from, to;
    double rest = 0;
    if (trace->load_max < load_top / FACTOR_MIN)
        return trace->load_max;
    highest_peak(trace, &from, &to);
    for (size_t k = 0; k < trace->count; k++)
        if ((k < from || k > to) && isfinite(trace->load[k]))
            rest = fmax(rest, trace->load[k]);
    return rest;
}

double load_factor(double rest, double load_top)
{
    static const double factors[] = {50, 20, 10, FACTOR_MIN};
    if (rest < REST_MIN)
        return 0;
    for (size_t i = 0; i < sizeof factors / sizeof *factors; i++)
        if (rest * factors[i] <= load_top)
            return factors[i];
    return 0;
}

void draw_enlarged(struct canvas *canvas, const struct trace *trace, const struct axis *along,
                   double base_x, double per_load, double load_top, double factor)
{
    static const double dashes[] = {3, 2};
    struct sl_point point[TRACE_SAMPLES_MAX];
    for (size_t k = 0; k < trace->count; k++) {
        double load = fmax(trace->load[k], 0) * factor;
        bool shown = drawable(trace, along, k) && load <= load_top;
        point[k].x = shown ? base_x + load * per_load : NAN;
        point[k].y = axis_at(along, trace->at[k]);
    }
    canvas_polyline(
        canvas, point, trace->count,
        (struct pen){.paint = PAINT_MUTED, .width = 0.9, .dash = dashes, .dash_count = 2});
}

double strip_column_width(const struct sl_strip *strip, const struct trace *trace,
                          const struct axis *along, double low, double high)
{
    const struct sl_picture *picture = &strip->picture;
    if (!picture->rgb || picture->height < 1)
        return low;
    double length = fabs(axis_at(along, trace->upper_at) - axis_at(along, trace->lower_at));
    return fmin(fmax(length * picture->width / picture->height, low), high);
}

/* The rows of the picture that lie inside the axis, at the strip's whole width: a narrower column
 * shows it narrowed, since a cut through writing looks like a fault. */
static struct sl_rect visible_part(const struct sl_picture *picture, const struct trace *trace,
                                   const struct axis *along, double *ret_top, double *ret_height)
{
    double upper = axis_at(along, trace->upper_at), lower = axis_at(along, trace->lower_at);
    double top = fmax(upper, fmin(along->start, along->end));
    double bottom = fmin(lower, fmax(along->start, along->end));
    double rows_per_unit = picture->height / (lower - upper);
    int first = (int)lround((top - upper) * rows_per_unit);
    int last = (int)lround((bottom - upper) * rows_per_unit);
    struct sl_rect part = {.y = first, .height = last - first, .width = picture->width};
    *ret_top = top;
    *ret_height = bottom - top;
    return part;
}

double origin_zone(const struct sl_strip *strip, const struct trace *trace)
{
    double reach = sl_strip_retained_reach(strip);
    return trace->by_rf ? reach / (strip->marks.front - strip->marks.origin) : reach;
}

void draw_strip_column(struct canvas *canvas, const struct sl_strip *strip,
                       const struct trace *trace, const struct axis *along, double x, double width)
{
    double top, height;
    struct pen edge = {.paint = PAINT_EDGE, .width = 0.7};
    if (!isfinite(trace->lower_at + trace->upper_at) || trace->upper_at <= trace->lower_at)
        return;
    if (strip->picture.rgb && strip->picture.height > 1 && strip->picture.width > 1) {
        struct sl_rect part = visible_part(&strip->picture, trace, along, &top, &height);
        canvas_picture(canvas, &strip->picture, part, x, top, width, height);
    } else {
        top = axis_within(along, trace->upper_at);
        height = axis_within(along, trace->lower_at) - top;
        canvas_rect(canvas, x, top, width, height, (struct paint){{255, 255, 255}, 1});
        if (trace->count >= 2) {
            struct gradient gradient = trace_hues(trace, along, true);
            canvas_gradient_rect(canvas, x, top, width, height, &gradient);
        }
    }
    canvas_frame(canvas, x, top, width, height, edge);
}
