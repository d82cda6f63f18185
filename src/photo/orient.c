// SPDX-License-Identifier: GPL-3.0-or-later
/* EXIF orientation 1..8 (Exif 2.3, tag 274) as a swap of the sides and two mirrors:
 * stored (u, v) of a displayed (x, y) is (a, b) = swap ? (y, x) : (x, y), each counted from the
 * far end where it is mirrored. */
#include "photo/decoder.h"

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

/* Bytes from a displayed pixel's stored place to that of its right and its lower neighbour. */
struct steps {
    ptrdiff_t right, down;
};

static struct steps steps_of(const struct sl_image *from, struct turn turn)
{
    ptrdiff_t u = (ptrdiff_t)(from->bits / 8 * 3), v = (ptrdiff_t)from->stride;
    u = turn.mirror_u ? -u : u;
    v = turn.mirror_v ? -v : v;
    return turn.swap ? (struct steps){v, u} : (struct steps){u, v};
}

static const uint8_t *first_pixel(const struct sl_image *from, struct turn turn)
{
    size_t u = turn.mirror_u ? (size_t)from->width - 1 : 0;
    return image_row(from, turn.mirror_v ? from->height - 1 : 0) + u * (from->bits / 8 * 3);
}

static void copy_run(const uint8_t *from, ptrdiff_t step, int count, uint8_t *to,
                     size_t pixel_bytes)
{
    if (step == (ptrdiff_t)pixel_bytes)
        memcpy(to, from, (size_t)count * pixel_bytes);
    else if (pixel_bytes == 3) /* a constant size compiles to plain moves */
        for (int i = 0; i < count; i++, to += 3)
            memcpy(to, from + i * step, 3);
    else
        for (int i = 0; i < count; i++, to += 6)
            memcpy(to, from + i * step, 6);
}

static void copy_tile(const uint8_t *first, struct steps steps, struct sl_image *to, int x0, int y0)
{
    int count = x0 + TILE_PX < to->width ? TILE_PX : to->width - x0;
    int y1 = y0 + TILE_PX < to->height ? y0 + TILE_PX : to->height;
    size_t pixel_bytes = to->bits / 8 * 3;
    for (int y = y0; y < y1; y++)
        copy_run(first + y * steps.down + x0 * steps.right, steps.right, count,
                 image_row(to, y) + (size_t)x0 * pixel_bytes, pixel_bytes);
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
}

sl_code orient_copy(const struct sl_photo *photo, const struct sl_image *from, struct sl_image *ret,
                    struct sl_status *status)
{
    struct turn turn = turns[photo->info.orientation];
    struct sl_image to;
    sl_code code = SL_OK;
    if (!image_alloc(&to, turn.swap ? from->height : from->width,
                     turn.swap ? from->width : from->height, from->bits, 3))
        return photo_no_memory(photo, status);
    const uint8_t *first = first_pixel(from, turn);
    for (int y = 0; y < to.height && !code; y += TILE_PX) {
        code = sl_photo_check_cancel(photo, status);
        for (int x = 0; x < to.width; x += TILE_PX)
            copy_tile(first, steps_of(from, turn), &to, x, y);
    }
    if (code) {
        sl_image_finish(&to);
        return code;
    }
    place(&to, from, photo->stored, turn);
    to.colour = photo->colour;
    *ret = to;
    return SL_OK;
}
