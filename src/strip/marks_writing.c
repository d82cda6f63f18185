// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Dark cells are those whose colour stands out of their row's median.
 * 2. A row is dyed where its median is more than light that is not well known.
 * 3. Dark cells that hang together form a spot. A spot that touches a dyed row or spans half the
 *    width is dye (the finger of a front, a slanted line); the rest was written or fell on the
 *    paper.
 * 4. Such spots are widened by the blur that surrounds them. */
#include "strip/marks_writing.h"

#include <gsl/gsl_statistics_float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DARK_AMOUNT 0.35 /* -ln R summed over the channels; pencil strokes have 0.5 to 2 */
#define SHADE_SIGMAS 2.5
#define GRAINS 5.0 /* standard deviations of a cell */
#define DYED_AMOUNT 0.15
#define R_MIN 0.005
#define SPAN_MAX 0.5   /* of the width */
#define EDGE_PART 0.04 /* of the width, not judged: the table shines in there */
#define END_PART 0.35  /* of the length at either end, where writing tells the ends apart */
#define FEW_PART 2e-4  /* of the cells: as many flags may be dust */
enum { BLUR_CELLS = 2, AROUND = 8, GRAIN_STEP = 8 /* rows; a hundred tell the grain */ };

enum { PLAIN, DARK, WAITING, DYE, WRITTEN };

struct field {
    int columns, rows, first, last; /* columns first..last - 1 are judged */
    double shade;                   /* scatter of what all channels have in common */
    uint8_t *state;
    int *stack, *members;
    bool *dyed;
};

/* -ln R summed over the channels; of what they have in common, which ridges of crepe paper make
 * too, the less the nearer it is to `shade`. */
static double amount(const float rgb[3], double shade)
{
    double sum = 0, grey = INFINITY;
    for (int c = 0; c < 3; c++) {
        double a = -log(fmax((double)rgb[c], R_MIN));
        sum += a;
        grey = fmin(grey, a);
    }
    double kept = shade > 0 ? grey * grey * grey / (grey * grey + shade * shade) : grey;
    return sum - 3 * (grey - kept);
}

static double nth(float *values, int count, int n)
{
    return (double)gsl_stats_float_select(values, 1, (size_t)count, (size_t)n);
}

/* The amounts of every other visible cell of a row; returns their number. */
static int amounts_of_row(const struct field *f, const struct sl_sheet *sheet, int row, float *room)
{
    int seen = 0;
    for (int column = f->first; column < f->last; column += 2) {
        size_t cell = (size_t)row * (size_t)f->columns + (size_t)column;
        if (!(sheet->flags[cell] & SL_CELL_HIDDEN))
            room[seen++] = (float)amount(sheet->rgb + 3 * cell, f->shade);
    }
    return seen;
}

/* Standard deviation of a cell across its row, as half the rows do not exceed it. */
static double grain(const struct field *f, const struct sl_sheet *sheet, float *room, float *rows)
{
    int count = 0;
    for (int row = 0; row < f->rows; row += GRAIN_STEP) {
        int seen = amounts_of_row(f, sheet, row, room);
        /* quartiles of a normal distribution are 1.349 standard deviations apart */
        if (seen > 3)
            rows[count++] =
                ((float)nth(room, seen, 3 * seen / 4) - (float)nth(room, seen, seen / 4)) / 1.349F;
    }
    return count == 0 ? 0 : nth(rows, count, count / 2);
}

static void mark_dark(struct field *f, const struct sl_sheet *sheet, float *room, double limit)
{
    for (int row = 0; row < f->rows; row++) {
        int seen = amounts_of_row(f, sheet, row, room);
        if (seen == 0)
            continue;
        double median = fmax(nth(room, seen, seen / 2), 0);
        f->dyed[row] = median > DYED_AMOUNT;
        for (int column = f->first; column < f->last; column++) {
            size_t cell = (size_t)row * (size_t)f->columns + (size_t)column;
            if (!(sheet->flags[cell] & SL_CELL_HIDDEN) &&
                amount(sheet->rgb + 3 * cell, f->shade) > median + limit)
                f->state[cell] = DARK;
        }
    }
}

static void push_neighbours(struct field *f, int cell, int *top)
{
    int row = cell / f->columns, column = cell % f->columns;
    for (int k = 0; k <= AROUND; k++) {
        int r = row + k / 3 - 1, c = column + k % 3 - 1;
        if (r < 0 || r >= f->rows || c < f->first || c >= f->last)
            continue;
        int next = r * f->columns + c;
        if (f->state[next] != DARK)
            continue;
        f->state[next] = WAITING;
        f->stack[(*top)++] = next;
    }
}

/* A finger's tip stands on dyed rows without being in one. */
static bool near_dye(const struct field *f, int row)
{
    return f->dyed[row] || (row > 0 && f->dyed[row - 1]) || (row + 1 < f->rows && f->dyed[row + 1]);
}

static void judge_spot(struct field *f, int start)
{
    int top = 0, count = 0, low = f->columns, high = 0;
    bool dye = false;
    f->state[start] = WAITING;
    f->stack[top++] = start;
    while (top > 0) {
        int cell = f->stack[--top], column = cell % f->columns;
        f->members[count++] = cell;
        low = column < low ? column : low;
        high = column > high ? column : high;
        dye = dye || near_dye(f, cell / f->columns);
        push_neighbours(f, cell, &top);
    }
    dye = dye || high - low > SPAN_MAX * f->columns;
    for (int k = 0; k < count; k++)
        f->state[f->members[k]] = dye ? DYE : WRITTEN;
}

static void flag_around(const struct field *f, struct sl_sheet *sheet, int row, int column)
{
    for (int r = row - BLUR_CELLS; r <= row + BLUR_CELLS; r++)
        for (int c = column - BLUR_CELLS; c <= column + BLUR_CELLS; c++)
            if (r >= 0 && r < f->rows && c >= 0 && c < f->columns)
                sheet->flags[(size_t)r * (size_t)f->columns + (size_t)c] |= SL_CELL_MARK;
}

bool sl_writing_flag(struct sl_sheet *sheet)
{
    size_t cells = (size_t)sheet->columns * (size_t)sheet->rows;
    struct field f = {.columns = sheet->columns,
                      .rows = sheet->rows,
                      .first = (int)(EDGE_PART * sheet->columns),
                      .last = sheet->columns - (int)(EDGE_PART * sheet->columns)};
    f.state = calloc(cells, 1);
    f.stack = calloc(cells, sizeof *f.stack);
    f.members = calloc(cells, sizeof *f.members);
    f.dyed = calloc((size_t)sheet->rows, sizeof *f.dyed);
    float *work = calloc((size_t)sheet->columns + (size_t)sheet->rows, sizeof *work);
    bool ok =
        f.state != NULL && f.stack != NULL && f.members != NULL && f.dyed != NULL && work != NULL;
    if (!ok)
        goto done;
    /* a third of the summed scatter is each channel's */
    f.shade = SHADE_SIGMAS / 3 * grain(&f, sheet, work, work + sheet->columns);
    double limit = fmax(DARK_AMOUNT, GRAINS * grain(&f, sheet, work, work + sheet->columns));
    mark_dark(&f, sheet, work, limit);
    for (int cell = 0; cell < (int)cells; cell++)
        if (f.state[cell] == DARK)
            judge_spot(&f, cell);
    for (int row = 0; row < f.rows; row++)
        for (int column = f.first; column < f.last; column++)
            if (f.state[(size_t)row * (size_t)f.columns + (size_t)column] == WRITTEN)
                flag_around(&f, sheet, row, column);
done:
    free(f.state);
    free(f.stack);
    free(f.members);
    free(f.dyed);
    free(work);
    return ok;
}

double sl_writing_up(const struct sl_sheet *sheet)
{
    int reach = (int)(END_PART * sheet->rows);
    double lower = 0, upper = 0, few = FEW_PART * sheet->rows * sheet->columns;
    for (int row = 0; row < reach; row++)
        for (int column = 0; column < sheet->columns; column++) {
            size_t up = (size_t)(sheet->rows - 1 - row) * (size_t)sheet->columns + (size_t)column;
            size_t low = (size_t)row * (size_t)sheet->columns + (size_t)column;
            lower += (sheet->flags[low] & SL_CELL_MARK) != 0;
            upper += (sheet->flags[up] & SL_CELL_MARK) != 0;
        }
    return (upper - lower) / (upper + lower + few);
}
