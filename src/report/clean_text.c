// SPDX-License-Identifier: GPL-3.0-or-later
#include "report_internal.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char REPLACEMENT[] = "\xEF\xBF\xBD"; /* U+FFFD */

char *sl_text_clean(const char *text, enum sl_text_controls controls)
{
    size_t bytes = strlen(text);
    char *clean = malloc(bytes * (sizeof REPLACEMENT - 1) + 1), *to = clean;
    if (!clean)
        return NULL;
    for (const char *at = text; *at;) {
        gunichar c = g_utf8_get_char_validated(at, -1);
        size_t length = 1;
        bool is_sound = c < 0x110000u; /* errors are the two highest values */
        if (is_sound)
            length = (size_t)(g_utf8_next_char(at) - at);
        if (!is_sound || (controls == SL_TEXT_REPLACE_CONTROLS && g_unichar_iscntrl(c))) {
            memcpy(to, REPLACEMENT, sizeof REPLACEMENT - 1);
            to += sizeof REPLACEMENT - 1;
        } else {
            memcpy(to, at, length);
            to += length;
        }
        at += length;
    }
    *to = '\0';
    return clean;
}

const char *sl_number(double value, int decimals, char buffer[SL_NUMBER_BYTES])
{
    char format[8];
    if (!isfinite(value)) {
        snprintf(buffer, SL_NUMBER_BYTES, "?");
        return buffer;
    }
    snprintf(format, sizeof format, "%%.%df", decimals);
    g_ascii_formatd(buffer, SL_NUMBER_BYTES, format, value);
    if (buffer[0] == '-' && strspn(buffer + 1, "0.") == strlen(buffer + 1))
        memmove(buffer, buffer + 1, strlen(buffer)); /* "-0" is no number to show */
    return buffer;
}
