// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The sheets that lie on the table: strips made of their run, and what else lies about.
 */
#ifndef RENDER_THINGS_H
#define RENDER_THINGS_H

#include "run.h"
#include "sheet.h"

/// The strip as paper: cut, torn, pencilled, labelled, dyed. Caller owns *ret_sheet.
bool strip_sheet(const struct scene *scene, const struct run *run, uint64_t seed,
                 struct sheet *ret_sheet);

/// Where the paper of the same seed ends, averaged over the middle 90 % of the width: fills
/// low_end_mm and high_end_mm.
void strip_ends(uint64_t seed, struct run *run);

/// How far the tide line at the front stands out of clean paper (CIEDE2000).
double tide_line_de00(const struct run *run);

bool object_sheet(const struct object *object, uint64_t seed, struct sheet *ret_sheet);

#endif
