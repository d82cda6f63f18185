// SPDX-License-Identifier: GPL-3.0-or-later
/* The photos on the page, their readings and the pairs made of them. */
#include "page_internal.h"

#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct page_photo *page_find(const struct sl_page *page, const char *id)
{
    for (size_t i = 0; i < page->photo_count; i++)
        if (strcmp(page->photo[i]->id, id) == 0)
            return page->photo[i];
    return NULL;
}

struct page_photo *page_add(struct sl_page *page, const char *id, const char *name, bool saved)
{
    size_t same = 0, limit = saved ? PAGE_SAVED_MAX : PAGE_PHOTOS_MAX;
    for (size_t i = 0; i < page->photo_count; i++)
        same += page->photo[i]->saved == saved;
    struct page_photo *photo = same < limit ? calloc(1, sizeof *photo) : NULL;
    if (!photo)
        return NULL;
    photo->page = page;
    photo->count = 1;
    photo->saved = saved;
    snprintf(photo->id, sizeof photo->id, "%s", id);
    snprintf(photo->name, sizeof photo->name, "%s", name);
    pthread_mutex_init(&photo->reader_lock, NULL);
    page->photo[page->photo_count++] = photo;
    return photo;
}

void page_photo_release(struct page_photo *photo)
{
    if (!photo || --photo->count > 0)
        return;
    page_shared_release(photo->shared);
    sl_reader_close(photo->reader);
    pthread_mutex_destroy(&photo->reader_lock);
    free(photo);
}

static bool is_over(void *context)
{
    const struct page_photo *photo = context;
    return photo->gone || photo->page->stopping;
}

struct sl_reader *page_reader(struct page_photo *photo)
{
    sl_reader_set_cancel(photo->reader, (struct sl_cancel){is_over, photo});
    return photo->reader;
}

void page_remove(struct sl_page *page, struct page_photo *photo)
{
    size_t i = 0;
    while (page->photo[i] != photo)
        i++;
    page->photo_count--;
    memmove(&page->photo[i], &page->photo[i + 1],
            (page->photo_count - i) * sizeof(struct page_photo *));
    photo->gone = true;
    page_photo_release(photo);
}

struct page_shared *page_share(struct sl_reading *reading)
{
    struct page_shared *shared = calloc(1, sizeof *shared);
    if (shared)
        *shared = (struct page_shared){1, reading};
    return shared;
}

void page_shared_release(struct page_shared *shared)
{
    if (!shared || --shared->count > 0)
        return;
    sl_reading_destroy(shared->reading);
    free(shared);
}

static bool same_picture(const struct page_shared *shared, const struct sl_reading *reading,
                         size_t strip)
{
    if (!shared || strip >= shared->reading->strip_count)
        return false;
    const struct sl_picture *a = &shared->reading->strip[strip].picture;
    const struct sl_picture *b = &reading->strip[strip].picture;
    return a->width == b->width && a->height == b->height && a->rgb && b->rgb &&
           memcmp(a->rgb, b->rgb, (size_t)a->width * (size_t)a->height * 3) == 0;
}

bool page_install(struct page_photo *photo, struct sl_reading *reading)
{
    struct page_shared *shared = page_share(reading);
    if (!shared)
        return false;
    for (size_t i = 0; i < reading->strip_count; i++)
        if (!same_picture(photo->shared, reading, i))
            photo->picture_version[i] = photo->reading_version + 1;
    page_shared_release(photo->shared);
    photo->shared = shared;
    photo->reading_version++;
    photo->phase = PAGE_DONE;
    photo->progress = 1;
    photo->problem = (struct sl_status){0};
    return true;
}

bool page_photo_is_open(const struct page_photo *photo)
{
    const struct sl_reading *reading = photo->shared ? photo->shared->reading : NULL;
    for (size_t i = 0; reading && i < reading->strip_count; i++)
        if (reading->strip[i].bands.bound_open)
            return true;
    return false;
}

/* Tells the worker of each open reading once. */
static bool ask_for_whole(struct sl_page *page)
{
    bool open = false;
    for (size_t i = 0; i < page->photo_count; i++) {
        struct page_photo *photo = page->photo[i];
        if (!page_photo_is_open(photo))
            continue;
        open = true;
        if (photo->finished_version == photo->reading_version)
            continue;
        photo->finished_version = photo->reading_version;
        photo->wanted = true;
        pthread_cond_broadcast(&page->changed);
    }
    return open;
}

void page_close_readings(struct sl_page *page)
{
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += PAGE_POLL_S;
    while (ask_for_whole(page) && !page->stopping)
        if (pthread_cond_timedwait(&page->changed, &page->lock, &until) != 0)
            return;
}

static bool strip_exists(const struct sl_page *page, const struct page_ref *ref)
{
    const struct page_photo *photo = page_find(page, ref->id);
    return photo && photo->shared && ref->strip < photo->shared->reading->strip_count;
}

static bool add_pair(struct sl_page *page, const struct page_pair *pair)
{
    struct page_pair *more = realloc(page->pair, (page->pair_count + 1) * sizeof *more);
    if (!more)
        return false;
    page->pair = more;
    page->pair[page->pair_count++] = *pair;
    return true;
}

/* Two strips as a document of two photos, or of one where they share it. */
static void judge_by_hand(struct sl_page *page, struct page_pair *pair)
{
    const struct page_ref *ref[2] = {&pair->immediate, &pair->dried};
    struct sl_reading *reading[2] = {NULL, NULL};
    struct sl_document document;
    struct sl_strip_ref place[2];
    sl_document_init(&document);
    document.reading = reading;
    for (size_t k = 0; k < 2; k++) {
        if (k == 1 && strcmp(ref[0]->id, ref[1]->id) == 0) {
            place[1] = (struct sl_strip_ref){0, ref[1]->strip};
            break;
        }
        reading[k] = page_shallow(page, page_find(page, ref[k]->id));
        place[k] = (struct sl_strip_ref){k, ref[k]->strip};
        document.reading_count++;
        if (!reading[k])
            goto done;
    }
    if (sl_pair_judge(&document, place[0], place[1], &pair->pair, NULL) == SL_OK)
        add_pair(page, pair);
done:
    page_shallow_free(reading[0]);
    page_shallow_free(reading[1]);
}

/* Pairs of one photo by the usual order; strips that are in a pair by hand stay out of it. */
static void judge_within(struct sl_page *page, const struct page_photo *photo)
{
    struct sl_reading *reading = page_shallow(page, photo);
    struct sl_document document;
    sl_document_init(&document);
    if (!reading)
        return;
    for (size_t k = 0; k < page->hand_pair_count; k++) {
        const struct page_ref *ref[2] = {&page->hand_pair[k].immediate, &page->hand_pair[k].dried};
        for (size_t side = 0; side < 2; side++)
            if (strcmp(ref[side]->id, photo->id) == 0 && ref[side]->strip < reading->strip_count)
                reading->strip[ref[side]->strip].role = SL_ROLE_SINGLE;
    }
    document.reading = &reading;
    document.reading_count = 1;
    if (sl_document_make_pairs(&document, NULL) == SL_OK)
        for (size_t k = 0; k < document.pair_count; k++) {
            struct page_pair pair = {.pair = document.pair[k]};
            pair.immediate.strip = document.pair[k].immediate.strip;
            pair.dried.strip = document.pair[k].dried.strip;
            memcpy(pair.immediate.id, photo->id, sizeof photo->id);
            memcpy(pair.dried.id, photo->id, sizeof photo->id);
            add_pair(page, &pair);
        }
    free(document.pair);
    page_shallow_free(reading);
}

/* Its strips may come yet: it waits to be read, or its file to be put back. */
static bool is_unread(const struct page_photo *photo)
{
    return !photo->shared || photo->shared->reading->error.code != SL_OK;
}

static void forget_lost_pairs(struct sl_page *page)
{
    size_t n = 0;
    for (size_t i = 0; i < page->hand_pair_count; i++) {
        const struct page_pair *pair = &page->hand_pair[i];
        const struct page_photo *a = page_find(page, pair->immediate.id);
        const struct page_photo *b = page_find(page, pair->dried.id);
        bool unread = a && b && (is_unread(a) || is_unread(b));
        if (unread || (strip_exists(page, &pair->immediate) && strip_exists(page, &pair->dried)))
            page->hand_pair[n++] = *pair;
    }
    page->hand_pair_count = n;
}

/* A role that a pair gives or takes changes what the reading says. */
static void note_roles(struct sl_page *page, struct page_photo *photo)
{
    struct sl_reading *reading = page_shallow(page, photo);
    if (!reading)
        return;
    for (size_t i = 0; i < reading->strip_count; i++) {
        if (photo->shown_role[i] != reading->strip[i].role)
            photo->reading_version++;
        photo->shown_role[i] = reading->strip[i].role;
    }
    page_shallow_free(reading);
}

void page_changed(struct sl_page *page)
{
    forget_lost_pairs(page);
    free(page->pair);
    page->pair = NULL;
    page->pair_count = 0;
    for (size_t i = 0; i < page->photo_count; i++)
        if (page->photo[i]->shared)
            judge_within(page, page->photo[i]);
    for (size_t i = 0; i < page->hand_pair_count; i++) {
        struct page_pair pair = page->hand_pair[i];
        pair.by_hand = true;
        if (strip_exists(page, &pair.immediate) && strip_exists(page, &pair.dried))
            judge_by_hand(page, &pair);
    }
    for (size_t i = 0; i < page->photo_count; i++)
        note_roles(page, page->photo[i]);
    page_together_make(page);
    page->version++;
    pthread_cond_broadcast(&page->changed);
}

static struct page_photo *sleepiest(struct sl_page *page, size_t *ret_awake)
{
    struct page_photo *oldest = NULL;
    *ret_awake = 0;
    for (size_t i = 0; i < page->photo_count; i++) {
        struct page_photo *photo = page->photo[i];
        if (!photo->awake)
            continue;
        ++*ret_awake;
        if (!oldest || photo->used_at < oldest->used_at)
            oldest = photo;
    }
    return oldest;
}

void page_used(struct sl_page *page, struct page_photo *photo)
{
    size_t awake;
    photo->awake = true;
    photo->used_at = ++page->clock;
    struct page_photo *oldest = sleepiest(page, &awake);
    if (awake <= PAGE_AWAKE_MAX || oldest == photo)
        return;
    if (pthread_mutex_trylock(&oldest->reader_lock) != 0)
        return; /* at work: it will be called here again */
    sl_reader_rest(oldest->reader);
    oldest->awake = false;
    pthread_mutex_unlock(&oldest->reader_lock);
    malloc_trim(0); /* pixels come and go by tens of megabytes */
}
