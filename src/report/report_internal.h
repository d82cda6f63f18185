// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of this folder share: text that is safe to show, numbers that look the same in
 * every locale. */
#ifndef SL_REPORT_INTERNAL_H
#define SL_REPORT_INTERNAL_H

#include <stddef.h>

#include "strandline/report.h"

enum sl_text_controls { SL_TEXT_KEEP_CONTROLS, SL_TEXT_REPLACE_CONTROLS };

/* A malloc'd copy in sound UTF-8: what is none becomes U+FFFD, and so do control characters where
 * asked (a name must not steer a terminal). NULL without memory. */
char *sl_text_clean(const char *text, enum sl_text_controls controls);

/* `value` with `decimals` digits after a dot, in every locale; "?" where it is not finite. Returns
 * `buffer`. */
enum { SL_NUMBER_BYTES = 48 };
const char *sl_number(double value, int decimals, char buffer[SL_NUMBER_BYTES]);

#endif
