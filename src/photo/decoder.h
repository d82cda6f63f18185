// SPDX-License-Identifier: GPL-3.0-or-later
/* What a file format has to offer, and the photo that the formats share. Formats know nothing of
 * orientation, limits or colour: they report what the header says and hand out stored pixels. */
#ifndef STRANDLINE_PHOTO_DECODER_H
#define STRANDLINE_PHOTO_DECODER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "colour/encoding.h"
#include "strandline/photo.h"

/* What decoding may go through, in bytes of samples, all passes over the picture and all its parts
 * (strips, tiles, scans) together: twice what the largest ordinary photo takes. That is a TIFF with
 * SL_PHOTO_SAMPLES_MAX samples of 16 bits a pixel, or a progressive JPEG in the ten scans that
 * libjpeg writes (jpeg_simple_progression), a byte each. Twice, because tiles reach beyond the edge
 * and some programs write more scans. */
#define PHOTO_WORK_BYTES_MAX (20 * (uint64_t)SL_PHOTO_PIXELS_MAX)
/* What it takes to begin with a part, however small. Measured on TIFFs of deflate, LZW, LZMA and
 * JPEG in tiles of 16 px against tiles of 256 px: up to 4 us, as long as decoding this much. */
enum { PHOTO_PART_BYTES = 1024 };

struct photo_decoder;

struct sl_photo {
    struct sl_photo_info info;
    const struct photo_decoder *decoder;
    uint8_t *bytes; /* the whole file */
    size_t count;
    struct sl_rect stored; /* (0, 0) and the size as stored */
    struct sl_colour *colour;
    bool multi_scan; /* JPEG: every look at it costs a full decode */
    struct sl_cancel cancel;
    struct sl_image whole; /* stored orientation; without pixels until a decode needed it */
};

/* A header's findings. Blobs are owned (photo_header_finish). */
struct photo_header {
    uint32_t width, height; /* as stored */
    unsigned bits;          /* 8 or 16 */
    bool grey;
    uint8_t *icc, *exif; /* exif from its TIFF header on, without "Exif\0\0" */
    size_t icc_bytes, exif_bytes;
    bool icc_damaged, exif_damaged;
    bool own_orientation; /* the orientation below counts and EXIF's does not */
    int orientation;      /* 1..8; 0: the format has none of its own */
    bool srgb;            /* declared, without a profile */
    bool encoded;         /* `encoding` is set */
    struct colour_encoding encoding;
    char date[20];
};

struct photo_decoder {
    const char *format;
    bool (*matches)(const uint8_t *bytes, size_t count);
    sl_code (*read_header)(struct sl_photo *photo, struct photo_header *ret,
                           struct sl_status *status);
    /* All pixels, stored orientation. */
    sl_code (*decode)(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status);
    /* Optional short cuts; NULL where everything has to be decoded anyway. They may answer
     * SL_OK without pixels: then `decode` is asked. */
    sl_code (*look)(struct sl_photo *photo, int side_px, struct sl_image *ret,
                    struct sl_status *status);
    sl_code (*region)(struct sl_photo *photo, struct sl_rect rect, struct sl_image *ret,
                      struct sl_status *status);
};

extern const struct photo_decoder jpeg_decoder, png_decoder, heic_decoder, tiff_decoder;

void photo_header_finish(struct photo_header *header);

/* SL_E_TOO_LARGE or SL_E_DAMAGED (no pixels). */
sl_code photo_check_size(const struct sl_photo *photo, uint32_t width, uint32_t height,
                         struct sl_status *status);

/* SL_E_TOO_LARGE where decoding goes through more than PHOTO_WORK_BYTES_MAX. */
sl_code photo_check_work(const struct sl_photo *photo, uint64_t parts, uint64_t bytes,
                         struct sl_status *status);

/* A file that ends too early, and one that is broken (`what`: the decoder's own words). */
sl_code photo_truncated(const struct sl_photo *photo, struct sl_status *status);
sl_code photo_damaged(const struct sl_photo *photo, const char *what, struct sl_status *status);
sl_code photo_no_memory(const struct sl_photo *photo, struct sl_status *status);

/* A copy of `count` bytes; NULL: out of memory or nothing to copy. */
void *bytes_copy(const void *bytes, size_t count);

/* file.c: the bytes of an ordinary file, checked against SL_PHOTO_FILE_BYTES_MAX. */
sl_code file_read(const char *path, uint8_t **ret_bytes, size_t *ret_count,
                  struct sl_status *status);

/* exif.c */
/* "YYYY:MM:DD HH:MM:SS" (19 bytes) to "YYYY-MM-DD HH:MM:SS"; anything else is left out, as cameras
 * without a clock write spaces. */
void exif_copy_date(const void *text, char ret[20]);
/* Orientation (1..8, 0: none) and date (empty: none). False: damaged. */
bool exif_read(const uint8_t *bytes, size_t count, int *ret_orientation, char ret_date[20]);

/* image.c */
/* `channels` 3, or 4 to leave room in each row for alpha. False: out of memory. */
bool image_alloc(struct sl_image *image, int width, int height, unsigned bits, unsigned channels);
uint8_t *image_row(const struct sl_image *image, int y);
/* A part of `from`; borrows its pixels, so it is never finished. */
struct sl_image image_view(const struct sl_image *from, struct sl_rect rect);
/* Means of factor x factor pixels, of what there is of them at the right and lower edge. `from` is
 * the photo's; SL_E_MEMORY, SL_E_CANCELLED. */
sl_code image_reduce(const struct sl_photo *photo, const struct sl_image *from, int factor,
                     struct sl_image *ret, struct sl_status *status);
/* Four channels to three: alpha over white, on the encoded samples, as picture viewers do.
 * SL_E_CANCELLED. */
sl_code image_lay_over_white(const struct sl_photo *photo, struct sl_image *image,
                             bool premultiplied, struct sl_status *status);

/* orient.c: EXIF orientation 1..8. */
bool orient_swaps_sides(int orientation);
struct sl_rect orient_to_stored(struct sl_rect displayed, struct sl_rect stored, int orientation);
/* The displayed image of the photo's stored one (x0, y0 in stored pixels), with its colour.
 * SL_E_MEMORY, SL_E_CANCELLED. */
sl_code orient_copy(const struct sl_photo *photo, const struct sl_image *from, struct sl_image *ret,
                    struct sl_status *status);

#endif
