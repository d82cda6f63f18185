// SPDX-License-Identifier: GPL-3.0-or-later
#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "figure/png.h"
#include "figure/words.h"
#include "report/html_private.h"

/* Lying down, lower edge to the left, so that it shares the plot's axis. */
static sl_code lie_down(const struct sl_picture *upright, struct sl_picture *ret,
                        struct sl_status *status)
{
    size_t width = (size_t)upright->height, height = (size_t)upright->width;
    ret->rgb = malloc(width * height * 3);
    if (!ret->rgb)
        return sl_status_set(status, SL_E_MEMORY, "report/html", "Report fewer photos at once.",
                             "There is not enough memory for the report.");
    ret->width = upright->height;
    ret->height = upright->width;
    for (size_t y = 0; y < height; y++)
        for (size_t x = 0; x < width; x++)
            for (size_t c = 0; c < 3; c++)
                ret->rgb[(y * width + x) * 3 + c] =
                    upright->rgb[((width - 1 - x) * height + y) * 3 + c];
    return SL_OK;
}

static sl_code put_picture(struct html *html, const struct sl_strip *strip, size_t number,
                           struct sl_status *status)
{
    struct sl_picture lying = {0};
    char *base64 = NULL;
    if (!strip->picture.rgb || strip->picture.width < 1 || strip->picture.height < 1)
        return SL_OK;
    sl_code code = lie_down(&strip->picture, &lying, status);
    if (code == SL_OK)
        code = png_base64(&lying, &base64, status);
    if (code == SL_OK)
        fprintf(html->out,
                "<img class=\"strip-picture\" id=\"picture-%zu\" alt=\"The strip straightened, its "
                "lower edge to the left\" src=\"data:image/png;base64,%s\">\n",
                number, base64);
    g_free(base64);
    free(lying.rgb);
    return code;
}

/* Without a minus before zero, with a true one before other numbers. */
static void put_number_cell(struct html *html, const char *format, double value)
{
    char text[32] = "–", signed_text[40];
    if (isfinite(value))
        g_snprintf(text, sizeof text, format, fabs(value));
    bool negative = value < 0 && strpbrk(text, "123456789");
    snprintf(signed_text, sizeof signed_text, "%s%s", negative ? "−" : "", text);
    html_cell(html, "td", "class=\"n\"", signed_text);
}

static void put_band(struct html *html, const struct sl_band *band, size_t number)
{
    char text[96];
    fprintf(html->out, "<tr><th scope=\"row\">%zu. ", number);
    html_swatch(html, band->lab_d50);
    html_text(html, band->hue_name ? band->hue_name : "");
    fputs("</th>", html->out);
    words_rf(band->rf, band->rf_interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    put_number_cell(html, "%.0f", 100 * band->rf);
    words_share(band->share, band->share_interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    html_cell(html, "td", "", band->retained ? "yes" : "no");
    put_number_cell(html, "%.3f", band->half_width_rf);
    put_number_cell(html, "%.2f", band->asymmetry);
    put_number_cell(html, "%.2f", band->resolution_to_next);
    words_hue(band->hue_deg, band->hue_interval, text, sizeof text);
    html_cell(html, "td", "class=\"n\"", text);
    snprintf(text, sizeof text, "–");
    if (isfinite(band->lab_d50[0] + band->lab_d50[1] + band->lab_d50[2]))
        snprintf(text, sizeof text, "%.1f, %.1f, %.1f", band->lab_d50[0], band->lab_d50[1],
                 band->lab_d50[2]);
    html_cell(html, "td", "class=\"n\"", text);
    fputs("</tr>\n", html->out);
}

static void put_bands(struct html *html, const struct sl_bands *bands)
{
    if (!bands->count)
        return;
    html_table_begin(html, "Bands, lowest first, with 95 % intervals");
    fputs("<thead><tr><th scope=\"col\">Hue</th><th scope=\"col\" class=\"n\">Rf</th>"
          "<th scope=\"col\" class=\"n\">hRf</th><th scope=\"col\" class=\"n\">Share</th>"
          "<th scope=\"col\">Retained</th><th scope=\"col\" class=\"n\">Width at half height</th>"
          "<th scope=\"col\" class=\"n\">Asymmetry</th><th scope=\"col\" class=\"n\">Resolution to "
          "the next</th><th scope=\"col\" class=\"n\">Hue angle</th><th scope=\"col\" class=\"n\">"
          "L*, a*, b*</th></tr></thead><tbody>\n",
          html->out);
    for (size_t i = 0; i < bands->count; i++)
        put_band(html, &bands->item[i], i + 1);
    html_table_end(html);
}

static void put_reaches(struct html *html, const struct sl_bands *bands)
{
    if (!bands->reach_count)
        return;
    html_table_begin(html, "How far each colour reaches");
    fputs("<thead><tr><th scope=\"col\">Hue</th><th scope=\"col\" class=\"n\">From Rf</th>"
          "<th scope=\"col\" class=\"n\">To Rf</th><th scope=\"col\" class=\"n\">Share</th></tr>"
          "</thead><tbody>\n",
          html->out);
    for (size_t i = 0; i < bands->reach_count; i++) {
        const struct sl_reach *reach = &bands->reach[i];
        char share[64];
        fputs("<tr>", html->out);
        html_cell(html, "th", "scope=\"row\"", reach->hue_name ? reach->hue_name : "");
        put_number_cell(html, "%.2f", reach->first_rf);
        put_number_cell(html, "%.2f", reach->last_rf);
        words_share(reach->share, NULL, share, sizeof share);
        html_cell(html, "td", "class=\"n\"", share);
        fputs("</tr>\n", html->out);
    }
    html_table_end(html);
}

static const char *front_words(enum sl_front_seen seen)
{
    switch (seen) {
    case SL_FRONT_DYE:
        return "seen where the dye ends";
    case SL_FRONT_WATER_LINE:
        return "seen by the water's line";
    case SL_FRONT_PENCIL:
        return "seen by a pencil mark";
    case SL_FRONT_GIVEN:
        return "set by hand";
    case SL_FRONT_NOT_SEEN:
        break;
    }
    return "not seen";
}

static void put_place(char *ret, size_t size, const char *how, double place, double sigma)
{
    if (!isfinite(place))
        snprintf(ret, size, "%s", how);
    else if (isfinite(sigma) && sigma > 0)
        snprintf(ret, size, "%.3f ± %.3f of the strip's length from its lower edge, %s", place,
                 1.96 * sigma, how);
    else
        snprintf(ret, size, "%.3f of the strip's length from its lower edge, %s", place, how);
}

static void put_measures(struct html *html, const struct sl_strip *strip)
{
    const struct sl_marks *marks = &strip->marks;
    char text[160];
    fputs("<details><summary>Where things lie on the strip</summary><dl>\n", html->out);
    put_place(text, sizeof text, marks->given_origin ? "set by hand" : "found", marks->origin,
              marks->given_origin ? 0 : marks->origin_sigma);
    html_fact(html, "Origin", text);
    put_place(text, sizeof text, front_words(marks->front_seen), marks->front,
              marks->given_front ? 0 : marks->front_sigma);
    html_fact(html, "Front", text);
    if (isfinite(strip->length_mm)) {
        snprintf(text, sizeof text, "%.1f mm", strip->length_mm);
        html_fact(html, "Length", text);
    }
    const struct sl_point *c = strip->outline.corner_px;
    snprintf(text, sizeof text, "(%.0f, %.0f) (%.0f, %.0f) (%.0f, %.0f) (%.0f, %.0f) px", c[0].x,
             c[0].y, c[1].x, c[1].y, c[2].x, c[2].y, c[3].x, c[3].y);
    html_fact(html, "Corners, lower left first", text);
    fputs("</dl></details>\n", html->out);
}

sl_code html_strip(struct html *html, struct sl_strip_ref ref, struct sl_status *status)
{
    const struct sl_reading *reading = html->document->reading[ref.photo];
    const struct sl_strip *strip = &reading->strip[ref.strip];
    size_t number = html_strip_number(html, ref);
    char words[2 * WORDS_BYTES], name[SL_PHOTO_NAME_MAX + 32];
    words_strip_name(reading, ref.strip, name, sizeof name);
    words_strip(strip, words, sizeof words);
    fprintf(html->out, "<article id=\"strip-%zu\">\n<h3>", number + 1);
    html_text(html, name);
    fputs(", ", html->out);
    html_text(html, words_role(strip->role));
    fputs("</h3>\n", html->out);
    html_element(html, "p", words);
    html_warnings(html, &strip->warnings);
    sl_code code = put_picture(html, strip, number, status);
    if (code != SL_OK)
        return code;
    fprintf(html->out, "<div class=\"plot\" data-strip=\"%zu\" data-words=\"", number);
    html_text(html, words);
    fputs("\"></div>\n", html->out);
    put_bands(html, &strip->bands);
    put_reaches(html, &strip->bands);
    put_measures(html, strip);
    fputs("</article>\n", html->out);
    return SL_OK;
}
