// SPDX-License-Identifier: GPL-3.0-or-later
/* Rows of encoded samples to linear light: what is done to every pixel of a strip. */
#include <string.h>

#include "strandline/colour.h"

#include "colour/profile.h"

enum { CHUNK_PX = 256 }; /* at a time through lcms2, on the stack */

static float interpolate_16(const float curve[NODES_16], uint16_t sample)
{
    float at = (float)sample * ((float)(NODES_16 - 1) / 65535.0f);
    int node = (int)at;
    if (node >= NODES_16 - 1)
        return curve[NODES_16 - 1];
    return curve[node] + (at - (float)node) * (curve[node + 1] - curve[node]);
}

static inline void mix(const float m[9], float r, float g, float b, float ret[3])
{
    for (int i = 0; i < 3; i++)
        ret[i] = m[3 * i] * r + m[3 * i + 1] * g + m[3 * i + 2] * b;
}

/* The matrix is copied: the compiler can't know that no row is written into it. */
static void shaper_row(const struct sl_colour *colour, const void *samples, unsigned bits,
                       size_t count, float *ret)
{
    const uint8_t *s8 = samples;
    const uint16_t *s16 = samples;
    float matrix[9];
    memcpy(matrix, colour->matrix, sizeof matrix);
    if (bits == 8)
        for (size_t i = 0; i < count; i++, s8 += 3, ret += 3)
            mix(matrix, colour->curve_8[0][s8[0]], colour->curve_8[1][s8[1]],
                colour->curve_8[2][s8[2]], ret);
    else
        for (size_t i = 0; i < count; i++, s16 += 3, ret += 3)
            mix(matrix, interpolate_16(colour->curve_16[0], s16[0]),
                interpolate_16(colour->curve_16[1], s16[1]),
                interpolate_16(colour->curve_16[2], s16[2]), ret);
}

static void grey_row(const struct sl_colour *colour, const void *samples, unsigned bits,
                     size_t count, float *ret)
{
    const uint8_t *s8 = samples;
    const uint16_t *s16 = samples;
    for (size_t i = 0; i < 3 * count; i++)
        ret[i] = bits == 8 ? colour->curve_8[i % 3][s8[i]]
                           : interpolate_16(colour->curve_16[i % 3], s16[i]);
}

static void transform_row(const struct sl_colour *colour, const void *samples, unsigned bits,
                          size_t count, float *ret)
{
    const uint8_t *s8 = samples;
    const uint16_t *s16 = samples;
    float encoded[CHUNK_PX * 3];
    for (size_t done = 0; done < count; done += CHUNK_PX) {
        size_t part = count - done < CHUNK_PX ? count - done : CHUNK_PX;
        for (size_t i = 0; i < 3 * part; i++)
            encoded[i] =
                bits == 8 ? (float)s8[3 * done + i] / 255.0f : (float)s16[3 * done + i] / 65535.0f;
        cmsDoTransform(colour->transform, encoded, ret + 3 * done, (cmsUInt32Number)part);
    }
}

void sl_colour_to_linear(const struct sl_colour *colour, const void *samples, unsigned bits,
                         size_t count, float *ret_rgb_linear)
{
    switch (colour->kind) {
    case KIND_MATRIX:
        shaper_row(colour, samples, bits, count, ret_rgb_linear);
        break;
    case KIND_GREY:
        grey_row(colour, samples, bits, count, ret_rgb_linear);
        break;
    case KIND_TRANSFORM:
        transform_row(colour, samples, bits, count, ret_rgb_linear);
        break;
    }
}
