// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Dark cells are those whose colour stands out of the paper.
 * 2. A row is dyed where half its cells are dark.
 * 3. Dark cells that hang together form a spot. A spot that reaches a dyed row or spans half the
 *    width is dye (the finger of a front, a slanted line); the rest was written or fell on the
 *    paper.
 * 4. Such spots are widened by the blur that surrounds them. */
#include "strip/marks_writing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DARK_AMOUNT 0.35 /* -ln R summed over the channels; pencil strokes have 0.5 to 2 */
#define R_MIN 0.005
#define SPAN_MAX 0.5   /* of the width */
#define EDGE_PART 0.04 /* of the width, not judged: the table shines in there */
enum { BLUR_CELLS = 2, AROUND = 8 };

enum { PLAIN, DARK, WAITING, DYE, WRITTEN };

struct field {
    int columns, rows, first, last; /* columns first..last - 1 are judged */
    uint8_t *state;
    int *stack, *members;
    bool *dyed;
};

static double amount(const float rgb[3])
{
    double sum = 0;
    for (int c = 0; c < 3; c++)
        sum -= log(fmax((double)rgb[c], R_MIN));
    return sum;
}

static void mark_dark(struct field *f, const struct sl_sheet *sheet)
{
    for (int row = 0; row < f->rows; row++) {
        int dark = 0, seen = 0;
        for (int column = f->first; column < f->last; column++) {
            size_t cell = (size_t)row * (size_t)f->columns + (size_t)column;
            if (sheet->flags[cell] & SL_CELL_HIDDEN)
                continue;
            f->state[cell] = amount(sheet->rgb + 3 * cell) > DARK_AMOUNT ? DARK : PLAIN;
            dark += f->state[cell] == DARK;
            seen++;
        }
        f->dyed[row] = 2 * dark > seen;
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
        dye = dye || f->dyed[cell / f->columns];
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
    bool ok = f.state != NULL && f.stack != NULL && f.members != NULL && f.dyed != NULL;
    if (!ok)
        goto done;
    mark_dark(&f, sheet);
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
    return ok;
}
