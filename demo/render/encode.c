// SPDX-License-Identifier: GPL-3.0-or-later
#include "encode.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <lcms2.h>
#include <libexif/exif-data.h>
#include <png.h>

// When the invented workshop took its photographs.
static const char photo_date[20] = "2031:03:08 19:20:00";

// An ICC profile of the scene's colour space; free() it. NULL with PROFILE_NONE.
static uint8_t *make_profile(int kind, uint32_t *ret_size)
{
    static const cmsCIExyY d65 = {0.3127, 0.3290, 1};
    static const cmsCIExyYTRIPLE primaries[2] = {
        {{0.640, 0.330, 1}, {0.300, 0.600, 1}, {0.150, 0.060, 1}},
        {{0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}},
    };
    static const double curve[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    enum { DATE_AT = 24, DATE_SIZE = 12 };
    static const uint8_t date[DATE_SIZE] = {0x07, 0xef, 0, 3, 0, 8, 0, 19, 0, 20, 0, 0};
    uint8_t *bytes = NULL;
    *ret_size = 0;
    if (kind == PROFILE_NONE) {
        return NULL;
    }
    cmsToneCurve *tone = cmsBuildParametricToneCurve(NULL, 4, curve);
    cmsToneCurve *tones[3] = {tone, tone, tone};
    cmsHPROFILE profile = cmsCreateRGBProfile(&d65, &primaries[kind == PROFILE_P3], tones);
    if (profile != NULL && cmsSaveProfileToMem(profile, NULL, ret_size)) {
        bytes = malloc(*ret_size);
        if (bytes != NULL && cmsSaveProfileToMem(profile, bytes, ret_size)) {
            memcpy(bytes + DATE_AT, date, DATE_SIZE); // not the time of day: same scene, same file
        }
    }
    cmsCloseProfile(profile);
    cmsFreeToneCurve(tone);
    return bytes;
}

static ExifEntry *add_entry(ExifData *data, ExifIfd ifd, ExifTag tag)
{
    ExifEntry *entry = exif_entry_new();
    entry->tag = tag;
    exif_content_add_entry(data->ifd[ifd], entry);
    exif_entry_initialize(entry, tag);
    exif_entry_unref(entry); // the content keeps it
    return entry;
}

static void write_exif(struct jpeg_compress_struct *jpeg, int orientation)
{
    ExifData *data = exif_data_new();
    unsigned char *bytes = NULL;
    unsigned size = 0;
    exif_data_set_byte_order(data, EXIF_BYTE_ORDER_INTEL);
    ExifEntry *turned = add_entry(data, EXIF_IFD_0, EXIF_TAG_ORIENTATION);
    exif_set_short(turned->data, EXIF_BYTE_ORDER_INTEL, (ExifShort)orientation);
    ExifEntry *taken = add_entry(data, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL);
    memcpy(taken->data, photo_date,
           taken->size < sizeof photo_date ? taken->size : sizeof photo_date);
    exif_data_save_data(data, &bytes, &size);
    jpeg_write_marker(jpeg, JPEG_APP0 + 1, bytes, size);
    free(bytes);
    exif_data_unref(data);
}

static void write_jpeg(const struct scene *scene, const struct picture *picture, FILE *file)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    uint32_t size;
    uint8_t *profile = make_profile(scene->profile, &size);
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)picture->width_px;
    jpeg.image_height = (JDIMENSION)picture->height_px;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, scene->jpeg_quality, TRUE);
    jpeg_start_compress(&jpeg, TRUE);
    write_exif(&jpeg, scene->orientation);
    if (profile != NULL) {
        jpeg_write_icc_profile(&jpeg, profile, size);
    }
    while (jpeg.next_scanline < jpeg.image_height) {
        JSAMPROW row =
            picture->samples8 + 3 * (size_t)jpeg.next_scanline * (size_t)picture->width_px;
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(profile);
}

static void stop_on_png_error(png_structp png, png_const_charp message)
{
    (void)png;
    fprintf(stderr, "PNG: %s\n", message);
    exit(EXIT_FAILURE);
}

static void write_png(const struct scene *scene, const struct picture *picture, FILE *file)
{
    uint32_t size;
    uint8_t *profile = make_profile(scene->profile, &size);
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, stop_on_png_error, NULL);
    png_infop info = png_create_info_struct(png);
    size_t stride = 3 * (size_t)picture->width_px;
    png_init_io(png, file);
    png_set_compression_level(png, 3);
    png_set_IHDR(png, info, (png_uint_32)picture->width_px, (png_uint_32)picture->height_px,
                 picture->bits, PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (profile != NULL) {
        png_set_iCCP(png, info, "scene", PNG_COMPRESSION_TYPE_BASE, profile, size);
    }
    png_write_info(png, info);
    if (picture->bits == 16) {
        png_set_swap(png); // samples are little-endian here, big-endian in the file
    }
    for (int j = 0; j < picture->height_px; j++) {
        size_t at = (size_t)j * stride;
        png_write_row(png, picture->bits == 16 ? (png_const_bytep)(picture->samples16 + at)
                                               : picture->samples8 + at);
    }
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    free(profile);
}

bool encode_file(const struct scene *scene, const struct picture *picture, const char *path)
{
    FILE *file = fopen(path, "wb");
    if (file == NULL) {
        return false;
    }
    if (scene->jpeg_quality > 0) {
        write_jpeg(scene, picture, file);
    } else {
        write_png(scene, picture, file);
    }
    return fclose(file) == 0;
}
