// SPDX-License-Identifier: GPL-3.0-or-later
/* EXIF orientation 1..8 (Exif 2.3, tag 274) as a swap of the sides and two mirrors:
 * stored (u, v) of a displayed (x, y) is (a, b) = swap ? (y, x) : (x, y), each counted from the
 * far end where it is mirrored. */
#include "photo/decoder.h"

#include <stdlib.h>
#include <string.h>

struct turn {
    bool swap, mirror_u, mirror_v;
};

static const struct turn turns[9] = {
    [2] = {false, true, false}, [3] = {false, true, true}, [4] = {false, false, true},
    [5] = {true, false, false}, [6] = {true, false, true}, [7] = {true, true, true},
    [8] = {true, true, false},
};

/* Tiles keep both rows and columns in the cache while sides are swapped. */
enum { TILE_PX = 32 };

bool orient_swaps_sides(int orientation)
{
    return turns[orientation].swap;
}

struct sl_rect orient_to_stored(struct sl_rect displayed, struct sl_rect stored, int orientation)
{
    struct turn turn = turns[orientation];
    struct sl_rect r = displayed;
    if (turn.swap)
        r = (struct sl_rect){displayed.y, displayed.x, displayed.height, displayed.width};
    if (turn.mirror_u)
        r.x = stored.width - r.x - r.width;
    if (turn.mirror_v)
        r.y = stored.height - r.y - r.height;
    return r;
}

static void copy_pixel(const struct sl_image *from, struct turn turn, int x, int y, uint8_t *to,
                       size_t pixel_bytes)
{
    int u = turn.swap ? y : x, v = turn.swap ? x : y;
    if (turn.mirror_u)
        u = from->width - 1 - u;
    if (turn.mirror_v)
        v = from->height - 1 - v;
    memcpy(to, image_row(from, v) + (size_t)u * pixel_bytes, pixel_bytes);
}

static void copy_tile(const struct sl_image *from, struct turn turn, struct sl_image *to, int x0,
                      int y0)
{
    int x1 = x0 + TILE_PX < to->width ? x0 + TILE_PX : to->width;
    int y1 = y0 + TILE_PX < to->height ? y0 + TILE_PX : to->height;
    size_t pixel_bytes = to->bits / 8 * 3;
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++) {
            uint8_t *pixel = image_row(to, y) + (size_t)x * pixel_bytes;
            if (pixel_bytes == 3) /* a constant size compiles to plain moves */
                copy_pixel(from, turn, x, y, pixel, 3);
            else
                copy_pixel(from, turn, x, y, pixel, 6);
        }
}

/* Where the displayed image begins: a mirrored side counts from the other end of the photo. */
static void place(struct sl_image *to, const struct sl_image *from, struct sl_rect stored,
                  struct turn turn)
{
    double u0 = turn.mirror_u ? stored.width - from->x0 - from->width * from->scale : from->x0;
    double v0 = turn.mirror_v ? stored.height - from->y0 - from->height * from->scale : from->y0;
    to->x0 = turn.swap ? v0 : u0;
    to->y0 = turn.swap ? u0 : v0;
    to->scale = from->scale;
    to->colour = from->colour;
}

bool orient_image(struct sl_image *image, struct sl_rect stored, int orientation)
{
    struct turn turn = turns[orientation];
    struct sl_image to;
    if (orientation == 1)
        return true;
    if (!image_alloc(&to, turn.swap ? image->height : image->width,
                     turn.swap ? image->width : image->height, image->bits, 3))
        return false;
    for (int y = 0; y < to.height; y += TILE_PX)
        for (int x = 0; x < to.width; x += TILE_PX)
            copy_tile(image, turn, &to, x, y);
    place(&to, image, stored, turn);
    free(image->pixels);
    *image = to;
    return true;
}
