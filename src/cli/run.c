// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Lines of a batch, collected when they go to a file. */
struct lines {
    char *text;
    size_t bytes;
};

static sl_code append(struct lines *lines, const char *line, struct sl_status *status)
{
    size_t n = strlen(line);
    char *longer = realloc(lines->text, lines->bytes + n + 2);
    if (!longer)
        return sl_status_set(status, SL_E_MEMORY, "cli", "Read the photos in smaller groups.",
                             "There is not enough memory for the JSON of all photos");
    memcpy(longer + lines->bytes, line, n);
    memcpy(longer + lines->bytes + n, "\n", 2);
    lines->text = longer;
    lines->bytes += n + 1;
    return SL_OK;
}

static void put_line(struct cli_session *session, const char *line, struct lines *lines)
{
    struct sl_status status;
    if (!session->options->output) {
        puts(line);
        fflush(stdout); /* a batch is watched as it runs */
    } else if (append(lines, line, &status) != SL_OK) {
        cli_fail(session, NULL, &status);
    }
}

/* The photo as a document of its own, which borrows the reading and owns its pairs. A photo that
 * holds no pair has its line all the same. */
static void emit_line(struct cli_session *session, size_t index, cli_judge *judge,
                      struct lines *lines)
{
    struct sl_status status;
    struct sl_document one;
    const char *name = session->document.reading[index]->photo.file;
    char *line = NULL;
    sl_document_init(&one);
    one.reading = &session->document.reading[index];
    one.reading_count = 1;
    if (judge && judge(&one, &status) != SL_OK)
        cli_fail(session, name, &status);
    if (sl_report_json(&one, NULL, 0, &line, &status) == SL_OK)
        put_line(session, line, lines);
    else
        cli_fail(session, name, &status);
    free(line);
    one.reading = NULL;
    one.reading_count = 0;
    sl_document_finish(&one);
}

static void forget(struct cli_session *session)
{
    sl_document_finish(&session->document);
    sl_document_init(&session->document);
}

/* One photo in memory at a time, unless files about all of them are wanted too. */
static void run_lines(struct cli_session *session, cli_judge *judge)
{
    const struct cli_options *options = session->options;
    struct sl_status status;
    struct lines lines = {0};
    for (size_t i = 0; i < options->input_count && !cli_stopped() && !ferror(stdout); i++) {
        size_t first = session->document.reading_count;
        cli_load(session, i);
        for (size_t k = first; k < session->document.reading_count; k++)
            emit_line(session, k, judge, &lines);
        if (!cli_wants_files(options))
            forget(session);
    }
    cli_progress_end(options);
    if (cli_stopped())
        goto done;
    cli_inks_fit(session);
    if (cli_wants_files(options)) {
        if (judge)
            judge(&session->document, &status); /* its problem was told line by line */
        cli_emit_files(session, NULL);
    }
    if (options->output && lines.text)
        cli_emit_text(session, lines.text);
done:
    free(lines.text);
}

static void run_whole(struct cli_session *session, cli_judge *judge)
{
    struct sl_status status;
    for (size_t i = 0; i < session->options->input_count && !cli_stopped(); i++)
        cli_load(session, i);
    cli_progress_end(session->options);
    if (cli_stopped() || !cli_inks_fit(session))
        return;
    if (judge && judge(&session->document, &status) != SL_OK)
        cli_fail(session, NULL, &status);
    if (!cli_stopped())
        cli_emit(session, NULL);
}

int cli_run(const struct cli_options *options, cli_judge *judge)
{
    struct cli_session session;
    cli_session_init(&session, options);
    if (options->form == CLI_JSON_LINES)
        run_lines(&session, judge);
    else
        run_whole(&session, judge);
    int exit_code = session.exit_code;
    cli_session_finish(&session);
    return exit_code;
}
