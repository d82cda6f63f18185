// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>

#include "band/sift.h"
#include "strandline/colour.h"

static const double z_95 = 1.959964;
/* A band that runs with the water may have its apex a little above the mean front. */
static const double above_front = 0.06;
/* The water's own line: within this of the front, and paler than any dye that shows. */
static const double water_line_rf = 0.035, water_line_lightness = 93.0, water_line_chroma = 9.0;
/* Least half width of a band in widths of the ruled line, and from how many widths of the seen line
 * on that holds. */
static const double mark_width = 0.75, away_from_line = 3.0;
/* Further below the origin than this many times what is retained, the bath has left a stain. */
static const double stain_limit = 1.2;
/* CIE 1976 units; a difference of 1 is just seen side by side. */
static const double seen_least = 2.0;
/* Pencil is paler than ink that is all retained, and grey; almost all of the load is on the line.
 */
static const double pencil_lightness = 70.0, pencil_chroma = 2.5, pencil_share = 0.8;
/* CIEDE2000 from paper: ink shows by at least so much somewhere, and grey ink by more, for dust,
 * damp and shading are grey. Of inks that were run a few in a thousand are paler. */
static const double ink_least = 4.0, grey_ink_least = 6.0, grey_chroma = 1.5;

static bool is_water_line(const struct track *track, const struct sl_band *band)
{
    return fabs(band->rf - 1.0) < water_line_rf + z_95 * track->front_se &&
           band->lab_d50[0] > water_line_lightness &&
           sl_lab_chroma(band->lab_d50) < water_line_chroma;
}

/* Dye spreads as it travels: what is narrower than the line that it came from is a pencil mark, a
 * crease or the edge of something. */
static bool is_mark(const struct track *track, const struct sl_band *band)
{
    return band->rf > away_from_line * track->line &&
           band->half_width_rf < mark_width * track->ruled;
}

static bool is_seen(const struct sl_band *band)
{
    return hypot(100.0 - band->lab_d50[0], sl_lab_chroma(band->lab_d50)) > seen_least;
}

bool sift_is_band(const struct track *track, const struct sl_band *band)
{
    return band->rf > -stain_limit * retained_limit(track) - z_95 * track->origin_se &&
           band->rf < 1.0 + above_front + z_95 * track->front_se && !is_water_line(track, band) &&
           !is_mark(track, band) && is_seen(band);
}

bool sift_is_pencil_only(const struct sl_bands *bands)
{
    const struct sl_band *line = &bands->item[0];
    return bands->count == 1 && line->retained && line->lab_d50[0] > pencil_lightness &&
           sl_lab_chroma(line->lab_d50) < pencil_chroma && line->share > pencil_share;
}

bool sift_is_no_ink(const struct sl_bands *bands)
{
    static const double paper[3] = {100.0, 0.0, 0.0};
    for (size_t i = 0; i < bands->count; i++) {
        const double *lab = bands->item[i].lab_d50;
        bool grey = sl_lab_chroma(lab) < grey_chroma;
        if (sl_ciede2000(lab, paper) >= (grey ? grey_ink_least : ink_least))
            return false;
    }
    return bands->count > 0;
}
