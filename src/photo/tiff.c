// SPDX-License-Identifier: GPL-3.0-or-later
/* TIFF through libtiff: the first picture, RGB, grey or palette, 8 or 16 bits a sample, strips or
 * tiles, planes together or apart. Alpha is laid over white. Errors come through a handler of the
 * open file's own, never the global one. */
#include "photo/decoder.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <tiffio.h>

enum { ERROR_BYTES = 120 };
/* What one of the file's fields or tiles may take in memory; a whole picture of the largest size
 * fits. */
static const tmsize_t BLOCK_BYTES_MAX = (tmsize_t)SL_PHOTO_PIXELS_MAX * 8;

/* What the tags say about the samples. */
struct layout {
    uint32_t width, height, tile_width, tile_height; /* tile sizes 0: strips */
    uint16_t bits, samples, photometric, planar, compression, orientation, sample_format;
    uint16_t colours; /* samples a pixel that are colour: 1 or 3 */
    uint16_t alpha;   /* 0 none, else the kind of extra sample (EXTRASAMPLE_...ALPHA) */
    uint16_t *palette[3];
    bool wide_palette; /* its entries use 16 bits, as they should */
};

struct session {
    const struct sl_photo *photo;
    struct sl_status *status;
    TIFF *tiff;
    size_t at;
    bool truncated;
    char error[ERROR_BYTES];
    struct layout layout;
};

static tmsize_t on_read(thandle_t handle, void *to, tmsize_t wanted)
{
    struct session *session = handle;
    size_t left = session->at < session->photo->count ? session->photo->count - session->at : 0;
    size_t count = wanted > 0 ? (size_t)wanted : 0;
    if (count > left) {
        session->truncated = true;
        count = left;
    }
    if (count > 0)
        memcpy(to, session->photo->bytes + session->at, count);
    session->at += count;
    return (tmsize_t)count;
}

static tmsize_t on_write(thandle_t handle, void *from, tmsize_t count)
{
    (void)handle;
    (void)from;
    (void)count;
    return -1;
}

static toff_t on_seek(thandle_t handle, toff_t offset, int whence)
{
    struct session *session = handle;
    uint64_t base = whence == SEEK_CUR   ? session->at
                    : whence == SEEK_END ? session->photo->count
                                         : 0;
    session->at = (size_t)(base + offset);
    return session->at;
}

static int on_close(thandle_t handle)
{
    (void)handle;
    return 0;
}

static toff_t on_size(thandle_t handle)
{
    const struct session *session = handle;
    return session->photo->count;
}

static int on_error(TIFF *tiff, void *data, const char *module, const char *format, va_list args)
    SL_PRINTF(4, 0);

static int on_error(TIFF *tiff, void *data, const char *module, const char *format, va_list args)
{
    struct session *session = data;
    (void)tiff;
    (void)module;
    if (!session->error[0]) /* the first says what is wrong, the others what follows from it */
        vsnprintf(session->error, sizeof session->error, format, args);
    return 1;
}

static int on_warning(TIFF *tiff, void *data, const char *module, const char *format, va_list args)
{
    (void)tiff;
    (void)data;
    (void)module;
    (void)format;
    (void)args;
    return 1;
}

static sl_code translate(const struct session *session)
{
    if (session->truncated)
        return photo_truncated(session->photo, session->status);
    return photo_damaged(session->photo, session->error[0] ? session->error : "unreadable",
                         session->status);
}

static sl_code session_begin(struct session *session)
{
    TIFFOpenOptions *options = TIFFOpenOptionsAlloc();
    if (!options)
        return photo_no_memory(session->photo, session->status);
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, BLOCK_BYTES_MAX);
    TIFFOpenOptionsSetErrorHandlerExtR(options, on_error, session);
    TIFFOpenOptionsSetWarningHandlerExtR(options, on_warning, session);
    session->tiff = TIFFClientOpenExt("photo", "rm", session, on_read, on_write, on_seek, on_close,
                                      on_size, NULL, NULL, options);
    TIFFOpenOptionsFree(options);
    return session->tiff ? SL_OK : translate(session);
}

static void session_finish(struct session *session)
{
    if (session->tiff)
        TIFFClose(session->tiff);
}

static uint16_t alpha_kind(TIFF *tiff)
{
    uint16_t count = 0, *kinds = NULL;
    if (!TIFFGetField(tiff, TIFFTAG_EXTRASAMPLES, &count, &kinds) || count == 0)
        return 0;
    return kinds[0] == EXTRASAMPLE_ASSOCALPHA || kinds[0] == EXTRASAMPLE_UNASSALPHA ? kinds[0] : 0;
}

static void read_palette(TIFF *tiff, struct layout *l)
{
    uint16_t **p = l->palette;
    if (!TIFFGetField(tiff, TIFFTAG_COLORMAP, &p[0], &p[1], &p[2]))
        return;
    for (size_t i = 0; i < (size_t)1 << l->bits; i++)
        l->wide_palette = l->wide_palette || p[0][i] > 255 || p[1][i] > 255 || p[2][i] > 255;
}

static void read_layout(struct session *session)
{
    TIFF *tiff = session->tiff;
    struct layout *l = &session->layout;
    TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &l->width);
    TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &l->height);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_BITSPERSAMPLE, &l->bits);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLESPERPIXEL, &l->samples);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_PLANARCONFIG, &l->planar);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLEFORMAT, &l->sample_format);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_ORIENTATION, &l->orientation);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_COMPRESSION, &l->compression);
    if (!TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &l->photometric))
        l->photometric = l->samples >= 3 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK;
    if (l->photometric == PHOTOMETRIC_YCBCR && l->compression == COMPRESSION_JPEG) {
        TIFFSetField(tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
        l->photometric = PHOTOMETRIC_RGB;
    }
    if (TIFFIsTiled(tiff)) {
        TIFFGetField(tiff, TIFFTAG_TILEWIDTH, &l->tile_width);
        TIFFGetField(tiff, TIFFTAG_TILELENGTH, &l->tile_height);
    }
    l->colours = l->photometric == PHOTOMETRIC_RGB ? 3 : 1;
    l->alpha = l->samples > l->colours ? alpha_kind(tiff) : 0;
    if (l->photometric == PHOTOMETRIC_PALETTE && l->bits == 8)
        read_palette(tiff, l);
}

static sl_code not_read(const struct session *session, const char *what)
{
    return sl_status_set(session->status, SL_E_FORMAT, "photo/tiff",
                         "Save the photo as a TIFF of 8 or 16 bits a channel, or as JPEG.",
                         "%s is a TIFF with %s; that is not read.", session->photo->info.file,
                         what);
}

static sl_code check_layout(const struct session *session)
{
    const struct layout *l = &session->layout;
    switch (l->photometric) {
    case PHOTOMETRIC_MINISWHITE:
    case PHOTOMETRIC_MINISBLACK:
    case PHOTOMETRIC_RGB:
    case PHOTOMETRIC_PALETTE:
        break;
    case PHOTOMETRIC_YCBCR:
        return not_read(session, "YCbCr samples that are not JPEG-compressed");
    default:
        return sl_status_set(session->status, SL_E_COLOUR_MODEL, "photo/tiff",
                             "Export the photo as RGB.", "%s is in %s; only RGB and grey are read.",
                             session->photo->info.file,
                             l->photometric == PHOTOMETRIC_SEPARATED ? "CMYK print colours"
                                                                     : "another colour model");
    }
    if (l->bits != 8 && !(l->bits == 16 && l->photometric != PHOTOMETRIC_PALETTE))
        return not_read(session, "an unusual number of bits a channel");
    if (l->sample_format != SAMPLEFORMAT_UINT)
        return not_read(session, "samples that are no whole numbers");
    if (l->samples < l->colours)
        return photo_damaged(session->photo, "it has too few channels", session->status);
    if (l->photometric == PHOTOMETRIC_PALETTE && !l->palette[0])
        return photo_damaged(session->photo, "its palette is missing", session->status);
    if (!TIFFIsCODECConfigured(l->compression))
        return not_read(session, "a rare kind of compression");
    return SL_OK;
}

/* Samples of all strips or tiles, and what is stored of each: a file's lists can give one piece of
 * it to any number of them. */
static sl_code check_work(const struct session *session)
{
    const struct layout *l = &session->layout;
    const struct sl_photo *photo = session->photo;
    TIFF *tiff = session->tiff;
    bool tiled = TIFFIsTiled(tiff);
    uint64_t planes = l->planar == PLANARCONFIG_SEPARATE ? l->samples : 1;
    uint64_t count = tiled ? TIFFNumberOfTiles(tiff) : TIFFNumberOfStrips(tiff);
    uint64_t size = tiled ? TIFFTileSize64(tiff) : TIFFScanlineSize64(tiff);
    if (l->samples > SL_PHOTO_SAMPLES_MAX)
        return sl_status_set(session->status, SL_E_TOO_LARGE, "photo/tiff",
                             "Save the photo without its extra channels, or as JPEG.",
                             "%s has %u channels; the limit is %d.", photo->info.file,
                             (unsigned)l->samples, SL_PHOTO_SAMPLES_MAX);
    if (size > (uint64_t)BLOCK_BYTES_MAX)
        return sl_status_set(session->status, SL_E_TOO_LARGE, "photo/tiff",
                             "Save the photo again as an ordinary JPEG.",
                             "%s is stored in tiles of %llu MB each; the limit is %llu MB.",
                             photo->info.file, (unsigned long long)(size / 1000000),
                             (unsigned long long)(BLOCK_BYTES_MAX / 1000000));
    uint64_t bytes = size * (tiled ? count : l->height * planes);
    sl_code code = photo_check_work(photo, count, bytes, session->status);
    for (uint32_t i = 0; !code && i < count; i++) {
        uint64_t stored = TIFFGetStrileByteCount(tiff, i);
        bytes += stored < photo->count ? stored : photo->count;
        code = photo_check_work(photo, count, bytes, session->status);
    }
    return code;
}

static void take_date(struct session *session, struct photo_header *header)
{
    toff_t exif = 0;
    const char *text = NULL;
    if (!TIFFGetField(session->tiff, TIFFTAG_EXIFIFD, &exif))
        return;
    if (!TIFFReadEXIFDirectory(session->tiff, exif))
        header->exif_damaged = true;
    else if (TIFFGetField(session->tiff, EXIFTAG_DATETIMEORIGINAL, &text) && text &&
             strlen(text) >= 19)
        exif_copy_date(text, header->date);
}

static sl_code tiff_read_header(struct sl_photo *photo, struct photo_header *ret,
                                struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status};
    const struct layout *l = &session.layout;
    uint32_t icc_bytes = 0;
    void *icc = NULL;
    sl_code code = session_begin(&session);
    if (code)
        goto done;
    read_layout(&session);
    code = photo_check_size(photo, l->width, l->height, status);
    if (!code)
        code = check_layout(&session);
    if (!code)
        code = check_work(&session);
    if (code)
        goto done;
    ret->width = l->width;
    ret->height = l->height;
    ret->bits = l->bits;
    ret->grey = l->colours == 1 && l->photometric != PHOTOMETRIC_PALETTE;
    ret->own_orientation = true;
    ret->orientation = l->orientation;
    if (l->orientation < 1 || l->orientation > 8) {
        ret->orientation = 1;
        ret->exif_damaged = true;
    }
    if (TIFFGetField(session.tiff, TIFFTAG_ICCPROFILE, &icc_bytes, &icc)) {
        ret->icc = bytes_copy(icc, icc_bytes);
        ret->icc_bytes = icc_bytes;
        ret->icc_damaged = !ret->icc;
    }
    take_date(&session, ret);
done:
    session_finish(&session);
    return code;
}

static uint16_t sample_at(const struct layout *l, const uint8_t *block, size_t index)
{
    uint16_t wide;
    if (l->bits == 8)
        return block[index];
    memcpy(&wide, block + 2 * index, sizeof wide);
    return wide;
}

static void put(const struct sl_image *image, int y, size_t index, uint16_t value)
{
    if (image->bits == 8)
        image_row(image, y)[index] = (uint8_t)value;
    else
        ((uint16_t *)(void *)image_row(image, y))[index] = value;
}

/* One sample to where it belongs among R, G, B and alpha; extra samples of other kinds go. */
static void put_sample(const struct layout *l, const struct sl_image *image, int y, size_t pixel,
                       uint16_t channel, uint16_t value)
{
    size_t channels = l->alpha ? 4 : 3;
    size_t at = pixel * channels;
    if (channel == l->colours && l->alpha) {
        put(image, y, at + 3, value);
    } else if (channel < l->colours && l->colours == 3) {
        put(image, y, at + channel, value);
    } else if (channel == 0) {
        uint16_t top = l->bits == 8 ? 255 : 65535;
        if (l->photometric == PHOTOMETRIC_MINISWHITE)
            value = (uint16_t)(top - value);
        for (size_t k = 0; k < 3; k++)
            put(image, y, at + k,
                l->photometric != PHOTOMETRIC_PALETTE ? value
                : l->wide_palette                     ? l->palette[k][value] >> 8
                                                      : l->palette[k][value]);
    }
}

/* A row of a strip or tile: from x0 on, `channel` when planes lie apart, else all of them. */
static void put_row(const struct layout *l, const struct sl_image *image, const uint8_t *row,
                    uint32_t x0, uint32_t count, uint32_t y, uint16_t channel)
{
    bool apart = l->planar == PLANARCONFIG_SEPARATE;
    uint16_t first = apart ? channel : 0, n = apart ? 1 : l->samples;
    for (size_t i = 0; i < count; i++)
        for (uint16_t k = 0; k < n; k++)
            put_sample(l, image, (int)y, x0 + i, (uint16_t)(first + k),
                       sample_at(l, row, i * n + k));
}

static sl_code read_strips(struct session *session, const struct sl_image *image, uint8_t *block,
                           uint16_t plane)
{
    const struct layout *l = &session->layout;
    for (uint32_t y = 0; y < l->height; y++) {
        sl_code code = sl_photo_check_cancel(session->photo, session->status);
        if (code)
            return code;
        if (TIFFReadScanline(session->tiff, block, y, plane) != 1)
            return translate(session);
        put_row(l, image, block, 0, l->width, y, plane);
    }
    return SL_OK;
}

static sl_code read_tiles(struct session *session, const struct sl_image *image, uint8_t *block,
                          uint16_t plane)
{
    const struct layout *l = &session->layout;
    size_t row_bytes = (size_t)TIFFTileRowSize(session->tiff);
    for (uint32_t y0 = 0; y0 < l->height; y0 += l->tile_height)
        for (uint32_t x0 = 0; x0 < l->width; x0 += l->tile_width) {
            sl_code code = sl_photo_check_cancel(session->photo, session->status);
            if (code)
                return code;
            if (TIFFReadTile(session->tiff, block, x0, y0, 0, plane) < 0)
                return translate(session);
            uint32_t count = l->width - x0 < l->tile_width ? l->width - x0 : l->tile_width;
            for (uint32_t i = 0; i < l->tile_height && y0 + i < l->height; i++)
                put_row(l, image, block + i * row_bytes, x0, count, y0 + i, plane);
        }
    return SL_OK;
}

static sl_code read_planes(struct session *session, const struct sl_image *image)
{
    const struct layout *l = &session->layout;
    bool tiled = l->tile_width > 0 && l->tile_height > 0;
    uint64_t columns = tiled ? l->tile_width : l->width, rows = tiled ? l->tile_height : 1;
    uint64_t n = l->planar == PLANARCONFIG_SEPARATE ? 1 : l->samples;
    uint64_t needed = columns * rows * n * (l->bits / 8);
    tmsize_t size = tiled ? TIFFTileSize(session->tiff) : TIFFScanlineSize(session->tiff);
    if (size <= 0 || (uint64_t)size < needed)
        return translate(session);
    uint8_t *block = calloc(1, (size_t)size);
    if (!block)
        return photo_no_memory(session->photo, session->status);
    uint16_t planes = l->planar == PLANARCONFIG_SEPARATE ? l->samples : 1;
    sl_code code = SL_OK;
    for (uint16_t plane = 0; !code && plane < planes; plane++)
        code = tiled ? read_tiles(session, image, block, plane)
                     : read_strips(session, image, block, plane);
    free(block);
    return code;
}

static sl_code tiff_decode(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status};
    const struct layout *l = &session.layout;
    struct sl_image image = {0};
    sl_code code = session_begin(&session);
    if (code)
        goto done;
    read_layout(&session);
    if (!image_alloc(&image, photo->stored.width, photo->stored.height, photo->info.bits,
                     l->alpha ? 4 : 3)) {
        code = photo_no_memory(photo, status);
        goto done;
    }
    code = read_planes(&session, &image);
    if (!code && l->alpha)
        code = image_lay_over_white(photo, &image, l->alpha == EXTRASAMPLE_ASSOCALPHA, status);
done:
    session_finish(&session);
    if (code)
        sl_image_finish(&image);
    else
        *ret = image;
    return code;
}

static bool tiff_matches(const uint8_t *bytes, size_t count)
{
    static const char magic[4][5] = {"II*\0", "MM\0*", "II+\0", "MM\0+"};
    for (int i = 0; count >= 4 && i < 4; i++)
        if (memcmp(bytes, magic[i], 4) == 0)
            return true;
    return false;
}

const struct photo_decoder tiff_decoder = {
    .format = "TIFF",
    .matches = tiff_matches,
    .read_header = tiff_read_header,
    .decode = tiff_decode,
};
