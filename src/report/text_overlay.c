// SPDX-License-Identifier: GPL-3.0-or-later
/* The overlay in words: which strips, how alike each two, which dyes they may share. */
#include "text_print.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LETTERS = 26, MARK_BYTES = 4, CELL_WIDTH = 5 };

/* A, B ... Z, A2, B2 ... */
static const char *mark(size_t index, char text[MARK_BYTES])
{
    char letter = (char)('A' + index % LETTERS);
    if (index < LETTERS)
        snprintf(text, MARK_BYTES, "%c", letter);
    else
        snprintf(text, MARK_BYTES, "%c%u", letter, (unsigned)(index / LETTERS + 1) % 10);
    return text;
}

static void print_names(struct sl_printer *printer, const struct sl_overlay *overlay)
{
    for (size_t i = 0; i < overlay->trace_count; i++) {
        char name[MARK_BYTES], first[MARK_BYTES + 8];
        snprintf(first, sizeof first, "  %-3s ", mark(i, name));
        sl_print_paragraph(printer, first, overlay->trace[i].label);
    }
}

static void print_likeness_row(struct sl_printer *printer, const struct sl_overlay *overlay,
                               size_t row, size_t from, size_t to)
{
    char name[MARK_BYTES];
    fprintf(printer->out, "  %-3s", mark(row, name));
    for (size_t j = from; j < to; j++) {
        double likeness = overlay->likeness[row * overlay->trace_count + j];
        if (isfinite(likeness))
            fprintf(printer->out, "%*.0f", CELL_WIDTH, 100 * likeness);
        else
            fprintf(printer->out, "%*s", CELL_WIDTH, "-");
    }
    fputc('\n', printer->out);
}

/* As many columns at a time as the width takes. */
static void print_likeness(struct sl_printer *printer, const struct sl_overlay *overlay)
{
    size_t n = overlay->trace_count;
    size_t block = (size_t)((printer->width - 5) / CELL_WIDTH);
    fputc('\n', printer->out);
    sl_print_paragraph(printer, "", "Likeness in % (100: the same colours at the same heights)");
    for (size_t from = 0; from < n; from += block) {
        size_t to = from + block < n ? from + block : n;
        fputs("     ", printer->out);
        for (size_t j = from; j < to; j++) {
            char name[MARK_BYTES];
            fprintf(printer->out, "%*s", CELL_WIDTH, mark(j, name));
        }
        fputc('\n', printer->out);
        for (size_t i = 0; i < n; i++)
            print_likeness_row(printer, overlay, i, from, to);
    }
}

static const struct sl_band *band_of(const struct sl_document *document,
                                     const struct sl_overlay *overlay, size_t trace, size_t band)
{
    struct sl_strip_ref ref = overlay->trace[trace].ref;
    return &document->reading[ref.photo]->strip[ref.strip].bands.item[band];
}

static const struct sl_column shared_columns[] = {
    {"colour", true, 0},   {"strip hRf", true, 0}, {"strip hRf", true, 0}, {"Rf apart", false, 0},
    {"allowed", false, 2}, {"angle", false, 1},    {"allowed", false, 2},
};
enum { SHARED_COLUMNS = sizeof shared_columns / sizeof *shared_columns };

static void shared_cells(const struct sl_document *document, const struct sl_overlay *overlay,
                         const struct sl_shared_dye *s, char cell[SL_COLUMNS_MAX][SL_CELL_BYTES])
{
    char name[MARK_BYTES], number[SL_NUMBER_BYTES];
    snprintf(cell[0], SL_CELL_BYTES, "%.20s", s->hue_name ? s->hue_name : "");
    snprintf(cell[1], SL_CELL_BYTES, "%s %ld", mark(s->trace_1, name),
             lround(sl_hrf(band_of(document, overlay, s->trace_1, s->band_1)->rf)));
    snprintf(cell[2], SL_CELL_BYTES, "%s %ld", mark(s->trace_2, name),
             lround(sl_hrf(band_of(document, overlay, s->trace_2, s->band_2)->rf)));
    snprintf(cell[3], SL_CELL_BYTES, "%.12s", sl_number(fabs(s->rf_difference), 3, number));
    snprintf(cell[4], SL_CELL_BYTES, "%.12s", sl_number(s->rf_allowance, 3, number));
    snprintf(cell[5], SL_CELL_BYTES, "%.0f", s->signature_angle_deg);
    snprintf(cell[6], SL_CELL_BYTES, "%.0f", s->signature_allowance_deg);
}

static void print_shared(struct sl_printer *printer, const struct sl_document *document,
                         const struct sl_overlay *overlay)
{
    fputc('\n', printer->out);
    if (overlay->shared_count == 0) {
        sl_print_paragraph(printer, "",
                           "No two strips have a band in common that could be one dye.");
        return;
    }
    sl_print_paragraph(printer, "",
                       "Bands that can be the same dye: hRf and the angle between their colours in "
                       "degrees agree as far as is allowed by their uncertainty. A hint, no proof: "
                       "other dyes may run as high and look alike.");
    char(*cell)[SL_COLUMNS_MAX][SL_CELL_BYTES] = calloc(overlay->shared_count, sizeof *cell);
    if (!cell) {
        printer->failed = true;
        return;
    }
    for (size_t i = 0; i < overlay->shared_count; i++)
        shared_cells(document, overlay, &overlay->shared[i], cell[i]);
    struct sl_text_table table = {SHARED_COLUMNS, overlay->shared_count, shared_columns, cell,
                                  NULL};
    sl_print_table(printer, "  ", &table);
    free(cell);
}

void sl_print_overlay(struct sl_printer *printer, const struct sl_document *document,
                      const struct sl_overlay *overlay)
{
    fputc('\n', printer->out);
    sl_print_paragraph(printer, "", "Overlay");
    print_names(printer, overlay);
    if (overlay->trace_count < 2) {
        sl_print_paragraph(printer, "  ", "Only one strip with ink: there is nothing to compare.");
        return;
    }
    print_likeness(printer, overlay);
    print_shared(printer, document, overlay);
}
