// SPDX-License-Identifier: GPL-3.0-or-later
#include "figure/png.h"

#include <glib.h>
#include <png.h>
#include <setjmp.h>
#include <stdlib.h>

/* Low and without filter: a third of the time of the defaults for a tenth more bytes. */
enum { COMPRESSION_LEVEL = 3 };
#define METRES_PER_INCH 0.0254

static void write_bytes(png_structp png, png_bytep bytes, png_size_t count)
{
    if (fwrite(bytes, 1, count, png_get_io_ptr(png)) != count)
        png_error(png, "write");
}

static void flush_bytes(png_structp png)
{
    (void)png;
}

static void write_header(png_structp png, png_infop info, int width, int height,
                         double dots_per_inch, const char *title)
{
    png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, 8, PNG_COLOR_TYPE_RGB,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_set_sRGB(png, info, PNG_sRGB_INTENT_RELATIVE);
    if (dots_per_inch > 0) {
        png_uint_32 per_metre = (png_uint_32)(dots_per_inch / METRES_PER_INCH + 0.5);
        png_set_pHYs(png, info, per_metre, per_metre, PNG_RESOLUTION_METER);
    }
    if (title && *title) {
        char key[] = "Title";
        png_text text = {.compression = PNG_ITXT_COMPRESSION_NONE, .key = key};
        text.text = (char *)(uintptr_t)title; /* libpng only reads it */
        png_set_text(png, info, &text, 1);
    }
    png_set_compression_level(png, COMPRESSION_LEVEL);
    png_set_filter(png, 0, PNG_FILTER_NONE);
    png_write_info(png, info);
}

sl_code png_write(FILE *out, const uint8_t *rgb, int width, int height, double dots_per_inch,
                  const char *title, struct sl_status *status)
{
    png_infop info = NULL;
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    if (png)
        info = png_create_info_struct(png);
    if (!info || setjmp(png_jmpbuf(png))) { /* libpng's only way to report */
        png_destroy_write_struct(&png, &info);
        return sl_status_set(status, SL_E_MEMORY, "figure/png", "Close other programs.",
                             "There is not enough memory for a PNG of %d x %d pixels.", width,
                             height);
    }
    png_set_write_fn(png, out, write_bytes, flush_bytes);
    write_header(png, info, width, height, dots_per_inch, title);
    for (int y = 0; y < height; y++)
        png_write_row(png, rgb + (size_t)y * (size_t)width * 3);
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    return SL_OK;
}

sl_code sl_picture_png(const struct sl_picture *picture, void **ret, size_t *ret_bytes,
                       struct sl_status *status)
{
    static const char remedy[] = "Close other programs.";
    char *bytes = NULL;
    size_t count = 0;
    FILE *out = open_memstream(&bytes, &count);
    if (!out)
        return sl_status_set(status, SL_E_MEMORY, "figure/png", remedy,
                             "There is not enough memory for the strip's picture.");
    sl_code code = png_write(out, picture->rgb, picture->width, picture->height, 0, NULL, status);
    if (fclose(out) != 0 && code == SL_OK)
        code = sl_status_set(status, SL_E_MEMORY, "figure/png", remedy,
                             "There is not enough memory for the strip's picture.");
    if (code != SL_OK) {
        free(bytes);
        return code;
    }
    *ret = bytes;
    *ret_bytes = count;
    return SL_OK;
}

sl_code png_base64(const struct sl_picture *picture, char **ret, struct sl_status *status)
{
    void *bytes = NULL;
    size_t count = 0;
    sl_code code = sl_picture_png(picture, &bytes, &count, status);
    if (code == SL_OK)
        *ret = g_base64_encode(bytes, count);
    free(bytes);
    return code;
}
