// SPDX-License-Identifier: GPL-3.0-or-later
/* What several strips of one ink say together, as the command line and the report tell it. It is
 * worked out once with each change; state and answers carry copies. */
#include "page_internal.h"

#include "figure/words.h"

#include <stdlib.h>
#include <string.h>

/* [photo, strip] becomes ["p1", strip]. Whether one of them is of a photo that is unfinished. */
static bool name_refs(const struct sl_page *page, const struct page_document *document,
                      json_t *refs)
{
    bool open = false;
    size_t i;
    json_t *ref;
    json_array_foreach(refs, i, ref)
    {
        const char *id = document->ref[json_integer_value(json_array_get(ref, 0))].id;
        json_array_set_new(ref, 0, json_string(id));
        open = open || page_photo_is_open(page_find(page, id));
    }
    return open;
}

/* Beside the means: what each strip has by itself. */
static json_t *alone_json(const struct sl_document *document, struct sl_strip_ref ref)
{
    const struct sl_bands *bands = &document->reading[ref.photo]->strip[ref.strip].bands;
    char retained[64], bound[64];
    words_share(bands->retained_share, bands->retained_interval, retained, sizeof retained);
    words_share(bands->bound_share, bands->bound_interval, bound, sizeof bound);
    return json_pack("{s:s, s:s}", "retained", retained, "bound", bound);
}

static void finish_replicate(const struct sl_page *page, const struct page_document *document,
                             size_t index, json_t *json)
{
    const struct sl_replicate *set = &document->document.replicate[index];
    json_t *alone = json_array();
    for (size_t i = 0; i < set->strip_count; i++)
        json_array_append_new(alone, alone_json(&document->document, set->strip[i]));
    bool open = name_refs(page, document, json_object_get(json, "strips"));
    json_object_set_new(json, "alone", alone);
    json_object_set_new(json, "treatment", json_string(words_treatment(set->role)));
    json_object_set_new(json, "unfinished", json_boolean(open));
}

static void finish_combined(const struct sl_page *page, const struct page_document *document,
                            size_t index, json_t *json)
{
    bool immediate = name_refs(page, document, json_object_get(json, "immediate"));
    bool dried = name_refs(page, document, json_object_get(json, "dried"));
    json_object_set_new(json, "unfinished", json_boolean(immediate || dried));
    json_object_set_new(json, "words",
                        page_verdict_words_json(&document->document.combined[index].pair));
}

static json_t *tell(const struct sl_page *page, const struct page_document *document)
{
    char *text = NULL;
    if (sl_report_json_together(&document->document, &text, NULL) != SL_OK)
        return NULL;
    json_t *json = json_loads(text, 0, NULL), *member;
    size_t i;
    free(text);
    struct words_locale locale = words_locale_begin();
    json_array_foreach(json_object_get(json, "replicates"), i, member)
        finish_replicate(page, document, i, member);
    json_array_foreach(json_object_get(json, "combined"), i, member)
        finish_combined(page, document, i, member);
    words_locale_end(locale);
    return json;
}

void page_together_make(struct sl_page *page)
{
    struct page_document document;
    json_decref(page->together);
    page->together = page_document_make(page, &document) ? tell(page, &document) : NULL;
    page_document_drop(&document);
}

void page_together_put(const struct sl_page *page, json_t *object)
{
    static const char *const names[] = {"replicates", "combined"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        /* a copy: it is printed without the lock */
        json_t *list = json_deep_copy(json_object_get(page->together, names[i]));
        json_object_set_new(object, names[i], list ? list : json_array());
    }
}
