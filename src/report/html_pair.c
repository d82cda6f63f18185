// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "figure/draw.h"
#include "figure/words.h"
#include "report/html_private.h"

static void put_retained(struct html *html, const struct sl_pair *pair)
{
    if (!*pair->retained_hue_name)
        return;
    fputs("<div class=\"retained\">", html->out);
    html_swatch(html, pair->retained_lab_d50);
    fputs("what is retained:<br>", html->out);
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

static void put_share_row(struct html *html, const char *name, const double retained[3],
                          const double bound[3])
{
    char text[96];
    fputs("<tr>", html->out);
    html_cell(html, "th", "scope=\"row\"", name);
    words_share(retained[0], retained + 1, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    words_share(bound[0], bound + 1, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    fputs("</tr>\n", html->out);
}

static void put_shares(struct html *html, const struct sl_pair *pair)
{
    const double *a = pair->immediate_retained_interval, *b = pair->dried_retained_interval;
    const double *c = pair->immediate_bound_interval, *d = pair->dried_bound_interval;
    html_table_begin(html, "What lay at the origin, with 95 % intervals");
    fputs("<thead><tr><th scope=\"col\">Strip</th><th scope=\"col\" class=\"n\">Retained share</th>"
          "<th scope=\"col\" class=\"n\">Bound share</th></tr></thead><tbody>\n",
          html->out);
    put_share_row(html, "dipped at once",
                  (const double[]){pair->immediate_retained_share, a[0], a[1]},
                  (const double[]){pair->immediate_bound_share, c[0], c[1]});
    put_share_row(html, "dried first", (const double[]){pair->dried_retained_share, b[0], b[1]},
                  (const double[]){pair->dried_bound_share, d[0], d[1]});
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

static void put_words(struct html *html, const char *attributes,
                      void (*words)(const struct sl_pair *, char *, size_t),
                      const struct sl_pair *pair)
{
    char text[WORDS_BYTES];
    words(pair, text, sizeof text);
    if (*text)
        html_cell(html, "p", attributes, text);
}

static sl_code put_scale(struct html *html, const struct sl_pair *pair, struct sl_status *status)
{
    char prefix[16];
    struct figure_bytes figure = {0};
    snprintf(prefix, sizeof prefix, "f%u-", html->figures++);
    struct figure_target target = {SL_FIGURE_SVG, NULL, prefix};
    sl_code code = figure_draw_scale(pair, &target, &figure, &html->warnings, status);
    if (code != SL_OK)
        return code;
    fputs("<div class=\"scale\">", html->out);
    html_svg(html, figure.bytes, figure.count);
    fputs("</div>\n", html->out);
    free(figure.bytes);
    return SL_OK;
}

/* The answer and how sure it is, the scale, then what else is known. */
static sl_code put_verdict(struct html *html, const struct sl_pair *pair, const char *more,
                           struct sl_status *status)
{
    sl_code code = SL_OK;
    html_text(html, words_pair_name(html->document, pair));
    fprintf(html->out, ": does it stay when water passes?%s</h2>\n<div class=\"verdict\"><div>\n",
            more);
    put_words(html, "class=\"answer\"", words_answer, pair);
    put_words(html, "class=\"sure\"", words_sure, pair);
    if (pair->unjudged == SL_JUDGED)
        code = put_scale(html, pair, status);
    put_words(html, "", words_level, pair);
    fputs("</div>\n", html->out);
    put_retained(html, pair);
    fputs("</div>\n", html->out);
    put_reasons(html, pair);
    put_words(html, "class=\"soak\"", words_soak, pair);
    html_cell(html, "p", "class=\"caution\"", sl_retention_caution());
    html_warnings(html, &pair->warnings);
    return code;
}

sl_code html_combined(struct html *html, size_t index, struct sl_status *status)
{
    const struct sl_pair *pair = &html->document->combined[index].pair;
    fprintf(html->out, "<section id=\"combined-%zu\">\n<h2>", index + 1);
    sl_code code = put_verdict(html, pair, " All strips together", status);
    fputs("</section>\n", html->out);
    return code;
}

sl_code html_pair(struct html *html, size_t index, struct sl_status *status)
{
    const struct sl_pair *pair = &html->document->pair[index];
    fprintf(html->out, "<section id=\"pair-%zu\">\n<h2>", index + 1);
    sl_code code = put_verdict(html, pair, "", status);
    if (code == SL_OK)
        code = put_figure(html, pair, status);
    put_advice(html, pair);
    put_shares(html, pair);
    fputs("</section>\n", html->out);
    return code;
}
