// SPDX-License-Identifier: GPL-3.0-or-later
/* A flood from the two ends and from hidden rows: it runs through cells that are much darker or
 * brighter than paper near the ends, and through grey shade beside what is hidden, but not far. Dye
 * seldom reaches an end, and where it does it is paler than a table. */
#include "strip/marks_outside.h"

#include <math.h>
#include <stdlib.h>

#define DARK_AMOUNT 0.6   /* -ln R summed: paper with half a stop less light in all channels */
#define BRIGHT_AMOUNT 0.9 /* brighter than paper: a white table beside brown paper */
#define SHADE_AMOUNT 0.1
#define SHADE_TINT 0.3   /* largest less smallest channel over the sum */
#define END_REACH 0.08   /* of the length: how far a torn end reaches in */
#define SHADE_REACH 0.12 /* of the length: how far a peg's shadow reaches */
#define SIDE_OUT 0.04    /* of the width at each side, not judged */
#define R_MIN 0.005
enum { BLUR_CELLS = 2 };

struct flood {
    struct sl_sheet *sheet;
    uint8_t *reached;
    int *stack;
    int top;
    int first, last;            /* columns first..last - 1 take part */
    int hidden_from, hidden_to; /* rows hidden over most of the width; from > to: none */
};

static void amounts(const float rgb[3], double *ret_sum, double *ret_tint)
{
    double low = INFINITY, high = -INFINITY, sum = 0;
    for (int c = 0; c < 3; c++) {
        double a = -log(fmax((double)rgb[c], R_MIN));
        sum += a, low = fmin(low, a), high = fmax(high, a);
    }
    *ret_sum = sum;
    *ret_tint = high - low;
}

static bool passes(const struct flood *f, int row, int column)
{
    int rows = f->sheet->rows, from_end = row < rows / 2 ? row : rows - 1 - row;
    size_t cell = (size_t)row * (size_t)f->sheet->columns + (size_t)column;
    double sum, tint;
    amounts(f->sheet->rgb + 3 * cell, &sum, &tint);
    if ((sum > DARK_AMOUNT || sum < -BRIGHT_AMOUNT) && from_end < END_REACH * rows)
        return true;
    if (f->hidden_from > f->hidden_to)
        return false;
    int away = row < f->hidden_from ? f->hidden_from - row : row - f->hidden_to;
    return away < SHADE_REACH * rows && sum > SHADE_AMOUNT && tint < SHADE_TINT * sum;
}

static void reach(struct flood *f, int row, int column)
{
    if (row < 0 || row >= f->sheet->rows || column < f->first || column >= f->last)
        return;
    int cell = row * f->sheet->columns + column;
    if (f->reached[cell] || (f->sheet->flags[cell] & SL_CELL_HIDDEN))
        return;
    if (!passes(f, row, column))
        return;
    f->reached[cell] = 1;
    f->stack[f->top++] = cell;
}

static void find_hidden_rows(struct flood *f)
{
    f->hidden_from = f->sheet->rows, f->hidden_to = -1;
    for (int row = 0; row < f->sheet->rows; row++) {
        int hidden = 0;
        for (int column = f->first; column < f->last; column++)
            hidden += (f->sheet->flags[row * f->sheet->columns + column] & SL_CELL_HIDDEN) != 0;
        if (2 * hidden <= f->last - f->first)
            continue;
        f->hidden_from = row < f->hidden_from ? row : f->hidden_from;
        f->hidden_to = row;
    }
}

static void run(struct flood *f)
{
    for (int column = f->first; column < f->last; column++) {
        reach(f, 0, column);
        reach(f, f->sheet->rows - 1, column);
        if (f->hidden_from > f->hidden_to)
            continue;
        reach(f, f->hidden_from - 1, column);
        reach(f, f->hidden_to + 1, column);
    }
    while (f->top > 0) {
        int cell = f->stack[--f->top], row = cell / f->sheet->columns,
            column = cell % f->sheet->columns;
        reach(f, row - 1, column);
        reach(f, row + 1, column);
        reach(f, row, column - 1);
        reach(f, row, column + 1);
    }
}

static void hide_around(struct flood *f, int row, int column)
{
    for (int r = row - BLUR_CELLS; r <= row + BLUR_CELLS; r++)
        for (int c = column - BLUR_CELLS; c <= column + BLUR_CELLS; c++)
            if (r >= 0 && r < f->sheet->rows && c >= 0 && c < f->sheet->columns)
                f->sheet->flags[r * f->sheet->columns + c] |= SL_CELL_HIDDEN;
}

bool sl_outside_flag(struct sl_sheet *sheet)
{
    size_t cells = (size_t)sheet->rows * (size_t)sheet->columns;
    int side = (int)(SIDE_OUT * sheet->columns);
    struct flood f = {.sheet = sheet, .first = side, .last = sheet->columns - side};
    f.reached = calloc(cells, 1);
    f.stack = calloc(cells, sizeof *f.stack);
    bool ok = f.reached != NULL && f.stack != NULL;
    if (!ok)
        goto done;
    find_hidden_rows(&f);
    run(&f);
    for (int row = 0; row < sheet->rows; row++)
        for (int column = f.first; column < f.last; column++)
            if (f.reached[row * sheet->columns + column])
                hide_around(&f, row, column);
done:
    free(f.reached);
    free(f.stack);
    return ok;
}
