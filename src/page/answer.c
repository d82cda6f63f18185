// SPDX-License-Identifier: GPL-3.0-or-later
/* Every answer carries the same headers: nothing of the page may be framed, guessed at, kept by a
 * shared cache, or told to another site. */
#include "page_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Scripts and styles come from the page's own address alone, and none stand in its text. */
static const char page_policy[] =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/* What is not the page can do nothing, also when it is opened in a tab of its own. */
static const char other_policy[] = "default-src 'none'; frame-ancestors 'none'; sandbox";

static void add_headers(struct MHD_Response *response, const struct page_reply *reply)
{
    const char *header[][2] = {
        {"Content-Type", reply->type},
        {"Content-Security-Policy", reply->page ? page_policy : other_policy},
        {"X-Content-Type-Options", "nosniff"},
        {"Referrer-Policy", "no-referrer"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Cross-Origin-Opener-Policy", "same-origin"},
        {"Cache-Control", reply->etag ? "private, no-cache" : "no-store"},
        {"ETag", reply->etag},
    };
    for (size_t i = 0; i < sizeof header / sizeof *header; i++)
        if (header[i][1])
            MHD_add_response_header(response, header[i][0], header[i][1]);
    if (reply->download) {
        char text[160];
        snprintf(text, sizeof text, "attachment; filename=\"%s\"", reply->download);
        MHD_add_response_header(response, "Content-Disposition", text);
    }
}

/* Takes `response` over, which may be NULL. */
static enum MHD_Result send_it(struct page_request *request, const struct page_reply *reply,
                               struct MHD_Response *response)
{
    request->refused = true; /* no second answer */
    if (!response)
        return MHD_NO;
    add_headers(response, reply);
    if (reply->http == MHD_HTTP_SERVICE_UNAVAILABLE)
        MHD_add_response_header(response, "Retry-After", "1");
    enum MHD_Result result = MHD_queue_response(request->connection, reply->http, response);
    MHD_destroy_response(response);
    return result;
}

enum MHD_Result page_answer_bytes(struct page_request *request, const struct page_reply *reply,
                                  void *bytes, size_t count)
{
    struct MHD_Response *response =
        MHD_create_response_from_buffer(count, bytes, MHD_RESPMEM_MUST_FREE);
    if (!response)
        free(bytes);
    return send_it(request, reply, response);
}

enum MHD_Result page_answer_static(struct page_request *request, const struct page_reply *reply,
                                   const void *bytes, size_t count)
{
    return send_it(request, reply,
                   MHD_create_response_from_buffer(count, (void *)(uintptr_t)bytes, /* only read */
                                                   MHD_RESPMEM_PERSISTENT));
}

enum MHD_Result page_answer_nothing(struct page_request *request, unsigned http)
{
    struct page_reply reply = {.http = http};
    return page_answer_static(request, &reply, "", 0);
}

enum MHD_Result page_answer_unchanged(struct page_request *request, const char *etag)
{
    struct page_reply reply = {.http = MHD_HTTP_NOT_MODIFIED, .etag = etag};
    return page_answer_static(request, &reply, "", 0);
}

enum MHD_Result page_answer_json(struct page_request *request, unsigned http, json_t *json)
{
    struct page_reply reply = {.http = http, .type = "application/json"};
    char *text = json ? json_dumps(json, JSON_COMPACT | JSON_REAL_PRECISION(15)) : NULL;
    json_decref(json);
    if (!text)
        return page_answer_error(request, MHD_HTTP_INTERNAL_SERVER_ERROR, "memory",
                                 "There is not enough memory for the answer.",
                                 "Close other programs.");
    return page_answer_bytes(request, &reply, text, strlen(text));
}

enum MHD_Result page_answer_error(struct page_request *request, unsigned http, const char *code,
                                  const char *message, const char *remedy)
{
    json_t *json = json_pack("{s:{s:s, s:o, s:o}}", "error", "code", code, "message",
                             page_sentence_json(message), "remedy", page_sentence_json(remedy));
    char *text = json ? json_dumps(json, JSON_COMPACT) : NULL;
    struct page_reply reply = {.http = http, .type = "application/json"};
    json_decref(json);
    if (!text)
        return page_answer_nothing(request, http);
    return page_answer_bytes(request, &reply, text, strlen(text));
}

enum MHD_Result page_answer_status(struct page_request *request, unsigned http,
                                   const struct sl_status *status)
{
    if (status->code == SL_E_MEMORY || status->code == SL_E_INTERNAL || status->code == SL_E_WRITE)
        http = MHD_HTTP_INTERNAL_SERVER_ERROR;
    return page_answer_error(request, http, sl_code_name(status->code), status->message,
                             status->remedy);
}

enum MHD_Result page_answer_method(struct page_request *request, const char *allow)
{
    static const char text[] =
        "{\"error\":{\"code\":\"method\",\"message\":\"This address does not take that method.\","
        "\"remedy\":\"\"}}";
    struct page_reply reply = {.http = MHD_HTTP_METHOD_NOT_ALLOWED, .type = "application/json"};
    struct MHD_Response *response = MHD_create_response_from_buffer(
        sizeof text - 1, (void *)(uintptr_t)text, MHD_RESPMEM_PERSISTENT);
    if (response)
        MHD_add_response_header(response, "Allow", allow);
    return send_it(request, &reply, response);
}

bool page_etag_matches(struct page_request *request, const char *etag)
{
    const char *told =
        MHD_lookup_connection_value(request->connection, MHD_HEADER_KIND, "If-None-Match");
    return told && strstr(told, etag);
}
