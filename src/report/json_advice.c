// SPDX-License-Identifier: GPL-3.0-or-later
/* Advice in the document: each strip's own with the size of its effects, and for the photo the
 * sentences of what would help most. */
#include "json_advice.h"

#include <math.h>
#include <string.h>

#include "json_fields.h"

static json_t *effect_json(const struct sl_advice_effect *effect, enum sl_number_kind kind,
                           bool *failed)
{
    json_t *object = json_object();
    bool of_band = kind == SL_NUMBER_RF || kind == SL_NUMBER_SHARE;
    sl_json_put(object, "number", json_string(sl_number_kind_name(kind)), failed);
    sl_json_put(object, "band", of_band ? json_integer((json_int_t)effect->band) : json_null(),
                failed);
    sl_json_put(object, "gain", sl_json_real(effect->gain, SL_DECIMALS_PART), failed);
    sl_json_put(object, "now", sl_json_reals(effect->now, 2, SL_DECIMALS_PART, failed), failed);
    sl_json_put(object, "then", sl_json_reals(effect->then, 2, SL_DECIMALS_PART, failed), failed);
    return object;
}

static json_t *one_json(const struct sl_advice *advice, bool *failed)
{
    json_t *object = json_object(), *effects = json_array();
    char words[SL_ADVICE_BYTES];
    sl_advice_words(advice, "", words, sizeof words);
    for (int kind = 0; kind < SL_NUMBER_KINDS; kind++)
        if (advice->effect[kind].gain > 0)
            sl_json_append(effects,
                           effect_json(&advice->effect[kind], (enum sl_number_kind)kind, failed),
                           failed);
    sl_json_put(object, "cause", json_string(sl_cause_name(advice->cause)), failed);
    sl_json_put(object, "message", sl_json_text(words), failed);
    sl_json_put(object, "gain", sl_json_real(advice->gain, SL_DECIMALS_PART), failed);
    sl_json_put(object, "effects", effects, failed);
    return object;
}

json_t *sl_json_advice(const struct sl_advice_list *list, bool *failed)
{
    json_t *array = json_array();
    for (size_t i = 0; i < list->count; i++)
        sl_json_append(array, one_json(&list->item[i], failed), failed);
    return array;
}

json_t *sl_json_photo_advice(const struct sl_reading *reading, bool *failed)
{
    json_t *array = json_array();
    struct sl_reading_advice advice;
    sl_reading_advise(reading, &advice);
    for (size_t i = 0; i < advice.count; i++) {
        json_t *object = json_object();
        char words[SL_ADVICE_BYTES];
        sl_reading_advice_words(reading, &advice, i, words, sizeof words);
        sl_json_put(object, "strip", json_integer((json_int_t)advice.item[i].strip), failed);
        sl_json_put(object, "cause", json_string(sl_cause_name(advice.item[i].advice->cause)),
                    failed);
        sl_json_put(object, "message", sl_json_text(words), failed);
        sl_json_append(array, object, failed);
    }
    return array;
}

/* ---- loading ---- */

static sl_code load_interval(struct sl_json_place *place, const json_t *object, const char *key,
                             double ret[2])
{
    sl_code code = sl_json_get_reals(place, key, json_object_get(object, key), 2, ret);
    if (code == SL_OK && !(ret[0] <= ret[1]))
        code = sl_json_refuse(place, key, "two numbers, the lower one first");
    return code;
}

/* null: more than the intervals tell. */
static sl_code load_gain(struct sl_json_place *place, const json_t *object, double *ret)
{
    sl_code code = sl_json_get_real(place, "gain", json_object_get(object, "gain"), ret);
    if (code == SL_OK && isnan(*ret))
        *ret = INFINITY;
    else if (code == SL_OK && !(*ret >= 0 && *ret <= 1))
        code = sl_json_refuse(place, "gain", "a number from 0 to 1, or null");
    return code;
}

static bool kind_from_name(const char *name, enum sl_number_kind *ret)
{
    for (int kind = 0; name && kind < SL_NUMBER_KINDS; kind++)
        if (strcmp(name, sl_number_kind_name((enum sl_number_kind)kind)) == 0) {
            *ret = (enum sl_number_kind)kind;
            return true;
        }
    return false;
}

static sl_code load_effect(struct sl_json_place *place, const json_t *object,
                           struct sl_advice *advice)
{
    struct sl_advice_effect effect = {0};
    enum sl_number_kind kind;
    if (!kind_from_name(json_string_value(json_object_get(object, "number")), &kind))
        return sl_json_refuse(place, "number", "\"rf\", \"share\", \"retained\" or \"bound\"");
    json_int_t band = json_integer_value(json_object_get(object, "band"));
    if (band < 0 || band >= SL_BANDS_MAX)
        return sl_json_refuse(place, "band", "the number of a band, counted from 0");
    effect.band = (size_t)band;
    sl_code code = load_gain(place, object, &effect.gain);
    if (code == SL_OK)
        code = load_interval(place, object, "now", effect.now);
    if (code == SL_OK)
        code = load_interval(place, object, "then", effect.then);
    if (code == SL_OK)
        advice->effect[kind] = effect;
    return code;
}

static sl_code load_one(struct sl_json_place *place, const json_t *object, struct sl_advice *advice)
{
    const json_t *effects;
    sl_code code = load_gain(place, object, &advice->gain);
    if (code == SL_OK)
        code = sl_json_get_array(place, object, "effects", true, SL_NUMBER_KINDS, &effects);
    for (size_t i = 0; code == SL_OK && i < json_array_size(effects); i++) {
        size_t mark = sl_json_enter(place, "effects", (long)i);
        code = load_effect(place, json_array_get(effects, i), advice);
        if (code == SL_OK)
            sl_json_leave(place, mark);
    }
    return code;
}

/* Causes of a later version are passed over. */
sl_code sl_json_load_advice(struct sl_json_place *place, const json_t *owner,
                            struct sl_advice_list *ret)
{
    const json_t *array;
    struct sl_advice_list list = {0};
    sl_code code = sl_json_get_array(place, owner, "advice", false, SL_ADVICE_MAX, &array);
    for (size_t i = 0; code == SL_OK && i < json_array_size(array); i++) {
        const json_t *object = json_array_get(array, i);
        const char *cause = json_string_value(json_object_get(object, "cause"));
        struct sl_advice *advice = &list.item[list.count];
        size_t mark = sl_json_enter(place, "advice", (long)i);
        if (!cause)
            code = sl_json_refuse(place, "cause", "there, and a text");
        else if (sl_cause_from_name(cause, &advice->cause))
            code = load_one(place, object, advice);
        else
            advice = NULL;
        list.count += advice != NULL;
        if (code == SL_OK)
            sl_json_leave(place, mark);
    }
    if (code == SL_OK)
        *ret = list;
    return code;
}
