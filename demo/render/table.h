// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What the strips lie on, and the relief of papers: colours as functions of the place in mm.
 */
#ifndef RENDER_TABLE_H
#define RENDER_TABLE_H

#include "noise.h"
#include "scene.h"

struct surface {
    const struct scene *scene;
    struct tile cloud; ///< large soft shapes
    struct tile grain; ///< fine ones
    double cos_turn, sin_turn;
};

void surface_fill(const struct scene *scene, struct surface *ret_surface);
void table_colour(const struct surface *surface, double x, double y, float ret_rgb[3]);

/// Brightness of textured paper around 1, depth 1 = usual.
float paper_relief(const struct surface *surface, int paper_kind, double depth, double u, double v);

#endif
