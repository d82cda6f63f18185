// SPDX-License-Identifier: GPL-3.0-or-later
/* Test photos, made here with the same libraries' encoders, and what should be seen of them. */
#ifndef TESTS_PHOTO_MAKE_H
#define TESTS_PHOTO_MAKE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "strandline/photo.h"

struct picture {
    int width, height;
    unsigned bits, channels; /* bits 8 or 16; grey 1, grey + alpha 2, RGB 3, RGBA 4 */
    uint16_t *samples;
};

struct blob {
    uint8_t *bytes;
    size_t count;
};

/* A picture without symmetry: slopes, a coarse pattern and some noise. The same for the same
 * arguments. */
struct picture picture_make(int width, int height, unsigned bits, unsigned channels);
void picture_free(struct picture *picture);
uint16_t *picture_at(const struct picture *picture, int x, int y);

struct metadata {
    struct blob icc, exif; /* exif from its TIFF header on */
};

struct jpeg_options {
    struct metadata with;
    int quality; /* 0: 92 */
    int h, v;    /* chroma is coarser by these; 0: 2, both 4:2:0 */
    int restart; /* blocks between restart markers; 0: none */
    bool progressive, many_scans, cmyk;
};

struct png_options {
    struct metadata with;
    bool interlaced, srgb, chrm_p3, palette;
    int depth;    /* below 8: samples are written with so few bits, from their upper ones */
    double gamma; /* gAMA; 0: none */
};

struct tiff_options {
    struct metadata with;
    int orientation, tile; /* 0: none */
    bool apart, cmyk, palette, white_is_zero, associated;
    int compression; /* 0: none */
    const char *date;
};

struct heic_options {
    struct metadata with;
    int orientation;         /* irot and imir; 0: none */
    int primaries, transfer; /* nclx; 0: none */
};

struct blob jpeg_make(const struct picture *picture, const struct jpeg_options *options);
struct blob png_make(const struct picture *picture, const struct png_options *options);
struct blob tiff_make(const struct picture *picture, const struct tiff_options *options);
/* bits 8 or 10 (samples of 16 bits are scaled down) */
struct blob heic_make(const struct picture *picture, const struct heic_options *options);
/* CRC of a PNG chunk (W3C PNG, annex D). */
uint32_t png_crc(const uint8_t *bytes, size_t count);
/* A TIFF block with orientation and the date of the shot, in either byte order. */
struct blob exif_make(int orientation, const char *date, bool big_endian);

/* Opens from memory; fails the test if that is impossible. */
struct sl_photo *photo_of(struct blob blob, struct sl_warnings *warnings);
/* The whole photo by sl_photo_region. */
struct sl_image whole_of(struct sl_photo *photo);
uint16_t sample_of(const struct sl_image *image, int x, int y, int channel);

/* Where stored column u and row v appear when an image of w x h stored pixels is shown, after the
 * words of Exif 2.32, tag Orientation: which side of the scene row 0 and column 0 are. */
void displayed_at(int orientation, int w, int h, int u, int v, int *ret_x, int *ret_y);

#endif
