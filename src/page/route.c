// SPDX-License-Identifier: GPL-3.0-or-later
/* One table says which addresses there are and what they take. An address never becomes the name of
 * a file: there is nothing to climb. */
#include "page_internal.h"

#include <stdlib.h>
#include <string.h>

struct route {
    const char *method;
    const char *pattern; /* '*': one part of the address */
    page_handler *handler;
    enum page_body body;
};

static const struct route routes[] = {
    {"GET", "", page_get_asset, PAGE_NO_BODY},
    {"GET", "assets/*", page_get_asset, PAGE_NO_BODY},
    {"GET", "state", page_get_state, PAGE_NO_BODY},
    {"PUT", "photos", page_put_photo, PAGE_FILE_BODY},
    {"DELETE", "photos/*", page_delete_photo, PAGE_NO_BODY},
    {"GET", "photos/*/reading", page_get_reading, PAGE_NO_BODY},
    {"GET", "photos/*/picture", page_get_picture, PAGE_NO_BODY},
    {"GET", "photos/*/region", page_get_region, PAGE_NO_BODY},
    {"GET", "photos/*/strips/*/picture", page_get_strip_picture, PAGE_NO_BODY},
    {"POST", "photos/*/hand", page_post_hand, PAGE_JSON_BODY},
    {"POST", "conditions", page_post_conditions, PAGE_JSON_BODY},
    {"POST", "pairs", page_post_pairs, PAGE_JSON_BODY},
    {"POST", "overlay", page_post_overlay, PAGE_JSON_BODY},
    {"GET", "export/*", page_get_export, PAGE_NO_BODY},
};

enum { PARTS_MAX = 2 };

struct part {
    const char *text;
    size_t length;
};

static bool matches(const char *pattern, const char *rest, struct part ret[PARTS_MAX])
{
    size_t n = 0;
    while (*pattern) {
        if (*pattern != '*') {
            if (*pattern++ != *rest++)
                return false;
            continue;
        }
        size_t length = strcspn(rest, "/");
        if (length == 0 || n == PARTS_MAX)
            return false;
        ret[n++] = (struct part){rest, length};
        rest += length;
        pattern++;
    }
    return *rest == '\0';
}

static void copy_part(const struct part *part, char *ret, size_t size)
{
    size_t n = part->length < size ? part->length : 0; /* too long to name anything */
    memcpy(ret, part->text, n);
    ret[n] = '\0';
}

static void take_parts(const struct route *route, const struct part part[PARTS_MAX],
                       struct page_request *request)
{
    if (strncmp(route->pattern, "photos/*", 8) != 0) {
        if (part[0].text)
            copy_part(&part[0], request->name, sizeof request->name);
        return;
    }
    copy_part(&part[0], request->id, sizeof request->id);
    if (!part[1].text)
        return;
    char number[8], *end;
    copy_part(&part[1], number, sizeof number);
    request->strip = number[0] >= '0' && number[0] <= '9' ? strtol(number, &end, 10) : -1;
    if (request->strip >= 0 && *end)
        request->strip = -1;
}

static size_t limit_of(enum page_body body)
{
    return body == PAGE_FILE_BODY   ? PAGE_PHOTO_BYTES_MAX
           : body == PAGE_JSON_BODY ? PAGE_JSON_BYTES_MAX
                                    : 0;
}

bool page_route(struct page_request *request, const char *method, const char *rest,
                const char **ret_allow)
{
    bool head = strcmp(method, "HEAD") == 0;
    for (size_t i = 0; i < sizeof routes / sizeof *routes; i++) {
        struct part part[PARTS_MAX] = {{0}};
        if (!matches(routes[i].pattern, rest, part))
            continue;
        if (strcmp(head ? "GET" : method, routes[i].method) != 0) {
            *ret_allow = routes[i].method;
            continue;
        }
        request->handler = routes[i].handler;
        request->body = routes[i].body;
        request->limit = limit_of(routes[i].body);
        take_parts(&routes[i], part, request);
        return true;
    }
    return false;
}
