// SPDX-License-Identifier: GPL-3.0-or-later
#include "page_internal.h"

#include <stdlib.h>
#include <string.h>

static void take_roles(const struct sl_page *page, const struct page_photo *photo,
                       struct sl_reading *reading)
{
    for (size_t i = 0; i < page->hand_pair_count; i++) {
        const struct page_ref *ref[2] = {&page->hand_pair[i].immediate, &page->hand_pair[i].dried};
        for (size_t k = 0; k < 2; k++)
            if (strcmp(ref[k]->id, photo->id) == 0 && ref[k]->strip < reading->strip_count)
                reading->strip[ref[k]->strip].role = k ? SL_ROLE_DRIED : SL_ROLE_IMMEDIATE;
    }
}

struct sl_reading *page_shallow(const struct sl_page *page, const struct page_photo *photo)
{
    if (!photo->shared)
        return NULL;
    const struct sl_reading *from = photo->shared->reading;
    struct sl_reading *reading = malloc(sizeof *reading);
    struct sl_strip *strip = calloc(from->strip_count + 1, sizeof *strip);
    if (!reading || !strip) {
        free(reading);
        free(strip);
        return NULL;
    }
    *reading = *from;
    if (from->strip_count)
        memcpy(strip, from->strip, from->strip_count * sizeof *strip);
    reading->strip = strip;
    take_roles(page, photo, reading);
    return reading;
}

void page_shallow_free(struct sl_reading *reading)
{
    if (reading)
        free(reading->strip);
    free(reading);
}

static bool allocate(struct page_document *document, size_t count)
{
    *document = (struct page_document){0};
    sl_document_init(&document->document);
    document->document.reading = calloc(count + 1, sizeof(struct sl_reading *));
    document->ref = calloc(count + 1, sizeof *document->ref);
    document->shared = calloc(count + 1, sizeof(struct page_shared *));
    return document->document.reading && document->ref && document->shared;
}

static bool append(struct sl_page *page, const struct page_photo *photo,
                   struct page_document *document)
{
    size_t n = document->document.reading_count;
    struct sl_reading *reading = page_shallow(page, photo);
    if (!reading)
        return false;
    document->document.reading[n] = reading;
    memcpy(document->ref[n].id, photo->id, sizeof photo->id);
    document->shared[n] = photo->shared;
    photo->shared->count++;
    document->document.reading_count++;
    return true;
}

static size_t index_of(const struct page_document *document, const char *id)
{
    size_t i = 0;
    while (strcmp(document->ref[i].id, id) != 0)
        i++;
    return i;
}

static bool append_pairs(const struct sl_page *page, struct page_document *document)
{
    struct sl_pair *pair = calloc(page->pair_count + 1, sizeof *pair);
    if (!pair)
        return false;
    for (size_t i = 0; i < page->pair_count; i++) {
        const struct page_pair *from = &page->pair[i];
        pair[i] = from->pair;
        pair[i].immediate =
            (struct sl_strip_ref){index_of(document, from->immediate.id), from->immediate.strip};
        pair[i].dried =
            (struct sl_strip_ref){index_of(document, from->dried.id), from->dried.strip};
    }
    document->document.pair = pair;
    document->document.pair_count = page->pair_count;
    return true;
}

bool page_document_make(struct sl_page *page, struct page_document *ret)
{
    bool made = allocate(ret, page->photo_count);
    for (size_t i = 0; made && i < page->photo_count; i++)
        if (page->photo[i]->shared)
            made = append(page, page->photo[i], ret);
    return made && append_pairs(page, ret) &&
           sl_document_make_replicates(&ret->document, NULL) == SL_OK;
}

bool page_document_pick(struct sl_page *page, const struct page_ref *refs, size_t count,
                        struct page_document *ret)
{
    bool made = allocate(ret, count);
    for (size_t i = 0; made && i < count; i++) {
        made = append(page, page_find(page, refs[i].id), ret);
        if (!made)
            break;
        struct sl_reading *reading = ret->document.reading[i];
        reading->strip[0] = reading->strip[refs[i].strip];
        reading->strip_count = 1;
        ret->ref[i].strip = refs[i].strip;
    }
    return made;
}

static void release(struct page_document *document)
{
    for (size_t i = 0; document->shared && i < document->document.reading_count; i++)
        page_shared_release(document->shared[i]);
}

static void free_rest(struct page_document *document)
{
    for (size_t i = 0; document->document.reading && i < document->document.reading_count; i++)
        page_shallow_free(document->document.reading[i]);
    free(document->document.reading);
    free(document->document.pair);
    free(document->document.replicate);
    free(document->document.combined);
    free(document->ref);
    free(document->shared);
    *document = (struct page_document){0};
}

void page_document_finish(struct sl_page *page, struct page_document *document)
{
    pthread_mutex_lock(&page->lock);
    release(document);
    pthread_mutex_unlock(&page->lock);
    free_rest(document);
}

void page_document_drop(struct page_document *document)
{
    release(document);
    free_rest(document);
}
