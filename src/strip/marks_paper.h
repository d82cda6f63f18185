// SPDX-License-Identifier: GPL-3.0-or-later
/* How much light clean paper itself gives back. */
#ifndef STRANDLINE_STRIP_MARKS_PAPER_H
#define STRANDLINE_STRIP_MARKS_PAPER_H

#include <stdbool.h>

/* From the light of clean paper at its brightest place (linear, 1 = the encoding's white). True if
 * the paper is taken for unbleached brown paper. */
bool sl_paper_reflectance(const double white[3], double ret[3]);

#endif
