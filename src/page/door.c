// SPDX-License-Identifier: GPL-3.0-or-later
/* Who may come in, and for how long.
 *
 * 1. Host must be one of this server's own names: another one means that a stranger's name was
 *    pointed at this machine.
 * 2. Origin and Sec-Fetch-Site, where a browser sends them, must be the page's own: another site's
 *    script may not speak to us.
 * 3. The address must begin with this run's key, compared in constant time.
 * 4. Every connection has a deadline that no trickle of bytes puts off. */
#include "page_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/random.h>
#include <sys/socket.h>

struct connection {
    struct connection *next, **link;
    int socket;
    time_t deadline_s;
};

struct page_connections {
    pthread_mutex_t lock;
    pthread_cond_t stop;
    bool stopping;
    struct connection *first;
};

static time_t now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec;
}

struct page_connections *page_connections_create(void)
{
    struct page_connections *connections = calloc(1, sizeof *connections);
    if (!connections)
        return NULL;
    pthread_mutex_init(&connections->lock, NULL);
    pthread_cond_init(&connections->stop, NULL);
    return connections;
}

void page_connections_destroy(struct page_connections *connections)
{
    if (!connections)
        return;
    pthread_cond_destroy(&connections->stop);
    pthread_mutex_destroy(&connections->lock);
    free(connections);
}

static void add(struct page_connections *all, struct MHD_Connection *connection,
                void **socket_context)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    struct connection *one = calloc(1, sizeof *one);
    if (!one || !info) {
        free(one);
        return;
    }
    one->socket = info->connect_fd;
    one->deadline_s = now_s() + PAGE_HEAD_S;
    pthread_mutex_lock(&all->lock);
    one->next = all->first;
    one->link = &all->first;
    if (one->next)
        one->next->link = &one->next;
    all->first = one;
    pthread_mutex_unlock(&all->lock);
    *socket_context = one;
}

/* The socket is closed after this call: from here on nobody may touch it. */
static void drop(struct page_connections *all, struct connection *one)
{
    if (!one)
        return;
    pthread_mutex_lock(&all->lock);
    *one->link = one->next;
    if (one->next)
        one->next->link = one->link;
    pthread_mutex_unlock(&all->lock);
    free(one);
}

void page_connection_notify(void *cls, struct MHD_Connection *connection, void **socket_context,
                            enum MHD_ConnectionNotificationCode code)
{
    struct page_connections *all = cls;
    if (code == MHD_CONNECTION_NOTIFY_STARTED)
        add(all, connection, socket_context);
    else
        drop(all, *socket_context);
}

void page_connection_deadline(struct MHD_Connection *connection, struct page_connections *all,
                              int seconds)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    struct connection *one = info ? info->socket_context : NULL;
    if (!one)
        return;
    pthread_mutex_lock(&all->lock);
    one->deadline_s = now_s() + seconds;
    pthread_mutex_unlock(&all->lock);
}

static void *watch(void *context)
{
    struct page_connections *all = context;
    pthread_mutex_lock(&all->lock);
    while (!all->stopping) {
        time_t now = now_s();
        for (struct connection *one = all->first; one; one = one->next)
            if (now > one->deadline_s)
                shutdown(one->socket, SHUT_RDWR);
        struct timespec next;
        clock_gettime(CLOCK_REALTIME, &next);
        next.tv_sec++;
        pthread_cond_timedwait(&all->stop, &all->lock, &next);
    }
    pthread_mutex_unlock(&all->lock);
    return NULL;
}

bool page_watch_start(struct sl_page *page)
{
    page->has_watch = pthread_create(&page->watch, NULL, watch, page->connections) == 0;
    return page->has_watch;
}

void page_watch_stop(struct sl_page *page)
{
    if (!page->has_watch)
        return;
    pthread_mutex_lock(&page->connections->lock);
    page->connections->stopping = true;
    pthread_cond_signal(&page->connections->stop);
    pthread_mutex_unlock(&page->connections->lock);
    pthread_join(page->watch, NULL);
    page->has_watch = false;
}

bool page_random_hex(char *ret, size_t bytes)
{
    unsigned char random[PAGE_KEY_BYTES];
    if (bytes > sizeof random || getrandom(random, bytes, 0) != (ssize_t)bytes)
        return false;
    for (size_t i = 0; i < bytes; i++)
        snprintf(ret + 2 * i, 3, "%02x", random[i]);
    return true;
}

/* "127.0.0.1:PORT" and its like. */
static bool is_own_host(const struct sl_page *page, const char *text)
{
    static const char *const names[] = {"127.0.0.1", "localhost", "[::1]"};
    char own[64];
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(own, sizeof own, "%s:%d", names[i], page->port);
        if (strcmp(own, text) == 0)
            return true;
    }
    return false;
}

static enum MHD_Result count_hosts(void *cls, enum MHD_ValueKind kind, const char *key,
                                   const char *value)
{
    (void)kind;
    (void)value;
    if (strcasecmp(key, MHD_HTTP_HEADER_HOST) == 0)
        ++*(size_t *)cls;
    return MHD_YES;
}

static bool same_key(const char *key, const char *text)
{
    volatile unsigned char different = 0;
    if (strnlen(text, PAGE_KEY_CHARS) < PAGE_KEY_CHARS)
        return false;
    for (size_t i = 0; i < PAGE_KEY_CHARS; i++)
        different = (unsigned char)(different | (key[i] ^ text[i]));
    return different == 0;
}

const char *page_door(const struct sl_page *page, struct MHD_Connection *connection,
                      const char *url, const char **ret_rest)
{
    size_t hosts = 0;
    MHD_get_connection_values(connection, MHD_HEADER_KIND, count_hosts, &hosts);
    const char *host = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Host");
    const char *origin = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Origin");
    const char *site = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Sec-Fetch-Site");
    if (hosts != 1 || !host || !is_own_host(page, host))
        return "The request names another host than this page's.";
    if (origin && (strncmp(origin, "http://", 7) != 0 || !is_own_host(page, origin + 7)))
        return "The request comes from another site.";
    if (site && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0)
        return "The request comes from another site.";
    if (url[0] != '/' || !same_key(page->key, url + 1) || url[1 + PAGE_KEY_CHARS] != '/')
        return "The address lacks this run's key.";
    *ret_rest = url + 1 + PAGE_KEY_CHARS + 1;
    return NULL;
}
