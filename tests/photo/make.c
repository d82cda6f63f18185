// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <libheif/heif.h>
#include <png.h>
#include <tiffio.h>

#include "make.h"

/* The HEVC encoder, which only the tests use, keeps some memory for good; so leaks of its own do
 * not count when the leak sanitizer looks. */
SL_API const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libx265";
}

static uint32_t next_random(uint32_t *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return *seed >> 16;
}

struct picture picture_make(int width, int height, unsigned bits, unsigned channels)
{
    struct picture p = {width, height, bits, channels, NULL};
    uint32_t seed = 7;
    double top = bits == 8 ? 255 : 65535;
    p.samples = malloc((size_t)width * (size_t)height * channels * sizeof *p.samples);
    assert_non_null(p.samples);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            for (unsigned k = 0; k < channels; k++) {
                double u = (double)x / width, v = (double)y / height;
                double value = 0.25 + 0.3 * u + 0.2 * v * (k == 1 ? -1 : 1) +
                               0.15 * sin(9 * u + 4 * k) * cos(7 * v * v + 2) +
                               0.02 * (next_random(&seed) / 65535.0 - 0.5);
                picture_at(&p, x, y)[k] = (uint16_t)lround(top * fmin(fmax(value, 0), 1));
            }
    return p;
}

void picture_free(struct picture *picture)
{
    free(picture->samples);
    picture->samples = NULL;
}

uint16_t *picture_at(const struct picture *picture, int x, int y)
{
    return picture->samples + ((size_t)y * (size_t)picture->width + (size_t)x) * picture->channels;
}

/* One row as bytes or native 16-bit words. */
static void pack_row(const struct picture *p, int y, void *to)
{
    size_t n = (size_t)p->width * p->channels;
    const uint16_t *from = picture_at(p, 0, y);
    for (size_t i = 0; i < n; i++)
        if (p->bits == 8)
            ((uint8_t *)to)[i] = (uint8_t)from[i];
        else
            ((uint16_t *)to)[i] = from[i];
}

struct blob jpeg_make(const struct picture *p, const struct jpeg_options *options)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    unsigned char *bytes = NULL;
    unsigned long count = 0;
    uint8_t *row = malloc((size_t)p->width * p->channels);
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &bytes, &count);
    jpeg.image_width = (JDIMENSION)p->width;
    jpeg.image_height = (JDIMENSION)p->height;
    jpeg.input_components = (int)p->channels;
    jpeg.in_color_space = options->cmyk ? JCS_CMYK : p->channels == 1 ? JCS_GRAYSCALE : JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, options->quality ? options->quality : 92, TRUE);
    jpeg.comp_info[0].h_samp_factor = options->h ? options->h : 2;
    jpeg.comp_info[0].v_samp_factor = options->v ? options->v : 2;
    jpeg.restart_interval = (unsigned)options->restart;
    if (options->progressive)
        jpeg_simple_progression(&jpeg);
    static const jpeg_scan_info scan_per_component[3] = {
        {1, {0}, 0, 63, 0, 0}, {1, {1}, 0, 63, 0, 0}, {1, {2}, 0, 63, 0, 0}};
    if (options->many_scans) {
        jpeg.scan_info = scan_per_component;
        jpeg.num_scans = 3;
    }
    jpeg_start_compress(&jpeg, TRUE);
    if (options->with.exif.bytes) {
        uint8_t *block = malloc(options->with.exif.count + 6);
        memcpy(block, "Exif\0", 6);
        memcpy(block + 6, options->with.exif.bytes, options->with.exif.count);
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, block, (unsigned)options->with.exif.count + 6);
        free(block);
    }
    if (options->with.icc.bytes)
        jpeg_write_icc_profile(&jpeg, options->with.icc.bytes, (unsigned)options->with.icc.count);
    for (int y = 0; y < p->height; y++) {
        pack_row(p, y, row);
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(row);
    return (struct blob){bytes, count};
}

static void append(png_structp png, png_bytep from, size_t count)
{
    struct blob *blob = png_get_io_ptr(png);
    blob->bytes = realloc(blob->bytes, blob->count + count);
    assert_non_null(blob->bytes);
    memcpy(blob->bytes + blob->count, from, count);
    blob->count += count;
}

static void nothing(png_structp png)
{
    (void)png;
}

static void write_png_colour(png_structp png, png_infop info, const struct png_options *options)
{
    if (options->with.icc.bytes)
        png_set_iCCP(png, info, "icc", 0, options->with.icc.bytes,
                     (png_uint_32)options->with.icc.count);
    if (options->srgb)
        png_set_sRGB(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
    if (options->gamma > 0)
        png_set_gAMA(png, info, options->gamma);
    if (options->chrm_p3)
        png_set_cHRM(png, info, 0.3127, 0.3290, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060);
    if (options->with.exif.bytes)
        png_set_eXIf_1(png, info, (png_uint_32)options->with.exif.count, options->with.exif.bytes);
}

/* Index i of a test palette. */
static void palette_colour(int i, uint8_t ret[3])
{
    ret[0] = (uint8_t)(i * 7 + 3);
    ret[1] = (uint8_t)(255 - i * 5);
    ret[2] = (uint8_t)(i * 13);
}

struct blob png_make(const struct picture *p, const struct png_options *options)
{
    static const int types[5] = {0, PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_GRAY_ALPHA,
                                 PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA};
    struct blob blob = {0};
    size_t row_bytes = (size_t)p->width * p->channels * (p->bits / 8);
    uint8_t *pixels = malloc(row_bytes * (size_t)p->height);
    png_bytep *rows = malloc((size_t)p->height * sizeof *rows);
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_set_write_fn(png, &blob, append, nothing);
    int depth = options->depth ? options->depth : (int)p->bits;
    png_set_IHDR(png, info, (png_uint_32)p->width, (png_uint_32)p->height, depth,
                 options->palette ? PNG_COLOR_TYPE_PALETTE : types[p->channels],
                 options->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, 0, 0);
    if (options->palette) {
        png_color palette[256];
        for (int i = 0; i < 256; i++) {
            uint8_t c[3];
            palette_colour(i, c);
            palette[i] = (png_color){c[0], c[1], c[2]};
        }
        png_set_PLTE(png, info, palette, 256);
    }
    write_png_colour(png, info, options);
    png_write_info(png, info);
    if (p->bits == 16)
        png_set_swap(png); /* the test machines are little endian */
    if (options->depth)
        png_set_packing(png);
    for (int y = 0; y < p->height; y++) {
        rows[y] = pixels + (size_t)y * row_bytes;
        pack_row(p, y, rows[y]);
        for (size_t i = 0; options->depth && i < row_bytes; i++)
            rows[y][i] = (uint8_t)(rows[y][i] >> (8 - options->depth));
    }
    png_write_image(png, rows);
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    free(rows);
    free(pixels);
    return blob;
}

uint32_t png_crc(const uint8_t *bytes, size_t count)
{
    uint32_t crc = 0xFFFFFFFFu;
    for (size_t i = 0; i < count; i++) {
        crc ^= bytes[i];
        for (int k = 0; k < 8; k++)
            crc = crc & 1 ? 0xEDB88320u ^ (crc >> 1) : crc >> 1;
    }
    return ~crc;
}

struct memory_file {
    struct blob blob;
    size_t at, room;
};

static tmsize_t memory_read(thandle_t handle, void *to, tmsize_t count)
{
    struct memory_file *file = (struct memory_file *)handle;
    size_t n = (size_t)count, left = file->blob.count - file->at;
    n = n < left ? n : left;
    memcpy(to, file->blob.bytes + file->at, n);
    file->at += n;
    return (tmsize_t)n;
}

static tmsize_t memory_write(thandle_t handle, void *from, tmsize_t count)
{
    struct memory_file *file = (struct memory_file *)handle;
    size_t end = file->at + (size_t)count;
    if (end > file->room) {
        file->room = end * 2;
        file->blob.bytes = realloc(file->blob.bytes, file->room);
        assert_non_null(file->blob.bytes);
    }
    if (end > file->blob.count) {
        memset(file->blob.bytes + file->blob.count, 0, end - file->blob.count);
        file->blob.count = end;
    }
    memcpy(file->blob.bytes + file->at, from, (size_t)count);
    file->at = end;
    return count;
}

static toff_t memory_seek(thandle_t handle, toff_t offset, int whence)
{
    struct memory_file *file = (struct memory_file *)handle;
    file->at = (size_t)offset + (whence == SEEK_END   ? file->blob.count
                                 : whence == SEEK_CUR ? file->at
                                                      : 0);
    return file->at;
}

static int memory_close(thandle_t handle)
{
    (void)handle;
    return 0;
}

static toff_t memory_size(thandle_t handle)
{
    return ((struct memory_file *)handle)->blob.count;
}

static void set_tiff_tags(TIFF *tiff, const struct picture *p, const struct tiff_options *o)
{
    uint16_t colours = p->channels >= 3 ? 3 : 1;
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)p->width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)p->height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, p->bits);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, p->channels);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG,
                 o->apart ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, o->compression ? o->compression : COMPRESSION_NONE);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
                 o->cmyk            ? PHOTOMETRIC_SEPARATED
                 : o->palette       ? PHOTOMETRIC_PALETTE
                 : o->white_is_zero ? PHOTOMETRIC_MINISWHITE
                 : colours == 3     ? PHOTOMETRIC_RGB
                                    : PHOTOMETRIC_MINISBLACK);
    if (o->orientation)
        TIFFSetField(tiff, TIFFTAG_ORIENTATION, o->orientation);
    if (p->channels > colours && !o->cmyk) {
        uint16_t kind = o->associated ? EXTRASAMPLE_ASSOCALPHA : EXTRASAMPLE_UNASSALPHA;
        TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &kind);
    }
    if (o->with.icc.bytes)
        TIFFSetField(tiff, TIFFTAG_ICCPROFILE, (uint32_t)o->with.icc.count, o->with.icc.bytes);
    if (o->palette) {
        uint16_t map[3][256];
        for (int i = 0; i < 256; i++) {
            uint8_t c[3];
            palette_colour(i, c);
            for (int k = 0; k < 3; k++)
                map[k][i] = (uint16_t)(c[k] * 257);
        }
        TIFFSetField(tiff, TIFFTAG_COLORMAP, map[0], map[1], map[2]);
    }
}

/* `n` channels from `first` on, of the pixels from (x0, y0), as the file stores them. */
static void pack_block(const struct picture *p, int x0, int y0, int columns, int rows,
                       unsigned first, unsigned n, uint8_t *to)
{
    size_t i = 0;
    for (int y = y0; y < y0 + rows; y++)
        for (int x = x0; x < x0 + columns; x++)
            for (unsigned k = first; k < first + n; k++, i++) {
                uint16_t value = x < p->width && y < p->height ? picture_at(p, x, y)[k] : 0;
                if (p->bits == 8)
                    to[i] = (uint8_t)value;
                else
                    memcpy(to + 2 * i, &value, 2);
            }
}

static void write_tiff_pixels(TIFF *tiff, const struct picture *p, const struct tiff_options *o)
{
    unsigned planes = o->apart ? p->channels : 1, n = o->apart ? 1 : p->channels;
    int columns = o->tile ? o->tile : p->width, rows = o->tile ? o->tile : 1;
    uint8_t *block = malloc((size_t)columns * (size_t)rows * n * 2);
    for (unsigned plane = 0; plane < planes; plane++)
        for (int y = 0; y < p->height; y += rows)
            for (int x = 0; x < p->width; x += columns) {
                pack_block(p, x, y, columns, rows, plane, n, block);
                if (o->tile)
                    TIFFWriteTile(tiff, block, (uint32_t)x, (uint32_t)y, 0, (uint16_t)plane);
                else
                    TIFFWriteScanline(tiff, block, (uint32_t)y, (uint16_t)plane);
            }
    free(block);
}

static void write_tiff_exif(TIFF *tiff, const char *date)
{
    uint64_t at = 0;
    TIFFWriteDirectory(tiff);
    assert_int_equal(TIFFCreateEXIFDirectory(tiff), 0);
    TIFFSetField(tiff, EXIFTAG_DATETIMEORIGINAL, date);
    assert_true(TIFFWriteCustomDirectory(tiff, &at));
    assert_true(TIFFSetDirectory(tiff, 0));
    TIFFSetField(tiff, TIFFTAG_EXIFIFD, at);
    assert_true(TIFFRewriteDirectory(tiff));
}

struct blob tiff_make(const struct picture *p, const struct tiff_options *o)
{
    struct memory_file file = {0};
    TIFF *tiff = TIFFClientOpen("made", "w", &file, memory_read, memory_write, memory_seek,
                                memory_close, memory_size, NULL, NULL);
    assert_non_null(tiff);
    set_tiff_tags(tiff, p, o);
    if (o->tile) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, o->tile);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, o->tile);
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 7);
    }
    write_tiff_pixels(tiff, p, o);
    if (o->date)
        write_tiff_exif(tiff, o->date);
    TIFFClose(tiff);
    return file.blob;
}

static void heif_fine(struct heif_error error)
{
    if (error.code != heif_error_Ok)
        fail_msg("libheif: %s", error.message);
}

static struct heif_error heif_append(struct heif_context *context, const void *data, size_t size,
                                     void *user)
{
    struct blob *blob = user;
    (void)context;
    blob->bytes = realloc(blob->bytes, blob->count + size);
    memcpy(blob->bytes + blob->count, data, size);
    blob->count += size;
    return (struct heif_error){heif_error_Ok, heif_suberror_Unspecified, "fine"};
}

static struct heif_image *heif_image_of(const struct picture *p)
{
    struct heif_image *image = NULL;
    bool deep = p->bits == 16;
    int stride = 0;
    heif_fine(heif_image_create(p->width, p->height,
                                p->channels == 1 ? heif_colorspace_monochrome : heif_colorspace_RGB,
                                p->channels == 1 ? heif_chroma_monochrome
                                : deep           ? heif_chroma_interleaved_RRGGBB_LE
                                                 : heif_chroma_interleaved_RGB,
                                &image));
    enum heif_channel channel = p->channels == 1 ? heif_channel_Y : heif_channel_interleaved;
    heif_fine(heif_image_add_plane(image, channel, p->width, p->height, deep ? 10 : 8));
    uint8_t *plane = heif_image_get_plane(image, channel, &stride);
    for (int y = 0; y < p->height; y++) {
        uint8_t *row = plane + (size_t)y * (size_t)stride;
        if (!deep) {
            pack_row(p, y, row);
            continue;
        }
        for (size_t i = 0; i < (size_t)p->width * 3; i++) {
            uint16_t value = (uint16_t)lround(picture_at(p, 0, y)[i] * 1023.0 / 65535);
            row[2 * i] = (uint8_t)value;
            row[2 * i + 1] = (uint8_t)(value >> 8);
        }
    }
    return image;
}

struct blob heic_make(const struct picture *p, const struct heic_options *o)
{
    struct blob blob = {0};
    struct heif_context *context = heif_context_alloc();
    struct heif_encoder *encoder = NULL;
    struct heif_image_handle *handle = NULL;
    struct heif_encoding_options *options = heif_encoding_options_alloc();
    struct heif_color_profile_nclx *nclx = heif_nclx_color_profile_alloc();
    struct heif_image *image = heif_image_of(p);
    struct heif_writer writer = {1, heif_append};
    heif_fine(heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder));
    heif_fine(heif_encoder_set_lossy_quality(encoder, 90));
    heif_fine(heif_encoder_set_parameter_string(encoder, "preset", "ultrafast"));
    heif_fine(heif_encoder_set_parameter_string(encoder, "chroma", "444"));
    if (o->with.icc.bytes)
        heif_fine(
            heif_image_set_raw_color_profile(image, "prof", o->with.icc.bytes, o->with.icc.count));
    options->macOS_compatibility_workaround_no_nclx_profile = !o->primaries;
    if (o->primaries) {
        nclx->color_primaries = (enum heif_color_primaries)o->primaries;
        nclx->transfer_characteristics = (enum heif_transfer_characteristics)o->transfer;
        nclx->matrix_coefficients = heif_matrix_coefficients_ITU_R_BT_601_6;
        nclx->full_range_flag = 1;
        heif_fine(heif_image_set_nclx_color_profile(image, nclx));
        options->output_nclx_profile = nclx;
    }
    if (o->orientation)
        options->image_orientation = (enum heif_orientation)o->orientation;
    heif_fine(heif_context_encode_image(context, image, encoder, options, &handle));
    if (o->with.exif.bytes)
        heif_fine(heif_context_add_exif_metadata(context, handle, o->with.exif.bytes,
                                                 (int)o->with.exif.count));
    heif_fine(heif_context_write(context, &writer, &blob));
    heif_nclx_color_profile_free(nclx);
    heif_encoding_options_free(options);
    heif_image_handle_release(handle);
    heif_image_release(image);
    heif_encoder_release(encoder);
    heif_context_free(context);
    return blob;
}

static void put_number(uint8_t *to, uint32_t value, int bytes, bool big_endian)
{
    for (int i = 0; i < bytes; i++)
        to[big_endian ? bytes - 1 - i : i] = (uint8_t)(value >> (8 * i));
}

static void put_entry(uint8_t *to, uint16_t tag, uint16_t type, uint32_t count, uint32_t value,
                      bool big_endian)
{
    put_number(to, tag, 2, big_endian);
    put_number(to + 2, type, 2, big_endian);
    put_number(to + 4, count, 4, big_endian);
    put_number(to + 8, value, type == 3 ? 2 : 4, big_endian);
}

/* TIFF 6.0, section 2: header, IFD 0 with orientation and the pointer to the Exif IFD, the date. */
struct blob exif_make(int orientation, const char *date, bool big_endian)
{
    enum { IFD0 = 8, EXIF_IFD = IFD0 + 2 + 2 * 12 + 4, DATE = EXIF_IFD + 2 + 12 + 4 };
    struct blob blob = {calloc(1, DATE + 20), DATE + 20};
    assert_non_null(blob.bytes);
    uint8_t *b = blob.bytes;
    memcpy(b, big_endian ? "MM" : "II", 2);
    put_number(b + 2, 42, 2, big_endian);
    put_number(b + 4, IFD0, 4, big_endian);
    put_number(b + IFD0, 2, 2, big_endian);
    put_entry(b + IFD0 + 2, 0x0112, 3, 1, (uint32_t)orientation, big_endian);
    put_entry(b + IFD0 + 14, 0x8769, 4, 1, EXIF_IFD, big_endian);
    put_number(b + EXIF_IFD, 1, 2, big_endian);
    put_entry(b + EXIF_IFD + 2, 0x9003, 2, 20, DATE, big_endian);
    memcpy(b + DATE, date, strlen(date) < 20 ? strlen(date) : 20);
    return blob;
}

struct sl_photo *photo_of(struct blob blob, struct sl_warnings *warnings)
{
    struct sl_photo *photo = NULL;
    struct sl_status status = {0};
    if (sl_photo_open_memory(blob.bytes, blob.count, "made", &photo, warnings, &status))
        fail_msg("%s: %s", sl_code_name(status.code), status.message);
    return photo;
}

struct sl_image whole_of(struct sl_photo *photo)
{
    struct sl_image image = {0};
    struct sl_status status = {0};
    const struct sl_photo_info *info = sl_photo_info(photo);
    const struct sl_rect all = {0, 0, info->width_px, info->height_px};
    if (sl_photo_region(photo, all, &image, &status))
        fail_msg("%s: %s", sl_code_name(status.code), status.message);
    return image;
}

uint16_t sample_of(const struct sl_image *image, int x, int y, int channel)
{
    const uint8_t *row = (const uint8_t *)image->pixels + (size_t)y * image->stride;
    uint16_t wide;
    if (image->bits == 8)
        return row[3 * x + channel];
    memcpy(&wide, row + 2 * (3 * x + channel), sizeof wide);
    return wide;
}

enum side { TOP, BOTTOM, LEFT, RIGHT };

static int from_side(enum side side, int index, int length)
{
    return side == TOP || side == LEFT ? index : length - 1 - index;
}

void displayed_at(int orientation, int w, int h, int u, int v, int *ret_x, int *ret_y)
{
    static const enum side row_0[9] = {TOP, TOP, TOP, BOTTOM, BOTTOM, LEFT, RIGHT, RIGHT, LEFT};
    static const enum side column_0[9] = {LEFT, LEFT, RIGHT, RIGHT, LEFT, TOP, TOP, BOTTOM, BOTTOM};
    enum side row = row_0[orientation], column = column_0[orientation];
    if (row == TOP || row == BOTTOM) {
        *ret_y = from_side(row, v, h);
        *ret_x = from_side(column, u, w);
    } else {
        *ret_x = from_side(row, v, h);
        *ret_y = from_side(column, u, w);
    }
}
