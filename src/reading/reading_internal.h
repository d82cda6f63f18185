// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of this folder share. */
#ifndef SL_READING_INTERNAL_H
#define SL_READING_INTERNAL_H

#include "strandline/reading.h"

/* One strip on its way from outline to marks. */
struct sl_read_item {
    struct sl_outline found; /* as the finder gave it */
    struct sl_outline outline;
    struct sl_sheet sheet;
    struct sl_marks marks;
    struct sl_warnings warnings;
    struct sl_strip_hints hints;
    struct sl_band_work *work; /* owned; NULL: not made yet */
};

/* What the numbers of one strip follow from. */
struct sl_read_key {
    struct sl_outline found;
    struct sl_strip_hints hints; /* as used, direction settled */
    double length_mm;
    struct sl_profile_options averaging;
    bool bound_later;
};
/* All but the bands' limits and whether the bound share is known. */
bool sl_read_key_same_profile(const struct sl_read_key *a, const struct sl_read_key *b);
/* Whether what was measured for `had` is what `wanted` asks for. */
bool sl_read_key_same(const struct sl_read_key *had, const struct sl_read_key *wanted);

/* Everything of a strip but role, ink and scale. False: out of memory, `ret` is half made. */
bool sl_read_copy_measured(const struct sl_strip *from, struct sl_strip *ret);
bool sl_sheet_copy(const struct sl_sheet *from, struct sl_sheet *ret);

enum {
    SL_MEMO_SHEETS = SL_STRIPS_MAX + 2,    /* those of a photo and of some corners as they move */
    SL_MEMO_SIGHTS = 2,                    /* one strip is worked on at a time; 4 MB each */
    SL_MEMO_MARKS = 2 * SL_STRIPS_MAX + 2, /* a strip is read as found and as set by hand */
};
struct sl_memo_sheet {
    unsigned long used_at; /* 0: never */
    struct sl_outline outline;
    struct sl_sheet sheet; /* as straightened */
};
struct sl_memo_sight {
    unsigned long used_at; /* 0: never */
    struct sl_outline outline;
    int upside_down;
    struct sl_sight *sight;
};
struct sl_memo_marks {
    unsigned long used_at;
    struct sl_outline found;
    struct sl_strip_hints hints;
    struct sl_outline outline;
    struct sl_marks marks;
    struct sl_warnings warnings;
};
struct sl_read_memo {
    unsigned long clock;
    bool searched;
    sl_code search_code;
    struct sl_status search_status;
    struct sl_warnings search_warnings;
    struct sl_outlines outlines;
    struct sl_memo_sheet sheet[SL_MEMO_SHEETS];
    struct sl_memo_sight sight[SL_MEMO_SIGHTS];
    struct sl_memo_marks marks[SL_MEMO_MARKS];
    /* of the reading made last */
    const struct sl_reading *last; /* compared, never looked into */
    size_t last_count;
    struct sl_read_key last_key[SL_STRIPS_MAX];
    struct sl_band_work *last_work[SL_STRIPS_MAX]; /* owned; NULL: to be made again */
};
/* NULL where nothing fits; what is found is lent until the next call that keeps. */
const struct sl_sheet *sl_memo_sheet(struct sl_read_memo *memo, const struct sl_outline *outline);
void sl_memo_keep_sheet(struct sl_read_memo *memo, const struct sl_outline *outline,
                        const struct sl_sheet *sheet);
const struct sl_sight *sl_memo_sight(struct sl_read_memo *memo, const struct sl_outline *outline,
                                     int upside_down);
/* Takes the sight over. */
void sl_memo_keep_sight(struct sl_read_memo *memo, const struct sl_outline *outline,
                        int upside_down, struct sl_sight *sight);
const struct sl_memo_marks *sl_memo_marks(struct sl_read_memo *memo,
                                          const struct sl_outline *outline,
                                          const struct sl_strip_hints *hints);
void sl_memo_keep_marks(struct sl_read_memo *memo, const struct sl_read_item *item,
                        const struct sl_strip_hints *hints);
/* Keeps the works of the reading made last, which it takes over. */
void sl_memo_keep_works(struct sl_read_memo *memo, struct sl_read_item *items, size_t count);
/* Gives the memory of sheets, sights and works back. */
void sl_memo_rest(struct sl_read_memo *memo);

/* One run of sl_read_photo. */
struct sl_read_run {
    struct sl_photo *photo;
    const struct sl_read_options *options;
    struct sl_read_memo *memo;                    /* NULL: nothing is kept */
    const struct sl_reading *previous;            /* the reading made last, or NULL */
    void (*progress)(void *context, double part); /* may be NULL */
    void *progress_context;
};
sl_code sl_read_run(struct sl_read_run *run, const struct sl_warnings *photo_warnings,
                    struct sl_reading **ret, struct sl_status *status);
/* A reading that tells of a photo which can't be opened. */
sl_code sl_read_failed(const char *name, const struct sl_read_options *options,
                       const struct sl_warnings *warnings, const struct sl_status *problem,
                       struct sl_reading **ret, struct sl_status *status);

/* Index of a strip that should lie the other way round to agree with surer strips of the photo, or
 * -1. */
int sl_read_disagrees(const struct sl_read_item *items, size_t count);

/* Sorts items from left to right as seen with the lower ends down. */
void sl_read_sort(struct sl_read_item *items, size_t count);

/* Frees the strips of a reading and leaves it without any. */
void sl_reading_drop_strips(struct sl_reading *reading);

#endif
