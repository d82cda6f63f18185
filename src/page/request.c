// SPDX-License-Identifier: GPL-3.0-or-later
/* One request from its head to its answer.
 *
 * 1. Head: too many at once, the doors, the address, the length told: refused before any byte of
 *    the body is taken.
 * 2. Body: JSON goes to memory, a file to the private folder; both are counted as they come.
 * 3. End: the handler answers. */
#include "page_internal.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct page_request *request_create(struct sl_page *page, struct MHD_Connection *connection)
{
    struct page_request *request = calloc(1, sizeof *request);
    if (!request)
        return NULL;
    request->page = page;
    request->connection = connection;
    request->file = -1;
    pthread_mutex_lock(&page->lock);
    page->requests++;
    pthread_mutex_unlock(&page->lock);
    return request;
}

static bool too_many(struct sl_page *page)
{
    pthread_mutex_lock(&page->lock);
    bool many = page->requests > PAGE_REQUESTS_MAX;
    pthread_mutex_unlock(&page->lock);
    return many;
}

static enum MHD_Result refuse_size(struct page_request *request)
{
    return page_answer_error(request, MHD_HTTP_CONTENT_TOO_LARGE, "too-large",
                             "The file is larger than the page takes.",
                             "Export the photo as JPEG.");
}

/* MHD_NO where the length told makes no sense. */
static enum MHD_Result check_length(struct page_request *request, bool *ret_told)
{
    const char *told = MHD_lookup_connection_value(request->connection, MHD_HEADER_KIND,
                                                   MHD_HTTP_HEADER_CONTENT_LENGTH);
    *ret_told = true;
    if (!told)
        return MHD_YES;
    char *end;
    errno = 0;
    unsigned long long length = strtoull(told, &end, 10);
    if (*end || end == told || errno)
        return page_answer_error(request, MHD_HTTP_BAD_REQUEST, "malformed",
                                 "The length of the request is no number.", "");
    if (length > request->limit)
        return refuse_size(request);
    *ret_told = false;
    return MHD_YES;
}

static enum MHD_Result take_head(struct page_request *request, const char *url, const char *method)
{
    struct sl_page *page = request->page;
    const char *rest = NULL, *allow = NULL;
    page_connection_deadline(request->connection, page->connections, PAGE_REQUEST_S);
    if (too_many(page))
        return page_answer_error(request, MHD_HTTP_SERVICE_UNAVAILABLE, "too-many",
                                 "Too many requests came at once.", "Try again in a moment.");
    const char *reason = page_door(page, request->connection, url, &rest);
    if (reason)
        return page_answer_error(request, MHD_HTTP_FORBIDDEN, "forbidden", reason,
                                 "Open the address that strandline bench printed.");
    if (!page_route(request, method, rest, &allow))
        return allow ? page_answer_method(request, allow)
                     : page_answer_error(request, MHD_HTTP_NOT_FOUND, "not-found",
                                         "There is nothing at this address.", "");
    bool answered;
    enum MHD_Result result = check_length(request, &answered);
    if (request->refused || result == MHD_NO)
        return result;
    if (request->body == PAGE_FILE_BODY) {
        request->file = page_keep_temporary(page, request->path);
        request->write_error = request->file < 0 ? errno : 0;
    }
    return MHD_YES;
}

static void take_text(struct page_request *request, const char *data, size_t count)
{
    if (request->received + count + 1 > request->room) {
        size_t room = 2 * request->room + count + 4096;
        char *more = realloc(request->text, room);
        if (!more) {
            request->write_error = ENOMEM;
            return;
        }
        request->text = more;
        request->room = room;
    }
    memcpy(request->text + request->received, data, count);
    request->text[request->received + count] = '\0';
}

static void take_file(struct page_request *request, const char *data, size_t count)
{
    while (count > 0 && !request->write_error) {
        ssize_t n = write(request->file, data, count);
        if (n < 0 && errno != EINTR)
            request->write_error = errno;
        if (n > 0) {
            data += n;
            count -= (size_t)n;
        }
    }
}

/* A body longer than allowed that did not tell its length: the connection is closed. */
static enum MHD_Result take_body(struct page_request *request, const char *data, size_t *count)
{
    size_t n = *count;
    *count = 0;
    if (request->refused)
        return MHD_YES;
    if (n > request->limit - request->received)
        return MHD_NO;
    if (!request->write_error && request->body == PAGE_JSON_BODY)
        take_text(request, data, n);
    else if (!request->write_error && request->body == PAGE_FILE_BODY)
        take_file(request, data, n);
    request->received += n;
    return MHD_YES;
}

static enum MHD_Result finish(struct page_request *request)
{
    if (request->write_error == 0)
        return request->handler(request->page, request);
    struct sl_status status;
    sl_status_set(&status, SL_E_WRITE, "page", "Make room on the disk.",
                  "What was sent could not be kept: %s.", strerror(request->write_error));
    return page_answer_status(request, MHD_HTTP_INTERNAL_SERVER_ERROR, &status);
}

enum MHD_Result page_request_handle(void *cls, struct MHD_Connection *connection, const char *url,
                                    const char *method, const char *version, const char *data,
                                    size_t *bytes, void **context)
{
    (void)version;
    struct page_request *request = *context;
    if (!request) {
        request = *context = request_create(cls, connection);
        return request ? take_head(request, url, method) : MHD_NO;
    }
    if (*bytes > 0)
        return take_body(request, data, bytes);
    if (request->refused)
        return MHD_YES;
    return finish(request);
}

void page_request_completed(void *cls, struct MHD_Connection *connection, void **context,
                            enum MHD_RequestTerminationCode code)
{
    (void)code;
    struct sl_page *page = cls;
    struct page_request *request = *context;
    if (!request)
        return;
    page_connection_deadline(connection, page->connections, PAGE_IDLE_S);
    if (request->file >= 0)
        close(request->file);
    if (request->path[0])
        unlink(request->path); /* what was kept bears another name by now */
    free(request->text);
    free(request);
    *context = NULL;
    pthread_mutex_lock(&page->lock);
    page->requests--;
    pthread_mutex_unlock(&page->lock);
}
