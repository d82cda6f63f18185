// SPDX-License-Identifier: GPL-3.0-or-later
/* While a photo is read nothing is written: an interrupt ends the program at once, however long the
 * photo would take. At all other times the first one is noted and acted on between two steps, so
 * that no file is left half, and a second one ends the program at once. */
#include "cli.h"

#include <signal.h>

static volatile sig_atomic_t caught, reading; /* globals: a handler can reach nothing else */

static void note(int number)
{
    caught = number;
    if (reading)
        raise(number); /* once more, and now it is not caught: SA_RESETHAND */
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

void cli_signals_reading(bool begins)
{
    reading = begins;
    if (begins)
        cli_signals_die(); /* of one that came before */
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
