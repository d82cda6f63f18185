// SPDX-License-Identifier: GPL-3.0-or-later
/* Clean rows have no dye, so a column that is darker than its row there, quarter after quarter of
 * the strip, lies in a shadow. A little is divided out; more is left out, and so is all beyond it
 * up to the edge. */
#include "strip/marks_side.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

#define TOO_DARK 0.05      /* log light, mean of the parts */
#define TOO_DARK_ONCE 0.12 /* in one part */
#define CUT_EDGE 0.05      /* of the width */
#define EDGE_PART 0.3      /* of the width at each side, within which columns may be left out */
#define R_MIN 0.005
enum { PARTS = 4, ROWS_MIN = 12, ROWS_MAX = 100, SMOOTH = 2 };

static double log_light(const float rgb[3])
{
    double sum = 0;
    for (int c = 0; c < 3; c++)
        sum += log(fmax((double)rgb[c], R_MIN));
    return sum / 3;
}

/* Median over the clean rows of one part of the strip; NAN where there are too few. */
static double column_median(const struct sl_sheet *sheet, const struct sl_light *light, int column,
                            int part, double *room)
{
    int from = part * sheet->rows / PARTS, to = (part + 1) * sheet->rows / PARTS;
    int step = 1 + (to - from) / ROWS_MAX, n = 0;
    for (int row = from; row < to; row += step) {
        size_t cell = (size_t)row * (size_t)sheet->columns + (size_t)column;
        if (!light->clean[row] || (sheet->flags[cell] & SL_CELL_HIDDEN))
            continue;
        room[n++] = log_light(sheet->rgb + 3 * cell);
    }
    if (n < ROWS_MIN)
        return NAN;
    gsl_sort(room, 1, (size_t)n);
    return room[n / 2];
}

static void hide_column(struct sl_sheet *sheet, int column)
{
    for (int row = 0; row < sheet->rows; row++)
        sheet->flags[(size_t)row * (size_t)sheet->columns + (size_t)column] |= SL_CELL_HIDDEN;
}

static void divide_column(struct sl_sheet *sheet, int column, double offset)
{
    float factor = (float)exp(-offset);
    for (int row = 0; row < sheet->rows; row++)
        for (int c = 0; c < 3; c++)
            sheet->rgb[3 * ((size_t)row * (size_t)sheet->columns + (size_t)column) + (size_t)c] *=
                factor;
}

/* Mean and lowest of the parts' medians; zero where nothing is known. */
static void judge(const struct sl_sheet *sheet, const struct sl_light *light, int column,
                  double *room, double *ret_mean, double *ret_low)
{
    double sum = 0, low = 0;
    int n = 0;
    for (int part = 0; part < PARTS; part++) {
        double median = column_median(sheet, light, column, part, room);
        if (isnan(median))
            continue;
        sum += median;
        low = fmin(low, median);
        n++;
    }
    *ret_mean = n > 0 ? sum / n : 0;
    *ret_low = low;
}

/* Running mean: columns side by side share a shadow, but not the paper's grain. */
static void smooth(const double *values, int count, double *ret)
{
    for (int i = 0; i < count; i++) {
        double sum = 0;
        int n = 0;
        for (int k = i - SMOOTH; k <= i + SMOOTH; k++) {
            if (k < 0 || k >= count)
                continue;
            sum += values[k];
            n++;
        }
        ret[i] = sum / n;
    }
}

/* How many columns from an edge inwards lie in shadow. The cut edge itself is blurred with what
 * lies beside it and says nothing. */
static int shadowed(const double *mean, const double *low, int columns, bool right)
{
    int skip = (int)(CUT_EDGE * columns), reach = (int)(EDGE_PART * columns), count = 0;
    for (int k = skip; k < reach; k++) {
        int column = right ? columns - 1 - k : k;
        if (mean[column] > -TOO_DARK && low[column] > -TOO_DARK_ONCE)
            break;
        count = k + 1;
    }
    return count;
}

bool sl_side_even(struct sl_sheet *sheet, const struct sl_light *light)
{
    size_t columns = (size_t)sheet->columns;
    double *room = calloc(ROWS_MAX + 1, sizeof *room);
    double *work = calloc(columns, 4 * sizeof *work);
    bool ok = room != NULL && work != NULL;
    if (!ok)
        goto done;
    double *mean = work, *low = work + columns, *mean_smooth = work + 2 * columns,
           *low_smooth = work + 3 * columns;
    for (int column = 0; column < sheet->columns; column++)
        judge(sheet, light, column, room, &mean[column], &low[column]);
    smooth(mean, sheet->columns, mean_smooth);
    smooth(low, sheet->columns, low_smooth);
    int left = shadowed(mean_smooth, low_smooth, sheet->columns, false);
    int right = sheet->columns - shadowed(mean_smooth, low_smooth, sheet->columns, true);
    for (int column = 0; column < sheet->columns; column++) {
        if (column < left || column >= right)
            hide_column(sheet, column);
        else
            divide_column(sheet, column, mean_smooth[column]);
    }
done:
    free(room);
    free(work);
    return ok;
}
