// SPDX-License-Identifier: GPL-3.0-or-later
/* The reduced picture that strips are searched in.
 * 1. Box means of linear light over whole look pixels.
 * 2. Square root (photon noise becomes even), then lightness and two opponent colours.
 * 3. A binomial filter over 5 x 5 pixels.
 * 4. Noise: from the median of the gradient. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char where[] = "strip/find";
static const double BURNT = 0.995;      /* linear light that counts as the encoding's upper end */
static const double NOISE_FLOOR = 4e-4; /* a fifth of an 8-bit step at middle grey */
enum { LIGHT_BINS = 1024, NOISE_BINS = 4096 };

struct exposure {
    size_t bins[LIGHT_BINS];
    size_t burnt, count;
    double sum;
};

static void exposure_add(struct exposure *e, const float rgb[3])
{
    double mean = (rgb[0] + rgb[1] + rgb[2]) / 3.0;
    int bin = (int)(mean * LIGHT_BINS);
    e->bins[bin < 0 ? 0 : bin >= LIGHT_BINS ? LIGHT_BINS - 1 : bin]++;
    e->sum += mean;
    e->count++;
    if (rgb[0] >= BURNT && rgb[1] >= BURNT && rgb[2] >= BURNT)
        e->burnt++;
}

static void exposure_read(const struct exposure *e, struct find_picture *picture)
{
    size_t left = e->count / 100;
    int bin = LIGHT_BINS - 1;
    while (bin > 0 && e->bins[bin] <= left)
        left -= e->bins[bin--];
    picture->light_high = (bin + 1.0) / LIGHT_BINS;
    picture->light_mean = e->sum / (double)e->count;
    picture->burnt_fraction = (double)e->burnt / (double)e->count;
}

static void apply(const struct find_colour_map *map, float rgb[3])
{
    const float in[3] = {rgb[0], rgb[1], rgb[2]};
    for (int c = 0; c < 3; c++)
        rgb[c] = map->m[c][0] * in[0] + map->m[c][1] * in[1] + map->m[c][2] * in[2];
}

static void encode(const float rgb[3], float ret[FIND_PLANES])
{
    float r = sqrtf(fmaxf(rgb[0], 0)), g = sqrtf(fmaxf(rgb[1], 0)), b = sqrtf(fmaxf(rgb[2], 0));
    ret[0] = 0.25f * (r + 2 * g + b);
    ret[1] = r - g;
    ret[2] = 0.5f * (r + g) - b;
}

/* Rows y * k .. of the look, averaged into one row of the picture. */
static void reduce_row(const struct sl_image *look, const struct find_colour_map *map, int k, int y,
                       float *line, float *sum, struct find_picture *picture, struct exposure *e)
{
    int w = picture->width;
    memset(sum, 0, (size_t)w * 3 * sizeof *sum);
    for (int j = 0; j < k; j++) {
        sl_image_row_linear(look, y * k + j, line);
        const float *from = line;
        for (int x = 0; x < w; x++)
            for (int i = 0; i < k; i++, from += 3)
                for (int c = 0; c < 3; c++)
                    sum[x * 3 + c] += from[c];
    }
    float norm = 1.0f / (float)(k * k);
    for (int x = 0; x < w; x++) {
        float rgb[3] = {sum[x * 3] * norm, sum[x * 3 + 1] * norm, sum[x * 3 + 2] * norm};
        float v[FIND_PLANES];
        exposure_add(e, rgb);
        if (map)
            apply(map, rgb);
        encode(rgb, v);
        for (int c = 0; c < FIND_PLANES; c++)
            picture->plane[c][(size_t)y * (size_t)w + (size_t)x] = v[c];
    }
}

static void smooth_line(const float *in, float *out, int n)
{
    for (int i = 0; i < n; i++) {
        int a = i >= 2 ? i - 2 : 0, b = i >= 1 ? i - 1 : 0;
        int c = i + 1 < n ? i + 1 : n - 1, d = i + 2 < n ? i + 2 : n - 1;
        out[i] = (in[a] + in[d] + 4 * (in[b] + in[c]) + 6 * in[i]) * (1.0f / 16);
    }
}

/* `rows` holds five rows; the vertical pass keeps the originals of those already overwritten. */
static void smooth_plane(float *plane, int w, int h, float *rows)
{
    size_t stride = (size_t)w;
    for (int y = 0; y < h; y++) {
        memcpy(rows, plane + (size_t)y * stride, stride * sizeof *rows);
        smooth_line(rows, plane + (size_t)y * stride, w);
    }
    float *above2 = rows, *above1 = rows + stride, *here = rows + 2 * stride;
    memcpy(above2, plane, stride * sizeof *rows);
    memcpy(above1, plane, stride * sizeof *rows);
    for (int y = 0; y < h; y++) {
        float *row = plane + (size_t)y * stride;
        const float *below1 = plane + (size_t)(y + 1 < h ? y + 1 : h - 1) * stride;
        const float *below2 = plane + (size_t)(y + 2 < h ? y + 2 : h - 1) * stride;
        memcpy(here, row, stride * sizeof *rows);
        for (size_t x = 0; x < stride; x++) {
            float b1 = y + 1 < h ? below1[x] : here[x], b2 = y + 2 < h ? below2[x] : b1;
            row[x] = (above2[x] + b2 + 4 * (above1[x] + b1) + 6 * here[x]) * (1.0f / 16);
        }
        float *spare = above2;
        above2 = above1;
        above1 = here;
        here = spare;
    }
}

/* The gradient's median over the whole picture: sensor noise on an even table, the texture on a
 * rough one. For independent normal components it is sqrt(2 ln 2) standard deviations. */
static double plane_noise(const float *plane, int w, int h)
{
    static const double BIN = 1e-4;
    size_t bins[NOISE_BINS] = {0}, count = 0, below = 0;
    for (int y = 1; y + 1 < h; y++)
        for (int x = 1; x + 1 < w; x++) {
            const float *p = plane + (size_t)y * (size_t)w + (size_t)x;
            float gx = 0.5f * (p[1] - p[-1]), gy = 0.5f * (p[w] - p[-w]);
            size_t bin = (size_t)(sqrtf(gx * gx + gy * gy) * (float)(1 / BIN));
            bins[bin < NOISE_BINS ? bin : NOISE_BINS - 1]++;
            count++;
        }
    size_t bin = 0;
    while (bin < NOISE_BINS - 1 && 2 * (below + bins[bin]) < count)
        below += bins[bin++];
    return fmax((double)bin * BIN / sqrt(2 * log(2)), NOISE_FLOOR);
}

static int reduction(const struct sl_image *look)
{
    int side = look->width > look->height ? look->width : look->height;
    int k = (int)lround((double)side / FIND_SIDE_PX);
    int least = look->width < look->height ? look->width : look->height;
    while (k > 1 && least / k < 32)
        k--;
    return k < 1 ? 1 : k;
}

sl_code find_picture_fill(const struct sl_image *look, const struct find_colour_map *map,
                          struct find_picture *ret, struct sl_status *status)
{
    struct find_picture p = {.stripeless = map != NULL};
    struct exposure *e = calloc(1, sizeof *e);
    float *line = NULL, *sum = NULL;
    sl_code code = SL_E_MEMORY;
    int k = reduction(look);
    p.width = look->width / k;
    p.height = look->height / k;
    p.scale = look->scale * k;
    p.x0 = look->x0 + 0.5 * p.scale - 0.5;
    p.y0 = look->y0 + 0.5 * p.scale - 0.5;
    size_t pixels = (size_t)p.width * (size_t)p.height;
    line = malloc((size_t)look->width * 3 * sizeof *line);
    sum = malloc((size_t)p.width * 3 * sizeof *sum);
    for (int c = 0; c < FIND_PLANES; c++)
        p.plane[c] = malloc(pixels * sizeof *p.plane[c]);
    if (!e || !line || !sum || !p.plane[0] || !p.plane[1] || !p.plane[2]) {
        sl_status_set(status, code, where, "Close other programs or use a smaller photo.",
                      "There is not enough memory to look for strips.");
        goto done;
    }
    for (int y = 0; y < p.height; y++)
        reduce_row(look, map, k, y, line, sum, &p, e);
    exposure_read(e, &p);
    for (int c = 0; c < FIND_PLANES; c++) {
        smooth_plane(p.plane[c], p.width, p.height, sum);
        p.noise[c] = plane_noise(p.plane[c], p.width, p.height);
    }
    *ret = p;
    memset(&p, 0, sizeof p);
    code = SL_OK;
done:
    free(e);
    free(line);
    free(sum);
    find_picture_finish(&p);
    return code;
}

void find_picture_finish(struct find_picture *picture)
{
    if (!picture)
        return;
    for (int c = 0; c < FIND_PLANES; c++) {
        free(picture->plane[c]);
        picture->plane[c] = NULL;
    }
}

void find_picture_sample(const struct find_picture *picture, double x, double y,
                         float ret[FIND_PLANES])
{
    double right = picture->width - 1.001, bottom = picture->height - 1.001;
    x = x < 0 ? 0 : x > right ? right : x;
    y = y < 0 ? 0 : y > bottom ? bottom : y;
    int i = (int)x, j = (int)y;
    float fx = (float)(x - i), fy = (float)(y - j);
    size_t at = (size_t)j * (size_t)picture->width + (size_t)i;
    for (int c = 0; c < FIND_PLANES; c++) {
        const float *p = picture->plane[c] + at, *q = p + picture->width;
        float top = p[0] + fx * (p[1] - p[0]), low = q[0] + fx * (q[1] - q[0]);
        ret[c] = top + fy * (low - top);
    }
}

double find_distance(const float a[FIND_PLANES], const float b[FIND_PLANES])
{
    double sum = 0;
    for (int c = 0; c < FIND_PLANES; c++)
        sum += ((double)a[c] - (double)b[c]) * ((double)a[c] - (double)b[c]);
    return sqrt(sum);
}

double find_distance_from(const float colour[FIND_PLANES], const double mean[FIND_PLANES])
{
    return hypot((double)colour[0] - mean[0],
                 hypot((double)colour[1] - mean[1], (double)colour[2] - mean[2]));
}
