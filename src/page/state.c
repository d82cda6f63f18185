// SPDX-License-Identifier: GPL-3.0-or-later
#include "page_internal.h"

#include "figure/words.h"

#include <stdlib.h>
#include <string.h>

static const char *const phase_names[] = {
    [PAGE_WAITING] = "waiting", [PAGE_READING] = "reading", [PAGE_DONE] = "done"};

json_t *page_sentence_json(const char *text)
{
    size_t n = strlen(text);
    bool ends = n == 0 || strchr(".!?", text[n - 1]);
    return json_sprintf("%s%s", text, ends ? "" : ".");
}

json_t *page_problem_json(const struct sl_status *problem)
{
    if (problem->code == SL_OK)
        return json_null();
    return json_pack("{s:s, s:o, s:o}", "code", sl_code_name(problem->code), "message",
                     page_sentence_json(problem->message), "remedy",
                     page_sentence_json(problem->remedy));
}

static bool is_paired(const struct sl_page *page, const char *id)
{
    for (size_t i = 0; i < page->pair_count; i++)
        if (strcmp(page->pair[i].immediate.id, id) == 0 || strcmp(page->pair[i].dried.id, id) == 0)
            return true;
    return false;
}

static bool is_lone(const struct sl_page *page, const struct page_photo *photo)
{
    return !photo->saved && photo->shared && photo->shared->reading->strip_count == 1 &&
           !is_paired(page, photo->id);
}

/* Lone strips are offered two by two, in the order that they came in. */
static const char *offer_for(const struct sl_page *page, const struct page_photo *photo)
{
    const struct page_photo *open = NULL;
    for (size_t i = 0; i < page->photo_count; i++) {
        const struct page_photo *other = page->photo[i];
        if (!is_lone(page, other))
            continue;
        if (open == photo)
            return other->id;
        open = open ? NULL : other;
    }
    return NULL;
}

static json_t *pictures_json(const struct page_photo *photo)
{
    json_t *array = json_array();
    for (size_t i = 0; photo->shared && i < photo->shared->reading->strip_count; i++)
        json_array_append_new(array, json_integer((json_int_t)photo->picture_version[i]));
    return array;
}

/* In the same sentences as on figures and in the report. */
static json_t *strip_words_json(const struct sl_strip *strip)
{
    char whole[4 * WORDS_BYTES], retained[WORDS_BYTES]; /* a strip of many bands has much to say */
    words_strip(strip, whole, sizeof whole);
    words_retained(strip, retained, sizeof retained);
    return json_pack("{s:s, s:s, s:s}", "whole", whole, "retained", retained, "front",
                     words_front_doubt(strip));
}

static json_t *words_json(const struct page_photo *photo)
{
    json_t *array = json_array();
    struct words_locale locale = words_locale_begin();
    for (size_t i = 0; photo->shared && i < photo->shared->reading->strip_count; i++)
        json_array_append_new(array, strip_words_json(&photo->shared->reading->strip[i]));
    words_locale_end(locale);
    return array;
}

static bool is_pair_open(const struct sl_page *page, const struct page_pair *pair)
{
    return page_photo_is_open(page_find(page, pair->immediate.id)) ||
           page_photo_is_open(page_find(page, pair->dried.id));
}

json_t *page_photo_json(struct sl_page *page, const struct page_photo *photo)
{
    const struct sl_reading *reading = photo->shared ? photo->shared->reading : NULL;
    const char *offer = offer_for(page, photo);
    const struct sl_status *problem = reading ? &reading->error : &photo->problem;
    return json_pack(
        "{s:s, s:s, s:I, s:s, s:s, s:f, s:i, s:i, s:o, s:I, s:o, s:o, s:o, s:o, s:o, s:b}", "id",
        photo->id, "name", photo->name, "bytes", (json_int_t)photo->bytes, "sha256",
        reading ? reading->photo.sha256 : "", "phase", phase_names[photo->phase], "progress",
        photo->progress, "width_px", reading ? reading->photo.width_px : 0, "height_px",
        reading ? reading->photo.height_px : 0, "reading_version",
        reading ? json_integer((json_int_t)photo->reading_version) : json_null(), "strip_count",
        reading ? (json_int_t)reading->strip_count : (json_int_t)0, "error",
        page_problem_json(problem), "hand", page_hand_json(&photo->hand), "offer_pair_with",
        offer ? json_string(offer) : json_null(), "pictures", pictures_json(photo), "words",
        words_json(photo), "unfinished", page_photo_is_open(photo));
}

/* [low, index, high] on the drawn scale, parts of its width; null without a verdict. */
static json_t *scale_json(const struct sl_pair *pair)
{
    if (pair->unjudged != SL_JUDGED)
        return json_null();
    return json_pack("[f, f, f]", words_scale_place(pair->index_interval[0]),
                     words_scale_place(pair->index), words_scale_place(pair->index_interval[1]));
}

json_t *page_verdict_words_json(const struct sl_pair *pair)
{
    static const struct {
        const char *name;
        void (*words)(const struct sl_pair *pair, char *ret, size_t size);
    } parts[] = {{"answer", words_answer},
                 {"sure", words_sure},
                 {"level", words_level},
                 {"soak", words_soak}};
    json_t *object = json_object();
    char text[WORDS_BYTES];
    struct words_locale locale = words_locale_begin();
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        parts[i].words(pair, text, sizeof text);
        json_object_set_new(object, parts[i].name, json_string(text));
    }
    words_locale_end(locale);
    json_object_set_new(object, "scale", scale_json(pair));
    return object;
}

static json_t *pair_json(const struct sl_page *page, const struct page_pair *pair)
{
    char *text = NULL;
    if (sl_report_json_pair(&pair->pair, &text, NULL) != SL_OK)
        return NULL;
    json_t *json = json_loads(text, 0, NULL);
    free(text);
    json_object_set_new(json, "immediate", page_ref_json(&pair->immediate));
    json_object_set_new(json, "dried", page_ref_json(&pair->dried));
    json_object_set_new(json, "by_hand", json_boolean(pair->by_hand));
    json_object_set_new(json, "unfinished", json_boolean(is_pair_open(page, pair)));
    json_object_set_new(json, "words", page_verdict_words_json(&pair->pair));
    return json;
}

json_t *page_pairs_json(const struct sl_page *page)
{
    json_t *pairs = json_array();
    for (size_t i = 0; i < page->pair_count; i++)
        json_array_append_new(pairs, pair_json(page, &page->pair[i]));
    return pairs;
}

static json_t *told_json(const struct sl_page *page)
{
    json_t *told = json_array();
    for (size_t i = 0; i < page->told.count; i++)
        json_array_append_new(told, page_problem_json(&page->told.item[i]));
    return told;
}

json_t *page_state_json(struct sl_page *page)
{
    json_t *photos = json_array(), *saved = json_array(), *pairs = page_pairs_json(page);
    for (size_t i = 0; i < page->photo_count; i++)
        json_array_append_new(page->photo[i]->saved ? saved : photos,
                              page_photo_json(page, page->photo[i]));
    json_t *keep = json_pack("{s:s, s:o, s:o}", "folder", page->folder, "error",
                             page_problem_json(&page->keep_problem), "told", told_json(page));
    json_t *limits = json_pack("{s:i, s:i, s:i}", "photo_bytes", PAGE_PHOTO_BYTES_MAX, "photos",
                               PAGE_PHOTOS_MAX, "saved", PAGE_SAVED_MAX);
    json_t *state =
        json_pack("{s:I, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "version", (json_int_t)page->version,
                  "run", page->run, "photos", photos, "saved", saved, "pairs", pairs, "conditions",
                  page_conditions_json(&page->conditions), "keep", keep, "limits", limits);
    page_together_put(page, state);
    return state;
}
