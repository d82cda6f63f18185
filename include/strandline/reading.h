// SPDX-License-Identifier: GPL-3.0-or-later
/* Readings: all that was read from one photo's strips, with settings, photo hash and warnings: the
 * thing that is saved, shown and compared.
 *
 * Ownership: a reading is made by sl_read (or by loading JSON, see report.h) and freed by
 * sl_reading_destroy (NULL allowed); everything inside belongs to it. */
#ifndef STRANDLINE_READING_H
#define STRANDLINE_READING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "strandline/advice.h"
#include "strandline/band.h"
#include "strandline/photo.h"
#include "strandline/profile.h"
#include "strandline/status.h"
#include "strandline/strip.h"

enum { SL_NAME_MAX = 96 };

enum sl_role { SL_ROLE_SINGLE, SL_ROLE_IMMEDIATE, SL_ROLE_DRIED };
/* "single", "immediate", "dried" */
SL_API const char *sl_role_name(enum sl_role role);
SL_API bool sl_role_from_name(const char *name, enum sl_role *ret);

/* What the user tells about the test; empty or NAN: not told. Travels into every output. */
struct sl_conditions {
    char ink[SL_NAME_MAX], paper[SL_NAME_MAX], solvent[SL_NAME_MAX];
    double dip_s, dried_min;
    char date[20]; /* "YYYY-MM-DD HH:MM:SS", from EXIF unless told */
};
SL_API void sl_conditions_init(struct sl_conditions *conditions);

enum sl_scale_source { SL_SCALE_NONE, SL_SCALE_GIVEN };
SL_API const char *sl_scale_source_name(enum sl_scale_source source);

/* A small 8-bit sRGB picture of the straightened strip, light removed, upright (first row is the
 * upper end), for figures. Empty (NULL) in a reading loaded from JSON. */
struct sl_picture {
    int width, height;
    uint8_t *rgb; /* height x width x 3, owned */
};

struct sl_strip {
    enum sl_role role;
    char ink[SL_NAME_MAX];
    struct sl_outline outline;
    struct sl_marks marks;
    double length_mm; /* NAN: no scale */
    enum sl_scale_source scale_source;
    struct sl_profile profile;
    struct sl_bands bands;
    struct sl_picture picture;
    struct sl_warnings warnings;
    struct sl_advice_list advice;
};

/* Settings of one run of sl_read. Hints apply to strips in their order, left to right; a single
 * one without corners holds for every strip; more hints than strips is SL_E_USAGE. Where every hint
 * has corners the photo is not searched: the hints alone say which strips there are. Where only
 * some have, these take the place of the strips found there in the order. */
struct sl_read_options {
    size_t hint_count;
    struct sl_strip_hints hint[SL_STRIPS_MAX];
    size_t role_count; /* roles told for the strips, left to right; one: for all; 0: by the usual
                          order */
    enum sl_role role[SL_STRIPS_MAX];
    size_t ink_count; /* inks told for the strips, left to right; one: for all */
    char ink[SL_STRIPS_MAX][SL_NAME_MAX];
    struct sl_conditions conditions;
    struct sl_profile_options profile;
    bool bound_later; /* bound shares, which take longest, are left open where they are not known */
};
SL_API void sl_read_options_init(struct sl_read_options *options);

struct sl_reading {
    struct sl_photo_info photo;
    struct sl_conditions conditions;
    struct sl_status error; /* code SL_OK: none; a reading with an error has no strips */
    struct sl_warnings warnings;
    size_t strip_count;
    struct sl_strip *strip; /* left to right */
    /* What was set by hand, for the "settings" of the JSON. */
    struct sl_read_options settings;
};

/* A strip among many readings. */
struct sl_strip_ref {
    size_t photo, strip; /* indices */
};

/* The ink told for the strip, or else for its photo; "" where none was told. */
SL_API const char *sl_strip_ink(const struct sl_reading *reading, size_t strip);
/* Whether two names told by a user mean one thing, whatever their capitals; one that was not told
 * agrees with every other. */
SL_API bool sl_name_same(const char *a, const char *b);
/* What was told to be different in how two strips were run, such as "paper (A, B), time in the
 * water (10 s, 20 s)"; "" where nothing is. The strips of a pair were run in one go, so dates
 * count; of replicates how long they dried does. */
SL_API void sl_strips_differ(const struct sl_reading *const reading[2], const size_t strip[2],
                             bool replicates, char *ret, size_t size);

/* Reads one photo. A photo that can't be read gives a reading with `error` set and SL_OK is
 * returned: one bad photo must not stop a batch. Only SL_E_MEMORY and SL_E_USAGE / SL_E_RANGE of
 * the options are returned, and SL_E_CANCELLED of a photo that is open already. */
SL_API sl_code sl_read(const char *path, const struct sl_read_options *options,
                       struct sl_reading **ret, struct sl_status *status);
/* The same for a photo that is open already (the caller closes it). */
SL_API sl_code sl_read_photo(struct sl_photo *photo, const struct sl_warnings *photo_warnings,
                             const struct sl_read_options *options, struct sl_reading **ret,
                             struct sl_status *status);
SL_API void sl_reading_destroy(struct sl_reading *reading);

/* One photo read again and again while values are set by hand. What a change leaves as it was is
 * kept, and each reading is exactly what sl_read gives for the same options. A reader serves one
 * thread at a time. Ownership: opaque (open/close); it opens the photo when it needs it. `name` is
 * used in place of the path in readings and messages. */
struct sl_reader;
SL_API sl_code sl_reader_open(const char *path, const char *name, struct sl_reader **ret,
                              struct sl_status *status);
SL_API void sl_reader_close(struct sl_reader *reader);
/* Is told of progress, 0..1, by sl_reader_read. */
SL_API void sl_reader_watch(struct sl_reader *reader, void (*progress)(void *context, double part),
                            void *context);
/* Ends what the reader does from now on, as sl_photo_set_cancel; one that was cancelled can be used
 * again. */
SL_API void sl_reader_set_cancel(struct sl_reader *reader, struct sl_cancel cancel);
/* `previous`: the reading that this reader made last, or NULL; what has not changed is copied from
 * there. Errors as for sl_read. */
SL_API sl_code sl_reader_read(struct sl_reader *reader, const struct sl_read_options *options,
                              const struct sl_reading *previous, struct sl_reading **ret,
                              struct sl_status *status);
/* The photo, lent until sl_reader_rest. */
SL_API sl_code sl_reader_photo(struct sl_reader *reader, struct sl_photo **ret,
                               struct sl_status *status);
/* Decodes and straightens what the next change needs, so that it is quick; regions of the photo
 * cost no decoding then. */
SL_API sl_code sl_reader_wake(struct sl_reader *reader, struct sl_status *status);
/* Gives back all memory that can be had again from the file. */
SL_API void sl_reader_rest(struct sl_reader *reader);

/* A sheet as a small picture, its rows' first at the upper end, in the outline's proportions, its
 * values taken for linear light. `ret->rgb` is for free(). SL_E_MEMORY. */
SL_API sl_code sl_picture_of_sheet(const struct sl_sheet *sheet, const struct sl_outline *outline,
                                   struct sl_picture *ret, struct sl_status *status);

/* What would help most on the next photo, for all its strips together: of each cause the strip that
 * gains most, greatest gain first. */
struct sl_reading_advice {
    size_t count;
    struct {
        size_t strip;
        const struct sl_advice *advice; /* the strip's own */
    } item[SL_ADVICE_MAX];
};
SL_API void sl_reading_advise(const struct sl_reading *reading, struct sl_reading_advice *ret);
/* One of them in a sentence. */
SL_API void sl_reading_advice_words(const struct sl_reading *reading,
                                    const struct sl_reading_advice *advice, size_t index, char *ret,
                                    size_t size);

/* Whether no ink was found: nothing of the strip's numbers but its geometry means anything. */
SL_API bool sl_strip_is_blank(const struct sl_strip *strip);

/* How far from the origin dye counts as retained: half the ink line's width + 1 mm, in fractions of
 * the strip's length; without a scale the line's width stands for the millimetre. */
SL_API double sl_strip_retained_reach(const struct sl_strip *strip);

/* Rf of a position along the strip. */
SL_API double sl_strip_rf(const struct sl_strip *strip, double position);

#endif
