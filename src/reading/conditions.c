// SPDX-License-Identifier: GPL-3.0-or-later
/* What the user told of a run, compared between strips. */
#include "strandline/reading.h"

#include <glib.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* How much of a told condition may differ before it is pointed at (common practice, no source). */
static const double DIP_RATIO_MAX = 1.5;
static const double LENGTH_RATIO_MAX = 1.15;
static const double DAYS_MAX = 2;
static const double DRIED_RATIO_MAX = 1.5;

const char *sl_strip_ink(const struct sl_reading *reading, size_t strip)
{
    const char *own = reading->strip[strip].ink;
    return *own ? own : reading->conditions.ink;
}

static void fold(const char *text, char *to, size_t size)
{
    char *sound = g_utf8_make_valid(text, -1);
    char *folded = g_utf8_casefold(g_strstrip(sound), -1);
    snprintf(to, size, "%s", folded);
    g_free(folded);
    g_free(sound);
}

bool sl_name_same(const char *a, const char *b)
{
    char x[4 * SL_NAME_MAX], y[4 * SL_NAME_MAX];
    fold(a, x, sizeof x);
    fold(b, y, sizeof y);
    return !*x || !*y || strcmp(x, y) == 0;
}

struct differences {
    char text[SL_MESSAGE_MAX];
    size_t used;
};

static void note(struct differences *list, const char *format, ...) SL_PRINTF(2, 3);

static void note(struct differences *list, const char *format, ...)
{
    size_t room = sizeof list->text - list->used;
    va_list args;
    va_start(args, format);
    int n = snprintf(list->text + list->used, room, "%s", list->used ? ", " : "");
    if (n >= 0 && (size_t)n < room) {
        int m = vsnprintf(list->text + list->used + n, room - (size_t)n, format, args);
        list->used = m < 0 ? list->used : MIN(sizeof list->text - 1, list->used + (size_t)(n + m));
    }
    va_end(args);
}

/* Days between two dates "YYYY-MM-DD HH:MM:SS"; NAN where one is no date. */
static double days_apart(const char *a, const char *b)
{
    double seconds[2];
    const char *text[2] = {a, b};
    for (int i = 0; i < 2; i++) {
        int y, mo, d, h, mi, s;
        if (sscanf(text[i], "%4d-%2d-%2d %2d:%2d:%2d", &y, &mo, &d, &h, &mi, &s) != 6)
            return NAN;
        GDateTime *time = g_date_time_new_utc(y, mo, d, h, mi, s);
        if (!time)
            return NAN;
        seconds[i] = (double)g_date_time_to_unix(time);
        g_date_time_unref(time);
    }
    return fabs(seconds[1] - seconds[0]) / 86400;
}

static bool ratio_beyond(double a, double b, double most)
{
    return isfinite(a) && isfinite(b) && a > 0 && b > 0 && fmax(a / b, b / a) > most;
}

void sl_strips_differ(const struct sl_reading *const reading[2], const size_t strip[2],
                      bool replicates, char *ret, size_t size)
{
    const struct sl_conditions *a = &reading[0]->conditions, *b = &reading[1]->conditions;
    double length_a = reading[0]->strip[strip[0]].length_mm;
    double length_b = reading[1]->strip[strip[1]].length_mm;
    bool dried = replicates && reading[0]->strip[strip[0]].role == SL_ROLE_DRIED;
    struct differences list = {.used = 0};
    if (!sl_name_same(a->paper, b->paper))
        note(&list, "paper (%.40s, %.40s)", a->paper, b->paper);
    if (!sl_name_same(a->solvent, b->solvent))
        note(&list, "solvent (%.40s, %.40s)", a->solvent, b->solvent);
    if (ratio_beyond(a->dip_s, b->dip_s, DIP_RATIO_MAX))
        note(&list, "time in the water (%.0f s, %.0f s)", a->dip_s, b->dip_s);
    if (dried && ratio_beyond(a->dried_min, b->dried_min, DRIED_RATIO_MAX))
        note(&list, "time to dry (%.0f min, %.0f min)", a->dried_min, b->dried_min);
    if (ratio_beyond(length_a, length_b, LENGTH_RATIO_MAX))
        note(&list, "length of the strip (%.0f mm, %.0f mm)", length_a, length_b);
    double days = replicates ? 0 : days_apart(a->date, b->date);
    if (days > DAYS_MAX)
        note(&list, "date (%.0f days apart)", days);
    snprintf(ret, size, "%s", list.used ? list.text : "");
}
