// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * index.json beside the photos of one run: their names, and which of them are two halves of a pair
 * that was photographed strip by strip.
 */
#ifndef RENDER_INDEX_H
#define RENDER_INDEX_H

#include "truth.h"

struct index; ///< owned by the caller

struct index *index_create(void); ///< NULL: no memory
void index_destroy(struct index *index);
void index_add_photo(struct index *index, const char *photo);
void index_add_pair(struct index *index, const char *immediate, const struct truth_shares *at_once,
                    const char *dried, const struct truth_shares *dried_first);
bool index_write(const struct index *index, const char *folder);

#endif
