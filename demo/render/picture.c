// SPDX-License-Identifier: GPL-3.0-or-later
/*
 *  1. The table's colour at every pixel's ray, glare added.
 *  2. Each sheet in turn: its soft shadow, then its colour with the paper's relief; a curled sheet
 * is met by following the ray up to the sheet's height. Edges are covered by the part of the pixel
 *     that lies inside, from the distance to the outline.
 *  3. Light: a gradient over the frame, the lens's falloff, a soft shadow, the lamp's colour as far
 *     as the phone did not balance it out, exposure.
 *  4. The lens: a Gaussian.
 *  5. The sensor: shot and read noise in linear light; then tone curve, encoding, clipping.
 */
#include "picture.h"

#include "noise.h"
#include "table.h"
#include "within.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
static const double white_at = 0.80;      // paper of reflectance 0.85 in linear light at 0 eV
static const double falloff = 0.12;       // of the lens, at the corners
static const double shadow_soft_mm = 0.9; // under paper that lies on the table
static const double curl_shading = 0.5;   // light comes aslant: a slope is brighter or darker

enum { NOISE_TABLE = 1 << 14, ENCODE_TABLE = 1 << 16, BLUR_REACH_MAX = 64 };

struct darkroom {
    const struct scene *scene;
    const struct camera *camera;
    struct surface *surface;
    float *light; ///< 3 a pixel, displayed order
    float noise[NOISE_TABLE];
    uint8_t encoded[ENCODE_TABLE + 1];
};

// ------------------------------------------------------------------ table, sheets

static void lay_table(struct darkroom *room)
{
    const struct scene *scene = room->scene;
    struct rng rng = {scene->seed + 31};
    double glare_x = rng_between(&rng, -0.3, 0.3) * scene->width_px / scene->px_per_mm;
    double glare_y = rng_between(&rng, -0.3, 0.3) * scene->height_px / scene->px_per_mm;
    for (int j = 0; j < scene->height_px; j++) {
        float *row = room->light + 3 * (size_t)j * (size_t)scene->width_px;
        for (int i = 0; i < scene->width_px; i++) {
            double x;
            double y;
            camera_meet(room->camera, i, j, &x, &y);
            table_colour(room->surface, x, y, row + 3 * i);
            if (scene->glare > 0) {
                double far = hypot((x - glare_x) / 26, (y - glare_y) / 17);
                float add = (float)(scene->glare / (1 + exp(9 * (far - 1))));
                for (int c = 0; c < 3; c++) {
                    row[3 * i + c] += add;
                }
            }
        }
    }
}

struct box {
    int x0, y0, x1, y1;
};

static struct box sheet_box(const struct darkroom *room, const struct sheet *sheet)
{
    double margin_mm = 3 + 2 * sheet->height_mm;
    double low_x = 1e9;
    double low_y = 1e9;
    double high_x = -1e9;
    double high_y = -1e9;
    for (int k = 0; k < 22; k++) { // both long edges, for curled sheets
        double u = (k % 2 ? 1 : -1) * (sheet->width_mm / 2 + margin_mm);
        double v = -margin_mm + (k / 2) / 10.0 * (sheet->length_mm + 2 * margin_mm);
        double x;
        double y;
        double z;
        double px;
        double py;
        sheet_world(sheet, u, v, &x, &y, &z);
        camera_project(room->camera, x, y, z, &px, &py);
        low_x = fmin(low_x, px);
        low_y = fmin(low_y, py);
        high_x = fmax(high_x, px);
        high_y = fmax(high_y, py);
    }
    struct box box = {(int)fmax(floor(low_x), 0), (int)fmax(floor(low_y), 0),
                      (int)fmin(ceil(high_x), room->scene->width_px - 1),
                      (int)fmin(ceil(high_y), room->scene->height_px - 1)};
    return box;
}

// Corner and weights of a bilinear look-up; places outside the map take its rim.
struct spot {
    size_t cell;
    size_t right, up;
    float s, t;
    double outside_mm;
};

static struct spot find_spot(const struct sheet *sheet, double u, double v)
{
    double i = (u + sheet->width_mm / 2) / sheet->step_mm;
    double j = v / sheet->step_mm;
    double ci = within(i, 0, sheet->columns - 1.001);
    double cj = within(j, 0, sheet->rows - 1.001);
    struct spot spot = {
        .cell = (size_t)(int)cj * (size_t)sheet->columns + (size_t)(int)ci,
        .right = 1,
        .up = (size_t)sheet->columns,
        .s = (float)(ci - (int)ci),
        .t = (float)(cj - (int)cj),
        .outside_mm = i == ci && j == cj ? 0 : sheet->step_mm * hypot(i - ci, j - cj),
    };
    return spot;
}

static float read_map(const float *map, const struct spot *spot, size_t stride, size_t channel)
{
    const float *at = map + spot->cell * stride + channel;
    float low = at[0] + spot->s * (at[spot->right * stride] - at[0]);
    const float *above = at + spot->up * stride;
    float high = above[0] + spot->s * (above[spot->right * stride] - above[0]);
    return low + spot->t * (high - low);
}

static double edge_at(const struct sheet *sheet, double u, double v)
{
    struct spot spot = find_spot(sheet, u, v);
    return read_map(sheet->edge, &spot, 1, 0) - spot.outside_mm;
}

// Follows the ray from its place on the table, (x0, y0) and there *u, *v, up to the sheet.
static void meet_sheet(const struct darkroom *room, const struct sheet *sheet, double x0, double y0,
                       double *u, double *v, double ret_slope[2])
{
    int steps = sheet->roll_mm > 0 ? 10 : 4; // the steeper the paper, the slower it settles
    for (int k = 0; k < steps; k++) {
        double z = sheet_lift(sheet, *u, *v, ret_slope);
        double x = x0;
        double y = y0;
        camera_raise(room->camera, z, &x, &y);
        sheet_local(sheet, x, y, u, v);
    }
}

// Neither the sheet is seen there, however aslant it is looked at, nor its shadow.
static bool is_far(const struct sheet *sheet, double u, double v)
{
    double margin_mm = 2 + 2 * sheet->height_mm + 7 * sheet->most_lift_mm;
    return fabs(u) > sheet->width_mm / 2 + margin_mm || v < -margin_mm ||
           v > sheet->length_mm + margin_mm;
}

static void lay_sheet_pixel(struct darkroom *room, const struct sheet *sheet, double x, double y,
                            double px_per_mm, const double light[2], float pixel[3])
{
    double u;
    double v;
    double slope[2] = {0};
    sheet_local(sheet, x, y, &u, &v);
    if (is_far(sheet, u, v)) {
        return;
    }
    if (sheet->curled) {
        meet_sheet(room, sheet, x, y, &u, &v, slope);
    }
    struct spot spot = find_spot(sheet, u, v);
    double inside_mm = read_map(sheet->edge, &spot, 1, 0) - spot.outside_mm;
    double cover = within(0.5 + inside_mm * px_per_mm, 0, 1);
    if (cover < 1 || sheet->opacity < 1) {
        double ignored[2];
        double height = sheet->height_mm + (sheet->curled ? sheet_lift(sheet, u, v, ignored) : 0);
        double su;
        double sv;
        sheet_local(sheet, x - light[0] * height, y - light[1] * height, &su, &sv);
        double soft = shadow_soft_mm + 0.5 * height;
        double t = within((edge_at(sheet, su, sv) + soft) / (2 * soft), 0, 1);
        float dark = (float)(1 - (sheet->opacity < 1 ? 0.12 : 0.5) * t * t * (3 - 2 * t));
        for (int c = 0; c < 3; c++) {
            pixel[c] *= dark;
        }
    }
    if (cover <= 0) {
        return;
    }
    double shade = paper_relief(room->surface, sheet->relief, sheet->relief_depth,
                                u + sheet->relief_shift, v + 0.6 * sheet->relief_shift);
    if (sheet->curled) {
        double across = light[0] * sheet->cos_turn + light[1] * sheet->sin_turn;
        double along = light[0] * sheet->sin_turn - light[1] * sheet->cos_turn;
        shade *= 1 - curl_shading * (slope[0] * across + slope[1] * along);
    }
    float part = (float)(cover * sheet->opacity);
    for (int c = 0; c < 3; c++) {
        float colour = read_map(sheet->rgb, &spot, 3, (size_t)c) * (float)shade;
        pixel[c] += part * (colour - pixel[c]);
    }
}

static void lay_sheet(struct darkroom *room, const struct sheet *sheet)
{
    struct box box = sheet_box(room, sheet);
    double direction = room->scene->light_direction_deg * pi / 180;
    double light[2] = {-cos(direction), -sin(direction)}; // away from the lamp
    double px_per_mm = room->scene->px_per_mm;
    for (int j = box.y0; j <= box.y1; j++) {
        float *row = room->light + 3 * (size_t)j * (size_t)room->scene->width_px;
        for (int i = box.x0; i <= box.x1; i++) {
            double x;
            double y;
            camera_meet(room->camera, i, j, &x, &y);
            lay_sheet_pixel(room, sheet, x, y, px_per_mm, light, row + 3 * i);
        }
    }
}

// ------------------------------------------------------------------ light

// Planck's law at the channels' centres, relative to 6504 K (CIE 15: c2 = 1.4388e-2 m K).
static void lamp_colour(const struct scene *scene, double ret_gain[3])
{
    static const double nm[3] = {605, 540, 455};
    const double c2_nm_k = 1.4388e7;
    double gain[3];
    for (int c = 0; c < 3; c++) {
        gain[c] = expm1(c2_nm_k / (nm[c] * 6504)) / expm1(c2_nm_k / (nm[c] * scene->lamp_k));
    }
    for (int c = 0; c < 3; c++) {
        ret_gain[c] = pow(gain[c] / gain[1], 1 - scene->balanced);
    }
}

static void shine(struct darkroom *room)
{
    const struct scene *scene = room->scene;
    double gain[3];
    lamp_colour(scene, gain);
    double direction = scene->light_direction_deg * pi / 180;
    double nx = cos(direction);
    double ny = sin(direction);
    double slope = log(fmax(scene->light_ratio, 1)) / (2 * (fabs(nx) + fabs(ny)));
    double shadow_x = cos(scene->shadow_direction_deg * pi / 180);
    double shadow_y = sin(scene->shadow_direction_deg * pi / 180);
    double exposure = white_at / 0.85 * exp2(scene->exposure_ev);
    for (int j = 0; j < scene->height_px; j++) {
        float *row = room->light + 3 * (size_t)j * (size_t)scene->width_px;
        double y = 2.0 * j / (scene->height_px - 1) - 1;
        double y_mm = y * scene->height_px / scene->px_per_mm / 2;
        double row_light = exposure * exp(slope * y * ny) * (1 - 0.5 * falloff * y * y);
        double step = exp(2 * slope * nx / (scene->width_px - 1));
        double column_light = exp(-slope * nx);
        for (int i = 0; i < scene->width_px; i++, column_light *= step) {
            double x = 2.0 * i / (scene->width_px - 1) - 1;
            double light = row_light * column_light * (1 - 0.5 * falloff * x * x);
            if (scene->shadow > 0) {
                double x_mm = x * scene->width_px / scene->px_per_mm / 2;
                double deep = x_mm * shadow_x + y_mm * shadow_y - scene->shadow_offset_mm;
                double t = within(deep / scene->shadow_soft_mm + 0.5, 0, 1);
                light *= 1 - scene->shadow * t * t * (3 - 2 * t);
            }
            for (int c = 0; c < 3; c++) {
                row[3 * i + c] *= (float)(light * gain[c]);
            }
        }
    }
}

// ------------------------------------------------------------------ lens

// copy: room for the row and reach pixels more at both ends.
static void blur_row(float *row, float *copy, int width, const float *weight, int reach)
{
    size_t length = (size_t)width * 3;
    memcpy(copy + 3 * reach, row, length * sizeof *row);
    for (int k = 0; k < 3 * reach; k++) {
        copy[k] = row[k % 3];
        copy[3 * reach + (int)length + k] = row[(int)length - 3 + k % 3];
    }
    memset(row, 0, length * sizeof *row);
    for (int o = 0; o <= 2 * reach; o++) {
        const float *from = copy + 3 * o;
        float w = weight[o];
        for (size_t n = 0; n < length; n++) {
            row[n] += w * from[n];
        }
    }
}

static int blur(struct darkroom *room)
{
    const struct scene *scene = room->scene;
    size_t length = (size_t)scene->width_px * 3;
    float weight[2 * BLUR_REACH_MAX + 1];
    int reach = (int)fmin(ceil(2.6 * scene->blur_px), BLUR_REACH_MAX);
    int rows = 2 * reach + 1;
    if (scene->blur_px < 0.2) {
        return 0;
    }
    float sum = 0;
    for (int o = -reach; o <= reach; o++) {
        weight[o + reach] = (float)exp(-0.5 * o * o / (scene->blur_px * scene->blur_px));
        sum += weight[o + reach];
    }
    for (int k = 0; k < rows; k++) {
        weight[k] /= sum;
    }
    float *ring = calloc((size_t)rows * length, sizeof *ring);
    float *copy = calloc(length + 6 * (size_t)reach, sizeof *copy);
    if (ring == NULL || copy == NULL) {
        free(ring);
        free(copy);
        return -1;
    }
    for (int j = -reach; j < scene->height_px; j++) {
        int ahead = j + reach; // the ring holds rows j - reach .. j + reach, blurred along
        if (ahead < scene->height_px) {
            float *row = room->light + (size_t)ahead * length;
            blur_row(row, copy, scene->width_px, weight, reach);
            memcpy(ring + (size_t)(ahead % rows) * length, row, length * sizeof *row);
        }
        if (j < 0) {
            continue;
        }
        float *out = room->light + (size_t)j * length;
        memset(out, 0, length * sizeof *out);
        for (int o = -reach; o <= reach; o++) {
            int k = j + o < 0 ? 0 : j + o >= scene->height_px ? scene->height_px - 1 : j + o;
            const float *from = ring + (size_t)(k % rows) * length;
            float w = weight[o + reach];
            for (size_t n = 0; n < length; n++) {
                out[n] += w * from[n];
            }
        }
    }
    free(ring);
    free(copy);
    return 0;
}

// ------------------------------------------------------------------ sensor

// IEC 61966-2-1, the inverse of its transfer function; an S-shaped tone curve over it.
static double encode(double linear, double tone)
{
    double x = within(linear, 0, 1);
    double y = x <= 0.0031308 ? 12.92 * x : 1.055 * pow(x, 1 / 2.4) - 0.055;
    return y + tone * (y * y * (3 - 2 * y) - y);
}

static void fill_tables(struct darkroom *room)
{
    struct rng rng = {room->scene->seed + 77};
    for (int k = 0; k < NOISE_TABLE; k++) {
        room->noise[k] = (float)rng_normal(&rng);
    }
    for (int k = 0; k <= ENCODE_TABLE; k++) {
        double y = encode((double)k / ENCODE_TABLE, room->scene->tone);
        room->encoded[k] = (uint8_t)lround(255 * y);
    }
}

// Linear sRGB to linear Display P3 (both D65), from the primaries of SMPTE EG 432-1.
static void to_p3(float rgb[3])
{
    static const float m[3][3] = {{0.8224621F, 0.1775380F, 0},
                                  {0.0331941F, 0.9668058F, 0},
                                  {0.0170827F, 0.0723974F, 0.9105199F}};
    float in[3] = {rgb[0], rgb[1], rgb[2]};
    for (int k = 0; k < 3; k++) {
        rgb[k] = m[k][0] * in[0] + m[k][1] * in[1] + m[k][2] * in[2];
    }
}

bool picture_turned(int orientation)
{
    return orientation >= 5;
}

void picture_stored(const struct scene *scene, double x, double y, double *ret_x, double *ret_y)
{
    double w = scene->width_px - 1;
    double h = scene->height_px - 1;
    double stored[9][2] = {{x, y}, {x, y},     {w - x, y},     {w - x, h - y}, {x, h - y},
                           {y, x}, {y, w - x}, {h - y, w - x}, {h - y, x}};
    *ret_x = stored[scene->orientation][0];
    *ret_y = stored[scene->orientation][1];
}

static void expose(struct darkroom *room, struct picture *picture)
{
    const struct scene *scene = room->scene;
    struct rng rng = {scene->seed + 99};
    float amount = (float)scene->noise;
    for (int j = 0; j < scene->height_px; j++) {
        float *row = room->light + 3 * (size_t)j * (size_t)scene->width_px;
        double x0;
        double y0;
        double x1;
        double y1;
        picture_stored(scene, 0, j, &x0, &y0);
        picture_stored(scene, 1, j, &x1, &y1);
        ptrdiff_t at = 3 * ((ptrdiff_t)y0 * picture->width_px + (ptrdiff_t)x0);
        ptrdiff_t step = 3 * ((ptrdiff_t)(y1 - y0) * picture->width_px + (ptrdiff_t)(x1 - x0));
        for (int i = 0; i < scene->width_px; i++, at += step) {
            float *pixel = row + 3 * i;
            uint64_t random = rng_next(&rng);
            if (scene->profile == PROFILE_P3) {
                to_p3(pixel);
            }
            for (int c = 0; c < 3; c++) {
                float shot = sqrtf(0.12F + 0.88F * within_unit(pixel[c]));
                float value = pixel[c] + amount * shot * room->noise[random % NOISE_TABLE];
                random >>= 14;
                value = within_unit(value);
                if (picture->bits == 16) {
                    picture->samples16[at + c] =
                        (uint16_t)lround(65535 * encode(value, scene->tone));
                } else {
                    picture->samples8[at + c] = room->encoded[(int)(value * ENCODE_TABLE + 0.5F)];
                }
            }
        }
    }
}

static int picture_allocate(const struct scene *scene, struct picture *picture)
{
    bool turned = picture_turned(scene->orientation);
    picture->width_px = turned ? scene->height_px : scene->width_px;
    picture->height_px = turned ? scene->width_px : scene->height_px;
    picture->bits = scene->bits;
    size_t samples = 3 * (size_t)scene->width_px * (size_t)scene->height_px;
    if (scene->bits == 16) {
        picture->samples16 = calloc(samples, sizeof *picture->samples16);
    } else {
        picture->samples8 = calloc(samples, sizeof *picture->samples8);
    }
    return picture->samples8 || picture->samples16 ? 0 : -1;
}

void picture_finish(struct picture *picture)
{
    free(picture->samples8);
    free(picture->samples16);
    *picture = (struct picture){0};
}

int picture_create(const struct scene *scene, const struct camera *camera,
                   const struct sheet *sheets, int sheet_count, struct picture *ret_picture)
{
    struct picture picture = {0};
    struct darkroom *room = calloc(1, sizeof *room);
    size_t samples = 3 * (size_t)scene->width_px * (size_t)scene->height_px;
    int result = -1;
    if (room == NULL) {
        return -1;
    }
    room->scene = scene;
    room->camera = camera;
    room->light = malloc(samples * sizeof *room->light);
    room->surface = malloc(sizeof *room->surface);
    if (room->light == NULL || room->surface == NULL || picture_allocate(scene, &picture) != 0) {
        goto done;
    }
    surface_fill(scene, room->surface);
    lay_table(room);
    for (int k = 0; k < sheet_count; k++) {
        lay_sheet(room, &sheets[k]);
    }
    shine(room);
    if (blur(room) != 0) {
        goto done;
    }
    fill_tables(room);
    expose(room, &picture);
    result = 0;
done:
    if (result == 0) {
        *ret_picture = picture;
    } else {
        picture_finish(&picture);
    }
    free(room->light);
    free(room->surface);
    free(room);
    return result;
}
