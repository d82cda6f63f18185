// SPDX-License-Identifier: GPL-3.0-or-later
/* The terminal's face: what its files share. It uses the library's public headers alone.
 *
 * Order of use: cli_options_parse, then the verb's run, which loads (input.c), judges and emits
 * (output.c). Data goes to standard output, everything else to standard error.
 * Ownership: options point into argv and need no cleanup. */
#ifndef STRANDLINE_CLI_H
#define STRANDLINE_CLI_H

#include <stdbool.h>
#include <stddef.h>

#include "strandline/figure.h"
#include "strandline/report.h"

enum {
    CLI_HAND_PHOTOS_MAX = 32, /* photos whose values can be told apart on one command line */
    CLI_INKS_MAX = 128,
};

/* Values set by hand: photo by photo, and in each from the left strip to the right one. NAN: find
 * it. One row: for every photo. One value in a row: for every strip. */
struct cli_row {
    size_t count;
    double value[SL_STRIPS_MAX];
};
struct cli_list {
    size_t photo_count;
    struct cli_row photo[CLI_HAND_PHOTOS_MAX];
};
struct cli_quad {
    bool given;
    struct sl_point corner_px[4];
};
/* Limits of the bands of one strip. */
struct cli_bands {
    size_t count;
    struct sl_band_limits item[SL_HINT_BANDS_MAX];
};
struct cli_band_list {
    size_t photo_count;
    size_t strip_count[CLI_HAND_PHOTOS_MAX];
    struct cli_bands bands[CLI_HAND_PHOTOS_MAX][SL_STRIPS_MAX];
};
struct cli_hand {
    struct cli_list origin, front, length_mm, upside_down, roles;
    size_t corner_rows; /* photos that corners were told for */
    size_t corner_count[CLI_HAND_PHOTOS_MAX];
    struct cli_quad corners[CLI_HAND_PHOTOS_MAX][SL_STRIPS_MAX];
    size_t corner_options; /* how often --corners was given: each is the next strip */
    double paper_reflectance[3];
    struct cli_band_list band_limits;
};

enum cli_form { CLI_TEXT, CLI_JSON, CLI_JSON_LINES };
enum cli_colour { CLI_COLOUR_AUTO, CLI_COLOUR_ALWAYS, CLI_COLOUR_NEVER };

struct cli_options {
    size_t input_count;
    char **input;
    enum cli_form form;
    const char *output, *csv_bands, *csv_profiles, *csv_replicates,
        *html;               /* files; NULL: not wanted */
    bool steps;              /* figures of how strips were read */
    const char *figures;     /* folder; NULL: not wanted */
    unsigned figure_formats; /* bits 1u << enum sl_figure_format */
    bool normalise, quiet, help, no_open;
    int port; /* of the page; 0: a free one */
    enum cli_colour colour;
    size_t ink_count;
    const char *ink[CLI_INKS_MAX];
    struct sl_conditions conditions;
    struct cli_hand hand;
};

enum {
    CLI_READ = 1u << 0,
    CLI_PAIR = 1u << 1,
    CLI_OVERLAY = 1u << 2,
    CLI_BENCH = 1u << 3,
    CLI_READERS = CLI_READ | CLI_PAIR | CLI_OVERLAY, /* the verbs that take photos */
};

struct cli_verb {
    const char *name;
    unsigned bit;
    const char *synopsis; /* its arguments, for the first line of the help */
    const char *summary;  /* one line for the list of verbs */
    const char *about;    /* a paragraph for its own help */
    const char *example;
    int (*run)(const struct cli_options *options); /* gives the exit code */
};
extern const struct cli_verb cli_verb_read, cli_verb_pair, cli_verb_overlay, cli_verb_bench;

/* options.c */
sl_code cli_options_parse(int argc, char **argv, const struct cli_verb *verb,
                          struct cli_options *ret, struct sl_status *status);
void cli_print_help(const struct cli_verb *verb);

/* hand.c: values set by hand, from text to what the library takes. */
struct cli_limit {
    const char *option; /* with its dashes */
    double low, high;
};
void cli_hand_init(struct cli_hand *hand);
sl_code cli_number(const char *text, const struct cli_limit *limit, double *ret,
                   struct sl_status *status);
sl_code cli_list_parse(const char *text, const struct cli_limit *limit, struct cli_list *ret,
                       struct sl_status *status);
sl_code cli_flags_parse(const char *text, struct cli_list *ret, struct sl_status *status);
sl_code cli_roles_parse(const char *text, struct cli_list *ret, struct sl_status *status);
sl_code cli_corners_parse(const char *text, struct cli_hand *hand, struct sl_status *status);
sl_code cli_bands_parse(const char *text, struct cli_band_list *ret, struct sl_status *status);
sl_code cli_reflectance_parse(const char *text, double ret[3], struct sl_status *status);
/* Where no roles were told none are assumed: a row of strips is a row of inks. */
void cli_hand_roles_single(struct cli_hand *hand);
/* What can only be judged when all options are known. */
sl_code cli_hand_check(const struct cli_hand *hand, size_t photo_count, struct sl_status *status);
void cli_hand_apply(const struct cli_hand *hand, size_t photo, struct sl_read_options *ret);

void cli_print_version(void); /* version.c */

/* One run of the program: what was loaded so far and how it went. Owns its document (finish). */
struct cli_session {
    const struct cli_options *options;
    struct sl_document document;
    size_t inks_used; /* of several inks told, strip after strip */
    int exit_code;    /* of the first problem */
};
void cli_session_init(struct cli_session *session, const struct cli_options *options);
void cli_session_finish(struct cli_session *session);
/* Whether no photo gave a strip: each photo's problem has been told then, and is enough. */
bool cli_nothing_read(const struct sl_document *document);

/* message.c: lines on standard error. */
void cli_message(const char *name, const struct sl_status *status);
void cli_fail(struct cli_session *session, const char *name, const struct sl_status *status);
void cli_progress(const struct cli_options *options, size_t index);
void cli_progress_end(const struct cli_options *options);

/* signals.c: a first interrupt lets the step in hand end and nothing more be written; while photos
 * are read it ends the program. */
void cli_signals_catch(void);
void cli_signals_reading(bool begins);
bool cli_stopped(void);
void cli_signals_die(void);
/* What was caught has been served: the program ends as if by itself. */
void cli_signals_forget(void);

/* input.c: appends the photo, or the photos of the saved reading, at `index`. */
void cli_load(struct cli_session *session, size_t index);
/* After the last photo: whether as many inks were told as strips were found. */
bool cli_inks_fit(struct cli_session *session);

/* run.c: loads all inputs, lets `judge` (may be NULL) add pairs to the document, and emits. */
typedef sl_code cli_judge(struct sl_document *document, struct sl_status *status);
int cli_run(const struct cli_options *options, cli_judge *judge);

/* output.c: files appear whole or not at all. */
bool cli_wants_files(const struct cli_options *options);
sl_code cli_check_outputs(const struct cli_options *options, struct sl_status *status);
sl_code cli_check_not_input(const struct cli_options *options, const char *path,
                            struct sl_status *status);
/* The files that the options name, then the document as text or JSON to standard output or
 * --output. */
void cli_emit(struct cli_session *session, const struct sl_overlay *overlay);
void cli_emit_files(struct cli_session *session, const struct sl_overlay *overlay);
/* Ready text to standard output or --output. */
void cli_emit_text(struct cli_session *session, const char *text);
/* Closes standard output and gives the exit code, in which a failed close counts. */
int cli_close_stdout(int exit_code);

/* figures.c */
void cli_emit_figures(struct cli_session *session, const struct sl_overlay *overlay);

#endif
