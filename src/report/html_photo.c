// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>

#include "figure/words.h"
#include "report/html_private.h"

static void put_error(struct html *html, const struct sl_status *error)
{
    if (error->code == SL_OK)
        return;
    fputs("<ul class=\"errors\"><li><b>Not read:</b> ", html->out);
    html_sentence(html, error->message);
    html_sentence(html, error->remedy);
    fputs("</li></ul>\n", html->out);
}

static void put_conditions(struct html *html, const struct sl_conditions *told)
{
    char text[64];
    html_fact(html, "Paper", told->paper);
    html_fact(html, "Solvent", told->solvent);
    if (isfinite(told->dip_s)) {
        snprintf(text, sizeof text, "%g s", told->dip_s);
        html_fact(html, "Dip", text);
    }
    if (isfinite(told->dried_min)) {
        snprintf(text, sizeof text, "%g min", told->dried_min);
        html_fact(html, "Dried before the dip", text);
    }
    html_fact(html, "Date", told->date);
}

static void put_facts(struct html *html, const struct sl_reading *reading)
{
    const struct sl_photo_info *photo = &reading->photo;
    char text[96];
    fputs("<dl>\n", html->out);
    put_conditions(html, &reading->conditions);
    if (photo->width_px > 0) {
        snprintf(text, sizeof text, "%d × %d pixels%s%s", photo->width_px, photo->height_px,
                 photo->format ? ", " : "", photo->format ? photo->format : "");
        html_fact(html, "Photo", text);
    }
    html_fact(html, "Colour profile", photo->colour_profile);
    html_fact(html, "SHA-256", photo->sha256);
    fputs("</dl>\n", html->out);
}

static void hand_set(struct html *html, size_t strip, const char *what, double value,
                     const char *unit)
{
    if (!isfinite(value))
        return;
    fprintf(html->out, "<li>Strip %zu: %s %.4g%s</li>\n", strip + 1, what, value, unit);
}

static void put_hints(struct html *html, const struct sl_strip_hints *hint, size_t i)
{
    if (hint->has_corners)
        fprintf(html->out, "<li>Strip %zu: corners</li>\n", i + 1);
    hand_set(html, i, "origin", hint->origin, "");
    hand_set(html, i, "front", hint->front, "");
    hand_set(html, i, "length", hint->length_mm, " mm");
    hand_set(html, i, "paper's reflectance", hint->paper_reflectance[1], "");
    if (hint->upside_down >= 0)
        fprintf(html->out, "<li>Strip %zu: %s</li>\n", i + 1,
                hint->upside_down ? "upside down" : "the right way up");
}

static void put_settings(struct html *html, const struct sl_read_options *settings)
{
    size_t hints = settings->hint_count < SL_STRIPS_MAX ? settings->hint_count : SL_STRIPS_MAX;
    fputs("<details><summary>Settings of this reading</summary><ul>\n", html->out);
    for (size_t i = 0; i < hints; i++)
        put_hints(html, &settings->hint[i], i);
    if (settings->role_count)
        html_element(html, "li", "The strips' roles were told.");
    if (settings->ink_count)
        html_element(html, "li", "The inks' names were told.");
    if (settings->profile.across_to > settings->profile.across_from)
        fprintf(html->out, "<li>Averaged across %.0f to %.0f %% of the width%s</li>\n",
                100 * settings->profile.across_from, 100 * settings->profile.across_to,
                settings->profile.straighten_fronts
                    ? ", fronts straightened where that sharpens the result"
                    : "");
    if (!hints)
        html_element(html, "li", "No mark was set by hand.");
    fputs("</ul></details>\n", html->out);
}

static void put_advice(struct html *html, const struct sl_reading *reading)
{
    struct sl_reading_advice advice;
    sl_reading_advise(reading, &advice);
    if (!advice.count)
        return;
    fputs("<h3>What would help most next time</h3>\n<ol class=\"advice\">\n", html->out);
    for (size_t i = 0; i < advice.count; i++) {
        char words[SL_ADVICE_BYTES];
        sl_reading_advice_words(reading, &advice, i, words, sizeof words);
        html_element(html, "li", words);
    }
    fputs("</ol>\n", html->out);
}

sl_code html_photo(struct html *html, size_t photo, struct sl_status *status)
{
    const struct sl_reading *reading = html->document->reading[photo];
    sl_code code = SL_OK;
    fprintf(html->out, "<section id=\"photo-%zu\">\n<h2>Photo ", photo + 1);
    html_text(html, words_file(reading->photo.file));
    fputs("</h2>\n", html->out);
    put_error(html, &reading->error);
    html_warnings(html, &reading->warnings);
    put_facts(html, reading);
    put_settings(html, &reading->settings);
    for (size_t i = 0; i < reading->strip_count && code == SL_OK; i++)
        code = html_strip(html, (struct sl_strip_ref){photo, i}, status);
    put_advice(html, reading);
    fputs("</section>\n", html->out);
    return code;
}
