// SPDX-License-Identifier: GPL-3.0-or-later
/* The overlay in words: which strips, how alike each two, which dyes they may share. */
#include "text_print.h"

#include <glib.h>
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

static bool is_of(const struct sl_shared_dye *s, size_t trace, size_t band)
{
    return (s->trace_1 == trace && s->band_1 == band) || (s->trace_2 == trace && s->band_2 == band);
}

static bool touch(const struct sl_shared_dye *a, const struct sl_shared_dye *b)
{
    return is_of(a, b->trace_1, b->band_1) || is_of(a, b->trace_2, b->band_2);
}

/* Pairs that share a band, directly or through others, get one number; there are few. */
static void number_groups(const struct sl_overlay *overlay, size_t *group)
{
    for (size_t i = 0; i < overlay->shared_count; i++) {
        group[i] = i;
        for (size_t j = 0; j < i; j++) {
            if (group[j] == group[i] || !touch(&overlay->shared[i], &overlay->shared[j]))
                continue;
            size_t kept = MIN(group[i], group[j]), gone = MAX(group[i], group[j]);
            for (size_t k = 0; k <= i; k++)
                if (group[k] == gone)
                    group[k] = kept;
        }
    }
}

static bool is_in_group(const struct sl_overlay *overlay, const size_t *group, size_t number,
                        size_t trace, size_t band)
{
    for (size_t i = 0; i < overlay->shared_count; i++)
        if (group[i] == number && is_of(&overlay->shared[i], trace, band))
            return true;
    return false;
}

/* "blue: A hRf 43, C hRf 44" */
static void print_group(struct sl_printer *printer, const struct sl_document *document,
                        const struct sl_overlay *overlay, const size_t *group, size_t number)
{
    char name[MARK_BYTES];
    const char *hue = overlay->shared[number].hue_name;
    GString *line = g_string_new(hue ? hue : "");
    const char *comma = ": ";
    for (size_t t = 0; t < overlay->trace_count; t++)
        for (size_t b = 0; b < SL_BANDS_MAX; b++) {
            if (!is_in_group(overlay, group, number, t, b))
                continue;
            g_string_append_printf(line, "%s%s hRf %ld", comma, mark(t, name),
                                   lround(sl_hrf(band_of(document, overlay, t, b)->rf)));
            comma = ", ";
        }
    sl_print_paragraph(printer, "  - ", line->str);
    g_string_free(line, TRUE);
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
    size_t *group = calloc(overlay->shared_count, sizeof *group);
    if (!group) {
        printer->failed = true;
        return;
    }
    number_groups(overlay, group);
    for (size_t i = 0; i < overlay->shared_count; i++)
        if (group[i] == i)
            print_group(printer, document, overlay, group, i);
    free(group);
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
