// SPDX-License-Identifier: GPL-3.0-or-later
/* Versions of the libraries that a reading rests on, asked for at run time where they tell. */
#include "report_internal.h"

#include <cairo.h>
#include <gsl/gsl_version.h>
#include <jansson.h>
#include <lcms2.h>
#include <libheif/heif.h>
#include <pango/pango.h>
#include <png.h>
#include <stdio.h>
#include <string.h>
#include <tiffio.h>

#include <jpeglib.h>

#define QUOTE(x) #x
#define QUOTE_VALUE(x) QUOTE(x)

/* libjpeg has no call for its version: the one that it was built against. */
static void libjpeg(char *to, size_t size)
{
#ifdef LIBJPEG_TURBO_VERSION
    snprintf(to, size, "%s", QUOTE_VALUE(LIBJPEG_TURBO_VERSION));
#else
    snprintf(to, size, "%d", JPEG_LIB_VERSION);
#endif
}

static void lcms2(char *to, size_t size)
{
    int version = cmsGetEncodedCMMversion(); /* 2140 is 2.14 */
    snprintf(to, size, "%d.%d", version / 1000, version % 1000 / 10);
}

/* "LIBTIFF, Version 4.5.0", then a copyright. */
static void libtiff(char *to, size_t size)
{
    const char *text = TIFFGetVersion(), *number = strpbrk(text, "0123456789");
    number = number ? number : text;
    snprintf(to, size, "%.*s", (int)strcspn(number, "\r\n"), number);
}

static void gsl(char *to, size_t size)
{
    snprintf(to, size, "%s", gsl_version);
}

static void libpng(char *to, size_t size)
{
    snprintf(to, size, "%s", png_get_libpng_ver(NULL));
}

static void libheif(char *to, size_t size)
{
    snprintf(to, size, "%s", heif_get_version());
}

static void cairo(char *to, size_t size)
{
    snprintf(to, size, "%s", cairo_version_string());
}

static void pango(char *to, size_t size)
{
    snprintf(to, size, "%s", pango_version_string());
}

static void jansson(char *to, size_t size)
{
    snprintf(to, size, "%s", jansson_version_str());
}

static const struct {
    const char *name;
    void (*version)(char *to, size_t size);
} libraries[] = {
    {"libjpeg", libjpeg}, {"libpng", libpng}, {"libheif", libheif},
    {"libtiff", libtiff}, {"lcms2", lcms2},   {"gsl", gsl},
    {"cairo", cairo},     {"pango", pango},   {"jansson", jansson},
};

bool sl_library_version(size_t index, struct sl_library_version *ret)
{
    if (index >= sizeof libraries / sizeof *libraries)
        return false;
    ret->name = libraries[index].name;
    libraries[index].version(ret->version, sizeof ret->version);
    return true;
}
