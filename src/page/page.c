// SPDX-License-Identifier: GPL-3.0-or-later
/* From the private folder to a page that answers, and back.
 *
 * 1. The folder is locked and what was kept is loaded; its photos are read in the background, and
 *    changes are saved from here on.
 * 2. A key is drawn, and the server listens on 127.0.0.1 and, where the machine has it, on ::1.
 * 3. To stop: what has changed is saved, photos that are being read are cancelled, waiting requests
 *    woken, connections ended, threads joined, the one that reads last. */
#include "page_internal.h"

#include <errno.h>
#include <malloc.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    PORT_TRIES = 8, /* a port can be free for IPv4 and taken for IPv6 */
    CONNECTION_MEMORY = 32 * 1024,
    MHD_IDLE_S = 90, /* above every deadline of ours, which end earlier */
};

/* An escaped zero would cut the address short: it becomes a byte that no address has. */
static size_t unescape(void *cls, struct MHD_Connection *connection, char *text)
{
    (void)cls;
    (void)connection;
    for (char *zero = text; (zero = strstr(zero, "%00"));)
        zero[2] = '1';
    return MHD_http_unescape(text);
}

static struct MHD_Daemon *listen_at(struct sl_page *page, const struct sockaddr *address,
                                    unsigned flags)
{
    return MHD_start_daemon(
        MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_THREAD_PER_CONNECTION | flags, 0, NULL, NULL,
        page_request_handle, page, MHD_OPTION_SOCK_ADDR, address, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)PAGE_CONNECTIONS_MAX, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)MHD_IDLE_S,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)CONNECTION_MEMORY, MHD_OPTION_NOTIFY_CONNECTION,
        page_connection_notify, page->connections, MHD_OPTION_NOTIFY_COMPLETED,
        page_request_completed, page, MHD_OPTION_UNESCAPE_CALLBACK, unescape, NULL, MHD_OPTION_END);
}

static bool listen_4(struct sl_page *page, int port)
{
    struct sockaddr_in address = {.sin_family = AF_INET,
                                  .sin_port = htons((uint16_t)port),
                                  .sin_addr = {htonl(INADDR_LOOPBACK)}};
    page->daemon[0] = listen_at(page, (const struct sockaddr *)&address, 0);
    if (!page->daemon[0])
        return false;
    const union MHD_DaemonInfo *info =
        MHD_get_daemon_info(page->daemon[0], MHD_DAEMON_INFO_BIND_PORT);
    page->port = info ? info->port : port;
    return true;
}

/* False only where somebody else has the port. */
static bool listen_6(struct sl_page *page)
{
    struct sockaddr_in6 address = {.sin6_family = AF_INET6,
                                   .sin6_port = htons((uint16_t)page->port),
                                   .sin6_addr = IN6ADDR_LOOPBACK_INIT};
    page->daemon[1] = listen_at(page, (const struct sockaddr *)&address, MHD_USE_IPv6);
    return page->daemon[1] || errno != EADDRINUSE;
}

static void stop_daemons(struct sl_page *page)
{
    for (size_t i = 0; i < 2; i++) {
        if (page->daemon[i])
            MHD_stop_daemon(page->daemon[i]);
        page->daemon[i] = NULL;
    }
}

static sl_code listen_all(struct sl_page *page, int port, struct sl_status *status)
{
    for (int i = 0; i < (port ? 1 : PORT_TRIES); i++) {
        if (listen_4(page, port) && listen_6(page))
            return SL_OK;
        stop_daemons(page);
    }
    if (!port)
        return sl_status_set(status, SL_E_INTERNAL, "page", "Check the machine's network.",
                             "No port of this machine can be listened on: %s.", strerror(errno));
    return sl_status_set(status, SL_E_USAGE, "page", "Leave --port out to get a free one.",
                         "The port %d can't be used: %s.", port, strerror(errno));
}

static sl_code draw_keys(struct sl_page *page, struct sl_status *status)
{
    if (page_random_hex(page->key, PAGE_KEY_BYTES) && page_random_hex(page->run, PAGE_KEY_BYTES))
        return SL_OK;
    return sl_status_set(status, SL_E_INTERNAL, "page", "",
                         "The system gives no random numbers for the page's key.");
}

static sl_code started(bool all, struct sl_status *status)
{
    if (all)
        return SL_OK;
    return sl_status_set(status, SL_E_MEMORY, "page", "Close other programs.",
                         "There is no room for the page's threads.");
}

static struct sl_page *page_create(void)
{
    struct sl_page *page = calloc(1, sizeof *page);
    if (!page)
        return NULL;
    page->lock_file = -1;
    page->next_id = 1;
    page->version = 1;
    sl_conditions_init(&page->conditions);
    pthread_mutex_init(&page->lock, NULL);
    pthread_mutex_init(&page->draw_lock, NULL);
    pthread_cond_init(&page->changed, NULL);
    page->connections = page_connections_create();
    return page;
}

sl_code sl_page_start(const struct sl_page_options *options, struct sl_page **ret,
                      struct sl_status *status)
{
    struct sl_page *page = page_create();
    if (!page || !page->connections) {
        sl_page_stop(page, NULL);
        return sl_status_set(status, SL_E_MEMORY, "page", "Close other programs.",
                             "There is not enough memory for the page.");
    }
    mallopt(M_ARENA_MAX, 2); /* many short threads: memory freed by one serves the others */
    json_object_seed(0);     /* before there are threads */
    sl_code code = draw_keys(page, status);
    if (code == SL_OK)
        code = page_keep_open(page, options->folder, status);
    if (code == SL_OK)
        code = page_keep_load(page, status);
    if (code == SL_OK)
        code = started(page_keep_start(page), status); /* answers wait for it */
    if (code == SL_OK)
        code = listen_all(page, options->port, status);
    if (code == SL_OK)
        code = started(page_worker_start(page) && page_watch_start(page), status);
    if (code != SL_OK) {
        sl_page_stop(page, NULL);
        return code;
    }
    snprintf(page->address, sizeof page->address, "http://127.0.0.1:%d/%s/", page->port, page->key);
    *ret = page;
    return SL_OK;
}

const char *sl_page_address(const struct sl_page *page)
{
    return page->address;
}

const struct sl_warnings *sl_page_told(const struct sl_page *page)
{
    return &page->told;
}

sl_code sl_page_stop(struct sl_page *page, struct sl_status *status)
{
    if (!page)
        return SL_OK;
    pthread_mutex_lock(&page->lock);
    page->stopping = true;
    pthread_cond_broadcast(&page->changed);
    pthread_mutex_unlock(&page->lock);
    page_keep_wait(page); /* before anything else that may have to be waited for */
    page_watch_stop(page);
    stop_daemons(page);
    sl_code code = page_keep_stop(page, status); /* a picture in one piece may be waited for next */
    page_worker_stop(page);
    page_keep_close(page);
    while (page->photo_count)
        page_remove(page, page->photo[page->photo_count - 1]);
    free(page->pair);
    json_decref(page->together);
    page_connections_destroy(page->connections);
    pthread_cond_destroy(&page->changed);
    pthread_mutex_destroy(&page->draw_lock);
    pthread_mutex_destroy(&page->lock);
    free(page);
    return code;
}
