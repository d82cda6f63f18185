// SPDX-License-Identifier: GPL-3.0-or-later
/* Printing for a terminal: paragraphs and tables that keep to its width, swatches where colour is
 * allowed. Widths are those of characters on screen, not of bytes. */
#ifndef SL_REPORT_TEXT_PRINT_H
#define SL_REPORT_TEXT_PRINT_H

#include <stdio.h>

#include "report_internal.h"

struct sl_printer {
    FILE *out;
    int width;
    struct sl_lab *lab; /* NULL: no swatches */
    bool failed;        /* memory was short */
};

int sl_text_width(const char *text);

/* A paragraph, words kept whole; `first` stands before the first line, the others are indented as
 * far. */
void sl_print_paragraph(struct sl_printer *printer, const char *first, const char *text);
void sl_print_format(struct sl_printer *printer, const char *first, const char *format, ...)
    SL_PRINTF(3, 4);
/* A message and its remedy as one paragraph. */
void sl_print_problem(struct sl_printer *printer, const char *first,
                      const struct sl_status *problem);
void sl_print_warnings(struct sl_printer *printer, const char *first,
                       const struct sl_warnings *warnings);

/* Two columns filled with a colour, and a blank; nothing without colour. */
void sl_print_swatch(struct sl_printer *printer, const double lab_d50[3]);

/* A table of short cells. Columns of the highest `drop` go first where the width is short; 0
 * stays. */
enum { SL_CELL_BYTES = 40, SL_COLUMNS_MAX = 10 };
struct sl_column {
    const char *title;
    bool is_left; /* words are set left, numbers right */
    int drop;
};
struct sl_text_table {
    size_t column_count, row_count;
    const struct sl_column *column;
    char (*cell)[SL_COLUMNS_MAX][SL_CELL_BYTES];
    const double (*swatch)[3]; /* a row's colour, before the last column; NULL: none */
};
void sl_print_table(struct sl_printer *printer, const char *indent,
                    const struct sl_text_table *table);

/* What replicates give together. */
void sl_print_replicate(struct sl_printer *printer, const struct sl_document *document,
                        const struct sl_replicate *set);
/* The overlay's part of the text. */
void sl_print_overlay(struct sl_printer *printer, const struct sl_document *document,
                      const struct sl_overlay *overlay);

#endif
