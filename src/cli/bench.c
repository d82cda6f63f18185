// SPDX-License-Identifier: GPL-3.0-or-later
/* Opens the page in the browser and serves it until the first interrupt. */
#include "cli.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

#include "strandline/page.h"

extern char **environ; /* no header of POSIX declares it */

enum {
    LOOK_MS = 100, /* how soon an interrupt is acted on where another thread caught it */
    STOP_S = 3,    /* how long is waited for what is being read, so that all is over in 5 s */
};

static bool has_display(void)
{
    const char *x = getenv("DISPLAY"), *wayland = getenv("WAYLAND_DISPLAY");
    return (x && *x) || (wayland && *wayland);
}

/* A process group of its own: an interrupt of this program is not the browser's. -1: none. */
static pid_t open_browser(const char *address)
{
    char program[] = "xdg-open", copy[128];
    char *arguments[] = {program, copy, NULL};
    pid_t child = -1;
    sigset_t usual;
    posix_spawnattr_t attributes;
    posix_spawn_file_actions_t actions;
    snprintf(copy, sizeof copy, "%s", address);
    sigemptyset(&usual);
    sigaddset(&usual, SIGPIPE);
    sigaddset(&usual, SIGXFSZ);
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGDEF);
    posix_spawnattr_setsigdefault(&attributes, &usual);
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    if (posix_spawnp(&child, program, &actions, &attributes, arguments, environ) != 0)
        child = -1; /* the address has been printed */
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attributes);
    return child;
}

static void stop_waiting(int number)
{
    (void)number;
    _exit(0);
}

/* The work is kept first. A picture that its library decodes in one go, without asking whether it
 * is wanted, is left behind then. */
static sl_code stop(struct sl_page *page, struct sl_status *status)
{
    signal(SIGALRM, stop_waiting);
    alarm(STOP_S);
    sl_code code = sl_page_stop(page, status);
    alarm(0);
    return code;
}

static int run(const struct cli_options *options)
{
    struct sl_status status = {0};
    struct sl_page *page = NULL;
    struct sl_page_options page_options = {.port = options->port};
    umask(077); /* what is kept is for the user alone */
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN); /* a file that may not grow is told of, like a full disk */
    if (sl_page_start(&page_options, &page, &status) != SL_OK) {
        cli_message(NULL, &status);
        return sl_code_exit(status.code);
    }
    printf("%s\n", sl_page_address(page));
    fflush(stdout);
    const struct sl_warnings *told = sl_page_told(page);
    for (size_t i = 0; i < told->count; i++)
        cli_message(NULL, &told->item[i]);
    if (!options->quiet)
        fputs("strandline: the page is open at this address, for this computer alone. "
              "Ctrl-C stops it; the work on it is kept.\n",
              stderr);
    pid_t browser = !options->no_open && has_display() ? open_browser(sl_page_address(page)) : -1;
    while (!cli_stopped()) {
        poll(NULL, 0, LOOK_MS);
        if (browser > 0 && waitpid(browser, NULL, WNOHANG) != 0)
            browser = -1;
    }
    sl_code code = stop(page, &status);
    if (code != SL_OK)
        cli_message(NULL, &status);
    cli_signals_forget(); /* to be stopped is this verb's usual end */
    return sl_code_exit(code);
}

const struct cli_verb cli_verb_bench = {
    .name = "bench",
    .bit = CLI_BENCH,
    .synopsis = "",
    .summary = "open a page in the browser: drop photos, correct, compare, take away",
    .about = "Opens a page in the browser, served to this computer alone: drop photos on it, see\n"
             "what was found, correct it, read bands and verdict, overlay inks. The work on it is\n"
             "kept in $XDG_STATE_HOME/strandline/bench (or ~/.local/state/strandline/bench).",
    .example = "strandline bench",
    .run = run,
};
