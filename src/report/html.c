// SPDX-License-Identifier: GPL-3.0-or-later
/* One page that needs nothing but itself: style, scripts, numbers and pictures are inside, and its
 * content security policy forbids the browser to fetch anything or to run any other script. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "figure/words.h"
#include "report/html_assets.h"
#include "report/html_private.h"

static sl_code no_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "report/html", "Report fewer photos at once.",
                         "There is not enough memory for the report.");
}

static size_t strip_count(const struct sl_document *document)
{
    size_t count = 0;
    for (size_t i = 0; i < document->reading_count; i++)
        count += document->reading[i]->strip_count;
    return count;
}

/* The one ink that all strips have, or NULL. */
static const char *only_ink(const struct sl_document *document)
{
    const char *ink = NULL;
    for (size_t p = 0; p < document->reading_count; p++)
        for (size_t i = 0; i < document->reading[p]->strip_count; i++) {
            const struct sl_reading *reading = document->reading[p];
            const char *own = reading->strip[i].ink, *name = *own ? own : reading->conditions.ink;
            if (!*name || (ink && strcmp(ink, name) != 0))
                return NULL;
            ink = name;
        }
    return ink;
}

static void put_title(struct html *html)
{
    const char *ink = only_ink(html->document);
    fputs("Paper chromatography", html->out);
    if (ink) {
        fputs(": ", html->out);
        html_text(html, ink);
    }
}

static void put_head(struct html *html)
{
    FILE *out = html->out;
    fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n", out);
    fputs("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n", out);
    fprintf(out,
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src "
            "data:; style-src 'unsafe-inline'; script-src 'sha256-%s' 'sha256-%s' "
            "'sha256-%s'; base-uri "
            "'none'; form-action 'none'\">\n",
            html_plot_js_sha256, html_profile_plot_js_sha256, html_page_js_sha256);
    fputs("<meta name=\"generator\" content=\"strandline " SL_VERSION "\">\n", out);
    fputs("<link rel=\"icon\" href=\"data:,\">\n<title>", out);
    put_title(html);
    fputs("</title>\n<style>\n", out);
    fwrite(html_plot_css, 1, html_plot_css_bytes, out);
    fwrite(html_page_css, 1, html_page_css_bytes, out);
    fputs("</style>\n</head>\n<body>\n", out);
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

static void put_contents(struct html *html)
{
    const struct sl_document *document = html->document;
    fputs("<nav aria-label=\"Contents\"><ul>\n", html->out);
    for (size_t i = 0; i < document->combined_count; i++) {
        fprintf(html->out, "<li><a href=\"#combined-%zu\">Verdict of all strips: ", i + 1);
        html_text(html, document->combined[i].pair.ink);
        fputs("</a></li>\n", html->out);
    }
    for (size_t i = 0; i < document->replicate_count; i++) {
        const struct sl_replicate *set = &document->replicate[i];
        fprintf(html->out, "<li><a href=\"#together-%zu\">Together: ", i + 1);
        html_text(html, set->ink);
        fprintf(html->out, ", %s</a></li>\n", words_treatment(set->role));
    }
    for (size_t i = 0; i < document->pair_count; i++) {
        fprintf(html->out, "<li><a href=\"#pair-%zu\">Verdict: ", i + 1);
        html_text(html, words_pair_name(document, &document->pair[i]));
        fputs("</a></li>\n", html->out);
    }
    if (html->overlay)
        fputs("<li><a href=\"#overlay\">All strips on one axis</a></li>\n", html->out);
    for (size_t i = 0; i < document->reading_count; i++) {
        fprintf(html->out, "<li><a href=\"#photo-%zu\">Photo ", i + 1);
        html_text(html, words_file(document->reading[i]->photo.file));
        fputs("</a></li>\n", html->out);
    }
    fputs("<li><a href=\"#numbers\">What the numbers mean</a></li>\n</ul></nav>\n", html->out);
}

static void put_header(struct html *html)
{
    const struct sl_document *document = html->document;
    size_t strips = strip_count(document);
    fputs("<header>\n<h1>", html->out);
    put_title(html);
    fprintf(html->out, "</h1>\n<p class=\"muted\">%zu photo%s, %zu strip%s, %zu pair%s compared. ",
            document->reading_count, plural(document->reading_count), strips, plural(strips),
            document->pair_count, plural(document->pair_count));
    fputs("Every number carries its 95 % interval.</p>\n", html->out);
    put_contents(html);
    fputs("</header>\n<main>\n", html->out);
}

static const char numbers_text[] =
    "<section id=\"numbers\">\n<h2>What the numbers mean</h2>\n<dl>\n"
    "<dt>Rf</dt><dd>How far a band's apex climbed from the origin (the ink line, 0) to the front "
    "(the highest point the water reached, 1). hRf is 100 times that.</dd>\n"
    "<dt>Dye load</dt><dd>Kubelka-Munk K/S of the strip less that of its clean paper, red, green "
    "and blue added: it grows with the amount of dye.</dd>\n"
    "<dt>Share</dt><dd>A band's part of the area under the strip's load. It compares colours, not "
    "weights of dye.</dd>\n"
    "<dt>Retained share</dt><dd>The part of the dye that lies at the origin when the strip is "
    "taken "
    "out of the water. It is seen, and the verdict rests on it: the retention index is 100 times "
    "that of the strip that dried first.</dd>\n"
    "<dt>Bound share</dt><dd>The part that would not move at all, however long the dip. It is "
    "inferred, not seen, and says whether a longer soak would take what is retained.</dd>\n"
    "<dt>How sure</dt><dd>Virtually certain: 99 times in 100; very likely: 90; likely: 66; about "
    "as "
    "likely as not: 33 to 66. These are the words of the IPCC's guidance note on uncertainties "
    "(2010).</dd>\n"
    "<dt>Resolution</dt><dd>How well two neighbouring bands part: 1.5 and more is clean, below 1 "
    "they overlap.</dd>\n"
    "<dt>95 % interval</dt><dd>Should hold the true value 95 times in 100. A wide one says that "
    "the photo does not tell.</dd>\n</dl>\n";

static void put_numbers(struct html *html)
{
    fputs(numbers_text, html->out);
    html_cell(html, "p", "class=\"caution\"", sl_retention_caution());
    fputs("</section>\n", html->out);
}

/* The licence asks that its notice goes where the library goes. */
static const char licence_text[] =
    "<details><summary>Licence of the plot library</summary>\n<p>The interactive plots are drawn "
    "by dygraphs, copyright (c) 2006 to 2023 Dan Vanderkam and contributors, under the MIT "
    "licence:</p>\n<pre>Permission is hereby granted, free of charge, to any person obtaining a "
    "copy of this software and associated documentation files (the \"Software\"), to deal in the "
    "Software without restriction, including without limitation the rights to use, copy, modify, "
    "merge, publish, distribute, sublicense, and/or sell copies of the Software, and to permit "
    "persons to whom the Software is furnished to do so, subject to the following conditions:\n\n"
    "The above copyright notice and this permission notice shall be included in all copies or "
    "substantial portions of the Software.\n\n"
    "THE SOFTWARE IS PROVIDED \"AS IS\", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR IMPLIED, "
    "INCLUDING BUT NOT LIMITED TO THE WARRANTIES OF MERCHANTABILITY, FITNESS FOR A PARTICULAR "
    "PURPOSE AND NONINFRINGEMENT. IN NO EVENT SHALL THE AUTHORS OR COPYRIGHT HOLDERS BE LIABLE FOR "
    "ANY CLAIM, DAMAGES OR OTHER LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR OTHERWISE, "
    "ARISING FROM, OUT OF OR IN CONNECTION WITH THE SOFTWARE OR THE USE OR OTHER DEALINGS IN THE "
    "SOFTWARE.</pre></details>\n";

static void put_script(struct html *html, const char *text, size_t bytes)
{
    fputs("<script>", html->out);
    fwrite(text, 1, bytes, html->out);
    fputs("</script>\n", html->out);
}

static sl_code put_end(struct html *html, struct sl_status *status)
{
    put_numbers(html);
    html_warnings(html, &html->warnings);
    fputs("<noscript><p>Without JavaScript the plots along the strips are not shown; pictures, "
          "tables and verdicts are.</p></noscript>\n</main>\n<footer class=\"muted\">\n<p>Made by "
          "strandline " SL_VERSION ". This page is complete in itself and loads nothing.</p>\n",
          html->out);
    fputs(licence_text, html->out);
    fputs("</footer>\n", html->out);
    sl_code code = html_data(html, status);
    put_script(html, html_plot_js, html_plot_js_bytes);
    put_script(html, html_profile_plot_js, html_profile_plot_js_bytes);
    put_script(html, html_page_js, html_page_js_bytes);
    fputs("</body>\n</html>\n", html->out);
    return code;
}

static sl_code put_page(struct html *html, struct sl_status *status)
{
    const struct sl_document *document = html->document;
    sl_code code = SL_OK;
    put_head(html);
    put_header(html);
    for (size_t i = 0; i < document->combined_count && code == SL_OK; i++)
        code = html_combined(html, i, status);
    for (size_t i = 0; i < document->replicate_count && code == SL_OK; i++)
        code = html_replicate(html, i, status);
    for (size_t i = 0; i < document->pair_count && code == SL_OK; i++)
        code = html_pair(html, i, status);
    if (html->overlay && code == SL_OK)
        code = html_overlay(html, status);
    for (size_t i = 0; i < document->reading_count && code == SL_OK; i++)
        code = html_photo(html, i, status);
    return code == SL_OK ? put_end(html, status) : code;
}

sl_code sl_report_html(const struct sl_document *document, const struct sl_overlay *overlay,
                       char **ret, struct sl_status *status)
{
    struct html html = {.document = document, .overlay = overlay};
    char *text = NULL;
    size_t count = 0;
    struct words_locale locale = words_locale_begin();
    sl_code code = sl_lab_create(&html.lab, status);
    if (code != SL_OK)
        goto done;
    html.out = open_memstream(&text, &count);
    if (!html.out) {
        code = no_memory(status);
        goto done;
    }
    code = put_page(&html, status);
    bool bad = ferror(html.out) != 0;
    bad = fclose(html.out) != 0 || bad;
    if (code == SL_OK && bad)
        code = no_memory(status);
    if (code == SL_OK) {
        *ret = text;
        text = NULL;
    }
done:
    free(text);
    sl_lab_destroy(html.lab);
    words_locale_end(locale);
    return code;
}
