// SPDX-License-Identifier: GPL-3.0-or-later
/* How alike two traces are.
 *
 * 1. Each trace is blurred by what two dips of one ink differ anyway, and what lies below zero
 *    (noise on clean paper) is cut.
 * 2. On the part of the axis that both know, each is brought to unit area over all three channels.
 * 3. Likeness = 1 - half the integrated absolute difference: 1 for the same, 0 where no colour of
 *    one lies where that colour lies on the other. How much ink there was plays no part. */
#include "overlay_internal.h"

#include <math.h>
#include <stdlib.h>

/* Standard deviation of the blur in steps of the axis: 0.01 Rf, about what Rf scatters between
 * runs under the same conditions (common practice, no source). */
enum { BLUR_STEPS = 4, BLUR_REACH = 3 * BLUR_STEPS };

typedef double trace_load[SL_OVERLAY_SAMPLES][3];

static void blur(trace_load from, trace_load to)
{
    double weight[BLUR_REACH + 1];
    for (int d = 0; d <= BLUR_REACH; d++)
        weight[d] = exp(-0.5 * d * d / (double)(BLUR_STEPS * BLUR_STEPS));
    for (int k = 0; k < SL_OVERLAY_SAMPLES; k++)
        for (int c = 0; c < 3; c++) {
            double sum = 0, total = 0;
            for (int d = -BLUR_REACH; d <= BLUR_REACH; d++) {
                int j = k + d;
                if (j < 0 || j >= SL_OVERLAY_SAMPLES || !isfinite(from[j][c]))
                    continue;
                sum += weight[abs(d)] * from[j][c];
                total += weight[abs(d)];
            }
            to[k][c] = isfinite(from[k][c]) ? fmax(sum / total, 0) : NAN;
        }
}

static bool is_known(const double a[3], const double b[3])
{
    return isfinite(a[0] + a[1] + a[2] + b[0] + b[1] + b[2]);
}

static double compare(trace_load a, trace_load b)
{
    double area_a = 0, area_b = 0, difference = 0;
    for (int k = 0; k < SL_OVERLAY_SAMPLES; k++)
        if (is_known(a[k], b[k])) {
            area_a += a[k][0] + a[k][1] + a[k][2];
            area_b += b[k][0] + b[k][1] + b[k][2];
        }
    if (!(area_a > 0) || !(area_b > 0))
        return NAN;
    for (int k = 0; k < SL_OVERLAY_SAMPLES; k++)
        for (int c = 0; c < 3 && is_known(a[k], b[k]); c++)
            difference += fabs(a[k][c] / area_a - b[k][c] / area_b);
    return fmin(fmax(1 - difference / 2, 0), 1);
}

sl_code sl_overlay_likeness(struct sl_overlay *overlay, struct sl_status *status)
{
    size_t n = overlay->trace_count;
    trace_load *smooth = calloc(n, sizeof *smooth);
    if (!smooth)
        return sl_status_set(status, SL_E_MEMORY, "overlay", "Lay fewer strips over each other.",
                             "there is not enough memory to compare %zu strips", n);
    for (size_t i = 0; i < n; i++)
        blur(overlay->trace[i].load, smooth[i]);
    for (size_t i = 0; i < n; i++)
        for (size_t j = i; j < n; j++) {
            double likeness = compare(smooth[i], smooth[j]);
            overlay->likeness[i * n + j] = overlay->likeness[j * n + i] = likeness;
        }
    free(smooth);
    return SL_OK;
}
