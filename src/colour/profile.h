// SPDX-License-Identifier: GPL-3.0-or-later
/* A profile made ready for pixels: profile.c fills it, linear.c applies it. */
#ifndef STRANDLINE_COLOUR_PROFILE_H
#define STRANDLINE_COLOUR_PROFILE_H

#include "colour/cms.h"

/* Nodes for 16-bit samples; between them linear: the sRGB curve is met to 1e-7. */
enum { LEVELS_8 = 256, NODES_16 = 4097, NAME_BYTES = 96 };

enum kind { KIND_MATRIX, KIND_GREY, KIND_TRANSFORM };

struct sl_colour {
    enum kind kind;
    char name[NAME_BYTES];
    float curve_8[3][LEVELS_8], curve_16[3][NODES_16]; /* grey: linear R, G, B of the level */
    float matrix[3][3];
    cmsContext context;
    cmsHTRANSFORM transform; /* float RGB or grey to float linear RGB */
};

#endif
