// SPDX-License-Identifier: GPL-3.0-or-later
/* CSV read back by the rules of RFC 4180. */
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

enum { FIELDS_MAX = 48, FIELD_BYTES = 128 };

struct row {
    size_t count;
    char field[FIELDS_MAX][FIELD_BYTES];
};

/* Reads one record, RFC 4180 section 2; the text behind it. */
static const char *read_row(const char *at, struct row *row)
{
    row->count = 0;
    for (;;) {
        char *to = row->field[row->count++];
        assert_true(row->count < FIELDS_MAX);
        if (*at == '"') {
            for (at++; *at != '"' || at[1] == '"'; *to++ = *at++) {
                assert_true(*at != '\0');
                at += *at == '"';
            }
            at++;
        } else
            while (*at && !strchr(",\r\n", *at)) {
                assert_true(*at != '"');
                *to++ = *at++;
            }
        *to = '\0';
        if (*at == ',') {
            at++;
            continue;
        }
        assert_true(at[0] == '\r' && at[1] == '\n');
        return at + 2;
    }
}

static const char *field(const struct row *header, const struct row *row, const char *name)
{
    assert_int_equal(header->count, row->count);
    for (size_t i = 0; i < header->count; i++)
        if (strcmp(header->field[i], name) == 0)
            return row->field[i];
    fail_msg("no column %s", name);
    return "";
}

static double number(const struct row *header, const struct row *row, const char *name)
{
    const char *text = field(header, row, name);
    char *end;
    double value = g_ascii_strtod(text, &end);
    assert_true(end != text && *end == '\0');
    return value;
}

static char *bands_csv(const struct sl_document *document)
{
    char *text = NULL;
    assert_int_equal(sl_report_csv_bands(document, &text, NULL), SL_OK);
    return text;
}

static char *profiles_csv(const struct sl_document *document)
{
    char *text = NULL;
    assert_int_equal(sl_report_csv_profiles(document, &text, NULL), SL_OK);
    return text;
}

static void one_row_a_band(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_reading *reading = (struct sl_reading *)document.reading[0];
    reading->strip[0].bands.item[1].unsure = true;
    reading->strip[1].bands.item[2].given = true;
    char *text = bands_csv(&document);
    struct row header, row;
    const char *at = read_row(text, &header);
    size_t rows = 0;
    for (; *at; rows++) {
        at = read_row(at, &row);
        const struct sl_band *band = &document.reading[0]->strip[rows / 3].bands.item[rows % 3];
        assert_near(number(&header, &row, "strip"), (double)(rows / 3 + 1), 0);
        assert_near(number(&header, &row, "band"), (double)(rows % 3 + 1), 0);
        assert_near(number(&header, &row, "rf"), band->rf, 0.5e-4);
        assert_near(number(&header, &row, "rf_low"), band->rf_interval[0], 0.5e-4);
        assert_near(number(&header, &row, "hrf"), 100 * band->rf, 0.5e-2);
        assert_near(number(&header, &row, "share"), band->share, 0.51e-4);
        assert_near(number(&header, &row, "lab_a"), band->lab_d50[1], 0.5e-2);
        assert_string_equal(field(&header, &row, "hue_name"), band->hue_name);
        assert_string_equal(field(&header, &row, "retained"), band->retained ? "yes" : "no");
        assert_string_equal(field(&header, &row, "unsure"), band->unsure ? "yes" : "no");
        assert_string_equal(field(&header, &row, "limits_given"), band->given ? "yes" : "no");
        assert_near(number(&header, &row, "strip_retained_high"),
                    document.reading[0]->strip[rows / 3].bands.retained_interval[1], 0.51e-4);
        assert_string_equal(field(&header, &row, "role"), rows < 3 ? "immediate" : "dried");
        assert_string_equal(field(&header, &row, "paper"), "round filter");
        assert_near(number(&header, &row, "dip_s"), 12, 0);
        assert_string_equal(field(&header, &row, "dried_min"), "");
        assert_near(number(&header, &row, "length_mm"), 80, 0);
    }
    assert_int_equal(rows, 6);
    assert_string_equal(field(&header, &row, "resolution_to_next"), "");
    free(text);
    sl_document_finish(&document);
}

static void one_row_a_sample(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = profiles_csv(&document);
    struct row header, row;
    const char *at = read_row(text, &header);
    size_t rows = 0;
    for (; *at; rows++) {
        at = read_row(at, &row);
        const struct sl_strip *strip = &document.reading[0]->strip[rows / SAMPLE_COUNT];
        size_t i = rows % SAMPLE_COUNT;
        const double *load = strip->profile.load[i];
        double position = strip->profile.position[i];
        assert_near(number(&header, &row, "position"), position, 0.5e-6);
        assert_near(number(&header, &row, "position_mm"), 80 * position, 0.51e-3);
        assert_near(number(&header, &row, "rf"), (position - 0.2) / 0.7, 0.51e-5);
        assert_near(number(&header, &row, "load_green"), load[1], 0.5e-5);
        assert_near(number(&header, &row, "load"), load[0] + load[1] + load[2], 0.5e-5);
    }
    assert_int_equal(rows, 2 * SAMPLE_COUNT);
    free(text);
    sl_document_finish(&document);
}

static void awkward_names_stay_one_field(void **state)
{
    (void)state;
    static const struct {
        const char *ink, *read;
    } cases[] = {
        {"Dusk, early", "Dusk, early"},
        {"the \"Dusk\"", "the \"Dusk\""},
        {"=HYPERLINK(\"x\",\"y\")", "'=HYPERLINK(\"x\",\"y\")"},
        {"+1", "'+1"},
        {"-Dusk", "'-Dusk"},
        {"@Dusk", "'@Dusk"},
        {"\t=1", "\xEF\xBF\xBD=1"},
        {"line\r\nbreak", "line\xEF\xBF\xBD\xEF\xBF\xBD"
                          "break"},
        {"D\xC3\xA4mmer", "D\xC3\xA4mmer"},
    };
    struct sl_document document = sample_document();
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        snprintf(document.reading[0]->strip[0].ink, SL_NAME_MAX, "%s", cases[i].ink);
        char *text = bands_csv(&document);
        struct row header, row;
        read_row(read_row(text, &header), &row);
        assert_string_equal(field(&header, &row, "ink"), cases[i].read);
        free(text);
    }
    sl_document_finish(&document);
}

/* Negative numbers are numbers, no formulas. */
static void negative_numbers_stay_numbers(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    document.reading[0]->strip[0].bands.item[0].rf = -0.0123;
    document.reading[0]->strip[0].bands.item[0].start_rf = -0.00001;
    char *text = bands_csv(&document);
    struct row header, row;
    read_row(read_row(text, &header), &row);
    assert_string_equal(field(&header, &row, "rf"), "-0.0123");
    assert_string_equal(field(&header, &row, "start_rf"), "0");
    free(text);
    sl_document_finish(&document);
}

/* In the locales that are installed, those with a decimal comma among them where there are any. */
static void dots_in_every_locale(void **state)
{
    (void)state;
    static const char *const locales[] = {"C", "de_DE.UTF-8", "fr_FR.UTF-8"};
    struct sl_document document = sample_document();
    for (size_t i = 0; i < sizeof locales / sizeof *locales; i++)
        if (setlocale(LC_ALL, locales[i])) {
            char *text = bands_csv(&document);
            setlocale(LC_ALL, "C");
            assert_non_null(strstr(text, ",0.45,0.446,0.454,45,"));
            free(text);
        }
    sl_document_finish(&document);
}

static void without_strips_only_the_header_stands(void **state)
{
    (void)state;
    struct sl_document document = {0};
    assert_int_equal(sl_document_add(&document, sample_reading("x.jpg", "", 0), NULL), SL_OK);
    char *bands = bands_csv(&document), *profiles = profiles_csv(&document);
    struct row header;
    assert_string_equal(read_row(bands, &header), "");
    assert_string_equal(read_row(profiles, &header), "");
    free(bands);
    free(profiles);
    sl_document_finish(&document);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_row_a_band),
        cmocka_unit_test(one_row_a_sample),
        cmocka_unit_test(awkward_names_stay_one_field),
        cmocka_unit_test(negative_numbers_stay_numbers),
        cmocka_unit_test(dots_in_every_locale),
        cmocka_unit_test(without_strips_only_the_header_stands),
    };
    return cmocka_run_group_tests_name("report/csv", tests, NULL, NULL);
}
