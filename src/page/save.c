// SPDX-License-Identifier: GPL-3.0-or-later
/* state.json on the disk, by one thread that does nothing else.
 *
 * 1. Whoever changes what is kept says so (page_edited) and, before the change is answered, waits
 *    until it has been tried to be written (page_keep_wait). One writing serves all that wait.
 * 2. It is written beside the old one, brought to the disk, renamed, and the folder brought to the
 *    disk: a kill or a power cut leaves the old list or the new one.
 * 3. What could not be written is tried again until it is there, with each change and after a
 *    pause; the state tells of it meanwhile. When the page stops there is a last try. */
#include "page_internal.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

static const char where[] = "page/save";
enum { RETRY_S = 2 }; /* room may have been made; no source */

/* Lock held. NULL: no memory. */
static json_t *list_json(struct sl_page *page)
{
    json_t *photos = json_array(), *pairs = json_array();
    for (size_t i = 0; i < page->photo_count; i++) {
        const struct page_photo *photo = page->photo[i];
        json_array_append_new(photos, json_pack("{s:s, s:s, s:b, s:I, s:o}", "id", photo->id,
                                                "name", photo->name, "saved", photo->saved, "bytes",
                                                (json_int_t)photo->bytes, "hand",
                                                page_hand_json(&photo->hand)));
    }
    for (size_t i = 0; i < page->hand_pair_count; i++)
        json_array_append_new(pairs, json_pack("{s:o, s:o}", "immediate",
                                               page_ref_json(&page->hand_pair[i].immediate),
                                               "dried", page_ref_json(&page->hand_pair[i].dried)));
    bool whole = json_array_size(photos) == page->photo_count &&
                 json_array_size(pairs) == page->hand_pair_count;
    json_t *json = json_pack("{s:i, s:I, s:o, s:o, s:o}", "strandline_bench", PAGE_KEEP_VERSION,
                             "next_id", (json_int_t)page->next_id, "photos", photos, "pairs", pairs,
                             "conditions", page_conditions_json(&page->conditions));
    if (whole)
        return json;
    json_decref(json);
    return NULL;
}

/* Takes `json` over. */
static sl_code write_list(const struct sl_page *page, json_t *json, struct sl_status *status)
{
    char path[PAGE_PATH_MAX];
    struct sl_status cause = {0};
    /* all digits of a double: the numbers after a restart are the same */
    char *text = json ? json_dumps(json, JSON_INDENT(1) | JSON_REAL_PRECISION(17)) : NULL;
    json_decref(json);
    if (!text)
        return sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                             "The last changes are not on the disk: there is not enough memory to "
                             "write them.");
    if (!page_keep_join(path, page->folder, "state.json") ||
        (sl_write_file(path, text, strlen(text), &cause) == SL_OK && !page_keep_sync(page->folder)))
        sl_status_set(&cause, SL_E_WRITE, where, "", "%s", strerror(errno));
    free(text);
    if (cause.code == SL_OK)
        return SL_OK;
    return sl_status_set(status, SL_E_WRITE, where,
                         "Make room on that disk and leave this program running: it tries again "
                         "until they are there.",
                         "The last changes are not on the disk: %s", cause.message);
}

/* Called and left with the lock. */
static void save(struct sl_page *page)
{
    unsigned long edits = page->edits;
    struct sl_status problem = {0};
    json_t *json = list_json(page);
    pthread_mutex_unlock(&page->lock);
    sl_code code = write_list(page, json, &problem);
    pthread_mutex_lock(&page->lock);
    page->tried = edits;
    if (code == SL_OK)
        page->kept = edits;
    if (strcmp(problem.message, page->keep_problem.message) != 0)
        page->version++;
    page->keep_problem = problem;
    pthread_cond_broadcast(&page->changed);
}

/* Lock held, and let go while waiting. False: there is something new to do before that. */
static bool pause_is_over(struct sl_page *page)
{
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += RETRY_S;
    while (page->tried == page->edits && !page->keep_ending)
        if (pthread_cond_timedwait(&page->changed, &page->lock, &until) != 0)
            return true;
    return false;
}

static void *keep_on(void *context)
{
    struct sl_page *page = context;
    pthread_mutex_lock(&page->lock);
    while (!page->keep_ending) {
        if (page->kept == page->edits)
            pthread_cond_wait(&page->changed, &page->lock);
        else if (page->tried != page->edits || pause_is_over(page))
            save(page);
    }
    if (page->kept != page->edits)
        save(page);
    pthread_mutex_unlock(&page->lock);
    return NULL;
}

void page_edited(struct sl_page *page)
{
    page->edits++;
    pthread_cond_broadcast(&page->changed);
}

void page_keep_wait(struct sl_page *page)
{
    pthread_mutex_lock(&page->lock);
    unsigned long edits = page->edits;
    while (page->has_keeper && page->tried < edits)
        pthread_cond_wait(&page->changed, &page->lock);
    pthread_mutex_unlock(&page->lock);
}

bool page_keep_start(struct sl_page *page)
{
    page->has_keeper = pthread_create(&page->keeper, NULL, keep_on, page) == 0;
    return page->has_keeper;
}

sl_code page_keep_stop(struct sl_page *page, struct sl_status *status)
{
    if (!page->has_keeper)
        return SL_OK;
    pthread_mutex_lock(&page->lock);
    page->keep_ending = true;
    pthread_cond_broadcast(&page->changed);
    pthread_mutex_unlock(&page->lock);
    pthread_join(page->keeper, NULL);
    page->has_keeper = false;
    if (page->keep_problem.code == SL_OK)
        return SL_OK;
    return sl_status_set(status, page->keep_problem.code, where,
                         "Make room on that disk, and make them once more at the next start: what "
                         "was kept before is there.",
                         "%s", page->keep_problem.message);
}
