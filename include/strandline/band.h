// SPDX-License-Identifier: GPL-3.0-or-later
/* Bands: smoothing matched to the noise, band finding, the joint fit of three channels, Rf, share,
 * width, asymmetry, resolution, retained and bound share; all with 95 % intervals.
 *
 * A band is a maximum of the load along the strip, or a component that the joint fit resolves under
 * another one. A streak or a gradient is no band. A strip without ink has no bands.
 * Ownership: sl_bands owns its arrays (finish). */
#ifndef STRANDLINE_BAND_H
#define STRANDLINE_BAND_H

#include <stdbool.h>
#include <stddef.h>

#include "strandline/profile.h"

enum { SL_BANDS_MAX = SL_HINT_BANDS_MAX, SL_REACH_MAX = 6 };

struct sl_band {
    double rf, rf_interval[2];
    double start_rf, end_rf; /* where its load is a tenth of its apex, or the valley if that comes
                                first; or as they were set by hand */
    /* Between its valleys, of the total. At the origin, where a streak hides the valley: within its
     * own shape; the rest is in no band. */
    double share, share_interval[2];
    double apex_load;                /* of the summed channels */
    double lab_d50[3], lab_se[3];    /* noise, light and what coding leaves of a colour */
    double hue_deg, hue_interval[2]; /* may go beyond 0..360; NAN where any hue is possible */
    const char *hue_name;
    double signature[3]; /* unit vector of the load's channels */
    double signature_se[3];
    bool retained;
    bool unsure;     /* hinges on little evidence: the strip may as well be without it */
    bool overlapped; /* no maximum of its own: resolved by the fit */
    bool given;      /* its limits were set by hand: all load between them is this band */
    double half_width_rf;
    double asymmetry;          /* b/a at a tenth of the height, > 1: tails towards the origin */
    double resolution_to_next; /* Rs = 1.18 (Rf2 - Rf1) / (wh1 + wh2); NAN for the last */
};

/* How far a colour reaches: from its first to its last position above the noise. */
struct sl_reach {
    const char *hue_name;
    double hue_deg;
    double first_rf, last_rf;
    double share;
};

/* What makes the intervals as wide as they are, as far as the next photo or the user can change it.
 */
enum sl_source {
    SL_SOURCE_NOISE,  /* scatter across the strip: pixels, grain */
    SL_SOURCE_LIGHT,  /* white and light under the bands */
    SL_SOURCE_ORIGIN, /* where the ink line lies */
    SL_SOURCE_FRONT,  /* where the front lies */
    SL_SOURCE_SCALE,  /* how long a millimetre is */
    SL_SOURCE_PAPER,  /* the clean paper's own reflectance */
    SL_SOURCE_COUNT,
};

/* The intervals as they would be with one source of error gone and all else, the values too, as it
 * is. */
struct sl_bands_without {
    double rf_interval[SL_BANDS_MAX][2], share_interval[SL_BANDS_MAX][2]; /* band by band */
    double retained_interval[2], bound_interval[2];
};

struct sl_bands {
    size_t count;
    struct sl_band item[SL_BANDS_MAX]; /* lowest first */
    size_t reach_count;
    struct sl_reach reach[SL_REACH_MAX];
    double possible_rf; /* of one band more that would describe the strip about as well; NAN */
    bool smeared;       /* much of the load stands in a streak or gradient outside bands */
    double retained_share, retained_interval[2]; /* NAN where the origin lies outside the photo */
    double bound_share, bound_interval[2];       /* likewise, and where `bound_open` */
    bool bound_open;                             /* not asked for yet (sl_band_work_bound) */
    double total_load, total_load_se; /* area under the summed load, in fractions of the length */
    double retained_lab_d50[3];       /* colour of what was retained, relative to paper */
    double noise;                     /* standard deviation of the summed load on clean paper */
    size_t smooth_count;              /* the smoothed summed load, same positions as the profile */
    double *smooth;
    double *fitted;   /* the fitted summed load; NULL if no fit was made */
    double goodness;  /* reduced chi-square of the fit */
    bool has_without; /* not of a strip without ink or origin, nor of a loaded one */
    struct sl_bands_without without[SL_SOURCE_COUNT];
};

/* `hints`: bands with hand-set limits (the rest of it is not used), or NULL. Between such limits no
 * other band is looked for, and found ones beside them end there.
 * Warnings: SL_W_BLANK, SL_W_SMEAR, SL_W_BAND_COUNT, SL_W_FIT, SL_W_SATURATED. Errors: SL_E_RANGE
 * for a profile that is not finite and for limits that are out of order or overlap, SL_E_MEMORY.
 * `length_mm` NAN where no scale is known (then the line's width sets the measure of what is
 * retained). */
SL_API sl_code sl_bands_find(const struct sl_profile *profile, const struct sl_marks *marks,
                             double length_mm, const struct sl_strip_hints *hints,
                             struct sl_bands *ret, struct sl_warnings *warnings,
                             struct sl_status *status);
SL_API void sl_bands_finish(struct sl_bands *bands);

/* sl_bands_find in steps, for one who moves things by hand and waits for the numbers: what takes
 * time and does not hang on hand-set limits is kept as the work, and the bound share, which takes
 * longest, may come later. Work, bound and bands together are what sl_bands_find gives.
 * Owned by the caller (destroy). Errors as above. */
struct sl_band_work;
SL_API sl_code sl_band_work_make(const struct sl_profile *profile, const struct sl_marks *marks,
                                 double length_mm, struct sl_band_work **ret,
                                 struct sl_status *status);
/* Bands that are asked for before it have `bound_open` and no bound share. Twice does no harm. */
SL_API void sl_band_work_bound(struct sl_band_work *work);
/* Profile and marks: those that the work was made of. */
SL_API sl_code sl_band_work_bands(const struct sl_band_work *work, const struct sl_profile *profile,
                                  const struct sl_marks *marks, const struct sl_strip_hints *hints,
                                  struct sl_bands *ret, struct sl_warnings *warnings,
                                  struct sl_status *status);
SL_API void sl_band_work_destroy(struct sl_band_work *work);

/* How near two bands of different strips are, and what is allowed for one dye: the 95 % intervals
 * of the differences, and how well a run can be repeated. */
struct sl_likeness {
    double rf_difference, rf_allowance;
    double angle_deg, angle_allowance_deg; /* between the signatures */
};
/* Whether they can be one dye; a hint, never proof. False too where the intervals are too wide to
 * tell. */
SL_API bool sl_bands_alike(const struct sl_band *a, const struct sl_band *b,
                           struct sl_likeness *ret);

/* Rf = (apex - origin) / (front - origin). IUPAC Gold Book R05353. Any one unit. */
SL_API double sl_rf(double apex, double origin, double front);
SL_API double sl_hrf(double rf);
/* Rs = 1.18 (Rf2 - Rf1) / (wh1 + wh2), USP <621> form with widths at half height. */
SL_API double sl_resolution(double rf_1, double rf_2, double half_width_1, double half_width_2);
/* Angle between two directions of load (red, green, blue), 0..pi; the lengths don't matter. A
 * direction of length 0 is at right angles to all. */
SL_API double sl_signature_angle_rad(const double a[3], const double b[3]);
/* N = 5.54 (z / wh)^2, USP <621>, z the migration distance. */
SL_API double sl_plates(double migration, double half_width);
/* As = w0.05 / (2 d), Ph. Eur. 2.2.46, d the leading part of the width at 1/20 of the height. */
SL_API double sl_symmetry_factor(double width_5_percent, double leading_5_percent);

#endif
