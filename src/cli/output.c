// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

enum { COLUMNS_USUAL = 80, COLUMNS_MIN = 40, COLUMNS_MAX = 200, EXIT_IO = 74 /* sysexits.h */ };

bool cli_wants_files(const struct cli_options *options)
{
    return options->csv_bands || options->csv_profiles || options->csv_replicates ||
           options->html || options->figures;
}

static bool same_file(const char *a, const char *b)
{
    struct stat at, bt;
    if (strcmp(a, b) == 0)
        return true;
    return stat(a, &at) == 0 && stat(b, &bt) == 0 && S_ISREG(at.st_mode) &&
           at.st_dev == bt.st_dev && at.st_ino == bt.st_ino;
}

sl_code cli_check_not_input(const struct cli_options *options, const char *path,
                            struct sl_status *status)
{
    for (size_t i = 0; i < options->input_count; i++)
        if (same_file(path, options->input[i]))
            return sl_status_set(status, SL_E_USAGE, "cli/output", "Name another file to write.",
                                 "%s is one of the files to be read and is not overwritten", path);
    return SL_OK;
}

sl_code cli_check_outputs(const struct cli_options *options, struct sl_status *status)
{
    const char *path[] = {options->output, options->csv_bands, options->csv_profiles,
                          options->csv_replicates, options->html};
    enum { COUNT = sizeof path / sizeof *path };
    for (size_t i = 0; i < COUNT; i++) {
        sl_code code = path[i] ? cli_check_not_input(options, path[i], status) : SL_OK;
        if (code != SL_OK)
            return code;
        for (size_t k = 0; path[i] && k < i; k++)
            if (path[k] && same_file(path[i], path[k]))
                return sl_status_set(status, SL_E_USAGE, "cli/output", "Give each its own file.",
                                     "%s was named for two different outputs", path[i]);
    }
    return SL_OK;
}

typedef sl_code make_text(const struct cli_session *session, const struct sl_overlay *overlay,
                          char **ret, struct sl_status *status);

static sl_code make_csv_bands(const struct cli_session *session, const struct sl_overlay *overlay,
                              char **ret, struct sl_status *status)
{
    (void)overlay;
    return sl_report_csv_bands(&session->document, ret, status);
}

static sl_code make_csv_profiles(const struct cli_session *session,
                                 const struct sl_overlay *overlay, char **ret,
                                 struct sl_status *status)
{
    (void)overlay;
    return sl_report_csv_profiles(&session->document, ret, status);
}

static sl_code make_csv_replicates(const struct cli_session *session,
                                   const struct sl_overlay *overlay, char **ret,
                                   struct sl_status *status)
{
    (void)overlay;
    return sl_report_csv_replicates(&session->document, ret, status);
}

static sl_code make_html(const struct cli_session *session, const struct sl_overlay *overlay,
                         char **ret, struct sl_status *status)
{
    return sl_report_html(&session->document, overlay, ret, status);
}

static int terminal_columns(void)
{
    struct winsize size;
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col < COLUMNS_MIN)
        return COLUMNS_USUAL;
    return size.ws_col > COLUMNS_MAX ? COLUMNS_MAX : size.ws_col;
}

/* NO_COLOR counts when it is set to anything but an empty text (no-color.org, 2017). */
static bool wants_colour(const struct cli_options *options)
{
    if (options->colour != CLI_COLOUR_AUTO)
        return options->colour == CLI_COLOUR_ALWAYS;
    const char *no_color = getenv("NO_COLOR"), *term = getenv("TERM");
    return !(no_color && no_color[0]) && !options->output && isatty(STDOUT_FILENO) && term &&
           strcmp(term, "dumb") != 0;
}

static sl_code make_main(const struct cli_session *session, const struct sl_overlay *overlay,
                         char **ret, struct sl_status *status)
{
    enum { JSON_INDENT = 2 };
    if (session->options->form != CLI_TEXT) {
        /* indented, profiles would make a line of every number: only for who looks at it */
        bool is_looked_at = !session->options->output && isatty(STDOUT_FILENO);
        return sl_report_json(&session->document, overlay, is_looked_at ? JSON_INDENT : 0, ret,
                              status);
    }
    struct sl_text_options text = {.colour = wants_colour(session->options),
                                   .width = terminal_columns()};
    return sl_report_text(&session->document, overlay, &text, ret, status);
}

static void emit_file(struct cli_session *session, const struct sl_overlay *overlay,
                      const char *path, make_text *make)
{
    struct sl_status status;
    char *text = NULL;
    if (!path || cli_stopped())
        return;
    if (make(session, overlay, &text, &status) != SL_OK ||
        sl_write_file(path, text, strlen(text), &status) != SL_OK)
        cli_fail(session, path, &status);
    free(text);
}

void cli_emit_files(struct cli_session *session, const struct sl_overlay *overlay)
{
    const struct cli_options *o = session->options;
    if (cli_nothing_read(&session->document))
        return; /* a report on nothing would only hide the problem that was told */
    if (o->figures)
        cli_emit_figures(session, overlay); /* first: it makes the folder that others may use */
    emit_file(session, overlay, o->csv_bands, make_csv_bands);
    emit_file(session, overlay, o->csv_profiles, make_csv_profiles);
    emit_file(session, overlay, o->csv_replicates, make_csv_replicates);
    emit_file(session, overlay, o->html, make_html);
}

void cli_emit_text(struct cli_session *session, const char *text)
{
    struct sl_status status;
    const char *path = session->options->output;
    if (!path)
        fputs(text, stdout);
    else if (sl_write_file(path, text, strlen(text), &status) != SL_OK)
        cli_fail(session, path, &status);
}

/* Text ends in a line's end; JSON comes without one. */
static sl_code end_line(char **text, struct sl_status *status)
{
    size_t n = strlen(*text);
    if (n > 0 && (*text)[n - 1] == '\n')
        return SL_OK;
    char *longer = realloc(*text, n + 2);
    if (!longer)
        return sl_status_set(status, SL_E_MEMORY, "cli/output", "Close other programs.",
                             "There is not enough memory to write the result");
    memcpy(longer + n, "\n", 2);
    *text = longer;
    return SL_OK;
}

void cli_emit(struct cli_session *session, const struct sl_overlay *overlay)
{
    struct sl_status status;
    char *text = NULL;
    cli_emit_files(session, overlay);
    bool is_empty_table =
        session->options->form == CLI_TEXT && cli_nothing_read(&session->document);
    if (cli_stopped() || is_empty_table)
        return;
    if (make_main(session, overlay, &text, &status) != SL_OK || end_line(&text, &status) != SL_OK)
        cli_fail(session, NULL, &status);
    else
        cli_emit_text(session, text);
    free(text);
}

int cli_close_stdout(int exit_code)
{
    int failed_before = ferror(stdout);
    errno = 0;
    if (fclose(stdout) == 0 && !failed_before)
        return exit_code;
    struct sl_status status;
    sl_status_set(&status, SL_E_WRITE, "cli/output", "Make room, or use --output FILE.",
                  "Standard output can't be written: %s",
                  errno ? strerror(errno) : "an earlier part failed");
    cli_message(NULL, &status);
    return exit_code ? exit_code : EXIT_IO;
}
