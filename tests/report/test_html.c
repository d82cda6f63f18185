// SPDX-License-Identifier: GPL-3.0-or-later
/* The HTML report: complete in itself, nothing of a user's text becomes markup, and every number
 * that a plot shows stands in a table or in words too. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>

#include <cmocka.h>

#include <ctype.h>
#include <glib.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../figure/sample.h"
#include "strandline/report.h"

static char *report(const struct sample *s)
{
    char *html = NULL;
    struct sl_status status = {0};
    assert_int_equal(sl_report_html(&s->document, &s->overlay, &html, &status), SL_OK);
    assert_non_null(html);
    return html;
}

static unsigned count(const char *text, const char *word)
{
    unsigned n = 0;
    for (; (text = strstr(text, word)); text += strlen(word))
        n++;
    return n;
}

/* The page without what stands between <script ...> and </script>. */
static char *without_scripts(const char *html)
{
    GString *out = g_string_new(NULL);
    for (const char *start; (start = strstr(html, "<script"));) {
        const char *end = strstr(start, "</script>");
        assert_non_null(end);
        g_string_append_len(out, html, start - html);
        html = end + strlen("</script>");
    }
    g_string_append(out, html);
    return g_string_free(out, FALSE);
}

static void page_is_whole(void **state)
{
    char *html = report(*state);
    assert_memory_equal(html, "<!DOCTYPE html>", 15);
    assert_non_null(strstr(html, "<html lang=\"en\">"));
    assert_non_null(strstr(html, "name=\"viewport\""));
    assert_int_equal(count(html, "<h1>"), 1);
    assert_int_equal(strcmp(html + strlen(html) - 8, "</html>\n"), 0);
    free(html);
}

/* Attributes that a browser would load from. */
static void nothing_is_loaded(void **state)
{
    char *html = report(*state), *page = without_scripts(html);
    const char *const loads[] = {"src=\"",    "href=\"",   "srcset=\"", "data=\"",
                                 "action=\"", "poster=\"", "url("};
    for (size_t i = 0; i < sizeof loads / sizeof *loads; i++)
        for (const char *at = page; (at = strstr(at, loads[i]));) {
            at += strlen(loads[i]);
            if (strncmp(at, "data:", 5) != 0 && *at != '#')
                fail_msg("something is loaded: %s%.60s", loads[i], at);
        }
    assert_null(strstr(page, "@import"));
    unsigned namespaces = count(page, "xmlns=\"http://www.w3.org/2000/svg\"");
    assert_int_equal(count(page, "http://") + count(page, "https://"), namespaces);
    assert_null(strstr(html, "sourceMappingURL"));
    g_free(page);
    free(html);
}

static void policy_names_the_scripts(void **state)
{
    char *html = report(*state);
    char *policy = strstr(html, "http-equiv=\"Content-Security-Policy\"");
    assert_non_null(policy);
    assert_non_null(strstr(policy, "default-src 'none'"));
    const char *at = html;
    for (int i = 0; i < 3; i++) { /* the scripts themselves, hashed by another library */
        const char *start = strstr(at, "<script>");
        assert_non_null(start);
        start += strlen("<script>");
        const char *end = strstr(start, "</script>");
        GChecksum *sum = g_checksum_new(G_CHECKSUM_SHA256);
        guint8 digest[32];
        gsize bytes = sizeof digest;
        g_checksum_update(sum, (const guchar *)start, end - start);
        g_checksum_get_digest(sum, digest, &bytes);
        char *base64 = g_base64_encode(digest, bytes);
        char *source = g_strconcat("'sha256-", base64, "'", NULL);
        assert_non_null(strstr(policy, source));
        g_free(source);
        g_free(base64);
        g_checksum_free(sum);
        at = end;
    }
    assert_null(strstr(at, "<script>"));
    free(html);
}

static void hostile_names_stay_text(void **state)
{
    struct sample *s = *state;
    const char *bad = "<script>alert(1)</script>\"onload='x' & \xff";
    struct sl_reading *reading = s->document.reading[0];
    snprintf(reading->strip[0].ink, SL_NAME_MAX, "%s", bad);
    snprintf(reading->conditions.paper, SL_NAME_MAX, "%s", bad);
    snprintf(reading->conditions.solvent, SL_NAME_MAX, "</dd><img src=x>");
    snprintf(reading->photo.file, SL_PHOTO_NAME_MAX, "%s.jpg", bad);
    snprintf(s->pair.ink, SL_NAME_MAX, "%s", bad);
    snprintf(s->overlay.trace[0].label, SL_NAME_MAX, "%s", bad);
    char *html = report(s);
    assert_null(strstr(html, "<script>alert"));
    assert_null(strstr(html, "<img src=x"));
    assert_null(strstr(html, "\"onload"));
    assert_non_null(strstr(html, "&lt;script&gt;alert(1)&lt;/script&gt;&quot;onload=&apos;x"));
    assert_true(g_utf8_validate(html, -1, NULL));
    assert_int_equal(count(html, "<script"), 4);
    assert_int_equal(count(html, "</script"), 4);
    free(html);
}

static void plots_have_their_numbers(void **state)
{
    struct sample *s = *state;
    char *html = report(s);
    char *start = strstr(html, "id=\"data\">");
    assert_non_null(start);
    start += strlen("id=\"data\">");
    json_t *data = json_loadb(start, (size_t)(strstr(start, "</script>") - start), 0, NULL);
    assert_non_null(data);
    assert_int_equal(json_array_size(data), 5);
    const json_t *four = json_array_get(data, 2);
    size_t n = json_array_size(json_object_get(four, "at"));
    assert_true(n > 100);
    const char *const keys[] = {"load", "low", "high", "lab", "density", "rgb"};
    for (size_t i = 0; i < 6; i++)
        assert_int_equal(json_array_size(json_object_get(four, keys[i])), n);
    assert_int_equal(json_array_size(json_object_get(four, "bands")), 4);
    assert_int_equal(count(html, "class=\"plot\" data-strip="), 5);
    json_decref(data);
    free(html);
}

static void every_band_has_its_row(void **state)
{
    char *html = report(*state);
    assert_int_equal(count(html, "Bands, lowest first, with 95 % intervals</span>"), 3);
    assert_non_null(strstr(html, "0.180 (0.174–0.186)"));
    assert_non_null(strstr(html, "0.840 (0.834–0.846)"));
    assert_non_null(strstr(html, "How far each colour reaches</span>"));
    assert_non_null(strstr(html, "No ink was found on this strip."));
    free(html);
}

/* Each of `words` stands behind the one before it. */
static void assert_order(const char *html, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const char *next = strstr(html, words[i]);
        if (!next)
            fail_msg("\"%s\" does not stand where it should", words[i]);
        html = next;
    }
}

static void verdict_comes_in_its_order(void **state)
{
    static const char *const order[] = {
        "<p class=\"answer\">Stays in this dip</p>",
        "<p class=\"sure\">Virtually certain (more than 99\u00a0%): at least 30\u00a0%",
        "<div class=\"scale\"><svg",
        "<p>Retention index 39 (34–45): level strong.</p>",
        "<h3>Why</h3>",
        "What is retained is blue-grey.",
        "<p class=\"soak\">Would a longer soak take it? It is likely",
        "Inferred",
        "would settle it.",
        "<p class=\"caution\">",
    };
    char *html = report(*state), *caution = g_markup_escape_text(sl_retention_caution(), -1);
    assert_order(html, order, sizeof order / sizeof *order);
    assert_non_null(strstr(html, caution));
    g_free(caution);
    free(html);
}

static void what_was_seen_and_what_is_inferred_stand_apart(void **state)
{
    static const char *const table[] = {
        "What lay at the origin, with 95 % intervals</span>",
        ">Retained share</th>",
        ">Bound share</th>",
        ">dipped at once</th>\n<td class=\"n\">11\u00a0% (9–13)</td>\n<td class=\"n\">9.8\u00a0% "
        "(8.3–11.3)</td>",
        ">dried first</th>\n<td class=\"n\">39\u00a0% (34–45)</td>\n<td class=\"n\">35\u00a0% "
        "(30–41)</td>",
    };
    char *html = report(*state);
    assert_order(html, table, sizeof table / sizeof *table);
    assert_non_null(strstr(html, "It is seen, and the verdict rests on it"));
    assert_non_null(strstr(html, "It is inferred, not seen"));
    free(html);
}

static void without_a_verdict_stands_why(void **state)
{
    struct sample *s = *state;
    s->document.reading[0]->strip[1].marks.blank = true;
    assert_int_equal(sl_pair_judge(&s->document, s->pair.immediate, s->pair.dried, &s->pair, NULL),
                     SL_OK);
    char *html = report(s);
    assert_non_null(strstr(html, "<p class=\"answer\">No ink found</p>"));
    assert_non_null(strstr(html, "<li>No ink was found on the strip dried first."));
    assert_null(strstr(html, "class=\"sure\""));
    assert_null(strstr(html, "class=\"scale\""));
    assert_null(strstr(html, "Retention index"));
    assert_null(strstr(html, "class=\"soak\""));
    free(html);
}

/* Two strips of one ink, both dried first. */
static void replicates_differ_in_what_is_retained(void **state)
{
    struct sample *s = *state;
    struct sl_document *document = &s->document;
    document->reading[0]->strip[0].role = SL_ROLE_DRIED;
    document->pair_count = 0;
    assert_int_equal(sl_document_make_replicates(document, NULL), SL_OK);
    assert_int_equal(document->replicate_count, 1);
    char *html = report(s);
    assert_non_null(strstr(html, "What lay at the origin, strip by strip and together</span>"));
    assert_non_null(strstr(html, "spread of the retained share between strips 20.1 %"));
    free(html);
    free(document->replicate);
    free(document->combined);
}

static void warnings_come_with_remedies(void **state)
{
    char *html = report(*state);
    assert_non_null(strstr(html, "The photo has no colour profile; sRGB is assumed. Send the photo "
                                 "as the phone saved it."));
    assert_non_null(strstr(html, "Dip both strips for the same time."));
    free(html);
}

static void ids_are_told_apart(void **state)
{
    char *html = report(*state), *page = without_scripts(html);
    GHashTable *ids = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    for (const char *at = page; (at = strstr(at, " id=\""));) {
        at += strlen(" id=\"");
        char *id = g_strndup(at, (gsize)(strchr(at, '"') - at));
        if (!g_hash_table_add(ids, id))
            fail_msg("an id stands there twice");
    }
    assert_true(g_hash_table_size(ids) > 10);
    g_hash_table_destroy(ids);
    g_free(page);
    free(html);
}

static void unknown_numbers_break_nothing(void **state)
{
    struct sample *s = *state;
    sample_drop_pictures(s);
    sample_spoil(s);
    char *html = report(s), *page = without_scripts(html);
    for (const char *at = page; (at = strstr(at, "nan"));) {
        if (!isalpha((unsigned char)at[-1]) && !isalpha((unsigned char)at[3]))
            fail_msg("a nan is shown: %.40s", at - 20);
        at += 3;
    }
    g_free(page);
    free(html);
}

static void unread_photo_says_why(void **state)
{
    struct sample *s = *state;
    struct sl_reading bad = {0};
    sl_status_set(&bad.error, SL_E_NO_STRIP, "strip", "Fill the frame with the strips.",
                  "No strip was found.");
    struct sl_reading *list[] = {&bad};
    struct sl_document document = {.reading_count = 1, .reading = list};
    char *html = NULL;
    (void)s;
    assert_int_equal(sl_report_html(&document, NULL, &html, NULL), SL_OK);
    assert_non_null(strstr(html, "<b>Not read:</b> No strip was found. Fill the frame"));
    assert_null(strstr(html, "id=\"overlay\""));
    free(html);
}

static int set_up(void **state)
{
    struct sample *sample = malloc(sizeof *sample);
    if (!sample)
        return -1;
    sample_create(sample);
    *state = sample;
    return 0;
}

static int tear_down(void **state)
{
    sample_destroy(*state);
    free(*state);
    return 0;
}

#define WITH_SAMPLE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_SAMPLE(page_is_whole),
        WITH_SAMPLE(nothing_is_loaded),
        WITH_SAMPLE(policy_names_the_scripts),
        WITH_SAMPLE(hostile_names_stay_text),
        WITH_SAMPLE(plots_have_their_numbers),
        WITH_SAMPLE(every_band_has_its_row),
        WITH_SAMPLE(verdict_comes_in_its_order),
        WITH_SAMPLE(what_was_seen_and_what_is_inferred_stand_apart),
        WITH_SAMPLE(without_a_verdict_stands_why),
        WITH_SAMPLE(replicates_differ_in_what_is_retained),
        WITH_SAMPLE(warnings_come_with_remedies),
        WITH_SAMPLE(ids_are_told_apart),
        WITH_SAMPLE(unknown_numbers_break_nothing),
        WITH_SAMPLE(unread_photo_says_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
