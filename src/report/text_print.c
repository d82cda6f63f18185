// SPDX-License-Identifier: GPL-3.0-or-later
#include "text_print.h"

#include <glib.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { GAP = 2, SWATCH_WIDTH = 3, PARAGRAPH_BYTES = 1200 };

int sl_text_width(const char *text)
{
    int width = 0;
    for (const char *at = text; *at; at = g_utf8_next_char(at)) {
        gunichar c = g_utf8_get_char(at);
        width += g_unichar_iszerowidth(c) ? 0 : g_unichar_iswide(c) ? 2 : 1;
    }
    return width;
}

static void pad(FILE *out, int columns)
{
    if (columns > 0)
        fprintf(out, "%*s", columns, "");
}

static bool is_gap(char c)
{
    return c == ' ' || c == '\n';
}

/* Cuts off the next word; a percent sign stays with its number. */
static char *next_word(char **text)
{
    while (is_gap(**text))
        (*text)++;
    char *word = *text, *end = word;
    while (*end && !(is_gap(*end) && end[1] != '%'))
        end++;
    *text = *end ? end + 1 : end;
    *end = '\0';
    return *word ? word : NULL;
}

/* `text` is sound UTF-8 by now. */
static void put_words(struct sl_printer *printer, const char *first, char *text)
{
    int indent = sl_text_width(first), column = indent;
    bool at_start = true;
    fputs(first, printer->out);
    for (char *word = next_word(&text); word; word = next_word(&text)) {
        int width = sl_text_width(word);
        if (!at_start && column + 1 + width > printer->width) {
            fputc('\n', printer->out);
            pad(printer->out, indent);
            column = indent;
            at_start = true;
        }
        fprintf(printer->out, "%s%s", at_start ? "" : " ", word);
        column += width + !at_start;
        at_start = false;
    }
    fputc('\n', printer->out);
}

void sl_print_paragraph(struct sl_printer *printer, const char *first, const char *text)
{
    char *clean = sl_text_clean(text, SL_TEXT_REPLACE_CONTROLS);
    if (clean)
        put_words(printer, first, clean);
    else
        printer->failed = true;
    free(clean);
}

void sl_print_format(struct sl_printer *printer, const char *first, const char *format, ...)
{
    char text[PARAGRAPH_BYTES];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    sl_print_paragraph(printer, first, text);
}

/* Messages that begin with a plain word begin a sentence here; a file's name stays as it is. */
static void start_sentence(char *text)
{
    size_t word = strspn(text, "abcdefghijklmnopqrstuvwxyz");
    if (word && strchr(" ,:", text[word]))
        text[0] = g_ascii_toupper(text[0]);
}

void sl_print_problem(struct sl_printer *printer, const char *first,
                      const struct sl_status *problem)
{
    char text[2 * SL_MESSAGE_MAX + 4];
    size_t n = strlen(problem->message);
    bool has_end = n && strchr(".!?", problem->message[n - 1]);
    snprintf(text, sizeof text, "%s%s %s", problem->message, has_end ? "" : ".", problem->remedy);
    start_sentence(text);
    sl_print_paragraph(printer, first, text);
}

void sl_print_warnings(struct sl_printer *printer, const char *first,
                       const struct sl_warnings *warnings)
{
    for (size_t i = 0; i < warnings->count; i++)
        sl_print_problem(printer, first, &warnings->item[i]);
}

void sl_print_swatch(struct sl_printer *printer, const double lab_d50[3])
{
    if (!printer->lab)
        return;
    uint8_t srgb[3];
    sl_lab_to_srgb8(printer->lab, lab_d50, srgb);
    fprintf(printer->out, "\033[48;2;%u;%u;%um  \033[0m ", srgb[0], srgb[1], srgb[2]);
}

static int column_width(const struct sl_text_table *table, size_t column)
{
    int width = sl_text_width(table->column[column].title);
    for (size_t row = 0; row < table->row_count; row++)
        width = MAX(width, sl_text_width(table->cell[row][column]));
    return width;
}

/* The level of `drop` from which on columns go; one above the highest where all fit. */
static int choose_columns(const struct sl_text_table *table, int room)
{
    int level = 0;
    for (size_t c = 0; c < table->column_count; c++)
        level = MAX(level, table->column[c].drop);
    for (level++; level > 1; level--) {
        int width = -GAP;
        for (size_t c = 0; c < table->column_count; c++)
            if (table->column[c].drop < level)
                width += column_width(table, c) + GAP;
        if (width <= room)
            break;
    }
    return level;
}

static void put_cell(FILE *out, const char *text, int width, bool is_left, bool is_last)
{
    int room = width - sl_text_width(text);
    if (!is_left)
        pad(out, room);
    fputs(text, out);
    if (is_left && !is_last)
        pad(out, room);
}

/* Row -1 is the titles. */
static void put_row(struct sl_printer *printer, const struct sl_text_table *table, int row,
                    int level)
{
    bool is_first = true;
    for (size_t c = 0; c < table->column_count; c++) {
        const struct sl_column *column = &table->column[c];
        bool is_last = c + 1 == table->column_count;
        if (column->drop >= level)
            continue;
        if (!is_first)
            pad(printer->out, GAP);
        is_first = false;
        if (is_last && row >= 0 && table->swatch)
            sl_print_swatch(printer, table->swatch[row]);
        else if (is_last && printer->lab && table->swatch)
            pad(printer->out, SWATCH_WIDTH);
        put_cell(printer->out, row < 0 ? column->title : table->cell[row][c],
                 column_width(table, c), column->is_left, is_last);
    }
    fputc('\n', printer->out);
}

void sl_print_table(struct sl_printer *printer, const char *indent,
                    const struct sl_text_table *table)
{
    int swatch = printer->lab && table->swatch ? SWATCH_WIDTH : 0;
    int level = choose_columns(table, printer->width - sl_text_width(indent) - swatch);
    for (int row = -1; row < (int)table->row_count; row++) {
        fputs(indent, printer->out);
        put_row(printer, table, row, level);
    }
}
