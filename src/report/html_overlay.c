// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "figure/draw.h"
#include "figure/words.h"
#include "report/html_private.h"

static sl_code put_figure(struct html *html, struct sl_status *status)
{
    char prefix[16];
    snprintf(prefix, sizeof prefix, "f%u-", html->figures++);
    struct figure_target target = {SL_FIGURE_SVG, NULL, prefix};
    struct figure_bytes figure = {0};
    sl_code code = figure_draw_overlay(html->document, html->overlay, &target, &figure,
                                       &html->warnings, status);
    if (code != SL_OK)
        return code;
    fputs("<figure class=\"overlay\">\n", html->out);
    html_svg(html, figure.bytes, figure.count);
    html_element(
        html, "figcaption",
        "Every line is one strip's dye load; the ribbons show its colours along Rf. Letters "
        "mark bands that may be the same dye.");
    fputs("</figure>\n", html->out);
    free(figure.bytes);
    return SL_OK;
}

static void put_likeness(struct html *html)
{
    const struct sl_overlay *o = html->overlay;
    char text[32];
    html_table_begin(html, "Likeness of the profiles: 1 is the same, 0 has nothing in common");
    fputs("<thead><tr><th scope=\"col\">Strip</th>", html->out);
    for (size_t j = 0; j < o->trace_count; j++)
        fprintf(html->out, "<th scope=\"col\" class=\"n\">%zu</th>", j + 1);
    fputs("</tr></thead><tbody>\n", html->out);
    for (size_t i = 0; i < o->trace_count; i++) {
        fprintf(html->out, "<tr><th scope=\"row\">%zu. ", i + 1);
        html_text(html, o->trace[i].label);
        fputs("</th>", html->out);
        for (size_t j = 0; j < o->trace_count; j++) {
            double v = o->likeness[i * o->trace_count + j];
            snprintf(text, sizeof text, isfinite(v) ? "%.2f" : "–", v);
            html_cell(html, "td", "class=\"n\"", text);
        }
        fputs("</tr>\n", html->out);
    }
    html_table_end(html);
}

static double band_rf(const struct html *html, size_t trace, size_t band)
{
    struct sl_strip_ref ref = html->overlay->trace[trace].ref;
    const struct sl_bands *bands = &html->document->reading[ref.photo]->strip[ref.strip].bands;
    return band < bands->count ? bands->item[band].rf : NAN;
}

static void put_band(struct html *html, size_t trace, size_t band)
{
    char rf[32], text[SL_NAME_MAX + 96];
    words_rf(band_rf(html, trace, band), NULL, rf, sizeof rf);
    snprintf(text, sizeof text, "%s, Rf %s", html->overlay->trace[trace].label, rf);
    html_cell(html, "td", "", text);
}

static void put_shared(struct html *html)
{
    const struct sl_overlay *o = html->overlay;
    char text[64];
    if (!o->shared_count) {
        html_element(html, "p", "No two bands agree in Rf and colour within their intervals.");
        return;
    }
    html_table_begin(html, "Bands that may be the same dye");
    fputs("<thead><tr><th scope=\"col\">Hue</th><th scope=\"col\">One band</th><th scope=\"col\">"
          "Another band</th><th scope=\"col\" class=\"n\">Rf apart (allowed)</th><th scope=\"col\" "
          "class=\"n\">Signature apart (allowed)</th></tr></thead><tbody>\n",
          html->out);
    for (size_t i = 0; i < o->shared_count; i++) {
        const struct sl_shared_dye *dye = &o->shared[i];
        fputs("<tr>", html->out);
        html_cell(html, "td", "", dye->hue_name ? dye->hue_name : "");
        put_band(html, dye->trace_1, dye->band_1);
        put_band(html, dye->trace_2, dye->band_2);
        snprintf(text, sizeof text, "%.3f (%.3f)", fabs(dye->rf_difference), dye->rf_allowance);
        html_cell(html, "td", "class=\"n\"", text);
        snprintf(text, sizeof text, "%.1f° (%.1f°)", dye->signature_angle_deg,
                 dye->signature_allowance_deg);
        html_cell(html, "td", "class=\"n\"", text);
        fputs("</tr>\n", html->out);
    }
    html_table_end(html);
}

sl_code html_overlay(struct html *html, struct sl_status *status)
{
    fputs("<section id=\"overlay\">\n<h2>All strips on one Rf axis</h2>\n", html->out);
    sl_code code = put_figure(html, status);
    if (code != SL_OK)
        return code;
    put_shared(html);
    put_likeness(html);
    fputs("</section>\n", html->out);
    return SL_OK;
}
