// SPDX-License-Identifier: GPL-3.0-or-later
/* The numbers behind the plots. No text of a user goes in here, so nothing in it can end the block
 * it stands in. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>

#include "figure/parts.h"
#include "report/html_private.h"

enum { DIGITS = 5 };

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *numbers(const double *value, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(array, number(value[i]));
    return array;
}

/* Means of `value` over the same samples that the trace was thinned to. */
static json_t *thinned(const struct sl_profile *profile, const struct trace *trace,
                       const double (*value)[3])
{
    json_t *array = json_array();
    for (size_t k = 0; k < trace->count; k++) {
        size_t from = k * profile->count / trace->count;
        size_t to = (k + 1) * profile->count / trace->count;
        double sum[3] = {0};
        for (size_t i = from; i < to; i++)
            for (int c = 0; c < 3; c++)
                sum[c] += value[i][c];
        for (int c = 0; c < 3; c++)
            sum[c] /= (double)(to - from);
        json_array_append_new(array, numbers(sum, 3));
    }
    return array;
}

static json_t *colours(const struct trace *trace)
{
    json_t *array = json_array();
    for (size_t k = 0; k < trace->count; k++)
        json_array_append_new(array, json_sprintf("#%02x%02x%02x", trace->rgb[k][0],
                                                  trace->rgb[k][1], trace->rgb[k][2]));
    return array;
}

static json_t *bands(const struct sl_bands *found)
{
    json_t *array = json_array();
    for (size_t i = 0; i < found->count; i++) {
        const struct sl_band *band = &found->item[i];
        json_array_append_new(array,
                              json_pack("{s:o, s:o, s:o, s:s}", "rf", number(band->rf), "from",
                                        number(band->start_rf), "to", number(band->end_rf), "hue",
                                        band->hue_name ? band->hue_name : ""));
    }
    return array;
}

static json_t *strip_data(const struct html *html, const struct sl_strip *strip)
{
    struct trace trace;
    const struct sl_profile *p = &strip->profile;
    trace_make(strip, html->lab, &trace);
    json_t *object = json_object();
    json_object_set_new(object, "by_rf", json_boolean(trace.by_rf));
    json_object_set_new(object, "front_seen",
                        json_boolean(strip->marks.front_seen != SL_FRONT_NOT_SEEN));
    json_object_set_new(object, "lower", number(trace.lower_at));
    json_object_set_new(object, "upper", number(trace.upper_at));
    json_object_set_new(object, "at", numbers(trace.at, trace.count));
    json_object_set_new(object, "load", numbers(trace.load, trace.count));
    json_object_set_new(object, "low", numbers(trace.low, trace.count));
    json_object_set_new(object, "high", numbers(trace.high, trace.count));
    json_object_set_new(object, "lab",
                        thinned(p, &trace, (const double(*)[3])(const void *)p->lab_d50));
    json_object_set_new(object, "density",
                        thinned(p, &trace, (const double(*)[3])(const void *)p->density));
    json_object_set_new(object, "rgb", colours(&trace));
    json_object_set_new(object, "bands", bands(&strip->bands));
    return object;
}

sl_code html_data(struct html *html, struct sl_status *status)
{
    json_t *all = json_array();
    for (size_t p = 0; p < html->document->reading_count; p++) {
        const struct sl_reading *reading = html->document->reading[p];
        for (size_t i = 0; i < reading->strip_count; i++)
            json_array_append_new(all, strip_data(html, &reading->strip[i]));
    }
    char *text = json_dumps(all, JSON_COMPACT | JSON_ENSURE_ASCII | JSON_ESCAPE_SLASH |
                                     JSON_REAL_PRECISION(DIGITS));
    json_decref(all);
    if (!text)
        return sl_status_set(status, SL_E_MEMORY, "report/html", "Report fewer photos at once.",
                             "There is not enough memory for the report.");
    fprintf(html->out, "<script type=\"application/json\" id=\"data\">%s</script>\n", text);
    free(text);
    return SL_OK;
}
