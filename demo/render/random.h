// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Scenes thrown by dice, as development data: wider than any one user's table.
 */
#ifndef RENDER_RANDOM_H
#define RENDER_RANDOM_H

#include "scene.h"

/// A scene with one strip of a pair of LAYOUT_SEPARATE, photographed on its own.
void random_alone(const struct scene *pair, int strip, struct scene *ret_scene);

struct wish {
    int tier; ///< enum tier
    bool dip;
    uint64_t seed;
    int long_side_px;      ///< 0: the dice choose a usual size
    bool nothing_retained; ///< a pair of one ink that no paper holds, dipped at once or dried
};

/// The same wish always gives the same scene.
void random_scene(const struct wish *wish, struct scene *ret_scene);

#endif
