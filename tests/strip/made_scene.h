// SPDX-License-Identifier: GPL-3.0-or-later
/* Pictures of tables with papers on them, drawn from exact corners with anti-aliasing in linear
 * light, noise from a fixed generator, as PNG bytes in memory. */
#ifndef STRANDLINE_TESTS_MADE_SCENE_H
#define STRANDLINE_TESTS_MADE_SCENE_H

#include "strandline/strip.h"

struct made_scene {
    int width, height;
    float *light; /* linear, width x height x 3 */
};

void made_scene_init(struct made_scene *scene, int width, int height, double r, double g, double b);
void made_scene_finish(struct made_scene *scene);

/* Corners of an upright rectangle about (x, y), turned clockwise by `deg`. */
void made_corners(double x, double y, double width, double length, double deg,
                  struct sl_point ret[4]);

/* A paper of this reflectance; with ink: a dark line and two coloured bands across it. `bow_px`:
 * both long sides swing out to the right by that much in the middle. */
void made_paper(struct made_scene *scene, const struct sl_point corner[4], double reflectance,
                bool ink, double bow_px);

void made_blur(struct made_scene *scene, double sigma_px);

/* Adds noise (standard deviation in linear light) and encodes; the caller closes the photo. */
struct sl_photo *made_photo(const struct made_scene *scene, double noise);

#endif
