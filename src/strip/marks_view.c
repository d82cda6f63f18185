// SPDX-License-Identifier: GPL-3.0-or-later
#include "strip/marks_view.h"

#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

#define R_MIN 0.005     /* reflectance; darker than that is noise */
#define NOISE_LAG 0.006 /* of the length; ridges of crepe paper are about 1 mm apart */
#define SHADE_SIGMAS 2.5
#define BLIND_PART 0.25 /* of a row's cells; with fewer in sight it says nothing */
enum { LANES_OUT = 3 }; /* highest and lowest lanes left out of a row's mean: writing, shadows */

static int compare_floats(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

static void put(struct sl_view *view, int row, int lane, const double sum[3], int count)
{
    double a[3] = {0, 0, 0};
    for (int c = 0; c < 3; c++)
        a[c] = -log(fmax(sum[c] / count, R_MIN));
    view->amount[row][lane] = (float)(a[0] + a[1] + a[2]);
    for (int c = 0; c < 3; c++)
        view->colour[row][lane][c] = (float)a[c];
}

static void fill_row(struct sl_view *view, const struct sl_sheet *sheet, int row)
{
    double sum[SL_VIEW_LANES][3] = {{0}}, all[3] = {0, 0, 0};
    int count[SL_VIEW_LANES] = {0}, any = 0, all_cells = 0;
    for (int column = 0; column < sheet->columns; column++) {
        double u = (column + 0.5) / sheet->columns;
        int lane = (int)floor((u - SL_VIEW_FROM) / (SL_VIEW_TO - SL_VIEW_FROM) * SL_VIEW_LANES);
        size_t cell = (size_t)row * (size_t)sheet->columns + (size_t)column;
        if (lane < 0 || lane >= SL_VIEW_LANES)
            continue;
        all_cells++;
        if (sheet->flags[cell] & (SL_CELL_HIDDEN | SL_CELL_MARK))
            continue;
        for (int c = 0; c < 3; c++) {
            sum[lane][c] += (double)sheet->rgb[3 * cell + (size_t)c];
            all[c] += (double)sheet->rgb[3 * cell + (size_t)c];
        }
        count[lane]++;
        any++;
    }
    const double paper[3] = {1, 1, 1};
    view->blind[row] = any < BLIND_PART * all_cells;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        if (count[lane] > 0)
            put(view, row, lane, sum[lane], count[lane]);
        else
            put(view, row, lane, any > 0 ? all : paper, any > 0 ? any : 1);
    }
}

static void mean_row(struct sl_view *view, int row)
{
    float sorted[SL_VIEW_LANES];
    for (int lane = 0; lane < SL_VIEW_LANES; lane++)
        sorted[lane] = view->amount[row][lane];
    qsort(sorted, SL_VIEW_LANES, sizeof sorted[0], compare_floats);
    double mean = 0;
    for (int k = LANES_OUT; k < SL_VIEW_LANES - LANES_OUT; k++)
        mean += (double)sorted[k];
    view->mean[row] = mean / (SL_VIEW_LANES - 2 * LANES_OUT);
}

/* From steps to the row after next, of which the calmer ones are on clean paper. */
static double scatter(double *steps, size_t count)
{
    if (count == 0)
        return 0;
    /* the 35 % quantile of |N(0, s sqrt 2)| is 0.454 s sqrt 2 */
    size_t at = (size_t)(0.35 * (double)(count - 1));
    return gsl_stats_select(steps, 1, count, at) / (0.454 * sqrt(2.0));
}

static double grey(const struct sl_view *view, int row, int lane)
{
    const float *a = view->colour[row][lane];
    return (double)fminf(a[0], fminf(a[1], a[2]));
}

/* Ridges of crepe paper shade all channels alike. The part that the channels have in common is
 * held back where it is no larger than its scatter on clean paper; black ink is much larger. */
static void hold_back_shade(struct sl_view *view, double scatter_grey)
{
    double limit = SHADE_SIGMAS * scatter_grey;
    for (int row = 0; row < view->rows; row++)
        for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
            double g = grey(view, row, lane), kept = g * g * g / (g * g + limit * limit);
            view->amount[row][lane] -= (float)(3 * (g - kept));
        }
}

/* Steps over a distance at which ridges have gone from light to dark. */
static bool measure_noise(struct sl_view *view)
{
    int lag = (int)ceil(NOISE_LAG * view->rows), rows = view->rows;
    size_t n = 0;
    double *steps = calloc((size_t)rows * SL_VIEW_LANES, sizeof *steps);
    if (steps == NULL)
        return false;
    for (int row = 0; row + lag < rows; row++)
        for (int lane = 0; lane < SL_VIEW_LANES; lane++)
            steps[n++] = fabs(grey(view, row + lag, lane) - grey(view, row, lane));
    hold_back_shade(view, fmax(scatter(steps, n), 1e-4));
    for (int row = 0; row < rows; row++)
        mean_row(view, row);
    n = 0;
    for (int row = 0; row + lag < rows; row++)
        steps[n++] = fabs(view->mean[row + lag] - view->mean[row]);
    view->noise_mean = fmax(scatter(steps, n), 1e-4);
    n = 0;
    for (int row = 0; row + lag < rows; row++)
        for (int lane = 0; lane < SL_VIEW_LANES; lane++)
            steps[n++] =
                fabs((double)view->amount[row + lag][lane] - (double)view->amount[row][lane]);
    view->noise = fmax(scatter(steps, n), 1e-4);
    free(steps);
    return true;
}

bool sl_view_init(struct sl_view *view, const struct sl_sheet *sheet)
{
    size_t rows = (size_t)sheet->rows;
    *view = (struct sl_view){.rows = sheet->rows,
                             .width_part = sheet->columns * sheet->px_per_column /
                                           (sheet->rows * sheet->px_per_row)};
    view->amount = calloc(rows, sizeof *view->amount);
    view->colour = calloc(rows, sizeof *view->colour);
    view->mean = calloc(rows, sizeof *view->mean);
    view->blind = calloc(rows, sizeof *view->blind);
    if (view->amount == NULL || view->colour == NULL || view->mean == NULL || view->blind == NULL)
        return false;
    for (int row = 0; row < sheet->rows; row++)
        fill_row(view, sheet, row);
    return measure_noise(view);
}

void sl_view_finish(struct sl_view *view)
{
    free(view->amount);
    free(view->colour);
    free(view->mean);
    free(view->blind);
    *view = (struct sl_view){0};
}

static void swap_rows(struct sl_view *view, int a, int b)
{
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        int other = SL_VIEW_LANES - 1 - lane;
        float amount = view->amount[a][lane];
        view->amount[a][lane] = view->amount[b][other];
        view->amount[b][other] = amount;
        for (int c = 0; c < 3; c++) {
            float colour = view->colour[a][lane][c];
            view->colour[a][lane][c] = view->colour[b][other][c];
            view->colour[b][other][c] = colour;
        }
    }
    bool blind = view->blind[a];
    view->blind[a] = view->blind[b];
    view->blind[b] = blind;
    double mean = view->mean[a];
    view->mean[a] = view->mean[b];
    view->mean[b] = mean;
}

static void mirror_row(struct sl_view *view, int row)
{
    for (int lane = 0; lane < SL_VIEW_LANES / 2; lane++) {
        int other = SL_VIEW_LANES - 1 - lane;
        float amount = view->amount[row][lane];
        view->amount[row][lane] = view->amount[row][other];
        view->amount[row][other] = amount;
        for (int c = 0; c < 3; c++) {
            float colour = view->colour[row][lane][c];
            view->colour[row][lane][c] = view->colour[row][other][c];
            view->colour[row][other][c] = colour;
        }
    }
}

void sl_view_turn(struct sl_view *view)
{
    for (int row = 0; row < view->rows / 2; row++)
        swap_rows(view, row, view->rows - 1 - row);
    if (view->rows % 2 != 0)
        mirror_row(view, view->rows / 2);
}

double sl_view_mean_about(const struct sl_view *view, int lane, int row, int half)
{
    double sum = 0;
    int n = 0;
    for (int r = row - half; r <= row + half; r++) {
        if (r < 0 || r >= view->rows)
            continue;
        sum += (double)view->amount[r][lane];
        n++;
    }
    return sum / n;
}
