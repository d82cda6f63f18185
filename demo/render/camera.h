// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A camera above the table: a pinhole, and a lens that shows what lies far from the middle a little
 * too near to it (barrel) or too far out (pincushion). Pixel (0, 0) is the centre of the upper left
 * pixel as displayed.
 */
#ifndef RENDER_CAMERA_H
#define RENDER_CAMERA_H

#include "scene.h"

struct camera {
    double centre_x_px, centre_y_px, focal_px;
    double bend_per_px2; ///< ideal place = place in the picture x (1 + bend r^2), from the middle
    double place[3], forward[3], right[3], down[3]; ///< mm; table x, y, and z towards the camera
};

void camera_aim(const struct scene *scene, struct camera *ret_camera);
void camera_project(const struct camera *camera, double x, double y, double z, double *ret_px,
                    double *ret_py);
/// Where the ray through a pixel meets the table.
void camera_meet(const struct camera *camera, double px, double py, double *ret_x, double *ret_y);
/// The same ray's place at a height above the table, from its place on the table.
void camera_raise(const struct camera *camera, double z, double *x, double *y);

#endif
