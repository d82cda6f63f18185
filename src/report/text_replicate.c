// SPDX-License-Identifier: GPL-3.0-or-later
/* Replicates: their strips, what is retained, and a table of the dyes, each number as mean, 95 %
 * interval of the mean and standard deviation between strips. */
#include <math.h>
#include <string.h>

#include "figure/words.h"
#include "text_print.h"

static const struct sl_column columns[] = {
    {"", false, 0},         {"Rf", false, 0},      {"95 % interval", false, 2},
    {"spread", false, 4},   {"share %", false, 0}, {"95 %", false, 3},
    {"spread %", false, 5}, {"on", false, 1},      {"colour", true, 0},
};
enum { COLUMNS = sizeof columns / sizeof *columns };

static void put(char cell[SL_CELL_BYTES], double value, int decimals)
{
    char text[SL_NUMBER_BYTES];
    snprintf(cell, SL_CELL_BYTES, "%.12s",
             isfinite(value) ? sl_number(value, decimals, text) : "-");
}

static void put_range(char cell[SL_CELL_BYTES], const double interval[2], double factor,
                      int decimals)
{
    char low[SL_NUMBER_BYTES], high[SL_NUMBER_BYTES];
    snprintf(cell, SL_CELL_BYTES, "%.12s to %.12s", sl_number(factor * interval[0], decimals, low),
             sl_number(factor * interval[1], decimals, high));
}

static void band_cells(const struct sl_replicate *set, size_t k,
                       char cell[SL_COLUMNS_MAX][SL_CELL_BYTES])
{
    const struct sl_replicate_band *band = &set->band[k];
    snprintf(cell[0], SL_CELL_BYTES, "%zu", k + 1);
    put(cell[1], band->rf.value, 3);
    put_range(cell[2], band->rf.interval, 1, 3);
    put(cell[3], band->rf.between_sd, 3);
    put(cell[4], 100 * band->share.value, 1);
    put_range(cell[5], band->share.interval, 100, 0);
    put(cell[6], 100 * band->share.between_sd, 1);
    snprintf(cell[7], SL_CELL_BYTES, "%zu of %zu", band->rf.count, set->strip_count);
    snprintf(cell[8], SL_CELL_BYTES, "%s%s", band->hue_name, band->retained ? ", retained" : "");
}

static void print_share(struct sl_printer *printer, const char *what, const struct sl_mean *mean)
{
    char value[SL_NUMBER_BYTES], low[SL_NUMBER_BYTES], high[SL_NUMBER_BYTES],
        spread[SL_NUMBER_BYTES];
    int decimals = mean->value < 0.0995;
    sl_print_format(printer, "  ", "%s %s %% (%s to %s %%), spread between strips %s %%.", what,
                    sl_number(100 * mean->value, decimals, value),
                    sl_number(100 * mean->interval[0], decimals, low),
                    sl_number(100 * mean->interval[1], decimals, high),
                    sl_number(100 * mean->between_sd, 1, spread));
}

/* "2 of row.jpg, 3 of row.jpg" */
static void list_strips(const struct sl_document *document, const struct sl_replicate *set,
                        char *ret, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; i < set->strip_count && used < size; i++) {
        const struct sl_reading *reading = document->reading[set->strip[i].photo];
        int n = snprintf(ret + used, size - used, "%sstrip %zu of %s", i ? ", " : "",
                         set->strip[i].strip + 1, words_file(reading->photo.file));
        used += n > 0 ? (size_t)n : size;
    }
}

void sl_print_replicate(struct sl_printer *printer, const struct sl_document *document,
                        const struct sl_replicate *set)
{
    char cell[SL_BANDS_MAX][SL_COLUMNS_MAX][SL_CELL_BYTES], strips[800];
    double swatch[SL_BANDS_MAX][3];
    fputc('\n', printer->out);
    sl_print_format(printer, "", "Together: %zu strips of %s, %s", set->strip_count, set->ink,
                    words_treatment(set->role));
    list_strips(document, set, strips, sizeof strips);
    sl_print_format(printer, "  ", "The means of %s.", strips);
    print_share(printer, "Retained at the line", &set->retained);
    print_share(printer, "Bound", &set->bound);
    for (size_t k = 0; k < set->band_count; k++) {
        band_cells(set, k, cell[k]);
        memcpy(swatch[k], set->band[k].lab_d50, sizeof swatch[k]);
    }
    struct sl_text_table table = {COLUMNS, set->band_count, columns, cell,
                                  (const double(*)[3])swatch};
    if (set->band_count) {
        fputc('\n', printer->out);
        sl_print_table(printer, "  ", &table);
    }
    sl_print_warnings(printer, "  ! ", &set->warnings);
}
