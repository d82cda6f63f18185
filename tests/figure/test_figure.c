// SPDX-License-Identifier: GPL-3.0-or-later
/* Figures, checked by structure and numbers: bytes of PNG and PDF vary with fonts. PNG is read back
 * by libpng, SVG by a markup parser. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>

#include <cmocka.h>

#include <glib.h>
#include <locale.h>
#include <math.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sample.h"
#include "figure/draw.h"
#include "figure/parts.h"
#include "figure/words.h"

enum subject { STRIP, PAIR, OVERLAY };

static const struct sl_figure_options usual = {0};

static struct figure_bytes draw(const struct sample *s, enum subject subject, size_t strip,
                                enum sl_figure_format format,
                                const struct sl_figure_options *options)
{
    struct figure_target target = {format, options, ""};
    struct figure_bytes figure = {0};
    struct sl_status status = {0};
    struct sl_warnings warnings = {0};
    sl_code code = SL_OK;
    if (subject == STRIP)
        code =
            figure_draw_strip(s->document.reading[1], strip, &target, &figure, &warnings, &status);
    else if (subject == PAIR)
        code = figure_draw_pair(&s->document, &s->pair, &target, &figure, &warnings, &status);
    else
        code = figure_draw_overlay(&s->document, &s->overlay, &target, &figure, &warnings, &status);
    assert_int_equal(code, SL_OK);
    assert_int_equal(warnings.count, 0);
    return figure;
}

struct svg_line {
    double size, y;
    char words[128];
};

/* What a parser finds in an SVG. */
struct svg {
    GString *text; /* of all <text>, a line each */
    GString *title;
    GArray *lines; /* struct svg_line */
    struct svg_line line;
    unsigned images, gradients, nans;
    bool in_text, in_title;
    double width, height;
};

static void svg_start(GMarkupParseContext *context, const char *name, const char **keys,
                      const char **values, gpointer data, GError **error)
{
    struct svg *svg = data;
    (void)context;
    (void)error;
    svg->in_text = strcmp(name, "text") == 0;
    svg->in_title = strcmp(name, "title") == 0;
    svg->images += strcmp(name, "image") == 0;
    svg->gradients += strcmp(name, "linearGradient") == 0;
    for (size_t i = 0; keys[i]; i++) {
        bool number = strcmp(keys[i], "href") != 0; /* base64 may spell anything */
        svg->nans += number && (strstr(values[i], "nan") || strstr(values[i], "inf"));
        if (strcmp(keys[i], "font-size") == 0)
            svg->line.size = g_ascii_strtod(values[i], NULL);
        if (strcmp(keys[i], "y") == 0)
            svg->line.y = g_ascii_strtod(values[i], NULL);
        if (strcmp(name, "svg") == 0 && strcmp(keys[i], "width") == 0)
            svg->width = g_ascii_strtod(values[i], NULL);
        if (strcmp(name, "svg") == 0 && strcmp(keys[i], "height") == 0)
            svg->height = g_ascii_strtod(values[i], NULL);
    }
}

static void svg_text(GMarkupParseContext *context, const char *text, gsize count, gpointer data,
                     GError **error)
{
    struct svg *svg = data;
    (void)context;
    (void)error;
    if (svg->in_text) {
        g_string_append_len(svg->text, text, (gssize)count);
        g_string_append_c(svg->text, '\n');
        snprintf(svg->line.words, sizeof svg->line.words, "%.*s", (int)count, text);
        g_array_append_val(svg->lines, svg->line);
    }
    if (svg->in_title)
        g_string_append_len(svg->title, text, (gssize)count);
}

static void svg_end(GMarkupParseContext *context, const char *name, gpointer data, GError **error)
{
    struct svg *svg = data;
    (void)context;
    (void)name;
    (void)error;
    svg->in_text = svg->in_title = false;
}

static struct svg svg_parse(const struct figure_bytes *figure)
{
    static const GMarkupParser parser = {svg_start, svg_end, svg_text, NULL, NULL};
    struct svg svg = {.text = g_string_new(NULL),
                      .title = g_string_new(NULL),
                      .lines = g_array_new(FALSE, FALSE, sizeof(struct svg_line))};
    GMarkupParseContext *context = g_markup_parse_context_new(&parser, 0, &svg, NULL);
    assert_true(g_markup_parse_context_parse(context, figure->bytes, (gssize)figure->count, NULL));
    assert_true(g_markup_parse_context_end_parse(context, NULL));
    g_markup_parse_context_free(context);
    return svg;
}

static void svg_finish(struct svg *svg)
{
    g_array_free(svg->lines, TRUE);
    g_string_free(svg->text, TRUE);
    g_string_free(svg->title, TRUE);
}

static void assert_says(const struct svg *svg, const char *words)
{
    if (!strstr(svg->text->str, words))
        fail_msg("the figure does not say \"%s\": %s", words, svg->text->str);
}

/* Width, height and how many different colours a PNG has, up to 200. */
static unsigned png_colours(const struct figure_bytes *figure, unsigned *ret_width,
                            unsigned *ret_height)
{
    png_image image = {.version = PNG_IMAGE_VERSION};
    assert_true(png_image_begin_read_from_memory(&image, figure->bytes, figure->count));
    image.format = PNG_FORMAT_RGB;
    uint8_t *rgb = malloc(PNG_IMAGE_SIZE(image));
    assert_non_null(rgb);
    assert_true(png_image_finish_read(&image, NULL, rgb, 0, NULL));
    GHashTable *seen = g_hash_table_new(NULL, NULL);
    for (size_t i = 0; i < (size_t)image.width * image.height; i += 7) {
        unsigned colour =
            1u + (rgb[3 * i] | (unsigned)rgb[3 * i + 1] << 8 | (unsigned)rgb[3 * i + 2] << 16);
        g_hash_table_add(seen, GUINT_TO_POINTER(colour));
    }
    unsigned colours = g_hash_table_size(seen);
    g_hash_table_destroy(seen);
    free(rgb);
    *ret_width = image.width;
    *ret_height = image.height;
    return colours;
}

static void strip_names_its_bands(void **state)
{
    struct sample *s = *state;
    struct figure_bytes figure = draw(s, STRIP, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    assert_string_equal(svg.title->str, "Gull & <Tern> \"No. 4\", single strip");
    assert_says(&svg, "Gull & <Tern> \"No. 4\"");
    assert_says(&svg, "Rf 0.180 (0.174–0.186)");
    assert_says(&svg, "Rf 0.840 (0.834–0.846)");
    assert_says(&svg, "pink · ");
    assert_says(&svg, "origin");
    assert_says(&svg, "front");
    assert_says(&svg, "dye load (K/S, red + green + blue)");
    assert_says(&svg, "Cove filter sheet");
    assert_int_equal(svg.images, 1);
    assert_int_equal(svg.nans, 0);
    svg_finish(&svg);
    free(figure.bytes);
}

static void streak_has_no_band(void **state)
{
    struct sample *s = *state;
    struct figure_bytes figure = draw(s, STRIP, 1, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    assert_says(&svg, "blue from 0.02 to 0.97");
    assert_says(&svg, "front?");
    assert_says(&svg, "The water's front was not seen");
    assert_null(strstr(svg.text->str, "Rf 0."));
    svg_finish(&svg);
    free(figure.bytes);
}

static void blank_strip_says_so(void **state)
{
    struct sample *s = *state;
    struct figure_bytes figure = draw(s, STRIP, 2, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    assert_says(&svg, "No ink was found.");
    assert_says(&svg, "harbour-row.jpg, strip 3");
    svg_finish(&svg);
    free(figure.bytes);
}

static void pair_gives_verdict_and_caution(void **state)
{
    struct sample *s = *state;
    struct figure_bytes figure = draw(s, PAIR, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    char index[64], first[16] = "";
    words_index(s->pair.index, s->pair.index_interval, index, sizeof index);
    snprintf(first, sizeof first, "%.12s", sl_retention_caution());
    assert_says(&svg, "Partial retention");
    assert_says(&svg, index);
    assert_says(&svg, "It holds more once dry."); /* the wet one may keep enough to count */
    assert_says(&svg, "dipped at once");
    assert_says(&svg, "dried first");
    assert_says(&svg, first);
    assert_int_equal(svg.images, 2);
    svg_finish(&svg);
    free(figure.bytes);
}

static void pair_says_only_where_the_wet_strip_surely_kept_too_little(void **state)
{
    struct sample *s = *state;
    double high = s->pair.immediate_bound_interval[1];
    s->pair.immediate_bound_interval[1] = SL_BOUND_LIMIT / 2;
    struct figure_bytes figure = draw(s, PAIR, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    assert_says(&svg, "It sets only as it dries.");
    s->pair.immediate_bound_interval[1] = high;
    svg_finish(&svg);
    free(figure.bytes);
}

static const struct {
    enum sl_review_shape shape;
    double width, height;
} reviews[] = {{SL_REVIEW_LANDSCAPE, 1920, 1080}, {SL_REVIEW_PORTRAIT, 1080, 1920}};

static struct svg review_svg(const struct sample *s, enum sl_review_shape shape)
{
    struct figure_target target = {SL_FIGURE_SVG, &usual, ""};
    struct figure_bytes figure = {0};
    struct sl_status status = {0};
    assert_int_equal(
        figure_draw_review(&s->document, &s->pair, shape, &target, &figure, NULL, &status), SL_OK);
    struct svg svg = svg_parse(&figure);
    free(figure.bytes);
    assert_int_equal(svg.nans, 0);
    return svg;
}

static struct svg_line line_of(const struct svg *svg, const char *words)
{
    for (guint i = 0; i < svg->lines->len; i++) {
        struct svg_line line = g_array_index(svg->lines, struct svg_line, i);
        if (strstr(line.words, words))
            return line;
    }
    fail_msg("the figure does not say \"%s\": %s", words, svg->text->str);
    return (struct svg_line){0};
}

/* What is read on a phone: a thirtieth of the shorter side and more. */
static void review_has_large_words(void **state)
{
    struct sample *s = *state;
    char index[64], level[64];
    snprintf(level, sizeof level, "%s", words_level(&s->pair));
    words_index(s->pair.index, s->pair.index_interval, index, sizeof index);
    const char *main_words[] = {"dipped at once",     "dried first", level, index,
                                words_hold(&s->pair), "What stays: "};
    for (size_t k = 0; k < 2; k++) {
        struct svg svg = review_svg(s, reviews[k].shape);
        assert_float_equal(svg.width, reviews[k].width, 0.01);
        assert_float_equal(svg.height, reviews[k].height, 0.01);
        for (size_t i = 0; i < sizeof main_words / sizeof *main_words; i++)
            if (*main_words[i])
                assert_true(line_of(&svg, main_words[i]).size >= 1080 / 30.0);
        assert_says(&svg, "This is an indicator");
        for (guint i = 0; i < svg.lines->len; i++)
            assert_true(g_array_index(svg.lines, struct svg_line, i).size >= 1080 / 45.0);
        svg_finish(&svg);
    }
}

/* The verdict's words end above the caution, and the caution inside the picture. */
static void review_has_room_for_the_longest_words(void **state)
{
    struct sample *s = *state;
    s->pair.level = SL_LEVEL_UNDECIDED;
    s->pair.decided = false;
    s->pair.dried_bound_interval[0] = SL_BOUND_LIMIT + 0.01;
    s->pair.dried_bound_interval[1] = 0.6;
    s->pair.hold = SL_HOLD_AS_IT_DRIES;
    for (size_t k = 0; k < 2; k++) {
        struct svg svg = review_svg(s, reviews[k].shape);
        struct svg_line caution = line_of(&svg, "This is an indicator");
        struct svg_line last = line_of(&svg, "resistant.");
        struct svg_line end = g_array_index(svg.lines, struct svg_line, svg.lines->len - 1);
        assert_true(line_of(&svg, "Partial or").size >= 1080 / 30.0);
        assert_true(last.y + caution.size < caution.y);
        assert_true(end.y < reviews[k].height - 20);
        svg_finish(&svg);
    }
}

static void overlay_marks_shared_dyes(void **state)
{
    struct sample *s = *state;
    struct figure_bytes figure = draw(s, OVERLAY, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    unsigned a = 0;
    for (const char *line = svg.text->str; (line = strstr(line, "\nA\n")); line++)
        a++;
    assert_int_equal(a, 3); /* three strips share the pink dye, linked by way of the middle one */
    assert_says(&svg, "\nB\n");
    assert_null(strstr(svg.text->str, "\nC\n"));
    assert_says(&svg, "Driftwood's Ash");
    assert_true(svg.gradients >= 5);
    svg_finish(&svg);
    free(figure.bytes);
}

static void normalised_overlay_ends_at_one(void **state)
{
    struct sample *s = *state;
    const struct sl_figure_options options = {.normalise = true};
    struct figure_bytes figure = draw(s, OVERLAY, 0, SL_FIGURE_SVG, &options);
    struct svg svg = svg_parse(&figure);
    assert_says(&svg, "each line scaled to a top of 1");
    assert_says(&svg, "\n1.0\n");
    assert_null(strstr(svg.text->str, "\n1.5\n"));
    svg_finish(&svg);
    free(figure.bytes);
}

static void ribbon_stands_in_for_the_picture(void **state)
{
    struct sample *s = *state;
    sample_drop_pictures(s);
    struct figure_bytes figure = draw(s, STRIP, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    assert_int_equal(svg.images, 0);
    assert_int_equal(svg.gradients, 2); /* the ribbon and the profile */
    svg_finish(&svg);
    free(figure.bytes);
}

static void unknown_numbers_break_nothing(void **state)
{
    struct sample *s = *state;
    sample_spoil(s);
    for (size_t i = 0; i < 3; i++) {
        struct figure_bytes figure = draw(s, STRIP, i, SL_FIGURE_SVG, &usual);
        struct svg svg = svg_parse(&figure);
        assert_int_equal(svg.nans, 0);
        assert_null(strstr(svg.text->str, "nan"));
        assert_says(&svg, "upper edge");
        svg_finish(&svg);
        free(figure.bytes);
    }
    for (enum subject subject = PAIR; subject <= OVERLAY; subject++) {
        struct figure_bytes figure = draw(s, subject, 0, SL_FIGURE_SVG, &usual);
        struct svg svg = svg_parse(&figure);
        assert_int_equal(svg.nans, 0);
        assert_null(strstr(svg.text->str, "nan"));
        svg_finish(&svg);
        free(figure.bytes);
    }
}

static void svg_is_the_same_each_time(void **state)
{
    struct sample *s = *state;
    struct figure_bytes one = draw(s, PAIR, 0, SL_FIGURE_SVG, &usual);
    struct figure_bytes two = draw(s, PAIR, 0, SL_FIGURE_SVG, &usual);
    assert_int_equal(one.count, two.count);
    assert_memory_equal(one.bytes, two.bytes, one.count);
    free(one.bytes);
    free(two.bytes);
}

static void png_is_full_and_of_its_size(void **state)
{
    struct sample *s = *state;
    const struct sl_figure_options wide = {.width_px = 1600, .height_px = 900};
    unsigned width = 0, height = 0;
    struct figure_bytes figure = draw(s, STRIP, 0, SL_FIGURE_PNG, &usual);
    assert_true(png_colours(&figure, &width, &height) > 150);
    assert_int_equal(width, 1200);
    assert_int_equal(height, 1500);
    free(figure.bytes);
    figure = draw(s, PAIR, 0, SL_FIGURE_PNG, &wide);
    assert_true(png_colours(&figure, &width, &height) > 150);
    assert_int_equal(width, 1600);
    assert_int_equal(height, 900);
    free(figure.bytes);
}

/* Page objects of a PDF 1.4, whose objects stand there plainly. */
static unsigned pdf_pages(const struct figure_bytes *figure)
{
    const char word[] = "/Type /Page";
    unsigned pages = 0;
    for (size_t i = 0; i + sizeof word < figure->count; i++)
        pages += memcmp(figure->bytes + i, word, sizeof word - 1) == 0 &&
                 figure->bytes[i + sizeof word - 1] != 's';
    return pages;
}

static void pdf_is_one_page(void **state)
{
    struct sample *s = *state;
    for (enum subject subject = STRIP; subject <= OVERLAY; subject++) {
        struct figure_bytes figure = draw(s, subject, 0, SL_FIGURE_PDF, &usual);
        assert_true(figure.count > 1000);
        assert_memory_equal(figure.bytes, "%PDF", 4);
        assert_int_equal(pdf_pages(&figure), 1);
        free(figure.bytes);
    }
}

static void absurd_size_is_refused(void **state)
{
    struct sample *s = *state;
    const struct sl_figure_options options = {.width_px = 100000};
    struct figure_target target = {SL_FIGURE_PNG, &options, ""};
    struct figure_bytes figure = {0};
    struct sl_status status = {0};
    assert_int_equal(figure_draw_strip(s->document.reading[1], 0, &target, &figure, NULL, &status),
                     SL_E_RANGE);
    assert_non_null(strstr(status.message, "100000"));
    assert_null(figure.bytes);
}

static void missing_letters_are_warned_of(void **state)
{
    struct sample *s = *state;
    struct figure_target target = {SL_FIGURE_SVG, &usual, ""};
    struct figure_bytes figure = {0};
    struct sl_warnings warnings = {0};
    /* U+10FFFD is for private use: no font has it */
    snprintf(s->document.reading[1]->strip[0].ink, SL_NAME_MAX, "Quay \xf4\x8f\xbf\xbd");
    assert_int_equal(
        figure_draw_strip(s->document.reading[1], 0, &target, &figure, &warnings, NULL), SL_OK);
    assert_true(sl_warned(&warnings, SL_W_GLYPHS));
    free(figure.bytes);
}

static void hostile_names_stay_text(void **state)
{
    struct sample *s = *state;
    char *ink = s->document.reading[1]->strip[0].ink;
    memset(ink, 'W', SL_NAME_MAX - 1); /* far too long for the figure */
    memcpy(ink, "</text>\x01\xff<script>", 17);
    struct figure_bytes figure = draw(s, STRIP, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    assert_says(&svg, "</text>");
    assert_says(&svg, "…");
    svg_finish(&svg);
    free(figure.bytes);
}

static void decimal_comma_stays_out(void **state)
{
    struct sample *s = *state;
    const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "nl_NL.UTF-8"};
    const char *set = NULL; /* where none of them is installed, the test says less */
    for (size_t i = 0; i < 3 && !set; i++)
        set = setlocale(LC_NUMERIC, names[i]);
    struct figure_bytes figure = draw(s, STRIP, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    setlocale(LC_NUMERIC, "C");
    assert_says(&svg, "Rf 0.180");
    svg_finish(&svg);
    free(figure.bytes);
}

static void failed_write_leaves_nothing(void **state)
{
    struct sample *s = *state;
    struct sl_status status = {0};
    const char *path = "/nonexistent-folder/figure.png";
    assert_int_equal(
        sl_figure_pair(&s->document, &s->pair, SL_FIGURE_PNG, NULL, path, NULL, &status),
        SL_E_WRITE);
    assert_non_null(strstr(status.message, path));
    assert_int_not_equal(access(path, F_OK), 0);
}

static void ticks_are_round(void **state)
{
    (void)state;
    struct ticks ticks;
    ticks_make(-0.22, 1.17, 7, &ticks);
    assert_int_equal(ticks.count, 7);
    assert_int_equal(ticks.decimals, 1);
    assert_true(fabs(ticks.value[0] + 0.2) < 1e-12);
    assert_true(ticks.value[1] == 0 && !signbit(ticks.value[1]));
    ticks_make(0, NAN, 5, &ticks);
    assert_int_equal(ticks.count, 0);
    ticks_make(1, 1, 5, &ticks);
    assert_int_equal(ticks.count, 0);
}

static void labels_keep_their_distance(void **state)
{
    (void)state;
    double y[] = {50, 52, 54, 200, 299};
    const double height[] = {20, 30, 20, 20, 20};
    spread_labels(y, height, 5, 40, 300);
    for (size_t i = 1; i < 5; i++)
        assert_true(y[i] - y[i - 1] >= height[i - 1] - 1e-9);
    assert_true(y[0] >= 40 && y[4] <= 300);
    assert_true(fabs(y[3] - 200) < 1e-9);
    double crowded[] = {50, 50, 50};
    spread_labels(crowded, height, 3, 40, 70); /* 50 units of labels in 30 */
    assert_true(crowded[0] >= 40 - 1e-9 && crowded[2] <= 70 + 1e-9);
    assert_true(crowded[0] < crowded[1] && crowded[1] < crowded[2]);
}

static void faint_rest_is_enlarged(void **state)
{
    (void)state;
    assert_true(load_factor(0.4, 10) == 20);
    assert_true(load_factor(1.9, 10) == 5);
    assert_true(load_factor(2.1, 10) == 0);  /* well seen as it is */
    assert_true(load_factor(0.01, 10) == 0); /* noise */
    struct trace trace = {.count = 8, .load_max = 10};
    const double load[] = {0.1, 5, 10, 5, 0.2, 0.7, NAN, 0.1};
    memcpy(trace.load, load, sizeof load);
    assert_true(trace_rest(&trace, 10.6) == 0.7);
    assert_true(trace_rest(&trace, 100) == 10); /* the other strip of a pair fills the axis */
}

static void numbers_read_well(void **state)
{
    (void)state;
    const double narrow[2] = {0.28, 0.34}, low[2] = {-0.004, 0.012};
    char text[64];
    words_share(0.31, narrow, text, sizeof text);
    assert_string_equal(text, "31\u00a0% (28–34)");
    const double across[2] = {-3, 4};
    words_hue(0.4, across, text, sizeof text);
    assert_string_equal(text, "0° (357–4)");
    words_hue(NAN, across, text, sizeof text);
    assert_string_equal(text, "–");
    words_share(0.012, NULL, text, sizeof text);
    assert_string_equal(text, "1.2\u00a0%");
    words_rf(0.004, low, text, sizeof text);
    assert_string_equal(text, "0.004 (−0.004–0.012)");
    words_rf(-0.0001, NULL, text, sizeof text);
    assert_string_equal(text, "0.000");
    words_rf(NAN, NULL, text, sizeof text);
    assert_string_equal(text, "–");
}

static void undecided_says_between_what(void **state)
{
    (void)state;
    struct sl_pair pair = {.level = SL_LEVEL_UNDECIDED, .dried_bound_interval = {0.28, 0.39}};
    pair.water_resistant = pair.decided = true;
    assert_string_equal(words_level(&pair), "Partial or strong retention");
    assert_string_equal(words_water(&pair), "A component is likely to be water-resistant.");
    pair.dried_bound_interval[0] = 0.05;
    pair.decided = false;
    assert_string_equal(words_level(&pair), "Undecided");
    assert_non_null(strstr(words_water(&pair), "does not decide"));
    pair.dried_bound_interval[0] = 0.01;
    pair.dried_bound_interval[1] = 0.03;
    pair.decided = true;
    pair.water_resistant = false;
    assert_string_equal(words_level(&pair), "No or a trace of retention");
    assert_string_equal(words_water(&pair), "No component is likely to be water-resistant.");
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
        WITH_SAMPLE(strip_names_its_bands),
        WITH_SAMPLE(streak_has_no_band),
        WITH_SAMPLE(blank_strip_says_so),
        WITH_SAMPLE(pair_gives_verdict_and_caution),
        WITH_SAMPLE(pair_says_only_where_the_wet_strip_surely_kept_too_little),
        WITH_SAMPLE(review_has_large_words),
        WITH_SAMPLE(review_has_room_for_the_longest_words),
        WITH_SAMPLE(overlay_marks_shared_dyes),
        WITH_SAMPLE(normalised_overlay_ends_at_one),
        WITH_SAMPLE(ribbon_stands_in_for_the_picture),
        WITH_SAMPLE(unknown_numbers_break_nothing),
        WITH_SAMPLE(svg_is_the_same_each_time),
        WITH_SAMPLE(png_is_full_and_of_its_size),
        WITH_SAMPLE(pdf_is_one_page),
        WITH_SAMPLE(absurd_size_is_refused),
        WITH_SAMPLE(missing_letters_are_warned_of),
        WITH_SAMPLE(hostile_names_stay_text),
        WITH_SAMPLE(decimal_comma_stays_out),
        WITH_SAMPLE(failed_write_leaves_nothing),
        cmocka_unit_test(ticks_are_round),
        cmocka_unit_test(labels_keep_their_distance),
        cmocka_unit_test(faint_rest_is_enlarged),
        cmocka_unit_test(numbers_read_well),
        cmocka_unit_test(undecided_says_between_what),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
