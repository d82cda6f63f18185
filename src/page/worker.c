// SPDX-License-Identifier: GPL-3.0-or-later
/* The thread that reads photos, one after the other, in the order they came. The queue is the list
 * of photos, which is bounded. */
#include "page_internal.h"

#include <stdlib.h>

struct job {
    struct sl_page *page;
    struct page_photo *photo;
};

static struct page_photo *next_wanted(struct sl_page *page)
{
    for (size_t i = 0; i < page->photo_count; i++)
        if (page->photo[i]->wanted)
            return page->photo[i];
    return NULL;
}

static void tell_progress(void *context, double part)
{
    struct job *job = context;
    pthread_mutex_lock(&job->page->lock);
    job->photo->progress = part;
    job->page->version++;
    pthread_cond_broadcast(&job->page->changed);
    pthread_mutex_unlock(&job->page->lock);
}

/* Values set by hand may not fit any more (a changed program, a photo read anew): then the photo is
 * read without them rather than not at all. */
static sl_code read_photo(struct job *job, struct sl_read_options *options, bool *ret_without_hand,
                          const struct sl_reading *previous, struct sl_reading **ret,
                          struct sl_status *status)
{
    struct sl_reader *reader = page_reader(job->photo);
    sl_reader_watch(reader, tell_progress, job);
    sl_code code = sl_reader_read(reader, options, previous, ret, status);
    if (code != SL_OK && code != SL_E_MEMORY && code != SL_E_CANCELLED) {
        struct page_hand none = {0};
        struct sl_conditions conditions = options->conditions;
        *ret_without_hand = true;
        page_hand_options(&none, &conditions, options);
        code = sl_reader_read(reader, options, previous, ret, status);
    }
    sl_reader_watch(reader, NULL, NULL);
    return code;
}

static void put_in_place(struct job *job, struct sl_reading *reading, bool without_hand,
                         unsigned long hand_version, const struct sl_status *status)
{
    struct page_photo *photo = job->photo;
    /* cancelled; or values were set meanwhile: they brought a reading along */
    if (photo->gone || job->page->stopping || photo->hand_version != hand_version) {
        sl_reading_destroy(reading);
        return;
    }
    if (without_hand)
        photo->hand = (struct page_hand){0};
    if (reading && !page_install(photo, reading))
        sl_reading_destroy(reading);
    else if (!reading)
        photo->problem = *status;
    photo->phase = PAGE_DONE;
    photo->progress = 1;
}

/* Called and left with the page's lock held. */
static void read_one(struct sl_page *page, struct page_photo *photo,
                     struct sl_read_options *options)
{
    struct job job = {page, photo};
    struct sl_reading *reading = NULL;
    struct sl_status status = {0};
    bool without_hand = false;
    photo->count++;
    pthread_mutex_unlock(&page->lock);
    pthread_mutex_lock(&photo->reader_lock);
    pthread_mutex_lock(&page->lock);
    bool wanted = photo->wanted && !photo->gone;
    unsigned long hand_version = photo->hand_version;
    struct page_shared *previous = photo->shared;
    if (wanted) {
        photo->wanted = false;
        if (!previous)
            photo->phase = PAGE_READING;
        if (previous)
            previous->count++;
        page_hand_options(&photo->hand, &page->conditions, options);
        page->version++;
        pthread_cond_broadcast(&page->changed);
        pthread_mutex_unlock(&page->lock);
        read_photo(&job, options, &without_hand, previous ? previous->reading : NULL, &reading,
                   &status);
        pthread_mutex_lock(&page->lock);
        put_in_place(&job, reading, without_hand, hand_version, &status);
        page_shared_release(previous);
        page_used(page, photo);
        page_changed(page);
    }
    pthread_mutex_unlock(&photo->reader_lock);
    page_photo_release(photo);
}

static void *work(void *context)
{
    struct sl_page *page = context;
    struct sl_read_options *options = malloc(sizeof *options);
    if (!options)
        return NULL;
    pthread_mutex_lock(&page->lock);
    while (!page->stopping) {
        struct page_photo *photo = next_wanted(page);
        if (photo)
            read_one(page, photo, options);
        else
            pthread_cond_wait(&page->changed, &page->lock);
    }
    pthread_mutex_unlock(&page->lock);
    free(options);
    return NULL;
}

bool page_worker_start(struct sl_page *page)
{
    page->has_worker = pthread_create(&page->worker, NULL, work, page) == 0;
    return page->has_worker;
}

void page_worker_stop(struct sl_page *page)
{
    if (page->has_worker)
        pthread_join(page->worker, NULL);
    page->has_worker = false;
}
