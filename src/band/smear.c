// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Dye stands where the smoothed load exceeds noise, light, and a part of its height beyond the
 *    line.
 * 2. A streak is dye from the line upwards without a break; white is a stretch without dye above it
 *    that dye follows.
 * 3. The colour that reaches furthest leads, if another one stays behind it or white parts it from
 *    the streak. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "band/smear.h"

static const double noise_factor = 3.0;
static const double dye_part = 0.04; /* of the highest load beyond the line */
static const double streak_least = 0.08, white_least = 0.04, lead_least = 0.04; /* Rf */
/* A colour that is seen beyond the front is shadow or stain, and says nothing of what leads. */
static const double beyond_front = 1.1;

static double highest_beyond(const struct track *track, const double *smooth, double from)
{
    double highest = 0.0;
    for (size_t i = track_at(track, from); i < track->count && track->rf[i] < 1.0; i++)
        highest = fmax(highest, track->weight[i] > 0.0 ? smooth[i] : 0.0);
    return highest;
}

/* From `i` on, the first sample that has dye or has none; hidden ones are as the one before. */
static size_t next(const struct track *track, const double *smooth, double level, size_t i,
                   bool dye)
{
    for (; i < track->count; i++) {
        double error = noise_factor * track->noise + track->ghost[i];
        if (track->weight[i] > 0.0 && (smooth[i] > fmax(level, error)) == dye)
            break;
    }
    return i;
}

static const struct sl_reach *leading(const struct sl_bands *bands)
{
    const struct sl_reach *lead = NULL;
    for (size_t k = 0; k < bands->reach_count; k++)
        if (!lead || bands->reach[k].last_rf > lead->last_rf)
            lead = &bands->reach[k];
    return lead && lead->last_rf < beyond_front ? lead : NULL;
}

/* Another colour ends below where the leading one does. */
static bool leaves_behind(const struct sl_bands *bands, const struct sl_reach *lead)
{
    for (size_t k = 0; k < bands->reach_count; k++)
        if (&bands->reach[k] != lead && bands->reach[k].last_rf < lead->last_rf - lead_least)
            return true;
    return false;
}

static void add(char *ret, const char *text)
{
    size_t used = strlen(ret);
    snprintf(ret + used, SMEAR_BYTES - used, "%s%s", used ? ", " : "", text);
}

void smear_describe(const struct track *track, const struct sl_bands *bands, char ret[SMEAR_BYTES])
{
    double line = retained_reach(track);
    double level = dye_part * highest_beyond(track, bands->smooth, line);
    size_t end = next(track, bands->smooth, level, track_at(track, line), false);
    size_t again = next(track, bands->smooth, level, end, true);
    double streak_to = end < track->count ? track->rf[end] : track->rf[track->count - 1];
    bool streak = streak_to > line + streak_least;
    bool white = again < track->count && track->rf[again] < 1.0 &&
                 track->rf[again] - streak_to > white_least;
    const struct sl_reach *lead = leading(bands);
    char text[SMEAR_BYTES];
    ret[0] = '\0';
    if (streak) {
        snprintf(text, sizeof text, "a streak reaches from the line to Rf %.2f", streak_to);
        add(ret, text);
    }
    if (white) {
        snprintf(text, sizeof text, "white follows up to Rf %.2f", track->rf[again]);
        add(ret, text);
    }
    if (lead && (white || leaves_behind(bands, lead))) {
        snprintf(text, sizeof text, "%s leads up to Rf %.2f", lead->hue_name, lead->last_rf);
        add(ret, text);
    }
}
