// SPDX-License-Identifier: GPL-3.0-or-later
/* What the user sets, from the page's JSON to what the library takes and back. Limits are those of
 * the command line. */
#include "page_internal.h"

#include <math.h>
#include <string.h>

static const char where[] = "page/hand";

struct limit {
    const char *key;
    double low, high;
};

static sl_code refuse(struct sl_status *status, const char *key, const char *wanted)
{
    return sl_status_set(status, SL_E_USAGE, where, "", "\"%s\" is to be %s.", key, wanted);
}

static sl_code number(const json_t *object, const struct limit *limit, double *ret,
                      struct sl_status *status)
{
    const json_t *json = json_object_get(object, limit->key);
    if (!json || json_is_null(json)) {
        *ret = NAN;
        return SL_OK;
    }
    double value = json_number_value(json);
    if (!json_is_number(json))
        return refuse(status, limit->key, "a number or null");
    if (!isfinite(value) || value < limit->low || value > limit->high)
        return sl_status_set(status, SL_E_RANGE, where, "",
                             "\"%s\" %g is out of range: it goes from %g to %g.", limit->key, value,
                             limit->low, limit->high);
    *ret = value;
    return SL_OK;
}

/* `ret_told` may be NULL. */
static sl_code text(const json_t *object, const char *key, char *ret, size_t size, bool *ret_told,
                    struct sl_status *status)
{
    const json_t *json = json_object_get(object, key);
    bool told = json && !json_is_null(json);
    if (told && !json_is_string(json))
        return refuse(status, key, "a text or null");
    size_t bytes = told ? json_string_length(json) : 0;
    if (bytes >= size)
        return sl_status_set(status, SL_E_RANGE, where, "Use a shorter one.",
                             "\"%s\" has %zu bytes, and at most %zu fit.", key, bytes, size - 1);
    if (told)
        memcpy(ret, json_string_value(json), bytes);
    ret[bytes] = '\0';
    if (ret_told)
        *ret_told = told;
    return SL_OK;
}

static sl_code corners(const json_t *object, struct sl_strip_hints *hint, struct sl_status *status)
{
    static const char wanted[] = "four points [x, y] or null";
    const json_t *json = json_object_get(object, "corners_px");
    if (!json || json_is_null(json))
        return SL_OK;
    if (json_array_size(json) != 4)
        return refuse(status, "corners_px", wanted);
    for (size_t i = 0; i < 4; i++) {
        const json_t *point = json_array_get(json, i);
        double xy[2];
        for (size_t k = 0; k < 2; k++) {
            const json_t *value = json_array_get(point, k);
            xy[k] = json_number_value(value);
            if (json_array_size(point) != 2 || !json_is_number(value) ||
                fabs(xy[k]) > SL_PHOTO_SIDE_MAX)
                return refuse(status, "corners_px", wanted);
        }
        hint->corners_px[i] = (struct sl_point){xy[0], xy[1]};
    }
    hint->has_corners = true;
    return SL_OK;
}

static sl_code direction(const json_t *object, struct sl_strip_hints *hint,
                         struct sl_status *status)
{
    const json_t *json = json_object_get(object, "upside_down");
    if (json && !json_is_null(json) && !json_is_boolean(json))
        return refuse(status, "upside_down", "true, false or null");
    hint->upside_down = json_is_boolean(json) ? json_is_true(json) : -1;
    return SL_OK;
}

/* Their order, and whether they overlap, is the library's to judge. */
static sl_code bands(const json_t *object, struct sl_strip_hints *hint, struct sl_status *status)
{
    static const char wanted[] = "a list of pairs [from, to] or null";
    const json_t *json = json_object_get(object, "bands");
    if (!json || json_is_null(json))
        return SL_OK;
    if (!json_is_array(json))
        return refuse(status, "bands", wanted);
    if (json_array_size(json) > SL_HINT_BANDS_MAX)
        return sl_status_set(status, SL_E_RANGE, where, "",
                             "Limits of %zu bands were sent, and a strip can hold %d.",
                             json_array_size(json), SL_HINT_BANDS_MAX);
    for (size_t i = 0; i < json_array_size(json); i++) {
        const json_t *pair = json_array_get(json, i);
        const json_t *from = json_array_get(pair, 0), *to = json_array_get(pair, 1);
        if (json_array_size(pair) != 2 || !json_is_number(from) || !json_is_number(to))
            return refuse(status, "bands", wanted);
        hint->band[i] = (struct sl_band_limits){json_number_value(from), json_number_value(to)};
    }
    hint->band_count = json_array_size(json);
    return SL_OK;
}

static sl_code role(const json_t *object, size_t strip, struct page_hand *hand,
                    struct sl_status *status)
{
    char name[SL_NAME_MAX];
    sl_code code = text(object, "role", name, sizeof name, &hand->has_role[strip], status);
    if (code == SL_OK && hand->has_role[strip] && !sl_role_from_name(name, &hand->role[strip]))
        code = refuse(status, "role", "immediate, dried, single or null");
    return code;
}

static sl_code one_strip(const json_t *object, size_t strip, struct page_hand *hand,
                         struct sl_status *status)
{
    static const struct limit origin = {"origin", 0, 1}, front = {"front", 0, 1};
    static const struct limit length = {"length_mm", 5, 1000};
    struct sl_strip_hints *hint = &hand->hint[strip];
    sl_strip_hints_init(hint);
    if (!json_is_object(object))
        return refuse(status, "strips", "a list of objects");
    sl_code code = corners(object, hint, status);
    if (code == SL_OK)
        code = number(object, &origin, &hint->origin, status);
    if (code == SL_OK)
        code = number(object, &front, &hint->front, status);
    if (code == SL_OK)
        code = number(object, &length, &hint->length_mm, status);
    if (code == SL_OK)
        code = direction(object, hint, status);
    if (code == SL_OK)
        code = bands(object, hint, status);
    if (code == SL_OK)
        code = role(object, strip, hand, status);
    if (code == SL_OK)
        code = text(object, "ink", hand->ink[strip], SL_NAME_MAX, &hand->has_ink[strip], status);
    if (code == SL_OK && hint->origin >= hint->front) /* false where one of them is not set */
        code = sl_status_set(status, SL_E_ORIGIN_ABOVE_FRONT, where,
                             "Both count from the end that was in the water.",
                             "The origin %g is not below the front %g.", hint->origin, hint->front);
    return code;
}

sl_code page_hand_parse(const json_t *json, struct page_hand *ret, struct sl_status *status)
{
    const json_t *strips = json_object_get(json, "strips");
    struct page_hand hand = {.count = json_array_size(strips)};
    if (!json_is_array(strips))
        return refuse(status, "strips", "a list");
    if (hand.count > SL_STRIPS_MAX)
        return sl_status_set(status, SL_E_RANGE, where, "",
                             "Values for %zu strips were sent, and a photo can hold %d.",
                             hand.count, SL_STRIPS_MAX);
    for (size_t i = 0; i < hand.count; i++) {
        sl_code code = one_strip(json_array_get(strips, i), i, &hand, status);
        if (code != SL_OK)
            return code;
    }
    *ret = hand;
    return SL_OK;
}

static json_t *real(double value)
{
    return isnan(value) ? json_null() : json_real(value);
}

static json_t *corners_json(const struct sl_strip_hints *hint)
{
    json_t *array = json_array();
    for (size_t i = 0; i < 4; i++)
        json_array_append_new(array,
                              json_pack("[f,f]", hint->corners_px[i].x, hint->corners_px[i].y));
    return array;
}

static json_t *bands_json(const struct sl_strip_hints *hint)
{
    json_t *array = json_array();
    for (size_t i = 0; i < hint->band_count; i++)
        json_array_append_new(array, json_pack("[f,f]", hint->band[i].from, hint->band[i].to));
    return array;
}

json_t *page_hand_json(const struct page_hand *hand)
{
    json_t *strips = json_array();
    for (size_t i = 0; i < hand->count; i++) {
        const struct sl_strip_hints *h = &hand->hint[i];
        json_array_append_new(
            strips,
            json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "corners_px",
                      h->has_corners ? corners_json(h) : json_null(), "origin", real(h->origin),
                      "front", real(h->front), "upside_down",
                      h->upside_down < 0 ? json_null() : json_boolean(h->upside_down), "length_mm",
                      real(h->length_mm), "role",
                      hand->has_role[i] ? json_string(sl_role_name(hand->role[i])) : json_null(),
                      "ink", hand->has_ink[i] ? json_string(hand->ink[i]) : json_null(), "bands",
                      h->band_count ? bands_json(h) : json_null()));
    }
    return json_pack("{s:o}", "strips", strips);
}

static bool is_set(const struct sl_strip_hints *h)
{
    return h->has_corners || !isnan(h->origin) || !isnan(h->front) || !isnan(h->length_mm) ||
           h->upside_down >= 0 || h->band_count > 0;
}

/* As the command line takes them for granted. */
static enum sl_role usual_role(size_t strip, size_t count)
{
    if (count != 2 && count != 4)
        return SL_ROLE_SINGLE;
    return strip % 2 == 0 ? SL_ROLE_IMMEDIATE : SL_ROLE_DRIED;
}

void page_hand_options(const struct page_hand *hand, const struct sl_conditions *conditions,
                       struct sl_read_options *ret)
{
    sl_read_options_init(ret);
    ret->conditions = *conditions;
    for (size_t i = 0; i < hand->count; i++) {
        ret->hint[i] = hand->hint[i];
        if (is_set(&hand->hint[i]))
            ret->hint_count = hand->count;
        if (hand->has_role[i])
            ret->role_count = hand->count;
        if (hand->has_ink[i])
            ret->ink_count = hand->count;
    }
    for (size_t i = 0; i < ret->role_count; i++)
        ret->role[i] = hand->has_role[i] ? hand->role[i] : usual_role(i, hand->count);
    for (size_t i = 0; i < ret->ink_count; i++)
        memcpy(ret->ink[i], hand->has_ink[i] ? hand->ink[i] : conditions->ink, SL_NAME_MAX);
}

sl_code page_conditions_parse(const json_t *json, struct sl_conditions *ret,
                              struct sl_status *status)
{
    static const struct limit dip = {"dip_s", 0.1, 86400}, dried = {"dried_min", 0, 525600};
    struct sl_conditions c;
    sl_conditions_init(&c);
    if (!json_is_object(json))
        return refuse(status, "conditions", "an object");
    sl_code code = text(json, "ink", c.ink, sizeof c.ink, NULL, status);
    if (code == SL_OK)
        code = text(json, "paper", c.paper, sizeof c.paper, NULL, status);
    if (code == SL_OK)
        code = text(json, "solvent", c.solvent, sizeof c.solvent, NULL, status);
    if (code == SL_OK)
        code = number(json, &dip, &c.dip_s, status);
    if (code == SL_OK)
        code = number(json, &dried, &c.dried_min, status);
    if (code == SL_OK)
        *ret = c;
    return code;
}

json_t *page_conditions_json(const struct sl_conditions *c)
{
    return json_pack("{s:s, s:s, s:s, s:o, s:o}", "ink", c->ink, "paper", c->paper, "solvent",
                     c->solvent, "dip_s", real(c->dip_s), "dried_min", real(c->dried_min));
}

bool page_ref_parse(const json_t *json, struct page_ref *ret)
{
    const char *id = json_string_value(json_array_get(json, 0));
    const json_t *strip = json_array_get(json, 1);
    if (json_array_size(json) != 2 || !id || strlen(id) >= sizeof ret->id ||
        !json_is_integer(strip) || json_integer_value(strip) < 0 ||
        json_integer_value(strip) >= SL_STRIPS_MAX)
        return false;
    memcpy(ret->id, id, strlen(id) + 1);
    ret->strip = (size_t)json_integer_value(strip);
    return true;
}

json_t *page_ref_json(const struct page_ref *ref)
{
    return json_pack("[s,I]", ref->id, (json_int_t)ref->strip);
}

bool page_pair_parse(const json_t *json, struct page_pair *ret)
{
    *ret = (struct page_pair){.by_hand = true};
    return page_ref_parse(json_object_get(json, "immediate"), &ret->immediate) &&
           page_ref_parse(json_object_get(json, "dried"), &ret->dried);
}
