// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "figure/draw.h"
#include "figure/words.h"
#include "report/html_private.h"

static void put_stays(struct html *html, const struct sl_pair *pair)
{
    if (!pair->retained_hue_name || !*pair->retained_hue_name)
        return;
    fputs("<div class=\"stays\">", html->out);
    html_swatch(html, pair->retained_lab_d50);
    fputs("what stays:<br>", html->out);
    html_text(html, pair->retained_hue_name);
    fputs("</div>\n", html->out);
}

static void put_reasons(struct html *html, const struct sl_pair *pair)
{
    if (!pair->reason_count)
        return;
    fputs("<h3>Why</h3>\n<ul>\n", html->out);
    for (size_t i = 0; i < pair->reason_count; i++)
        html_element(html, "li", pair->reason[i]);
    fputs("</ul>\n", html->out);
}

static void put_advice(struct html *html, const struct sl_pair *pair)
{
    if (!pair->advice_count)
        return;
    fputs("<h3>For a narrower range</h3>\n<ul>\n", html->out);
    for (size_t i = 0; i < pair->advice_count; i++)
        html_element(html, "li", pair->advice[i]);
    fputs("</ul>\n", html->out);
}

static void put_share_row(struct html *html, const char *name, const struct sl_bands *bands,
                          double bound, const double interval[2])
{
    char text[96];
    fputs("<tr>", html->out);
    html_cell(html, "th", "scope=\"row\"", name);
    words_share(bands->retained_share, bands->retained_interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    words_share(bound, interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    fputs("</tr>\n", html->out);
}

static const struct sl_strip *strip_of(const struct html *html, struct sl_strip_ref ref)
{
    return &html->document->reading[ref.photo]->strip[ref.strip];
}

static void put_shares(struct html *html, const struct sl_pair *pair)
{
    html_table_begin(html, "What stayed at the origin, with 95 % intervals");
    fputs("<thead><tr><th scope=\"col\">Strip</th><th scope=\"col\" class=\"n\">Retained share</th>"
          "<th scope=\"col\" class=\"n\">Bound share</th></tr></thead><tbody>\n",
          html->out);
    put_share_row(html, "dipped at once", &strip_of(html, pair->immediate)->bands,
                  pair->immediate_bound_share, pair->immediate_bound_interval);
    put_share_row(html, "dried first", &strip_of(html, pair->dried)->bands, pair->dried_bound_share,
                  pair->dried_bound_interval);
    html_table_end(html);
}

static sl_code put_figure(struct html *html, const struct sl_pair *pair, struct sl_status *status)
{
    char prefix[16];
    snprintf(prefix, sizeof prefix, "f%u-", html->figures++);
    struct figure_target target = {SL_FIGURE_SVG, NULL, prefix};
    struct figure_bytes figure = {0};
    sl_code code =
        figure_draw_pair(html->document, pair, &target, &figure, &html->warnings, status);
    if (code != SL_OK)
        return code;
    fputs("<figure class=\"pair\">\n", html->out);
    html_svg(html, figure.bytes, figure.count);
    html_element(
        html, "figcaption",
        "Both strips on one Rf axis: dipped at once to the left, dried first to the right. "
        "The yellow zone is the origin, where retained dye is counted.");
    fputs("</figure>\n", html->out);
    free(figure.bytes);
    return SL_OK;
}

static void put_verdict(struct html *html, const struct sl_pair *pair, const char *more)
{
    char number[64], line[160];
    html_text(html, words_pair_name(html->document, pair));
    fprintf(html->out, ": does it stay when water passes?%s</h2>\n<div class=\"verdict\"><div>\n",
            more);
    html_cell(html, "p", "class=\"level\"", words_level(pair));
    words_index(pair->index, pair->index_interval, number, sizeof number);
    snprintf(line, sizeof line, "Retention index %s. %s", number, words_hold(pair));
    fputs("<p><strong>", html->out);
    html_text(html, line);
    fputs("</strong></p>\n", html->out);
    html_element(html, "p", words_water(pair));
    fputs("</div>\n", html->out);
    put_stays(html, pair);
    fputs("</div>\n", html->out);
    html_cell(html, "p", "class=\"caution\"", sl_retention_caution());
    html_warnings(html, &pair->warnings);
}

void html_combined(struct html *html, size_t index)
{
    const struct sl_pair *pair = &html->document->combined[index].pair;
    fprintf(html->out, "<section id=\"combined-%zu\">\n<h2>", index + 1);
    put_verdict(html, pair, " All strips together");
    put_reasons(html, pair);
    fputs("</section>\n", html->out);
}

sl_code html_pair(struct html *html, size_t index, struct sl_status *status)
{
    const struct sl_pair *pair = &html->document->pair[index];
    fprintf(html->out, "<section id=\"pair-%zu\">\n<h2>", index + 1);
    put_verdict(html, pair, "");
    sl_code code = put_figure(html, pair, status);
    put_reasons(html, pair);
    put_advice(html, pair);
    put_shares(html, pair);
    fputs("</section>\n", html->out);
    return code;
}
