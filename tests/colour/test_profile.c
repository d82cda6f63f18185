// SPDX-License-Identifier: GPL-3.0-or-later
/* Profiles to linear light: lcms2's own unoptimised float transform is the reference, profiles are
 * made with lcms2 here. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <lcms2.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "colour/encoding.h"
#include "strandline/colour.h"

struct blob {
    uint8_t *bytes;
    cmsUInt32Number count;
};

/* Display P3: primaries of SMPTE RP 431-2, white D65 (CSS Color Module Level 4, 10.4). */
static const double P3_XY[3][2] = {{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}};
static const double SRGB_XY[3][2] = {{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}};
static const double D65_XY[2] = {0.3127, 0.3290};

static struct blob save(cmsHPROFILE profile)
{
    struct blob blob = {0};
    assert_non_null(profile);
    assert_true(cmsSaveProfileToMem(profile, NULL, &blob.count));
    blob.bytes = malloc(blob.count);
    assert_non_null(blob.bytes);
    assert_true(cmsSaveProfileToMem(profile, blob.bytes, &blob.count));
    cmsCloseProfile(profile);
    return blob;
}

static cmsToneCurve *srgb_curve(void)
{
    const double parameters[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    return cmsBuildParametricToneCurve(NULL, 4, parameters);
}

static cmsToneCurve *table_curve(double gamma, cmsUInt32Number entries)
{
    cmsUInt16Number *table = malloc(entries * sizeof *table);
    assert_non_null(table);
    for (cmsUInt32Number i = 0; i < entries; i++)
        table[i] = (cmsUInt16Number)lround(65535 * pow((double)i / (entries - 1), gamma));
    cmsToneCurve *curve = cmsBuildTabulatedToneCurve16(NULL, entries, table);
    free(table);
    return curve;
}

static cmsHPROFILE rgb_profile(const double xy[3][2], cmsToneCurve *curve)
{
    cmsCIExyY white = {D65_XY[0], D65_XY[1], 1};
    cmsCIExyYTRIPLE primaries = {
        {xy[0][0], xy[0][1], 1}, {xy[1][0], xy[1][1], 1}, {xy[2][0], xy[2][1], 1}};
    cmsToneCurve *curves[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves);
    cmsFreeToneCurve(curve);
    return profile;
}

static cmsHPROFILE linear_srgb(void)
{
    return rgb_profile(SRGB_XY, cmsBuildGamma(NULL, 1));
}

static cmsHTRANSFORM reference_transform(struct blob blob, cmsUInt32Number format)
{
    cmsHPROFILE from = cmsOpenProfileFromMem(blob.bytes, blob.count), to = linear_srgb();
    cmsHTRANSFORM transform =
        cmsCreateTransform(from, format, to, TYPE_RGB_FLT, INTENT_RELATIVE_COLORIMETRIC,
                           cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
    assert_non_null(transform);
    cmsCloseProfile(from);
    cmsCloseProfile(to);
    return transform;
}

/* Compares 8- and 16-bit samples on a grid with lcms2; frees the blob. */
static void assert_as_lcms2(struct blob blob, bool grey, double tolerance)
{
    enum { COUNT = 6 * 6 * 6 + 256 };
    uint8_t samples_8[COUNT][3];
    uint16_t samples_16[COUNT][3];
    float got_8[COUNT][3], got_16[COUNT][3], in_8[3], in_16[3], want_8[3], want_16[3];
    struct sl_colour *colour = NULL;
    assert_int_equal(sl_colour_create(blob.bytes, blob.count, &colour, NULL), SL_OK);
    cmsHTRANSFORM reference = reference_transform(blob, grey ? TYPE_GRAY_FLT : TYPE_RGB_FLT);
    for (int i = 0; i < COUNT; i++)
        for (int k = 0; k < 3; k++) {
            int grid = k == 0 ? i % 6 : k == 1 ? i / 6 % 6 : i / 36 % 6;
            samples_8[i][k] = (uint8_t)(i < 256 || grey ? i % 256 : grid * 51);
            /* odd steps: between the nodes of any table */
            samples_16[i][k] = (uint16_t)(i < 256 || grey ? (i * 257 + i % 97) % 65536
                                                          : grid * 13003 + 7 * k * (1 - grey));
        }
    sl_colour_to_linear(colour, samples_8, 8, COUNT, got_8[0]);
    sl_colour_to_linear(colour, samples_16, 16, COUNT, got_16[0]);
    for (int i = 0; i < COUNT; i++) {
        for (int k = 0; k < 3; k++) {
            in_8[k] = (float)samples_8[i][k] / 255;
            in_16[k] = (float)samples_16[i][k] / 65535;
        }
        cmsDoTransform(reference, in_8, want_8, 1);
        cmsDoTransform(reference, in_16, want_16, 1);
        for (int k = 0; k < 3; k++) {
            if (fabs((double)got_8[i][k] - (double)want_8[k]) > tolerance)
                fail_msg("8 bit, pixel %d channel %d: %g instead of %g", i, k, (double)got_8[i][k],
                         (double)want_8[k]);
            if (fabs((double)got_16[i][k] - (double)want_16[k]) > tolerance)
                fail_msg("16 bit, pixel %d channel %d: %g instead of %g", i, k,
                         (double)got_16[i][k], (double)want_16[k]);
        }
    }
    cmsDeleteTransform(reference);
    sl_colour_destroy(colour);
    free(blob.bytes);
}

static void matrix_profiles_give_what_lcms2_gives(void **state)
{
    (void)state;
    const double SINGLE_PRECISION = 5e-6; /* float sums in two orders, values up to 1.3 */
    assert_as_lcms2(save(rgb_profile(SRGB_XY, srgb_curve())), false, SINGLE_PRECISION);
    assert_as_lcms2(save(rgb_profile(P3_XY, srgb_curve())), false, SINGLE_PRECISION);
    assert_as_lcms2(save(rgb_profile(P3_XY, cmsBuildGamma(NULL, 1.8))), false, SINGLE_PRECISION);
    /* tables: lcms2 rounds their answers to 1/65535 */
    assert_as_lcms2(save(rgb_profile(P3_XY, table_curve(2.2, 1024))), false, 2.0 / 65535);
    assert_as_lcms2(save(rgb_profile(SRGB_XY, table_curve(2.4, 256))), false, 2.0 / 65535);
}

static void grey_profiles_give_what_lcms2_gives(void **state)
{
    (void)state;
    cmsToneCurve *curves[2] = {cmsBuildGamma(NULL, 2.2), table_curve(1.8, 512)};
    for (int i = 0; i < 2; i++) {
        cmsHPROFILE profile = cmsCreateGrayProfile(cmsD50_xyY(), curves[i]);
        assert_as_lcms2(save(profile), true, 2.0 / 65535);
        cmsFreeToneCurve(curves[i]);
    }
}

/* A 9 x 9 x 9 table from RGB to some L*a*b*. */
static void add_clut(cmsHPROFILE profile, double twist)
{
    enum { GRID = 9 };
    cmsUInt16Number table[GRID * GRID * GRID][3];
    for (int i = 0; i < GRID * GRID * GRID; i++) {
        double r = i / GRID / GRID / 8.0, g = i / GRID % GRID / 8.0, b = i % GRID / 8.0;
        table[i][0] = (cmsUInt16Number)lround(65535 * (0.3 * r + 0.5 * g + 0.2 * b));
        table[i][1] = (cmsUInt16Number)lround(65535 * (0.5 + 0.3 * (r - g) * twist));
        table[i][2] = (cmsUInt16Number)lround(65535 * (0.5 + 0.2 * (g - b) * twist));
    }
    cmsPipeline *pipeline = cmsPipelineAlloc(NULL, 3, 3);
    cmsStage *clut = cmsStageAllocCLut16bit(NULL, GRID, 3, 3, table[0]);
    assert_non_null(pipeline);
    assert_true(cmsPipelineInsertStage(pipeline, cmsAT_END, clut));
    assert_true(cmsWriteTag(profile, cmsSigAToB0Tag, pipeline));
    cmsPipelineFree(pipeline);
}

static void table_profiles_go_through_lcms2(void **state)
{
    (void)state;
    cmsHPROFILE profile = cmsCreateProfilePlaceholder(NULL);
    cmsSetProfileVersion(profile, 2.4);
    cmsSetDeviceClass(profile, cmsSigInputClass);
    cmsSetColorSpace(profile, cmsSigRgbData);
    cmsSetPCS(profile, cmsSigLabData);
    add_clut(profile, 0.8);
    assert_as_lcms2(save(profile), false, 1e-6);
}

/* A profile with a matrix and a table that disagree: lcms2 takes the table, so must we. */
static void table_beside_a_matrix_wins_as_in_lcms2(void **state)
{
    (void)state;
    cmsHPROFILE profile = rgb_profile(SRGB_XY, cmsBuildGamma(NULL, 2.2));
    cmsSetProfileVersion(profile, 2.4);
    cmsSetPCS(profile, cmsSigLabData);
    add_clut(profile, 0.5);
    assert_as_lcms2(save(profile), false, 1e-6);
}

/* 3 x 3 from chromaticities to XYZ, as in SMPTE RP 177: written down here again, in double, to
 * check lcms2's way through D50 and back. */
static void rgb_to_xyz(const double xy[3][2], double m[3][3])
{
    double w[3] = {D65_XY[0] / D65_XY[1], 1, (1 - D65_XY[0] - D65_XY[1]) / D65_XY[1]};
    double p[3][3], a[3][4];
    for (int k = 0; k < 3; k++) {
        p[0][k] = xy[k][0] / xy[k][1];
        p[1][k] = 1;
        p[2][k] = (1 - xy[k][0] - xy[k][1]) / xy[k][1];
    }
    for (int i = 0; i < 3; i++) {
        memcpy(a[i], p[i], sizeof p[i]);
        a[i][3] = w[i];
    }
    for (int c = 0; c < 3; c++) /* Gauss-Jordan; the pivots are not small for real primaries */
        for (int r = 0; r < 3; r++) {
            double f = r == c ? 0 : a[r][c] / a[c][c];
            for (int k = c; k < 4; k++)
                a[r][k] -= f * a[c][k];
        }
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            m[i][k] = p[i][k] * a[k][3] / a[k][k];
}

static void p3_colours_lie_where_their_chromaticities_say(void **state)
{
    (void)state;
    double p3[3][3], srgb[3][3], back[3];
    struct blob blob = save(rgb_profile(P3_XY, srgb_curve()));
    struct sl_colour *colour = NULL;
    const uint8_t samples[4][3] = {{255, 0, 0}, {0, 255, 0}, {0, 0, 255}, {255, 255, 255}};
    float got[4][3];
    rgb_to_xyz(P3_XY, p3);
    rgb_to_xyz(SRGB_XY, srgb);
    assert_int_equal(sl_colour_create(blob.bytes, blob.count, &colour, NULL), SL_OK);
    sl_colour_to_linear(colour, samples, 8, 4, got[0]);
    for (int s = 0; s < 4; s++)
        for (int i = 0; i < 3; i++) {
            double want = 0;
            back[i] = 0;
            for (int k = 0; k < 3; k++) {
                back[i] += srgb[i][k] * (double)got[s][k]; /* XYZ of the answer */
                want += p3[i][k] * (samples[s][k] / 255.0);
            }
            assert_true(fabs(back[i] - want) < 5e-4); /* ICC stores 1/65536 of XYZ at D50 */
        }
    assert_true(got[0][1] < -0.03f); /* a P3 red lies outside sRGB: not clipped */
    assert_true(got[0][0] > 1.2f);
    sl_colour_destroy(colour);
    free(blob.bytes);
}

/* ITU-R BT.709-6, item 1.2: V = 1.099 L^0.45 - 0.099, 4.5 L below 0.018. */
static void encoding_by_figures_follows_bt_709(void **state)
{
    (void)state;
    struct colour_encoding encoding = colour_encoding_srgb;
    struct sl_colour *colour = NULL;
    encoding.transfer = TRANSFER_BT709;
    assert_int_equal(colour_create_encoding(&encoding, &colour, NULL), SL_OK);
    for (double L = 0; L <= 1; L += 0.01) {
        double V = L < 0.018 ? 4.5 * L : 1.099 * pow(L, 0.45) - 0.099;
        uint16_t level = (uint16_t)lround(65535 * V), sample[3] = {level, level, level};
        float linear[3];
        sl_colour_to_linear(colour, sample, 16, 1, linear);
        for (int k = 0; k < 3; k++)
            assert_true(fabs((double)linear[k] - L) < 1e-4);
    }
    sl_colour_destroy(colour);
    encoding.white_xy[1] = 0;
    colour = NULL;
    assert_int_equal(colour_create_encoding(&encoding, &colour, NULL), SL_W_PROFILE_DAMAGED);
    assert_null(colour);
}

static void profiles_of_other_models_are_refused(void **state)
{
    (void)state;
    const cmsColorSpaceSignature spaces[] = {cmsSigCmykData, cmsSigLabData, cmsSigCmyData};
    for (size_t i = 0; i < sizeof spaces / sizeof *spaces; i++) {
        cmsHPROFILE profile = cmsCreateProfilePlaceholder(NULL);
        cmsSetDeviceClass(profile, cmsSigOutputClass);
        cmsSetColorSpace(profile, spaces[i]);
        cmsSetPCS(profile, cmsSigLabData);
        struct blob blob = save(profile);
        struct sl_colour *colour = NULL;
        struct sl_status status = {0};
        assert_int_equal(sl_colour_create(blob.bytes, blob.count, &colour, &status),
                         SL_E_COLOUR_MODEL);
        assert_null(colour);
        assert_true(status.message[0] && status.remedy[0]);
        free(blob.bytes);
    }
}

static sl_code code_of(const void *bytes, size_t count)
{
    struct sl_colour *colour = NULL;
    sl_code code = sl_colour_create(bytes, count, &colour, NULL);
    assert_true((code == SL_OK) == (colour != NULL)); /* untouched on failure */
    sl_colour_destroy(colour);
    return code;
}

static void damaged_profiles_say_so(void **state)
{
    (void)state;
    struct blob blob = save(rgb_profile(P3_XY, table_curve(2.2, 64)));
    static uint8_t huge[SL_ICC_BYTES_MAX + 1];
    for (cmsUInt32Number n = 0; n < blob.count; n += 13)
        if (n < blob.count - 160) /* the last tag's end may be cut without loss of a curve */
            assert_int_equal(code_of(blob.bytes, n), SL_W_PROFILE_DAMAGED);
    assert_int_equal(code_of("not a profile at all", 20), SL_W_PROFILE_DAMAGED);
    memcpy(huge, blob.bytes, blob.count);
    assert_int_equal(code_of(huge, sizeof huge), SL_W_PROFILE_DAMAGED);
    free(blob.bytes);
    cmsToneCurve *line = cmsBuildGamma(NULL, 1), *lines[3] = {line, line, line};
    blob = save(cmsCreateLinearizationDeviceLink(cmsSigRgbData, lines)); /* describes no device */
    cmsFreeToneCurve(line);
    assert_int_equal(code_of(blob.bytes, blob.count), SL_W_PROFILE_DAMAGED);
    free(blob.bytes);
    blob = save(rgb_profile(
        P3_XY, cmsBuildTabulatedToneCurve16(NULL, 2, (const cmsUInt16Number[]){500, 500})));
    assert_int_equal(code_of(blob.bytes, blob.count), SL_W_PROFILE_DAMAGED);
    free(blob.bytes);
}

static void flipped_bytes_never_give_numbers_that_are_none(void **state)
{
    (void)state;
    struct blob blob = save(rgb_profile(P3_XY, srgb_curve()));
    const uint8_t samples[2][3] = {{255, 255, 255}, {0, 128, 255}};
    int opened = 0;
    uint32_t seed = 1;
    for (int round = 0; round < 2000; round++) {
        struct sl_colour *colour = NULL;
        float linear[2][3];
        seed = seed * 1664525u + 1013904223u;
        uint8_t *byte = blob.bytes + (seed >> 8) % blob.count, old = *byte;
        *byte = (uint8_t)(old ^ (1u << (seed >> 29)));
        if (sl_colour_create(blob.bytes, blob.count, &colour, NULL) == SL_OK) {
            opened++;
            sl_colour_to_linear(colour, samples, 8, 2, linear[0]);
            for (int i = 0; i < 6; i++)
                assert_true(isfinite(linear[i / 3][i % 3]));
        }
        sl_colour_destroy(colour);
        *byte = old;
    }
    assert_in_range(opened, 100, 1999);
    free(blob.bytes);
}

static void name_is_the_description_without_control_characters(void **state)
{
    (void)state;
    cmsHPROFILE profile = rgb_profile(P3_XY, srgb_curve());
    cmsMLU *text = cmsMLUalloc(NULL, 1);
    struct sl_colour *colour = NULL;
    cmsMLUsetASCII(text, "en", "US", "Wide \033[31mdesk\n profile");
    cmsWriteTag(profile, cmsSigProfileDescriptionTag, text);
    cmsMLUfree(text);
    struct blob blob = save(profile);
    assert_int_equal(sl_colour_create(blob.bytes, blob.count, &colour, NULL), SL_OK);
    assert_string_equal(sl_colour_name(colour), "Wide [31mdesk profile");
    sl_colour_destroy(colour);
    colour = NULL;
    assert_int_equal(sl_colour_create(NULL, 0, &colour, NULL), SL_OK);
    assert_string_equal(sl_colour_name(colour), "sRGB (assumed)");
    sl_colour_destroy(colour);
    free(blob.bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(matrix_profiles_give_what_lcms2_gives),
        cmocka_unit_test(grey_profiles_give_what_lcms2_gives),
        cmocka_unit_test(table_profiles_go_through_lcms2),
        cmocka_unit_test(table_beside_a_matrix_wins_as_in_lcms2),
        cmocka_unit_test(p3_colours_lie_where_their_chromaticities_say),
        cmocka_unit_test(encoding_by_figures_follows_bt_709),
        cmocka_unit_test(profiles_of_other_models_are_refused),
        cmocka_unit_test(damaged_profiles_say_so),
        cmocka_unit_test(flipped_bytes_never_give_numbers_that_are_none),
        cmocka_unit_test(name_is_the_description_without_control_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
