// SPDX-License-Identifier: GPL-3.0-or-later
/* The one error model: a stable code, a sentence that says what is wrong, a sentence that says
 * what to do, and where it happened. Whoever detects a problem writes the message; whoever passes
 * it on adds nothing. The library never prints and never exits.
 *
 * Functions that can fail return sl_code (SL_OK is 0) and take `struct sl_status *status` last;
 * it is written on failure only and may be NULL. On failure outputs are left untouched.
 * Ownership: these are plain values, nothing to free. */
#ifndef STRANDLINE_STATUS_H
#define STRANDLINE_STATUS_H

#include <stdbool.h>
#include <stddef.h>

#if defined(__GNUC__)
#define SL_API __attribute__((visibility("default")))
#define SL_PRINTF(format_at, first) __attribute__((format(printf, format_at, first)))
#else
#define SL_API
#define SL_PRINTF(format_at, first)
#endif

enum {
    SL_MESSAGE_MAX = 320, /* bytes with the final 0; longer text is cut at a whole character */
    SL_WHERE_MAX = 48,
    SL_WARNINGS_MAX = 24, /* further warnings of one object are dropped */
};

/* Errors and warnings share the codes; sl_code_name gives the stable text used in JSON. */
typedef enum sl_code {
    SL_OK = 0,
    /* how it was called */
    SL_E_USAGE,
    SL_E_RANGE,              /* a hand-set value outside its limits */
    SL_E_ORIGIN_ABOVE_FRONT, /* hand-set origin not below the front */
    /* files */
    SL_E_NO_FILE,
    SL_E_NOT_A_FILE,
    SL_E_EMPTY_FILE,
    SL_E_READ,
    SL_E_WRITE,
    SL_E_FORMAT,    /* not a format that is read */
    SL_E_TRUNCATED, /* the file ends too early */
    SL_E_DAMAGED,
    SL_E_TOO_LARGE, /* a named limit is passed */
    SL_E_COLOUR_MODEL,
    SL_E_READING, /* a saved reading that can't be used */
    /* what the photo shows */
    SL_E_NO_STRIP,
    SL_E_CUT_OFF,
    SL_E_TOO_DARK,
    SL_E_BURNT_OUT,
    SL_E_BLURRED,
    SL_E_TOO_SMALL,   /* too few pixels on the strip */
    SL_E_STRIP_COUNT, /* a pair needs two strips, and the like */
    SL_E_DIFFERENT_INKS,
    /* the machine and the program */
    SL_E_MEMORY,
    SL_E_INTERNAL,
    SL_E_CANCELLED, /* by who asked for it (struct sl_cancel) */
    /* warnings: the number stands, with what is known against it */
    SL_W_NO_PROFILE, /* sRGB assumed */
    SL_W_PROFILE_DAMAGED,
    SL_W_EXIF_DAMAGED,
    SL_W_BLANK, /* a strip without ink: no bands */
    SL_W_CUT_OFF,
    SL_W_BLURRED,
    SL_W_DARK,
    SL_W_CLIPPED,
    SL_W_SATURATED,
    SL_W_UNEVEN_LIGHT,
    SL_W_NO_CLEAN_PAPER,
    SL_W_COLOURED_PAPER,
    SL_W_FEW_PIXELS,
    SL_W_ORIENTATION, /* which end was in the water is uncertain */
    SL_W_ORIGIN_UNSURE,
    SL_W_FRONT_UNSEEN,
    SL_W_PENCIL,      /* graphite on the ink line */
    SL_W_HIDDEN_PART, /* peg, tape, another strip */
    SL_W_BENT,
    SL_W_SMEAR,      /* a streak or gradient, no band of its own */
    SL_W_BAND_COUNT, /* one band more or less describes the strip about as well */
    SL_W_FIT,        /* the band fit is not unique or did not settle */
    SL_W_CONDITIONS,
    SL_W_DIFFERENT_INKS,
    SL_W_DISAGREES, /* one of several replicates */
    SL_W_ROLES,     /* roles were assumed */
    SL_W_GLYPHS,
    SL_CODE_COUNT
} sl_code;

struct sl_status {
    sl_code code;
    char message[SL_MESSAGE_MAX]; /* one sentence: what is wrong, with file, value and limit */
    char remedy[SL_MESSAGE_MAX];  /* one sentence: what to do; empty where the message says it */
    char where[SL_WHERE_MAX];     /* the step, such as "photo/jpeg" */
};

struct sl_warnings {
    size_t count;
    struct sl_status item[SL_WARNINGS_MAX];
};

/* How one who waits for long work ends it: the work calls `asked` often, from any of its threads,
 * and once that has said yes, ends with SL_E_CANCELLED. What was said stays said. `asked` NULL: it
 * goes on to its end. */
struct sl_cancel {
    bool (*asked)(void *context);
    void *context;
};

/* Stable lower-case name with hyphens, such as "no-strip"; "unknown" for a number outside. */
SL_API const char *sl_code_name(sl_code code);

/* Exit code after sysexits.h: 64 usage, 65 data, 66 no input, 70 internal, 71 memory, 73/74 output,
 * 75 cancelled. */
SL_API int sl_code_exit(sl_code code);

/* Fills `status` (if not NULL) and returns `code`, so that a caller can write
 * `return sl_status_set(status, SL_E_..., "photo/png", "What to do.", "What is wrong: %s", x);` */
SL_API sl_code sl_status_set(struct sl_status *status, sl_code code, const char *where,
                             const char *remedy, const char *format, ...) SL_PRINTF(5, 6);

/* Appends a warning; a second one of the same code is dropped. `warnings` may be NULL. */
SL_API void sl_warn(struct sl_warnings *warnings, sl_code code, const char *where,
                    const char *remedy, const char *format, ...) SL_PRINTF(5, 6);

/* Whether a warning of this code is there. */
SL_API int sl_warned(const struct sl_warnings *warnings, sl_code code);

#endif
