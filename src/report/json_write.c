// SPDX-License-Identifier: GPL-3.0-or-later
/* The JSON document, version 1. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "json_advice.h"
#include "json_fields.h"
#include "report_internal.h"
#include "strandline/report.h"

/* 15 digits: a decimal of that many survives the way through a double unchanged. */
enum { REAL_DIGITS = 15 };

static json_t *problem_json(const struct sl_status *problem, bool *failed)
{
    json_t *object = json_object();
    sl_json_put(object, "code", json_string(sl_code_name(problem->code)), failed);
    sl_json_put(object, "message", sl_json_text(problem->message), failed);
    sl_json_put(object, "remedy", sl_json_text(problem->remedy), failed);
    sl_json_put(object, "where", sl_json_text(problem->where), failed);
    return object;
}

static json_t *warnings_json(const struct sl_warnings *warnings, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < warnings->count; i++)
        sl_json_append(array, problem_json(&warnings->item[i], failed), failed);
    return array;
}

static json_t *points_json(const struct sl_point *points, size_t count, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        double xy[2] = {points[i].x, points[i].y};
        sl_json_append(array, sl_json_reals(xy, 2, SL_DECIMALS_PX, failed), failed);
    }
    return array;
}

static json_t *fields_json(const struct sl_json_table *table, const void *from, bool *failed)
{
    json_t *object = json_object();
    sl_json_put_fields(object, table, from, failed);
    return object;
}

static json_t *tool_json(bool *failed)
{
    json_t *tool = json_object(), *libraries = json_object();
    sl_json_put(tool, "version", json_string(SL_VERSION), failed);
    struct sl_library_version library;
    for (size_t i = 0; sl_library_version(i, &library); i++)
        sl_json_put(libraries, library.name, sl_json_text(library.version), failed);
    sl_json_put(tool, "libraries", libraries, failed);
    return tool;
}

static void put_set(json_t *object, const char *key, double value, int decimals, bool *failed)
{
    json_t *number = sl_json_real(value, decimals);
    if (json_is_null(number))
        json_decref(number);
    else
        sl_json_put(object, key, number, failed);
}

static json_t *limits_json(const struct sl_strip_hints *hint, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < hint->band_count; i++) {
        double limits[2] = {hint->band[i].from, hint->band[i].to};
        sl_json_append(array, sl_json_reals(limits, 2, SL_DECIMALS_PART, failed), failed);
    }
    return array;
}

static json_t *hint_json(const struct sl_strip_hints *hint, bool *failed)
{
    json_t *object = json_object();
    if (hint->has_corners)
        sl_json_put(object, "corners_px", points_json(hint->corners_px, 4, failed), failed);
    put_set(object, "origin", hint->origin, SL_DECIMALS_PART, failed);
    put_set(object, "front", hint->front, SL_DECIMALS_PART, failed);
    put_set(object, "length_mm", hint->length_mm, 4, failed);
    if (hint->upside_down >= 0)
        sl_json_put(object, "upside_down", json_boolean(hint->upside_down), failed);
    json_t *paper = sl_json_reals(hint->paper_reflectance, 3, SL_DECIMALS_PART, failed);
    if (json_is_null(json_array_get(paper, 0)))
        json_decref(paper);
    else
        sl_json_put(object, "paper_reflectance", paper, failed);
    if (hint->band_count)
        sl_json_put(object, "bands", limits_json(hint, failed), failed);
    return object;
}

/* Only what was set by hand, and how was averaged. */
static json_t *settings_json(const struct sl_read_options *options, bool *failed)
{
    json_t *object = json_object();
    json_t *hints = json_array(), *roles = json_array(), *inks = json_array();
    for (size_t i = 0; i < options->hint_count; i++)
        sl_json_append(hints, hint_json(&options->hint[i], failed), failed);
    for (size_t i = 0; i < options->role_count; i++)
        sl_json_append(roles, json_string(sl_role_name(options->role[i])), failed);
    for (size_t i = 0; i < options->ink_count; i++)
        sl_json_append(inks, sl_json_text(options->ink[i]), failed);
    sl_json_put(object, "strips", hints, failed);
    sl_json_put(object, "roles", roles, failed);
    sl_json_put(object, "inks", inks, failed);
    sl_json_put(object, "conditions",
                fields_json(&sl_json_conditions, &options->conditions, failed), failed);
    sl_json_put(object, "profile", fields_json(&sl_json_averaging, &options->profile, failed),
                failed);
    return object;
}

static json_t *outline_json(const struct sl_outline *outline, bool *failed)
{
    json_t *object = fields_json(&sl_json_outline, outline, failed);
    sl_json_put(object, "left_px", points_json(outline->left_px, SL_EDGE_POINTS, failed), failed);
    sl_json_put(object, "right_px", points_json(outline->right_px, SL_EDGE_POINTS, failed), failed);
    return object;
}

/* Rf from the rounded values: a document that is loaded and saved again gives the same digits. */
static json_t *profile_rf_json(const struct sl_strip *strip, bool *failed)
{
    json_t *array = json_array();
    double origin = sl_json_round(strip->marks.origin, SL_DECIMALS_PART);
    double front = sl_json_round(strip->marks.front, SL_DECIMALS_PART);
    for (size_t i = 0; i < strip->profile.count; i++) {
        double position = sl_json_round(strip->profile.position[i], SL_DECIMALS_PART);
        double rf = sl_rf(position, origin, front);
        sl_json_append(array, sl_json_real(rf, SL_DECIMALS_PART), failed);
    }
    return array;
}

static json_t *flags_json(const struct sl_profile *profile, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < profile->count; i++)
        sl_json_append(array, json_integer(profile->flags[i]), failed);
    return array;
}

/* Whether a list has the same numbers before and now; `size` bytes a sample. */
static bool same_list(const struct sl_strip *before, const struct sl_strip *now,
                      const void *before_list, const void *list, size_t size)
{
    return before && before->profile.count == now->profile.count && before_list && list &&
           memcmp(before_list, list, size * now->profile.count) == 0;
}

static bool same_scale(const struct sl_strip *before, const struct sl_strip *now)
{
    return before && before->marks.origin == now->marks.origin &&
           before->marks.front == now->marks.front;
}

static double (*series_of(const struct sl_profile *profile, const struct sl_json_series *series))[3]
{
    return *(double(*const *)[3])(const void *)((const char *)profile + series->offset);
}

static void put_triples(json_t *object, const struct sl_strip *before, const struct sl_strip *strip,
                        const struct sl_json_series *series, bool *failed)
{
    const struct sl_profile *profile = &strip->profile;
    double(*values)[3] = series_of(profile, series);
    bool same = same_list(before, strip, before ? series_of(&before->profile, series) : NULL,
                          values, sizeof *values);
    if (!same && (values || profile->count == 0))
        sl_json_put(
            object, series->key,
            sl_json_triples((const double(*)[3])values, profile->count, series->decimals, failed),
            failed);
}

/* Of the bands; null where there was one before and now is none. */
static void put_curve(json_t *object, const char *key, const struct sl_strip *before,
                      const struct sl_strip *strip, const double *before_list, const double *list,
                      bool *failed)
{
    bool drawn = list && strip->bands.smooth_count == strip->profile.count;
    if (drawn && !same_list(before, strip, before_list, list, sizeof *list))
        sl_json_put(object, key,
                    sl_json_reals(list, strip->profile.count, SL_DECIMALS_LOAD, failed), failed);
    else if (!drawn && before_list)
        sl_json_put(object, key, json_null(), failed);
}

/* `before` NULL: all of it; else the lists alone that have changed since. */
static json_t *profile_json(const struct sl_strip *before, const struct sl_strip *strip,
                            bool *failed)
{
    const struct sl_profile *profile = &strip->profile;
    const struct sl_bands *bands = &strip->bands;
    json_t *object = json_object();
    bool same_places = same_list(before, strip, before ? before->profile.position : NULL,
                                 profile->position, sizeof *profile->position);
    if (!same_places || !same_scale(before, strip))
        sl_json_put(object, "rf", profile_rf_json(strip, failed), failed);
    if (!same_places)
        sl_json_put(object, "position",
                    sl_json_reals(profile->position, profile->count, SL_DECIMALS_PART, failed),
                    failed);
    for (size_t i = 0; i < SL_JSON_SERIES; i++)
        put_triples(object, before, strip, &sl_json_triple_series[i], failed);
    if (profile->flags && !same_list(before, strip, before ? before->profile.flags : NULL,
                                     profile->flags, sizeof *profile->flags))
        sl_json_put(object, "flags", flags_json(profile, failed), failed);
    put_curve(object, "smooth", before, strip, before ? before->bands.smooth : NULL, bands->smooth,
              failed);
    put_curve(object, "fitted", before, strip, before ? before->bands.fitted : NULL, bands->fitted,
              failed);
    sl_json_put(object, "correlation_samples", sl_json_real(profile->correlation_samples, 4),
                failed);
    sl_json_put(object, "straightened", sl_json_real(profile->straightened, SL_DECIMALS_PART),
                failed);
    return object;
}

static json_t *strip_json(const struct sl_strip *before, const struct sl_strip *strip, bool *failed)
{
    json_t *object = json_object(), *bands = json_array(), *reach = json_array();
    sl_json_put(object, "role", json_string(sl_role_name(strip->role)), failed);
    sl_json_put(object, "ink", sl_json_text(strip->ink), failed);
    sl_json_put(object, "corners_px", points_json(strip->outline.corner_px, 4, failed), failed);
    sl_json_put_fields(object, &sl_json_strip, strip, failed);
    sl_json_put(object, "front_seen", json_string(sl_front_seen_name(strip->marks.front_seen)),
                failed);
    sl_json_put(object, "scale_source", json_string(sl_scale_source_name(strip->scale_source)),
                failed);
    for (size_t i = 0; i < strip->bands.count; i++)
        sl_json_append(bands, fields_json(&sl_json_band, &strip->bands.item[i], failed), failed);
    for (size_t i = 0; i < strip->bands.reach_count; i++)
        sl_json_append(reach, fields_json(&sl_json_reach, &strip->bands.reach[i], failed), failed);
    sl_json_put(object, "bands", bands, failed);
    sl_json_put(object, "reach", reach, failed);
    sl_json_put(object, "outline", outline_json(&strip->outline, failed), failed);
    sl_json_put(object, "profile", profile_json(before, strip, failed), failed);
    sl_json_put(object, "warnings", warnings_json(&strip->warnings, failed), failed);
    sl_json_put(object, "advice", sl_json_advice(&strip->advice, failed), failed);
    return object;
}

/* `previous`: NULL, or what the reader has already. */
static json_t *photo_json(const struct sl_reading *previous, const struct sl_reading *reading,
                          const json_t *common_settings, bool *failed)
{
    json_t *object = fields_json(&sl_json_photo, &reading->photo, failed), *strips = json_array();
    const char *format = reading->photo.format;
    sl_json_put(object, "format", json_string(format ? format : ""), failed);
    sl_json_put(object, "bits", json_integer(reading->photo.bits), failed);
    sl_json_put(object, "conditions",
                fields_json(&sl_json_conditions, &reading->conditions, failed), failed);
    json_t *settings = settings_json(&reading->settings, failed);
    if (json_equal(settings, common_settings))
        json_decref(settings);
    else
        sl_json_put(object, "settings", settings, failed);
    sl_json_put(object, "error",
                reading->error.code == SL_OK ? json_null() : problem_json(&reading->error, failed),
                failed);
    sl_json_put(object, "warnings", warnings_json(&reading->warnings, failed), failed);
    for (size_t i = 0; i < reading->strip_count; i++)
        sl_json_append(
            strips,
            strip_json(previous && i < previous->strip_count ? &previous->strip[i] : NULL,
                       &reading->strip[i], failed),
            failed);
    sl_json_put(object, "strips", strips, failed);
    sl_json_put(object, "advice", sl_json_photo_advice(reading, failed), failed);
    return object;
}

static json_t *ref_json(struct sl_strip_ref ref, bool *failed)
{
    json_t *array = json_array();
    sl_json_append(array, json_integer((json_int_t)ref.photo), failed);
    sl_json_append(array, json_integer((json_int_t)ref.strip), failed);
    return array;
}

/* null where there is no verdict */
static json_t *levels_json(const struct sl_pair *pair, bool *failed)
{
    json_t *object = json_object();
    for (int i = 0; i < SL_LEVELS; i++)
        sl_json_put(object, sl_level_name((enum sl_level)i),
                    sl_json_real(pair->level_probability[i], SL_DECIMALS_PART), failed);
    return object;
}

/* A number with its interval and the probability that goes with it. */
static json_t *judged_json(const char *name, double value, const double interval[2],
                           double probability, bool *failed)
{
    json_t *object = json_object();
    sl_json_put(object, name, sl_json_real(value, SL_DECIMALS_PART), failed);
    sl_json_put(object, "interval", sl_json_reals(interval, 2, SL_DECIMALS_PART, failed), failed);
    sl_json_put(object, "probability", sl_json_real(probability, SL_DECIMALS_PART), failed);
    return object;
}

static void put_verdict(json_t *object, const struct sl_pair *pair, bool *failed)
{
    bool judged = pair->unjudged == SL_JUDGED;
    json_t *level = judged ? json_string(sl_level_name(pair->level)) : json_null();
    json_t *why = judged ? json_null() : json_string(sl_unjudged_name(pair->unjudged));
    sl_json_put(object, "unjudged", why, failed);
    sl_json_put(object, "level", level, failed);
    sl_json_put(object, "level_probability", levels_json(pair, failed), failed);
    sl_json_put(object, "water_resistant",
                judged ? json_boolean(pair->water_resistant) : json_null(), failed);
    sl_json_put(object, "answer", json_string(sl_answer_name(pair->answer)), failed);
    sl_json_put(object, "drying",
                judged_json("difference", pair->drying_difference, pair->drying_interval,
                            pair->drying_probability, failed),
                failed);
    sl_json_put(object, "soak",
                judged_json("bound_share", pair->dried_bound_share, pair->dried_bound_interval,
                            pair->soak_probability, failed),
                failed);
}

static json_t *pair_json(const struct sl_pair *pair, bool *failed)
{
    json_t *object = fields_json(&sl_json_pair, pair, failed), *reasons = json_array();
    json_t *advice = json_array();
    sl_json_put(object, "immediate", ref_json(pair->immediate, failed), failed);
    sl_json_put(object, "dried", ref_json(pair->dried, failed), failed);
    put_verdict(object, pair, failed);
    for (size_t i = 0; i < pair->reason_count; i++)
        sl_json_append(reasons, sl_json_text(pair->reason[i]), failed);
    sl_json_put(object, "reasons", reasons, failed);
    for (size_t i = 0; i < pair->advice_count; i++)
        sl_json_append(advice, sl_json_text(pair->advice[i]), failed);
    sl_json_put(object, "advice", advice, failed);
    sl_json_put(object, "caution", json_string(sl_retention_caution()), failed);
    sl_json_put(object, "warnings", warnings_json(&pair->warnings, failed), failed);
    return object;
}

static json_t *refs_json(const struct sl_strip_ref *refs, size_t count, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        sl_json_append(array, ref_json(refs[i], failed), failed);
    return array;
}

/* A verdict of several strips: a pair's members, with lists of strips. */
static json_t *combined_json(const struct sl_combined *combined, bool *failed)
{
    json_t *object = pair_json(&combined->pair, failed);
    sl_json_put(object, "immediate",
                refs_json(combined->immediate, combined->immediate_count, failed), failed);
    sl_json_put(object, "dried", refs_json(combined->dried, combined->dried_count, failed), failed);
    return object;
}

static json_t *mean_json(const struct sl_mean *mean, size_t strips, bool *failed)
{
    json_t *object = json_object();
    sl_json_put(object, "count", json_integer((json_int_t)mean->count), failed);
    sl_json_put(object, "value", sl_json_real(mean->value, SL_DECIMALS_PART), failed);
    sl_json_put(object, "interval", sl_json_reals(mean->interval, 2, SL_DECIMALS_PART, failed),
                failed);
    sl_json_put(object, "between_sd", sl_json_real(mean->between_sd, SL_DECIMALS_PART), failed);
    sl_json_put(object, "deviations", sl_json_reals(mean->deviation, strips, 3, failed), failed);
    return object;
}

static json_t *replicate_band_json(const struct sl_replicate_band *band, size_t strips,
                                   bool *failed)
{
    json_t *object = json_object(), *bands = json_array();
    for (size_t i = 0; i < strips; i++)
        sl_json_append(bands,
                       band->band[i] == SL_NO_BAND ? json_null()
                                                   : json_integer((json_int_t)band->band[i]),
                       failed);
    sl_json_put(object, "bands", bands, failed);
    sl_json_put(object, "rf", mean_json(&band->rf, strips, failed), failed);
    sl_json_put(object, "share", mean_json(&band->share, strips, failed), failed);
    sl_json_put(object, "lab", sl_json_reals(band->lab_d50, 3, SL_DECIMALS_LAB, failed), failed);
    sl_json_put(object, "hue_name", json_string(band->hue_name), failed);
    sl_json_put(object, "retained", json_boolean(band->retained), failed);
    return object;
}

static json_t *replicate_json(const struct sl_replicate *set, bool *failed)
{
    json_t *object = json_object(), *bands = json_array();
    for (size_t k = 0; k < set->band_count; k++)
        sl_json_append(bands, replicate_band_json(&set->band[k], set->strip_count, failed), failed);
    sl_json_put(object, "ink", sl_json_text(set->ink), failed);
    sl_json_put(object, "role", json_string(sl_role_name(set->role)), failed);
    sl_json_put(object, "strips", refs_json(set->strip, set->strip_count, failed), failed);
    sl_json_put(object, "retained", mean_json(&set->retained, set->strip_count, failed), failed);
    sl_json_put(object, "bound", mean_json(&set->bound, set->strip_count, failed), failed);
    sl_json_put(object, "bands", bands, failed);
    sl_json_put(object, "warnings", warnings_json(&set->warnings, failed), failed);
    return object;
}

static json_t *replicates_json(const struct sl_document *document, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < document->replicate_count; i++)
        sl_json_append(array, replicate_json(&document->replicate[i], failed), failed);
    return array;
}

static json_t *all_combined_json(const struct sl_document *document, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < document->combined_count; i++)
        sl_json_append(array, combined_json(&document->combined[i], failed), failed);
    return array;
}

static json_t *band_ref_json(size_t trace, size_t band, bool *failed)
{
    json_t *array = json_array();
    sl_json_append(array, json_integer((json_int_t)trace), failed);
    sl_json_append(array, json_integer((json_int_t)band), failed);
    return array;
}

static json_t *shared_json(const struct sl_shared_dye *shared, bool *failed)
{
    json_t *object = json_object();
    sl_json_put(object, "band_1", band_ref_json(shared->trace_1, shared->band_1, failed), failed);
    sl_json_put(object, "band_2", band_ref_json(shared->trace_2, shared->band_2, failed), failed);
    sl_json_put_fields(object, &sl_json_shared, shared, failed);
    return object;
}

static json_t *trace_json(const struct sl_overlay_trace *trace, bool *failed)
{
    json_t *object = json_object();
    sl_json_put(object, "strip", ref_json(trace->ref, failed), failed);
    sl_json_put(object, "label", sl_json_text(trace->label), failed);
    sl_json_put(object, "load",
                sl_json_triples(trace->load, SL_OVERLAY_SAMPLES, SL_DECIMALS_LOAD, failed), failed);
    return object;
}

static json_t *overlay_json(const struct sl_overlay *overlay, bool *failed)
{
    json_t *object = json_object();
    json_t *traces = json_array(), *likeness = json_array(), *shared = json_array();
    size_t n = overlay->trace_count;
    for (size_t i = 0; i < n; i++) {
        sl_json_append(traces, trace_json(&overlay->trace[i], failed), failed);
        sl_json_append(likeness, sl_json_reals(overlay->likeness + i * n, n, 4, failed), failed);
    }
    for (size_t i = 0; i < overlay->shared_count; i++)
        sl_json_append(shared, shared_json(&overlay->shared[i], failed), failed);
    sl_json_put(object, "rf",
                sl_json_reals(overlay->rf, SL_OVERLAY_SAMPLES, SL_DECIMALS_PART, failed), failed);
    sl_json_put(object, "traces", traces, failed);
    sl_json_put(object, "likeness", likeness, failed);
    sl_json_put(object, "shared_dyes", shared, failed);
    return object;
}

static json_t *document_json(const struct sl_document *document, const struct sl_overlay *overlay,
                             bool *failed)
{
    json_t *root = json_object(), *photos = json_array(), *pairs = json_array();
    json_t *settings = document->reading_count
                           ? settings_json(&document->reading[0]->settings, failed)
                           : json_object();
    sl_json_put(root, "strandline", json_integer(SL_JSON_VERSION), failed);
    sl_json_put(root, "tool", tool_json(failed), failed);
    sl_json_put(root, "settings", settings, failed);
    for (size_t i = 0; i < document->reading_count; i++)
        sl_json_append(photos, photo_json(NULL, document->reading[i], settings, failed), failed);
    for (size_t i = 0; i < document->pair_count; i++)
        sl_json_append(pairs, pair_json(&document->pair[i], failed), failed);
    sl_json_put(root, "photos", photos, failed);
    sl_json_put(root, "pairs", pairs, failed);
    sl_json_put(root, "replicates", replicates_json(document, failed), failed);
    sl_json_put(root, "combined", all_combined_json(document, failed), failed);
    if (overlay)
        sl_json_put(root, "overlay", overlay_json(overlay, failed), failed);
    return root;
}

static sl_code no_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "report/json", "Close other programs.",
                         "there is not enough memory to write the document");
}

/* Takes `root` over. */
static sl_code dump(json_t *root, bool failed, int indent, char **ret, struct sl_status *status)
{
    size_t flags = JSON_REAL_PRECISION(REAL_DIGITS) | JSON_INDENT((size_t)indent);
    if (indent == 0)
        flags |= JSON_COMPACT;
    char *text = failed ? NULL : json_dumps(root, flags);
    json_decref(root);
    if (!text)
        return no_memory(status);
    *ret = text;
    return SL_OK;
}

/* Takes `part` over. */
static void put_part(FILE *out, json_t *part, bool *failed)
{
    size_t flags = JSON_REAL_PRECISION(REAL_DIGITS) | JSON_COMPACT | JSON_ENCODE_ANY;
    if (!part || json_dumpf(part, out, flags) != 0)
        *failed = true;
    json_decref(part);
}

/* On one line, one part in memory at a time: a photo's numbers as a tree take many times the room
 * of its text. */
static void put_document(FILE *out, const struct sl_document *document,
                         const struct sl_overlay *overlay, bool *failed)
{
    json_t *settings = document->reading_count
                           ? settings_json(&document->reading[0]->settings, failed)
                           : json_object();
    fprintf(out, "{\"strandline\":%d,\"tool\":", SL_JSON_VERSION);
    put_part(out, tool_json(failed), failed);
    fputs(",\"settings\":", out);
    put_part(out, json_incref(settings), failed);
    fputs(",\"photos\":[", out);
    for (size_t i = 0; i < document->reading_count; i++) {
        fputs(i ? "," : "", out);
        put_part(out, photo_json(NULL, document->reading[i], settings, failed), failed);
    }
    json_decref(settings);
    fputs("],\"pairs\":[", out);
    for (size_t i = 0; i < document->pair_count; i++) {
        fputs(i ? "," : "", out);
        put_part(out, pair_json(&document->pair[i], failed), failed);
    }
    fputs("],\"replicates\":", out);
    put_part(out, replicates_json(document, failed), failed);
    fputs(",\"combined\":", out);
    put_part(out, all_combined_json(document, failed), failed);
    if (overlay) {
        fputs(",\"overlay\":", out);
        put_part(out, overlay_json(overlay, failed), failed);
    }
    fputs("}", out);
}

static sl_code write_line(const struct sl_document *document, const struct sl_overlay *overlay,
                          char **ret, struct sl_status *status)
{
    bool failed = false;
    char *text = NULL;
    size_t bytes = 0;
    FILE *out = open_memstream(&text, &bytes);
    if (!out)
        return no_memory(status);
    put_document(out, document, overlay, &failed);
    failed = ferror(out) || failed;
    if (fclose(out) != 0 || failed) {
        free(text);
        return no_memory(status);
    }
    *ret = text;
    return SL_OK;
}

sl_code sl_report_json(const struct sl_document *document, const struct sl_overlay *overlay,
                       int indent, char **ret, struct sl_status *status)
{
    bool failed = false;
    if (indent == 0)
        return write_line(document, overlay, ret, status);
    json_t *root = document_json(document, overlay, &failed);
    return dump(root, failed, indent, ret, status);
}

sl_code sl_report_json_photo(const struct sl_reading *reading, char **ret, struct sl_status *status)
{
    bool failed = false;
    json_t *root = photo_json(NULL, reading, NULL, &failed);
    return dump(root, failed, 0, ret, status);
}

sl_code sl_report_json_photo_change(const struct sl_reading *reading,
                                    const struct sl_reading *previous, char **ret,
                                    struct sl_status *status)
{
    bool failed = false;
    json_t *root = photo_json(previous, reading, NULL, &failed);
    return dump(root, failed, 0, ret, status);
}

sl_code sl_report_json_pair(const struct sl_pair *pair, char **ret, struct sl_status *status)
{
    bool failed = false;
    json_t *root = pair_json(pair, &failed);
    return dump(root, failed, 0, ret, status);
}

sl_code sl_report_json_together(const struct sl_document *document, char **ret,
                                struct sl_status *status)
{
    bool failed = false;
    json_t *root = json_object();
    sl_json_put(root, "replicates", replicates_json(document, &failed), &failed);
    sl_json_put(root, "combined", all_combined_json(document, &failed), &failed);
    return dump(root, failed, 0, ret, status);
}

sl_code sl_report_json_overlay(const struct sl_overlay *overlay, char **ret,
                               struct sl_status *status)
{
    bool failed = false;
    json_t *root = overlay_json(overlay, &failed);
    return dump(root, failed, 0, ret, status);
}
