// SPDX-License-Identifier: GPL-3.0-or-later
#include "profile/lanes.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

enum { CELLS_MIN = 2 }; /* columns a lane */
#define SEEN_PART 0.34  /* of a lane's cells that must be usable */

static void fill(struct sl_lanes *lanes, const struct sl_sheet *sheet, size_t row, double from,
                 double to)
{
    double sum[SL_LANES_MAX][3] = {{0}};
    int used[SL_LANES_MAX] = {0}, all[SL_LANES_MAX] = {0};
    for (int column = 0; column < sheet->columns; column++) {
        double part = ((column + 0.5) / sheet->columns - from) / (to - from);
        if (part < 0 || part >= 1)
            continue;
        int lane = (int)(part * lanes->count);
        size_t cell = row * (size_t)sheet->columns + (size_t)column;
        all[lane]++;
        if (sheet->flags[cell] & (SL_CELL_HIDDEN | SL_CELL_MARK))
            continue;
        for (int c = 0; c < 3; c++)
            sum[lane][c] += (double)sheet->rgb[3 * cell + (size_t)c];
        used[lane]++;
    }
    for (int lane = 0; lane < lanes->count; lane++) {
        size_t at = sl_lanes_at(lanes, row, lane);
        lanes->seen[at] = used[lane] > SEEN_PART * all[lane];
        for (int c = 0; c < 3; c++)
            lanes->value[at][c] = (float)(used[lane] > 0 ? sum[lane][c] / used[lane] : 1.0);
    }
}

bool sl_lanes_init(struct sl_lanes *lanes, const struct sl_sheet *sheet, double across_from,
                   double across_to)
{
    int columns = (int)((across_to - across_from) * sheet->columns) / CELLS_MIN;
    lanes->rows = (size_t)sheet->rows;
    lanes->count = columns > SL_LANES_MAX ? SL_LANES_MAX : columns < 1 ? 1 : columns;
    size_t cells = lanes->rows * (size_t)lanes->count;
    lanes->value = calloc(cells, sizeof *lanes->value);
    lanes->seen = calloc(cells, sizeof *lanes->seen);
    if (lanes->value == NULL || lanes->seen == NULL)
        return false;
    for (size_t row = 0; row < lanes->rows; row++)
        fill(lanes, sheet, row, across_from, across_to);
    return true;
}

void sl_lanes_finish(struct sl_lanes *lanes)
{
    free(lanes->value);
    free(lanes->seen);
    *lanes = (struct sl_lanes){0};
}
