// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The photograph: table and sheets seen through the camera, lit, blurred, and made into samples.
 */
#ifndef RENDER_PICTURE_H
#define RENDER_PICTURE_H

#include "camera.h"
#include "sheet.h"

/// Samples as stored (orientation applied backwards), 3 a pixel, in the scene's colour space.
struct picture {
    int width_px, height_px, bits;
    uint8_t *samples8;
    uint16_t *samples16; ///< instead, with bits = 16
};

/// Draws the sheets in the given order; the first strip_count are strips. 0 on success, -1: memory.
int picture_create(const struct scene *scene, const struct camera *camera,
                   const struct sheet *sheets, int sheet_count, struct picture *ret_picture);
void picture_finish(struct picture *picture);

/// From displayed to stored pixels.
void picture_stored(const struct scene *scene, double x, double y, double *ret_x, double *ret_y);
bool picture_turned(int orientation); ///< width and height change places

#endif
