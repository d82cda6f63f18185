// SPDX-License-Identifier: GPL-3.0-or-later
/* One table says which options there are, which verbs take them and what their help is. */
#include "cli.h"

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define WHERE "cli/options"

enum id {
    ID_JSON = 256, /* above every character, for getopt_long */
    ID_JSON_LINES,
    ID_OUTPUT,
    ID_CSV_BANDS,
    ID_CSV_PROFILES,
    ID_CSV_REPLICATES,
    ID_HTML,
    ID_FIGURES,
    ID_FIGURE_FORMAT,
    ID_NORMALISE,
    ID_STEPS,
    ID_CORNERS,
    ID_ORIGIN,
    ID_FRONT,
    ID_BAND_LIMITS,
    ID_UPSIDE_DOWN,
    ID_LENGTH_MM,
    ID_PAPER_REFLECTANCE,
    ID_ROLES,
    ID_INK,
    ID_PAPER,
    ID_SOLVENT,
    ID_DIP_S,
    ID_DRIED_MIN,
    ID_DATE,
    ID_COLOUR,
    ID_QUIET,
    ID_HELP,
    ID_PORT,
    ID_NO_OPEN,
};

struct entry {
    const char *name;
    enum id id;
    int takes;      /* no_argument, required_argument, optional_argument */
    unsigned verbs; /* bits; 0: all */
    const char *argument;
    const char *help;    /* NULL: another spelling, not shown */
    const char *heading; /* printed above this entry */
};

static const struct entry table[] = {
    {"json", ID_JSON, no_argument, CLI_READERS, "", "write one JSON document",
     "What is written to standard output"},
    {"json-lines", ID_JSON_LINES, no_argument, CLI_READ | CLI_PAIR, "",
     "write one JSON document a photo, each on a line", NULL},
    {"output", ID_OUTPUT, required_argument, CLI_READERS, "FILE", "write to FILE instead", NULL},
    {"csv-bands", ID_CSV_BANDS, required_argument, CLI_READERS, "FILE",
     "write a table of the bands", "Files beside that"},
    {"csv-profiles", ID_CSV_PROFILES, required_argument, CLI_READERS, "FILE",
     "write a table of the profiles", NULL},
    {"csv-replicates", ID_CSV_REPLICATES, required_argument, CLI_READ | CLI_PAIR, "FILE",
     "write a table of what strips of one ink give together", NULL},
    {"html", ID_HTML, required_argument, CLI_READERS, "FILE",
     "write a report, one page complete in itself", NULL},
    {"figures", ID_FIGURES, required_argument, CLI_READERS, "DIR", "draw figures into this folder",
     NULL},
    {"figure-format", ID_FIGURE_FORMAT, required_argument, CLI_READERS, "LIST",
     "any of png,svg,pdf (default png)", NULL},
    {"steps", ID_STEPS, no_argument, CLI_READ | CLI_PAIR, "",
     "with --figures: also draw how each strip was read", NULL},
    {"normalise", ID_NORMALISE, no_argument, CLI_OVERLAY, "", "draw every trace to the same height",
     NULL},
    {"corners", ID_CORNERS, required_argument, CLI_READERS, "X,Y,X,Y,X,Y,X,Y",
     "corners in px: lower left, lower right, upper right, upper left; again for each strip",
     "Set by hand, never overruled (commas part strips, a colon parts photos)"},
    {"origin", ID_ORIGIN, required_argument, CLI_READERS, "F[,F...]",
     "where the ink line is, 0 to 1 of the strip's length from the lower edge", NULL},
    {"front", ID_FRONT, required_argument, CLI_READERS, "F[,F...]",
     "how far the water came, likewise", NULL},
    {"band-limits", ID_BAND_LIMITS, required_argument, CLI_READERS, "F-F[+F-F...][,...]",
     "where bands begin and end, likewise; + joins the bands of a strip", NULL},
    {"upside-down", ID_UPSIDE_DOWN, optional_argument, CLI_READERS, "[=yes|no,...]",
     "the end that was in the water is the upper one in the photo", NULL},
    {"length-mm", ID_LENGTH_MM, required_argument, CLI_READERS, "MM[,MM...]", "length of the strip",
     NULL},
    {"paper-reflectance", ID_PAPER_REFLECTANCE, required_argument, CLI_READERS, "R[,G,B]",
     "reflectance of clean paper, 0.02 to 1", NULL},
    {"roles", ID_ROLES, required_argument, CLI_READERS, "ROLE[,ROLE...]",
     "immediate, dried or single", NULL},
    {"ink", ID_INK, required_argument, CLI_READERS, "NAME",
     "the ink; once for all strips, or again for each strip", "What is known of the test"},
    {"paper", ID_PAPER, required_argument, CLI_READERS, "NAME", "the paper", NULL},
    {"solvent", ID_SOLVENT, required_argument, CLI_READERS, "NAME", "what it was dipped into",
     NULL},
    {"dip-s", ID_DIP_S, required_argument, CLI_READERS, "S", "seconds in the water", NULL},
    {"dried-min", ID_DRIED_MIN, required_argument, CLI_READERS, "MIN",
     "minutes that the dried strip dried", NULL},
    {"date", ID_DATE, required_argument, CLI_READERS, "DATE",
     "YYYY-MM-DD, or \"YYYY-MM-DD HH:MM:SS\" (default: the photo's)", NULL},
    {"port", ID_PORT, required_argument, CLI_BENCH, "N",
     "serve the page at this port (default: a free one)", "Where and how"},
    {"no-open", ID_NO_OPEN, no_argument, CLI_BENCH, "", "print the address, open no browser", NULL},
    {"colour", ID_COLOUR, required_argument, CLI_READERS, "WHEN",
     "auto, always or never (auto: on a terminal without NO_COLOR)", "The rest"},
    {"color", ID_COLOUR, required_argument, CLI_READERS, "WHEN", NULL, NULL},
    {"quiet", ID_QUIET, no_argument, 0, "", "no progress on standard error", NULL},
    {"help", ID_HELP, no_argument, 0, "", "this text", NULL},
};
enum { TABLE_SIZE = sizeof table / sizeof *table };

static bool applies(const struct entry *e, const struct cli_verb *verb)
{
    return e->verbs == 0 || (e->verbs & verb->bit);
}

enum { HELP_COLUMN = 26, HELP_WIDTH = 52 };

/* The text from HELP_COLUMN on, broken at spaces. The cursor stands at the end of `left`. */
static void print_beside(const char *left, const char *text)
{
    int at = printf("  %s", left);
    if (at > HELP_COLUMN - 2) {
        putchar('\n');
        at = 0;
    }
    while (*text) {
        size_t n = strlen(text);
        if (n > HELP_WIDTH)
            for (n = HELP_WIDTH; n > 1 && text[n] != ' ';)
                n--;
        printf("%*s%.*s\n", HELP_COLUMN - at, "", (int)n, text);
        at = 0;
        text += n + (text[n] == ' ');
    }
}

void cli_print_help(const struct cli_verb *verb)
{
    printf("Usage: strandline %s [OPTION...] %s\n\n%s\n\nExample:\n  %s\n", verb->name,
           verb->synopsis, verb->about, verb->example);
    const char *heading = NULL; /* kept until there is an option below it */
    for (size_t i = 0; i < TABLE_SIZE; i++) {
        const struct entry *e = &table[i];
        if (e->heading)
            heading = e->heading;
        if (!e->help || !applies(e, verb))
            continue;
        if (heading)
            printf("\n%s:\n", heading);
        heading = NULL;
        char left[64];
        snprintf(left, sizeof left, "--%s%s%s", e->name, e->takes == required_argument ? " " : "",
                 e->argument);
        print_beside(left, e->help);
    }
    printf("\nThe whole manual: man strandline\n");
}

static sl_code copy_name(const char *option, const char *text, char *ret, size_t size,
                         struct sl_status *status)
{
    if (strlen(text) >= size)
        return sl_status_set(status, SL_E_RANGE, WHERE, "Use a shorter one.",
                             "%s has %zu bytes, and at most %zu fit", option, strlen(text),
                             size - 1);
    snprintf(ret, size, "%s", text);
    return SL_OK;
}

/* Whether the calendar and the clock have such a moment. */
static bool moment_exists(struct tm given)
{
    struct tm normal = given;
    normal.tm_isdst = -1;
    return mktime(&normal) != (time_t)-1 && normal.tm_mday == given.tm_mday &&
           normal.tm_mon == given.tm_mon && given.tm_hour >= 0 && given.tm_hour < 24 &&
           given.tm_min >= 0 && given.tm_min < 60 && given.tm_sec >= 0 && given.tm_sec < 60;
}

static sl_code parse_date(const char *text, char ret[20], struct sl_status *status)
{
    struct tm t = {0};
    int day_end = 0, end = 0;
    int n = sscanf(text, "%4d-%2d-%2d%n %2d:%2d:%2d%n", &t.tm_year, &t.tm_mon, &t.tm_mday, &day_end,
                   &t.tm_hour, &t.tm_min, &t.tm_sec, &end);
    bool whole = (n == 3 && text[day_end] == '\0') || (n == 6 && text[end] == '\0');
    struct tm check = t;
    check.tm_year -= 1900;
    check.tm_mon -= 1;
    if (!whole || t.tm_year < 1000 || !moment_exists(check))
        return sl_status_set(status, SL_E_RANGE, WHERE,
                             "Write it as YYYY-MM-DD or \"YYYY-MM-DD HH:MM:SS\".",
                             "--date \"%s\" is no date", text);
    strftime(ret, 20, "%Y-%m-%d %H:%M:%S", &check);
    return SL_OK;
}

static sl_code parse_formats(const char *text, unsigned *ret, struct sl_status *status)
{
    static const char *const names[] = {
        [SL_FIGURE_PNG] = "png", [SL_FIGURE_SVG] = "svg", [SL_FIGURE_PDF] = "pdf"};
    unsigned formats = 0;
    while (*text) {
        size_t n = strcspn(text, ","), i = 0;
        while (i < 3 && !(strlen(names[i]) == n && strncmp(text, names[i], n) == 0))
            i++;
        if (i == 3)
            return sl_status_set(status, SL_E_USAGE, WHERE, "It knows png, svg and pdf.",
                                 "--figure-format does not know \"%.*s\"", (int)n, text);
        formats |= 1u << i;
        text += n + (text[n] == ',');
    }
    if (!formats)
        return sl_status_set(status, SL_E_USAGE, WHERE, "It knows png, svg and pdf.",
                             "--figure-format names no format");
    *ret = formats;
    return SL_OK;
}

static sl_code parse_colour(const char *text, enum cli_colour *ret, struct sl_status *status)
{
    static const char *const names[] = {
        [CLI_COLOUR_AUTO] = "auto", [CLI_COLOUR_ALWAYS] = "always", [CLI_COLOUR_NEVER] = "never"};
    for (size_t i = 0; i < 3; i++)
        if (strcmp(text, names[i]) == 0) {
            *ret = (enum cli_colour)i;
            return SL_OK;
        }
    return sl_status_set(status, SL_E_USAGE, WHERE, "It knows auto, always and never.",
                         "--colour does not know \"%s\"", text);
}

static sl_code add_ink(const char *text, struct cli_options *o, struct sl_status *status)
{
    char checked[SL_NAME_MAX];
    sl_code code = copy_name("--ink", text, checked, sizeof checked, status);
    if (code == SL_OK && o->ink_count == CLI_INKS_MAX)
        code = sl_status_set(status, SL_E_RANGE, WHERE, "Read the photos in smaller groups.",
                             "--ink was given more than %d times", CLI_INKS_MAX);
    if (code == SL_OK)
        o->ink[o->ink_count++] = text;
    return code;
}

static sl_code parse_conditions(enum id id, const char *text, struct sl_conditions *c,
                                struct sl_status *status)
{
    /* A dip of less than a tenth of a second or a day, and more than a year of drying, are slips
     * of the pen. */
    static const struct cli_limit dip = {"--dip-s", 0.1, 86400};
    static const struct cli_limit dried = {"--dried-min", 0, 525600};
    switch (id) {
    case ID_PAPER:
        return copy_name("--paper", text, c->paper, sizeof c->paper, status);
    case ID_SOLVENT:
        return copy_name("--solvent", text, c->solvent, sizeof c->solvent, status);
    case ID_DIP_S:
        return cli_number(text, &dip, &c->dip_s, status);
    case ID_DRIED_MIN:
        return cli_number(text, &dried, &c->dried_min, status);
    default:
        return parse_date(text, c->date, status);
    }
}

static sl_code parse_by_hand(enum id id, const char *text, struct cli_hand *h,
                             struct sl_status *status)
{
    static const struct cli_limit origin = {"--origin", 0, 1}, front = {"--front", 0, 1};
    static const struct cli_limit length = {"--length-mm", 5, 1000};
    switch (id) {
    case ID_CORNERS:
        return cli_corners_parse(text, h, status);
    case ID_ORIGIN:
        return cli_list_parse(text, &origin, &h->origin, status);
    case ID_FRONT:
        return cli_list_parse(text, &front, &h->front, status);
    case ID_BAND_LIMITS:
        return cli_bands_parse(text, &h->band_limits, status);
    case ID_UPSIDE_DOWN:
        return cli_flags_parse(text, &h->upside_down, status);
    case ID_LENGTH_MM:
        return cli_list_parse(text, &length, &h->length_mm, status);
    case ID_ROLES:
        return cli_roles_parse(text, &h->roles, status);
    default:
        return cli_reflectance_parse(text, h->paper_reflectance, status);
    }
}

static sl_code parse_port(const char *text, int *ret, struct sl_status *status)
{
    static const struct cli_limit limit = {"--port", 1024, 65535}; /* lower ones are root's */
    double port;
    sl_code code = cli_number(text, &limit, &port, status);
    if (code == SL_OK && port != floor(port))
        code = sl_status_set(status, SL_E_RANGE, WHERE, "", "--port takes a whole number");
    if (code == SL_OK)
        *ret = (int)port;
    return code;
}

static sl_code set_form(enum cli_form form, struct cli_options *o, struct sl_status *status)
{
    if (o->form != CLI_TEXT && o->form != form)
        return sl_status_set(status, SL_E_USAGE, WHERE, "Give one of them.",
                             "--json and --json-lines were both given");
    o->form = form;
    return SL_OK;
}

static sl_code set_option(enum id id, const char *text, struct cli_options *o,
                          struct sl_status *status)
{
    switch (id) {
    case ID_JSON:
        return set_form(CLI_JSON, o, status);
    case ID_JSON_LINES:
        return set_form(CLI_JSON_LINES, o, status);
    case ID_OUTPUT:
        o->output = text;
        return SL_OK;
    case ID_CSV_BANDS:
        o->csv_bands = text;
        return SL_OK;
    case ID_CSV_PROFILES:
        o->csv_profiles = text;
        return SL_OK;
    case ID_CSV_REPLICATES:
        o->csv_replicates = text;
        return SL_OK;
    case ID_HTML:
        o->html = text;
        return SL_OK;
    case ID_FIGURES:
        o->figures = text;
        return SL_OK;
    case ID_FIGURE_FORMAT:
        return parse_formats(text, &o->figure_formats, status);
    case ID_STEPS:
        o->steps = true;
        return SL_OK;
    case ID_NORMALISE:
        o->normalise = true;
        return SL_OK;
    case ID_COLOUR:
        return parse_colour(text, &o->colour, status);
    case ID_PORT:
        return parse_port(text, &o->port, status);
    case ID_NO_OPEN:
        o->no_open = true;
        return SL_OK;
    case ID_QUIET:
        o->quiet = true;
        return SL_OK;
    case ID_HELP:
        o->help = true;
        return SL_OK;
    case ID_INK:
        return add_ink(text, o, status);
    case ID_PAPER:
    case ID_SOLVENT:
    case ID_DIP_S:
    case ID_DRIED_MIN:
    case ID_DATE:
        return parse_conditions(id, text, &o->conditions, status);
    default:
        return parse_by_hand(id, text, &o->hand, status);
    }
}

static sl_code refuse(int found, char **argv, const struct cli_verb *verb, struct sl_status *status)
{
    char remedy[96];
    snprintf(remedy, sizeof remedy, "See strandline %s --help.", verb->name);
    const char *word = argv[optind - 1];
    if (found == ':')
        return sl_status_set(status, SL_E_USAGE, WHERE, remedy, "The option %s needs a value",
                             word);
    return sl_status_set(status, SL_E_USAGE, WHERE, remedy, "%s has no option \"%s\" like this",
                         verb->name, word);
}

static sl_code check_whole(struct cli_options *o, const struct cli_verb *verb,
                           struct sl_status *status)
{
    char remedy[128];
    snprintf(remedy, sizeof remedy, "For example: %s", verb->example);
    if (verb->bit == CLI_BENCH && o->input_count > 0)
        return sl_status_set(status, SL_E_USAGE, WHERE, "Drop photos on the page.",
                             "bench takes no photo, and \"%.80s\" was given", o->input[0]);
    if (verb->bit == CLI_BENCH)
        return SL_OK;
    if (o->input_count == 0)
        return sl_status_set(status, SL_E_USAGE, WHERE, remedy, "%s needs a photo", verb->name);
    if (o->figure_formats && !o->figures)
        return sl_status_set(status, SL_E_USAGE, WHERE, "Name the folder with --figures DIR.",
                             "--figure-format was given without a folder for the figures");
    if (o->steps && !o->figures)
        return sl_status_set(status, SL_E_USAGE, WHERE, "Name the folder with --figures DIR.",
                             "--steps was given without a folder for the figures");
    if (!o->figure_formats)
        o->figure_formats = 1u << SL_FIGURE_PNG;
    if (verb->bit == CLI_OVERLAY)
        cli_hand_roles_single(&o->hand);
    sl_code code = cli_hand_check(&o->hand, o->input_count, status);
    return code == SL_OK ? cli_check_outputs(o, status) : code;
}

sl_code cli_options_parse(int argc, char **argv, const struct cli_verb *verb,
                          struct cli_options *ret, struct sl_status *status)
{
    struct option known[TABLE_SIZE + 1] = {0};
    for (size_t i = 0, n = 0; i < TABLE_SIZE; i++)
        if (applies(&table[i], verb))
            known[n++] = (struct option){table[i].name, table[i].takes, NULL, (int)table[i].id};
    *ret = (struct cli_options){0};
    sl_conditions_init(&ret->conditions);
    cli_hand_init(&ret->hand);
    int id;
    while ((id = getopt_long(argc, argv, ":", known, NULL)) != -1) {
        if (id == '?' || id == ':')
            return refuse(id, argv, verb, status);
        sl_code code = set_option((enum id)id, optarg, ret, status);
        if (code != SL_OK)
            return code;
    }
    ret->input = argv + optind;
    ret->input_count = (size_t)(argc - optind);
    return ret->help ? SL_OK : check_whole(ret, verb, status);
}
