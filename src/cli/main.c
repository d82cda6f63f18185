// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

#include <gsl/gsl_errno.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct cli_verb *const verbs[] = {&cli_verb_read, &cli_verb_pair, &cli_verb_overlay,
                                               &cli_verb_bench};
enum { VERB_COUNT = sizeof verbs / sizeof *verbs };

static void print_help(void)
{
    puts("Usage: strandline VERB [OPTION...] PHOTO...\n\n"
         "Reads photographs of paper chromatography strips of pen inks: bands, Rf, and\n"
         "what holds on to the paper when water passes.\n\nVerbs:");
    for (size_t i = 0; i < VERB_COUNT; i++)
        printf("  %-8s %s\n", verbs[i]->name, verbs[i]->summary);
    printf("\nExample:\n  %s\n\nEach verb has its own help: strandline read --help\n"
           "  --version   the versions of the program and its libraries\n"
           "The whole manual: man strandline\n",
           cli_verb_pair.example);
}

static const struct cli_verb *find_verb(const char *name)
{
    for (size_t i = 0; i < VERB_COUNT; i++)
        if (strcmp(name, verbs[i]->name) == 0)
            return verbs[i];
    return NULL;
}

static int run_verb(const struct cli_verb *verb, int argc, char **argv)
{
    struct sl_status status = {0};
    struct cli_options *options = malloc(sizeof *options);
    int exit_code = 0;
    if (!options) {
        sl_status_set(&status, SL_E_MEMORY, "cli", "Close other programs.",
                      "There is not enough memory to start");
        cli_message(NULL, &status);
        return sl_code_exit(SL_E_MEMORY);
    }
    if (cli_options_parse(argc, argv, verb, options, &status) != SL_OK) {
        cli_message(NULL, &status);
        exit_code = sl_code_exit(status.code);
    } else if (options->help) {
        cli_print_help(verb);
    } else {
        exit_code = verb->run(options);
    }
    free(options);
    return exit_code;
}

static int refuse(const char *word)
{
    struct sl_status status;
    if (word)
        sl_status_set(&status, SL_E_USAGE, "cli", "The verbs are read, pair, overlay and bench.",
                      "There is no verb \"%s\"", word);
    else
        sl_status_set(&status, SL_E_USAGE, "cli", "See strandline --help.",
                      "A verb and a photo are needed");
    cli_message(NULL, &status);
    return sl_code_exit(SL_E_USAGE);
}

static int dispatch(int argc, char **argv)
{
    const char *word = argc > 1 ? argv[1] : NULL;
    if (!word)
        return refuse(NULL);
    if (strcmp(word, "--help") == 0 || strcmp(word, "help") == 0)
        print_help();
    else if (strcmp(word, "--version") == 0)
        cli_print_version();
    else if (find_verb(word))
        return run_verb(find_verb(word), argc - 1, argv + 1);
    else
        return refuse(word);
    return 0;
}

int main(int argc, char **argv)
{
    setlocale(LC_CTYPE, "");     /* letters as the user's terminal has them; numbers keep the dot */
    gsl_set_error_handler_off(); /* one per program: the library looks at every status itself */
    cli_signals_catch();
    int exit_code = cli_close_stdout(dispatch(argc, argv));
    cli_signals_die();
    return exit_code;
}
