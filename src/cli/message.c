// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static bool on_terminal(const struct cli_options *options)
{
    return !options->quiet && options->input_count > 1 && isatty(STDERR_FILENO);
}

/* Names and messages can hold bytes of a stranger's file: none of them may steer the terminal. */
static void put_plain(const char *text)
{
    for (const unsigned char *c = (const unsigned char *)text; *c; c++)
        fputc(*c < 0x20 || *c == 0x7f ? '?' : *c, stderr);
}

static void put_sentence(const char *text)
{
    size_t n = strlen(text);
    put_plain(text);
    if (n > 0 && !strchr(".!?", text[n - 1]))
        fputc('.', stderr);
}

void cli_message(const char *name, const struct sl_status *status)
{
    fputs("strandline: ", stderr);
    if (name && !strstr(status->message, name)) { /* most messages name the file themselves */
        put_plain(name);
        fputs(": ", stderr);
    }
    put_sentence(status->message);
    if (status->remedy[0]) {
        fputc(' ', stderr);
        put_sentence(status->remedy);
    }
    fputc('\n', stderr);
}

void cli_fail(struct cli_session *session, const char *name, const struct sl_status *status)
{
    cli_progress_end(session->options);
    cli_message(name, status);
    if (session->exit_code == 0)
        session->exit_code = sl_code_exit(status->code);
}

void cli_progress(const struct cli_options *options, size_t index)
{
    if (!on_terminal(options))
        return;
    fprintf(stderr, "\r\033[Kreading %zu of %zu: ", index + 1, options->input_count);
    put_plain(options->input[index]);
    fflush(stderr);
}

void cli_progress_end(const struct cli_options *options)
{
    if (on_terminal(options))
        fputs("\r\033[K", stderr);
}
