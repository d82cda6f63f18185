// SPDX-License-Identifier: GPL-3.0-or-later
/* Which bands of different strips can be the same dye: their Rf and the direction of their load
 * agree within the 95 % interval of the difference. Agreement is a hint, never proof: other dyes
 * may run as high and look alike.
 *
 * The interval of a difference has two parts: how well each strip was measured, and how well a run
 * can be repeated at all, which one strip can't tell. */
#include "overlay_internal.h"

#include <math.h>
#include <stdlib.h>

/* 95 % half width of the difference in Rf of one dye between two runs (common practice, no
 * source). */
static const double RF_REPEAT = 0.03;
/* The same for the angle between signatures: K/S of a broad camera channel isn't quite proportional
 * to dye, so the direction turns a little with concentration. */
static const double SIGNATURE_REPEAT_DEG = 5;
/* A wider allowance than this agrees with nearly any colour: no telling. */
static const double SIGNATURE_ALLOWANCE_MAX_DEG = 20;
static const double RF_ALLOWANCE_MAX = 0.15;
/* 95 % point of chi-square with 2 degrees of freedom: an angle's error lies in a plane. */
static const double CHI_SQUARE_2 = 5.991;
static const double DEG_PER_RAD = 57.29577951308232;

/* Variance of a unit vector's direction: what its channels' errors have across it. */
static double variance_across(const struct sl_band *band)
{
    double sum = 0;
    for (int c = 0; c < 3; c++)
        sum += band->signature_se[c] * band->signature_se[c] *
               (1 - band->signature[c] * band->signature[c]);
    return sum;
}

static double signature_allowance_deg(const struct sl_band *a, const struct sl_band *b)
{
    /* both directions across share the variance, hence the half */
    double variance = (variance_across(a) + variance_across(b)) / 2;
    return hypot(sqrt(CHI_SQUARE_2 * variance) * DEG_PER_RAD, SIGNATURE_REPEAT_DEG);
}

/* Half width of the 95 % interval of the difference, on the side that faces the other band. */
static double rf_allowance(const struct sl_band *low, const struct sl_band *high)
{
    double up = low->rf_interval[1] - low->rf, down = high->rf - high->rf_interval[0];
    return hypot(hypot(up, down), RF_REPEAT);
}

static bool can_be_one(const struct sl_band *a, const struct sl_band *b, struct sl_shared_dye *ret)
{
    ret->rf_difference = b->rf - a->rf;
    ret->rf_allowance = a->rf <= b->rf ? rf_allowance(a, b) : rf_allowance(b, a);
    ret->signature_angle_deg = sl_signature_angle_rad(a->signature, b->signature) * DEG_PER_RAD;
    ret->signature_allowance_deg = signature_allowance_deg(a, b);
    ret->hue_name = a->share >= b->share ? a->hue_name : b->hue_name;
    return fabs(ret->rf_difference) <= ret->rf_allowance && ret->rf_allowance <= RF_ALLOWANCE_MAX &&
           ret->signature_angle_deg <= ret->signature_allowance_deg &&
           ret->signature_allowance_deg <= SIGNATURE_ALLOWANCE_MAX_DEG;
}

static sl_code append(struct sl_overlay *overlay, const struct sl_shared_dye *found,
                      size_t *capacity, struct sl_status *status)
{
    if (overlay->shared_count == *capacity) {
        size_t wanted = *capacity ? 2 * *capacity : 16;
        struct sl_shared_dye *grown = realloc(overlay->shared, wanted * sizeof *grown);
        if (!grown)
            return sl_status_set(status, SL_E_MEMORY, "overlay",
                                 "Lay fewer strips over each other.",
                                 "there is not enough memory for the shared dyes");
        overlay->shared = grown;
        *capacity = wanted;
    }
    overlay->shared[overlay->shared_count++] = *found;
    return SL_OK;
}

static sl_code compare(const struct sl_document *document, struct sl_overlay *overlay, size_t i,
                       size_t j, size_t *capacity, struct sl_status *status)
{
    const struct sl_bands *a = &sl_overlay_strip(document, overlay->trace[i].ref)->bands;
    const struct sl_bands *b = &sl_overlay_strip(document, overlay->trace[j].ref)->bands;
    sl_code code = SL_OK;
    for (size_t p = 0; p < a->count; p++)
        for (size_t q = 0; q < b->count && code == SL_OK; q++) {
            /* what never left the line agrees in Rf whatever it is */
            if (a->item[p].retained && b->item[q].retained)
                continue;
            struct sl_shared_dye found = {.trace_1 = i, .band_1 = p, .trace_2 = j, .band_2 = q};
            if (can_be_one(&a->item[p], &b->item[q], &found))
                code = append(overlay, &found, capacity, status);
        }
    return code;
}

sl_code sl_overlay_shared(const struct sl_document *document, struct sl_overlay *overlay,
                          struct sl_status *status)
{
    size_t capacity = 0;
    sl_code code = SL_OK;
    for (size_t i = 0; i < overlay->trace_count; i++)
        for (size_t j = i + 1; j < overlay->trace_count && code == SL_OK; j++)
            code = compare(document, overlay, i, j, &capacity, status);
    return code;
}
