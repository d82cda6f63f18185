// SPDX-License-Identifier: GPL-3.0-or-later
/* Colour described by figures instead of an ICC profile: PNG's gAMA and cHRM, HEIC's nclx. */
#ifndef STRANDLINE_COLOUR_ENCODING_H
#define STRANDLINE_COLOUR_ENCODING_H

#include "strandline/colour.h"

enum transfer {
    TRANSFER_SRGB,  /* IEC 61966-2-1 */
    TRANSFER_BT709, /* ITU-R BT.709, BT.601 and BT.2020 share it */
    TRANSFER_GAMMA, /* linear = encoded ^ gamma */
};

struct colour_encoding {
    const char *name; /* static text */
    double white_xy[2], primaries_xy[3][2];
    enum transfer transfer;
    double gamma; /* of TRANSFER_GAMMA */
};

/* sRGB's primaries, white and transfer function. */
extern const struct colour_encoding colour_encoding_srgb;

/* SL_W_PROFILE_DAMAGED as the returned code for figures that describe no colour space. */
sl_code colour_create_encoding(const struct colour_encoding *encoding, struct sl_colour **ret,
                               struct sl_status *status);

/* The profile has one channel: the samples' R, G and B have to be equal. */
bool colour_is_grey(const struct sl_colour *colour);

#endif
