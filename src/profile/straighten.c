// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. In windows along the strip each lane is shifted until it agrees best with the mean of all
 *    lanes (normalised cross-correlation). Windows without a clear structure, and lanes that agree
 *    badly at every shift, have no say.
 * 2. The shifts' mean across is taken off, so that bands stay where they are on average. They are
 *    kept only where the mean's squared slopes grow by SHARPER; elsewhere the shift is none.
 * 3. The shifts are smoothed along the strip and all lanes are shifted by that field. */
#include "profile/lanes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { WINDOWS = 25, SAMPLES = 81, SHIFTS = 51, ROUNDS = 2 };
enum { TOGETHER = 4, SHIFTS_ROOM = (SHIFTS + TOGETHER - 1) / TOGETHER * TOGETHER };
#define WINDOW_HALF 0.06 /* of the length: wide enough for a band with its flanks */
#define SHIFT_MAX 0.05   /* of the length */
#define AGREEMENT 0.8    /* least correlation */
#define STRUCTURE 0.05   /* least standard deviation of the mean's amount in a window */
#define SHARPER 1.15     /* squared slopes after over before */
#define R_MIN 0.01

struct field {
    double shift[WINDOWS][SL_LANES_MAX]; /* fractions of the length */
    double weight[WINDOWS];              /* how much structure the window has */
    bool sharper;                        /* some window gains */
};

/* -ln R summed over the channels, each lane after the other, as means over the few rows that one
 * sample of a window stands for. */
struct signal {
    size_t rows;
    int count;
    float *amount; /* count x rows */
};

static double lane_amount(const struct sl_lanes *lanes, size_t row, int lane)
{
    const float *value = lanes->value[sl_lanes_at(lanes, row, lane)];
    double product = 1;
    for (int c = 0; c < 3; c++)
        product *= fmax((double)value[c], R_MIN);
    return -log(product);
}

static bool signal_init(struct signal *s, const struct sl_lanes *lanes)
{
    s->rows = lanes->rows;
    s->count = lanes->count;
    s->amount = calloc(s->rows * (size_t)s->count, sizeof *s->amount);
    double *sum = calloc(s->rows + 1, sizeof *sum);
    bool ok = s->amount != NULL && sum != NULL;
    size_t half = (size_t)(WINDOW_HALF / (SAMPLES - 1) * (double)s->rows + 0.5);
    for (int lane = 0; ok && lane < s->count; lane++) {
        for (size_t row = 0; row < s->rows; row++)
            sum[row + 1] = sum[row] + lane_amount(lanes, row, lane);
        for (size_t row = 0; row < s->rows; row++) {
            size_t from = row > half ? row - half : 0;
            size_t to = row + half + 1 < s->rows ? row + half + 1 : s->rows;
            s->amount[(size_t)lane * s->rows + row] =
                (float)((sum[to] - sum[from]) / (double)(to - from));
        }
    }
    free(sum);
    return ok;
}

static void signal_finish(struct signal *s)
{
    free(s->amount);
}

static size_t row_at(const struct signal *s, double v)
{
    return (size_t)fmin(fmax(v * (double)s->rows, 0), (double)(s->rows - 1));
}

static double sample(const struct signal *s, int lane, double v)
{
    return (double)s->amount[(size_t)lane * s->rows + row_at(s, v)];
}

static double window_v(int window)
{
    return (window + 0.5) / WINDOWS;
}

static double sample_v(int window, int i)
{
    return window_v(window) + WINDOW_HALF * (2.0 * i / (SAMPLES - 1) - 1);
}

/* Takes the mean off; returns the standard deviation. */
static double centre(double values[SAMPLES])
{
    double mean = 0, squares = 0;
    for (int i = 0; i < SAMPLES; i++)
        mean += values[i] / SAMPLES;
    for (int i = 0; i < SAMPLES; i++) {
        values[i] -= mean;
        squares += values[i] * values[i] / SAMPLES;
    }
    return sqrt(squares);
}

/* The rows of a window's samples, shifted by one step after the other: the same for all lanes. */
static void shifted_rows(const struct signal *s, int window, size_t ret[SHIFTS_ROOM][SAMPLES])
{
    for (int k = 0; k < SHIFTS_ROOM; k++) {
        double shift = SHIFT_MAX * (2.0 * k / (SHIFTS - 1) - 1);
        for (int i = 0; i < SAMPLES; i++)
            ret[k][i] = row_at(s, sample_v(window, i) + shift);
    }
}

/* The agreement of a lane's samples, their mean taken off, with `mean`, at TOGETHER shifts at a
 * time: sums that do not wait for each other. */
static void agreements(const float *amount, size_t rows[TOGETHER][SAMPLES],
                       const double mean[SAMPLES], double mean_deviation, double ret[TOGETHER])
{
    double values[SAMPLES][TOGETHER], own[TOGETHER] = {0}, squares[TOGETHER] = {0},
                                      dot[TOGETHER] = {0};
    for (int i = 0; i < SAMPLES; i++)
        for (int k = 0; k < TOGETHER; k++) {
            values[i][k] = (double)amount[rows[k][i]];
            own[k] += values[i][k] / SAMPLES;
        }
    for (int i = 0; i < SAMPLES; i++)
        for (int k = 0; k < TOGETHER; k++) {
            double value = values[i][k] - own[k];
            squares[k] += value * value / SAMPLES;
            dot[k] += value * mean[i] / SAMPLES;
        }
    for (int k = 0; k < TOGETHER; k++) {
        double deviation = sqrt(squares[k]);
        ret[k] = deviation > 0 ? dot[k] / (deviation * mean_deviation) : 0;
    }
}

/* The shift at which a lane agrees best with `mean`; false where it agrees badly or only at the
 * end of the range. */
static bool best_shift(const struct signal *s, size_t rows[SHIFTS_ROOM][SAMPLES], int lane,
                       const double mean[SAMPLES], double mean_deviation, double *ret)
{
    const float *amount = s->amount + (size_t)lane * s->rows;
    double agreement[SHIFTS_ROOM];
    int best = 0;
    for (int k = 0; k < SHIFTS; k += TOGETHER)
        agreements(amount, rows + k, mean, mean_deviation, agreement + k);
    for (int k = 1; k < SHIFTS; k++)
        if (agreement[k] > agreement[best])
            best = k;
    if (agreement[best] < AGREEMENT || best == 0 || best == SHIFTS - 1)
        return false;
    /* the top of the parabola through the three highest */
    double a = agreement[best - 1], b = agreement[best], c = agreement[best + 1];
    double part = a - 2 * b + c < 0 ? 0.5 * (a - c) / (a - 2 * b + c) : 0;
    *ret = SHIFT_MAX * (2.0 * (best + part) / (SHIFTS - 1) - 1);
    return true;
}

/* Shifts of the lanes that have one stand in for neighbours that have none. */
static void fill_lanes(double shift[SL_LANES_MAX], const bool known[SL_LANES_MAX], int count)
{
    double copy[SL_LANES_MAX], mean = 0;
    for (int lane = 0; lane < count; lane++) {
        double sum = 0, n = 0;
        for (int k = lane - 1; k <= lane + 1; k++) {
            if (k < 0 || k >= count || !known[k])
                continue;
            double weight = k == lane ? 2 : 1;
            sum += weight * shift[k];
            n += weight;
        }
        copy[lane] = n > 0 ? sum / n : 0;
        mean += copy[lane] / count;
    }
    for (int lane = 0; lane < count; lane++)
        shift[lane] = copy[lane] - mean;
}

/* Mean of the lanes in a window, each shifted by its own. */
static void aligned_mean(const struct signal *s, int window, const double shift[SL_LANES_MAX],
                         double ret[SAMPLES])
{
    for (int i = 0; i < SAMPLES; i++) {
        ret[i] = 0;
        for (int lane = 0; lane < s->count; lane++)
            ret[i] += sample(s, lane, sample_v(window, i) + shift[lane]) / s->count;
    }
}

static double squared_slopes(const double values[SAMPLES])
{
    double sum = 0;
    for (int i = 0; i + 1 < SAMPLES; i++)
        sum += (values[i + 1] - values[i]) * (values[i + 1] - values[i]);
    return sum;
}

/* Two rounds: the mean of lanes that are aligned already is what a lane looks like. Where nothing
 * is gained the window votes for no shift. */
static void measure_window(const struct signal *s, int window, struct field *field)
{
    double mean[SAMPLES], shift[SL_LANES_MAX] = {0}, before, deviation;
    aligned_mean(s, window, shift, mean);
    before = squared_slopes(mean);
    deviation = centre(mean);
    if (deviation < STRUCTURE)
        return;
    field->weight[window] = deviation * deviation;
    size_t rows[SHIFTS_ROOM][SAMPLES];
    shifted_rows(s, window, rows);
    for (int round = 0; round < ROUNDS; round++) {
        bool known[SL_LANES_MAX] = {false};
        int count = 0;
        for (int lane = 0; lane < s->count; lane++) {
            known[lane] = best_shift(s, rows, lane, mean, deviation, &shift[lane]);
            count += known[lane];
        }
        if (3 * count < 2 * s->count)
            return;
        fill_lanes(shift, known, s->count);
        aligned_mean(s, window, shift, mean);
        if (round == ROUNDS - 1 && squared_slopes(mean) > SHARPER * before) {
            memcpy(field->shift[window], shift, sizeof shift);
            field->sharper = true;
        }
        deviation = centre(mean);
    }
}

/* Windows without structure take the nearest ones' shifts; all are smoothed by their weights. */
static void smooth_along(struct field *field, int lanes)
{
    struct field old = *field;
    for (int window = 0; window < WINDOWS; window++)
        for (int lane = 0; lane < lanes; lane++) {
            double sum = 0, n = 0;
            for (int k = 0; k < WINDOWS; k++) {
                double away = window_v(k) - window_v(window);
                double weight = old.weight[k] * exp(-fabs(away) / (WINDOW_HALF / 2));
                sum += weight * old.shift[k][lane];
                n += weight;
            }
            field->shift[window][lane] = n > 0 ? sum / n : 0;
        }
}

static double shift_at(const struct field *field, double v, int lane)
{
    double where = fmin(fmax(v * WINDOWS - 0.5, 0), WINDOWS - 1);
    int i = where >= WINDOWS - 1 ? WINDOWS - 2 : (int)where;
    double part = where - i;
    return field->shift[i][lane] + part * (field->shift[i + 1][lane] - field->shift[i][lane]);
}

static void shift_lane(const struct sl_lanes *from, const struct field *field, int lane,
                       struct sl_lanes *to)
{
    for (size_t row = 0; row < from->rows; row++) {
        double v = ((double)row + 0.5) / (double)from->rows;
        double where = (double)row + shift_at(field, v, lane) * (double)from->rows;
        where = fmin(fmax(where, 0), (double)(from->rows - 1));
        size_t i = (size_t)where, next = i + 1 < from->rows ? i + 1 : i;
        double part = where - (double)i;
        size_t a = sl_lanes_at(from, i, lane), b = sl_lanes_at(from, next, lane),
               at = sl_lanes_at(to, row, lane);
        to->seen[at] = from->seen[part < 0.5 ? a : b];
        for (int c = 0; c < 3; c++)
            to->value[at][c] =
                (float)((1 - part) * (double)from->value[a][c] + part * (double)from->value[b][c]);
    }
}

static double weighted_rms(const struct field *field, const struct field *smooth, int lanes)
{
    double sum = 0, n = 0;
    for (int window = 0; window < WINDOWS; window++)
        for (int lane = 0; lane < lanes; lane++) {
            double shift = smooth->shift[window][lane];
            sum += field->weight[window] * shift * shift;
            n += field->weight[window];
        }
    return n > 0 ? sqrt(sum / n) : 0;
}

bool sl_lanes_straighten(struct sl_lanes *lanes, double *ret_rms)
{
    *ret_rms = 0;
    size_t cells = lanes->rows * (size_t)lanes->count;
    struct sl_lanes shifted = {.rows = lanes->rows, .count = lanes->count};
    struct signal s = {0};
    struct field field = {0};
    shifted.value = calloc(cells, sizeof *shifted.value);
    shifted.seen = calloc(cells, sizeof *shifted.seen);
    bool ok = shifted.value != NULL && shifted.seen != NULL && signal_init(&s, lanes);
    if (!ok)
        goto done;
    for (int window = 0; window < WINDOWS; window++)
        measure_window(&s, window, &field);
    if (!field.sharper)
        goto done;
    struct field smooth = field;
    smooth_along(&smooth, lanes->count);
    for (int lane = 0; lane < lanes->count; lane++)
        shift_lane(lanes, &smooth, lane, &shifted);
    struct sl_lanes kept = *lanes;
    *lanes = shifted;
    shifted = kept;
    *ret_rms = weighted_rms(&field, &smooth, lanes->count);
done:
    signal_finish(&s);
    sl_lanes_finish(&shifted);
    return ok;
}
