// SPDX-License-Identifier: GPL-3.0-or-later
/* What the page is shown: its own files, the state, readings and pictures. Pictures are always made
 * anew from pixels: no byte of what was sent in goes out again. */
#include "page_internal.h"

#include <errno.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIDE_MIN = 64, SIDE_MAX = 4096, SIDE_USUAL = 1600, REGION_MAX = 400, JPEG_QUALITY = 88 };

static enum MHD_Result nothing_there(struct page_request *request)
{
    return page_answer_error(request, MHD_HTTP_NOT_FOUND, "not-found",
                             "There is no such photo, strip or reading on the page.", "");
}

static enum MHD_Result bad_query(struct page_request *request)
{
    return page_answer_error(request, MHD_HTTP_BAD_REQUEST, "malformed",
                             "A number in the address is missing or out of range.", "");
}

bool page_query_number(struct page_request *request, const char *name, long low, long high,
                       long *ret)
{
    const char *text =
        MHD_lookup_connection_value(request->connection, MHD_GET_ARGUMENT_KIND, name);
    if (!text)
        return true;
    char *end;
    errno = 0;
    long value = strtol(text, &end, 10);
    if (end == text || *end || errno || value < low || value > high)
        return false;
    *ret = value;
    return true;
}

enum MHD_Result page_get_asset(struct sl_page *page, struct page_request *request)
{
    (void)page;
    const char *name = request->name[0] ? request->name : "index.html";
    for (size_t i = 0; i < page_asset_count; i++) {
        const struct page_asset *asset = &page_assets[i];
        if (strcmp(asset->name, name) != 0)
            continue;
        struct page_reply reply = {.http = MHD_HTTP_OK,
                                   .type = asset->type,
                                   .etag = asset->etag,
                                   .page = strcmp(name, "index.html") == 0};
        if (!page_etag_matches(request, asset->etag))
            return page_answer_static(request, &reply, asset->bytes, asset->count);
        reply.http = MHD_HTTP_NOT_MODIFIED; /* its headers replace those of the browser's copy */
        return page_answer_static(request, &reply, "", 0);
    }
    return nothing_there(request);
}

static void wait_for_version(struct sl_page *page, unsigned long after)
{
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += PAGE_POLL_S;
    while (page->version <= after && !page->stopping)
        if (pthread_cond_timedwait(&page->changed, &page->lock, &until) != 0)
            return;
}

enum MHD_Result page_get_state(struct sl_page *page, struct page_request *request)
{
    long after = -1;
    if (!page_query_number(request, "after", 0, LONG_MAX, &after))
        return bad_query(request);
    pthread_mutex_lock(&page->lock);
    /* a version from before a restart is no reason to wait */
    if (after >= 0 && (unsigned long)after <= page->version)
        wait_for_version(page, (unsigned long)after);
    json_t *json = page_state_json(page);
    pthread_mutex_unlock(&page->lock);
    return page_answer_json(request, MHD_HTTP_OK, json);
}

enum MHD_Result page_get_reading(struct sl_page *page, struct page_request *request)
{
    char etag[80] = "", *text = NULL;
    struct sl_status status = {0};
    struct sl_reading *reading = NULL;
    struct page_shared *shared = NULL;
    pthread_mutex_lock(&page->lock);
    page_close_readings(page);
    struct page_photo *photo = page_find(page, request->id);
    if (photo && photo->shared) {
        reading = page_shallow(page, photo);
        shared = photo->shared;
        shared->count++;
        snprintf(etag, sizeof etag, "\"%.16s-%s-%lu\"", page->run, photo->id,
                 photo->reading_version);
    }
    pthread_mutex_unlock(&page->lock);
    if (!shared)
        return nothing_there(request);
    bool unchanged = page_etag_matches(request, etag);
    if (reading && !unchanged)
        sl_report_json_photo(reading, &text, &status);
    page_shallow_free(reading);
    pthread_mutex_lock(&page->lock);
    page_shared_release(shared);
    pthread_mutex_unlock(&page->lock);
    if (unchanged)
        return page_answer_unchanged(request, etag);
    if (!text)
        return page_answer_status(request, MHD_HTTP_INTERNAL_SERVER_ERROR, &status);
    struct page_reply reply = {.http = MHD_HTTP_OK, .type = "application/json", .etag = etag};
    return page_answer_bytes(request, &reply, text, strlen(text));
}

/* The photo of the request with a reference, or NULL. */
static struct page_photo *hold_photo(struct sl_page *page, struct page_request *request)
{
    pthread_mutex_lock(&page->lock);
    struct page_photo *photo = page_find(page, request->id);
    if (photo && (photo->saved || !photo->reader))
        photo = NULL;
    if (photo)
        photo->count++;
    pthread_mutex_unlock(&page->lock);
    return photo;
}

static void let_photo_go(struct sl_page *page, struct page_photo *photo)
{
    pthread_mutex_lock(&page->lock);
    if (!photo->gone)
        page_used(page, photo);
    page_photo_release(photo);
    pthread_mutex_unlock(&page->lock);
}

static sl_code draw_look(struct page_photo *photo, int side, void **ret, size_t *ret_bytes,
                         struct sl_status *status)
{
    struct sl_photo *pixels = NULL;
    struct sl_image image = {0};
    struct sl_picture picture = {0};
    sl_code code = sl_reader_photo(page_reader(photo), &pixels, status);
    if (code == SL_OK)
        code = sl_photo_look(pixels, side, &image, status);
    if (code == SL_OK) {
        int longer = image.width > image.height ? image.width : image.height;
        double scale = longer > side ? (double)side / longer : 1;
        int width = (int)fmax(1, floor(image.width * scale));
        int height = (int)fmax(1, floor(image.height * scale));
        code = sl_picture_of_image(&image, width, height, &picture, status);
    }
    if (code == SL_OK)
        code = sl_picture_jpeg(&picture, JPEG_QUALITY, ret, ret_bytes, status);
    sl_image_finish(&image);
    free(picture.rgb);
    return code;
}

static sl_code cut_region(struct page_photo *photo, struct sl_rect rect, struct sl_picture *ret,
                          struct sl_status *status)
{
    struct sl_photo *pixels = NULL;
    struct sl_image image = {0};
    struct sl_reader *reader = page_reader(photo);
    /* a finger is on a handle: what its move needs had better be there */
    sl_code code = sl_reader_wake(reader, status);
    if (code == SL_OK)
        code = sl_reader_photo(reader, &pixels, status);
    if (code == SL_OK)
        code = sl_photo_region(pixels, rect, &image, status);
    if (code == SL_OK)
        code = sl_picture_of_image(&image, image.width, image.height, ret, status);
    sl_image_finish(&image);
    return code;
}

/* A move that was sent at the same time waits while the region is cut out, and no longer. */
static sl_code draw_region(struct page_photo *photo, struct sl_rect rect, void **ret,
                           size_t *ret_bytes, struct sl_status *status)
{
    struct sl_picture picture = {0};
    pthread_mutex_lock(&photo->reader_lock);
    sl_code code = cut_region(photo, rect, &picture, status);
    pthread_mutex_unlock(&photo->reader_lock);
    if (code == SL_OK)
        code = sl_picture_png(&picture, ret, ret_bytes, status);
    free(picture.rgb);
    return code;
}

static enum MHD_Result answer_picture(struct page_request *request, const char *type,
                                      const char *etag, sl_code code, void *bytes, size_t count,
                                      const struct sl_status *status)
{
    struct page_reply reply = {.http = MHD_HTTP_OK, .type = type, .etag = etag};
    if (code != SL_OK)
        return page_answer_status(request, 422, status);
    return page_answer_bytes(request, &reply, bytes, count);
}

enum MHD_Result page_get_picture(struct sl_page *page, struct page_request *request)
{
    long side = SIDE_USUAL;
    char etag[80];
    void *bytes = NULL;
    size_t count = 0;
    struct sl_status status = {0};
    if (!page_query_number(request, "side", SIDE_MIN, SIDE_MAX, &side))
        return bad_query(request);
    struct page_photo *photo = hold_photo(page, request);
    if (!photo)
        return nothing_there(request);
    /* ids are never used twice in one folder */
    snprintf(etag, sizeof etag, "\"%.16s-%s-%ld\"", page->run, photo->id, side);
    if (page_etag_matches(request, etag)) {
        let_photo_go(page, photo);
        return page_answer_unchanged(request, etag);
    }
    pthread_mutex_lock(&photo->reader_lock);
    sl_code code = draw_look(photo, (int)side, &bytes, &count, &status);
    pthread_mutex_unlock(&photo->reader_lock);
    let_photo_go(page, photo);
    return answer_picture(request, "image/jpeg", etag, code, bytes, count, &status);
}

enum MHD_Result page_get_region(struct sl_page *page, struct page_request *request)
{
    long x = LONG_MIN, y = LONG_MIN, w = 0, h = 0;
    void *bytes = NULL;
    size_t count = 0;
    struct sl_status status = {0};
    if (!page_query_number(request, "x", -SL_PHOTO_SIDE_MAX, SL_PHOTO_SIDE_MAX, &x) ||
        !page_query_number(request, "y", -SL_PHOTO_SIDE_MAX, SL_PHOTO_SIDE_MAX, &y) ||
        !page_query_number(request, "w", 1, REGION_MAX, &w) ||
        !page_query_number(request, "h", 1, REGION_MAX, &h) || x == LONG_MIN || y == LONG_MIN ||
        !w || !h)
        return bad_query(request);
    struct page_photo *photo = hold_photo(page, request);
    if (!photo)
        return nothing_there(request);
    struct sl_rect rect = {(int)x, (int)y, (int)w, (int)h};
    sl_code code = draw_region(photo, rect, &bytes, &count, &status);
    let_photo_go(page, photo);
    return answer_picture(request, "image/png", NULL, code, bytes, count, &status);
}

enum MHD_Result page_get_strip_picture(struct sl_page *page, struct page_request *request)
{
    char etag[96] = "";
    void *bytes = NULL;
    size_t count = 0;
    struct sl_status status = {0};
    struct page_shared *shared = NULL;
    pthread_mutex_lock(&page->lock);
    struct page_photo *photo = page_find(page, request->id);
    if (photo && photo->shared && request->strip >= 0 &&
        (size_t)request->strip < photo->shared->reading->strip_count &&
        photo->shared->reading->strip[request->strip].picture.rgb) {
        shared = photo->shared;
        shared->count++;
        snprintf(etag, sizeof etag, "\"%.16s-%s-%lu-%ld\"", page->run, photo->id,
                 photo->picture_version[request->strip], request->strip);
    }
    pthread_mutex_unlock(&page->lock);
    if (!shared)
        return nothing_there(request);
    bool unchanged = page_etag_matches(request, etag);
    sl_code code = SL_OK;
    if (!unchanged)
        code = sl_picture_png(&shared->reading->strip[request->strip].picture, &bytes, &count,
                              &status);
    pthread_mutex_lock(&page->lock);
    page_shared_release(shared);
    pthread_mutex_unlock(&page->lock);
    if (unchanged)
        return page_answer_unchanged(request, etag);
    return answer_picture(request, "image/png", etag, code, bytes, count, &status);
}
