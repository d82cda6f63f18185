// SPDX-License-Identifier: GPL-3.0-or-later
// The renderer as a program: same bytes from the same scene, truths that agree with what was put in
// and with the picture's own pixels, and one clear sentence for a description that is wrong.
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <jansson.h>
#include <png.h>

// One dye of known place and bound part, light even, lens and sensor perfect.
static const char plain_scene[] =
    "[scene]\nseed = 5\ntable = black card\nwidth_px = 500\nheight_px = 900\npx_per_mm = 8\n"
    "light_ratio = 1\nbalanced = 1\nblur_px = 0\nnoise = 0\njpeg_quality = 0\n"
    "profile = none\n"
    "[dye]\nname = test blue\npeak = 600 45 1\n"
    "[ink]\nname = test ink\n"
    "[part]\ndye = test blue\namount = 6\nrf = 0.6\nspread = 0.03\nbound = 0.1\n"
    "bound_dried = 0.3\n"
    "[paper]\nname = test paper\nkind = smooth filter\ntexture = 0\n"
    "[strip]\nink = test ink\npaper = test paper\nrole = single\ndried = yes\n"
    "length_mm = 90\norigin_mm = 16\nrun_mm = 60\nfingers_mm = 0\nfront_curve_mm = 0\n"
    "wander = 0\ncrooked_mm = 0\n";

static char folder[64];

static int make_folder(void **state)
{
    (void)state;
    strcpy(folder, "/tmp/strandline-render-XXXXXX");
    return mkdtemp(folder) != NULL ? 0 : -1;
}

static int remove_folder(void **state)
{
    char command[128];
    (void)state;
    snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command);
}

static int run(const char *arguments)
{
    char command[1024];
    snprintf(command, sizeof command, "'%s' -o %s %s 2>%s/errors", RENDERER, folder, arguments,
             folder);
    return system(command);
}

static void write_file(const char *name, const char *text)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

// Caller frees.
static char *read_file(const char *name, size_t *ret_size)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    fseek(file, 0, SEEK_END);
    *ret_size = (size_t)ftell(file);
    rewind(file);
    char *bytes = calloc(1, *ret_size + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, *ret_size, file), *ret_size);
    fclose(file);
    return bytes;
}

static json_t *load_truth(const char *directory, const char *name)
{
    char path[256];
    json_error_t error;
    snprintf(path, sizeof path, "%s/%s.truth.json", directory, name);
    json_t *truth = json_load_file(path, 0, &error);
    assert_non_null(truth);
    return truth;
}

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

// The plain scene with more keys for its strip, which is its last section, and for the scene.
static json_t *draw_plain_scene_with(const char *scene_keys, const char *strip_keys)
{
    char arguments[128];
    char text[2048];
    snprintf(text, sizeof text, "%s%s[scene]\n%s", plain_scene, strip_keys, scene_keys);
    write_file("plain.txt", text);
    snprintf(arguments, sizeof arguments, "%s/plain.txt", folder);
    assert_int_equal(run(arguments), 0);
    return load_truth(folder, "plain");
}

static json_t *draw_plain_scene(void)
{
    return draw_plain_scene_with("", "");
}

static void the_same_seed_draws_the_same_bytes(void **state)
{
    (void)state;
    static const char *const names[] = {"normal-dip-8.jpg", "normal-dip-8.truth.json"};
    size_t size[2];
    char *first[2];
    assert_int_equal(run("--random normal dip 8 --long-side 500"), 0);
    for (int k = 0; k < 2; k++) {
        first[k] = read_file(names[k], &size[k]);
    }
    assert_int_equal(run("--random normal dip 8-9 --long-side 500"), 0);
    for (int k = 0; k < 2; k++) {
        size_t again_size;
        char *again = read_file(names[k], &again_size);
        assert_int_equal(again_size, size[k]);
        assert_memory_equal(again, first[k], size[k]);
        free(again);
    }
    size_t other_size;
    char *other = read_file("normal-dip-9.jpg", &other_size);
    assert_true(other_size != size[0] || memcmp(other, first[0], size[0]) != 0);
    free(other);
    free(first[0]);
    free(first[1]);
}

static void check_strip(const json_t *strip)
{
    size_t index;
    const json_t *item;
    double shares = 0;
    double last_rf = -1;
    json_array_foreach(json_object_get(strip, "bands"), index, item)
    {
        shares += number(item, "share");
        assert_true(number(item, "rf") > last_rf);
        last_rf = number(item, "rf");
        assert_true(number(item, "start_rf") < last_rf && last_rf < number(item, "end_rf"));
    }
    if (json_array_size(json_object_get(strip, "stains")) == 0 && index > 0) {
        assert_true(fabs(shares - 1) < 1e-3);
    }
    double bound = 0;
    double parts = 0;
    json_array_foreach(json_object_get(strip, "components"), index, item)
    {
        bound += number(item, "share_spectral") * number(item, "bound_fraction");
        parts += number(item, "share_spectral");
    }
    assert_true(fabs(parts - 1) < 1e-3);
    assert_true(fabs(bound - number(strip, "bound_share")) < 1e-3);
    assert_true(number(strip, "origin_frac") > 0);
    assert_true(number(strip, "origin_frac") < number(strip, "front_frac"));
    assert_true(number(strip, "front_frac") < 1);
}

static void check_photo(const char *directory, const char *name)
{
    json_t *truth = load_truth(directory, name);
    size_t index;
    const json_t *strip;
    assert_string_equal(json_string_value(json_object_get(truth, "format")), "strip-truth-1");
    json_array_foreach(json_object_get(truth, "strips"), index, strip)
    {
        check_strip(strip);
    }
    assert_true(index > 0);
    json_decref(truth);
}

// All that the last run drew.
static void check_listed_photos(void)
{
    char path[128];
    json_error_t error;
    size_t index;
    const json_t *photo;
    snprintf(path, sizeof path, "%s/index.json", folder);
    json_t *list = json_load_file(path, 0, &error);
    assert_non_null(list);
    json_array_foreach(json_object_get(list, "photos"), index, photo)
    {
        char name[64];
        snprintf(name, sizeof name, "%s", json_string_value(photo));
        *strrchr(name, '.') = '\0';
        check_photo(folder, name);
    }
    assert_true(index >= 3);
    json_decref(list);
}

static void truths_agree_with_themselves(void **state)
{
    (void)state;
    static const char *const fixtures[] = {"bench-pair", "washable-pair", "kitchen-pair",
                                           "ink-row"};
    for (int k = 0; k < 4; k++) {
        check_photo(FIXTURES_DIR "/photos", fixtures[k]);
    }
    static const char *const dice[] = {"--random hard tidy 1-3 --long-side 400",
                                       "--random easy dip 1-3 --long-side 400"};
    for (int k = 0; k < 2; k++) {
        assert_int_equal(run(dice[k]), 0);
        check_listed_photos();
    }
}

static void what_was_put_in_is_drawn(void **state)
{
    (void)state;
    json_t *truth = draw_plain_scene();
    const json_t *strip = json_array_get(json_object_get(truth, "strips"), 0);
    const json_t *bands = json_object_get(strip, "bands");
    assert_int_equal(json_array_size(bands), 2);
    const json_t *line = json_array_get(bands, 0);
    const json_t *band = json_array_get(bands, 1);
    assert_true(fabs(number(strip, "bound_share") - 0.3) < 1e-4);
    assert_true(fabs(number(strip, "origin_mm") - 16) < 0.02);
    assert_true(fabs(number(strip, "front_mm") - 76) < 0.02);
    assert_true(fabs(number(line, "rf")) < 0.002);
    assert_true(fabs(number(band, "rf") - 0.6) < 0.012); // rows of 0.1 mm, dyes stray by 2.5 %
    assert_true(json_is_true(json_object_get(line, "retained")));
    assert_true(json_is_false(json_object_get(band, "retained")));
    // Half width of a Gaussian, 2 sqrt(2 ln 2) sigma; the line's width adds 1.2 mm / sqrt(12).
    double sigma = hypot(0.03, 1.2 / 60 / sqrt(12));
    assert_true(fabs(number(band, "fwhm_rf") - 2.3548 * sigma) < 0.006);
    json_decref(truth);
}

struct pixels {
    png_image image;
    png_uint_16 *samples;
};

static void load_pixels(const char *name, struct pixels *ret)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    *ret = (struct pixels){.image = {.version = PNG_IMAGE_VERSION}};
    assert_int_not_equal(png_image_begin_read_from_file(&ret->image, path), 0);
    ret->image.format = PNG_FORMAT_LINEAR_RGB; // libpng takes 8 bits for sRGB and undoes it
    ret->samples = malloc(PNG_IMAGE_SIZE(ret->image));
    assert_non_null(ret->samples);
    assert_int_not_equal(png_image_finish_read(&ret->image, NULL, ret->samples, 0, NULL), 0);
}

// Mean of a row of pixels across the middle of the upright strip, at a fraction of its length.
static void light_at(const struct pixels *pixels, const json_t *strip, double along,
                     double ret_rgb[3])
{
    double x[4];
    double y[4];
    for (size_t k = 0; k < 4; k++) {
        const json_t *corner = json_array_get(json_object_get(strip, "corners"), k);
        x[k] = json_number_value(json_array_get(corner, 0));
        y[k] = json_number_value(json_array_get(corner, 1));
    }
    long row = lround((y[0] + y[1]) / 2 * (1 - along) + (y[2] + y[3]) / 2 * along);
    long from = lround(x[0] + 0.25 * (x[1] - x[0]));
    long to = lround(x[0] + 0.75 * (x[1] - x[0]));
    for (int c = 0; c < 3; c++) {
        ret_rgb[c] = 0;
        for (long i = from; i <= to; i++) {
            long at = 3 * (row * (long)pixels->image.width + i) + c;
            ret_rgb[c] += pixels->samples[at] / 65535.0 / (double)(to - from + 1);
        }
    }
}

// K/S = (1 - R)^2 / (2 R): P. Kubelka, F. Munk, Z. tech. Physik 12 (1931) 593.
static void pixels_carry_the_load_of_the_truth(void **state)
{
    (void)state;
    json_t *truth = draw_plain_scene();
    const json_t *strip = json_array_get(json_object_get(truth, "strips"), 0);
    const json_t *profile = json_object_get(strip, "profile");
    struct pixels pixels;
    load_pixels("plain.png", &pixels);
    double paper[3];
    double dyed[3];
    enum { AT = 115 }; // of 200 cells: beside the band's apex, where the slope is gentle
    light_at(&pixels, strip, 0.35, paper);
    light_at(&pixels, strip, (AT + 0.5) / 200, dyed);
    for (size_t c = 0; c < 3; c++) {
        double r = dyed[c] / paper[c];
        double load = (1 - r) * (1 - r) / (2 * r);
        const json_t *row = json_array_get(json_object_get(profile, "load_relative"), AT);
        double told = json_number_value(json_array_get(row, c));
        // the lens darkens towards the ends of the frame: 2 % of R between the two places
        assert_true(fabs(load - told) < 0.03 + 0.06 * told);
    }
    assert_true(number(json_array_get(json_object_get(strip, "bands"), 1), "apex_ks") > 0.5);
    png_image_free(&pixels.image);
    free(pixels.samples);
    json_decref(truth);
}

static const json_t *first_strip(const json_t *truth)
{
    return json_array_get(json_object_get(truth, "strips"), 0);
}

static void corner_at(const json_t *strip, size_t k, double ret_px[2])
{
    const json_t *corner = json_array_get(json_object_get(strip, "corners"), k);
    ret_px[0] = json_number_value(json_array_get(corner, 0));
    ret_px[1] = json_number_value(json_array_get(corner, 1));
}

static double side_px(const json_t *strip, size_t a, size_t b)
{
    double p[2];
    double q[2];
    corner_at(strip, a, p);
    corner_at(strip, b, q);
    return hypot(p[0] - q[0], p[1] - q[1]);
}

static double green_at(const struct pixels *pixels, long x, long y)
{
    return pixels->samples[3 * (y * (long)pixels->image.width + x) + 1] / 65535.0;
}

// Where white paper begins on the black card, coming from the picture's rim along a row or a
// column.
static double paper_begins(const struct pixels *pixels, bool along_row, long line, bool from_end)
{
    const double half = 0.4; // of full scale; the paper has 0.8
    long count = (long)(along_row ? pixels->image.width : pixels->image.height);
    double last = 0;
    for (long k = 0; k < count; k++) {
        long at = from_end ? count - 1 - k : k;
        double light = along_row ? green_at(pixels, at, line) : green_at(pixels, line, at);
        if (light >= half) {
            double back = (light - half) / (light - last);
            return from_end ? (double)at + back : (double)at - back;
        }
        last = light;
    }
    fail();
    return 0;
}

// The geometry of the plain scene: strip 20 x 90 mm, 8 px a mm, camera 0.78 x 900 / 8 mm above it.
static const double plain_px_per_mm = 8, plain_camera_mm = 0.78 * 900 / 8;

// Length of a circular arc from its chord and how far it rises: r = (c^2 / 4 + h^2) / 2 h.
static double arc_mm(double chord_mm, double rise_mm)
{
    double radius = (chord_mm * chord_mm / 4 + rise_mm * rise_mm) / (2 * rise_mm);
    return 2 * radius * asin(chord_mm / 2 / radius);
}

static void a_rolled_strip_keeps_its_paper(void **state)
{
    (void)state;
    static const struct {
        const char *keys, *kind;
        double edge_mm; ///< height of the long edges above the table
    } cases[] = {{"curl = ridge\nlift_mm = 3\n", "ridge", 0},
                 {"curl = trough\nlift_mm = 3\n", "trough", 3}};
    json_t *flat = draw_plain_scene();
    for (size_t k = 0; k < 2; k++) {
        json_t *truth = draw_plain_scene_with("", cases[k].keys);
        const json_t *strip = first_strip(truth);
        const json_t *curl = json_object_get(strip, "curl");
        assert_string_equal(json_string_value(json_object_get(curl, "kind")), cases[k].kind);
        double nearer = plain_camera_mm / (plain_camera_mm - cases[k].edge_mm);
        double chord = side_px(strip, 0, 1) / plain_px_per_mm / nearer;
        assert_true(fabs(arc_mm(chord, 3) - 20) < 0.01);
        assert_true(fabs(side_px(strip, 1, 2) - 90 * plain_px_per_mm * nearer) < 1);
        static const char *const same[] = {"length_mm", "origin_frac", "front_frac", "bound_share"};
        for (size_t n = 0; n < 4; n++) {
            assert_true(number(strip, same[n]) == number(first_strip(flat), same[n]));
        }
        struct pixels pixels; // and the paper is seen where the corners say
        load_pixels("plain.png", &pixels);
        double left[2];
        double right[2];
        corner_at(strip, 0, left);
        corner_at(strip, 1, right);
        assert_true(fabs(paper_begins(&pixels, true, 300, false) - left[0]) < 0.5);
        assert_true(fabs(paper_begins(&pixels, true, 300, true) - right[0]) < 0.5);
        png_image_free(&pixels.image);
        free(pixels.samples);
        json_decref(truth);
    }
    json_decref(flat);
}

static void a_torn_lower_end_ends_where_the_truth_says(void **state)
{
    (void)state;
    json_t *truth = draw_plain_scene_with("", "torn_lower_mm = 2\n");
    const json_t *strip = first_strip(truth);
    const json_t *torn = json_object_get(strip, "torn");
    assert_true(json_is_true(json_array_get(torn, 0)));
    assert_true(json_is_false(json_array_get(torn, 1)));
    struct pixels pixels;
    load_pixels("plain.png", &pixels);
    double left[2];
    double right[2];
    corner_at(strip, 0, left);
    corner_at(strip, 1, right);
    double mean = 0;
    double lowest = 0;
    double highest = 1e9;
    long from = lround(left[0] + 0.05 * (right[0] - left[0]));
    long to = lround(right[0] - 0.05 * (right[0] - left[0]));
    for (long x = from; x <= to; x++) {
        double y = paper_begins(&pixels, false, x, true);
        mean += y / (double)(to - from + 1);
        lowest = fmax(lowest, y);
        highest = fmin(highest, y);
    }
    assert_true(fabs(mean - (left[1] + right[1]) / 2) < 0.5);
    assert_true(lowest - highest > 0.5 * plain_px_per_mm); // ragged
    double length = number(strip, "length_mm");
    assert_true(length < 90 - 0.5 && length > 90 - 4.5);
    assert_true(fabs(number(strip, "origin_mm") - (16 - (90 - length))) < 0.02);
    png_image_free(&pixels.image);
    free(pixels.samples);
    json_decref(truth);
}

// The long edge of the strip, at x0 from the middle without a lens, is seen at x0 (1 + d r^2 /
// R^2).
static void a_lens_bends_straight_edges(void **state)
{
    (void)state;
    static const double percents[] = {-1.5, 0.8};
    const double x0 = 10 * plain_px_per_mm;
    for (size_t k = 0; k < 2; k++) {
        char keys[64];
        snprintf(keys, sizeof keys, "distortion_percent = %g\n", percents[k]);
        json_t *truth = draw_plain_scene_with(keys, "");
        const json_t *told = json_object_get(truth, "scene");
        assert_true(number(told, "distortion_percent") == percents[k]);
        struct pixels pixels;
        load_pixels("plain.png", &pixels);
        double middle_x = (pixels.image.width - 1) / 2.0;
        double middle_y = (pixels.image.height - 1) / 2.0;
        double corner = hypot(middle_x, middle_y);
        static const long rows[] = {110, 170, 230, 290, 540, 600, 740, 790}; // clean paper
        for (size_t n = 0; n < sizeof rows / sizeof rows[0]; n++) {
            long y = rows[n];
            double r = hypot(x0, (double)y - middle_y) / corner;
            double wanted = middle_x + x0 * (1 + percents[k] / 100 * r * r);
            assert_true(fabs(paper_begins(&pixels, true, y, true) - wanted) < 0.1);
        }
        double place[2]; // the corner, and the same point from the pixels
        corner_at(first_strip(truth), 2, place);
        double top = paper_begins(&pixels, false, lround(place[0] - 8), false);
        assert_true(fabs(top - place[1]) < 0.2);
        double side = paper_begins(&pixels, true, lround(place[1] + 8), true);
        assert_true(fabs(side - place[0]) < 0.2);
        png_image_free(&pixels.image);
        free(pixels.samples);
        json_decref(truth);
    }
}

static void an_ink_that_no_paper_holds(void **state)
{
    (void)state;
    assert_int_equal(run("--random hard dip 3 --nothing-retained --long-side 400"), 0);
    json_t *truth = load_truth(folder, "hard-dip-3");
    const json_t *pair = json_object_get(truth, "pair");
    assert_true(number(pair, "dried_bound") == 0);
    assert_true(number(pair, "immediate_bound") == 0);
    assert_true(json_is_false(json_object_get(pair, "water_resistant_component")));
    json_decref(truth);
}

// A preview is the same scene, smaller: all lengths in it are of the same proportion.
static void a_preview_is_the_same_scene(void **state)
{
    (void)state;
    json_t *truths[2];
    static const char *const ways[] = {"--random hard dip 3 --long-side 900",
                                       "--random hard dip 3 --long-side 900 --preview 300"};
    for (size_t k = 0; k < 2; k++) {
        assert_int_equal(run(ways[k]), 0);
        truths[k] = load_truth(folder, "hard-dip-3");
    }
    assert_true(number(truths[1], "orientation") == 1);
    for (size_t k = 0; k < 4; k++) {
        double whole[2];
        double small[2];
        corner_at(first_strip(truths[0]), k, whole);
        corner_at(first_strip(truths[1]), k, small);
        for (size_t n = 0; n < 2; n++) { // pixel 0 covers -0.5 to 0.5
            assert_true(fabs((whole[n] + 0.5) / 3 - (small[n] + 0.5)) < 0.3);
        }
    }
    json_decref(truths[0]);
    json_decref(truths[1]);
}

static void a_wrong_description_is_refused_with_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } cases[] = {
        {"[scene]\ncolour = 3\n", "line 2: [scene] has no key \"colour\""},
        {"[scene]\ntilt_deg = 90\n", "line 2: tilt_deg is 90"},
        {"[scene]\ntilt_deg = steep\n", "line 2: tilt_deg needs a number"},
        {"[scene]\nseed = 1\nseed = 2\n", "line 3: seed is given twice"},
        {"[cupboard]\n", "line 1: there is no section [cupboard]"},
        {"seed = 1\n", "before the first [section]"},
        {"[scene]\ntable\n", "line 2: expected \"key = value\""},
        {"[scene]\ntable = moon\n", "line 2: table cannot be \"moon\""},
        {"[part]\nrf = 1\n", "line 1: a [part] belongs to"},
        {"[ink]\nname = x\n[part]\ndye = y\n", "dye \"y\", which is not described"},
        {"[strip]\npaper = p\n", "paper \"p\", which is not described"},
        {"[paper]\nname = p\n[strip]\npaper = p\nlength_mm = 30\n", "make run_mm smaller"},
        {"[paper]\nname = p\n[strip]\npaper = p\ncurl = ridge\nlift_mm = 6\n",
         "make lift_mm 5.0 at most"},
        {"[scene]\nbits = 16\n", "bits is 8, or 16"},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        char arguments[128];
        size_t size;
        write_file("wrong.txt", cases[k].text);
        snprintf(arguments, sizeof arguments, "%s/wrong.txt", folder);
        assert_int_not_equal(run(arguments), 0);
        char *errors = read_file("errors", &size);
        assert_non_null(strstr(errors, cases[k].words));
        free(errors);
        char path[128];
        snprintf(path, sizeof path, "%s/wrong.jpg", folder);
        assert_int_not_equal(access(path, F_OK), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_seed_draws_the_same_bytes),
        cmocka_unit_test(truths_agree_with_themselves),
        cmocka_unit_test(what_was_put_in_is_drawn),
        cmocka_unit_test(pixels_carry_the_load_of_the_truth),
        cmocka_unit_test(a_rolled_strip_keeps_its_paper),
        cmocka_unit_test(a_torn_lower_end_ends_where_the_truth_says),
        cmocka_unit_test(a_lens_bends_straight_edges),
        cmocka_unit_test(an_ink_that_no_paper_holds),
        cmocka_unit_test(a_preview_is_the_same_scene),
        cmocka_unit_test(a_wrong_description_is_refused_with_its_line),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
