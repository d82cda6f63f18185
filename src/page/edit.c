// SPDX-License-Identifier: GPL-3.0-or-later
/* What changes the page: photos in and out, values set by hand, conditions, pairs. A change is on
 * the disk before it is answered; where the disk does not take it, the page says so and it is tried
 * again (save.c). */
#include "page_internal.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { UNPROCESSABLE = 422 };

static enum MHD_Result malformed(struct page_request *request, const char *message)
{
    return page_answer_error(request, MHD_HTTP_BAD_REQUEST, "malformed", message, "");
}

static enum MHD_Result not_there(struct page_request *request)
{
    return page_answer_error(request, MHD_HTTP_NOT_FOUND, "not-found",
                             "There is no such photo on the page.", "");
}

static enum MHD_Result answer_state(struct page_request *request)
{
    struct sl_page *page = request->page;
    pthread_mutex_lock(&page->lock);
    json_t *json = page_state_json(page);
    pthread_mutex_unlock(&page->lock);
    return page_answer_json(request, MHD_HTTP_OK, json);
}

static json_t *body_json(struct page_request *request)
{
    json_t *json = request->text
                       ? json_loadb(request->text, request->received, JSON_REJECT_DUPLICATES, NULL)
                       : NULL;
    if (json && !json_is_object(json)) {
        json_decref(json);
        json = NULL;
    }
    return json;
}

/* The last part of a name, without control characters; false: nothing is left. */
static bool clean_name(const char *told, char ret[SL_PHOTO_NAME_MAX])
{
    size_t n = 0;
    const char *from = told ? told : "";
    for (const char *c = from; *c; c++)
        if (*c == '/' || *c == '\\')
            from = c + 1;
    for (; *from && n + 1 < SL_PHOTO_NAME_MAX; from++)
        if ((unsigned char)*from >= 0x20 && *from != 0x7f)
            ret[n++] = *from;
    while (n > 0 && n + 1 == SL_PHOTO_NAME_MAX && ((unsigned char)ret[n - 1] & 0x80u))
        n--; /* not in the middle of a letter */
    ret[n] = '\0';
    json_t *sound = json_string(ret); /* NULL where it is not UTF-8 */
    json_decref(sound);
    return n > 0 && sound && strcmp(ret, ".") != 0 && strcmp(ret, "..") != 0;
}

static bool begins_json(const char *path)
{
    FILE *file = fopen(path, "rb");
    int c = EOF;
    if (file) {
        do
            c = fgetc(file);
        while (c == ' ' || c == '\t' || c == '\n' || c == '\r');
        fclose(file);
    }
    return c == '{';
}

/* What was sent, under a name of its own in the private folder and on the disk. */
static sl_code keep_photo(struct sl_page *page, struct page_request *request, const char *name,
                          char id[PAGE_ID_MAX], char path[PAGE_PATH_MAX], struct sl_status *status)
{
    bool claimed = fsync(request->file) == 0 && page_keep_claim(page, 'p', id, path);
    if (claimed && rename(request->path, path) == 0 && page_keep_sync_files(page)) {
        request->path[0] = '\0';
        return SL_OK;
    }
    sl_code code = sl_status_set(status, SL_E_WRITE, "page", "Make room on the disk.",
                                 "%s could not be kept: %s.", name, strerror(errno));
    if (claimed)
        page_keep_delete(page, id);
    return code;
}

static sl_code add_photo(struct sl_page *page, struct page_request *request, const char *name,
                         json_t *ids, struct sl_status *status)
{
    char id[PAGE_ID_MAX], path[PAGE_PATH_MAX];
    struct sl_reader *reader = NULL;
    struct page_photo *photo = NULL;
    sl_code code = keep_photo(page, request, name, id, path, status);
    if (code != SL_OK)
        return code;
    code = sl_reader_open(path, name, &reader, status);
    pthread_mutex_lock(&page->lock);
    if (code == SL_OK)
        photo = page_add(page, id, name, false);
    if (photo) {
        photo->reader = reader;
        photo->bytes = request->received;
        photo->wanted = true;
        json_array_append_new(ids, json_string(id));
        page_changed(page);
        page_edited(page);
    }
    pthread_mutex_unlock(&page->lock);
    if (photo)
        return SL_OK;
    sl_reader_close(reader);
    page_keep_delete(page, id);
    if (code != SL_OK)
        return code;
    return sl_status_set(status, SL_E_TOO_LARGE, "page", "Take some photos off the page.",
                         "The page holds %d photos, and no more fit.", PAGE_PHOTOS_MAX);
}

static sl_code add_document(struct sl_page *page, struct page_request *request, const char *name,
                            json_t *ids, struct sl_status *status)
{
    char *text = NULL;
    size_t bytes = 0;
    sl_code code = page_slurp(request->path, PAGE_SAVED_BYTES_MAX, &text, &bytes, status);
    if (code == SL_OK)
        code = page_add_saved(page, text, bytes, name, ids, status);
    free(text);
    return code;
}

enum MHD_Result page_put_photo(struct sl_page *page, struct page_request *request)
{
    char name[SL_PHOTO_NAME_MAX];
    struct sl_status status = {0};
    if (!clean_name(MHD_lookup_connection_value(request->connection, MHD_GET_ARGUMENT_KIND, "name"),
                    name))
        return malformed(request, "The photo has no name that can be shown.");
    if (request->received == 0)
        return page_answer_error(request, MHD_HTTP_BAD_REQUEST, "empty-file", "The file is empty.",
                                 "Copy the photo from the camera again.");
    json_t *ids = json_array();
    sl_code code = begins_json(request->path) ? add_document(page, request, name, ids, &status)
                                              : add_photo(page, request, name, ids, &status);
    if (code != SL_OK) {
        json_decref(ids);
        return page_answer_status(
            request, code == SL_E_TOO_LARGE ? MHD_HTTP_CONFLICT : UNPROCESSABLE, &status);
    }
    page_keep_wait(page);
    return page_answer_json(request, MHD_HTTP_ACCEPTED, json_pack("{s:o}", "ids", ids));
}

enum MHD_Result page_delete_photo(struct sl_page *page, struct page_request *request)
{
    pthread_mutex_lock(&page->lock);
    struct page_photo *photo = page_find(page, request->id);
    if (photo) {
        page_remove(page, photo);
        page_changed(page);
        page_edited(page);
    }
    pthread_mutex_unlock(&page->lock);
    if (!photo)
        return not_there(request);
    page_keep_wait(page); /* first the list, then the file that it named */
    page_keep_delete(page, request->id);
    return page_answer_nothing(request, MHD_HTTP_NO_CONTENT);
}

/* One hint would hold for every strip: the others say "find it". */
static void pad(struct page_hand *hand, size_t strips)
{
    for (size_t i = 0; i < hand->count; i++)
        if (!hand->hint[i].has_corners)
            for (; hand->count < strips; hand->count++)
                sl_strip_hints_init(&hand->hint[hand->count]);
}

static sl_code read_by_hand(struct page_photo *photo, const struct page_hand *hand, bool quick,
                            const struct sl_conditions *conditions,
                            const struct sl_reading *previous, struct sl_reading **ret,
                            struct sl_status *status)
{
    struct sl_reading *reading = NULL;
    struct sl_read_options *options = malloc(sizeof *options);
    if (!options)
        return sl_status_set(status, SL_E_MEMORY, "page", "Close other programs.",
                             "There is not enough memory to read the photo.");
    page_hand_options(hand, conditions, options);
    options->bound_later = quick;
    sl_code code = sl_reader_read(page_reader(photo), options, previous, &reading, status);
    free(options);
    if (code != SL_OK)
        return code;
    if (reading->error.code != SL_OK && previous && previous->strip_count > 0) {
        *status = reading->error; /* these values cost the strips: keep what there was */
        code = status->code;
        sl_reading_destroy(reading);
        return code;
    }
    *ret = reading;
    return SL_OK;
}

/* The reading that a client has already, and what is new is told against. */
struct page_base {
    unsigned long version;
    struct page_shared *shared; /* NULL: it has none that is known here */
    bool quick;                 /* bound shares may come with the next answer */
};

/* Lock held. PHOTO with its READING, and the text of the latter in place of a parsed copy. */
static json_t *photo_with_mark(struct sl_page *page, const struct page_photo *photo,
                               const struct page_base *base)
{
    json_t *json = page_photo_json(page, photo);
    if (base->shared)
        json_object_set_new(json, "reading_since", json_integer((json_int_t)base->version));
    json_object_set_new(json, "version", json_integer((json_int_t)page->version));
    json_object_set_new(json, "pairs", page_pairs_json(page));
    page_together_put(page, json);
    json_object_set_new(json, "reading", json_null());
    return json;
}

/* The reading goes in as text: to parse a megabyte and print it again would double the time. */
static enum MHD_Result answer_photo(struct page_request *request, json_t *photo,
                                    const struct sl_reading *reading, const struct page_base *base)
{
    static const char mark[] = "\"reading\":null";
    struct page_reply reply = {.http = MHD_HTTP_OK, .type = "application/json"};
    struct sl_status status = {0};
    char *text = NULL, *whole = NULL;
    char *frame = json_dumps(photo, JSON_COMPACT | JSON_REAL_PRECISION(15));
    sl_code code = base->shared
                       ? sl_report_json_photo_change(reading, base->shared->reading, &text, &status)
                       : sl_report_json_photo(reading, &text, &status);
    /* the last member: what stands before may hold any text */
    size_t n = frame ? strlen(frame) : 0, tail = sizeof mark; /* with the closing brace */
    if (code == SL_OK && n > tail && memcmp(frame + n - tail, mark, sizeof mark - 1) == 0)
        whole = malloc(n + strlen(text) + 1);
    if (whole) {
        size_t head = n - 1 - strlen("null");
        memcpy(whole, frame, head);
        sprintf(whole + head, "%s}", text);
    }
    json_decref(photo);
    free(frame);
    free(text);
    page_keep_wait(request->page); /* it was written meanwhile */
    if (!whole)
        return page_answer_error(request, MHD_HTTP_INTERNAL_SERVER_ERROR, "memory",
                                 "There is not enough memory for the answer.",
                                 "Close other programs.");
    return page_answer_bytes(request, &reply, whole, strlen(whole));
}

static enum MHD_Result answer_read_photo(struct sl_page *page, struct page_request *request,
                                         struct page_photo *photo, const struct page_base *base)
{
    pthread_mutex_lock(&page->lock);
    struct sl_reading *reading = page_shallow(page, photo);
    struct page_shared *shared = photo->shared;
    shared->count++;
    json_t *json = photo_with_mark(page, photo, base);
    pthread_mutex_unlock(&page->lock);
    enum MHD_Result result =
        reading ? answer_photo(request, json, reading, base) : MHD_NO; /* no memory for an answer */
    page_shallow_free(reading);
    pthread_mutex_lock(&page->lock);
    page_shared_release(shared);
    pthread_mutex_unlock(&page->lock);
    return result;
}

/* With the photo's reader lock. `base->shared` is kept only where `base->version` is the reading's
 * before. */
static sl_code set_by_hand(struct sl_page *page, struct page_photo *photo, struct page_hand *hand,
                           struct page_base *base, struct sl_status *status)
{
    struct sl_reading *reading = NULL;
    pthread_mutex_lock(&page->lock);
    struct page_shared *previous = photo->shared;
    struct sl_conditions conditions = page->conditions;
    if (previous)
        previous->count++;
    if (previous && base->version == photo->reading_version) {
        previous->count++;
        base->shared = previous;
    }
    pthread_mutex_unlock(&page->lock);
    if (previous)
        pad(hand, previous->reading->strip_count);
    sl_code code = read_by_hand(photo, hand, base->quick, &conditions,
                                previous ? previous->reading : NULL, &reading, status);
    pthread_mutex_lock(&page->lock);
    if (code == SL_OK && !page_install(photo, reading)) {
        sl_reading_destroy(reading);
        code = sl_status_set(status, SL_E_MEMORY, "page", "Close other programs.",
                             "There is not enough memory for the reading.");
    }
    if (code == SL_OK) {
        photo->hand = *hand;
        photo->hand_version++;
        photo->wanted = false;
        if (!photo->gone) {
            page_changed(page);
            page_edited(page);
        }
    }
    if (!photo->gone)
        page_used(page, photo);
    page_shared_release(previous);
    pthread_mutex_unlock(&page->lock);
    return code;
}

enum MHD_Result page_post_hand(struct sl_page *page, struct page_request *request)
{
    struct page_hand *hand = calloc(1, sizeof *hand);
    struct sl_status status = {0};
    json_t *json = body_json(request);
    if (!json || !hand) {
        json_decref(json);
        free(hand);
        return malformed(request, "The values are no JSON object.");
    }
    sl_code code = page_hand_parse(json, hand, &status);
    json_int_t since = json_integer_value(json_object_get(json, "since"));
    struct page_base base = {.version = since > 0 ? (unsigned long)since : 0,
                             .quick = json_is_true(json_object_get(json, "quick"))};
    json_decref(json);
    pthread_mutex_lock(&page->lock);
    struct page_photo *photo = page_find(page, request->id);
    if (photo && photo->saved)
        photo = NULL;
    if (photo)
        photo->count++;
    pthread_mutex_unlock(&page->lock);
    enum MHD_Result result;
    if (!photo) {
        result = not_there(request);
    } else if (code != SL_OK) {
        result = page_answer_status(
            request, code == SL_E_USAGE ? MHD_HTTP_BAD_REQUEST : UNPROCESSABLE, &status);
    } else {
        pthread_mutex_lock(&photo->reader_lock);
        code = set_by_hand(page, photo, hand, &base, &status);
        pthread_mutex_unlock(&photo->reader_lock);
        result = code == SL_OK ? answer_read_photo(page, request, photo, &base)
                               : page_answer_status(request, UNPROCESSABLE, &status);
    }
    free(hand);
    pthread_mutex_lock(&page->lock);
    page_shared_release(base.shared);
    page_photo_release(photo);
    pthread_mutex_unlock(&page->lock);
    return result;
}

enum MHD_Result page_post_conditions(struct sl_page *page, struct page_request *request)
{
    struct sl_conditions conditions;
    struct sl_status status = {0};
    json_t *json = body_json(request);
    if (!json)
        return malformed(request, "The conditions are no JSON object.");
    sl_code code = page_conditions_parse(json, &conditions, &status);
    json_decref(json);
    if (code != SL_OK)
        return page_answer_status(
            request, code == SL_E_USAGE ? MHD_HTTP_BAD_REQUEST : UNPROCESSABLE, &status);
    pthread_mutex_lock(&page->lock);
    page->conditions = conditions;
    for (size_t i = 0; i < page->photo_count; i++)
        page->photo[i]->wanted = !page->photo[i]->saved;
    page_changed(page);
    page_edited(page);
    pthread_mutex_unlock(&page->lock);
    page_keep_wait(page);
    return answer_state(request);
}

/* Lock held. NULL: it can be; else why not. */
static const char *why_no_pair(const struct sl_page *page, const struct page_pair *pair,
                               const struct page_pair *others, size_t count)
{
    const struct page_ref *ref[2] = {&pair->immediate, &pair->dried};
    for (size_t k = 0; k < 2; k++) {
        const struct page_photo *photo = page_find(page, ref[k]->id);
        if (!photo || !photo->shared || ref[k]->strip >= photo->shared->reading->strip_count)
            return "A pair names a strip that is not on the page.";
        for (size_t i = 0; i < 2 * count; i++) {
            const struct page_ref *other = i % 2 ? &others[i / 2].dried : &others[i / 2].immediate;
            if (strcmp(other->id, ref[k]->id) == 0 && other->strip == ref[k]->strip)
                return "A strip can be in one pair only.";
        }
    }
    if (strcmp(ref[0]->id, ref[1]->id) == 0 && ref[0]->strip == ref[1]->strip)
        return "A strip can't be paired with itself.";
    return NULL;
}

/* Lock held. The pairs that can't be judged are refused with the judge's own words. */
static sl_code try_pairs(struct sl_page *page, const struct page_pair *pairs, size_t count,
                         struct sl_status *status)
{
    for (size_t i = 0; i < count; i++) {
        struct page_document document;
        struct page_ref refs[2] = {pairs[i].immediate, pairs[i].dried};
        struct sl_pair judged;
        bool made = page_document_pick(page, refs, 2, &document);
        sl_code code = made ? sl_pair_judge(&document.document, (struct sl_strip_ref){0, 0},
                                            (struct sl_strip_ref){1, 0}, &judged, status)
                            : sl_status_set(status, SL_E_MEMORY, "page", "Close other programs.",
                                            "There is not enough memory for the pair.");
        pthread_mutex_unlock(&page->lock);
        page_document_finish(page, &document);
        pthread_mutex_lock(&page->lock);
        if (code != SL_OK)
            return code;
    }
    return SL_OK;
}

static enum MHD_Result set_pairs(struct sl_page *page, struct page_request *request,
                                 const struct page_pair *pairs, size_t count)
{
    struct sl_status status = {0};
    const char *reason = NULL;
    sl_code code = SL_OK;
    pthread_mutex_lock(&page->lock);
    for (size_t i = 0; i < count && !reason; i++)
        reason = why_no_pair(page, &pairs[i], pairs, i);
    if (!reason)
        code = try_pairs(page, pairs, count, &status);
    if (!reason && code == SL_OK) {
        if (count)
            memcpy(page->hand_pair, pairs, count * sizeof *pairs);
        page->hand_pair_count = count;
        page_changed(page);
        page_edited(page);
    }
    pthread_mutex_unlock(&page->lock);
    if (reason)
        return page_answer_error(request, UNPROCESSABLE, "pairs", reason, "");
    if (code != SL_OK)
        return page_answer_status(request, UNPROCESSABLE, &status);
    page_keep_wait(page);
    return answer_state(request);
}

enum MHD_Result page_post_pairs(struct sl_page *page, struct page_request *request)
{
    json_t *json = body_json(request);
    const json_t *list = json_object_get(json, "pairs");
    size_t count = json_array_size(list);
    bool sound = json_is_array(list) && count <= PAGE_PAIRS_MAX;
    struct page_pair *pairs = sound ? calloc(count + 1, sizeof *pairs) : NULL;
    sound = pairs != NULL;
    for (size_t i = 0; sound && i < count; i++)
        sound = page_pair_parse(json_array_get(list, i), &pairs[i]);
    enum MHD_Result result =
        sound ? set_pairs(page, request, pairs, count)
              : malformed(request, "\"pairs\" is to be a list of {\"immediate\", \"dried\"}.");
    free(pairs);
    json_decref(json);
    return result;
}

/* Lock held. */
static bool all_there(const struct sl_page *page, const struct page_ref *refs, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct page_photo *photo = page_find(page, refs[i].id);
        if (!photo || !photo->shared || refs[i].strip >= photo->shared->reading->strip_count)
            return false;
    }
    return true;
}

static json_t *overlay_json(const struct sl_overlay *overlay, const struct page_ref *refs,
                            size_t count)
{
    char *text = NULL;
    if (sl_report_json_overlay(overlay, &text, NULL) != SL_OK)
        return NULL;
    json_t *json = json_loads(text, 0, NULL), *left_out = json_array();
    free(text);
    json_t *traces = json_object_get(json, "traces");
    size_t next = 0;
    for (size_t i = 0; i < count; i++) {
        if (next < overlay->trace_count && overlay->trace[next].ref.photo == i)
            json_object_set_new(json_array_get(traces, next++), "strip", page_ref_json(&refs[i]));
        else
            json_array_append_new(left_out, page_ref_json(&refs[i]));
    }
    return json_pack("{s:o, s:o}", "overlay", json, "left_out", left_out);
}

static enum MHD_Result answer_overlay(struct sl_page *page, struct page_request *request,
                                      const struct page_ref *refs, size_t count)
{
    struct page_document document = {0};
    struct sl_overlay overlay = {0};
    struct sl_status status = {0};
    pthread_mutex_lock(&page->lock);
    bool there = all_there(page, refs, count);
    bool made = there && page_document_pick(page, refs, count, &document);
    pthread_mutex_unlock(&page->lock);
    if (!there)
        return not_there(request);
    sl_code code = made ? sl_overlay_make(&document.document, &overlay, &status)
                        : sl_status_set(&status, SL_E_MEMORY, "page", "Close other programs.",
                                        "There is not enough memory for the overlay.");
    json_t *json = code == SL_OK ? overlay_json(&overlay, refs, count) : NULL;
    sl_overlay_finish(&overlay);
    page_document_finish(page, &document);
    return code == SL_OK ? page_answer_json(request, MHD_HTTP_OK, json)
                         : page_answer_status(request, UNPROCESSABLE, &status);
}

enum MHD_Result page_post_overlay(struct sl_page *page, struct page_request *request)
{
    struct page_ref refs[SL_OVERLAY_MAX];
    json_t *json = body_json(request);
    const json_t *list = json_object_get(json, "strips");
    size_t count = json_array_size(list);
    bool sound = json_is_array(list) && count > 0 && count <= SL_OVERLAY_MAX;
    for (size_t i = 0; sound && i < count; i++)
        sound = page_ref_parse(json_array_get(list, i), &refs[i]);
    json_decref(json);
    if (!sound)
        return malformed(request, "\"strips\" is to be a list of 1 to 64 [photo, strip].");
    return answer_overlay(page, request, refs, count);
}
