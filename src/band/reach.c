// SPDX-License-Identifier: GPL-3.0-or-later
/* Reach of the colours:
 * 1. Cut the strip into cells; those whose load stands out from noise and light carry dye.
 * 2. Choose colours: the signature of the strongest cell, then again and again the one that is
 *    furthest in angle from all chosen, as long as that is far enough and weighs enough.
 * 3. Each cell belongs to the nearest colour. A colour reaches from its first to its last cell.
 * 4. Colours that have one name are one colour. */
#include <gsl/gsl_math.h>
#include <math.h>
#include <string.h>

#include "band/reach.h"
#include "strandline/colour.h"

enum { REACH_CELLS_MAX = 256 };
static const double cell_rf = 0.01;
static const double noise_factor = 4.0, light_factor = 2.0;
static const double other_colour_rad = 0.3; /* a dye's own signature wanders by half of this */
static const double share_least = 0.02;     /* of the load; less is an edge between two colours */

struct reach_cell {
    double rf, area, lab[3], signature[3];
    size_t colour;
};

struct reach_cells {
    size_t count;
    struct reach_cell item[REACH_CELLS_MAX];
};

/* One cell from sample `i` on; returns the sample after it. */
static size_t gather(const struct sl_profile *profile, const struct track *track, size_t i,
                     struct reach_cells *cells)
{
    struct reach_cell cell = {0};
    double n = 0.0, variance = 0.0, light = 0.0, length = 0.0, start = track->rf[i];
    for (; i < track->count && track->rf[i] < start + cell_rf; i++) {
        if (track->weight[i] <= 0.0)
            continue;
        n += 1.0;
        cell.rf += track->rf[i];
        cell.area += track->sum[i];
        variance += gsl_pow_2(track->sum_se[i]);
        light += track->light_se[i];
        for (int c = 0; c < 3; c++) {
            cell.lab[c] += profile->lab_d50[i][c];
            cell.signature[c] += fmax(track->load[i][c], 0.0);
        }
    }
    double error = sqrt(variance * fmin(track->correlation, fmax(n, 1.0)));
    if (n <= 0.0 || cell.area < noise_factor * error + light_factor * light)
        return i;
    for (int c = 0; c < 3; c++)
        length += gsl_pow_2(cell.signature[c]);
    for (int c = 0; c < 3; c++) {
        cell.lab[c] /= n;
        cell.signature[c] /= fmax(sqrt(length), 1e-12);
    }
    cell.rf /= n;
    cell.area *= track->step;
    cells->item[cells->count++] = cell;
    return i;
}

static double angle(const double a[3], const double b[3])
{
    return acos(GSL_MIN(a[0] * b[0] + a[1] * b[1] + a[2] * b[2], 1.0));
}

/* Assigns all cells; returns the weight that each colour has got. */
static void assign(struct reach_cells *cells, const size_t *colour, size_t count, double *ret_area)
{
    memset(ret_area, 0, count * sizeof *ret_area);
    for (size_t k = 0; k < cells->count; k++) {
        struct reach_cell *cell = &cells->item[k];
        cell->colour = 0;
        for (size_t j = 1; j < count; j++)
            if (angle(cell->signature, cells->item[colour[j]].signature) <
                angle(cell->signature, cells->item[colour[cell->colour]].signature))
                cell->colour = j;
        ret_area[cell->colour] += cell->area;
    }
}

/* The cell that is furthest from its colour; `count` is of cells where none is far enough. */
static size_t furthest(const struct reach_cells *cells, const size_t *colour, const bool *barred)
{
    size_t best = cells->count;
    double most = other_colour_rad;
    for (size_t k = 0; k < cells->count; k++) {
        const struct reach_cell *cell = &cells->item[k];
        double far = angle(cell->signature, cells->item[colour[cell->colour]].signature);
        if (!barred[k] && far > most) {
            most = far;
            best = k;
        }
    }
    return best;
}

static size_t choose(struct reach_cells *cells, double total, size_t *colour)
{
    bool barred[REACH_CELLS_MAX] = {false};
    double area[SL_REACH_MAX];
    size_t count = 1;
    colour[0] = 0;
    for (size_t k = 1; k < cells->count; k++)
        if (cells->item[k].area > cells->item[colour[0]].area)
            colour[0] = k;
    assign(cells, colour, count, area);
    while (count < SL_REACH_MAX) {
        size_t next = furthest(cells, colour, barred);
        if (next == cells->count)
            break;
        barred[next] = true;
        colour[count] = next;
        assign(cells, colour, count + 1, area);
        if (area[count] >= share_least * total)
            count++;
        else
            assign(cells, colour, count, area);
    }
    return count;
}

static struct sl_reach extent_of(const struct reach_cells *cells, size_t colour, double total)
{
    struct sl_reach reach = {.first_rf = INFINITY, .last_rf = -INFINITY};
    double lab[3] = {0}, area = 0.0;
    for (size_t k = 0; k < cells->count; k++) {
        const struct reach_cell *cell = &cells->item[k];
        if (cell->colour != colour)
            continue;
        reach.first_rf = fmin(reach.first_rf, cell->rf - 0.5 * cell_rf);
        reach.last_rf = fmax(reach.last_rf, cell->rf + 0.5 * cell_rf);
        area += cell->area;
        for (int c = 0; c < 3; c++)
            lab[c] += cell->area * cell->lab[c];
    }
    for (int c = 0; c < 3; c++)
        lab[c] /= area;
    reach.share = fmin(area / total, 1.0);
    reach.hue_deg = sl_lab_hue_deg(lab);
    reach.hue_name = sl_hue_name(lab);
    return reach;
}

static void add(struct sl_bands *bands, const struct sl_reach *reach)
{
    for (size_t k = 0; k < bands->reach_count; k++) {
        struct sl_reach *known = &bands->reach[k];
        if (strcmp(known->hue_name, reach->hue_name) != 0)
            continue;
        known->first_rf = fmin(known->first_rf, reach->first_rf);
        known->last_rf = fmax(known->last_rf, reach->last_rf);
        known->share = fmin(known->share + reach->share, 1.0);
        return;
    }
    size_t at = bands->reach_count++;
    for (; at > 0 && bands->reach[at - 1].first_rf > reach->first_rf; at--)
        bands->reach[at] = bands->reach[at - 1];
    bands->reach[at] = *reach;
}

void reach_measure(const struct sl_profile *profile, const struct track *track, double total,
                   struct sl_bands *ret)
{
    struct reach_cells cells = {.count = 0};
    size_t colour[SL_REACH_MAX + 1];
    for (size_t i = track_at(track, -retained_reach(track));
         i < track->count && cells.count < REACH_CELLS_MAX;)
        i = gather(profile, track, i, &cells);
    if (cells.count == 0)
        return;
    size_t count = choose(&cells, total, colour);
    for (size_t j = 0; j < count; j++) {
        struct sl_reach reach = extent_of(&cells, j, total);
        if (isfinite(reach.first_rf))
            add(ret, &reach);
    }
}
