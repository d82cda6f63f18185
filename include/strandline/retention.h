// SPDX-License-Identifier: GPL-3.0-or-later
/* Retention: the strip dipped at once compared with the one that dried first, and the verdict. An
 * indicator of water resistance, never a claim of permanence.
 *
 * Ownership: a document owns its readings and pairs (finish); pairs are plain values. */
#ifndef STRANDLINE_RETENTION_H
#define STRANDLINE_RETENTION_H

#include "strandline/replicate.h"

enum { SL_REASONS_MAX = 8, SL_REASON_BYTES = 240 };

/* A component counts as likely water-resistant from this bound share of the dried strip on. */
#define SL_BOUND_LIMIT 0.08

enum sl_level {
    SL_LEVEL_NONE,
    SL_LEVEL_TRACE,
    SL_LEVEL_PARTIAL,
    SL_LEVEL_STRONG,
    SL_LEVEL_UNDECIDED
};
SL_API const char *sl_level_name(enum sl_level level);

/* The level of a bound share that is known exactly: limits at 0.02, SL_BOUND_LIMIT and 0.30, a
 * scale of this project's own. */
SL_API enum sl_level sl_level_of(double bound_share);

enum sl_hold { SL_HOLD_NOTHING, SL_HOLD_AT_ONCE, SL_HOLD_AS_IT_DRIES, SL_HOLD_UNCLEAR };
/* "nothing", "at once", "as it dries", "unclear" */
SL_API const char *sl_hold_name(enum sl_hold hold);

struct sl_pair {
    char ink[SL_NAME_MAX];
    struct sl_strip_ref immediate, dried;
    double immediate_bound_share, immediate_bound_interval[2];
    double dried_bound_share, dried_bound_interval[2];
    double index, index_interval[2]; /* 100 x bound share of the dried strip */
    enum sl_level level;
    bool water_resistant; /* by the bound share itself; worth believing only where `decided` */
    bool decided;         /* the interval lies wholly on one side of SL_BOUND_LIMIT */
    enum sl_hold hold;
    double retained_lab_d50[3];
    const char *retained_hue_name; /* "" where nothing was retained */
    size_t reason_count;
    char reason[SL_REASONS_MAX][SL_REASON_BYTES]; /* plain sentences, most important first */
    struct sl_warnings warnings;                  /* different conditions, different inks ... */
    size_t advice_count;
    char advice[SL_ADVICE_MAX][SL_ADVICE_BYTES]; /* what would narrow the index's interval */
};

/* One verdict of several strips of one ink: the pair's shares are the means of its replicates, its
 * `immediate` and `dried` the first strips of each. */
struct sl_combined {
    struct sl_pair pair;
    size_t immediate_count, dried_count; /* not both 1 */
    struct sl_strip_ref immediate[SL_REPLICATES_MAX], dried[SL_REPLICATES_MAX];
};

/* What one run of the program read: photos, the pairs made of them, and what replicates among them
 * say together. */
struct sl_document {
    size_t reading_count;
    struct sl_reading **reading; /* owned */
    size_t pair_count;
    struct sl_pair *pair; /* owned */
    size_t replicate_count;
    struct sl_replicate *replicate; /* owned */
    size_t combined_count;
    struct sl_combined *combined; /* owned */
};
SL_API void sl_document_init(struct sl_document *document);
SL_API void sl_document_finish(struct sl_document *document);
/* Takes ownership of `reading` on success. */
SL_API sl_code sl_document_add(struct sl_document *document, struct sl_reading *reading,
                               struct sl_status *status);

/* Judges one pair. SL_E_DIFFERENT_INKS where the user told two different inks; bands that can't be
 * of one ink give a warning in the pair. */
SL_API sl_code sl_pair_judge(const struct sl_document *document, struct sl_strip_ref immediate,
                             struct sl_strip_ref dried, struct sl_pair *ret,
                             struct sl_status *status);

/* Makes the pairs that the roles in the document give: within a photo the first immediate with the
 * next dried and so on; across photos of one strip each in the order given. SL_E_STRIP_COUNT if no
 * pair can be made. */
SL_API sl_code sl_document_make_pairs(struct sl_document *document, struct sl_status *status);

/* Finds the replicates in the document, and where it has pairs, combines those of one ink to one
 * verdict. Call it after the pairs are made. SL_E_MEMORY. */
SL_API sl_code sl_document_make_replicates(struct sl_document *document, struct sl_status *status);

SL_API const char *sl_retention_caution(void);

#endif
