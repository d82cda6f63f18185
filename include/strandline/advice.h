// SPDX-License-Identifier: GPL-3.0-or-later
/* Advice: what to do better next time, and how much narrower the intervals would be then.
 *
 * The size of an effect is no guess: the bands tell their intervals once more with one source of
 * error left out (band.h, sl_bands_without), and advice says what removes that source. What would
 * not be noticed is not said. Blur alone has no size: what it takes from a dark line the interval
 * does not know of. Ownership: plain values. */
#ifndef STRANDLINE_ADVICE_H
#define STRANDLINE_ADVICE_H

#include "strandline/band.h"

enum { SL_ADVICE_MAX = 4, SL_ADVICE_BYTES = 320 };

enum sl_cause {
    SL_CAUSE_CLOSER,
    SL_CAUSE_BOTH_SIDES, /* light */
    SL_CAUSE_SHADOW,
    SL_CAUSE_BLUR,
    SL_CAUSE_DARK,
    SL_CAUSE_CLIPPED,
    SL_CAUSE_CLEAN_PAPER,
    SL_CAUSE_FRONT,
    SL_CAUSE_ORIGIN,
    SL_CAUSE_LENGTH,
    SL_CAUSE_PAPER,
    SL_CAUSE_COUNT,
};
/* "closer", "both-sides", "shadow", "blur", "dark", "clipped", "clean-paper", "front", "origin",
 * "length", "paper" */
SL_API const char *sl_cause_name(enum sl_cause cause);
SL_API bool sl_cause_from_name(const char *name, enum sl_cause *ret);

enum sl_number_kind { SL_NUMBER_RF, SL_NUMBER_SHARE, SL_NUMBER_RETAINED, SL_NUMBER_BOUND };
enum { SL_NUMBER_KINDS = SL_NUMBER_BOUND + 1 };
/* "rf", "share", "retained", "bound" */
SL_API const char *sl_number_kind_name(enum sl_number_kind kind);

/* On one kind of number. `gain` is the part of all its intervals together that would go, 0 where
 * that would not be noticed; the rest shows it on the number whose interval shrinks most. */
struct sl_advice_effect {
    double gain;
    size_t band; /* of rf and share */
    double now[2], then[2];
};

struct sl_advice {
    enum sl_cause cause;
    double gain; /* the greatest of its effects'; INFINITY: more than the intervals tell */
    struct sl_advice_effect effect[SL_NUMBER_KINDS];
};

/* What would help most first; empty for a photo that limits nothing. */
struct sl_advice_list {
    size_t count;
    struct sl_advice item[SL_ADVICE_MAX];
};

/* One strip's advice: needs `bands->has_without`, else there is none. `length_mm` is the strip's,
 * NAN where no scale is known; `photo_warnings` are those of the search, `strip_warnings` those of
 * the strip. Nothing can fail; `ret` is overwritten. */
SL_API void sl_advise(const struct sl_photo_info *photo, const struct sl_outline *outline,
                      const struct sl_marks *marks, double length_mm, const struct sl_bands *bands,
                      const struct sl_warnings *photo_warnings,
                      const struct sl_warnings *strip_warnings, struct sl_advice_list *ret);

/* "Mark the front with a pencil tick while the paper is wet: the Rf of band 2, now 0.31 to 0.50,
 * would be about 0.39 to 0.42." `where` stands behind the number, such as " on strip 2"; may be
 * "". `ret` has room for `size` bytes, of which SL_ADVICE_BYTES are always enough. */
SL_API void sl_advice_words(const struct sl_advice *advice, const char *where, char *ret,
                            size_t size);
/* The same of the retention index; empty where that would not be noticed. */
SL_API void sl_advice_index_words(const struct sl_advice *advice, char *ret, size_t size);

#endif
