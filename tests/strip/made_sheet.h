// SPDX-License-Identifier: GPL-3.0-or-later
/* Sheets of which everything is known: lines and bands of dye on paper under a chosen light. */
#ifndef MADE_SHEET_H
#define MADE_SHEET_H

#include "strandline/strip.h"

struct made_band {
    double v,
        sigma; /* fractions of the length; a flat top of `half_line` with soft flanks if set */
    double half_line;
    double load[3]; /* K/S above the paper's at the apex */
    double slant;   /* right less left, fraction of the length */
    double finger;  /* amplitude of a wave across, fraction of the length */
    double foot;    /* an exponential foot below, fraction of the length; 0: none */
    double margin;  /* clean part of the width at each edge */
};

struct made_spec {
    int columns, rows;
    double paper[3];     /* absolute reflectance */
    double light;        /* on a perfect white, at the middle */
    double light_along;  /* log light gained from lower to upper edge */
    double light_across; /* and from left to right */
    double warm_along;   /* log R/G and log G/B of the light gained from lower to upper edge */
    double
        shadow_v;  /* from here on it lies in a shadow, whose edge is a tenth of the length wide */
    double shadow; /* log light that it takes; 0: none */
    double shadow_tint;       /* log R/G and log G/B that it gains */
    double noise;             /* standard deviation of a cell, part of its light */
    double tick_v;            /* pencil tick at the right edge; 0: none */
    double pencil_v;          /* pencil line from edge to edge, two cells wide; 0: none */
    double pencil_depth;      /* -ln R at its middle */
    double water_line_v;      /* faint brown line; 0: none */
    double water_line_finger; /* amplitude of its wave, fraction of the length */
    double front_v;           /* dye stops here, at mid-width; 0: nowhere */
    double front_finger;      /* amplitude of a wave across, fraction of the length */
    double front_slant;       /* right less left, fraction of the length */
    int band_count;
    struct made_band band[6];
};

/* 100 x 600 cells, white paper, even light, no noise, no dye. */
struct made_spec made_spec(void);
/* An ink as it often is: a line at 0.15, bands at 0.4 and 0.6 with feet below them. */
struct made_spec made_ink(void);
/* The K/S above the paper's that the bands give at a place. */
void made_load(const struct made_spec *spec, double u, double v, double ret[3]);

struct sl_sheet made_sheet(const struct made_spec *spec);
/* The other way up, as if the strip lay upside down. */
void made_turn(struct sl_sheet *sheet);
void made_mirror(struct sl_sheet *sheet);
/* An upright outline of columns x rows px. */
struct sl_outline made_outline(const struct made_spec *spec);

#endif
