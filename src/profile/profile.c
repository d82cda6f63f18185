// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. The middle part of the width is divided into lanes side by side. Within a lane the cells of a
 *    row are averaged as reflectance: noise would otherwise lift K/S, which is convex.
 * 2. Fronts are straightened where that sharpens the result.
 * 3. A row's load is the mean of its lanes' loads. Its standard error comes from the differences
 *    of neighbouring lanes, which a slanted line or a fingered front hardly touches.
 * 4. What clean rows scatter beyond that is added (noise.c); the light's part of the error stands
 *    beside it, being common to neighbours. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "profile/lanes.h"
#include "profile/noise.h"
#include "strandline/colour.h"

#define SATURATED_R 0.02     /* K/S = 24: a level of 8-bit light is a fifth of the light there */
#define CLIPPED_PART_ROW 0.1 /* of a row's cells */
#define HIDDEN_SE 1.0        /* says that nothing was seen there */

void sl_profile_options_init(struct sl_profile_options *options)
{
    *options = (struct sl_profile_options){
        .across_from = 0.05, .across_to = 0.95, .straighten_fronts = true};
}

static bool allocate(struct sl_profile *p, size_t count)
{
    p->count = count;
    p->position = calloc(count, sizeof *p->position);
    p->reflectance = calloc(count, sizeof *p->reflectance);
    p->reflectance_se = calloc(count, sizeof *p->reflectance_se);
    p->load = calloc(count, sizeof *p->load);
    p->load_se = calloc(count, sizeof *p->load_se);
    p->density = calloc(count, sizeof *p->density);
    p->lab_d50 = calloc(count, sizeof *p->lab_d50);
    p->lab_se = calloc(count, sizeof *p->lab_se);
    p->light_se = calloc(count, sizeof *p->light_se);
    p->flags = calloc(count, 1);
    return p->position != NULL && p->reflectance != NULL && p->reflectance_se != NULL &&
           p->load != NULL && p->load_se != NULL && p->density != NULL && p->lab_d50 != NULL &&
           p->lab_se != NULL && p->light_se != NULL && p->flags != NULL;
}

void sl_profile_finish(struct sl_profile *p)
{
    if (p == NULL)
        return;
    free(p->position);
    free(p->reflectance);
    free(p->reflectance_se);
    free(p->load);
    free(p->load_se);
    free(p->density);
    free(p->lab_d50);
    free(p->lab_se);
    free(p->light_se);
    free(p->flags);
    *p = (struct sl_profile){0};
}

/* Means of one row and channel with the variance of the means; false if no lane sees the row. */
static bool row_mean(const struct sl_lanes *lanes, size_t row, int c, double paper, double ret[2],
                     double ret_variance[2])
{
    double sum[2] = {0, 0}, steps[2] = {0, 0}, last[2] = {0, 0};
    int seen = 0, pairs = 0, last_lane = -2;
    for (int lane = 0; lane < lanes->count; lane++) {
        size_t at = sl_lanes_at(lanes, row, lane);
        if (!lanes->seen[at])
            continue;
        double r = (double)lanes->value[at][c], now[2] = {r, sl_load(r, paper)};
        for (int k = 0; k < 2; k++) {
            if (last_lane == lane - 1)
                steps[k] += (now[k] - last[k]) * (now[k] - last[k]) / 2;
            sum[k] += now[k];
            last[k] = now[k];
        }
        pairs += last_lane == lane - 1;
        last_lane = lane;
        seen++;
    }
    for (int k = 0; k < 2; k++) {
        ret[k] = seen > 0 ? sum[k] / seen : 0;
        ret_variance[k] = pairs > 0 ? steps[k] / pairs / seen : NAN;
    }
    return seen > 0;
}

static uint8_t row_flags(const struct sl_sheet *sheet, const struct sl_profile_options *options,
                         size_t row)
{
    int hidden = 0, clipped = 0, marked = 0, count = 0;
    for (int column = 0; column < sheet->columns; column++) {
        double u = (column + 0.5) / sheet->columns;
        if (u < options->across_from || u >= options->across_to)
            continue;
        uint8_t flags = sheet->flags[row * (size_t)sheet->columns + (size_t)column];
        hidden += (flags & SL_CELL_HIDDEN) != 0;
        clipped += (flags & SL_CELL_CLIPPED) != 0;
        marked += (flags & SL_CELL_MARK) != 0;
        count++;
    }
    uint8_t flags = 0;
    if (2 * hidden > count)
        flags |= SL_CELL_HIDDEN;
    if (clipped > CLIPPED_PART_ROW * count)
        flags |= SL_CELL_CLIPPED;
    if (2 * marked > count)
        flags |= SL_CELL_MARK;
    return flags;
}

static void means(struct sl_profile *p, const struct sl_lanes *lanes, const struct sl_marks *marks,
                  bool *seen)
{
    for (size_t row = 0; row < p->count; row++) {
        p->position[row] = ((double)row + 0.5) / (double)p->count;
        for (int c = 0; c < 3; c++) {
            double mean[2], variance[2];
            seen[row] = row_mean(lanes, row, c, marks->paper_reflectance[c], mean, variance);
            p->reflectance[row][c] = mean[0], p->load[row][c] = mean[1];
            p->reflectance_se[row][c] = variance[0], p->load_se[row][c] = variance[1];
            if (seen[row] && mean[0] < SATURATED_R)
                p->flags[row] |= SL_CELL_SATURATED;
        }
    }
}

static bool variances_to_errors(struct sl_profile *p)
{
    if (!sl_noise_pool(p->reflectance_se, p->count) || !sl_noise_pool(p->load_se, p->count))
        return false;
    for (size_t row = 0; row < p->count; row++)
        for (int c = 0; c < 3; c++) {
            double r = sqrt(p->reflectance_se[row][c]), load = sqrt(p->load_se[row][c]);
            p->reflectance_se[row][c] = isfinite(r) ? r : HIDDEN_SE;
            p->load_se[row][c] = isfinite(load) ? load : HIDDEN_SE;
        }
    return true;
}

/* `white` comes on top of the sheet's own error of its white. */
static void light_errors(struct sl_profile *p, const struct sl_sheet *sheet,
                         const struct sl_marks *marks, double white)
{
    for (size_t row = 0; row < p->count; row++)
        for (int c = 0; c < 3; c++) {
            double r = fmin(fmax(p->reflectance[row][c], SL_REFLECTANCE_MIN), 1.0);
            double absolute = r * marks->paper_reflectance[c];
            double slope = fabs(absolute * absolute - 1) / (2 * absolute * absolute);
            p->light_se[row][c] =
                slope * absolute * hypot((double)sheet->paper[3 * row + (size_t)c], white);
        }
}

static void bridge(struct sl_profile *p, size_t row, size_t below, size_t above, bool any)
{
    double part = above > below ? (double)(row - below) / (double)(above - below) : 0;
    for (int c = 0; c < 3; c++) {
        double r0 = any ? p->reflectance[below][c] : 1, r1 = any ? p->reflectance[above][c] : 1;
        double l0 = any ? p->load[below][c] : 0, l1 = any ? p->load[above][c] : 0;
        p->reflectance[row][c] = r0 + part * (r1 - r0);
        p->load[row][c] = l0 + part * (l1 - l0);
        p->reflectance_se[row][c] = HIDDEN_SE;
        p->load_se[row][c] = HIDDEN_SE;
    }
}

/* Rows that nobody can see lie on a line between their neighbours, with an error that says so. */
static void bridge_hidden(struct sl_profile *p, const bool *seen)
{
    for (size_t row = 0; row < p->count; row++) {
        if (seen[row])
            continue;
        size_t below = row, above = row;
        while (below > 0 && !seen[below])
            below--;
        while (above + 1 < p->count && !seen[above])
            above++;
        if (!seen[below])
            below = above;
        if (!seen[above])
            above = below;
        bridge(p, row, below, above, seen[below]);
        p->flags[row] |= SL_CELL_HIDDEN;
    }
}

static bool lab_and_density(struct sl_profile *p, const struct sl_lab *lab)
{
    double(*moved)[3] = calloc(p->count, sizeof *moved);
    double(*moved_lab)[3] = calloc(p->count, sizeof *moved_lab);
    bool ok = moved != NULL && moved_lab != NULL;
    if (!ok)
        goto done;
    sl_lab_from_linear(lab, (const double(*)[3])p->reflectance, p->count, p->lab_d50);
    for (int c = 0; c < 3; c++) {
        memcpy(moved, p->reflectance, p->count * sizeof *moved);
        for (size_t row = 0; row < p->count; row++)
            moved[row][c] += p->reflectance_se[row][c];
        sl_lab_from_linear(lab, (const double(*)[3])moved, p->count, moved_lab);
        for (size_t row = 0; row < p->count; row++) {
            p->density[row][c] = sl_optical_density(p->reflectance[row][c]);
            for (int k = 0; k < 3; k++)
                p->lab_se[row][k] =
                    hypot(p->lab_se[row][k], moved_lab[row][k] - p->lab_d50[row][k]);
        }
    }
done:
    free(moved);
    free(moved_lab);
    return ok;
}

static bool make(struct sl_profile *p, const struct sl_sheet *sheet, const struct sl_marks *marks,
                 const struct sl_profile_options *options, const struct sl_lab *lab)
{
    struct sl_lanes lanes = {0};
    double white = 0;
    bool *seen = calloc((size_t)sheet->rows, sizeof *seen);
    bool ok = seen != NULL && allocate(p, (size_t)sheet->rows) &&
              sl_lanes_init(&lanes, sheet, options->across_from, options->across_to);
    if (ok && options->straighten_fronts)
        ok = sl_lanes_straighten(&lanes, &p->straightened);
    if (!ok)
        goto done;
    for (size_t row = 0; row < p->count; row++)
        p->flags[row] = row_flags(sheet, options, row);
    means(p, &lanes, marks, seen);
    ok = variances_to_errors(p);
    bridge_hidden(p, seen);
    ok = ok && sl_noise_across(p, marks) && sl_noise_white(p, sheet, &white) &&
         lab_and_density(p, lab);
    light_errors(p, sheet, marks, white);
    memcpy(p->white_rgb, marks->paper_rgb, sizeof p->white_rgb);
    p->white_level_se = marks->white_level_se;
    p->chroma_step = sheet->chroma_step;
    memcpy(p->white_colour_se, marks->white_colour_se, sizeof p->white_colour_se);
done:
    free(seen);
    sl_lanes_finish(&lanes);
    return ok;
}

sl_code sl_profile_make(const struct sl_sheet *sheet, const struct sl_marks *marks,
                        const struct sl_profile_options *options, struct sl_profile *ret,
                        struct sl_status *status)
{
    static const char where[] = "profile";
    if (!(options->across_from >= 0 && options->across_to <= 1 &&
          options->across_to - options->across_from >= 0.1))
        return sl_status_set(status, SL_E_RANGE, where,
                             "Give two fractions of the width between 0 and 1, at least 0.1 apart.",
                             "The part across the strip from %g to %g can't be averaged.",
                             options->across_from, options->across_to);
    struct sl_lab *lab = NULL;
    sl_code code = sl_lab_create(&lab, status);
    if (code != SL_OK)
        return code;
    struct sl_profile profile = {0};
    if (make(&profile, sheet, marks, options, lab)) {
        *ret = profile;
    } else {
        sl_profile_finish(&profile);
        code =
            sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                          "There is not enough memory for a profile of %d samples.", sheet->rows);
    }
    sl_lab_destroy(lab);
    return code;
}
