// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. The outline gives a map from paper to photo (sheet_map).
 * 2. One region of the photo around the strip is read at full resolution, as encoded.
 * 3. Some rows of the sheet at a time: the part of the region under them is turned into linear
 *    light, and each cell averages points spread evenly over it, about one a photo pixel.
 * 4. Two threads share the rows. */
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "strip/sheet_map.h"

enum {
    ROWS_MAX = 1500, /* a line of 0.7 mm on a 100 mm strip still has 10 rows */
    ROWS_MIN = 100,
    COLUMNS_MAX = 160,
    COLUMNS_MIN = 16,
    LENGTH_MIN_PX = 80, /* a line of 1 mm on a strip of 80 mm is one pixel there */
    WIDTH_MIN_PX = 12,
    TILE_ROWS = 96,
    POINTS_MAX = 12, /* points a cell in each direction */
};
#define CLIPPED_PART 0.25 /* of a cell's points, from here on the cell counts as clipped */

struct tile {
    int x, y, width, height; /* px within the image */
    size_t room;             /* pixels that `rgb` and `clipped` can hold */
    float *rgb;
    uint8_t *clipped;
};

struct sampler {
    const struct sl_sheet_map *map;
    const struct sl_image *image;
    int points_along, points_across;
    struct tile tile;
};

/* The image's pixels under rows `from`..`to`, found along the outline of that part. */
static struct sl_rect tile_rect(const struct sampler *s, const struct sl_sheet *sheet, int from,
                                int to)
{
    double x0 = 1e30, y0 = 1e30, x1 = -1e30, y1 = -1e30;
    enum { STEPS = 16 };
    for (int k = 0; k <= STEPS; k++) {
        double along = (from + (double)k * (to - from) / STEPS) / sheet->rows;
        double across = (double)k / STEPS;
        struct sl_point p[4] = {sl_sheet_map_point(s->map, 0, along),
                                sl_sheet_map_point(s->map, 1, along),
                                sl_sheet_map_point(s->map, across, (double)from / sheet->rows),
                                sl_sheet_map_point(s->map, across, (double)to / sheet->rows)};
        for (int i = 0; i < 4; i++) {
            x0 = fmin(x0, p[i].x), x1 = fmax(x1, p[i].x);
            y0 = fmin(y0, p[i].y), y1 = fmax(y1, p[i].y);
        }
    }
    const struct sl_image *image = s->image;
    double left = fmin(fmax(floor(x0 - image->x0) - 2, 0), image->width);
    double top = fmin(fmax(floor(y0 - image->y0) - 2, 0), image->height);
    double right = fmin(fmax(ceil(x1 - image->x0) + 3, 0), image->width);
    double bottom = fmin(fmax(ceil(y1 - image->y0) + 3, 0), image->height);
    return (struct sl_rect){(int)left, (int)top, (int)(right - left), (int)(bottom - top)};
}

static bool at_upper_end(const struct sl_image *image, const void *samples, int i)
{
    /* one level below the end counts too: JPEG moves clipped levels by one */
    if (image->bits == 16) {
        const uint16_t *s = (const uint16_t *)samples + 3 * i;
        return s[0] >= 65279 || s[1] >= 65279 || s[2] >= 65279;
    }
    const uint8_t *s = (const uint8_t *)samples + 3 * i;
    return s[0] >= 254 || s[1] >= 254 || s[2] >= 254;
}

static bool tile_fill(struct sampler *s, struct sl_rect rect)
{
    struct tile *tile = &s->tile;
    size_t pixels = (size_t)rect.width * (size_t)rect.height;
    if (pixels > tile->room) {
        free(tile->rgb);
        free(tile->clipped);
        tile->room = 0;
        tile->rgb = calloc(pixels, 3 * sizeof *tile->rgb);
        tile->clipped = calloc(pixels, 1);
        if (tile->rgb == NULL || tile->clipped == NULL)
            return false;
        tile->room = pixels;
    }
    tile->x = rect.x, tile->y = rect.y, tile->width = rect.width, tile->height = rect.height;
    size_t bytes = s->image->bits == 16 ? 6 : 3;
    for (int y = 0; y < rect.height; y++) {
        const char *samples = (const char *)s->image->pixels +
                              (size_t)(rect.y + y) * s->image->stride + (size_t)rect.x * bytes;
        size_t at = (size_t)y * (size_t)rect.width;
        sl_colour_to_linear(s->image->colour, samples, s->image->bits, (size_t)rect.width,
                            tile->rgb + 3 * at);
        for (int x = 0; x < rect.width; x++)
            tile->clipped[at + (size_t)x] = at_upper_end(s->image, samples, x);
    }
    return true;
}

/* Bilinear in linear light; x, y in px of the tile. False outside the photo. */
static bool sample(const struct tile *tile, double x, double y, float rgb[3], int *clipped)
{
    /* half a pixel beyond the outermost centres is still the photo */
    if (!(x >= -0.5 && y >= -0.5 && x <= tile->width - 0.5 && y <= tile->height - 0.5))
        return false;
    int i = (int)(x + 1) - 1, j = (int)(y + 1) - 1; /* floor, as both are above -1 */
    int i1 = i + 1 < tile->width ? i + 1 : tile->width - 1, i0 = i < 0 ? 0 : i;
    int j1 = j + 1 < tile->height ? j + 1 : tile->height - 1, j0 = j < 0 ? 0 : j;
    float a = (float)(x - i), b = (float)(y - j);
    size_t upper = (size_t)j0 * (size_t)tile->width, lower = (size_t)j1 * (size_t)tile->width;
    const float *p00 = tile->rgb + 3 * (upper + (size_t)i0);
    const float *p01 = tile->rgb + 3 * (upper + (size_t)i1);
    const float *p10 = tile->rgb + 3 * (lower + (size_t)i0);
    const float *p11 = tile->rgb + 3 * (lower + (size_t)i1);
    for (int c = 0; c < 3; c++)
        rgb[c] += (1 - b) * ((1 - a) * p00[c] + a * p01[c]) + b * ((1 - a) * p10[c] + a * p11[c]);
    *clipped += tile->clipped[(b < 0.5F ? upper : lower) + (size_t)(a < 0.5F ? i0 : i1)];
    return true;
}

static void fill_cell(const struct sampler *s, struct sl_sheet *sheet,
                      const struct sl_sheet_line *lines, int row, int column)
{
    float rgb[3] = {0, 0, 0}; /* sums of at most POINTS_MAX^2 values of about 1: float is enough */
    int points = s->points_along * s->points_across, seen = 0, clipped = 0;
    double x0 = s->image->x0 + s->tile.x, y0 = s->image->y0 + s->tile.y;
    for (int j = 0; j < s->points_across; j++) {
        double u = (column + (j + 0.5) / s->points_across) / sheet->columns;
        for (int i = 0; i < s->points_along; i++) {
            struct sl_point p = sl_sheet_line_point(&lines[i], u);
            seen += sample(&s->tile, p.x - x0, p.y - y0, rgb, &clipped);
        }
    }
    size_t cell = (size_t)row * (size_t)sheet->columns + (size_t)column;
    for (int c = 0; c < 3; c++)
        sheet->rgb[3 * cell + (size_t)c] = seen > 0 ? rgb[c] / (float)seen : 0;
    if (clipped > CLIPPED_PART * points)
        sheet->flags[cell] |= SL_CELL_CLIPPED;
    if (2 * seen < points)
        sheet->flags[cell] |= SL_CELL_HIDDEN;
}

static void fill_row(const struct sampler *s, struct sl_sheet *sheet, int row)
{
    struct sl_sheet_line lines[POINTS_MAX];
    for (int i = 0; i < s->points_along; i++)
        lines[i] = sl_sheet_map_line(s->map, (row + (i + 0.5) / s->points_along) / sheet->rows);
    for (int column = 0; column < sheet->columns; column++)
        fill_cell(s, sheet, lines, row, column);
}

/* Rows of a sheet for one thread, with a tile of its own. */
struct part {
    struct sampler sampler;
    struct sl_sheet *sheet;
    int from, to;
    bool filled;
};

static void *fill_part(void *context)
{
    struct part *part = context;
    part->filled = true;
    for (int from = part->from; part->filled && from < part->to; from += TILE_ROWS) {
        int to = from + TILE_ROWS < part->to ? from + TILE_ROWS : part->to;
        part->filled = tile_fill(&part->sampler, tile_rect(&part->sampler, part->sheet, from, to));
        for (int row = from; part->filled && row < to; row++)
            fill_row(&part->sampler, part->sheet, row);
    }
    free(part->sampler.tile.rgb);
    free(part->sampler.tile.clipped);
    return NULL;
}

/* Half of it in a second thread: someone may be waiting with a finger on a corner. Tiles are the
 * same as in one, and so is each cell. */
static bool fill_sheet(const struct sampler *s, struct sl_sheet *sheet)
{
    int middle = sheet->rows / 2 / TILE_ROWS * TILE_ROWS;
    struct part lower = {*s, sheet, 0, middle, false},
                upper = {*s, sheet, middle, sheet->rows, false};
    pthread_t thread;
    bool apart = pthread_create(&thread, NULL, fill_part, &upper) == 0;
    fill_part(&lower);
    if (apart)
        pthread_join(thread, NULL);
    else
        fill_part(&upper);
    return lower.filled && upper.filled;
}

static void hide_rows(struct sl_sheet *sheet, const struct sl_outline *outline)
{
    if (!isfinite(outline->hidden_from) || !isfinite(outline->hidden_to))
        return;
    for (int row = 0; row < sheet->rows; row++) {
        double v = (row + 0.5) / sheet->rows;
        if (v < outline->hidden_from || v > outline->hidden_to)
            continue;
        for (int column = 0; column < sheet->columns; column++)
            sheet->flags[(size_t)row * (size_t)sheet->columns + (size_t)column] |= SL_CELL_HIDDEN;
    }
}

static int clamp_int(double value, int low, int high)
{
    return value < low ? low : value > high ? high : (int)lround(value);
}

static struct sl_rect bounds(const struct sl_outline *outline)
{
    double x0 = 1e30, y0 = 1e30, x1 = -1e30, y1 = -1e30;
    const struct sl_point *sets[3] = {outline->corner_px, outline->left_px, outline->right_px};
    const int counts[3] = {4, SL_EDGE_POINTS, SL_EDGE_POINTS};
    for (int set = 0; set < 3; set++)
        for (int i = 0; i < counts[set]; i++) {
            struct sl_point p = sets[set][i];
            x0 = fmin(x0, p.x), x1 = fmax(x1, p.x), y0 = fmin(y0, p.y), y1 = fmax(y1, p.y);
        }
    x0 = fmax(x0, -1e6), y0 = fmax(y0, -1e6), x1 = fmin(x1, 1e6), y1 = fmin(y1, 1e6);
    int x = (int)floor(x0) - 3, y = (int)floor(y0) - 3;
    return (struct sl_rect){x, y, (int)ceil(x1) + 4 - x, (int)ceil(y1) + 4 - y};
}

static bool allocate(struct sl_sheet *sheet)
{
    size_t cells = (size_t)sheet->rows * (size_t)sheet->columns; /* bounded by the enums above */
    sheet->rgb = calloc(cells, 3 * sizeof *sheet->rgb);
    sheet->flags = calloc(cells, 1);
    sheet->paper = calloc((size_t)sheet->rows, 3 * sizeof *sheet->paper);
    return sheet->rgb != NULL && sheet->flags != NULL && sheet->paper != NULL;
}

sl_code sl_sheet_straighten(struct sl_photo *photo, const struct sl_outline *outline,
                            struct sl_sheet *ret, struct sl_status *status)
{
    static const char where[] = "strip/sheet";
    struct sl_sheet_map map;
    if (!sl_sheet_map_init(&map, outline))
        return sl_status_set(status, SL_E_RANGE, where,
                             "Give the corners in the order lower left, lower right, upper right, "
                             "upper left.",
                             "The four corners of the strip enclose no area.");
    if (map.length_px < LENGTH_MIN_PX || map.width_px < WIDTH_MIN_PX)
        return sl_status_set(status, SL_E_TOO_SMALL, where,
                             "Photograph the strip from nearer, so that it fills the frame.",
                             "The strip is only %.0f x %.0f px in the photo; at least %d x %d are "
                             "needed.",
                             map.width_px, map.length_px, WIDTH_MIN_PX, LENGTH_MIN_PX);
    struct sl_sheet sheet = {.rows = clamp_int(map.length_px, ROWS_MIN, ROWS_MAX),
                             .columns = clamp_int(map.width_px / 2, COLUMNS_MIN, COLUMNS_MAX)};
    sheet.px_per_row = map.length_px / sheet.rows;
    sheet.px_per_column = map.width_px / sheet.columns;
    sheet.chroma_step = sl_photo_info(photo)->chroma_step;
    struct sl_image image = {0};
    struct sampler sampler = {
        .map = &map,
        .image = &image,
        .points_along = clamp_int(ceil(sheet.px_per_row - 0.1), 1, POINTS_MAX),
        .points_across = clamp_int(ceil(sheet.px_per_column - 0.1), 1, POINTS_MAX)};
    sl_code code = sl_photo_region(photo, bounds(outline), &image, status);
    if (code != SL_OK)
        goto done;
    if (!allocate(&sheet) || !fill_sheet(&sampler, &sheet)) {
        code = sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                             "There is not enough memory for a strip of %d x %d cells.",
                             sheet.columns, sheet.rows);
        goto done;
    }
    hide_rows(&sheet, outline);
    *ret = sheet;
    sheet = (struct sl_sheet){0};
done:
    sl_image_finish(&image);
    sl_sheet_finish(&sheet);
    return code;
}

void sl_sheet_finish(struct sl_sheet *sheet)
{
    if (sheet == NULL)
        return;
    free(sheet->rgb);
    free(sheet->flags);
    free(sheet->paper);
    *sheet = (struct sl_sheet){0};
}
