// SPDX-License-Identifier: GPL-3.0-or-later
#include <glib.h>
#include <math.h>
#include <string.h>

#include "report/html_private.h"

void html_text(struct html *html, const char *text)
{
    char *valid = g_utf8_make_valid(text, -1);
    for (char *c = valid; *c; c++)
        if ((unsigned char)*c < 0x20 && *c != '\n')
            *c = ' ';
    char *escaped = g_markup_escape_text(valid, -1);
    fputs(escaped, html->out);
    g_free(escaped);
    g_free(valid);
}

void html_element(struct html *html, const char *tag, const char *text)
{
    html_cell(html, tag, "", text);
}

void html_cell(struct html *html, const char *tag, const char *attributes, const char *text)
{
    fprintf(html->out, "<%s%s%s>", tag, *attributes ? " " : "", attributes);
    html_text(html, text);
    fprintf(html->out, "</%s>\n", tag);
}

void html_swatch(struct html *html, const double lab_d50[3])
{
    uint8_t rgb[3];
    if (!isfinite(lab_d50[0] + lab_d50[1] + lab_d50[2]))
        return;
    sl_lab_to_srgb8(html->lab, lab_d50, rgb);
    fprintf(html->out, "<span class=\"swatch\" style=\"background:#%02x%02x%02x\"></span>", rgb[0],
            rgb[1], rgb[2]);
}

/* A plain word gets a capital; the name of a file stays as it is. */
static bool starts_with_word(const char *text)
{
    size_t n = strspn(text, "abcdefghijklmnopqrstuvwxyz'");
    return n > 0 && strchr(" ,:", text[n]);
}

void html_sentence(struct html *html, const char *text)
{
    size_t n = strlen(text);
    if (n == 0)
        return;
    bool word = starts_with_word(text);
    if (word)
        fputc(g_ascii_toupper(text[0]), html->out);
    html_text(html, text + word);
    fputs(strchr(".!?", text[n - 1]) ? " " : ". ", html->out);
}

void html_warnings(struct html *html, const struct sl_warnings *warnings)
{
    if (!warnings->count)
        return;
    fputs("<ul class=\"warnings\">\n", html->out);
    for (size_t i = 0; i < warnings->count; i++) {
        fputs("<li><b>Note:</b> ", html->out);
        html_sentence(html, warnings->item[i].message);
        html_sentence(html, warnings->item[i].remedy);
        fputs("</li>\n", html->out);
    }
    fputs("</ul>\n", html->out);
}

void html_fact(struct html *html, const char *name, const char *value)
{
    if (!value || !*value)
        return;
    html_element(html, "dt", name);
    html_element(html, "dd", value);
}

void html_table_begin(struct html *html, const char *caption)
{
    fputs("<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"", html->out);
    html_text(html, caption);
    fputs("\"><table>\n", html->out);
    fputs("<caption>", html->out);
    html_element(html, "span", caption);
    fputs("</caption>\n", html->out);
}

void html_table_end(struct html *html)
{
    fputs("</tbody></table></div>\n", html->out);
}

size_t html_strip_number(const struct html *html, struct sl_strip_ref ref)
{
    size_t number = ref.strip;
    for (size_t p = 0; p < ref.photo; p++)
        number += html->document->reading[p]->strip_count;
    return number;
}

void html_svg(struct html *html, const char *svg, size_t bytes)
{
    fwrite(svg, 1, bytes, html->out);
}
