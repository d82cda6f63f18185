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
    double size, x, y, length;
    bool bold;
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
    double width, height, circle_x; /* of the last circle */
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
    if (svg->in_text)
        svg->line = (struct svg_line){0};
    for (size_t i = 0; keys[i]; i++) {
        bool number = strcmp(keys[i], "href") != 0; /* base64 may spell anything */
        svg->nans += number && (strstr(values[i], "nan") || strstr(values[i], "inf"));
        if (strcmp(keys[i], "font-size") == 0)
            svg->line.size = g_ascii_strtod(values[i], NULL);
        if (strcmp(keys[i], "x") == 0)
            svg->line.x = g_ascii_strtod(values[i], NULL);
        if (strcmp(keys[i], "y") == 0)
            svg->line.y = g_ascii_strtod(values[i], NULL);
        if (strcmp(keys[i], "textLength") == 0)
            svg->line.length = g_ascii_strtod(values[i], NULL);
        if (strcmp(keys[i], "font-weight") == 0)
            svg->line.bold = strcmp(values[i], "bold") == 0;
        if (strcmp(keys[i], "cx") == 0)
            svg->circle_x = g_ascii_strtod(values[i], NULL);
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

static struct svg pair_svg(const struct sample *s)
{
    struct figure_bytes figure = draw(s, PAIR, 0, SL_FIGURE_SVG, &usual);
    struct svg svg = svg_parse(&figure);
    free(figure.bytes);
    assert_int_equal(svg.nans, 0);
    return svg;
}

/* Where the words stand in the figure's text; what is read first stands first. */
static size_t place_of(const struct svg *svg, const char *words)
{
    assert_says(svg, words);
    return (size_t)(strstr(svg->text->str, words) - svg->text->str);
}

static void pair_gives_verdict_and_caution(void **state)
{
    struct svg svg = pair_svg(*state);
    size_t answer = place_of(&svg, "Stays in this dip\n");
    size_t sure = place_of(&svg, "Virtually certain (more than 99\u00a0%): at least 30\u00a0%");
    size_t scale = place_of(&svg, "\npartial\n");
    size_t level = place_of(&svg, "Retention index 39 (34–45): level strong.");
    size_t drying = place_of(&svg, "Virtually certain (more than 99\u00a0%): holds more once dry.");
    assert_true(answer < sure && sure < scale && scale < level && level < drying);
    assert_true(drying < place_of(&svg, "This is an indicator"));
    assert_says(&svg, "dipped at once");
    assert_says(&svg, "dried first");
    assert_int_equal(svg.images, 2);
    svg_finish(&svg);
}

static void put_retained(struct sample *s, size_t strip, double share, double half)
{
    struct sl_bands *bands = &s->document.reading[0]->strip[strip].bands;
    bands->retained_share = share;
    bands->retained_interval[0] = share - half;
    bands->retained_interval[1] = share + half;
}

static void judge(struct sample *s)
{
    assert_int_equal(sl_pair_judge(&s->document, s->pair.immediate, s->pair.dried, &s->pair, NULL),
                     SL_OK);
}

/* Not one word of what is drawn is cut off. */
static void assert_uncut(const struct svg *svg)
{
    if (strstr(svg->text->str, "…"))
        fail_msg("words are cut off: %s", svg->text->str);
}

static void pair_with_an_open_answer_leads_with_the_range(void **state)
{
    struct sample *s = *state;
    put_retained(s, 1, 0.09, 0.06);
    judge(s);
    struct svg svg = pair_svg(s);
    size_t range = place_of(&svg, "3 to 15\u00a0% stays\n");
    assert_true(range < place_of(&svg, "Nobody can tell from this if that is enough."));
    assert_uncut(&svg);
    svg_finish(&svg);
}

static void pair_without_a_verdict_says_why(void **state)
{
    struct sample *s = *state;
    s->document.reading[0]->strip[1].bands.retained_share = NAN;
    judge(s);
    struct svg svg = pair_svg(s);
    assert_says(&svg, "Is the ink line in the photo?\n");
    assert_says(&svg, "Take a photo");
    assert_null(strstr(svg.text->str, "Retention index"));
    assert_null(strstr(svg.text->str, "\npartial\n"));
    assert_says(&svg, "This is an indicator");
    svg_finish(&svg);
}

/* Two strips of one ink, both dried first. What is bound would fill the axis to 0.9; the verdict
 * rests on what is retained. */
static void replicates_show_what_the_verdict_rests_on(void **state)
{
    struct sample *s = *state;
    struct sl_document *document = &s->document;
    struct sl_strip *pair = document->reading[0]->strip;
    struct figure_target target = {SL_FIGURE_SVG, &usual, ""};
    struct figure_bytes figure = {0};
    pair[0].role = SL_ROLE_DRIED;
    pair[1].bands.bound_interval[1] = 0.9;
    pair[0].bands = pair[1].bands;
    document->pair_count = 0;
    assert_int_equal(sl_document_make_replicates(document, NULL), SL_OK);
    assert_int_equal(document->replicate_count, 1);
    assert_int_equal(
        figure_draw_replicate(document, &document->replicate[0], &target, &figure, NULL, NULL),
        SL_OK);
    struct svg svg = svg_parse(&figure);
    assert_says(&svg, "retained share\nwhat lay at the line\n");
    assert_null(strstr(svg.text->str, "bound"));
    const char *shares = strstr(svg.text->str, "Rf\n"); /* the axis of places is drawn first */
    assert_non_null(shares);
    assert_non_null(strstr(shares, "\n0.4\n"));
    assert_null(strstr(shares, "\n0.8\n"));
    svg_finish(&svg);
    free(figure.bytes);
    free(document->replicate);
    free(document->combined);
}

/* ---- the scale of the levels ---- */

static struct svg scale_svg(const struct sl_pair *pair)
{
    struct figure_target target = {SL_FIGURE_SVG, &usual, ""};
    struct figure_bytes figure = {0};
    assert_int_equal(figure_draw_scale(pair, &target, &figure, NULL, NULL), SL_OK);
    struct svg svg = svg_parse(&figure);
    free(figure.bytes);
    assert_int_equal(svg.nans, 0);
    return svg;
}

static struct svg_line line_that_is(const struct svg *svg, const char *words)
{
    for (guint i = 0; i < svg->lines->len; i++)
        if (strcmp(g_array_index(svg->lines, struct svg_line, i).words, words) == 0)
            return g_array_index(svg->lines, struct svg_line, i);
    fail_msg("the figure has no \"%s\": %s", words, svg->text->str);
    return (struct svg_line){0};
}

/* An index on a limit stands right above that limit's number. */
static void scale_shows_an_index_at_its_limit(void **state)
{
    (void)state;
    static const struct {
        double index;
        const char *limit;
    } at[] = {{0, "0"}, {2, "2"}, {8, "8"}, {30, "30"}, {100, "100"}};
    for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
        struct sl_pair pair = {.index = at[i].index, .answer = SL_ANSWER_OPEN};
        pair.index_interval[0] = pair.index_interval[1] = at[i].index;
        struct svg svg = scale_svg(&pair);
        struct svg_line label = line_that_is(&svg, at[i].limit);
        double x = i == 0 ? label.x : i == 4 ? label.x + label.length : label.x + label.length / 2;
        assert_true(fabs(svg.circle_x - x) < 0.1);
        svg_finish(&svg);
    }
}

static void scale_names_all_levels_and_marks_the_own(void **state)
{
    (void)state;
    for (int own = 0; own < SL_LEVELS; own++) {
        struct sl_pair pair = {.level = (enum sl_level)own, .answer = SL_ANSWER_OPEN};
        struct svg svg = scale_svg(&pair);
        struct svg_line top = line_that_is(&svg, "100");
        double from = line_that_is(&svg, "0").x, width = top.x + top.length - from;
        for (int level = 0; level < SL_LEVELS; level++) {
            struct svg_line name = line_that_is(&svg, sl_level_name((enum sl_level)level));
            double middle = name.x + name.length / 2;
            assert_int_equal(name.bold, level == own);
            /* all are equally wide */
            assert_true(fabs(middle - from - width * (level + 0.5) / SL_LEVELS) < 0.1);
        }
        svg_finish(&svg);
    }
}

/* ---- the pictures for a review ---- */

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
    static const char *const main_words[] = {
        "dipped at once",
        "dried first",
        "Stays in this dip",
        "Virtually certain (more than",
        "Retention index 39 (",
        "level",
        "What is retained: blue-grey",
    };
    for (size_t k = 0; k < 2; k++) {
        struct svg svg = review_svg(s, reviews[k].shape);
        assert_float_equal(svg.width, reviews[k].width, 0.01);
        assert_float_equal(svg.height, reviews[k].height, 0.01);
        for (size_t i = 0; i < sizeof main_words / sizeof *main_words; i++)
            if (i < 6 || k == 1) /* the wide one has no room left for the colour here */
                assert_true(line_of(&svg, main_words[i]).size >= 1080 / 30.0);
        assert_says(&svg, "This is an indicator");
        for (guint i = 0; i < svg.lines->len; i++)
            assert_true(g_array_index(svg.lines, struct svg_line, i).size >= 1080 / 45.0);
        svg_finish(&svg);
    }
}

/* Nothing is cut, the verdict ends above the caution, and that inside the picture. */
static void assert_review_fits(const struct sample *s)
{
    for (size_t k = 0; k < 2; k++) {
        struct svg svg = review_svg(s, reviews[k].shape);
        struct svg_line end = g_array_index(svg.lines, struct svg_line, svg.lines->len - 1);
        struct svg_line first = line_of(&svg, "This is an indicator");
        double last = 0;
        assert_uncut(&svg);
        for (guint i = 0; i < svg.lines->len; i++) {
            struct svg_line line = g_array_index(svg.lines, struct svg_line, i);
            bool beside = line.x >= first.x - 1 && line.y < first.y;
            last = beside ? fmax(last, line.y) : last;
        }
        assert_true(last + 1.2 * first.size < first.y);
        assert_true(end.y < reviews[k].height - 20);
        svg_finish(&svg);
    }
}

static void review_has_room_for_every_verdict(void **state)
{
    struct sample *s = *state;
    static const struct {
        double dried, half, immediate;
        enum sl_answer answer;
    } cases[] = {
        {0.50, 0.02, 0.01, SL_ANSWER_STAYS},         {0.33, 0.10, 0.33, SL_ANSWER_STAYS},
        {0.20, 0.02, 0.01, SL_ANSWER_PARTLY_STAYS},  {0.25, 0.12, 0.30, SL_ANSWER_PARTLY_STAYS},
        {0.081, 0.05, 0.01, SL_ANSWER_OPEN},         {0.079, 0.001, 0.01, SL_ANSWER_WASHES_AWAY},
        {0.005, 0.002, 0.01, SL_ANSWER_WASHES_AWAY},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        put_retained(s, 0, cases[i].immediate, 0.01);
        put_retained(s, 1, cases[i].dried, cases[i].half);
        judge(s);
        assert_int_equal(s->pair.answer, cases[i].answer);
        assert_review_fits(s);
    }
}

static void review_has_room_for_every_reason_against_one(void **state)
{
    struct sample *s = *state;
    struct sl_strip *dried = &s->document.reading[0]->strip[1];
    static const char *const answers[] = {"The ink line", "The water", "No ink found"};
    for (size_t i = 0; i < sizeof answers / sizeof *answers; i++) {
        struct sl_strip before = *dried;
        if (i == 0)
            dried->bands.retained_share = NAN;
        else if (i == 1)
            dried->marks.front = dried->marks.origin + 0.03;
        else {
            dried->marks.blank = true;
            dried->bands.count = 0;
        }
        judge(s);
        assert_review_fits(s);
        struct svg svg = review_svg(s, SL_REVIEW_LANDSCAPE);
        assert_true(line_of(&svg, answers[i]).size >= 1080 / 30.0);
        svg_finish(&svg);
        *dried = before;
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
        WITH_SAMPLE(pair_with_an_open_answer_leads_with_the_range),
        WITH_SAMPLE(pair_without_a_verdict_says_why),
        WITH_SAMPLE(replicates_show_what_the_verdict_rests_on),
        cmocka_unit_test(scale_shows_an_index_at_its_limit),
        cmocka_unit_test(scale_names_all_levels_and_marks_the_own),
        WITH_SAMPLE(review_has_large_words),
        WITH_SAMPLE(review_has_room_for_every_verdict),
        WITH_SAMPLE(review_has_room_for_every_reason_against_one),
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
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
