// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. In each lane and channel, by how much a row stands out over the rows a little below and a
 *    little above it.
 * 2. The covariance of that between the channels on clean paper tells what the paper's texture and
 *    the camera do; the linear discriminant (R. A. Fisher, Annals of Eugenics 7 (1936) 179-188) of
 * a water line's brown against it turns three channels into one signal in standard deviations. The
 *    weaker side counts, so steps give nothing.
 * 3. The path from edge to edge with the most signal, steps up and down costing a little, by
 *    dynamic programming (R. Bellman, Dynamic Programming, 1957).
 * 4. The same on the signal's negative tells what texture alone reaches: no paper has lines that
 *    are brighter than itself.
 * 5. A path counts if its colour is a water line's. */
#include "strip/marks_tide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#define MIDDLE_PART 0.0025 /* of the length, on either side of a row */
#define SIDE_PART 0.010    /* of the length, to the rows that it is compared with */
#define STEP_PART 0.0015   /* of the length, between rows that are looked at */
#define SLOPE_PART 0.003   /* of the length from lane to lane: costs SLOPE_COST */
#define SLOPE_COST 0.5
#define SLOPE_MOST 0.008
#define SIGNAL_LOW (-2.0) /* standard deviations: no lane settles it alone */
#define SIGNAL_HIGH 4.0
#define TEXTURE_LEAST 0.6 /* signal a lane that texture reaches at least */
#define TEXTURE_MOST 1.6  /* and at most: more is a mark that left its negative beside it */
#define CLEAN_AMOUNT 0.1  /* amount of a row on clean paper */
#define CLEAN_REACH 0.02  /* of the length, on either side */
#define APART 0.02        /* of the length */
#define TRIM 12.0 /* squared Mahalanobis distance: 1 % of three normal variables exceed it */
#define VARIANCE_LEAST 1e-6 /* of an amount: a thousandth, finer than any photo */
#define FAINT_MOST 0.35     /* amount; deltaE of up to about 7 */
#define TINT_LEAST 0.18     /* blue less red over the amount */
#define SIGMA_LEAST 0.001   /* of the length */
enum { TRIM_ROUNDS = 3 };

/* -ln R of a water line as it is seen on white paper, to a factor. */
static const double brown[3] = {0.3, 0.5, 1.0};

struct field {
    const struct sl_view *view;
    bool *clean;    /* count */
    double *sum;    /* lanes x 3 x (rows + 1): running sums down the lanes */
    int count;      /* rows that are looked at */
    double *signal; /* count x lanes */
    double *total;  /* count x lanes: best path up to a lane */
    int8_t *came;   /* count x lanes: the step that it took there */
    double weight[3];
    const double *from; /* lanes: fraction of the length, from where on a line can lie */
    double lowest, to;
};

static double mean_about(const struct field *f, int lane, int channel, double row, double half)
{
    int rows = f->view->rows, from = sl_view_nearest(row - half),
        to = sl_view_nearest(row + half) + 1;
    from = from < 0 ? 0 : from > rows - 1 ? rows - 1 : from;
    to = to > rows ? rows : to <= from ? from + 1 : to;
    const double *sum = f->sum + ((size_t)lane * 3 + (size_t)channel) * ((size_t)rows + 1);
    return (sum[to] - sum[from]) / (to - from);
}

static double row_of(const struct field *f, int i)
{
    return (i + 0.5) * f->view->rows / f->count - 0.5;
}

/* Of the middle over the rows `side` away. */
static void stands_out(const struct field *f, int lane, double row, double side, double ret[3])
{
    double half = MIDDLE_PART * f->view->rows;
    for (int c = 0; c < 3; c++)
        ret[c] = mean_about(f, lane, c, row, half) - mean_about(f, lane, c, row + side, half);
}

/* Paper alone, as far as rows are compared. */
static bool is_clean(const struct field *f, int i)
{
    const struct sl_view *view = f->view;
    int row = (int)row_of(f, i), reach = (int)ceil(CLEAN_REACH * view->rows);
    if (row < reach || row + reach >= view->rows)
        return false;
    double limit = fmax(CLEAN_AMOUNT, 6 * view->noise_mean);
    for (int r = row - reach; r <= row + reach; r++)
        if (view->blind[r] || view->mean[r] > limit)
            return false;
    return true;
}

/* False where it has none: the caller keeps what it had. */
static bool invert(const double moment[9], double ret[9])
{
    double work[9];
    memcpy(work, moment, sizeof work);
    gsl_matrix_view m = gsl_matrix_view_array(work, 3, 3);
    if (gsl_linalg_cholesky_decomp1(&m.matrix) != GSL_SUCCESS ||
        gsl_linalg_cholesky_invert(&m.matrix) != GSL_SUCCESS)
        return false;
    memcpy(ret, work, sizeof work);
    return true;
}

static double product(const double matrix[9], const double a[3], const double b[3])
{
    double sum = 0;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            sum += a[i] * matrix[3 * i + k] * b[k];
    return sum;
}

/* Inverse of the second moments of what stands out on clean paper, far values left out. */
static void texture(const struct field *f, double ret[9])
{
    static const double unit[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};
    double side = SIDE_PART * f->view->rows;
    memcpy(ret, unit, sizeof unit);
    for (int round = 0; round < TRIM_ROUNDS; round++) {
        double moment[9] = {0}, n = 0;
        for (int i = 0; i < f->count; i++)
            for (int lane = 0; lane < SL_VIEW_LANES && f->clean[i]; lane++) {
                double d[3];
                stands_out(f, lane, row_of(f, i), side, d);
                if (product(ret, d, d) > TRIM)
                    continue;
                for (int k = 0; k < 9; k++)
                    moment[k] += d[k / 3] * d[k % 3];
                n++;
            }
        for (int k = 0; k < 9; k++)
            moment[k] = moment[k] / fmax(n, 1) + VARIANCE_LEAST * unit[k];
        if (!invert(moment, ret))
            return;
    }
}

static void learn_weights(struct field *f)
{
    double inverse[9], scale;
    texture(f, inverse);
    scale = sqrt(product(inverse, brown, brown));
    for (int c = 0; c < 3; c++) {
        double axis[3] = {c == 0, c == 1, c == 2};
        f->weight[c] = product(inverse, axis, brown) / scale;
    }
}

/* In standard deviations; `sign` -1: of lines brighter than paper. */
static double signal_at(const struct field *f, int i, int lane, double sign)
{
    double side = SIDE_PART * f->view->rows, below[3], above[3], b = 0, a = 0, row = row_of(f, i);
    if (f->view->blind[(int)row] || (row + 0.5) / f->view->rows < f->from[lane])
        return SIGNAL_LOW;
    stands_out(f, lane, row, -side, below);
    stands_out(f, lane, row, side, above);
    for (int c = 0; c < 3; c++)
        b += sign * f->weight[c] * below[c], a += sign * f->weight[c] * above[c];
    return fmin(a, b);
}

static void fill_signal(struct field *f, double sign)
{
    for (int i = 0; i < f->count; i++)
        for (int lane = 0; lane < SL_VIEW_LANES; lane++)
            f->signal[i * SL_VIEW_LANES + lane] =
                fmin(fmax(signal_at(f, i, lane, sign), SIGNAL_LOW), SIGNAL_HIGH);
}

static void fill_totals(struct field *f)
{
    double slope = SLOPE_PART * f->count;
    int most = (int)ceil(SLOPE_MOST * f->count);
    for (int i = 0; i < f->count; i++)
        f->total[i * SL_VIEW_LANES] = f->signal[i * SL_VIEW_LANES];
    for (int lane = 1; lane < SL_VIEW_LANES; lane++)
        for (int i = 0; i < f->count; i++) {
            double best = -INFINITY;
            for (int k = -most; k <= most; k++) {
                if (i + k < 0 || i + k >= f->count)
                    continue;
                double here = f->total[(i + k) * SL_VIEW_LANES + lane - 1] -
                              SLOPE_COST * (k / slope) * (k / slope);
                if (here <= best)
                    continue;
                best = here;
                f->came[i * SL_VIEW_LANES + lane] = (int8_t)k;
            }
            f->total[i * SL_VIEW_LANES + lane] = best + f->signal[i * SL_VIEW_LANES + lane];
        }
}

static void trace(const struct field *f, int end, int path[SL_VIEW_LANES])
{
    for (int lane = SL_VIEW_LANES - 1; lane >= 0; lane--) {
        path[lane] = end;
        end += lane > 0 ? f->came[end * SL_VIEW_LANES + lane] : 0;
    }
}

/* What paths reach where nothing but texture is. */
static double texture_total(struct field *f)
{
    double most = TEXTURE_LEAST * SL_VIEW_LANES;
    fill_signal(f, -1);
    fill_totals(f);
    for (int i = (int)(f->lowest * f->count); i < (int)(f->to * f->count); i++)
        if (f->clean[i])
            most = fmax(most, f->total[i * SL_VIEW_LANES + SL_VIEW_LANES - 1]);
    return fmin(most, TEXTURE_MOST * SL_VIEW_LANES);
}

static bool is_brown(const struct field *f, const int path[SL_VIEW_LANES])
{
    double side = SIDE_PART * f->view->rows, colour[3] = {0, 0, 0};
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double below[3], above[3], b = 0, a = 0;
        stands_out(f, lane, row_of(f, path[lane]), -side, below);
        stands_out(f, lane, row_of(f, path[lane]), side, above);
        for (int c = 0; c < 3; c++)
            a += f->weight[c] * above[c], b += f->weight[c] * below[c];
        for (int c = 0; c < 3; c++)
            colour[c] += (a < b ? above[c] : below[c]) / SL_VIEW_LANES;
    }
    double sum = colour[0] + colour[1] + colour[2];
    return sum > 0 && sum < FAINT_MOST && colour[2] - colour[0] > TINT_LEAST * sum &&
           colour[2] > colour[1];
}

/* Signal `offset` looked-at rows above the path, mean of the lanes. */
static double beside_path(const struct field *f, const int path[SL_VIEW_LANES], int offset)
{
    double half = MIDDLE_PART * f->view->rows / 2, sum = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++)
        for (int c = 0; c < 3; c++)
            sum += f->weight[c] * mean_about(f, lane, c, row_of(f, path[lane] + offset), half);
    return sum / SL_VIEW_LANES;
}

/* Rows that are looked at, at half height over the higher of both sides. */
static int width_of(const struct field *f, const int path[SL_VIEW_LANES])
{
    int side = (int)ceil(SIDE_PART * f->count), low = 0, high = 0;
    double base = fmax(beside_path(f, path, -side), beside_path(f, path, side));
    double half = (beside_path(f, path, 0) + base) / 2;
    while (low > -side && beside_path(f, path, low - 1) > half)
        low--;
    while (high < side && beside_path(f, path, high + 1) > half)
        high++;
    return high - low + 1;
}

/* Where in a lane the line's middle lies, fraction of the length: the path itself cuts corners. */
static double middle_near(const struct field *f, int i, int lane)
{
    int reach = (int)ceil(SIDE_PART / 2 * f->count);
    double sum = 0, moment = 0;
    for (int k = i - reach; k <= i + reach; k++) {
        double signal = k < 0 || k >= f->count ? 0 : fmax(signal_at(f, k, lane, 1), 0);
        sum += signal, moment += signal * k;
    }
    return ((sum > 0 ? moment / sum : i) + 0.5) / f->count;
}

static struct sl_tide measure(const struct field *f, const int path[SL_VIEW_LANES], double strength)
{
    double sum = 0, squares = 0, suv = 0, suu = 0;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double v = middle_near(f, path[lane], lane), u = sl_view_u(lane) - 0.5;
        sum += v, squares += v * v, suv += u * v, suu += u * u;
    }
    double mean = sum / SL_VIEW_LANES;
    return (struct sl_tide){.v = mean,
                            .sigma = SIGMA_LEAST,
                            .slant = suv / suu,
                            .spread = sqrt(fmax(squares / SL_VIEW_LANES - mean * mean, 0)),
                            .width = (double)width_of(f, path) / f->count,
                            .strength = strength};
}

/* Paths from the strongest down, none within APART of one before, in the order of their place. */
static int collect(const struct field *f, double null, struct sl_tide ret[SL_TIDES_MAX])
{
    int count = 0;
    bool *taken = calloc((size_t)f->count, sizeof *taken);
    if (taken == NULL)
        return -1;
    while (count < SL_TIDES_MAX) {
        int best = -1, path[SL_VIEW_LANES];
        for (int i = (int)(f->lowest * f->count); i < (int)(f->to * f->count); i++) {
            double here = f->total[i * SL_VIEW_LANES + SL_VIEW_LANES - 1];
            if (!taken[i] && here > null &&
                (best < 0 || here > f->total[best * SL_VIEW_LANES + SL_VIEW_LANES - 1]))
                best = i;
        }
        if (best < 0)
            break;
        int reach = (int)ceil(APART * f->count);
        for (int i = best - reach; i <= best + reach; i++)
            if (i >= 0 && i < f->count)
                taken[i] = true;
        trace(f, best, path);
        if (!is_brown(f, path))
            continue;
        struct sl_tide tide =
            measure(f, path, f->total[best * SL_VIEW_LANES + SL_VIEW_LANES - 1] / null);
        bool known = false;
        for (int k = 0; k < count; k++)
            known = known || fabs(ret[k].v - tide.v) < APART;
        if (known)
            continue;
        int at = count++;
        for (; at > 0 && ret[at - 1].v > tide.v; at--)
            ret[at] = ret[at - 1];
        ret[at] = tide;
    }
    free(taken);
    return count;
}

static bool field_init(struct field *f, const struct sl_view *view)
{
    size_t rows = (size_t)view->rows;
    *f = (struct field){.view = view, .count = (int)(1 / STEP_PART)};
    f->count = f->count < view->rows ? f->count : view->rows;
    size_t cells = (size_t)f->count * SL_VIEW_LANES;
    f->clean = calloc((size_t)f->count, sizeof *f->clean);
    f->sum = calloc(3 * SL_VIEW_LANES * (rows + 1), sizeof *f->sum);
    f->signal = calloc(cells, sizeof *f->signal);
    f->total = calloc(cells, sizeof *f->total);
    f->came = calloc(cells, sizeof *f->came);
    if (f->clean == NULL || f->sum == NULL || f->signal == NULL || f->total == NULL ||
        f->came == NULL)
        return false;
    for (int i = 0; i < f->count; i++)
        f->clean[i] = is_clean(f, i);
    for (size_t lane = 0; lane < SL_VIEW_LANES; lane++)
        for (size_t c = 0; c < 3; c++) {
            double *sum = f->sum + (lane * 3 + c) * (rows + 1);
            for (size_t row = 0; row < rows; row++)
                sum[row + 1] = sum[row] + (double)view->colour[row][lane][c];
        }
    return true;
}

int sl_tides_find(const struct sl_view *view, const double from[SL_VIEW_LANES], double to,
                  struct sl_tide ret[SL_TIDES_MAX])
{
    struct field f;
    int count = -1;
    if (field_init(&f, view)) {
        f.from = from, f.lowest = to, f.to = to;
        for (int lane = 0; lane < SL_VIEW_LANES; lane++)
            f.lowest = fmin(f.lowest, from[lane]);
        learn_weights(&f);
        double null = texture_total(&f);
        fill_signal(&f, 1);
        fill_totals(&f);
        count = collect(&f, null, ret);
    }
    free(f.clean);
    free(f.sum);
    free(f.signal);
    free(f.total);
    free(f.came);
    return count;
}
