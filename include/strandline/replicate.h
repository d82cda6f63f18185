// SPDX-License-Identifier: GPL-3.0-or-later
/* Replicates: several strips of one ink that were treated alike, taken together.
 *
 * A strip's intervals cover what one photo leaves open, not how one dip differs from the next. What
 * several strips share, and how far they differ beyond their intervals, only they can show.
 * Ownership: plain values. */
#ifndef STRANDLINE_REPLICATE_H
#define STRANDLINE_REPLICATE_H

#include "strandline/reading.h"

enum { SL_REPLICATES_MAX = 32 };
#define SL_NO_BAND ((size_t)-1)

/* One number on several strips. */
struct sl_mean {
    size_t count; /* strips that have it */
    double value, interval[2];
    double between_sd; /* standard deviation between strips beyond what their intervals explain;
                          NAN for a single one */
    /* Of each strip from the others, in units of what chance allows in 99 of 100 such sets: beyond
     * 1 the strip disagrees with them. NAN where it lacks the number or has no others. */
    double deviation[SL_REPLICATES_MAX];
};

/* The mean of `count` values (NAN: left out) with 95 % intervals, weighted with what each is known
 * to and what lies between them; value and interval stay within `low` and `high`. */
SL_API void sl_mean_of(const double *value, const double (*interval)[2], size_t count, double low,
                       double high, struct sl_mean *ret);

/* One dye on all strips. */
struct sl_replicate_band {
    size_t band[SL_REPLICATES_MAX]; /* of each strip; SL_NO_BAND where it has none */
    struct sl_mean rf, share;
    double lab_d50[3]; /* mean of the strips */
    const char *hue_name;
    bool retained;
};

struct sl_replicate {
    char ink[SL_NAME_MAX];
    enum sl_role role;
    size_t strip_count; /* at least 2 */
    struct sl_strip_ref strip[SL_REPLICATES_MAX];
    size_t band_count;
    struct sl_replicate_band band[SL_BANDS_MAX]; /* lowest first */
    struct sl_mean retained, bound;
    struct sl_warnings warnings; /* strips that disagree */
};

/* Finds the replicates among the strips: one ink (told, not empty) in one role, run alike as far as
 * was told. A strip that was told to be run in another way is not combined and has a warning that
 * says so. Blank strips and those without an origin are left out. `ret` holds as many as
 * `sl_replicates_most` says. */
SL_API size_t sl_replicates_most(struct sl_reading *const *reading, size_t count);
SL_API size_t sl_replicates_find(struct sl_reading *const *reading, size_t count,
                                 struct sl_replicate *ret);

#endif
