// SPDX-License-Identifier: GPL-3.0-or-later
/* Retention: the strip dipped at once compared with the one that dried first, and the verdict. An
 * indicator of water resistance, never a claim of permanence.
 *
 * The verdict rests on the retained share of the dried strip: what lies at the ink line when the
 * strip is taken out can be seen. Whether a longer soak would take that too is a second statement,
 * inferred from the bound share.
 * Ownership: a document owns its readings and pairs (finish); pairs are plain values. */
#ifndef STRANDLINE_RETENTION_H
#define STRANDLINE_RETENTION_H

#include "strandline/replicate.h"

enum { SL_REASONS_MAX = 8, SL_REASON_BYTES = 240 };

/* An ink counts as water-resistant from this retained share of the dried strip on; where levels
 * begin otherwise. A scale of this project's own (common practice, no source, is only that about a
 * tenth left behind counts as resistant): below 0.02 lies what a strip's noise and a rim of dried
 * ink can feign; from 0.30 on the line is plainly there to the eye. */
#define SL_RETAINED_LIMIT 0.08
#define SL_TRACE_LIMIT 0.02
#define SL_STRONG_LIMIT 0.30

enum sl_level { SL_LEVEL_NONE, SL_LEVEL_TRACE, SL_LEVEL_PARTIAL, SL_LEVEL_STRONG };
enum { SL_LEVELS = SL_LEVEL_STRONG + 1 };
/* "none", "trace", "partial", "strong" */
SL_API const char *sl_level_name(enum sl_level level);
/* The level of a retained share that is known exactly. */
SL_API enum sl_level sl_level_of(double retained_share);

/* The probability that a share is at least `limit`, by a normal law about it with the standard
 * deviation that its 95 % interval's width gives. 0..1; NAN where a number is missing. */
SL_API double sl_share_at_least(double share, const double interval[2], double limit);

/* From SL_LIKELY on a statement is made, up to SL_UNLIKELY its contrary; between them nobody can
 * tell. */
#define SL_LIKELY 0.66
#define SL_UNLIKELY 0.33
/* A probability in words: "virtually certain", "very likely", "likely", "about as likely as not",
 * "unlikely", "very unlikely", "exceptionally unlikely"; "" for NAN. M. D. Mastrandrea et al.,
 * Guidance Note for Lead Authors of the IPCC Fifth Assessment Report on Consistent Treatment of
 * Uncertainties (IPCC, 2010), table 1: 99, 90, 66, 33, 10, 1 %. */
SL_API const char *sl_likelihood_words(double probability);

/* Why a pair has no verdict. */
enum sl_unjudged {
    SL_JUDGED,           /* it has one */
    SL_UNJUDGED_BLANK,   /* no ink was found on a strip */
    SL_UNJUDGED_ORIGIN,  /* the ink line of the dried strip may lie outside the photo */
    SL_UNJUDGED_CLIMB,   /* the water hardly rose above the line of the dried strip */
    SL_UNJUDGED_TWO_INKS /* the strips may be of two inks, and no one told that it is one */
};
/* "", "blank", "no origin", "water too low", "two inks" */
SL_API const char *sl_unjudged_name(enum sl_unjudged why);

/* The answer to "does it stay when water passes?", each with what has to be true of the dried
 * strip's retained share. */
enum sl_answer {
    SL_ANSWER_NONE,         /* no verdict */
    SL_ANSWER_WASHES_AWAY,  /* below SL_RETAINED_LIMIT */
    SL_ANSWER_OPEN,         /* nobody can tell on which side of SL_RETAINED_LIMIT it lies */
    SL_ANSWER_PARTLY_STAYS, /* at least SL_RETAINED_LIMIT */
    SL_ANSWER_STAYS         /* at least SL_STRONG_LIMIT */
};
/* "none", "washes away", "open", "partly stays", "stays" */
SL_API const char *sl_answer_name(enum sl_answer answer);

/* The verdict's numbers are NAN where there is none; shares of a strip without ink or origin, and
 * bound shares that were left open. */
struct sl_pair {
    char ink[SL_NAME_MAX];
    struct sl_strip_ref immediate, dried;
    double immediate_retained_share, immediate_retained_interval[2];
    double dried_retained_share, dried_retained_interval[2];
    double immediate_bound_share, immediate_bound_interval[2];
    double dried_bound_share, dried_bound_interval[2];
    enum sl_unjudged unjudged;
    double index, index_interval[2]; /* 100 x retained share of the dried strip */
    /* By sl_share_at_least, less sure where it is doubtful which end was in the water. */
    double level_probability[SL_LEVELS];
    enum sl_level level;                /* the likeliest */
    double water_resistant_probability; /* of at least SL_RETAINED_LIMIT */
    bool water_resistant;               /* from 0.5 on */
    enum sl_answer answer;
    double answer_probability; /* that the answer holds; of an open one water_resistant_probability
                                */
    /* How much more the dried strip retained, and the probability of SL_TRACE_LIMIT and more. */
    double drying_difference, drying_interval[2], drying_probability;
    /* That SL_RETAINED_LIMIT and more of the dried strip's dye is bound; never near 0 or 1, as the
     * model behind the bound share may be wrong. */
    double soak_probability;
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
 * of one ink leave it unjudged unless the user told that it is one, and give a warning. */
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
