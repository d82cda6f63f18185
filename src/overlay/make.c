// SPDX-License-Identifier: GPL-3.0-or-later
/* Many strips on one Rf axis.
 *
 * 1. Strips with ink and a usable axis become traces, in the order of the document.
 * 2. Each profile is brought to the common axis so that the area under it is kept: a sample's load
 *    goes to the steps that it covers, by the part that it covers.
 * 3. Labels: ink and role; a number where two would be the same.
 * 4. Likeness of each two, and the dyes that they may share. */
#include "overlay_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double RF_FIRST = -0.2, RF_STEP = 0.0025;
/* A step of the axis is known where samples cover at least this part of it. */
static const double COVER_MIN = 0.5;

static sl_code no_memory(size_t count, struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "overlay", "Lay fewer strips over each other.",
                         "there is not enough memory for %zu strips", count);
}

static bool is_usable(const struct sl_strip *strip)
{
    return !sl_strip_is_blank(strip) && !strip->marks.origin_outside && strip->profile.count >= 2 &&
           isfinite(strip->marks.origin) && isfinite(strip->marks.front) &&
           strip->marks.front > strip->marks.origin;
}

static size_t count_usable(const struct sl_document *document)
{
    size_t count = 0;
    for (size_t i = 0; i < document->reading_count; i++)
        for (size_t j = 0; j < document->reading[i]->strip_count; j++)
            count += is_usable(&document->reading[i]->strip[j]);
    return count;
}

/* Where sample `i` ends, as a fraction of the strip: half-way to the next. */
static double sample_end(const struct sl_profile *profile, size_t i)
{
    const double *x = profile->position;
    if (i + 1 < profile->count)
        return (x[i] + x[i + 1]) / 2;
    return x[i] + (x[i] - x[i - 1]) / 2;
}

static double sample_start(const struct sl_profile *profile, size_t i)
{
    const double *x = profile->position;
    return i > 0 ? sample_end(profile, i - 1) : x[0] - (x[1] - x[0]) / 2;
}

static void spread_sample(const double load[3], double from, double to,
                          struct sl_overlay_trace *trace, double *cover)
{
    double first = (from - RF_FIRST) / RF_STEP + 0.5, last = (to - RF_FIRST) / RF_STEP + 0.5;
    if (!(last > 0) || !(first < SL_OVERLAY_SAMPLES))
        return;
    first = fmax(first, 0);
    last = fmin(last, SL_OVERLAY_SAMPLES);
    for (size_t k = (size_t)first; k < SL_OVERLAY_SAMPLES && (double)k < last; k++) {
        double part = fmin(last, (double)k + 1) - fmax(first, (double)k);
        cover[k] += part;
        for (int c = 0; c < 3; c++)
            trace->load[k][c] += part * load[c];
    }
}

static void resample(const struct sl_strip *strip, struct sl_overlay_trace *trace)
{
    double cover[SL_OVERLAY_SAMPLES] = {0};
    const struct sl_profile *profile = &strip->profile;
    for (size_t i = 0; i < profile->count; i++) {
        const double *load = profile->load[i];
        bool is_hidden = profile->flags && (profile->flags[i] & SL_CELL_HIDDEN);
        if (is_hidden || !isfinite(load[0] + load[1] + load[2]))
            continue;
        spread_sample(load, sl_strip_rf(strip, sample_start(profile, i)),
                      sl_strip_rf(strip, sample_end(profile, i)), trace, cover);
    }
    for (size_t k = 0; k < SL_OVERLAY_SAMPLES; k++)
        for (int c = 0; c < 3; c++)
            trace->load[k][c] = cover[k] >= COVER_MIN ? trace->load[k][c] / cover[k] : NAN;
}

static const char *role_words(enum sl_role role)
{
    return role == SL_ROLE_IMMEDIATE ? ", dipped at once"
           : role == SL_ROLE_DRIED   ? ", dried first"
                                     : "";
}

static const char *file_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static void label(const struct sl_document *document, struct sl_overlay_trace *trace)
{
    const struct sl_reading *reading = document->reading[trace->ref.photo];
    const struct sl_strip *strip = sl_overlay_strip(document, trace->ref);
    const char *ink = sl_strip_ink(reading, trace->ref.strip);
    char number[16] = "";
    if (!*ink && reading->strip_count > 1)
        snprintf(number, sizeof number, " %zu", trace->ref.strip + 1);
    snprintf(trace->label, sizeof trace->label, "%.*s%s%s", SL_NAME_MAX - 1,
             *ink ? ink : file_name(reading->photo.file), number, role_words(strip->role));
}

/* The third "Dusk" becomes "Dusk (3)". */
static void number_equals(struct sl_overlay *overlay)
{
    for (size_t i = overlay->trace_count; i-- > 1;) {
        char *text = overlay->trace[i].label;
        size_t before = 0, length = strlen(text);
        for (size_t j = 0; j < i; j++)
            before += strcmp(text, overlay->trace[j].label) == 0;
        if (before)
            snprintf(text + length, sizeof overlay->trace[i].label - length, " (%zu)", before + 1);
    }
}

static void fill(const struct sl_document *document, struct sl_overlay *overlay)
{
    for (size_t k = 0; k < SL_OVERLAY_SAMPLES; k++)
        overlay->rf[k] = RF_FIRST + RF_STEP * (double)k;
    for (size_t i = 0; i < document->reading_count; i++)
        for (size_t j = 0; j < document->reading[i]->strip_count; j++) {
            const struct sl_strip *strip = &document->reading[i]->strip[j];
            if (!is_usable(strip))
                continue;
            struct sl_overlay_trace *trace = &overlay->trace[overlay->trace_count++];
            trace->ref = (struct sl_strip_ref){i, j};
            resample(strip, trace);
            label(document, trace);
        }
    number_equals(overlay);
}

sl_code sl_overlay_make(const struct sl_document *document, struct sl_overlay *ret,
                        struct sl_status *status)
{
    size_t count = count_usable(document);
    if (count == 0)
        return sl_status_set(status, SL_E_STRIP_COUNT, "overlay", "Give photos of strips with ink.",
                             "there is no strip with ink to lay over another");
    if (count > SL_OVERLAY_MAX)
        return sl_status_set(
            status, SL_E_STRIP_COUNT, "overlay", "Lay fewer strips over each other.",
            "%zu strips are too many for one overlay, the limit is %d", count, SL_OVERLAY_MAX);
    struct sl_overlay overlay = {.trace = calloc(count, sizeof *overlay.trace),
                                 .likeness = calloc(count * count, sizeof *overlay.likeness)};
    sl_code code = SL_OK;
    if (!overlay.trace || !overlay.likeness) {
        code = no_memory(count, status);
        goto done;
    }
    fill(document, &overlay);
    code = sl_overlay_likeness(&overlay, status);
    if (code == SL_OK)
        code = sl_overlay_shared(document, &overlay, status);
done:
    if (code == SL_OK)
        *ret = overlay;
    else
        sl_overlay_finish(&overlay);
    return code;
}

void sl_overlay_finish(struct sl_overlay *overlay)
{
    if (!overlay)
        return;
    free(overlay->trace);
    free(overlay->likeness);
    free(overlay->shared);
    *overlay = (struct sl_overlay){0};
}
