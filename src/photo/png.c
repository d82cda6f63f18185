// SPDX-License-Identifier: GPL-3.0-or-later
/* PNG through libpng: palette, grey, 1 to 16 bits, interlaced or not, to RGB of 8 or 16 bits.
 * Alpha is laid over white, on the encoded samples, as picture viewers do. The one place where
 * libpng's jumps are caught. */
#include "photo/decoder.h"

#include <math.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

enum {
    CHUNKS_MAX = 64, /* ancillary chunks kept; more are dropped */
    ERROR_BYTES = 120,
    SIGNATURE_BYTES = 8,
};

struct session {
    png_structp png;
    png_infop info;
    struct sl_photo *photo;
    struct sl_status *status;
    size_t at; /* bytes read so far */
    bool truncated, icc_warned, exif_warned;
    char error[ERROR_BYTES];
    sl_code code; /* decided by the body; 0: fine */
    struct photo_header *header;
    struct sl_image image;
    png_bytep *rows;
};

static void on_read(png_structp png, png_bytep to, size_t count)
{
    struct session *session = png_get_io_ptr(png);
    if (count > session->photo->count - session->at) {
        session->truncated = true;
        png_error(png, "end of file");
    }
    memcpy(to, session->photo->bytes + session->at, count);
    session->at += count;
}

static void on_error(png_structp png, png_const_charp text)
{
    struct session *session = png_get_error_ptr(png);
    strncpy(session->error, text, sizeof session->error - 1);
    longjmp(png_jmpbuf(png), 1);
}

static void on_warning(png_structp png, png_const_charp text)
{
    struct session *session = png_get_error_ptr(png);
    if (strncmp(text, "iCCP", 4) == 0)
        session->icc_warned = true;
    if (strncmp(text, "eXIf", 4) == 0)
        session->exif_warned = true;
}

static void on_row(png_structp png, png_uint_32 row, int pass)
{
    struct session *session = png_get_io_ptr(png);
    (void)row;
    (void)pass;
    session->code = sl_photo_check_cancel(session->photo, session->status);
    if (session->code)
        png_error(png, "cancelled");
}

static sl_code translate(struct session *session)
{
    if (session->code)
        return session->code;
    if (session->truncated)
        return photo_truncated(session->photo, session->status);
    if (strstr(session->error, "emory"))
        return photo_no_memory(session->photo, session->status);
    return photo_damaged(session->photo, session->error, session->status);
}

/* Runs `body` between creation and destruction of the reader; all that it changes lies in the
 * session, out of reach of what a jump may undo. */
static sl_code run(struct session *session, void (*body)(struct session *))
{
    sl_code code = SL_OK;
    session->png = png_create_read_struct(PNG_LIBPNG_VER_STRING, session, on_error, on_warning);
    session->info = session->png ? png_create_info_struct(session->png) : NULL;
    if (!session->info) {
        png_destroy_read_struct(&session->png, NULL, NULL);
        return photo_no_memory(session->photo, session->status);
    }
    if (setjmp(png_jmpbuf(session->png))) {
        code = translate(session);
    } else {
        png_set_read_fn(session->png, session, on_read);
        png_set_chunk_cache_max(session->png, CHUNKS_MAX);
        png_read_info(session->png, session->info);
        body(session);
        code = session->code;
    }
    png_destroy_read_struct(&session->png, &session->info, NULL);
    free(session->rows);
    session->rows = NULL;
    if (code)
        sl_image_finish(&session->image);
    return code;
}

static bool close_to(double a, double b, double tolerance)
{
    return fabs(a - b) <= tolerance;
}

static bool srgb_primaries(const struct colour_encoding *e)
{
    const double TOLERANCE = 0.002; /* writers round */
    bool same = close_to(e->white_xy[0], colour_encoding_srgb.white_xy[0], TOLERANCE) &&
                close_to(e->white_xy[1], colour_encoding_srgb.white_xy[1], TOLERANCE);
    for (int k = 0; k < 3; k++)
        for (int i = 0; i < 2; i++)
            same = same && close_to(e->primaries_xy[k][i], colour_encoding_srgb.primaries_xy[k][i],
                                    TOLERANCE);
    return same;
}

/* gAMA alone stands for the sRGB primaries. Writers of sRGB that leave the sRGB chunk out write
 * 1/2.2 there, as the PNG standard asks them to do beside it: with sRGB's primaries it means sRGB.
 */
static void take_gamma(struct session *session)
{
    struct photo_header *header = session->header;
    struct colour_encoding e = colour_encoding_srgb;
    double file_gamma = 0;
    if (!png_get_gAMA(session->png, session->info, &file_gamma) || !(file_gamma > 0))
        return;
    png_get_cHRM(session->png, session->info, &e.white_xy[0], &e.white_xy[1], &e.primaries_xy[0][0],
                 &e.primaries_xy[0][1], &e.primaries_xy[1][0], &e.primaries_xy[1][1],
                 &e.primaries_xy[2][0], &e.primaries_xy[2][1]);
    if (close_to(file_gamma, 1 / 2.2, 0.002) && srgb_primaries(&e)) {
        header->srgb = true;
        return;
    }
    e.transfer = TRANSFER_GAMMA;
    e.gamma = 1 / file_gamma;
    e.name = "PNG gAMA and cHRM";
    header->encoding = e;
    header->encoded = true;
}

static void take_colour(struct session *session)
{
    struct photo_header *header = session->header;
    char *name = NULL;
    png_bytep icc = NULL;
    png_uint_32 icc_bytes = 0;
    int method = 0, intent = 0;
    if (png_get_iCCP(session->png, session->info, &name, &method, &icc, &icc_bytes)) {
        header->icc = bytes_copy(icc, icc_bytes);
        header->icc_bytes = icc_bytes;
        header->icc_damaged = !header->icc;
    } else if (session->icc_warned) {
        header->icc_damaged = true;
    } else if (png_get_sRGB(session->png, session->info, &intent)) {
        header->srgb = true;
    } else {
        take_gamma(session);
    }
}

static void read_header_body(struct session *session)
{
    struct photo_header *header = session->header;
    png_bytep exif = NULL;
    png_uint_32 exif_bytes = 0;
    header->width = png_get_image_width(session->png, session->info);
    header->height = png_get_image_height(session->png, session->info);
    header->bits = png_get_bit_depth(session->png, session->info) == 16 ? 16 : 8;
    header->grey = !(png_get_color_type(session->png, session->info) & PNG_COLOR_MASK_COLOR);
    take_colour(session);
    if (png_get_eXIf_1(session->png, session->info, &exif_bytes, &exif)) {
        header->exif = bytes_copy(exif, exif_bytes);
        header->exif_bytes = exif_bytes;
    }
    header->exif_damaged = session->exif_warned || (exif_bytes > 0 && !header->exif);
}

static sl_code png_read_all_headers(struct sl_photo *photo, struct photo_header *ret,
                                    struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status, .header = ret};
    return run(&session, read_header_body);
}

static bool little_endian(void)
{
    const uint16_t one = 1;
    return *(const uint8_t *)&one == 1;
}

/* Everything to RGB or RGBA; returns the number of channels. */
static unsigned ask_for_rgb(struct session *session)
{
    png_set_expand(session->png);
    png_set_gray_to_rgb(session->png);
    if (little_endian())
        png_set_swap(session->png);
    png_set_interlace_handling(session->png);
    png_read_update_info(session->png, session->info);
    return png_get_channels(session->png, session->info);
}

static void decode_body(struct session *session)
{
    struct sl_rect size = session->photo->stored;
    unsigned channels = ask_for_rgb(session);
    session->rows = malloc((size_t)size.height * sizeof *session->rows);
    if (!session->rows || !image_alloc(&session->image, size.width, size.height,
                                       session->photo->info.bits, channels)) {
        session->code = photo_no_memory(session->photo, session->status);
        return;
    }
    if (png_get_rowbytes(session->png, session->info) != session->image.stride)
        png_error(session->png, "unexpected row size");
    for (int y = 0; y < size.height; y++)
        session->rows[y] = image_row(&session->image, y);
    png_set_read_status_fn(session->png, on_row);
    png_read_image(session->png, session->rows);
    png_read_end(session->png, NULL);
    if (channels == 4)
        session->code =
            image_lay_over_white(session->photo, &session->image, false, session->status);
}

static sl_code png_decode(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status};
    sl_code code = run(&session, decode_body);
    if (!code)
        *ret = session.image;
    return code;
}

static bool png_matches(const uint8_t *bytes, size_t count)
{
    return count >= 4 &&
           png_sig_cmp(bytes, 0, count < SIGNATURE_BYTES ? count : SIGNATURE_BYTES) == 0;
}

const struct photo_decoder png_decoder = {
    .format = "PNG",
    .matches = png_matches,
    .read_header = png_read_all_headers,
    .decode = png_decode,
};
