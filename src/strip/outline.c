// SPDX-License-Identifier: GPL-3.0-or-later
/* Outlines from corners, and the small things of the strip header. */
#include <math.h>
#include <string.h>

#include "strip/find.h"

static const char where[] = "strip/outline";
static const double AREA_LEAST_PX = 400; /* 10 px x 40 px: less can't be straightened */
static const double SIGMA_BY_HAND_PX = 2;
static const double SIGMA_ROUGH_PX = 1;
static const double CUT_NEAR = 0.15; /* of the width: a cut end's corner lies no further from the
                                        frame, to which the search looks in steps */

const char *sl_front_seen_name(enum sl_front_seen seen)
{
    static const char *const names[] = {
        [SL_FRONT_DYE] = "dye",       [SL_FRONT_WATER_LINE] = "water line",
        [SL_FRONT_PENCIL] = "pencil", [SL_FRONT_GIVEN] = "given",
        [SL_FRONT_NOT_SEEN] = "no",
    };
    if ((int)seen < 0 || (size_t)seen >= sizeof names / sizeof *names)
        return "no";
    return names[seen];
}

void sl_strip_hints_init(struct sl_strip_hints *hints)
{
    *hints = (struct sl_strip_hints){
        .origin = NAN,
        .front = NAN,
        .length_mm = NAN,
        .upside_down = -1,
        .paper_reflectance = {NAN, NAN, NAN},
    };
}

static struct sl_point mix(struct sl_point a, struct sl_point b, double t)
{
    return (struct sl_point){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
}

void outline_straight(const struct sl_point corners_px[4], struct sl_outline *ret)
{
    *ret = (struct sl_outline){
        .edge_sigma_px = SIGMA_ROUGH_PX, .hidden_from = NAN, .hidden_to = NAN, .confidence = 1};
    memcpy(ret->corner_px, corners_px, sizeof ret->corner_px);
    for (int i = 0; i < SL_EDGE_POINTS; i++) {
        double t = (double)i / (SL_EDGE_POINTS - 1);
        ret->left_px[i] = mix(corners_px[0], corners_px[3], t);
        ret->right_px[i] = mix(corners_px[1], corners_px[2], t);
    }
}

double outline_from_frame(int width, int height, struct sl_point a, struct sl_point b)
{
    double x = fmin(fmin(a.x, b.x), width - 1 - fmax(a.x, b.x));
    double y = fmin(fmin(a.y, b.y), height - 1 - fmax(a.y, b.y));
    return fmin(x, y);
}

void outline_cut_ends(const struct sl_photo_info *info, struct sl_outline *outline)
{
    const struct sl_point *c = outline->corner_px;
    double lower = outline_from_frame(info->width_px, info->height_px, c[0], c[1]);
    double upper = outline_from_frame(info->width_px, info->height_px, c[3], c[2]);
    double near = CUT_NEAR * hypot(c[1].x - c[0].x, c[1].y - c[0].y);
    outline->cut_lower = outline->cut_off && (lower < near || lower <= upper);
    outline->cut_upper = outline->cut_off && (upper < near || upper < lower);
}

static double turn(struct sl_point a, struct sl_point b, struct sl_point c)
{
    return (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
}

sl_code sl_outline_from_corners(const struct sl_photo *photo, const struct sl_point corners_px[4],
                                struct sl_outline *ret, struct sl_status *status)
{
    static const char remedy[] = "Give the four corners in photo pixels in the order lower left, "
                                 "lower right, upper right, upper left.";
    const struct sl_photo_info *info = sl_photo_info(photo);
    double area = 0;
    int left_turns = 0, right_turns = 0;
    for (int i = 0; i < 4; i++) {
        struct sl_point p = corners_px[i], q = corners_px[(i + 1) % 4];
        if (!(p.x >= -0.5 && p.y >= -0.5 && p.x <= info->width_px - 0.5 &&
              p.y <= info->height_px - 0.5))
            return sl_status_set(status, SL_E_RANGE, where, remedy,
                                 "Corner %d (%g, %g) lies outside the photo of %d x %d pixels.",
                                 i + 1, p.x, p.y, info->width_px, info->height_px);
        double t = turn(p, q, corners_px[(i + 2) % 4]);
        left_turns += t < 0;
        right_turns += t > 0;
        area += p.x * q.y - q.x * p.y;
    }
    if (left_turns && right_turns)
        return sl_status_set(status, SL_E_RANGE, where, remedy,
                             "The lines between the corners cross or turn inwards.");
    if (fabs(area) / 2 < AREA_LEAST_PX)
        return sl_status_set(status, SL_E_RANGE, where, remedy,
                             "The corners enclose %.0f square pixels, fewer than %.0f.",
                             fabs(area) / 2, AREA_LEAST_PX);
    if (right_turns)
        return sl_status_set(status, SL_E_RANGE, where, remedy,
                             "The corners run round the strip clockwise from the lower left one, "
                             "so left and right are swapped.");
    outline_straight(corners_px, ret);
    ret->edge_sigma_px = SIGMA_BY_HAND_PX;
    ret->given = true;
    return SL_OK;
}
