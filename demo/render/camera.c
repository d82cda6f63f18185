// SPDX-License-Identifier: GPL-3.0-or-later
#include "camera.h"

#include <math.h>

// A phone's main lens sees about 65 degrees along the longer side (common practice, no source).
static const double focal_by_long_side = 0.78;

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

void camera_aim(const struct scene *scene, struct camera *ret_camera)
{
    const double degree = 3.14159265358979323846 / 180;
    double tilt = scene->tilt_deg * degree;
    double direction = scene->tilt_direction_deg * degree;
    double roll = scene->roll_deg * degree;
    struct camera camera = {.centre_x_px = (scene->width_px - 1) / 2.0,
                            .centre_y_px = (scene->height_px - 1) / 2.0};
    double corner = hypot(camera.centre_x_px, camera.centre_y_px);
    camera.bend_per_px2 = -scene->distortion_percent / 100 / (corner * corner);
    camera.focal_px = focal_by_long_side * fmax(scene->width_px, scene->height_px);
    double distance = camera.focal_px / scene->px_per_mm;
    double away[3] = {sin(tilt) * cos(direction), sin(tilt) * sin(direction), cos(tilt)};
    double level[3] = {cos(roll), -sin(roll), 0};
    for (int k = 0; k < 3; k++) {
        camera.place[k] = distance * away[k];
        camera.forward[k] = -away[k];
    }
    double along = dot(level, camera.forward);
    for (int k = 0; k < 3; k++) {
        camera.right[k] = level[k] - along * camera.forward[k];
    }
    double length = sqrt(dot(camera.right, camera.right));
    for (int k = 0; k < 3; k++) {
        camera.right[k] /= length;
    }
    for (int k = 0; k < 3; k++) {
        int a = (k + 1) % 3;
        int b = (k + 2) % 3;
        camera.down[k] = camera.right[a] * camera.forward[b] - camera.right[b] * camera.forward[a];
    }
    if (camera.down[1] < 0) { // the table's y runs down the picture
        for (int k = 0; k < 3; k++) {
            camera.down[k] = -camera.down[k];
        }
    }
    *ret_camera = camera;
}

// The correction for radial distortion goes from the picture to the ideal place, r (1 + K1 r^2): D.
// C. Brown, Close-range camera calibration, Photogrammetric Engineering 37 (1971) 855. This is the
// way back, picture over ideal, by Newton's method from the ideal place.
static double lens_scale(const struct camera *camera, double ideal_px)
{
    double r = ideal_px;
    for (int k = 0; k < 6 && camera->bend_per_px2 != 0; k++) {
        double square = camera->bend_per_px2 * r * r;
        r -= (r * (1 + square) - ideal_px) / (1 + 3 * square);
    }
    return ideal_px > 0 ? r / ideal_px : 1;
}

void camera_project(const struct camera *camera, double x, double y, double z, double *ret_px,
                    double *ret_py)
{
    double q[3] = {x - camera->place[0], y - camera->place[1], z - camera->place[2]};
    double depth = dot(q, camera->forward);
    double ideal_x = camera->focal_px * dot(q, camera->right) / depth;
    double ideal_y = camera->focal_px * dot(q, camera->down) / depth;
    double scale = lens_scale(camera, hypot(ideal_x, ideal_y));
    *ret_px = camera->centre_x_px + scale * ideal_x;
    *ret_py = camera->centre_y_px + scale * ideal_y;
}

void camera_meet(const struct camera *camera, double px, double py, double *ret_x, double *ret_y)
{
    double ray[3];
    double dx = px - camera->centre_x_px;
    double dy = py - camera->centre_y_px;
    double straight = 1 + camera->bend_per_px2 * (dx * dx + dy * dy);
    for (int k = 0; k < 3; k++) {
        ray[k] = camera->forward[k] * camera->focal_px +
                 straight * (camera->right[k] * dx + camera->down[k] * dy);
    }
    double t = -camera->place[2] / ray[2];
    *ret_x = camera->place[0] + t * ray[0];
    *ret_y = camera->place[1] + t * ray[1];
}

void camera_raise(const struct camera *camera, double z, double *x, double *y)
{
    double s = 1 - z / camera->place[2];
    *x = camera->place[0] + (*x - camera->place[0]) * s;
    *y = camera->place[1] + (*y - camera->place[1]) * s;
}
