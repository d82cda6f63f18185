// SPDX-License-Identifier: GPL-3.0-or-later
/* What headers say: profile, orientation, date, hash, and what happens where they are wrong. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <lcms2.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "make.h"

enum { P3 = 12, BT709 = 1, BT2020 = 9, TRANSFER_13_SRGB = 13, TRANSFER_16_PQ = 16 }; /* H.273 */

static const double SRGB_XY[3][2] = {{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}};
static const double P3_XY[3][2] = {{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}};

static struct blob save(cmsHPROFILE profile)
{
    cmsUInt32Number count = 0;
    assert_true(cmsSaveProfileToMem(profile, NULL, &count));
    struct blob blob = {malloc(count), count};
    assert_true(cmsSaveProfileToMem(profile, blob.bytes, &count));
    cmsCloseProfile(profile);
    return blob;
}

static struct blob icc_rgb(const double xy[3][2], const char *name)
{
    cmsCIExyY white = {0.3127, 0.3290, 1};
    cmsCIExyYTRIPLE primaries = {
        {xy[0][0], xy[0][1], 1}, {xy[1][0], xy[1][1], 1}, {xy[2][0], xy[2][1], 1}};
    const double srgb[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    cmsToneCurve *curve = cmsBuildParametricToneCurve(NULL, 4, srgb);
    cmsToneCurve *curves[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves);
    cmsMLU *text = cmsMLUalloc(NULL, 1);
    cmsMLUsetASCII(text, "en", "US", name);
    cmsWriteTag(profile, cmsSigProfileDescriptionTag, text);
    cmsMLUfree(text);
    cmsFreeToneCurve(curve);
    return save(profile);
}

static struct blob icc_grey(double gamma)
{
    cmsToneCurve *curve = cmsBuildGamma(NULL, gamma);
    cmsHPROFILE profile = cmsCreateGrayProfile(cmsD50_xyY(), curve);
    cmsFreeToneCurve(curve);
    return save(profile);
}

static struct blob icc_cmyk(void)
{
    cmsHPROFILE profile = cmsCreateProfilePlaceholder(NULL);
    cmsSetDeviceClass(profile, cmsSigOutputClass);
    cmsSetColorSpace(profile, cmsSigCmykData);
    cmsSetPCS(profile, cmsSigLabData);
    return save(profile);
}

/* All of one colour. */
static struct picture plain(unsigned bits, unsigned channels, const double colour[3])
{
    struct picture p = picture_make(48, 32, bits, channels);
    for (int i = 0; i < 48 * 32; i++)
        for (unsigned k = 0; k < channels; k++)
            picture_at(&p, i % 48, i / 48)[k] =
                (uint16_t)lround((bits == 8 ? 255 : 65535) * colour[k]);
    return p;
}

/* Linear light in the photo's middle. */
static void linear_of(struct sl_photo *photo, double ret[3])
{
    struct sl_image image = whole_of(photo);
    float *row = malloc((size_t)image.width * 3 * sizeof *row);
    sl_image_row_linear(&image, image.height / 2, row);
    for (int k = 0; k < 3; k++)
        ret[k] = (double)row[image.width / 2 * 3 + k];
    free(row);
    sl_image_finish(&image);
}

/* Opens, checks name and warning (SL_OK: none), reads the middle, frees the blob. */
static void check_colour(struct blob blob, const char *name, sl_code warning, const double want[3],
                         double tolerance)
{
    struct sl_warnings warnings = {0};
    struct sl_photo *photo = photo_of(blob, &warnings);
    double got[3];
    assert_string_equal(sl_photo_info(photo)->colour_profile, name);
    assert_int_equal(warnings.count, warning ? 1 : 0);
    if (warning) {
        assert_int_equal(warnings.item[0].code, warning);
        assert_true(warnings.item[0].message[0] && warnings.item[0].remedy[0]);
    }
    linear_of(photo, got);
    for (int k = 0; k < 3; k++)
        if (fabs(got[k] - want[k]) > tolerance)
            fail_msg("%s %s: channel %d is %.5f, not %.5f", sl_photo_info(photo)->format, name, k,
                     got[k], want[k]);
    sl_photo_close(photo);
    free(blob.bytes);
}

static const double ORANGE[3] = {230 / 255.0, 120 / 255.0, 30 / 255.0};

/* Display P3 to linear sRGB, from the matrices in the sample code of CSS Color Module Level 4
 * (P3 to XYZ, XYZ to sRGB, both D65), multiplied out to four decimals. */
static void p3_to_srgb(const double encoded[3], double ret[3])
{
    static const double M[3][3] = {
        {1.2249, -0.2249, 0}, {-0.0421, 1.0421, 0}, {-0.0196, -0.0786, 1.0983}};
    for (int i = 0; i < 3; i++) {
        ret[i] = 0;
        for (int k = 0; k < 3; k++)
            ret[i] += M[i][k] * sl_srgb_decode(encoded[k]);
    }
}

static void embedded_profiles_are_used_in_every_format(void **state)
{
    (void)state;
    struct blob p3 = icc_rgb(P3_XY, "Desk wide");
    struct metadata with = {.icc = p3};
    struct picture colour = plain(8, 3, ORANGE), deep = plain(16, 3, ORANGE);
    double want[3];
    p3_to_srgb(ORANGE, want);
    check_colour(jpeg_make(&colour, &(struct jpeg_options){.with = with, .quality = 100}),
                 "Desk wide", SL_OK, want, 0.02);
    check_colour(png_make(&colour, &(struct png_options){.with = with}), "Desk wide", SL_OK, want,
                 5e-4);
    check_colour(png_make(&deep, &(struct png_options){.with = with}), "Desk wide", SL_OK, want,
                 5e-4);
    check_colour(tiff_make(&deep, &(struct tiff_options){.with = with}), "Desk wide", SL_OK, want,
                 5e-4);
    check_colour(heic_make(&colour, &(struct heic_options){.with = with}), "Desk wide", SL_OK, want,
                 0.02);
    /* the same pixels without the profile are another colour: the test can fail */
    assert_true(fabs(want[1] - sl_srgb_decode(ORANGE[1])) > 0.02);
    picture_free(&colour);
    picture_free(&deep);
    free(p3.bytes);
}

static void no_profile_means_srgb_and_is_said(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    double want[3];
    for (int k = 0; k < 3; k++)
        want[k] = sl_srgb_decode(ORANGE[k]);
    check_colour(png_make(&colour, &(struct png_options){0}), "sRGB (assumed)", SL_W_NO_PROFILE,
                 want, 1e-6);
    check_colour(jpeg_make(&colour, &(struct jpeg_options){.quality = 100}), "sRGB (assumed)",
                 SL_W_NO_PROFILE, want, 0.01);
    check_colour(tiff_make(&colour, &(struct tiff_options){0}), "sRGB (assumed)", SL_W_NO_PROFILE,
                 want, 1e-6);
    check_colour(heic_make(&colour, &(struct heic_options){0}), "sRGB (assumed)", SL_W_NO_PROFILE,
                 want, 0.02);
    picture_free(&colour);
}

static void png_says_its_colours_in_figures(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    double srgb[3], p3[3], power[3];
    for (int k = 0; k < 3; k++) {
        srgb[k] = sl_srgb_decode(ORANGE[k]);
        power[k] = pow(ORANGE[k], 1.8);
    }
    const double as_gamma_22[3] = {sl_srgb_encode(pow(ORANGE[0], 2.2)),
                                   sl_srgb_encode(pow(ORANGE[1], 2.2)),
                                   sl_srgb_encode(pow(ORANGE[2], 2.2))};
    p3_to_srgb(as_gamma_22, p3);
    check_colour(png_make(&colour, &(struct png_options){.srgb = true}), "sRGB", SL_OK, srgb, 1e-6);
    /* 1/2.2 alone is how writers of sRGB say sRGB (W3C PNG, 11.3.2.5 asks for it beside sRGB) */
    check_colour(png_make(&colour, &(struct png_options){.gamma = 0.45455}), "sRGB", SL_OK, srgb,
                 1e-6);
    check_colour(png_make(&colour, &(struct png_options){.gamma = 1 / 1.8}), "PNG gAMA and cHRM",
                 SL_OK, power, 1e-4);
    check_colour(png_make(&colour, &(struct png_options){.gamma = 0.45455, .chrm_p3 = true}),
                 "PNG gAMA and cHRM", SL_OK, p3, 5e-4);
    picture_free(&colour);
}

static void heic_says_its_colours_by_code_points(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    double srgb[3], p3[3];
    for (int k = 0; k < 3; k++)
        srgb[k] = sl_srgb_decode(ORANGE[k]);
    p3_to_srgb(ORANGE, p3);
    check_colour(heic_make(&colour, &(struct heic_options){.primaries = BT709,
                                                           .transfer = TRANSFER_13_SRGB}),
                 "sRGB primaries (nclx)", SL_OK, srgb, 0.02);
    check_colour(
        heic_make(&colour, &(struct heic_options){.primaries = P3, .transfer = TRANSFER_13_SRGB}),
        "Display P3 (nclx)", SL_OK, p3, 0.02);
    struct blob blob =
        heic_make(&colour, &(struct heic_options){.primaries = BT2020, .transfer = TRANSFER_16_PQ});
    struct sl_photo *photo = NULL;
    assert_int_equal(sl_photo_open_memory(blob.bytes, blob.count, "hdr", &photo, NULL, NULL),
                     SL_E_COLOUR_MODEL);
    free(blob.bytes);
    picture_free(&colour);
}

static void grey_photos_use_grey_profiles(void **state)
{
    (void)state;
    const double level[3] = {0.5, 0.5, 0.5};
    struct blob icc = icc_grey(1.8);
    struct metadata with = {.icc = icc};
    struct picture grey = plain(8, 1, level), deep = plain(16, 1, level);
    const double want_8[3] = {pow(128 / 255.0, 1.8), pow(128 / 255.0, 1.8), pow(128 / 255.0, 1.8)};
    const double want_16[3] = {pow(0.5, 1.8), pow(0.5, 1.8), pow(0.5, 1.8)};
    check_colour(jpeg_make(&grey, &(struct jpeg_options){.with = with, .quality = 100}),
                 "gray built-in", SL_OK, want_8, 1e-4);
    check_colour(png_make(&deep, &(struct png_options){.with = with}), "gray built-in", SL_OK,
                 want_16, 1e-4);
    check_colour(tiff_make(&deep, &(struct tiff_options){.with = with}), "gray built-in", SL_OK,
                 want_16, 1e-4);
    picture_free(&grey);
    picture_free(&deep);
    free(icc.bytes);
}

/* One that can't be read, one of another model, one that is cut, one of the wrong kind: the photo
 * opens, sRGB is used, and the reading says so. */
static void profiles_that_do_not_fit_are_replaced_by_srgb(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    double want[3];
    for (int k = 0; k < 3; k++)
        want[k] = sl_srgb_decode(ORANGE[k]);
    struct blob bad[4] = {{malloc(200), 200}, icc_cmyk(), icc_rgb(P3_XY, "cut"), icc_grey(2.2)};
    memset(bad[0].bytes, 'x', 200);
    bad[2].count = 300;
    for (int i = 0; i < 4; i++) {
        struct metadata with = {.icc = bad[i]};
        check_colour(jpeg_make(&colour, &(struct jpeg_options){.with = with, .quality = 100}),
                     "sRGB (assumed)", SL_W_PROFILE_DAMAGED, want, 0.01);
        check_colour(tiff_make(&colour, &(struct tiff_options){.with = with}), "sRGB (assumed)",
                     SL_W_PROFILE_DAMAGED, want, 1e-6);
        check_colour(heic_make(&colour, &(struct heic_options){.with = with}), "sRGB (assumed)",
                     SL_W_PROFILE_DAMAGED, want, 0.02);
        free(bad[i].bytes);
    }
    picture_free(&colour);
}

/* libpng checks profiles itself, so a broken one is put in behind its back. */
static void a_broken_profile_in_a_png_is_noticed(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    struct blob icc = icc_rgb(P3_XY, "Desk wide");
    struct blob blob = png_make(&colour, &(struct png_options){.with.icc = icc});
    double want[3];
    size_t at = 0;
    for (int k = 0; k < 3; k++)
        want[k] = sl_srgb_decode(ORANGE[k]);
    while (at + 8 < blob.count && memcmp(blob.bytes + at, "iCCP", 4) != 0)
        at++;
    assert_true(at + 8 < blob.count);
    uint8_t *chunk = blob.bytes + at;
    uint32_t length = (uint32_t)chunk[-2] << 8 | chunk[-1];
    memset(chunk + 4 + length / 2, 0x55, length / 4);
    uint32_t crc = png_crc(chunk, 4 + length);
    for (int i = 0; i < 4; i++)
        chunk[4 + length + (uint32_t)i] = (uint8_t)(crc >> (24 - 8 * i));
    check_colour(blob, "sRGB (assumed)", SL_W_PROFILE_DAMAGED, want, 1e-6);
    free(icc.bytes);
    picture_free(&colour);
}

/* A JPEG profile comes in numbered pieces; with one missing there is none. */
static void a_missing_piece_of_a_jpeg_profile_is_noticed(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    struct blob icc = icc_rgb(SRGB_XY, "pieces");
    struct blob blob = jpeg_make(&colour, &(struct jpeg_options){.with.icc = icc, .quality = 100});
    double want[3];
    bool found = false;
    for (int k = 0; k < 3; k++)
        want[k] = sl_srgb_decode(ORANGE[k]);
    for (size_t i = 0; i + 14 < blob.count && !found; i++)
        if (memcmp(blob.bytes + i, "ICC_PROFILE", 12) == 0) {
            blob.bytes[i + 13] = 2; /* of two pieces, of which one is there */
            found = true;
        }
    assert_true(found);
    check_colour(blob, "sRGB (assumed)", SL_W_PROFILE_DAMAGED, want, 0.01);
    free(icc.bytes);
    picture_free(&colour);
}

/* ITU-T T.81, table K.2, begins with 17; libjpeg scales it to 9 at quality 75 and 1 at 100. */
static void the_step_of_colour_is_told(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    struct blob blobs[3] = {jpeg_make(&colour, &(struct jpeg_options){.quality = 75}),
                            jpeg_make(&colour, &(struct jpeg_options){.quality = 100}),
                            png_make(&colour, &(struct png_options){.depth = 0})};
    static const double step[3] = {9 / 8.0, 1 / 8.0, 0};
    for (int i = 0; i < 3; i++) {
        struct sl_photo *photo = photo_of(blobs[i], NULL);
        assert_true(fabs(sl_photo_info(photo)->chroma_step - step[i]) < 1e-12);
        sl_photo_close(photo);
        free(blobs[i].bytes);
    }
    picture_free(&colour);
}

static void check_exif(struct blob exif, int orientation, const char *date, bool damaged)
{
    struct picture colour = plain(8, 3, ORANGE);
    struct metadata with = {.exif = exif};
    struct blob blobs[2] = {jpeg_make(&colour, &(struct jpeg_options){.with = with}),
                            png_make(&colour, &(struct png_options){.with = with})};
    for (int i = 0; i < 2; i++) {
        struct sl_warnings warnings = {0};
        struct sl_photo *photo = photo_of(blobs[i], &warnings);
        const struct sl_photo_info *info = sl_photo_info(photo);
        assert_int_equal(info->orientation, orientation);
        assert_string_equal(info->date, date);
        assert_int_equal(sl_warned(&warnings, SL_W_EXIF_DAMAGED) != 0, damaged);
        sl_photo_close(photo);
        free(blobs[i].bytes);
    }
    picture_free(&colour);
    free(exif.bytes);
}

static void exif_tells_orientation_and_date(void **state)
{
    (void)state;
    check_exif(exif_make(6, "2024:05:06 07:08:09", false), 6, "2024-05-06 07:08:09", false);
    check_exif(exif_make(3, "2024:05:06 07:08:09", true), 3, "2024-05-06 07:08:09", false);
    check_exif(exif_make(1, "    :  :     :  :  ", true), 1, "", false);
    check_exif(exif_make(9, "2024:05:06 07:08:09", true), 1, "2024-05-06 07:08:09", true);
    check_exif(exif_make(0, "2024:05:06 07:08:09", false), 1, "2024-05-06 07:08:09", true);
}

static void damaged_exif_is_a_warning(void **state)
{
    (void)state;
    struct blob cut = exif_make(6, "2024:05:06 07:08:09", false);
    cut.count = 20; /* in the middle of the first directory */
    check_exif(cut, 1, "", true);
    struct blob far = exif_make(6, "2024:05:06 07:08:09", false);
    far.bytes[6] = 0xFF; /* the first directory lies behind the end */
    check_exif(far, 1, "", true);
}

static void tiff_tells_orientation_and_date_by_its_own_tags(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    struct blob blob =
        tiff_make(&colour, &(struct tiff_options){.orientation = 8, .date = "2024:05:06 07:08:09"});
    struct sl_photo *photo = photo_of(blob, NULL);
    assert_int_equal(sl_photo_info(photo)->orientation, 8);
    assert_int_equal(sl_photo_info(photo)->width_px, 32);
    assert_int_equal(sl_photo_info(photo)->height_px, 48);
    assert_string_equal(sl_photo_info(photo)->date, "2024-05-06 07:08:09");
    sl_photo_close(photo);
    free(blob.bytes);
    picture_free(&colour);
}

/* The hash against another implementation of FIPS 180-4: the system's sha256sum. */
static void the_file_is_named_hashed_and_measured(void **state)
{
    (void)state;
    char path[] = "/tmp/strandline-photo-XXXXXX";
    struct picture colour = plain(8, 3, ORANGE);
    struct blob blob = png_make(&colour, &(struct png_options){.srgb = true});
    int handle = mkstemp(path);
    assert_true(handle >= 0);
    FILE *file = fdopen(handle, "wb");
    assert_int_equal(fwrite(blob.bytes, 1, blob.count, file), blob.count);
    fclose(file);
    struct sl_photo *photo = NULL, *twin = photo_of(blob, NULL);
    assert_int_equal(sl_photo_open(path, &photo, NULL, NULL), SL_OK);
    const struct sl_photo_info *info = sl_photo_info(photo);
    assert_string_equal(info->file, path);
    assert_int_equal(info->width_px, 48);
    assert_int_equal(info->height_px, 32);
    assert_int_equal(info->bits, 8);
    assert_string_equal(info->date, "");
    char command[128], said[65] = "";
    snprintf(command, sizeof command, "sha256sum %s", path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    assert_int_equal(fread(said, 1, 64, pipe), 64);
    pclose(pipe);
    assert_string_equal(info->sha256, said);
    assert_string_equal(sl_photo_info(twin)->sha256, said);
    sl_photo_close(photo);
    sl_photo_close(twin);
    sl_photo_close(NULL);
    remove(path);
    free(blob.bytes);
    picture_free(&colour);
}

static void a_very_long_name_is_cut_between_characters(void **state)
{
    (void)state;
    struct picture colour = plain(8, 3, ORANGE);
    struct blob blob = png_make(&colour, &(struct png_options){.srgb = true});
    for (int shift = 0; shift < 2;
         shift++) { /* so that the limit falls on and inside an o umlaut */
        char name[400] = "x";
        struct sl_photo *photo = NULL;
        for (int i = 0; i < 180; i++)
            memcpy(name + shift + 2 * i, "\xC3\xB6", 3);
        assert_int_equal(sl_photo_open_memory(blob.bytes, blob.count, name, &photo, NULL, NULL),
                         SL_OK);
        size_t n = strlen(sl_photo_info(photo)->file);
        assert_in_range(n, SL_PHOTO_NAME_MAX - 2, SL_PHOTO_NAME_MAX - 1);
        assert_int_equal((n - (size_t)shift) % 2, 0);
        sl_photo_close(photo);
    }
    free(blob.bytes);
    picture_free(&colour);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(embedded_profiles_are_used_in_every_format),
        cmocka_unit_test(no_profile_means_srgb_and_is_said),
        cmocka_unit_test(png_says_its_colours_in_figures),
        cmocka_unit_test(heic_says_its_colours_by_code_points),
        cmocka_unit_test(grey_photos_use_grey_profiles),
        cmocka_unit_test(profiles_that_do_not_fit_are_replaced_by_srgb),
        cmocka_unit_test(a_broken_profile_in_a_png_is_noticed),
        cmocka_unit_test(a_missing_piece_of_a_jpeg_profile_is_noticed),
        cmocka_unit_test(the_step_of_colour_is_told),
        cmocka_unit_test(exif_tells_orientation_and_date),
        cmocka_unit_test(damaged_exif_is_a_warning),
        cmocka_unit_test(tiff_tells_orientation_and_date_by_its_own_tags),
        cmocka_unit_test(a_very_long_name_is_cut_between_characters),
        cmocka_unit_test(the_file_is_named_hashed_and_measured),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
