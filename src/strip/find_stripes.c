// SPDX-License-Identifier: GPL-3.0-or-later
/* Stripes of a tablecloth. Their edges outnumber the strips' by far and run on under them, so that
 * pairs of stripes crowd out the strips' sides. But a cloth of two colours a and b, however it is
 * lit, has linear light that is some light times a mixture of both: one plane of the colour space,
 * and in it the stripes vary along b - a. The linear map that turns a into b, leaves b as it is and
 * leaves what is square to both takes the stripes away, whatever the light; paper stays apart.
 * 1. Stripes' edges have one direction (slowly turning with perspective), which most of the edges
 *    of the photo share.
 * 2. Across each such edge, to where the colour changes no further: what lies on both sides, in
 *    parts of the brighter side's light. a and b are the medians.
 * 3. It is a cloth if most of these edges agree, all over the photo, and if a and b differ in tint:
 *    light and dark of one tint are no plane. */
#include "strip/find.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

enum { DIRECTIONS = 180, TILES = 5, LEAST = 500, WALK_MOST = 16 };
static const int TURN = 10;              /* degrees about the commonest direction */
static const double SHARE_LEAST = 0.15;  /* of all edges: agreeing ones */
static const double AGREE_LEAST = 0.5;   /* of the edges in that direction */
static const double AGREE_WITHIN = 0.06; /* of the sum of the channels */
static const double TILES_LEAST = 0.6;   /* of the photo's parts */
static const double TINT_LEAST = 0.12;   /* sine of the angle between a and b */

struct across {
    double dark[3], bright[3]; /* linear light in parts of the bright side's */
    int tile;
};

static void linear(const struct find_picture *p, double x, double y, double ret[3])
{
    float v[FIND_PLANES];
    find_picture_sample(p, x, y, v);
    double green = (double)v[0] - (1.5 * (double)v[1] - (double)v[2]) / 4;
    const double root[3] = {green + (double)v[1], green, green + 0.5 * (double)v[1] - (double)v[2]};
    for (int c = 0; c < 3; c++)
        ret[c] = root[c] > 0 ? root[c] * root[c] : 0;
}

static int turn_between(int a, int b)
{
    int turn = abs(a - b) % DIRECTIONS;
    return turn > DIRECTIONS / 2 ? DIRECTIONS - turn : turn;
}

/* Step 1. Degrees; `ret_all`: number of edge pixels. */
static int commonest_direction(const struct find_edges *e, size_t *ret_all)
{
    size_t count[DIRECTIONS] = {0}, n = (size_t)e->width * (size_t)e->height, most = 0;
    int best = 0;
    *ret_all = 0;
    for (size_t i = 0; i < n; i++)
        if (e->direction[i]) {
            count[(e->direction[i] - 1) % DIRECTIONS]++;
            (*ret_all)++;
        }
    for (int d = 0; d < DIRECTIONS; d++) {
        size_t sum = 0;
        for (int k = -TURN; k <= TURN; k++)
            sum += count[(d + k + DIRECTIONS) % DIRECTIONS];
        if (sum > most) {
            most = sum;
            best = d;
        }
    }
    return best;
}

/* Step 2, one edge: as far as the two sides grow apart. */
static void look_across(const struct find_picture *p, int x, int y, double deg, struct across *ret)
{
    double nx = -sin(deg * M_PI / 180), ny = cos(deg * M_PI / 180), most = -1, sum = 0;
    double a[3] = {0}, b[3] = {0};
    for (int k = 2; k <= WALK_MOST; k++) {
        double u[3], v[3];
        linear(p, x - k * nx, y - k * ny, u);
        linear(p, x + k * nx, y + k * ny, v);
        double apart = hypot(u[0] - v[0], hypot(u[1] - v[1], u[2] - v[2]));
        if (apart < most)
            break;
        most = apart;
        for (int c = 0; c < 3; c++) {
            a[c] = u[c];
            b[c] = v[c];
        }
    }
    bool swap = a[0] + a[1] + a[2] > b[0] + b[1] + b[2];
    for (int c = 0; c < 3; c++) {
        ret->dark[c] = swap ? b[c] : a[c];
        ret->bright[c] = swap ? a[c] : b[c];
        sum += ret->bright[c];
    }
    for (int c = 0; c < 3; c++) {
        ret->dark[c] /= fmax(sum, 1e-4);
        ret->bright[c] /= fmax(sum, 1e-4);
    }
    ret->tile = y * TILES / p->height * TILES + x * TILES / p->width;
}

static void medians(const struct across *look, size_t n, double *room, struct across *ret)
{
    for (int c = 0; c < 3; c++) {
        for (size_t i = 0; i < n; i++)
            room[i] = look[i].dark[c];
        gsl_sort(room, 1, n);
        ret->dark[c] = room[n / 2];
        for (size_t i = 0; i < n; i++)
            room[i] = look[i].bright[c];
        gsl_sort(room, 1, n);
        ret->bright[c] = room[n / 2];
    }
}

static bool agrees(const struct across *a, const struct across *b)
{
    double square = 0;
    for (int c = 0; c < 3; c++)
        square += (a->dark[c] - b->dark[c]) * (a->dark[c] - b->dark[c]) +
                  (a->bright[c] - b->bright[c]) * (a->bright[c] - b->bright[c]);
    return square < AGREE_WITHIN * AGREE_WITHIN;
}

/* Step 3. */
static bool is_cloth(const struct across *look, size_t n, size_t all, const struct across *usual)
{
    size_t agree = 0, tiles = 0, in_tile[TILES * TILES] = {0};
    for (size_t i = 0; i < n; i++)
        if (agrees(&look[i], usual)) {
            agree++;
            in_tile[look[i].tile]++;
        }
    for (int t = 0; t < TILES * TILES; t++)
        tiles += in_tile[t] * 4 * TILES * TILES > agree;
    return (double)agree >= SHARE_LEAST * (double)all && (double)agree >= AGREE_LEAST * (double)n &&
           (double)tiles >= TILES_LEAST * TILES * TILES;
}

static void cross(const double a[3], const double b[3], double ret[3])
{
    for (int c = 0; c < 3; c++)
        ret[c] = a[(c + 1) % 3] * b[(c + 2) % 3] - a[(c + 2) % 3] * b[(c + 1) % 3];
}

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* p + f(p) (b - a) with f(a) = 1, f(b) = 0, f(a x b) = 0. False where a and b are of one tint. */
static bool map_between(const double a[3], const double b[3], struct find_colour_map *ret)
{
    double square[3], f[3];
    cross(a, b, square);
    if (!(dot(square, square) > TINT_LEAST * TINT_LEAST * dot(a, a) * dot(b, b)))
        return false; /* black has no tint */
    cross(b, square, f);
    double scale = dot(a, f);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            ret->m[i][j] = (float)((i == j) + (b[i] - a[i]) * f[j] / scale);
    return true;
}

bool find_stripes(const struct find_picture *p, const struct find_edges *e,
                  struct find_colour_map *ret)
{
    size_t all = 0, n = 0;
    int direction = commonest_direction(e, &all);
    struct across *look = malloc((all + 1) * sizeof *look), usual;
    double *room = malloc((all + 1) * sizeof *room);
    for (int y = 0; y < e->height && look; y++)
        for (int x = 0; x < e->width; x++) {
            int d = e->direction[(size_t)y * (size_t)e->width + (size_t)x];
            if (d && turn_between(d - 1, direction) <= TURN)
                look_across(p, x, y, d - 0.5, &look[n++]);
        }
    bool found = false;
    if (look && room && n >= LEAST) {
        medians(look, n, room, &usual);
        found = is_cloth(look, n, all, &usual) && map_between(usual.dark, usual.bright, ret);
    }
    free(look);
    free(room);
    return found;
}
