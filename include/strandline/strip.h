// SPDX-License-Identifier: GPL-3.0-or-later
/* Strips: where they lie in a photo, straightened, with the light removed and origin and front
 * marked.
 *
 * "lower" is the end that was in the water, "left" is as seen with that end down. Positions along a
 * strip are fractions of its length from the lower edge, along the paper, 0..1.
 * Order of use: sl_strips_find, then for each outline sl_sheet_straighten, sl_sheet_read_marks
 * (turns the sheet and the outline the right way up and removes the light). Ownership: outlines are
 * plain values; a sheet owns its rasters (finish, NULL fields allowed). */
#ifndef STRANDLINE_STRIP_H
#define STRANDLINE_STRIP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "strandline/photo.h"
#include "strandline/status.h"

enum {
    SL_STRIPS_MAX = 8,
    SL_HINT_BANDS_MAX = 12,
    SL_EDGE_POINTS = 33, /* points on each long edge, evenly spaced along the strip */
    SL_STRAIGHT_MAX = 32,
};

struct sl_point {
    double x, y;
};

enum sl_front_seen {
    SL_FRONT_DYE,
    SL_FRONT_WATER_LINE,
    SL_FRONT_PENCIL,
    SL_FRONT_GIVEN,
    SL_FRONT_NOT_SEEN,
};
/* "dye", "water line", "pencil", "given", "no" */
SL_API const char *sl_front_seen_name(enum sl_front_seen seen);

/* Where one band begins and ends, fractions of the strip's length. */
struct sl_band_limits {
    double from, to;
};

/* What the user sets by hand; a set value is never overruled. NAN / false / -1: find it. */
struct sl_strip_hints {
    bool has_corners;
    struct sl_point corners_px[4]; /* lower left, lower right, upper right, upper left */
    double origin, front;          /* fractions of the strip's length */
    double length_mm;
    int upside_down; /* -1 find, 0 the upper end in the photo is the front end, 1 it is the lower
                        end's */
    double paper_reflectance[3]; /* of clean paper, absolute; NAN: judged from its colour */
    size_t band_count;           /* bands with hand-set limits; the others are found */
    struct sl_band_limits band[SL_HINT_BANDS_MAX];
};
SL_API void sl_strip_hints_init(struct sl_strip_hints *hints);

/* The paper's outline in the photo. Until the marks are read, "lower" is merely the end nearer the
 * photo's bottom. Curled and crooked strips have edges that are not straight. */
struct sl_outline {
    struct sl_point corner_px[4];            /* lower left, lower right, upper right, upper left */
    struct sl_point left_px[SL_EDGE_POINTS]; /* along the left edge, from lower to upper */
    struct sl_point right_px[SL_EDGE_POINTS];
    double edge_sigma_px;          /* standard error of an edge point */
    double hidden_from, hidden_to; /* part hidden by peg or tape, fractions; NAN: none */
    double bend;                   /* how far the edges leave straight lines, parts of the length */
    double taper; /* ln of the paper's width at the upper end over that at the lower, 0 unless the
                     photo tells cut from perspective (sl_outlines_level) */
    bool cut_off; /* the photo's frame cuts the strip */
    bool cut_lower, cut_upper; /* and there */
    bool given;                /* corners were set by hand */
    double confidence;         /* 0..1, ranking only */
};

/* A straight edge of something else on the table, such as a card's or a ruler's. Photo px. */
struct sl_straight {
    double x, y;   /* its middle */
    double dx, dy; /* unit vector */
    double length_px;
    double sigma; /* of the direction, radians */
};

struct sl_outlines {
    size_t count;
    struct sl_outline item[SL_STRIPS_MAX]; /* from left to right as seen with the strips upright */
    size_t straight_count;
    struct sl_straight straight[SL_STRAIGHT_MAX]; /* the longest first */
};

/* Finds all strips. Errors: SL_E_NO_STRIP, _CUT_OFF, _TOO_DARK, _BURNT_OUT, _BLURRED, _TOO_SMALL,
 * _CANCELLED.
 * Warnings: SL_W_CUT_OFF, SL_W_BLURRED, SL_W_DARK, SL_W_HIDDEN_PART, SL_W_BENT. */
SL_API sl_code sl_strips_find(struct sl_photo *photo, struct sl_outlines *ret,
                              struct sl_warnings *warnings, struct sl_status *status);

/* Tells how far each strip is cut askew: strips and straight things that lie on one table are seen
 * at one slant, so what they have in common is perspective and the rest is theirs. Sets `taper`;
 * called by sl_strips_find, and to be called once all outlines from corners are known. */
SL_API void sl_outlines_level(const struct sl_photo_info *info, struct sl_outlines *outlines);

/* Spaces the points of both edges as places along the strip are counted, perspective and cut taken
 * out: the k-th of n then lies at k / (n - 1) of the length. Whoever draws or points at a place in
 * the photo may go straight from point to point. An outline that spans no area stays as it is. */
SL_API void sl_outline_even(struct sl_outline *outline);

/* An outline from hand-set corners (straight edges between them). SL_E_RANGE if they are outside
 * the photo, cross each other or enclose too little. */
SL_API sl_code sl_outline_from_corners(const struct sl_photo *photo,
                                       const struct sl_point corners_px[4], struct sl_outline *ret,
                                       struct sl_status *status);

/* Flags of a sheet's cell and of a profile's sample. */
enum {
    SL_CELL_CLIPPED = 1,   /* a channel at the encoding's upper end */
    SL_CELL_SATURATED = 2, /* reflectance too small to carry information */
    SL_CELL_HIDDEN = 4,    /* peg, tape, another strip, outside the paper */
    SL_CELL_MARK = 8,      /* pencil or writing */
};

/* A strip straightened into a raster: row 0 at the lower edge, column 0 at the left edge. A cell is
 * the mean of the linear light that falls into it. */
struct sl_sheet {
    int columns, rows;
    float *rgb;     /* rows x columns x 3, linear light; after sl_sheet_read_marks reflectance R
                       relative     to clean paper at the same place */
    uint8_t *flags; /* rows x columns */
    double px_per_row, px_per_column; /* photo px a cell, at the middle */
    double chroma_step;               /* of the photo (sl_photo_info) */
    float
        *paper; /* rows x 3: relative standard error of the paper white at that row (after marks) */
};

struct sl_marks {
    bool turned; /* the strip lay with its front end down in the photo; outline was relabelled */
    double orientation_doubt;    /* 0 sure .. 0.5 a guess, which end was in the water */
    double origin, origin_sigma; /* fraction of the length; sigma: standard error */
    /* Where else the origin is likeliest to be, and the probability that it is not at `origin`. */
    double origin_other, origin_elsewhere;
    double front, front_sigma;
    enum sl_front_seen front_seen;
    /* Places v along the strip may be off together, by a part of v (1 - v) with this standard
     * error: the paper was cut askew, or bends. It is in both sigmas above where they were found.
     */
    double stretch_sigma;
    bool front_doubtful; /* another place is nearly as likely; front_sigma reaches there */
    double line_width;   /* of the ink line, fraction of the length */
    double front_slant,
        front_spread;    /* fractions of the length: right minus left; standard deviation across */
    double paper_rgb[3]; /* linear light of clean paper at the strip's middle */
    double white_level_se;       /* of all paper_rgb together, log light: white that is clipped */
    double white_colour_se[2];   /* of paper's log R/G and log B/G, mean along the strip */
    double paper_reflectance[3]; /* absolute, assumed or given: load is K/S less clean paper's */
    double paper_sigma;          /* standard error of paper_reflectance; 0 where it was given */
    double light_ratio;          /* brightest to darkest clean paper along the strip */
    double light_step;           /* the same within a tenth of the length, the steepest */
    bool blank;                  /* no ink found */
    bool given_origin, given_front;
    bool origin_outside; /* the frame cuts the end that was in the water, or which end that was
                            can't be told of a strip that is cut: `origin` is a guess, nothing
                            follows from it */
};

/* Samples the photo inside the outline. `hints` supplies nothing here but stays for symmetry of
 * later hand-set geometry. Errors: SL_E_TOO_SMALL, SL_E_MEMORY and what decoding gives. */
SL_API sl_code sl_sheet_straighten(struct sl_photo *photo, const struct sl_outline *outline,
                                   struct sl_sheet *ret, struct sl_status *status);

/* Finds which end was in the water, paper white and light, origin and front; divides the light out.
 * Relabels `outline` where the strip was upside down. Warnings as they apply, SL_W_CUT_OFF among
 * them where the ink line may lie outside the photo. */
SL_API sl_code sl_sheet_read_marks(struct sl_sheet *sheet, struct sl_outline *outline,
                                   const struct sl_strip_hints *hints, struct sl_marks *ret,
                                   struct sl_warnings *warnings, struct sl_status *status);
SL_API void sl_sheet_finish(struct sl_sheet *sheet);

/* sl_sheet_read_marks in steps, for one who moves origin and front by hand: what the sheet shows is
 * kept as a sight, which takes most of the time and does not hang on them. Sight and marks together
 * are what sl_sheet_read_marks gives. Owned by the caller (destroy). Errors as above. */
struct sl_sight;
/* Takes the sheet over, also where it fails. `upside_down`: that of the hints. */
SL_API sl_code sl_sight_make(struct sl_sheet *sheet, int upside_down, struct sl_sight **ret,
                             struct sl_status *status);
/* Lent. */
SL_API const struct sl_sheet *sl_sight_sheet(const struct sl_sight *sight);
/* `sheet`: a copy of the sight's, which a pencil line is taken out of. The hints have the sight's
 * `upside_down`. */
SL_API sl_code sl_sight_read_marks(const struct sl_sight *sight, struct sl_sheet *sheet,
                                   struct sl_outline *outline, const struct sl_strip_hints *hints,
                                   struct sl_marks *ret, struct sl_warnings *warnings,
                                   struct sl_status *status);
SL_API void sl_sight_destroy(struct sl_sight *sight);

#endif
