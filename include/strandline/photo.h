// SPDX-License-Identifier: GPL-3.0-or-later
/* Photos: JPEG, PNG, HEIC and TIFF, recognised by content, in the right way up, looked at small or
 * read at full resolution one region at a time.
 *
 * Coordinates are of the photo as a person sees it: (0, 0) is the centre of the top left pixel,
 * x to the right, y down; rectangles have their start in and their end out.
 * Ownership: sl_photo is opaque (open/close); sl_image owns its pixels (finish). An image borrows
 * the photo's colour and must not outlive the photo. */
#ifndef STRANDLINE_PHOTO_H
#define STRANDLINE_PHOTO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "strandline/colour.h"
#include "strandline/status.h"

enum {
    SL_PHOTO_SIDE_MAX = 30000,           /* px, width or height */
    SL_PHOTO_PIXELS_MAX = 200 * 1000000, /* px, width x height */
    SL_PHOTO_SAMPLES_MAX = 5,            /* a pixel in a TIFF: red, green, blue, alpha and a mask */
    SL_PHOTO_FILE_BYTES_MAX = 512 * 1024 * 1024,
    SL_EXIF_BYTES_MAX = 1024 * 1024,
    SL_PHOTO_NAME_MAX = 256,
};

struct sl_photo;

struct sl_photo_info {
    char file[SL_PHOTO_NAME_MAX]; /* as given */
    char sha256[65];              /* of the file's bytes, lower-case hex */
    const char *format;           /* "JPEG", "PNG", "HEIC", "TIFF" */
    int width_px, height_px;      /* as displayed */
    int orientation;    /* EXIF 1..8 as applied (1 for HEIC, whose transforms are its own) */
    unsigned bits;      /* per channel in sl_image: 8 or 16 */
    double chroma_step; /* levels of 8 bits to which JPEG rounds an even patch's Cb and Cr; 0: it
                           does not, or not by a known step */
    char colour_profile[96]; /* description, or "sRGB (assumed)" */
    char date[20];           /* from EXIF, "YYYY-MM-DD HH:MM:SS", or empty */
};

struct sl_rect {
    int x, y, width, height; /* px of the displayed photo */
};

/* Interleaved R, G, B samples as encoded in the file, already the right way up. Alpha is laid over
 * white on the encoded samples, as picture viewers do; grey is given three times.
 * Pixel (i, j) of the image shows the displayed photo around
 * x = x0 + (i + 0.5) * scale - 0.5, y = y0 + (j + 0.5) * scale - 0.5. */
struct sl_image {
    int width, height;
    double x0, y0; /* px of the displayed photo */
    double scale;  /* displayed px per image px, >= 1 */
    unsigned bits; /* 8 or 16 (native order) */
    size_t stride; /* bytes from row to row */
    void *pixels;
    const struct sl_colour *colour; /* borrowed from the photo */
};

/* Reads and checks the header and keeps the file's bytes; decodes no pixels. Warnings: no profile,
 * damaged profile, damaged EXIF. Errors: SL_E_NO_FILE, _NOT_A_FILE, _EMPTY_FILE, _READ, _FORMAT,
 * _TRUNCATED, _DAMAGED, _TOO_LARGE, _COLOUR_MODEL, _MEMORY. */
SL_API sl_code sl_photo_open(const char *path, struct sl_photo **ret, struct sl_warnings *warnings,
                             struct sl_status *status);
/* The same with another name than the path's in messages and information. */
SL_API sl_code sl_photo_open_named(const char *path, const char *name, struct sl_photo **ret,
                                   struct sl_warnings *warnings, struct sl_status *status);
/* The same from memory (copied); `name` is used in messages. */
SL_API sl_code sl_photo_open_memory(const void *bytes, size_t count, const char *name,
                                    struct sl_photo **ret, struct sl_warnings *warnings,
                                    struct sl_status *status);
SL_API void sl_photo_close(struct sl_photo *photo);

/* From now on all work on the photo's pixels ends with SL_E_CANCELLED soon after `cancel` has said
 * so: looks, regions, and finding and reading strips, which take a photo. "Soon" is a row or a tile
 * of a TIFF, a row of a PNG or JPEG; of HEIC it is a tile of those that a picture is made of, and a
 * picture that is all one tile is decoded to its end. */
SL_API void sl_photo_set_cancel(struct sl_photo *photo, struct sl_cancel cancel);
/* SL_OK, or SL_E_CANCELLED: asked by whoever works on the photo for long. */
SL_API sl_code sl_photo_check_cancel(const struct sl_photo *photo, struct sl_status *status);

SL_API const struct sl_photo_info *sl_photo_info(const struct sl_photo *photo);

/* Looks and regions decode anew from a baseline JPEG. Any other photo is decoded whole on the first
 * of them and kept until the photo is closed: 3 or 6 bytes a pixel. A file that turns out to end
 * too early or to be damaged gives no pixels at all: filler could pass for dye. */

/* The whole photo at a reduced scale: the longer side becomes at least `side_px` where the photo
 * has that, at most twice that. Cheap for JPEG (DCT scaling), box means elsewhere. */
SL_API sl_code sl_photo_look(struct sl_photo *photo, int side_px, struct sl_image *ret,
                             struct sl_status *status);

/* Decodes all pixels and keeps them (3 or 6 bytes each) until the photo is closed: regions are cut
 * out of them from then on. */
SL_API sl_code sl_photo_keep_pixels(struct sl_photo *photo, struct sl_status *status);

/* A region at full resolution (scale 1); the rectangle is clipped to the photo, read x0, y0, width
 * and height back. */
SL_API sl_code sl_photo_region(struct sl_photo *photo, struct sl_rect rect, struct sl_image *ret,
                               struct sl_status *status);
SL_API void sl_image_finish(struct sl_image *image);

/* Row `y` of the image as linear light, width x 3 floats. */
SL_API void sl_image_row_linear(const struct sl_image *image, int y, float *ret_rgb_linear);

#endif
