// SPDX-License-Identifier: GPL-3.0-or-later
/* The words on figures and in the page: the same number is written the same way everywhere.
 * All write a 0-ended text that fits `size`; an interval may be NULL. */
#ifndef STRANDLINE_FIGURE_WORDS_H
#define STRANDLINE_FIGURE_WORDS_H

#include <stddef.h>

#include "strandline/overlay.h"
#include "strandline/retention.h"

enum { WORDS_BYTES = 1024 };

/* Decimal points whatever the caller's locale is; begin and end in one thread. */
struct words_locale {
    void *made, *before;
};
struct words_locale words_locale_begin(void);
void words_locale_end(struct words_locale locale);

/* "0.42 (0.41–0.43)"; the value alone where the interval is not known, "–" where nothing is. */
void words_rf(double rf, const double interval[2], char *ret, size_t size);
/* "31 % (28–34)" of a share 0..1. */
void words_share(double share, const double interval[2], char *ret, size_t size);
/* "212° (209–215)" of a hue angle; all within 0..360, so that an interval across 0 reads "(357–4)".
 */
void words_hue(double deg, const double interval[2], char *ret, size_t size);
/* "23 (18–29)" */
void words_index(double index, const double interval[2], char *ret, size_t size);

/* "dipped at once", "dried first", "single strip" */
const char *words_role(enum sl_role role);
/* The same of replicates; "run alike" where no role is known. */
const char *words_treatment(enum sl_role role);
/* The strip's ink or the one told for the whole photo; without any the file's name and the strip's
 * number. */
void words_strip_name(const struct sl_reading *reading, size_t strip, char *ret, size_t size);
/* The pair's ink, or the name of the file that the dried strip is in. */
const char *words_pair_name(const struct sl_document *document, const struct sl_pair *pair);
/* A file's name without its folders. */
const char *words_file(const char *path);
/* "dried first · water · 12 s dip · 10 min dried · Paper · 2026-05-03"; what was not told is left
 * out. Role SINGLE leaves the role out. */
void words_conditions(const struct sl_conditions *conditions, enum sl_role role, char *ret,
                      size_t size);
/* The load axis' title; a factor > 0 tells what the dashed line is. */
void words_load_axis(double factor, const char *more, char *ret, size_t size);
/* What is known of the front, empty where it was seen. */
const char *words_front_doubt(const struct sl_strip *strip);

/* The strip's result in sentences. */
void words_strip(const struct sl_strip *strip, char *ret, size_t size);
/* The retained and bound share in one sentence; empty for a blank strip. */
void words_retained(const struct sl_strip *strip, char *ret, size_t size);

/* "very likely (94 %)"; empty for NAN. */
void words_likely(double probability, char *ret, size_t size);

/* The verdict, in the order in which it is told. The answer in few words: "Partly stays"; where
 * nobody can tell the range, "4 to 12 % stays"; where there is no verdict why, "No ink found". */
void words_answer(const struct sl_pair *pair, char *ret, size_t size);
/* How sure the answer is, a sentence; empty where there is no verdict. */
void words_sure(const struct sl_pair *pair, char *ret, size_t size);
/* "Retention index 23 (15–31): level partial, likely (81 %)."; empty likewise. */
void words_level(const struct sl_pair *pair, char *ret, size_t size);
/* "Likely (72 %): holds more once dry."; empty where that is of no matter. */
void words_drying(const struct sl_pair *pair, char *ret, size_t size);
/* The answer to "Would a longer soak take it?", marked as inferred, with what would settle it;
 * empty where nothing stays or that is not known yet. */
void words_soak(const struct sl_pair *pair, char *ret, size_t size);
/* All of it. */
void words_pair(const struct sl_pair *pair, char *ret, size_t size);

/* Where an index stands on the drawn scale, 0..1: the levels are equally wide and even inside. */
double words_scale_place(double index);

#endif
