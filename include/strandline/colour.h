// SPDX-License-Identifier: GPL-3.0-or-later
/* Colour: ICC profiles to linear light, linear light to CIE L*a*b* (D50), differences, hue names.
 *
 * "Linear light" (rgb_linear) is on the sRGB primaries, 1 = the encoding's white, unclamped.
 * "lab_d50" of a strip is relative to paper white: convert reflectance R (paper = 1, 1, 1).
 * Ownership: sl_colour and sl_lab are opaque, made by _create, freed by _destroy (NULL allowed).
 * Neither is shared between threads while it is being used. */
#ifndef STRANDLINE_COLOUR_H
#define STRANDLINE_COLOUR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "strandline/status.h"

enum { SL_ICC_BYTES_MAX = 4 * 1024 * 1024 };

/* Encoded samples to linear light. */
struct sl_colour;

/* From an ICC profile (RGB or grey); icc NULL means sRGB. SL_E_COLOUR_MODEL for CMYK and other
 * spaces; SL_W_PROFILE_DAMAGED as the returned code for a profile that can't be opened (the caller
 * then falls back to sRGB and warns). */
SL_API sl_code sl_colour_create(const void *icc, size_t icc_bytes, struct sl_colour **ret,
                                struct sl_status *status);
SL_API void sl_colour_destroy(struct sl_colour *colour);

/* The profile's description, or "sRGB (assumed)" without a profile. Lives as long as `colour`. */
SL_API const char *sl_colour_name(const struct sl_colour *colour);

/* Converts `count` pixels of interleaved R, G, B samples (bits 8: uint8_t, 16: native uint16_t) to
 * `count` x 3 floats of linear light. */
SL_API void sl_colour_to_linear(const struct sl_colour *colour, const void *samples, unsigned bits,
                                size_t count, float *ret_rgb_linear);

/* sRGB transfer function, IEC 61966-2-1:1999; odd extension below 0, no clamp above 1. */
SL_API double sl_srgb_decode(double encoded);
SL_API double sl_srgb_encode(double linear);

/* Linear light (or reflectance relative to paper) to L*a*b* D50 through lcms2's float transform. */
struct sl_lab;
SL_API sl_code sl_lab_create(struct sl_lab **ret, struct sl_status *status);
SL_API void sl_lab_destroy(struct sl_lab *lab);
SL_API void sl_lab_from_linear(const struct sl_lab *lab, const double (*rgb_linear)[3],
                               size_t count, double (*ret_lab_d50)[3]);
/* The other way, for swatches: 8-bit sRGB, clipped to the gamut. */
SL_API void sl_lab_to_srgb8(const struct sl_lab *lab, const double lab_d50[3], uint8_t ret_srgb[3]);

/* C*ab = hypot(a, b); h_ab in degrees 0..360 (CIE 15). */
SL_API double sl_lab_chroma(const double lab_d50[3]);
SL_API double sl_lab_hue_deg(const double lab_d50[3]);

/* CIEDE2000, kL = kC = kH = 1. Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21-30. */
SL_API double sl_ciede2000(const double lab_1[3], const double lab_2[3]);

/* A plain word for the colour: "blue", "turquoise", "pink", "brown", "grey" ... Static string. */
SL_API const char *sl_hue_name(const double lab_d50[3]);
/* The static string equal to `name`, "" where it is none of the names. */
SL_API const char *sl_hue_name_known(const char *name);

#endif
