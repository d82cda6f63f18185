// SPDX-License-Identifier: GPL-3.0-or-later
#include "reading_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const role_names[] = {
    [SL_ROLE_SINGLE] = "single",
    [SL_ROLE_IMMEDIATE] = "immediate",
    [SL_ROLE_DRIED] = "dried",
};

const char *sl_role_name(enum sl_role role)
{
    return role_names[role];
}

bool sl_role_from_name(const char *name, enum sl_role *ret)
{
    for (size_t i = 0; i < sizeof role_names / sizeof *role_names; i++)
        if (strcmp(name, role_names[i]) == 0) {
            *ret = (enum sl_role)i;
            return true;
        }
    return false;
}

const char *sl_scale_source_name(enum sl_scale_source source)
{
    return source == SL_SCALE_GIVEN ? "given" : "none";
}

void sl_conditions_init(struct sl_conditions *conditions)
{
    *conditions = (struct sl_conditions){.dip_s = NAN, .dried_min = NAN};
}

void sl_read_options_init(struct sl_read_options *options)
{
    *options = (struct sl_read_options){0};
    for (size_t i = 0; i < SL_STRIPS_MAX; i++)
        sl_strip_hints_init(&options->hint[i]);
    sl_conditions_init(&options->conditions);
    sl_profile_options_init(&options->profile);
}

static void strip_finish(struct sl_strip *strip)
{
    sl_profile_finish(&strip->profile);
    sl_bands_finish(&strip->bands);
    free(strip->picture.rgb);
}

void sl_reading_drop_strips(struct sl_reading *reading)
{
    for (size_t i = 0; i < reading->strip_count; i++)
        strip_finish(&reading->strip[i]);
    free(reading->strip);
    reading->strip = NULL;
    reading->strip_count = 0;
}

void sl_reading_destroy(struct sl_reading *reading)
{
    if (!reading)
        return;
    sl_reading_drop_strips(reading);
    free(reading);
}

bool sl_strip_is_blank(const struct sl_strip *strip)
{
    return strip->marks.blank || strip->bands.total_load <= 0;
}

double sl_strip_rf(const struct sl_strip *strip, double position)
{
    return sl_rf(position, strip->marks.origin, strip->marks.front);
}

double sl_strip_retained_reach(const struct sl_strip *strip)
{
    double line = strip->marks.line_width;
    return 0.5 * line + (strip->length_mm > 0 ? 1 / strip->length_mm : line);
}
