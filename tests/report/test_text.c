// SPDX-License-Identifier: GPL-3.0-or-later
/* What the terminal shows, against texts that were read and found good (fixtures/golden; run this
 * test with UPDATE_GOLDEN=1 to write them anew, then read them), and what holds for every width. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <glib.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sample.h"

static char *shown(const struct sl_document *document, const struct sl_overlay *overlay, int width,
                   bool colour)
{
    char *text = NULL;
    const struct sl_text_options options = {.colour = colour, .width = width};
    assert_int_equal(sl_report_text(document, overlay, &options, &text, NULL), SL_OK);
    return text;
}

static void assert_golden(const char *name, const char *text)
{
    char path[512], *expected = NULL;
    snprintf(path, sizeof path, FIXTURES_DIR "/golden/%s", name);
    if (getenv("UPDATE_GOLDEN"))
        assert_true(g_file_set_contents(path, text, -1, NULL));
    if (!g_file_get_contents(path, &expected, NULL, NULL))
        fail_msg("%s can't be read", path);
    if (strcmp(text, expected) != 0)
        print_error("--- %s\n%s\n--- now\n%s", path, expected, text);
    assert_string_equal(text, expected);
    g_free(expected);
}

/* Strips of all kinds: bands, a streak, no ink, no front, a photo that could not be read. */
static struct sl_document mixed_document(void)
{
    struct sl_document document = {0};
    struct sl_reading *row = sample_reading("row.jpg", "", 3),
                      *bad = sample_reading("x.jpg", "", 0);
    strcpy(row->strip[0].ink, "\xE5\xA2\xA8 Nachtfl\xC3\xBCgel");
    struct sl_bands *streak = &row->strip[1].bands;
    streak->count = 0;
    streak->smeared = true;
    streak->reach_count = 2;
    streak->reach[0] = (struct sl_reach){"blue", 262, -0.01, 0.63, 0.6};
    streak->reach[1] = (struct sl_reach){"pink", 350, 0.4, 0.98, 0.3};
    row->strip[1].marks.front_seen = SL_FRONT_NOT_SEEN;
    row->strip[1].length_mm = NAN;
    row->strip[2].marks.blank = true;
    row->strip[2].bands.count = 0;
    sl_warn(&row->strip[2].warnings, SL_W_BLANK, "band", "Check that the strip carried ink.",
            "no ink was found on the strip");
    sl_status_set(&bad->error, SL_E_TRUNCATED, "photo/jpeg", "Copy the file again.",
                  "x.jpg ends too early");
    assert_int_equal(sl_document_add(&document, row, NULL), SL_OK);
    assert_int_equal(sl_document_add(&document, bad, NULL), SL_OK);
    return document;
}

static void a_pair_reads_as_agreed(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *wide = shown(&document, NULL, 80, false), *narrow = shown(&document, NULL, 40, false);
    assert_golden("pair-80.txt", wide);
    assert_golden("pair-40.txt", narrow);
    free(wide);
    free(narrow);
    sl_document_finish(&document);
}

static void advice_stands_below_the_strips(void **state)
{
    (void)state;
    static const char wanted[] =
        "\nWhat would help most next time:\n  1. Hold the phone still and let it focus on the "
        "strips: blur makes a dark narrow line look paler than it is, so what is retained at "
        "the ink line comes out too low.\n  2. Mark the front with a pencil tick while the paper "
        "is wet: "
        "the Rf of band 2 on strip 2, now 0.31 to 0.50, would be about 0.39 to 0.42.\n\nVerdict";
    struct sl_document document = sample_document();
    document.reading[0]->strip[1].advice = sample_advice();
    char *text = shown(&document, NULL, 200, false);
    assert_non_null(strstr(text, wanted));
    free(text);
    sl_document_finish(&document);
}

static void strips_of_all_kinds_read_as_agreed(void **state)
{
    (void)state;
    struct sl_document document = mixed_document();
    struct sl_overlay overlay;
    assert_int_equal(sl_overlay_make(&document, &overlay, NULL), SL_OK);
    char *text = shown(&document, &overlay, 80, false);
    assert_golden("mixed-80.txt", text);
    free(text);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static void one_strip_is_compared_with_nothing(void **state)
{
    (void)state;
    struct sl_document document = {0};
    assert_int_equal(sl_document_add(&document, sample_reading("one.jpg", "", 1), NULL), SL_OK);
    struct sl_overlay overlay;
    assert_int_equal(sl_overlay_make(&document, &overlay, NULL), SL_OK);
    char *text = shown(&document, &overlay, 80, false);
    assert_non_null(strstr(text, "nothing to compare"));
    assert_null(strstr(text, "Likeness"));
    free(text);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static int columns(const char *line, const char *end)
{
    int width = 0;
    for (const char *at = line; at < end; at = g_utf8_next_char(at))
        width += g_unichar_iswide(g_utf8_get_char(at)) ? 2 : 1;
    return width;
}

static void assert_within(const char *text, int width)
{
    for (const char *line = text; *line;) {
        const char *end = strchr(line, '\n');
        assert_non_null(end);
        if (columns(line, end) > width)
            fail_msg("wider than %d: %.*s", width, (int)(end - line), line);
        assert_true(end == line || end[-1] != ' ');
        line = end + 1;
    }
}

static void no_line_is_wider_than_the_terminal(void **state)
{
    (void)state;
    struct sl_document pair = sample_document(), mixed = mixed_document();
    for (int width = 40; width <= 130; width++) {
        char *a = shown(&pair, NULL, width, false), *b = shown(&mixed, NULL, width, false);
        assert_within(a, width);
        assert_within(b, width);
        free(a);
        free(b);
    }
    sl_document_finish(&pair);
    sl_document_finish(&mixed);
}

/* Takes the escape sequences out and counts them. */
static size_t strip_escapes(char *text)
{
    size_t count = 0;
    char *to = text;
    for (const char *from = text; *from;)
        if (*from == '\033') {
            from = strchr(from, 'm') + 1;
            count++;
        } else
            *to++ = *from++;
    *to = '\0';
    return count;
}

static void swatches_only_where_colour_is_allowed(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *plain = shown(&document, NULL, 80, false), *colour = shown(&document, NULL, 80, true);
    assert_null(strchr(plain, '\033'));
    assert_non_null(strstr(colour, "\033[48;2;"));
    /* six bands and the colour of what is retained; each is set and reset */
    assert_int_equal(strip_escapes(colour), 14);
    assert_within(colour, 80);
    free(plain);
    free(colour);
    sl_document_finish(&document);
}

static void names_cannot_steer_the_terminal(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_reading *reading = document.reading[0];
    strcpy(reading->photo.file, "a\033[2Jb\xC2\x9Bm\r\n\xFF.jpg");
    strcpy(reading->strip[0].ink, "Dusk\033]0;x\a");
    strcpy(reading->conditions.paper, "\033[31mred");
    strcpy(reading->warnings.item[0].message, "bad \033[0m");
    struct sl_overlay overlay;
    assert_int_equal(sl_overlay_make(&document, &overlay, NULL), SL_OK);
    char *text = shown(&document, &overlay, 80, false);
    for (const char *at = text; *at; at = g_utf8_next_char(at))
        assert_true(*at == '\n' || !g_unichar_iscntrl(g_utf8_get_char(at)));
    assert_true(g_utf8_validate(text, -1, NULL));
    free(text);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
}

static void an_empty_document_is_an_empty_text(void **state)
{
    (void)state;
    struct sl_document document = {0};
    char *text = shown(&document, NULL, 80, true);
    assert_string_equal(text, "");
    free(text);
}

static void the_caution_stands_by_every_verdict(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = shown(&document, NULL, 400, false);
    assert_non_null(strstr(text, sl_retention_caution()));
    free(text);
    sl_document_finish(&document);
}

/* The sample's pair with another retained share of the dried strip, as a terminal shows it. */
static char *shown_with(double share, double half, int width)
{
    struct sl_document document = sample_document();
    sample_retained(&document.reading[0]->strip[1], share, half);
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    char *text = shown(&document, NULL, width, false);
    sl_document_finish(&document);
    return text;
}

static void an_open_answer_leads_with_the_range(void **state)
{
    (void)state;
    char *text = shown_with(0.07, 0.05, 200);
    assert_non_null(strstr(text,
                           "Verdict on Harbour Dusk: 2 to 12\u00a0% stays\n"
                           "  Nobody can tell from this if that is enough. About as likely as "
                           "not (34\u00a0%): at least 8\u00a0%"));
    assert_non_null(strstr(text, "between levels, trace the likeliest (63\u00a0%)."));
    free(text);
}

static void without_a_verdict_stands_why(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    document.reading[0]->strip[1].marks.blank = true;
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    char *text = shown(&document, NULL, 80, false);
    assert_non_null(strstr(text, "Verdict on Harbour Dusk: No ink found\n"
                                 "  - No ink was found on the strip dried first."));
    assert_null(strstr(text, "Retention index"));
    assert_null(strstr(text, "partial"));
    free(text);
    sl_document_finish(&document);
}

/* The column of the index, below it that of a limit's number; -1 without a scale. */
static long column_of(const char *text, const char *mark)
{
    const char *at = strstr(text, mark), *line = at;
    while (line && line > text && line[-1] != '\n')
        line--;
    return at ? at - line : -1;
}

static void the_scale_shows_an_index_at_its_limit(void **state)
{
    (void)state;
    static const struct {
        double share;
        const char *limits; /* from the limit on */
    } cases[] = {{0.02, "2            8"}, {0.08, "8            30"}, {0.30, "30           100"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *text = shown_with(cases[i].share, 0.001, 80);
        char *below = shown_with(cases[i].share - 0.0002, 0.0001, 80);
        assert_int_equal(column_of(text, "#"), column_of(text, cases[i].limits));
        assert_int_equal(column_of(below, "#"), column_of(text, "#") - 1);
        free(below);
        free(text);
    }
    char *full = shown_with(1, 0, 80);
    assert_non_null(strstr(full, ".#|\n")); /* inside the last level */
    free(full);
}

static void the_scale_is_left_out_where_it_has_no_room(void **state)
{
    (void)state;
    char *wide = shown_with(0.2, 0.02, 59), *narrow = shown_with(0.2, 0.02, 58);
    assert_int_equal(column_of(wide, "none         trace       partial      strong\n"), 8);
    assert_within(wide, 59);
    assert_int_equal(column_of(narrow, "none  "), -1);
    assert_non_null(strstr(narrow, "Retention index 20"));
    free(wide);
    free(narrow);
}

/* In the locales that are installed, those with a decimal comma among them where there are any. */
static void dots_in_every_locale(void **state)
{
    (void)state;
    static const char *const locales[] = {"C", "de_DE.UTF-8", "fr_FR.UTF-8"};
    struct sl_document document = sample_document();
    for (size_t i = 0; i < sizeof locales / sizeof *locales; i++)
        if (setlocale(LC_ALL, locales[i])) {
            char *text = shown(&document, NULL, 80, false);
            setlocale(LC_ALL, "C");
            assert_golden("pair-80.txt", text);
            free(text);
        }
    sl_document_finish(&document);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pair_reads_as_agreed),
        cmocka_unit_test(advice_stands_below_the_strips),
        cmocka_unit_test(strips_of_all_kinds_read_as_agreed),
        cmocka_unit_test(one_strip_is_compared_with_nothing),
        cmocka_unit_test(no_line_is_wider_than_the_terminal),
        cmocka_unit_test(swatches_only_where_colour_is_allowed),
        cmocka_unit_test(names_cannot_steer_the_terminal),
        cmocka_unit_test(an_empty_document_is_an_empty_text),
        cmocka_unit_test(the_caution_stands_by_every_verdict),
        cmocka_unit_test(an_open_answer_leads_with_the_range),
        cmocka_unit_test(without_a_verdict_stands_why),
        cmocka_unit_test(the_scale_shows_an_index_at_its_limit),
        cmocka_unit_test(the_scale_is_left_out_where_it_has_no_room),
        cmocka_unit_test(dots_in_every_locale),
    };
    return cmocka_run_group_tests_name("report/text", tests, NULL, NULL);
}
