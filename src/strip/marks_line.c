// SPDX-License-Identifier: GPL-3.0-or-later
/* Finding: for lines of several widths and slants, each lane tells by how much its amount stands
 * out over both sides; the third-weakest lane in ten speaks for all, so that writing, ticks, wavy
 * edges and stains, which fill only part of the width, have no voice.
 * Refining: in each lane the part above half height gives a middle; a straight line through the
 * middles, those far off it counting less (Huber's weights), gives the line at mid-width. */
#include "strip/marks_line.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "strip/marks_sums.h"

#define REACH_MIN 0.011 /* of the length: a line of 0.7 mm on 100 mm with the blur around it */
#define REACH_FACTOR 1.45
#define SLANT_MAX                                                                                  \
    0.024 /* of the length: 5 degrees on a strip that is 3.6 times as long as wide                 \
           */
#define HUBER 1.5
#define FOOT_LEVEL 0.33
#define FOOT_MAX 0.06 /* of the length */
#define STEP 0.002    /* of the length, from one position to the next */
#define APART 0.015   /* of the length; nearer ones are one line */
enum { REACHES = 4, SLANTS = 9, FIT_ROUNDS = 10 };

static double contrast(const struct sl_sums *s, double v, double slant, double reach)
{
    double lanes[SL_VIEW_LANES], step = reach * s->rows, half = step / 5;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double row = (v + slant * (sl_view_u(lane) - 0.5)) * s->rows - 0.5;
        double middle = sl_sums_about(s, lane, row, half);
        double below = sl_sums_about(s, lane, row - step, half);
        double above = sl_sums_about(s, lane, row + step, half);
        lanes[lane] = middle - fmax(below, above);
    }
    return sl_lanes_quantile(lanes, SL_SPEAKING_PART);
}

static struct sl_line likest_at(const struct sl_sums *s, double v)
{
    struct sl_line best = {.v = v};
    double reach = REACH_MIN;
    for (int k = 0; k < REACHES; k++, reach *= REACH_FACTOR) {
        if (v < reach || v > 1 - reach)
            continue;
        for (int i = 0; i < SLANTS; i++) {
            double slant = SLANT_MAX * (2.0 * i / (SLANTS - 1) - 1);
            double value = contrast(s, v, slant, reach), like = value * REACH_MIN / reach;
            if (like > best.likeness)
                best = (struct sl_line){
                    .v = v, .slant = slant, .reach = reach, .contrast = value, .likeness = like};
        }
    }
    return best;
}

/* Keeps the likest where two are nearer to each other than a line is wide. */
static int keep(struct sl_line lines[SL_LINES_MAX], int count, struct sl_line line)
{
    if (count > 0 && line.v - lines[count - 1].v < APART) {
        if (line.likeness > lines[count - 1].likeness)
            lines[count - 1] = line;
        return count;
    }
    if (count < SL_LINES_MAX) {
        lines[count] = line;
        return count + 1;
    }
    int weakest = 0;
    for (int i = 1; i < count; i++)
        if (lines[i].likeness < lines[weakest].likeness)
            weakest = i;
    if (line.likeness <= lines[weakest].likeness)
        return count;
    memmove(lines + weakest, lines + weakest + 1, (size_t)(count - 1 - weakest) * sizeof *lines);
    lines[count - 1] = line;
    return count;
}

int sl_lines_find(const struct sl_view *view, double from, double to,
                  struct sl_line ret[SL_LINES_MAX])
{
    struct sl_sums s;
    if (!sl_sums_init(&s, view))
        return -1;
    int count = 0;
    struct sl_line before = {0}, now = {0};
    for (double v = from; v <= to; v += STEP) {
        struct sl_line next = likest_at(&s, v);
        if (now.likeness > before.likeness && now.likeness >= next.likeness)
            count = keep(ret, count, now);
        before = now;
        now = next;
    }
    sl_sums_finish(&s);
    return count;
}

/* Middle and width of what stands above half height near `row`; false where nothing does. */
static bool lane_middle(const struct sl_view *view, int lane, double row, double reach_rows,
                        double *ret_middle, double *ret_width, double *ret_height)
{
    int centre = (int)lround(row), reach = (int)ceil(reach_rows);
    int from = centre - reach < 0 ? 0 : centre - reach;
    int to = centre + reach >= view->rows ? view->rows - 1 : centre + reach;
    double peak = -INFINITY, low = INFINITY, high = INFINITY;
    int top = centre;
    for (int i = from; i <= to; i++) {
        double a = (double)view->amount[i][lane];
        if (a > peak)
            peak = a, top = i;
    }
    for (int i = from; i <= top; i++)
        low = fmin(low, (double)view->amount[i][lane]);
    for (int i = top; i <= to; i++)
        high = fmin(high, (double)view->amount[i][lane]);
    double base = fmax(low, high), half = (peak + base) / 2, sum = 0, moment = 0;
    int first = top, last = top;
    while (first > from && (double)view->amount[first - 1][lane] > half)
        first--;
    while (last < to && (double)view->amount[last + 1][lane] > half)
        last++;
    for (int i = first; i <= last; i++) {
        double above = (double)view->amount[i][lane] - half;
        sum += above;
        moment += above * i;
    }
    if (!(sum > 0))
        return false;
    *ret_middle = moment / sum;
    *ret_width = last - first + 1;
    *ret_height = peak - base;
    return true;
}

struct fit {
    double a, b, rms;
};

/* y = a + b x through the points, those off it by more than HUBER standard deviations counting
 * less. */
static struct fit fit_line(const double *x, const double *y, const double *weight, int count)
{
    struct fit f = {0, 0, 0};
    double scale = INFINITY;
    for (int round = 0; round < FIT_ROUNDS; round++) {
        double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, residuals[SL_VIEW_LANES];
        for (int i = 0; i < count; i++) {
            double r = fabs(y[i] - f.a - f.b * x[i]);
            double w = weight[i] * (r > HUBER * scale ? HUBER * scale / r : 1);
            n += w, sx += w * x[i], sy += w * y[i], sxx += w * x[i] * x[i], sxy += w * x[i] * y[i];
        }
        double det = n * sxx - sx * sx;
        f.b = det > 1e-12 * n * n ? (n * sxy - sx * sy) / det : 0;
        f.a = (sy - f.b * sx) / n;
        for (int i = 0; i < count; i++)
            residuals[i] = fabs(y[i] - f.a - f.b * x[i]);
        gsl_sort(residuals, 1, (size_t)count);
        scale = fmax(1.4826 * residuals[count / 2], 1e-3);
    }
    f.rms = scale;
    return f;
}

static double along_line(const struct sl_view *view, const struct sl_line *line, int offset)
{
    double sum = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double v = line->v + line->slant * (sl_view_u(lane) - 0.5);
        int row = sl_view_row(view, v) + offset;
        row = row < 0 ? 0 : row >= view->rows ? view->rows - 1 : row;
        sum += (double)view->amount[row][lane];
    }
    return sum / SL_VIEW_LANES;
}

/* How far the foot reaches, from the middle to where a third of the height is left. */
static double foot(const struct sl_view *view, const struct sl_line *line, int way, double height)
{
    int most = (int)(FOOT_MAX * view->rows), reach = 1;
    while (reach < most && along_line(view, line, way * reach) > FOOT_LEVEL * height)
        reach++;
    return (double)reach;
}

static void measure_skew(const struct sl_view *view, struct sl_line *line)
{
    double height = along_line(view, line, 0);
    double above = foot(view, line, 1, height), below = foot(view, line, -1, height);
    line->skew = (above - below) / (above + below);
}

static void add_colour(const struct sl_view *view, double v, int half, double weight, int lane,
                       double colour[3])
{
    int middle = sl_view_row(view, v);
    for (int k = -half; k <= half; k++) {
        int row = middle + k < 0 ? 0 : middle + k >= view->rows ? view->rows - 1 : middle + k;
        for (int c = 0; c < 3; c++)
            colour[c] += weight / (2 * half + 1) * (double)view->colour[row][lane][c];
    }
}

static void measure_colour(const struct sl_view *view, struct sl_line *line)
{
    int half = (int)(line->width * view->rows / 4);
    for (int c = 0; c < 3; c++)
        line->colour[c] = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double v = line->v + line->slant * (sl_view_u(lane) - 0.5);
        add_colour(view, v, half, 1.0 / SL_VIEW_LANES, lane, line->colour);
        add_colour(view, v - line->reach, half, -0.5 / SL_VIEW_LANES, lane, line->colour);
        add_colour(view, v + line->reach, half, -0.5 / SL_VIEW_LANES, lane, line->colour);
    }
}

void sl_line_refine(const struct sl_view *view, struct sl_line *line)
{
    double x[SL_VIEW_LANES], y[SL_VIEW_LANES], weight[SL_VIEW_LANES], widths[SL_VIEW_LANES];
    int count = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double u = sl_view_u(lane) - 0.5, row = (line->v + line->slant * u) * view->rows - 0.5;
        double middle, width, height;
        if (!lane_middle(view, lane, row, line->reach * view->rows, &middle, &width, &height))
            continue;
        if (height < 0.3 * line->contrast)
            continue;
        x[count] = u, y[count] = middle, widths[count] = width;
        weight[count++] = fmin(height / line->contrast, 1);
    }
    line->width = line->wander = line->reach;
    line->sigma = line->reach / 2;
    if (count < SL_VIEW_LANES / 4)
        return;
    struct fit f = fit_line(x, y, weight, count);
    gsl_sort(widths, 1, (size_t)count);
    line->v = (f.a + 0.5) / view->rows;
    line->slant = f.b / view->rows;
    line->width = widths[count / 2] / view->rows;
    line->wander = f.rms / view->rows;
    /* neighbouring lanes wander together, about three at a time */
    line->sigma = hypot(f.rms / sqrt(count / 3.0), 0.5) / view->rows;
    measure_skew(view, line);
    measure_colour(view, line);
}
