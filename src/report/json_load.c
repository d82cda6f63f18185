// SPDX-License-Identifier: GPL-3.0-or-later
/* A saved document back into readings.
 *
 * 1. The text is parsed, document after document (a batch is one a line), and each is asked for
 *    its version: newer and foreign ones are refused.
 * 2. Each photo becomes a reading; unknown members are passed over, known ones are checked.
 * 3. Only when all is sound are the readings added. Pairs are judged afresh by the caller. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "json_advice.h"
#include "json_fields.h"
#include "strandline/report.h"

struct loaded {
    size_t count;
    struct sl_reading *reading[SL_JSON_PHOTOS_MAX];
};

static sl_code no_memory(const struct sl_json_place *place)
{
    return sl_status_set(place->status, SL_E_MEMORY, "report/json", "Close other programs.",
                         "there is not enough memory to load %s", place->name);
}

/* ---- problems ---- */

static sl_code code_from_name(const char *name)
{
    for (int code = 0; code < SL_CODE_COUNT; code++)
        if (strcmp(name, sl_code_name((sl_code)code)) == 0)
            return (sl_code)code;
    return SL_CODE_COUNT; /* of a later version: its words are kept */
}

static sl_code load_problem(struct sl_json_place *place, const json_t *object,
                            struct sl_status *ret)
{
    const char *name = json_string_value(json_object_get(object, "code"));
    if (!name)
        return sl_json_refuse(place, "code", "there, and a text");
    ret->code = code_from_name(name);
    sl_code code = sl_json_get_text(place, "message", json_object_get(object, "message"),
                                    sizeof ret->message, ret->message);
    if (code == SL_OK)
        code = sl_json_get_text(place, "remedy", json_object_get(object, "remedy"),
                                sizeof ret->remedy, ret->remedy);
    if (code == SL_OK)
        code = sl_json_get_text(place, "where", json_object_get(object, "where"), sizeof ret->where,
                                ret->where);
    return code;
}

static sl_code load_warnings(struct sl_json_place *place, const json_t *owner,
                             struct sl_warnings *ret)
{
    const json_t *array;
    sl_code code = sl_json_get_array(place, owner, "warnings", false, SL_WARNINGS_MAX, &array);
    for (size_t i = 0; code == SL_OK && i < json_array_size(array); i++) {
        size_t mark = sl_json_enter(place, "warnings", (long)i);
        code = load_problem(place, json_array_get(array, i), &ret->item[i]);
        ret->count = i + 1;
        if (code == SL_OK)
            sl_json_leave(place, mark);
    }
    return code;
}

/* ---- words ---- */

static sl_code load_role(struct sl_json_place *place, const json_t *value, const char *key,
                         enum sl_role *ret)
{
    const char *name = json_string_value(value);
    if (!name || !sl_role_from_name(name, ret))
        return sl_json_refuse(place, key, "\"single\", \"immediate\" or \"dried\"");
    return SL_OK;
}

static sl_code load_front_seen(struct sl_json_place *place, const json_t *object,
                               enum sl_front_seen *ret)
{
    const char *name = json_string_value(json_object_get(object, "front_seen"));
    for (int i = SL_FRONT_DYE; name && i <= SL_FRONT_NOT_SEEN; i++)
        if (strcmp(name, sl_front_seen_name((enum sl_front_seen)i)) == 0) {
            *ret = (enum sl_front_seen)i;
            return SL_OK;
        }
    return sl_json_refuse(place, "front_seen",
                          "\"dye\", \"water line\", \"pencil\", \"given\" or \"no\"");
}

/* A length that a printed mat gave stands as given: that source is not told apart yet. */
static enum sl_scale_source load_scale(const json_t *object)
{
    const char *name = json_string_value(json_object_get(object, "scale_source"));
    bool is_known = name && strcmp(name, sl_scale_source_name(SL_SCALE_NONE)) != 0;
    return is_known ? SL_SCALE_GIVEN : SL_SCALE_NONE;
}

static const char *format_from_name(const char *name)
{
    static const char *const formats[] = {"JPEG", "PNG", "HEIC", "TIFF"};
    for (size_t i = 0; name && i < sizeof formats / sizeof *formats; i++)
        if (strcmp(name, formats[i]) == 0)
            return formats[i];
    return "";
}

/* ---- geometry ---- */

static sl_code load_points(struct sl_json_place *place, const json_t *owner, const char *key,
                           bool is_needed, size_t count, struct sl_point *ret)
{
    const json_t *array;
    sl_code code = sl_json_get_array(place, owner, key, is_needed, count, &array);
    if (code != SL_OK || !array)
        return code;
    if (json_array_size(array) != count)
        return sl_json_refuse(place, key, "a list of as many points as the schema says");
    for (size_t i = 0; i < count && code == SL_OK; i++) {
        double xy[2];
        code = sl_json_get_reals(place, key, json_array_get(array, i), 2, xy);
        if (code == SL_OK && (isnan(xy[0]) || isnan(xy[1])))
            code = sl_json_refuse(place, key, "points without null");
        if (code == SL_OK)
            ret[i] = (struct sl_point){xy[0], xy[1]};
    }
    return code;
}

/* Edges that the document does not have are straight between the corners. */
static void straight_edges(struct sl_outline *outline)
{
    const struct sl_point *c = outline->corner_px;
    for (size_t i = 0; i < SL_EDGE_POINTS; i++) {
        double t = (double)i / (SL_EDGE_POINTS - 1);
        outline->left_px[i] =
            (struct sl_point){c[0].x + t * (c[3].x - c[0].x), c[0].y + t * (c[3].y - c[0].y)};
        outline->right_px[i] =
            (struct sl_point){c[1].x + t * (c[2].x - c[1].x), c[1].y + t * (c[2].y - c[1].y)};
    }
}

static sl_code load_outline(struct sl_json_place *place, const json_t *strip,
                            struct sl_outline *ret)
{
    sl_code code = load_points(place, strip, "corners_px", true, 4, ret->corner_px);
    if (code != SL_OK)
        return code;
    straight_edges(ret);
    const json_t *object = json_object_get(strip, "outline");
    if (object && !json_is_object(object))
        return sl_json_refuse(place, "outline", "an object");
    size_t mark = sl_json_enter(place, "outline", -1);
    code = sl_json_get_fields(place, object, &sl_json_outline, ret);
    if (code == SL_OK)
        code = load_points(place, object, "left_px", false, SL_EDGE_POINTS, ret->left_px);
    if (code == SL_OK)
        code = load_points(place, object, "right_px", false, SL_EDGE_POINTS, ret->right_px);
    if (code == SL_OK)
        sl_json_leave(place, mark);
    return code;
}

/* ---- profile ---- */

/* Positions from Rf where a document has only these. */
static sl_code load_positions(struct sl_json_place *place, const json_t *object,
                              struct sl_strip *strip)
{
    struct sl_profile *profile = &strip->profile;
    const char *key = json_object_get(object, "position") ? "position" : "rf";
    const json_t *array;
    sl_code code = sl_json_get_array(place, object, key, true, SL_JSON_SAMPLES_MAX, &array);
    if (code != SL_OK)
        return code;
    size_t count = json_array_size(array);
    profile->position = calloc(count + 1, sizeof *profile->position);
    if (!profile->position)
        return no_memory(place);
    code = sl_json_get_reals(place, key, array, count, profile->position);
    double from = strip->marks.origin, span = strip->marks.front - strip->marks.origin;
    for (size_t i = 0; code == SL_OK && i < count; i++) {
        if (key[0] == 'r')
            profile->position[i] = from + span * profile->position[i];
        bool rises = i == 0 || profile->position[i] > profile->position[i - 1];
        if (isnan(profile->position[i]) || !rises)
            code = sl_json_refuse(place, key, "rising numbers without null");
    }
    if (code == SL_OK)
        profile->count = count;
    return code;
}

/* A series that a document lacks is filled with NAN: consumers need not ask for each. */
static sl_code load_series(struct sl_json_place *place, const json_t *object,
                           const struct sl_json_series *series, struct sl_profile *profile)
{
    double(*values)[3] = calloc(profile->count + 1, sizeof *values);
    if (!values)
        return no_memory(place);
    double(**to)[3] = (double(**)[3])(void *)((char *)profile + series->offset);
    *to = values;
    const json_t *array;
    sl_code code = sl_json_get_array(place, object, series->key, series->is_needed,
                                     SL_JSON_SAMPLES_MAX, &array);
    if (code != SL_OK)
        return code;
    if (array)
        return sl_json_get_triples(place, series->key, array, profile->count, values);
    for (size_t i = 0; i < profile->count; i++)
        values[i][0] = values[i][1] = values[i][2] = NAN;
    return SL_OK;
}

static sl_code load_flags(struct sl_json_place *place, const json_t *object,
                          struct sl_profile *profile)
{
    profile->flags = calloc(profile->count + 1, sizeof *profile->flags);
    if (!profile->flags)
        return no_memory(place);
    const json_t *array;
    sl_code code = sl_json_get_array(place, object, "flags", false, profile->count, &array);
    for (size_t i = 0; code == SL_OK && i < json_array_size(array); i++) {
        json_int_t flags = json_integer_value(json_array_get(array, i));
        if (!json_is_integer(json_array_get(array, i)) || flags < 0 || flags > UINT8_MAX)
            code = sl_json_refuse(place, "flags", "whole numbers from 0 to 255");
        else
            profile->flags[i] = (uint8_t)flags;
    }
    return code;
}

static sl_code load_curve(struct sl_json_place *place, const json_t *object, const char *key,
                          size_t count, double **ret)
{
    const json_t *array;
    sl_code code = sl_json_get_array(place, object, key, false, SL_JSON_SAMPLES_MAX, &array);
    if (code != SL_OK || !array)
        return code;
    *ret = calloc(count + 1, sizeof **ret);
    if (!*ret)
        return no_memory(place);
    return sl_json_get_reals(place, key, array, count, *ret);
}

static sl_code load_profile(struct sl_json_place *place, const json_t *owner,
                            struct sl_strip *strip)
{
    const json_t *object = json_object_get(owner, "profile");
    if (!json_is_object(object))
        return sl_json_refuse(place, "profile", "there, and an object");
    size_t mark = sl_json_enter(place, "profile", -1);
    struct sl_profile *profile = &strip->profile;
    sl_code code = load_positions(place, object, strip);
    for (size_t i = 0; code == SL_OK && i < SL_JSON_SERIES; i++)
        code = load_series(place, object, &sl_json_triple_series[i], profile);
    if (code == SL_OK)
        code = load_flags(place, object, profile);
    if (code == SL_OK)
        code = load_curve(place, object, "smooth", profile->count, &strip->bands.smooth);
    if (code == SL_OK)
        code = load_curve(place, object, "fitted", profile->count, &strip->bands.fitted);
    strip->bands.smooth_count = strip->bands.smooth ? profile->count : 0;
    if (code == SL_OK)
        code = sl_json_get_real(place, "correlation_samples",
                                json_object_get(object, "correlation_samples"),
                                &profile->correlation_samples);
    if (code == SL_OK)
        code = sl_json_get_real(place, "straightened", json_object_get(object, "straightened"),
                                &profile->straightened);
    if (code == SL_OK)
        sl_json_leave(place, mark);
    return code;
}

/* ---- bands ---- */

static sl_code load_bands(struct sl_json_place *place, const json_t *owner, struct sl_bands *ret)
{
    const json_t *array;
    sl_code code = sl_json_get_array(place, owner, "bands", true, SL_BANDS_MAX, &array);
    for (size_t i = 0; code == SL_OK && i < json_array_size(array); i++) {
        struct sl_band *band = &ret->item[i];
        size_t mark = sl_json_enter(place, "bands", (long)i);
        code = sl_json_get_fields(place, json_array_get(array, i), &sl_json_band, band);
        if (code != SL_OK)
            return code;
        if (!*band->hue_name && isfinite(band->lab_d50[0]))
            band->hue_name = sl_hue_name(band->lab_d50);
        sl_json_leave(place, mark);
        ret->count = i + 1;
    }
    return code;
}

static sl_code load_reach(struct sl_json_place *place, const json_t *owner, struct sl_bands *ret)
{
    const json_t *array;
    sl_code code = sl_json_get_array(place, owner, "reach", false, SL_REACH_MAX, &array);
    for (size_t i = 0; code == SL_OK && i < json_array_size(array); i++) {
        size_t mark = sl_json_enter(place, "reach", (long)i);
        code = sl_json_get_fields(place, json_array_get(array, i), &sl_json_reach, &ret->reach[i]);
        if (code != SL_OK)
            return code;
        sl_json_leave(place, mark);
        ret->reach_count = i + 1;
    }
    return code;
}

/* ---- strip, photo ---- */

static sl_code load_strip(struct sl_json_place *place, const json_t *object, struct sl_strip *strip)
{
    if (!json_is_object(object))
        return sl_json_refuse(place, "", "an object");
    sl_code code = load_role(place, json_object_get(object, "role"), "role", &strip->role);
    if (code == SL_OK)
        code = sl_json_get_text(place, "ink", json_object_get(object, "ink"), sizeof strip->ink,
                                strip->ink);
    if (code == SL_OK)
        code = sl_json_get_fields(place, object, &sl_json_strip, strip);
    if (code == SL_OK && strip->marks.front <= strip->marks.origin)
        code = sl_json_refuse(place, "front", "above the origin");
    if (code == SL_OK)
        code = load_front_seen(place, object, &strip->marks.front_seen);
    if (code == SL_OK)
        code = load_outline(place, object, &strip->outline);
    if (code == SL_OK)
        code = load_profile(place, object, strip);
    if (code == SL_OK)
        code = load_bands(place, object, &strip->bands);
    if (code == SL_OK)
        code = load_reach(place, object, &strip->bands);
    if (code == SL_OK)
        code = load_warnings(place, object, &strip->warnings);
    if (code == SL_OK)
        code = sl_json_load_advice(place, object, &strip->advice);
    strip->scale_source = load_scale(object);
    return code;
}

static sl_code load_strips(struct sl_json_place *place, const json_t *photo,
                           struct sl_reading *reading)
{
    const json_t *array;
    sl_code code = sl_json_get_array(place, photo, "strips", true, SL_STRIPS_MAX, &array);
    size_t count = json_array_size(array);
    if (code != SL_OK || count == 0)
        return code;
    reading->strip = calloc(count, sizeof *reading->strip);
    if (!reading->strip)
        return no_memory(place);
    reading->strip_count = count;
    for (size_t i = 0; i < count && code == SL_OK; i++) {
        size_t mark = sl_json_enter(place, "strips", (long)i);
        code = load_strip(place, json_array_get(array, i), &reading->strip[i]);
        if (code == SL_OK)
            sl_json_leave(place, mark);
    }
    return code;
}

static sl_code load_limits(struct sl_json_place *place, const json_t *owner,
                           struct sl_strip_hints *ret)
{
    const json_t *array;
    sl_code code = sl_json_get_array(place, owner, "bands", false, SL_HINT_BANDS_MAX, &array);
    for (size_t i = 0; code == SL_OK && i < json_array_size(array); i++) {
        double limits[2];
        code = sl_json_get_reals(place, "bands", json_array_get(array, i), 2, limits);
        if (code == SL_OK && (isnan(limits[0]) || isnan(limits[1])))
            code = sl_json_refuse(place, "bands", "pairs of numbers without null");
        if (code == SL_OK)
            ret->band[ret->band_count++] = (struct sl_band_limits){limits[0], limits[1]};
    }
    return code;
}

static sl_code load_hint(struct sl_json_place *place, const json_t *object,
                         struct sl_strip_hints *ret)
{
    sl_strip_hints_init(ret);
    ret->has_corners = json_is_array(json_object_get(object, "corners_px"));
    const json_t *paper = json_object_get(object, "paper_reflectance");
    const json_t *turned = json_object_get(object, "upside_down");
    if (json_is_boolean(turned))
        ret->upside_down = json_is_true(turned);
    sl_code code = load_points(place, object, "corners_px", false, 4, ret->corners_px);
    if (code == SL_OK)
        code = sl_json_get_real(place, "origin", json_object_get(object, "origin"), &ret->origin);
    if (code == SL_OK)
        code = sl_json_get_real(place, "front", json_object_get(object, "front"), &ret->front);
    if (code == SL_OK)
        code = sl_json_get_real(place, "length_mm", json_object_get(object, "length_mm"),
                                &ret->length_mm);
    if (code == SL_OK && paper)
        code = sl_json_get_reals(place, "paper_reflectance", paper, 3, ret->paper_reflectance);
    if (code == SL_OK)
        code = load_limits(place, object, ret);
    return code;
}

static sl_code load_lists(struct sl_json_place *place, const json_t *object,
                          struct sl_read_options *ret)
{
    const json_t *hints, *roles, *inks;
    sl_code code = sl_json_get_array(place, object, "strips", false, SL_STRIPS_MAX, &hints);
    if (code == SL_OK)
        code = sl_json_get_array(place, object, "roles", false, SL_STRIPS_MAX, &roles);
    if (code == SL_OK)
        code = sl_json_get_array(place, object, "inks", false, SL_STRIPS_MAX, &inks);
    if (code != SL_OK)
        return code;
    ret->hint_count = json_array_size(hints);
    ret->role_count = json_array_size(roles);
    ret->ink_count = json_array_size(inks);
    for (size_t i = 0; code == SL_OK && i < ret->hint_count; i++)
        code = load_hint(place, json_array_get(hints, i), &ret->hint[i]);
    for (size_t i = 0; code == SL_OK && i < ret->role_count; i++)
        code = load_role(place, json_array_get(roles, i), "roles", &ret->role[i]);
    for (size_t i = 0; code == SL_OK && i < ret->ink_count; i++)
        code = sl_json_get_text(place, "inks", json_array_get(inks, i), sizeof ret->ink[i],
                                ret->ink[i]);
    return code;
}

/* Settings of a photo stand in it where they differ from the document's. */
static sl_code load_settings(struct sl_json_place *place, const json_t *root, const json_t *photo,
                             struct sl_read_options *ret)
{
    sl_read_options_init(ret);
    const json_t *object = json_object_get(photo, "settings");
    if (!json_is_object(object))
        object = json_object_get(root, "settings");
    size_t mark = sl_json_enter(place, "settings", -1);
    sl_code code = load_lists(place, object, ret);
    const json_t *conditions = json_object_get(object, "conditions");
    const json_t *averaging = json_object_get(object, "profile");
    if (code == SL_OK && conditions)
        code = sl_json_get_fields(place, conditions, &sl_json_conditions, &ret->conditions);
    if (code == SL_OK && averaging)
        code = sl_json_get_fields(place, averaging, &sl_json_averaging, &ret->profile);
    if (code == SL_OK)
        sl_json_leave(place, mark);
    return code;
}

static sl_code load_photo(struct sl_json_place *place, const json_t *root, const json_t *object,
                          struct sl_reading *reading)
{
    if (!json_is_object(object))
        return sl_json_refuse(place, "", "an object");
    sl_code code = sl_json_get_fields(place, object, &sl_json_photo, &reading->photo);
    reading->photo.format = format_from_name(json_string_value(json_object_get(object, "format")));
    json_int_t bits = json_integer_value(json_object_get(object, "bits"));
    reading->photo.bits = bits == 16 ? 16 : 8;
    if (code == SL_OK)
        code = sl_json_get_fields(place, json_object_get(object, "conditions"), &sl_json_conditions,
                                  &reading->conditions);
    if (code == SL_OK)
        code = load_settings(place, root, object, &reading->settings);
    const json_t *error = json_object_get(object, "error");
    if (code == SL_OK && json_is_object(error)) {
        size_t mark = sl_json_enter(place, "error", -1);
        code = load_problem(place, error, &reading->error);
        if (code == SL_OK)
            sl_json_leave(place, mark);
    }
    if (code == SL_OK)
        code = load_warnings(place, object, &reading->warnings);
    if (code == SL_OK)
        code = load_strips(place, object, reading);
    return code;
}

/* ---- document ---- */

static sl_code check_version(const struct sl_json_place *place, const json_t *root)
{
    const json_t *version = json_object_get(root, "strandline");
    if (!json_is_integer(version))
        return sl_status_set(place->status, SL_E_READING, "report/json",
                             "Give a photo, or a file that --json wrote.",
                             "%s is no saved reading: it does not begin as one", place->name);
    if (json_integer_value(version) != SL_JSON_VERSION)
        return sl_status_set(place->status, SL_E_READING, "report/json",
                             "Use a newer strandline, or read the photo again.",
                             "%s is a saved reading of version %lld, this program knows version %d",
                             place->name, (long long)json_integer_value(version), SL_JSON_VERSION);
    return SL_OK;
}

static sl_code load_document(struct sl_json_place *place, const json_t *root, struct loaded *ret)
{
    const json_t *array;
    sl_code code = check_version(place, root);
    if (code == SL_OK)
        code =
            sl_json_get_array(place, root, "photos", true, SL_JSON_PHOTOS_MAX - ret->count, &array);
    for (size_t i = 0; code == SL_OK && i < json_array_size(array); i++) {
        struct sl_reading *reading = calloc(1, sizeof *reading);
        if (!reading)
            return no_memory(place);
        ret->reading[ret->count++] = reading;
        size_t mark = sl_json_enter(place, "photos", (long)i);
        code = load_photo(place, root, json_array_get(array, i), reading);
        if (code == SL_OK)
            sl_json_leave(place, mark);
    }
    return code;
}

static bool is_blank(const char *text, size_t bytes)
{
    for (size_t i = 0; i < bytes; i++)
        if (!strchr(" \t\r\n", text[i]) || text[i] == '\0')
            return false;
    return true;
}

static sl_code refuse_text(const struct sl_json_place *place, const json_error_t *error,
                           size_t lines)
{
    if (json_error_code(error) == json_error_out_of_memory)
        return no_memory(place);
    return sl_status_set(place->status, SL_E_READING, "report/json",
                         "Give a photo, or a file that --json wrote.",
                         "%s is no sound JSON: %s (line %zu)", place->name, error->text,
                         lines + (size_t)(error->line > 0 ? error->line : 1));
}

static size_t count_lines(const char *text, size_t bytes)
{
    size_t lines = 0;
    for (size_t i = 0; i < bytes; i++)
        lines += text[i] == '\n';
    return lines;
}

static sl_code load_all(struct sl_json_place *place, const char *text, size_t bytes,
                        struct loaded *ret)
{
    sl_code code = SL_OK;
    size_t at = 0;
    do {
        json_error_t error;
        json_t *root = json_loadb(text + at, bytes - at,
                                  JSON_REJECT_DUPLICATES | JSON_DISABLE_EOF_CHECK, &error);
        if (!root)
            return refuse_text(place, &error, count_lines(text, at));
        code = load_document(place, root, ret);
        json_decref(root);
        at += (size_t)error.position;
    } while (code == SL_OK && !is_blank(text + at, bytes - at));
    return code;
}

static sl_code add_all(struct loaded *loaded, struct sl_document *document,
                       struct sl_status *status)
{
    size_t before = document->reading_count;
    for (size_t i = 0; i < loaded->count; i++) {
        sl_code code = sl_document_add(document, loaded->reading[i], status);
        if (code != SL_OK) { /* still owned by `loaded`, all of them */
            document->reading_count = before;
            return code;
        }
    }
    loaded->count = 0;
    return SL_OK;
}

sl_code sl_report_json_load(const char *text, size_t bytes, const char *name,
                            struct sl_document *document, struct sl_status *status)
{
    struct sl_json_place place = {.name = name, .status = status};
    if (bytes > SL_JSON_BYTES_MAX)
        return sl_status_set(status, SL_E_READING, "report/json", "Split the file.",
                             "%s has %zu bytes, the limit is %d", name, bytes, SL_JSON_BYTES_MAX);
    struct loaded *loaded = calloc(1, sizeof *loaded);
    if (!loaded)
        return no_memory(&place);
    sl_code code = load_all(&place, text, bytes, loaded);
    if (code == SL_OK)
        code = add_all(loaded, document, status);
    for (size_t i = 0; i < loaded->count; i++)
        sl_reading_destroy(loaded->reading[i]);
    free(loaded);
    return code;
}
