// SPDX-License-Identifier: GPL-3.0-or-later
/* Files that are not what they should be: each has its own code, none gives pixels, none crashes.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <tiffio.h>
#include <unistd.h>

#include "make.h"

/* Opens and, if that works, decodes everything by region and by look: the first code that is not
 * SL_OK, with checks of what has to hold for any outcome. */
static sl_code outcome(const uint8_t *bytes, size_t count, struct sl_status *ret)
{
    struct sl_photo *photo = NULL;
    struct sl_image image = {0};
    struct sl_status status = {0};
    /* a copy of its own, so that reading past its end is seen by the sanitizer */
    uint8_t *own = malloc(count ? count : 1);
    memcpy(own, bytes, count);
    sl_code code = sl_photo_open_memory(own, count, "odd", &photo, NULL, &status);
    free(own);
    assert_true((code == SL_OK) == (photo != NULL));
    if (!code) {
        const struct sl_photo_info *info = sl_photo_info(photo);
        assert_in_range(info->width_px, 1, SL_PHOTO_SIDE_MAX);
        assert_in_range(info->height_px, 1, SL_PHOTO_SIDE_MAX);
        sl_code look = sl_photo_look(photo, 40, &image, &status);
        assert_true((look == SL_OK) == (image.pixels != NULL));
        sl_image_finish(&image);
        code = sl_photo_region(photo, (struct sl_rect){0, 0, info->width_px, info->height_px},
                               &image, look ? NULL : &status);
        assert_true((code == SL_OK) == (image.pixels != NULL));
        sl_image_finish(&image);
        code = look ? look : code;
    }
    sl_photo_close(photo);
    if (code) {
        assert_int_equal(status.code, code);
        assert_true(status.message[0] && status.remedy[0] && status.where[0]);
    }
    if (ret)
        *ret = status;
    return code;
}

static void expect(const void *bytes, size_t count, sl_code want)
{
    struct sl_status status = {0};
    sl_code code = outcome(bytes, count, &status);
    if (code != want)
        fail_msg("%zu bytes: %s instead of %s (%s)", count, sl_code_name(code), sl_code_name(want),
                 status.message);
}

static struct blob make_sample(int kind)
{
    struct picture p = picture_make(96, 64, 8, 3);
    struct blob blob =
        kind == 0   ? jpeg_make(&p, &(struct jpeg_options){0})
        : kind == 1 ? jpeg_make(&p, &(struct jpeg_options){.progressive = true})
        : kind == 2 ? png_make(&p, &(struct png_options){.srgb = true})
        : kind == 3 ? tiff_make(&p, &(struct tiff_options){.compression = COMPRESSION_LZW})
        : kind == 4 ? tiff_make(&p, &(struct tiff_options){.tile = 32})
        : kind == 5 ? heic_make(&p, &(struct heic_options){.primaries = 12, .transfer = 13})
                    : png_make(&p, &(struct png_options){.interlaced = true});
    picture_free(&p);
    return blob;
}

enum { SAMPLES = 7 };

/* The fewest bytes from which the format is known. */
static size_t signature_bytes(int kind)
{
    static const size_t bytes[SAMPLES] = {3, 3, 4, 4, 4, 12, 4};
    return bytes[kind];
}

static void cut_files_are_called_truncated_at_any_length(void **state)
{
    (void)state;
    for (int kind = 0; kind < SAMPLES; kind++) {
        struct blob blob = make_sample(kind);
        expect(blob.bytes, blob.count, SL_OK);
        size_t step = blob.count / 150 + 1;
        for (size_t n = 1; n < blob.count; n += n < 64 || n + 40 > blob.count ? 1 : step)
            expect(blob.bytes, n, n < signature_bytes(kind) ? SL_E_FORMAT : SL_E_TRUNCATED);
        free(blob.bytes);
    }
}

/* A cut photo may not be read from the part that is there, either: grey filler looks like dye. */
static void a_region_beyond_the_cut_is_refused(void **state)
{
    (void)state;
    struct picture p = picture_make(200, 400, 8, 3);
    struct blob blob = jpeg_make(&p, &(struct jpeg_options){0});
    struct sl_photo *photo = photo_of((struct blob){blob.bytes, blob.count / 2}, NULL);
    struct sl_image image = {0};
    assert_int_equal(sl_photo_region(photo, (struct sl_rect){20, 300, 50, 50}, &image, NULL),
                     SL_E_TRUNCATED);
    assert_null(image.pixels);
    sl_photo_close(photo);
    free(blob.bytes);
    picture_free(&p);
}

static void bytes_after_the_end_do_no_harm(void **state)
{
    (void)state;
    for (int kind = 0; kind < 3; kind++) { /* phones append films and depth maps to JPEGs */
        struct blob blob = make_sample(kind);
        uint8_t *longer = calloc(1, blob.count + 1000);
        memcpy(longer, blob.bytes, blob.count);
        expect(longer, blob.count + 1000, SL_OK);
        free(longer);
        free(blob.bytes);
    }
}

static void flipped_bytes_never_crash(void **state)
{
    (void)state;
    uint32_t seed = 3;
    for (int kind = 0; kind < SAMPLES; kind++) {
        struct blob blob = make_sample(kind);
        int refused = 0;
        for (int round = 0; round < 250; round++) {
            seed = seed * 1664525u + 1013904223u;
            /* half of them in the head, where the structure is */
            size_t range = round % 2 && blob.count > 600 ? 600 : blob.count;
            uint8_t *byte = blob.bytes + (seed >> 9) % range, old = *byte;
            *byte = (uint8_t)(round % 3 ? seed >> 24 : old ^ 0x80u);
            refused += outcome(blob.bytes, blob.count, NULL) != SL_OK;
            *byte = old;
        }
        assert_true(refused > 0);
        free(blob.bytes);
    }
}

static void put_32(uint8_t *to, uint32_t value)
{
    for (int i = 0; i < 4; i++)
        to[i] = (uint8_t)(value >> (24 - 8 * i));
}

static void set_png_size(struct blob blob, uint32_t width, uint32_t height)
{
    put_32(blob.bytes + 16, width);
    put_32(blob.bytes + 20, height);
    put_32(blob.bytes + 29, png_crc(blob.bytes + 12, 17));
}

static uint8_t *find(struct blob blob, const void *pattern, size_t length)
{
    for (size_t i = 0; i + length <= blob.count; i++)
        if (memcmp(blob.bytes + i, pattern, length) == 0)
            return blob.bytes + i;
    fail_msg("pattern is not there");
    return NULL;
}

static void set_jpeg_size(struct blob blob, uint32_t width, uint32_t height, bool progressive)
{
    uint8_t *frame = find(blob, progressive ? "\xFF\xC2" : "\xFF\xC0", 2);
    frame[5] = (uint8_t)(height >> 8);
    frame[6] = (uint8_t)height;
    frame[7] = (uint8_t)(width >> 8);
    frame[8] = (uint8_t)width;
}

static void set_heic_size(struct blob blob, uint32_t width, uint32_t height)
{
    uint8_t *ispe = find(blob, "ispe", 4);
    put_32(ispe + 8, width);
    put_32(ispe + 12, height);
}

/* Width is tag 256, height 257; LONG or SHORT, little endian as these machines write. */
static void set_tiff_size(struct blob blob, uint32_t width, uint32_t height)
{
    uint32_t at;
    uint16_t entries;
    memcpy(&at, blob.bytes + 4, 4);
    memcpy(&entries, blob.bytes + at, 2);
    for (int i = 0; i < entries; i++) {
        uint8_t *entry = blob.bytes + at + 2 + 12 * i;
        uint16_t tag, type;
        memcpy(&tag, entry, 2);
        memcpy(&type, entry + 2, 2);
        if (tag == TIFFTAG_IMAGEWIDTH || tag == TIFFTAG_IMAGELENGTH) {
            uint32_t value = tag == TIFFTAG_IMAGEWIDTH ? width : height;
            memset(entry + 8, 0, 4);
            memcpy(entry + 8, &value, type == TIFF_SHORT ? 2 : 4);
        }
    }
}

static void set_size(struct blob blob, int kind, uint32_t width, uint32_t height)
{
    if (kind <= 1)
        set_jpeg_size(blob, width, height, kind == 1);
    else if (kind == 3 || kind == 4)
        set_tiff_size(blob, width, height);
    else if (kind == 5)
        set_heic_size(blob, width, height);
    else
        set_png_size(blob, width, height);
}

static void huge_headers_are_refused_before_memory_is_taken(void **state)
{
    (void)state;
    const uint32_t sizes[][2] = {{60000, 60000}, {30001, 10}, {10, 30001}, {20000, 10001}};
    for (int kind = 0; kind < SAMPLES; kind++)
        for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
            struct blob blob = make_sample(kind);
            struct sl_status status = {0};
            set_size(blob, kind, sizes[i][0], sizes[i][1]);
            sl_code code = outcome(blob.bytes, blob.count, &status);
            /* tiles (kind 4) that are too few for such a size may be noticed even earlier */
            if (code != SL_E_TOO_LARGE && !(kind == 4 && code == SL_E_DAMAGED))
                fail_msg("kind %d, %u x %u: %s", kind, sizes[i][0], sizes[i][1], status.message);
            if (code == SL_E_TOO_LARGE) /* the sentence names the limit */
                assert_non_null(strstr(status.message, "30000"));
            free(blob.bytes);
        }
}

static void headers_without_pixels_are_refused(void **state)
{
    (void)state;
    for (int kind = 0; kind < SAMPLES; kind++)
        for (int side = 0; side < 2; side++) {
            struct blob blob = make_sample(kind);
            set_size(blob, kind, side ? 96 : 0, side ? 0 : 64);
            expect(blob.bytes, blob.count, SL_E_DAMAGED);
            free(blob.bytes);
        }
}

static void cmyk_is_refused_in_a_sentence(void **state)
{
    (void)state;
    struct picture p = picture_make(48, 32, 8, 4);
    struct blob blobs[2] = {jpeg_make(&p, &(struct jpeg_options){.cmyk = true}),
                            tiff_make(&p, &(struct tiff_options){.cmyk = true})};
    for (int i = 0; i < 2; i++) {
        struct sl_status status = {0};
        assert_int_equal(outcome(blobs[i].bytes, blobs[i].count, &status), SL_E_COLOUR_MODEL);
        assert_non_null(strstr(status.message, "CMYK"));
        free(blobs[i].bytes);
    }
    picture_free(&p);
}

static void rare_kinds_of_tiff_are_named(void **state)
{
    (void)state;
    struct picture p = picture_make(48, 32, 8, 3);
    const struct {
        uint16_t tag, value;
        sl_code code;
    } changes[] = {{TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_CIELAB, SL_E_COLOUR_MODEL},
                   {TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_YCBCR, SL_E_FORMAT},
                   {TIFFTAG_COMPRESSION, 34712, SL_E_FORMAT}};
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        struct blob blob = tiff_make(&p, &(struct tiff_options){0});
        uint32_t at;
        memcpy(&at, blob.bytes + 4, 4);
        for (int e = 0; e < blob.bytes[at]; e++) {
            uint8_t *entry = blob.bytes + at + 2 + 12 * e;
            if (memcmp(entry, &changes[i].tag, 2) == 0)
                memcpy(entry + 8, &changes[i].value, 2);
        }
        expect(blob.bytes, blob.count, changes[i].code);
        free(blob.bytes);
    }
    picture_free(&p);
}

/* A small file with very many scans would keep the decoder busy for minutes. The last scan is
 * repeated: it brings nothing new, but has to be decoded. */
static void too_many_scans_are_refused(void **state)
{
    (void)state;
    struct picture p = picture_make(96, 64, 8, 3);
    struct blob blob = jpeg_make(&p, &(struct jpeg_options){.many_scans = true});
    picture_free(&p);
    size_t start = 0;
    for (size_t i = 0; i + 1 < blob.count; i++)
        if (blob.bytes[i] == 0xFF && blob.bytes[i + 1] == 0xDA)
            start = i;
    size_t scan = blob.count - 2 - start, copies = 300;
    uint8_t *longer = malloc(blob.count + copies * scan);
    memcpy(longer, blob.bytes, blob.count);
    for (size_t i = 0; i < copies; i++)
        memcpy(longer + blob.count - 2 + i * scan, blob.bytes + start, scan);
    memcpy(longer + blob.count - 2 + copies * scan, "\xFF\xD9", 2);
    expect(longer, blob.count + copies * scan, SL_E_TOO_LARGE);
    free(longer);
    free(blob.bytes);
}

static void what_is_no_photo_is_named(void **state)
{
    (void)state;
    static const char text[] = "This is a shopping list, not a photo: ink, paper, tea.";
    static const uint8_t film[16] = {0, 0, 0, 16, 'f', 't', 'y', 'p', 'i', 's', 'o', 'm'};
    expect(text, sizeof text, SL_E_FORMAT);
    expect("GIF89a.............", 19, SL_E_FORMAT);
    expect(film, sizeof film, SL_E_FORMAT);
    expect("x", 1, SL_E_FORMAT);
    expect("", 0, SL_E_EMPTY_FILE);
}

static void expect_path(const char *path, sl_code want)
{
    struct sl_photo *photo = NULL;
    struct sl_status status = {0};
    assert_int_equal(sl_photo_open(path, &photo, NULL, &status), want);
    assert_null(photo);
    assert_int_equal(status.code, want);
    assert_non_null(strstr(status.message, path)); /* names the file */
    assert_true(status.remedy[0]);
}

static void paths_that_lead_to_no_photo_are_named(void **state)
{
    (void)state;
    char folder[] = "/tmp/strandline-odd-XXXXXX", path[64];
    assert_non_null(mkdtemp(folder));
    expect_path(folder, SL_E_NOT_A_FILE);
    snprintf(path, sizeof path, "%s/none.jpg", folder);
    expect_path(path, SL_E_NO_FILE);
    FILE *file = fopen(path, "w");
    fclose(file);
    expect_path(path, SL_E_EMPTY_FILE);
    file = fopen(path, "w"); /* text with a photo's name */
    fputs("not a photo\n", file);
    fclose(file);
    expect_path(path, SL_E_FORMAT);
    char behind[80];
    snprintf(behind, sizeof behind, "%s/x.jpg", path); /* a file taken for a folder */
    expect_path(behind, SL_E_NO_FILE);
    remove(path);
    assert_int_equal(mkfifo(path, 0600), 0);
    expect_path(path, SL_E_NOT_A_FILE);
    remove(path);
    file = fopen(path, "w"); /* larger than the limit, sparse: nothing is read */
    assert_int_equal(ftruncate(fileno(file), (off_t)SL_PHOTO_FILE_BYTES_MAX + 1), 0);
    fclose(file);
    expect_path(path, SL_E_TOO_LARGE);
    remove(path);
    rmdir(folder);
}

static void the_name_does_not_decide_the_format(void **state)
{
    (void)state;
    char folder[] = "/tmp/strandline-name-XXXXXX", path[64];
    struct blob blob = make_sample(2);
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/really-a-png.jpg", folder);
    FILE *file = fopen(path, "wb");
    assert_int_equal(fwrite(blob.bytes, 1, blob.count, file), blob.count);
    fclose(file);
    struct sl_photo *photo = NULL;
    assert_int_equal(sl_photo_open(path, &photo, NULL, NULL), SL_OK);
    assert_string_equal(sl_photo_info(photo)->format, "PNG");
    sl_photo_close(photo);
    remove(path);
    rmdir(folder);
    free(blob.bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cut_files_are_called_truncated_at_any_length),
        cmocka_unit_test(a_region_beyond_the_cut_is_refused),
        cmocka_unit_test(bytes_after_the_end_do_no_harm),
        cmocka_unit_test(flipped_bytes_never_crash),
        cmocka_unit_test(huge_headers_are_refused_before_memory_is_taken),
        cmocka_unit_test(headers_without_pixels_are_refused),
        cmocka_unit_test(cmyk_is_refused_in_a_sentence),
        cmocka_unit_test(rare_kinds_of_tiff_are_named),
        cmocka_unit_test(too_many_scans_are_refused),
        cmocka_unit_test(what_is_no_photo_is_named),
        cmocka_unit_test(paths_that_lead_to_no_photo_are_named),
        cmocka_unit_test(the_name_does_not_decide_the_format),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
