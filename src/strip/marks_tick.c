// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. For three zones (beside the left edge, beside the right edge, in the middle) the part of -ln R
 *    that all channels share is averaged across: pencil is grey.
 * 2. What stands out of the running median along the strip is a stroke if it is thin.
 * 3. A tick is a stroke at the left and one at the right at nearly the same height, with none in
 *    the middle: that would be a line. */
#include "strip/marks_tick.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_movstat.h>
#include <gsl/gsl_sort.h>

#define ZONE_FROM 0.02 /* of the width from the edge */
#define ZONE_TO 0.09
#define MIDDLE_FROM 0.3
#define MIDDLE_TO 0.7
#define WINDOW 0.03        /* of the length, of the running median: strokes are far thinner */
#define THICK_MAX 0.009    /* of the length at half height */
#define LEVEL 0.014        /* of the length: largest difference of left and right */
#define STAND_OUT 7.0      /* standard deviations of the residual */
#define AMOUNT_LEAST 0.08  /* -ln R, all channels alike */
#define STAND_OUT_ONE 25.0 /* the same for a stroke that stands alone */
#define AMOUNT_ONE 0.2
#define MIDDLE_PART 0.4 /* of the strokes' amount, in the middle */
#define SIGMA 0.001     /* of the length; half a stroke's thickness */
#define SIGMA_ONE 0.003 /* of one stroke: fronts are not level */
#define ENDS_OUT 0.04   /* of the length */
#define R_MIN 0.005
enum { STROKES_MAX = 32 };

struct zone {
    double *residual;
    double sigma;
};

struct stroke {
    int row;
    double v, amount;
};

static double grey(const float rgb[3])
{
    double high = fmax((double)rgb[0], fmax((double)rgb[1], (double)rgb[2]));
    return -log(fmax(high, R_MIN));
}

static void average(const struct sl_sheet *sheet, double from, double to, gsl_vector *ret)
{
    int first = (int)(from * sheet->columns), last = (int)ceil(to * sheet->columns);
    double last_seen = 0;
    for (int row = 0; row < sheet->rows; row++) {
        double sum = 0;
        int n = 0;
        for (int column = first; column < last && column < sheet->columns; column++) {
            size_t cell = (size_t)row * (size_t)sheet->columns + (size_t)column;
            if (sheet->flags[cell] & SL_CELL_HIDDEN)
                continue;
            sum += grey(sheet->rgb + 3 * cell);
            n++;
        }
        if (n > 0)
            last_seen = sum / n;
        gsl_vector_set(ret, (size_t)row, last_seen);
    }
}

/* Residual of the running median and its scatter. */
static bool fill_zone(const struct sl_sheet *sheet, double from, double to, struct zone *zone)
{
    size_t rows = (size_t)sheet->rows;
    gsl_vector *mean = gsl_vector_calloc(rows), *median = gsl_vector_calloc(rows);
    gsl_movstat_workspace *work = gsl_movstat_alloc(2 * (size_t)(WINDOW / 2 * sheet->rows) + 1);
    zone->residual = calloc(rows, sizeof *zone->residual);
    double *sorted = calloc(rows, sizeof *sorted);
    bool ok =
        mean != NULL && median != NULL && work != NULL && zone->residual != NULL && sorted != NULL;
    if (!ok)
        goto done;
    average(sheet, from, to, mean);
    ok = gsl_movstat_median(GSL_MOVSTAT_END_TRUNCATE, mean, median, work) == 0;
    for (size_t row = 0; row < rows; row++) {
        zone->residual[row] = gsl_vector_get(mean, row) - gsl_vector_get(median, row);
        sorted[row] = fabs(zone->residual[row]);
    }
    gsl_sort(sorted, 1, rows);
    zone->sigma = fmax(1.4826 * sorted[rows / 2], 1e-4);
done:
    gsl_vector_free(mean);
    gsl_vector_free(median);
    gsl_movstat_free(work);
    free(sorted);
    return ok;
}

/* A thin peak with its top at `row`; false where it is too low or too thick. */
static bool measure(const struct zone *zone, int rows, int row, struct stroke *ret)
{
    double top = zone->residual[row], sum = 0, moment = 0;
    if (top < fmax(STAND_OUT * zone->sigma, AMOUNT_LEAST))
        return false;
    int from = row, to = row;
    while (from > 0 && zone->residual[from - 1] > top / 2)
        from--;
    while (to + 1 < rows && zone->residual[to + 1] > top / 2)
        to++;
    if (to - from + 1 > fmax(THICK_MAX * rows, 3))
        return false;
    for (int i = from; i <= to; i++) {
        if (zone->residual[i] > top)
            return false;
        sum += zone->residual[i];
        moment += zone->residual[i] * (i + 0.5);
    }
    *ret = (struct stroke){row, moment / sum / rows, top};
    return true;
}

static int find_strokes(const struct zone *zone, int rows, struct stroke ret[STROKES_MAX])
{
    int count = 0, from = (int)(ENDS_OUT * rows);
    for (int row = from; row < rows - from && count < STROKES_MAX; row++) {
        if (zone->residual[row] <= zone->residual[row - 1] ||
            zone->residual[row] < zone->residual[row + 1])
            continue;
        count += measure(zone, rows, row, &ret[count]);
    }
    return count;
}

static double middle_amount(const struct zone *middle, int rows, double v)
{
    double most = 0;
    int reach = (int)ceil(LEVEL * rows);
    for (int row = (int)(v * rows) - reach; row <= (int)(v * rows) + reach; row++)
        if (row >= 0 && row < rows)
            most = fmax(most, middle->residual[row]);
    return most;
}

static int add(struct sl_tick ret[SL_TICKS_MAX], int count, struct sl_tick tick)
{
    if (count == SL_TICKS_MAX)
        return count;
    int at = count;
    for (; at > 0 && ret[at - 1].v > tick.v; at--)
        ret[at] = ret[at - 1];
    ret[at] = tick;
    return count + 1;
}

static int match(const struct zone zone[3], int rows, struct sl_tick ret[SL_TICKS_MAX])
{
    struct stroke stroke[2][STROKES_MAX];
    bool paired[2][STROKES_MAX] = {{false}};
    int strokes[2], count = 0;
    for (int side = 0; side < 2; side++)
        strokes[side] = find_strokes(&zone[side], rows, stroke[side]);
    for (int i = 0; i < strokes[0]; i++)
        for (int k = 0; k < strokes[1]; k++) {
            const struct stroke *a = &stroke[0][i], *b = &stroke[1][k];
            double v = (a->v + b->v) / 2, slant = b->v - a->v;
            if (fabs(slant) > LEVEL)
                continue;
            paired[0][i] = paired[1][k] = true;
            if (middle_amount(&zone[2], rows, v) > MIDDLE_PART * fmin(a->amount, b->amount))
                continue;
            count = add(ret, count,
                        (struct sl_tick){v, hypot(fabs(slant) / 4, SIGMA), slant,
                                         fmin(a->amount / zone[0].sigma, b->amount / zone[1].sigma),
                                         true});
        }
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < strokes[side]; i++) {
            const struct stroke *a = &stroke[side][i];
            if (paired[side][i] || middle_amount(&zone[2], rows, a->v) > MIDDLE_PART * a->amount)
                continue;
            if (a->amount < AMOUNT_ONE || a->amount < STAND_OUT_ONE * zone[side].sigma)
                continue;
            count = add(ret, count,
                        (struct sl_tick){a->v, SIGMA_ONE, 0, a->amount / zone[side].sigma, false});
        }
    return count;
}

int sl_ticks_find(const struct sl_sheet *sheet, struct sl_tick ret[SL_TICKS_MAX])
{
    struct zone zone[3] = {{0}};
    bool ok = fill_zone(sheet, ZONE_FROM, ZONE_TO, &zone[0]) &&
              fill_zone(sheet, 1 - ZONE_TO, 1 - ZONE_FROM, &zone[1]) &&
              fill_zone(sheet, MIDDLE_FROM, MIDDLE_TO, &zone[2]);
    int count = ok ? match(zone, sheet->rows, ret) : -1;
    for (int k = 0; k < 3; k++)
        free(zone[k].residual);
    return count;
}
