// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "figure/draw.h"
#include "figure/words.h"
#include "report/html_private.h"

/* "0.012"; a dash where a single strip has the number. */
static void put_spread(struct html *html, const struct sl_mean *mean, double factor,
                       const char *format)
{
    char text[32] = "–";
    if (isfinite(mean->between_sd))
        snprintf(text, sizeof text, format, factor * mean->between_sd);
    html_cell(html, "td", "class=\"n\"", text);
}

static void put_share(struct html *html, const struct sl_mean *mean)
{
    char text[96];
    words_share(mean->value, mean->interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    put_spread(html, mean, 100, "%.1f %%");
}

static void put_band(struct html *html, const struct sl_replicate *set, size_t k)
{
    const struct sl_replicate_band *band = &set->band[k];
    char text[96];
    fprintf(html->out, "<tr><th scope=\"row\">%zu. ", k + 1);
    html_swatch(html, band->lab_d50);
    html_text(html, band->hue_name);
    fputs("</th>", html->out);
    words_rf(band->rf.value, band->rf.interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    put_spread(html, &band->rf, 1, "%.3f");
    put_share(html, &band->share);
    snprintf(text, sizeof text, "%zu of %zu", band->rf.count, set->strip_count);
    html_cell(html, "td", "class=\"n\"", text);
    fputs("</tr>\n", html->out);
}

static void put_bands(struct html *html, const struct sl_replicate *set)
{
    if (!set->band_count)
        return;
    html_table_begin(html, "Dyes of all strips, lowest first: means with 95 % intervals, and the "
                           "standard deviation between strips");
    fputs("<thead><tr><th scope=\"col\">Hue</th><th scope=\"col\" class=\"n\">Rf</th>"
          "<th scope=\"col\" class=\"n\">Spread</th><th scope=\"col\" class=\"n\">Share</th>"
          "<th scope=\"col\" class=\"n\">Spread</th><th scope=\"col\" class=\"n\">Strips</th></tr>"
          "</thead><tbody>\n",
          html->out);
    for (size_t k = 0; k < set->band_count; k++)
        put_band(html, set, k);
    html_table_end(html);
}

static const struct sl_bands *bands_of(const struct html *html, struct sl_strip_ref ref)
{
    return &html->document->reading[ref.photo]->strip[ref.strip].bands;
}

static void put_strip_row(struct html *html, const struct sl_replicate *set, size_t i)
{
    const struct sl_bands *bands = bands_of(html, set->strip[i]);
    char text[SL_PHOTO_NAME_MAX + 64];
    bool disagrees = fabs(set->bound.deviation[i]) > 1 || fabs(set->retained.deviation[i]) > 1;
    fprintf(html->out, "<tr><th scope=\"row\"><a href=\"#strip-%zu\">strip %zu of ",
            html_strip_number(html, set->strip[i]) + 1, set->strip[i].strip + 1);
    html_text(html, words_file(html->document->reading[set->strip[i].photo]->photo.file));
    fputs("</a></th>", html->out);
    words_share(bands->retained_share, bands->retained_interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    words_share(bands->bound_share, bands->bound_interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    html_cell(html, "td", "", disagrees ? "differs from the others" : "");
    fputs("</tr>\n", html->out);
}

static void put_strips(struct html *html, const struct sl_replicate *set)
{
    char text[96];
    html_table_begin(html, "What lay at the origin, strip by strip and together");
    fputs("<thead><tr><th scope=\"col\">Strip</th><th scope=\"col\" class=\"n\">Retained share</th>"
          "<th scope=\"col\" class=\"n\">Bound share</th><th scope=\"col\"></th></tr></thead>"
          "<tbody>\n",
          html->out);
    for (size_t i = 0; i < set->strip_count; i++)
        put_strip_row(html, set, i);
    fputs("<tr><th scope=\"row\">mean</th>", html->out);
    words_share(set->retained.value, set->retained.interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    words_share(set->bound.value, set->bound.interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    text[0] = '\0';
    if (isfinite(set->retained.between_sd))
        snprintf(text, sizeof text, "spread of the retained share between strips %.1f %%",
                 100 * set->retained.between_sd);
    html_cell(html, "td", "", text);
    fputs("</tr>\n", html->out);
    html_table_end(html);
}

static sl_code put_figure(struct html *html, const struct sl_replicate *set,
                          struct sl_status *status)
{
    char prefix[16];
    snprintf(prefix, sizeof prefix, "f%u-", html->figures++);
    struct figure_target target = {SL_FIGURE_SVG, NULL, prefix};
    struct figure_bytes figure = {0};
    sl_code code =
        figure_draw_replicate(html->document, set, &target, &figure, &html->warnings, status);
    if (code != SL_OK)
        return code;
    fputs("<figure class=\"pair\">\n", html->out);
    html_svg(html, figure.bytes, figure.count);
    fputs("</figure>\n", html->out);
    free(figure.bytes);
    return SL_OK;
}

sl_code html_replicate(struct html *html, size_t index, struct sl_status *status)
{
    const struct sl_replicate *set = &html->document->replicate[index];
    fprintf(html->out, "<section id=\"together-%zu\">\n<h2>", index + 1);
    html_text(html, set->ink);
    fprintf(html->out, ", %s: %zu strips together</h2>\n", words_treatment(set->role),
            set->strip_count);
    html_warnings(html, &set->warnings);
    sl_code code = put_figure(html, set, status);
    put_strips(html, set);
    put_bands(html, set);
    fputs("</section>\n", html->out);
    return code;
}
