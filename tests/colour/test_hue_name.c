// SPDX-License-Identifier: GPL-3.0-or-later
/* Words for colours against the named colours of CSS Color Module Level 4, section 6.1 (sRGB
 * values read there; which plain word fits which name is common practice, no source). */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "strandline/colour.h"

struct named {
    const char *css;
    uint8_t rgb[3];
    const char *words; /* those that fit, between spaces */
};

static const struct named colours[] = {
    {"black", {0, 0, 0}, " black "},
    {"dimgray", {105, 105, 105}, " grey "},
    {"silver", {192, 192, 192}, " grey "},
    {"white", {255, 255, 255}, " white "},
    {"red", {255, 0, 0}, " red "},
    {"crimson", {220, 20, 60}, " red "},
    {"firebrick", {178, 34, 34}, " red "},
    {"darkred", {139, 0, 0}, " red "},
    {"orange", {255, 165, 0}, " orange "},
    {"darkorange", {255, 140, 0}, " orange "},
    {"coral", {255, 127, 80}, " orange "},
    {"brown", {165, 42, 42}, " brown red "},
    {"saddlebrown", {139, 69, 19}, " brown "},
    {"sienna", {160, 82, 45}, " brown "},
    {"peru", {205, 133, 63}, " brown "},
    {"tan", {210, 180, 140}, " brown "},
    {"yellow", {255, 255, 0}, " yellow "},
    {"gold", {255, 215, 0}, " yellow "},
    {"khaki", {240, 230, 140}, " yellow "},
    {"greenyellow", {173, 255, 47}, " yellow-green "},
    {"green", {0, 128, 0}, " green "},
    {"lime", {0, 255, 0}, " green "},
    {"seagreen", {46, 139, 87}, " green "},
    {"palegreen", {152, 251, 152}, " green "},
    {"turquoise", {64, 224, 208}, " turquoise "},
    {"teal", {0, 128, 128}, " turquoise "},
    {"darkcyan", {0, 139, 139}, " turquoise "},
    {"deepskyblue", {0, 191, 255}, " blue "},
    {"skyblue", {135, 206, 235}, " blue "},
    {"lightblue", {173, 216, 230}, " blue turquoise "},
    {"steelblue", {70, 130, 180}, " blue "},
    {"royalblue", {65, 105, 225}, " blue "},
    {"blue", {0, 0, 255}, " blue "},
    {"mediumblue", {0, 0, 205}, " blue "},
    {"navy", {0, 0, 128}, " blue "},
    {"blueviolet", {138, 43, 226}, " violet "},
    {"darkviolet", {148, 0, 211}, " violet purple "},
    {"mediumpurple", {147, 112, 219}, " violet purple "},
    {"purple", {128, 0, 128}, " purple "},
    {"plum", {221, 160, 221}, " purple pink "},
    {"magenta", {255, 0, 255}, " magenta "},
    {"mediumvioletred", {199, 21, 133}, " magenta "},
    {"pink", {255, 192, 203}, " pink "},
    {"hotpink", {255, 105, 180}, " pink "},
    {"deeppink", {255, 20, 147}, " pink magenta "},
    {"lightpink", {255, 182, 193}, " pink "},
};

static void lab_of(const struct sl_lab *lab, const uint8_t rgb[3], double ret[3])
{
    double linear[1][3], out[1][3];
    for (int k = 0; k < 3; k++)
        linear[0][k] = sl_srgb_decode(rgb[k] / 255.0);
    sl_lab_from_linear(lab, (const double(*)[3])linear, 1, out);
    memcpy(ret, out[0], sizeof out[0]);
}

static void named_colours_get_a_fitting_word(void **state)
{
    (void)state;
    struct sl_lab *lab = NULL;
    int misses = 0;
    assert_int_equal(sl_lab_create(&lab, NULL), SL_OK);
    for (size_t i = 0; i < sizeof colours / sizeof *colours; i++) {
        double value[3];
        char word[32];
        lab_of(lab, colours[i].rgb, value);
        snprintf(word, sizeof word, " %s ", sl_hue_name(value));
        if (!strstr(colours[i].words, word)) {
            print_error("%s (L %.1f C %.1f h %.1f) is called%sinstead of%s\n", colours[i].css,
                        value[0], sl_lab_chroma(value), sl_lab_hue_deg(value), word,
                        colours[i].words);
            misses++;
        }
    }
    sl_lab_destroy(lab);
    assert_int_equal(misses, 0);
}

static void every_colour_has_a_word_and_grey_has_none_of_a_hue(void **state)
{
    (void)state;
    for (double L = 0; L <= 110; L += 5)
        for (double h = 0; h < 360; h += 3)
            for (double C = 0; C < 130; C += 10) {
                const double rad = h * 3.14159265358979 / 180;
                const double lab[3] = {L, C * cos(rad), C * sin(rad)};
                const char *word = sl_hue_name(lab);
                assert_true(strlen(word) > 2);
                assert_ptr_equal(sl_hue_name_known(word), word); /* can be read back */
            }
    for (double L = 0; L <= 100; L += 2) {
        const double lab[3] = {L, 0.5, -0.5};
        const char *word = sl_hue_name(lab);
        assert_true(strcmp(word, "black") == 0 || strcmp(word, "grey") == 0 ||
                    strcmp(word, "white") == 0);
    }
}

/* A dye gets paler along a strip and must not change its word at every step. */
static void a_paling_dye_keeps_its_family(void **state)
{
    (void)state;
    const double ink[3] = {0.05, 0.12, 0.45}; /* reflectance of a strong blue */
    struct sl_lab *lab = NULL;
    assert_int_equal(sl_lab_create(&lab, NULL), SL_OK);
    for (double part = 1; part > 0.15; part *= 0.8) {
        double linear[1][3], out[1][3];
        for (int k = 0; k < 3; k++)
            linear[0][k] = 1 - part * (1 - ink[k]);
        sl_lab_from_linear(lab, (const double(*)[3])linear, 1, out);
        assert_string_equal(sl_hue_name(out[0]), "blue");
    }
    sl_lab_destroy(lab);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(named_colours_get_a_fitting_word),
        cmocka_unit_test(every_colour_has_a_word_and_grey_has_none_of_a_hue),
        cmocka_unit_test(a_paling_dye_keeps_its_family),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
