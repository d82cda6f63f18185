// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the strips lie.
 * 1. One look at the photo, reduced to about a thousand pixels (find_planes.c). A photo that shows
 *    nothing for lack or excess of light is refused here.
 * 2. Thin edges in all planes together, whichever side is brighter (find_edges.c), joined to
 *    straight lines (find_lines.c). Stripes of a cloth are taken away before (find_stripes.c).
 * 3. Pairs of lines that could be two sides of a strip (find_pairs.c), each looked at closely and
 *    closed at its ends (find_probe.c).
 * 4. The best set that can lie side by side (find_select.c).
 * 5. The edges again, below a pixel, on the finer look (outline_refine.c), and the ends once more
 *    where something else was taken for them (outline_end.c) or tape hides them (outline_cover.c).
 * 6. Straight edges of what else lies about (find_straight.c), which tell the slant at which the
 *    table is seen (sheet_level.c).
 * 7. What is known against them: cut off by the frame (not so after all: find_whole.c; lengthwise:
 *    find_cut.c), held by a peg or tape (find_hidden.c), bent, blurred (find_focus.c). */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char where[] = "strip/find";
/* A photo whose brightest hundredth reflects this little shows nothing (sRGB code 26 of 255). */
static const double TOO_DARK = 0.010, DARK = 0.06;
static const double BURNT_OUT = 0.9; /* part of the pixels at the upper end */

/* Of the picture, px: edges this soft can't be told from shading any more. */
static const double BLUR_HOPELESS_PX = 4.5;
/* Of the strip's width; at 20 mm that is 0.9 mm and 0.35 mm. */
static const double BLUR_MOST = 0.045, BLUR_WARN = 0.018;
static const double BLUR_OWN_PX = 1.1; /* of a sharp photo in the smoothed picture */
static const double BEND_WARN = 0.02;
static const double CUT_LEAST_WIDTHS = 2.5; /* a shorter piece of a strip shows too little */

static const char cut_remedy[] = "Take the photo again with the whole strip in the frame.";
static const char focus_remedy[] =
    "Take the photo again: tap on the strip to focus, hold the phone still, use more light.";

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

/* Step 2, edges. On a striped cloth the picture is made again without the stripes. */
static sl_code see_edges(const struct sl_image *look, struct find_picture *picture,
                         struct find_edges *ret, struct sl_status *status)
{
    struct find_colour_map map;
    struct find_picture plain = {0};
    sl_code code = find_edges_fill(picture, ret, status);
    if (code != SL_OK || !find_stripes(picture, ret, &map))
        return code;
    find_edges_finish(ret);
    if ((code = find_picture_fill(look, &map, &plain, status)) != SL_OK)
        return code;
    find_picture_finish(picture);
    *picture = plain;
    return find_edges_fill(picture, ret, status);
}

/* Steps 2 to 4. `ret_cut_beside`: the frame seems to cut a further strip lengthwise. */
static sl_code search(const struct sl_photo *photo, const struct sl_image *look,
                      struct find_picture *picture, struct find_lines *lines,
                      struct find_quad ret[SL_STRIPS_MAX], size_t *ret_count, bool *ret_cut_beside,
                      struct sl_status *status)
{
    struct find_edges edges = {0};
    struct find_quads *quads = malloc(sizeof *quads);
    sl_code code = SL_E_MEMORY;
    if (!lines || !quads) {
        sl_status_set(status, code, where, "Close other programs or use a smaller photo.",
                      "There is not enough memory to look for strips.");
        goto done;
    }
    if ((code = see_edges(look, picture, &edges, status)) != SL_OK)
        goto done;
    if ((code = find_lines_fill(&edges, lines, status)) != SL_OK)
        goto done;
    find_quads_pair(picture, lines, quads);
    for (size_t i = 0; i < quads->count; i++) {
        if ((code = sl_photo_check_cancel(photo, status)) != SL_OK)
            goto done;
        find_quad_probe(picture, &edges, &quads->item[i]);
    }
    *ret_count = find_quads_select(quads, ret);
    *ret_cut_beside = find_cut_beside(picture, lines, ret, *ret_count);
done:
    find_edges_finish(&edges);
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

static sl_code refuse_blur(const struct find_picture *picture, double blur_px,
                           const struct sl_photo_info *info, struct sl_status *status)
{
    return sl_status_set(status, SL_E_BLURRED, where, focus_remedy,
                         "%s is out of focus: its edges are spread over %.0f pixels.", info->file,
                         2 * blur_px * picture->scale);
}

static double mean_width(const struct sl_outline *o)
{
    const struct sl_point *c = o->corner_px;
    return 0.5 *
           (hypot(c[1].x - c[0].x, c[1].y - c[0].y) + hypot(c[2].x - c[3].x, c[2].y - c[3].y));
}

static double mean_length(const struct sl_outline *o)
{
    const struct sl_point *c = o->corner_px;
    return 0.5 *
           (hypot(c[3].x - c[0].x, c[3].y - c[0].y) + hypot(c[2].x - c[1].x, c[2].y - c[1].y));
}

/* Step 7 for sharpness, once the strips' widths are known. */
static sl_code check_blur(const struct find_picture *picture, double blur_px,
                          const struct sl_outlines *found, const struct sl_photo_info *info,
                          struct sl_warnings *warnings, struct sl_status *status)
{
    double widest = 0, own = sqrt(fmax(blur_px * blur_px - BLUR_OWN_PX * BLUR_OWN_PX, 0));
    for (size_t i = 0; i < found->count; i++)
        widest = fmax(widest, mean_width(&found->item[i]) / picture->scale);
    if (own > BLUR_MOST * widest)
        return refuse_blur(picture, blur_px, info, status);
    if (own > BLUR_WARN * widest)
        sl_warn(warnings, SL_W_BLURRED, where, focus_remedy,
                "The photo is blurred: edges are spread over %.1f %% of the strip's width.",
                200 * own / widest);
    return SL_OK;
}

static sl_code check_frame(const struct sl_outlines *found, const struct sl_photo_info *info,
                           struct sl_warnings *warnings, struct sl_status *status)
{
    size_t cut = 0, short_ones = 0;
    for (size_t i = 0; i < found->count; i++) {
        const struct sl_outline *o = &found->item[i];
        cut += o->cut_off;
        short_ones += o->cut_off && mean_length(o) < CUT_LEAST_WIDTHS * mean_width(o);
    }
    if (short_ones == found->count)
        return sl_status_set(status, SL_E_CUT_OFF, where, cut_remedy,
                             "The frame of %s cuts the strip off and leaves too little of it.",
                             info->file);
    if (cut > 0)
        sl_warn(warnings, SL_W_CUT_OFF, where, cut_remedy,
                "The photo's frame cuts off %zu of %zu strips.", cut, found->count);
    return SL_OK;
}

static void warn_shape(const struct sl_outlines *found, struct sl_warnings *warnings)
{
    for (size_t i = 0; i < found->count; i++) {
        const struct sl_outline *o = &found->item[i];
        if (!isnan(o->hidden_from))
            sl_warn(warnings, SL_W_HIDDEN_PART, where,
                    "Take peg or tape off before the photo, or leave it where there is no dye.",
                    "Something covers strip %zu from %.0f %% to %.0f %% of its length.", i + 1,
                    100 * o->hidden_from, 100 * o->hidden_to);
        if (o->bend > BEND_WARN)
            sl_warn(warnings, SL_W_BENT, where, "Press the strip flat, under glass for instance.",
                    "Strip %zu is bent: its edges leave a straight line by %.1f %% of its length.",
                    i + 1, 100 * o->bend);
    }
}

sl_code sl_strips_find(struct sl_photo *photo, struct sl_outlines *ret,
                       struct sl_warnings *warnings, struct sl_status *status)
{
    const struct sl_photo_info *info = sl_photo_info(photo);
    struct sl_image look = {0};
    struct find_picture picture = {0};
    struct find_quad quad[SL_STRIPS_MAX];
    struct sl_outlines found = {0};
    struct find_lines *lines = malloc(sizeof *lines);
    bool cut_beside = false;
    sl_code code = sl_photo_look(photo, FIND_LOOK_SIDE_PX, &look, status);
    if (code != SL_OK || (code = find_picture_fill(&look, NULL, &picture, status)) != SL_OK ||
        (code = check_light(&picture, info, warnings, status)) != SL_OK)
        goto done;
    double blur_px = find_blur_px(&picture);
    if (blur_px > BLUR_HOPELESS_PX) {
        code = refuse_blur(&picture, blur_px, info, status);
        goto done;
    }
    if ((code = search(photo, &look, &picture, lines, quad, &found.count, &cut_beside, status)) !=
        SL_OK)
        goto done;
    if (found.count == 0) {
        code = sl_status_set(status, SL_E_NO_STRIP, where,
                             "Lay the strips apart on a plain, darker table so that they fill most "
                             "of the photo, or set their corners by hand.",
                             "No strip was found in %s.", info->file);
        goto done;
    }
    for (size_t i = 0; i < found.count; i++) {
        if ((code = sl_photo_check_cancel(photo, status)) != SL_OK)
            goto done;
        to_outline(&picture, &quad[i], &found.item[i]);
        outline_refine(&look, &found.item[i]);
        if (outline_ends(&picture, quad[i].paper, &found.item[i]))
            outline_refine(&look, &found.item[i]);
        find_whole(&picture, quad[i].paper, &found.item[i]);
        find_hidden(&picture, quad[i].paper, &found.item[i]);
        outline_cut_ends(info, &found.item[i]);
    }
    if ((code = check_blur(&picture, blur_px, &found, info, warnings, status)) != SL_OK ||
        (code = check_frame(&found, info, warnings, status)) != SL_OK)
        goto done;
    warn_shape(&found, warnings);
    if (cut_beside)
        sl_warn(warnings, SL_W_CUT_OFF, where, cut_remedy,
                "The photo's frame seems to cut a further strip lengthwise.");
    find_straight(&look, &picture, lines, &found);
    sl_outlines_level(info, &found);
    *ret = found;
done:
    free(lines);
    find_picture_finish(&picture);
    sl_image_finish(&look);
    return code;
}
