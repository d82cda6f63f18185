// SPDX-License-Identifier: GPL-3.0-or-later
#include "json_table.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report_internal.h"
#include "strandline/colour.h"

/* No length, load or angle comes near it; keeps sums and products of loaded numbers finite. */
static const double MAGNITUDE_MAX = 1e9;

double sl_json_round(double value, int decimals)
{
    static const double power[] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8};
    double p = power[decimals];
    return round(value * p) / p + 0.0; /* + 0.0 turns -0 into 0 */
}

void sl_json_put(json_t *object, const char *key, json_t *value, bool *failed)
{
    if (json_object_set_new(object, key, value) != 0)
        *failed = true;
}

void sl_json_append(json_t *array, json_t *value, bool *failed)
{
    if (json_array_append_new(array, value) != 0)
        *failed = true;
}

json_t *sl_json_real(double value, int decimals)
{
    return isfinite(value) ? json_real(sl_json_round(value, decimals)) : json_null();
}

json_t *sl_json_text(const char *text)
{
    char *clean = sl_text_clean(text, SL_TEXT_KEEP_CONTROLS);
    json_t *value = clean ? json_string(clean) : NULL;
    free(clean);
    return value;
}

json_t *sl_json_reals(const double *values, size_t count, int decimals, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        sl_json_append(array, sl_json_real(values[i], decimals), failed);
    return array;
}

json_t *sl_json_triples(const double (*values)[3], size_t count, int decimals, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        sl_json_append(array, sl_json_reals(values[i], 3, decimals, failed), failed);
    return array;
}

static json_t *field_value(const struct sl_json_field *field, const char *at, bool *failed)
{
    switch (field->kind) {
    case SL_JSON_REAL:
        if (field->count > 1)
            return sl_json_reals((const double *)(const void *)at, field->count, field->decimals,
                                 failed);
        return sl_json_real(*(const double *)(const void *)at, field->decimals);
    case SL_JSON_INTEGER:
        return json_integer(*(const int *)(const void *)at);
    case SL_JSON_FLAG:
        return json_boolean(*(const bool *)(const void *)at);
    case SL_JSON_TEXT:
        return sl_json_text(at);
    case SL_JSON_HUE: {
        const char *name = *(const char *const *)(const void *)at;
        return json_string(name ? name : "");
    }
    }
    return NULL;
}

void sl_json_put_fields(json_t *object, const struct sl_json_table *table, const void *from,
                        bool *failed)
{
    for (size_t i = 0; i < table->count; i++) {
        const struct sl_json_field *field = &table->field[i];
        sl_json_put(object, field->key,
                    field_value(field, (const char *)from + field->offset, failed), failed);
    }
}

size_t sl_json_enter(struct sl_json_place *place, const char *key, long index)
{
    size_t mark = strlen(place->path), room = sizeof place->path - mark;
    if (index >= 0)
        snprintf(place->path + mark, room, "%s%s[%ld]", mark && *key ? "." : "", key, index);
    else
        snprintf(place->path + mark, room, "%s%s", mark ? "." : "", key);
    return mark;
}

void sl_json_leave(struct sl_json_place *place, size_t mark)
{
    place->path[mark] = '\0';
}

sl_code sl_json_refuse(const struct sl_json_place *place, const char *key, const char *wanted)
{
    return sl_status_set(place->status, SL_E_READING, "report/json",
                         "Read the photo again, or use an undamaged copy of the file.",
                         "%s: %s%s%s must be %s", place->name, place->path,
                         place->path[0] && *key ? "." : "", key, wanted);
}

sl_code sl_json_get_real(struct sl_json_place *place, const char *key, const json_t *value,
                         double *ret)
{
    if (!value || json_is_null(value)) {
        *ret = NAN;
        return SL_OK;
    }
    if (!json_is_number(value))
        return sl_json_refuse(place, key, "a number or null");
    double number = json_number_value(value);
    if (!(fabs(number) <= MAGNITUDE_MAX))
        return sl_json_refuse(place, key, "a number between -1e9 and 1e9");
    *ret = number;
    return SL_OK;
}

sl_code sl_json_get_array(struct sl_json_place *place, const json_t *object, const char *key,
                          bool is_needed, size_t most, const json_t **ret)
{
    const json_t *array = json_object_get(object, key);
    *ret = NULL;
    if (!array || json_is_null(array))
        return is_needed ? sl_json_refuse(place, key, "there, and a list") : SL_OK;
    if (!json_is_array(array))
        return sl_json_refuse(place, key, "a list");
    if (json_array_size(array) > most) {
        char wanted[48];
        snprintf(wanted, sizeof wanted, "a list of at most %zu", most);
        return sl_json_refuse(place, key, wanted);
    }
    *ret = array;
    return SL_OK;
}

static sl_code refuse_count(struct sl_json_place *place, const char *key, size_t count)
{
    char wanted[48];
    snprintf(wanted, sizeof wanted, "a list of exactly %zu", count);
    return sl_json_refuse(place, key, wanted);
}

sl_code sl_json_get_reals(struct sl_json_place *place, const char *key, const json_t *array,
                          size_t count, double *ret)
{
    if (!json_is_array(array) || json_array_size(array) != count)
        return refuse_count(place, key, count);
    sl_code code = SL_OK;
    for (size_t i = 0; i < count && code == SL_OK; i++)
        code = sl_json_get_real(place, key, json_array_get(array, i), &ret[i]);
    return code;
}

sl_code sl_json_get_triples(struct sl_json_place *place, const char *key, const json_t *array,
                            size_t count, double (*ret)[3])
{
    if (!json_is_array(array) || json_array_size(array) != count)
        return refuse_count(place, key, count);
    sl_code code = SL_OK;
    for (size_t i = 0; i < count && code == SL_OK; i++) {
        size_t mark = sl_json_enter(place, key, (long)i);
        code = sl_json_get_reals(place, "", json_array_get(array, i), 3, ret[i]);
        if (code == SL_OK)
            sl_json_leave(place, mark);
    }
    return code;
}

sl_code sl_json_get_text(struct sl_json_place *place, const char *key, const json_t *value,
                         size_t bytes, char *ret)
{
    const char *text = json_is_string(value) ? json_string_value(value) : "";
    if (value && !json_is_null(value) && !json_is_string(value))
        return sl_json_refuse(place, key, "a text or null");
    size_t length = strlen(text);
    if (length >= bytes) /* what was no UTF-8 grew when it was written: cut at a character */
        length = (size_t)(g_utf8_find_prev_char(text, text + bytes) - text);
    memcpy(ret, text, length);
    ret[length] = '\0';
    return SL_OK;
}

static sl_code get_integer(struct sl_json_place *place, const char *key, const json_t *value,
                           int *ret)
{
    json_int_t number = json_integer_value(value);
    if (value && !json_is_null(value) && !json_is_integer(value))
        return sl_json_refuse(place, key, "a whole number");
    if (number < -(json_int_t)MAGNITUDE_MAX || number > (json_int_t)MAGNITUDE_MAX)
        return sl_json_refuse(place, key, "a whole number between -1e9 and 1e9");
    *ret = (int)number;
    return SL_OK;
}

static sl_code check_range(struct sl_json_place *place, const struct sl_json_field *field,
                           const double *values)
{
    for (size_t i = 0; i < field->count && field->low < field->high; i++)
        if (values[i] < field->low || values[i] > field->high) {
            char wanted[64];
            snprintf(wanted, sizeof wanted, "between %.0f and %.0f", field->low, field->high);
            return sl_json_refuse(place, field->key, wanted);
        }
    return SL_OK;
}

/* Arrays may be null as a whole: not known. */
static sl_code get_field_reals(struct sl_json_place *place, const struct sl_json_field *field,
                               const json_t *value, double *ret)
{
    if (value && !json_is_null(value))
        return sl_json_get_reals(place, field->key, value, field->count, ret);
    for (size_t i = 0; i < field->count; i++)
        ret[i] = NAN;
    return SL_OK;
}

static sl_code get_field(struct sl_json_place *place, const struct sl_json_field *field,
                         const json_t *value, char *at)
{
    switch (field->kind) {
    case SL_JSON_REAL: {
        double *values = (double *)(void *)at;
        sl_code code = field->count > 1 ? get_field_reals(place, field, value, values)
                                        : sl_json_get_real(place, field->key, value, values);
        return code == SL_OK ? check_range(place, field, values) : code;
    }
    case SL_JSON_INTEGER:
        return get_integer(place, field->key, value, (int *)(void *)at);
    case SL_JSON_FLAG:
        if (value && !json_is_null(value) && !json_is_boolean(value))
            return sl_json_refuse(place, field->key, "true or false");
        *(bool *)(void *)at = json_is_true(value);
        return SL_OK;
    case SL_JSON_TEXT:
        return sl_json_get_text(place, field->key, value, field->count, at);
    case SL_JSON_HUE:
        if (value && !json_is_null(value) && !json_is_string(value))
            return sl_json_refuse(place, field->key, "a text or null");
        *(const char **)(void *)at =
            sl_hue_name_known(json_is_string(value) ? json_string_value(value) : "");
        return SL_OK;
    }
    return SL_E_INTERNAL;
}

sl_code sl_json_get_fields(struct sl_json_place *place, const json_t *object,
                           const struct sl_json_table *table, void *to)
{
    sl_code code = SL_OK;
    for (size_t i = 0; i < table->count && code == SL_OK; i++) {
        const struct sl_json_field *field = &table->field[i];
        const json_t *value = json_object_get(object, field->key);
        if (field->is_needed && (!value || json_is_null(value)))
            code = sl_json_refuse(place, field->key, "there");
        else
            code = get_field(place, field, value, (char *)to + field->offset);
    }
    return code;
}
