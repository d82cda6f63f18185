// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the strips lie.
 * 1. One look at the photo, reduced to about a thousand pixels (find_planes.c). A photo that shows
 *    nothing for lack or excess of light is refused here.
 * 2. Thin edges in all planes together, whichever side is brighter (find_edges.c), joined to
 *    straight lines (find_lines.c).
 * 3. Pairs of lines that could be two sides of a strip (find_pairs.c), each looked at closely and
 *    closed at its ends (find_probe.c).
 * 4. The best set that can lie side by side (find_select.c).
 * 5. The edges again, below a pixel, on the finer look (outline_refine.c). */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char where[] = "strip/find";
/* A photo whose brightest hundredth reflects this little shows nothing (sRGB code 26 of 255). */
static const double TOO_DARK = 0.010, DARK = 0.06;
static const double BURNT_OUT = 0.9; /* part of the pixels at the upper end */

static sl_code check_light(const struct find_picture *p, const struct sl_photo_info *info,
                           struct sl_warnings *warnings, struct sl_status *status)
{
    if (p->light_high < TOO_DARK)
        return sl_status_set(status, SL_E_TOO_DARK, where,
                             "Take the photo again with more light, with the flash off.",
                             "%s is too dark to show a strip: its brightest parts have %.1f %% of "
                             "full light.",
                             info->file, 100 * p->light_high);
    if (p->burnt_fraction > BURNT_OUT)
        return sl_status_set(
            status, SL_E_BURNT_OUT, where, "Take the photo again with less exposure.",
            "%s is burnt out: %.0f %% of it is pure white.", info->file, 100 * p->burnt_fraction);
    if (p->light_high < DARK)
        sl_warn(warnings, SL_W_DARK, where, "Take the photo with more light.",
                "The photo is dark: its brightest parts have %.1f %% of full light.",
                100 * p->light_high);
    return SL_OK;
}

/* Steps 2 to 4. */
static sl_code search(const struct find_picture *picture, struct find_quad ret[SL_STRIPS_MAX],
                      size_t *ret_count, struct sl_status *status)
{
    struct find_edges edges = {0};
    struct find_lines *lines = malloc(sizeof *lines);
    struct find_quads *quads = malloc(sizeof *quads);
    sl_code code = SL_E_MEMORY;
    if (!lines || !quads) {
        sl_status_set(status, code, where, "Close other programs or use a smaller photo.",
                      "There is not enough memory to look for strips.");
        goto done;
    }
    if ((code = find_edges_fill(picture, &edges, status)) != SL_OK)
        goto done;
    if ((code = find_lines_fill(&edges, lines, status)) != SL_OK)
        goto done;
    find_quads_pair(picture, lines, quads);
    for (size_t i = 0; i < quads->count; i++)
        find_quad_probe(picture, &edges, &quads->item[i]);
    *ret_count = find_quads_select(quads, ret);
done:
    find_edges_finish(&edges);
    free(lines);
    free(quads);
    return code;
}

static void to_outline(const struct find_picture *picture, const struct find_quad *quad,
                       struct sl_outline *ret)
{
    struct sl_point corner[4];
    find_quad_corners(quad, corner);
    for (int i = 0; i < 4; i++) {
        corner[i].x = picture->x0 + picture->scale * corner[i].x;
        corner[i].y = picture->y0 + picture->scale * corner[i].y;
    }
    outline_straight(corner, ret);
    ret->edge_sigma_px = picture->scale;
    ret->cut_off = quad->cut_off;
    ret->confidence = quad->quality;
}

sl_code sl_strips_find(struct sl_photo *photo, struct sl_outlines *ret,
                       struct sl_warnings *warnings, struct sl_status *status)
{
    const struct sl_photo_info *info = sl_photo_info(photo);
    struct sl_image look = {0};
    struct find_picture picture = {0};
    struct find_quad quad[SL_STRIPS_MAX];
    size_t count = 0;
    sl_code code = sl_photo_look(photo, FIND_LOOK_SIDE_PX, &look, status);
    if (code != SL_OK || (code = find_picture_fill(&look, &picture, status)) != SL_OK ||
        (code = check_light(&picture, info, warnings, status)) != SL_OK ||
        (code = search(&picture, quad, &count, status)) != SL_OK)
        goto done;
    if (count == 0) {
        code = sl_status_set(status, SL_E_NO_STRIP, where,
                             "Lay the strips apart on a plain, darker table so that they fill most "
                             "of the photo, or set their corners by hand.",
                             "No strip was found in %s.", info->file);
        goto done;
    }
    struct sl_outlines found = {.count = count};
    for (size_t i = 0; i < count; i++) {
        to_outline(&picture, &quad[i], &found.item[i]);
        outline_refine(&look, &found.item[i]);
    }
    *ret = found;
done:
    find_picture_finish(&picture);
    sl_image_finish(&look);
    return code;
}
