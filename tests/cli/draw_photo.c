// SPDX-License-Identifier: GPL-3.0-or-later
/* draw-photo SCENE FILE: draws a plain photo of strips for the end-to-end tests, whose bands are
 * known by arithmetic. The ending of FILE says the format: .jpg .png .tif .heic .ppm, or .cmyk.jpg.
 *
 * 1. Each strip is a sum of Gaussian zones of dye load (K/S) along its axis.
 * 2. Load becomes reflectance by the inverse of Kubelka-Munk, times the paper's.
 * 3. Strip over table with soft edges, noise, sRGB encoding, and the file format's library. */
#include <libheif/heif.h>
#include <math.h>
#include <png.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <tiffio.h>

#include <jpeglib.h> /* after stdio.h, whose names it uses */

enum { WIDTH = 900, HEIGHT = 1200, STRIPS_MAX = 2, JPEG_QUALITY = 92 };

static const double PAPER = 0.86, TABLE = 0.06; /* reflectance */
static const double STRIP_WIDTH = 130, STRIP_LENGTH = 860, TILT_RAD = 0.035;
static const double NOISE = 0.004; /* of linear light */

struct zone {
    double position, below, above; /* fractions of the strip's length; sigmas of its two sides */
    double load[3];                /* K/S at the apex */
};

enum { ZONES = 4 };

/* Origin at 0.18 of the length; what the water carried along ends at the front, at 0.90. */
static const struct zone dipped_at_once[ZONES] = {
    {0.18, 0.006, 0.006, {0.03, 0.03, 0.03}},
    {0.50, 0.022, 0.022, {0.05, 1.1, 0.35}},
    {0.74, 0.024, 0.024, {1.2, 0.4, 0.05}},
    {0.895, 0.03, 0.003, {0.03, 0.12, 0.9}},
};
static const struct zone dried_first[ZONES] = {
    {0.18, 0.006, 0.006, {3, 3, 3}},
    {0.50, 0.022, 0.022, {0.05, 1.1, 0.35}},
    {0.74, 0.024, 0.024, {1.2, 0.4, 0.05}},
    {0.895, 0.03, 0.003, {0.03, 0.12, 0.9}},
};

struct strip {
    const struct zone *zones;  /* ZONES of them; NULL: a blank strip */
    double centre_x, centre_y; /* px */
};

struct scene {
    const char *name;
    double light;   /* of the lamp; 1: paper is just below the encoding's white */
    double blur_px; /* standard deviation */
    size_t strip_count;
    struct strip strip[STRIPS_MAX];
};

static const struct scene scenes[] = {
    {"pair", 0.95, 0.7, 2, {{dipped_at_once, 300, 600}, {dried_first, 600, 600}}},
    {"single", 0.95, 0.7, 1, {{dipped_at_once, 450, 600}}},
    {"dried", 0.95, 0.7, 1, {{dried_first, 450, 600}}},
    {"none", 0.95, 0.7, 0, {{NULL, 0, 0}}},
    {"cut-off", 0.95, 0.7, 1, {{dipped_at_once, 450, 60}}},
    {"dark", 0.004, 0.7, 1, {{dipped_at_once, 450, 600}}},
    {"burnt-out", 60, 0.7, 1, {{dipped_at_once, 450, 600}}},
    {"blurred", 0.95, 45, 1, {{dipped_at_once, 450, 600}}},
    {"blank", 0.95, 0.7, 1, {{NULL, 450, 600}}},
};

static void *get(size_t bytes)
{
    void *memory = calloc(1, bytes);
    if (!memory) {
        fputs("draw-photo: no memory\n", stderr);
        exit(1);
    }
    return memory;
}

/* R = 1 + F - sqrt(F^2 + 2 F); P. Kubelka, F. Munk, Z. tech. Phys. 12 (1931) 593-601. */
static double reflectance(double load)
{
    double f = load + (1 - PAPER) * (1 - PAPER) / (2 * PAPER);
    return 1 + f - sqrt(f * f + 2 * f);
}

static double load_at(const struct strip *strip, double position, int channel)
{
    double load = 0;
    for (size_t i = 0; strip->zones && i < ZONES; i++) {
        const struct zone *zone = &strip->zones[i];
        double u = position - zone->position;
        u /= u < 0 ? zone->below : zone->above;
        load += zone->load[channel] * exp(-u * u / 2);
    }
    return load;
}

static double clamp01(double x)
{
    return x < 0 ? 0 : x > 1 ? 1 : x;
}

/* Reflectance of what lies at a pixel, and how much of it the strip covers. */
static void shade(const struct strip *strip, double x, double y, double ret[3])
{
    double dx = x - strip->centre_x, dy = y - strip->centre_y;
    double across = dx * cos(TILT_RAD) + dy * sin(TILT_RAD);
    double along = -dy * cos(TILT_RAD) + dx * sin(TILT_RAD);
    double cover = clamp01(STRIP_WIDTH / 2 - fabs(across) + 0.5) *
                   clamp01(STRIP_LENGTH / 2 - fabs(along) + 0.5);
    if (cover <= 0)
        return;
    for (int k = 0; k < 3; k++) {
        double r = reflectance(load_at(strip, along / STRIP_LENGTH + 0.5, k));
        ret[k] += cover * (r - ret[k]);
    }
}

static void blur_line(float *at, size_t count, size_t step, double sigma, float *scratch)
{
    /* three box filters come close to a Gaussian of this standard deviation */
    long half = lrint((sqrt(4 * sigma * sigma + 1) - 1) / 2), n = (long)count;
    for (int pass = 0; pass < 3 && half > 0; pass++) {
        for (long i = 0; i < n; i++)
            scratch[i] = at[(size_t)i * step];
        for (long i = 0; i < n; i++) {
            double sum = 0;
            for (long j = i - half; j <= i + half; j++)
                sum += (double)scratch[j < 0 ? 0 : j >= n ? n - 1 : j];
            at[(size_t)i * step] = (float)(sum / (double)(2 * half + 1));
        }
    }
}

static void blur(float *light, double sigma)
{
    float *scratch = get((WIDTH > HEIGHT ? WIDTH : HEIGHT) * sizeof *scratch);
    for (size_t k = 0; k < 3; k++) {
        for (size_t y = 0; y < HEIGHT; y++)
            blur_line(light + y * WIDTH * 3 + k, WIDTH, 3, sigma, scratch);
        for (size_t x = 0; x < WIDTH; x++)
            blur_line(light + x * 3 + k, HEIGHT, (size_t)WIDTH * 3, sigma, scratch);
    }
    free(scratch);
}

/* The same noise on every machine: a linear congruential generator with the constants of Knuth's
 * MMIX, and the sum of twelve as a near-normal deviate. */
static double noise(uint64_t *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 6364136223846793005u + 1442695040888963407u;
        sum += (double)(*state >> 40) / (double)(1u << 24);
    }
    return sum;
}

/* IEC 61966-2-1:1999 */
static uint8_t encode(double linear)
{
    double v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055;
    return (uint8_t)lrint(255 * clamp01(v));
}

static uint8_t *draw(const struct scene *scene)
{
    size_t count = (size_t)WIDTH * HEIGHT * 3;
    float *light = get(count * sizeof *light);
    uint8_t *rgb = get(count);
    uint64_t state = 1;
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            double r[3] = {TABLE * 1.2, TABLE, TABLE * 0.8};
            for (size_t i = 0; i < scene->strip_count; i++)
                shade(&scene->strip[i], x, y, r);
            for (int k = 0; k < 3; k++)
                light[((size_t)y * WIDTH + (size_t)x) * 3 + (size_t)k] = (float)r[k];
        }
    blur(light, scene->blur_px);
    for (size_t i = 0; i < count; i++)
        rgb[i] = encode(scene->light * (double)light[i] + NOISE * noise(&state));
    free(light);
    return rgb;
}

static bool write_jpeg(const char *path, uint8_t *rgb, bool cmyk)
{
    struct jpeg_compress_struct c;
    struct jpeg_error_mgr errors;
    FILE *file = fopen(path, "wb");
    if (!file)
        return false;
    c.err = jpeg_std_error(&errors);
    jpeg_create_compress(&c);
    jpeg_stdio_dest(&c, file);
    c.image_width = WIDTH;
    c.image_height = HEIGHT;
    c.input_components = cmyk ? 4 : 3;
    c.in_color_space = cmyk ? JCS_CMYK : JCS_RGB;
    jpeg_set_defaults(&c);
    jpeg_set_quality(&c, JPEG_QUALITY, TRUE);
    jpeg_start_compress(&c, TRUE);
    uint8_t line[WIDTH * 4] = {0};
    while (c.next_scanline < HEIGHT) {
        JSAMPROW row = cmyk ? line : rgb + (size_t)c.next_scanline * WIDTH * 3;
        jpeg_write_scanlines(&c, &row, 1);
    }
    jpeg_finish_compress(&c);
    jpeg_destroy_compress(&c);
    return fclose(file) == 0;
}

static bool write_png(const char *path, const uint8_t *rgb)
{
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = WIDTH, .height = HEIGHT, .format = PNG_FORMAT_RGB};
    return png_image_write_to_file(&image, path, 0, rgb, 0, NULL) != 0;
}

static bool write_tiff(const char *path, uint8_t *rgb)
{
    TIFF *tiff = TIFFOpen(path, "w");
    if (!tiff)
        return false;
    bool well = TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, WIDTH) &&
                TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, HEIGHT) &&
                TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8) &&
                TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3) &&
                TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB) &&
                TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG) &&
                TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_LZW) &&
                TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 64);
    for (uint32_t y = 0; well && y < HEIGHT; y++)
        well = TIFFWriteScanline(tiff, rgb + (size_t)y * WIDTH * 3, y, 0) == 1;
    TIFFClose(tiff);
    return well;
}

static bool encode_heic(struct heif_context *context, struct heif_image *image)
{
    struct heif_encoder *encoder = NULL;
    bool well =
        heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder).code == 0;
    if (well) {
        heif_encoder_set_lossy_quality(encoder, 85);
        well = heif_context_encode_image(context, image, encoder, NULL, NULL).code == 0;
    }
    heif_encoder_release(encoder);
    return well;
}

static bool write_heic(const char *path, const uint8_t *rgb)
{
    struct heif_context *context = heif_context_alloc();
    struct heif_image *image = NULL;
    bool well =
        heif_image_create(WIDTH, HEIGHT, heif_colorspace_RGB, heif_chroma_interleaved_RGB, &image)
                .code == 0 &&
        heif_image_add_plane(image, heif_channel_interleaved, WIDTH, HEIGHT, 8).code == 0;
    int stride = 0;
    uint8_t *plane = well ? heif_image_get_plane(image, heif_channel_interleaved, &stride) : NULL;
    for (size_t y = 0; plane && y < HEIGHT; y++)
        memcpy(plane + y * (size_t)stride, rgb + y * WIDTH * 3, (size_t)WIDTH * 3);
    well =
        plane && encode_heic(context, image) && heif_context_write_to_file(context, path).code == 0;
    heif_image_release(image);
    heif_context_free(context);
    return well;
}

/* Plain pixels, for a test that stores them in a way of its own. */
static bool write_ppm(const char *path, const uint8_t *rgb)
{
    FILE *file = fopen(path, "wb");
    if (!file)
        return false;
    fprintf(file, "P6\n%d %d\n255\n", WIDTH, HEIGHT);
    fwrite(rgb, 3, (size_t)WIDTH * HEIGHT, file);
    bool well = !ferror(file);
    return fclose(file) == 0 && well;
}

static bool ends_with(const char *text, const char *end)
{
    size_t n = strlen(text), m = strlen(end);
    return n >= m && strcmp(text + n - m, end) == 0;
}

static bool write_photo(const char *path, uint8_t *rgb)
{
    if (ends_with(path, ".jpg"))
        return write_jpeg(path, rgb, ends_with(path, ".cmyk.jpg"));
    if (ends_with(path, ".png"))
        return write_png(path, rgb);
    if (ends_with(path, ".tif"))
        return write_tiff(path, rgb);
    if (ends_with(path, ".ppm"))
        return write_ppm(path, rgb);
    return ends_with(path, ".heic") && write_heic(path, rgb);
}

int main(int argc, char **argv)
{
    if (argc == 3)
        for (size_t i = 0; i < sizeof scenes / sizeof *scenes; i++)
            if (strcmp(argv[1], scenes[i].name) == 0) {
                uint8_t *rgb = draw(&scenes[i]);
                bool well = write_photo(argv[2], rgb);
                free(rgb);
                if (!well)
                    fprintf(stderr, "draw-photo: %s can't be written\n", argv[2]);
                return well ? 0 : 1;
            }
    fputs("usage: draw-photo SCENE FILE\n", stderr);
    return 64;
}
