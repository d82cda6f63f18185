// SPDX-License-Identifier: GPL-3.0-or-later
/* The first interrupt is noted and acted on between two steps, so that no file is left half; a
 * second one ends the program at once. */
#include "cli.h"

#include <signal.h>

static volatile sig_atomic_t caught; /* the one global: a handler can reach nothing else */

static void note(int number)
{
    caught = number;
}

void cli_signals_catch(void)
{
    static const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
    struct sigaction action = {.sa_handler = note, .sa_flags = SA_RESTART | (int)SA_RESETHAND};
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        struct sigaction old;
        if (sigaction(numbers[i], NULL, &old) == 0 && old.sa_handler != SIG_IGN)
            sigaction(numbers[i], &action, NULL);
    }
}

bool cli_stopped(void)
{
    return caught != 0;
}

void cli_signals_forget(void)
{
    caught = 0;
}

void cli_signals_die(void)
{
    if (!caught)
        return;
    signal(caught, SIG_DFL);
    raise(caught);
}
