// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of the page share.
 *
 * Threads: one a connection (libmicrohttpd), one that reads photos (worker.c), one that saves what
 * is kept (save.c), one that closes slow connections (door.c). `lock` guards the lists and all that
 * is not marked otherwise; it is never held while a photo is read or a figure is drawn. A photo's
 * `reader_lock` is taken before `lock`, never after it. */
#ifndef SL_PAGE_INTERNAL_H
#define SL_PAGE_INTERNAL_H

#include <jansson.h>
#include <microhttpd.h>
#include <pthread.h>
#include <stdatomic.h>
#include <time.h>

#include "strandline/figure.h"
#include "strandline/page.h"

enum {
    PAGE_KEY_BYTES = 16,
    PAGE_KEY_CHARS = 2 * PAGE_KEY_BYTES,
    PAGE_ID_MAX = 16,
    PAGE_PHOTOS_MAX = 32, /* as many as one command line can tell apart */
    PAGE_SAVED_MAX = 64,
    PAGE_PAIRS_MAX = 256,
    PAGE_PHOTO_BYTES_MAX = 256 * 1024 * 1024,
    PAGE_SAVED_BYTES_MAX = 32 * 1024 * 1024, /* parsing takes several times that */
    PAGE_JSON_BYTES_MAX = 1024 * 1024,
    PAGE_REQUESTS_MAX = 24,
    PAGE_CONNECTIONS_MAX = 96,
    PAGE_HEAD_S = 10,
    PAGE_REQUEST_S = 60,
    PAGE_IDLE_S = 30,
    PAGE_POLL_S = 20,
    PAGE_AWAKE_MAX = 2, /* photos with pixels in memory: 36 MB each at 12 MP */
    PAGE_PATH_MAX = 4096,
    PAGE_KEEP_VERSION = 1, /* of state.json */
};

/* ---- photos.c: what is on the page ---- */

/* A reading that several threads look at; counted under the page's lock. */
struct page_shared {
    size_t count;
    struct sl_reading *reading;
};

/* What was set by hand for a photo's strips. */
struct page_hand {
    size_t count;
    struct sl_strip_hints hint[SL_STRIPS_MAX];
    bool has_role[SL_STRIPS_MAX], has_ink[SL_STRIPS_MAX];
    enum sl_role role[SL_STRIPS_MAX];
    char ink[SL_STRIPS_MAX][SL_NAME_MAX];
};

enum page_phase { PAGE_WAITING, PAGE_READING, PAGE_DONE };

struct page_photo {
    struct sl_page *page;
    size_t count;     /* references: the list's and those of threads at work on it */
    atomic_bool gone; /* taken off the page; set with the lock, read without it by readers */
    bool saved;       /* from a document, without a photo */
    bool wanted;      /* is to be read */
    bool awake;       /* its reader holds memory */
    unsigned long used_at;
    char id[PAGE_ID_MAX];
    char name[SL_PHOTO_NAME_MAX];
    size_t bytes;
    enum page_phase phase;
    double progress;
    struct page_hand hand;
    unsigned long hand_version;
    struct page_shared *shared; /* NULL: not read yet */
    unsigned long reading_version;
    unsigned long finished_version;               /* that was last told to be made whole */
    enum sl_role shown_role[SL_STRIPS_MAX];       /* that the version told */
    unsigned long picture_version[SL_STRIPS_MAX]; /* of the reading that its picture came with */
    struct sl_status problem;                     /* why there is no reading at all */
    pthread_mutex_t reader_lock;
    struct sl_reader *reader; /* under reader_lock (page_reader); NULL for saved ones */
};

struct page_ref {
    char id[PAGE_ID_MAX];
    size_t strip;
};
struct page_pair {
    struct page_ref immediate, dried;
    bool by_hand;
    struct sl_pair pair; /* its own refs mean nothing */
};

struct page_connections; /* door.c */

struct sl_page {
    pthread_mutex_t lock;
    pthread_cond_t changed; /* version, queue or stopping */
    atomic_bool stopping;   /* as a photo's `gone` */
    unsigned long version, clock;
    unsigned long next_id;
    size_t photo_count;
    struct page_photo *photo[PAGE_PHOTOS_MAX + PAGE_SAVED_MAX]; /* in the order they came */
    size_t hand_pair_count;
    struct page_pair hand_pair[PAGE_PAIRS_MAX]; /* their refs alone */
    size_t pair_count;
    struct page_pair *pair;
    json_t *together; /* what replicates say; NULL: nothing yet, or no memory */
    struct sl_conditions conditions;
    size_t requests;

    char key[PAGE_KEY_CHARS + 1], run[PAGE_KEY_CHARS + 1];
    int port;
    char address[96];
    char folder[PAGE_PATH_MAX];
    int lock_file;
    struct sl_warnings told;       /* what became of kept work at the start */
    unsigned long edits;           /* changes so far of what is kept */
    unsigned long tried, kept;     /* how many of them were tried to be saved, and were */
    struct sl_status keep_problem; /* why the last ones are not on the disk */
    bool keep_ending;
    pthread_mutex_t draw_lock; /* one figure or report at a time: they take memory */
    struct page_connections *connections;
    struct MHD_Daemon *daemon[2]; /* IPv4, IPv6 */
    pthread_t worker, watch, keeper;
    bool has_worker, has_watch, has_keeper;
};

/* All of these with the page's lock held. */
struct page_photo *page_find(const struct sl_page *page, const char *id);
struct page_photo *page_add(struct sl_page *page, const char *id, const char *name, bool saved);
void page_remove(struct sl_page *page, struct page_photo *photo);
void page_photo_release(struct page_photo *photo);
/* The photo's reader, for whoever has its reader lock, and not this one: what it is asked to do is
 * cancelled when the photo is taken off the page or the page stops. */
struct sl_reader *page_reader(struct page_photo *photo);
struct page_shared *page_share(struct sl_reading *reading);
void page_shared_release(struct page_shared *shared);
/* Puts a new reading (owned) in place of the old one. */
bool page_install(struct page_photo *photo, struct sl_reading *reading);
/* Whether bound shares of its reading have been left open (a quick answer). */
bool page_photo_is_open(const struct page_photo *photo);
/* Waits until no reading has; the lock is let go meanwhile. */
void page_close_readings(struct sl_page *page);
/* Judges the pairs anew and raises the version: to be called after each change. */
void page_changed(struct sl_page *page);
/* A photo's reader was used: the one unused for longest may have to rest (takes reader locks only
 * where they are free). */
void page_used(struct sl_page *page, struct page_photo *photo);

/* ---- document.c: photos as a document that others may draw from ---- */

/* Shallow copies of readings, so that roles can differ, and what keeps the rest alive. */
struct page_document {
    struct sl_document document;
    struct page_ref *ref; /* by photo of the document: its id */
    struct page_shared **shared;
};
/* All readings of the page with its pairs. Lock held; false: out of memory. */
bool page_document_make(struct sl_page *page, struct page_document *ret);
/* The strips alone that are asked for, one a photo of the document. */
bool page_document_pick(struct sl_page *page, const struct page_ref *refs, size_t count,
                        struct page_document *ret);
/* Without lock; `drop`: with it. */
void page_document_finish(struct sl_page *page, struct page_document *document);
void page_document_drop(struct page_document *document);
/* One photo with the roles that pairs give it. */
struct sl_reading *page_shallow(const struct sl_page *page, const struct page_photo *photo);
void page_shallow_free(struct sl_reading *reading);

/* ---- hand.c ---- */
sl_code page_hand_parse(const json_t *json, struct page_hand *ret, struct sl_status *status);
json_t *page_hand_json(const struct page_hand *hand);
void page_hand_options(const struct page_hand *hand, const struct sl_conditions *conditions,
                       struct sl_read_options *ret);
sl_code page_conditions_parse(const json_t *json, struct sl_conditions *ret,
                              struct sl_status *status);
json_t *page_conditions_json(const struct sl_conditions *conditions);
bool page_ref_parse(const json_t *json, struct page_ref *ret);
json_t *page_ref_json(const struct page_ref *ref);
/* {"immediate": ref, "dried": ref} */
bool page_pair_parse(const json_t *json, struct page_pair *ret);

/* ---- state.c: what is on the page, as JSON; lock held ---- */
json_t *page_state_json(struct sl_page *page);
json_t *page_photo_json(struct sl_page *page, const struct page_photo *photo);
json_t *page_pairs_json(const struct sl_page *page);
/* {"answer", "sure", "level", "soak"} as sentences, and the index' "scale". */
json_t *page_verdict_words_json(const struct sl_pair *pair);
/* Messages of the library may lack the full stop. */
json_t *page_sentence_json(const char *text);
json_t *page_problem_json(const struct sl_status *problem);

/* ---- together.c: what several strips of one ink say; lock held ---- */
void page_together_make(struct sl_page *page);
/* Puts "replicates" and "combined" into `object`. */
void page_together_put(const struct sl_page *page, json_t *object);

/* ---- keep.c: the private folder ---- */
sl_code page_keep_open(struct sl_page *page, const char *folder, struct sl_status *status);
void page_keep_close(struct sl_page *page);
/* False here and below: errno. */
bool page_keep_join(char ret[PAGE_PATH_MAX], const char *folder, const char *name);
bool page_keep_path(const struct sl_page *page, const char *name, char ret[PAGE_PATH_MAX]);
/* What stands in the folder stands there after a power cut. */
bool page_keep_sync(const char *folder);
bool page_keep_sync_files(const struct sl_page *page);
/* Whether a file may have got its name from page_keep_claim, page_keep_temporary. */
bool page_keep_is_id(const char *name);
bool page_keep_is_upload(const char *name);
/* An empty file with a name that was free, to be replaced by its owner. `kind`: 'p', 's'. */
bool page_keep_claim(struct sl_page *page, char kind, char id[PAGE_ID_MAX],
                     char path[PAGE_PATH_MAX]);
void page_keep_delete(const struct sl_page *page, const char *id);
/* A file that no one else can read; its name is made. -1: errno. */
int page_keep_temporary(struct sl_page *page, char ret[PAGE_PATH_MAX]);
sl_code page_slurp(const char *path, size_t limit, char **ret, size_t *ret_bytes,
                   struct sl_status *status);
/* The readings of a saved document become photos of the page. */
sl_code page_add_saved(struct sl_page *page, const char *text, size_t bytes, const char *name,
                       json_t *ret_ids, struct sl_status *status);

/* ---- save.c: state.json ---- */
/* What is kept has changed. Lock held. */
void page_edited(struct sl_page *page);
/* Until what has changed so far is on the disk, or could not be written. Without lock. */
void page_keep_wait(struct sl_page *page);
bool page_keep_start(struct sl_page *page);
/* After a last try: why the last changes are not on the disk. */
sl_code page_keep_stop(struct sl_page *page, struct sl_status *status);

/* ---- restore.c, before there are threads ---- */
sl_code page_keep_load(struct sl_page *page, struct sl_status *status);

/* ---- aside.c ---- */
struct page_aside {
    char name[32], path[PAGE_PATH_MAX]; /* "": nothing has been put aside */
    size_t files;                       /* photos and saved readings in it */
};
/* `name`: below the private folder. */
sl_code page_aside_put(const struct sl_page *page, struct page_aside *aside, const char *name,
                       struct sl_status *status);
sl_code page_aside_copy(const struct sl_page *page, struct page_aside *aside, const char *name,
                        const char *text, struct sl_status *status);
/* The photos that are not on the page; what never came in whole is removed. */
sl_code page_aside_strays(struct sl_page *page, struct page_aside *aside, struct sl_status *status);

/* ---- worker.c ---- */
bool page_worker_start(struct sl_page *page);
void page_worker_stop(struct sl_page *page);

/* ---- door.c ---- */
struct page_connections *page_connections_create(void);
void page_connections_destroy(struct page_connections *connections);
void page_connection_notify(void *cls, struct MHD_Connection *connection, void **socket_context,
                            enum MHD_ConnectionNotificationCode code);
void page_connection_deadline(struct MHD_Connection *connection,
                              struct page_connections *connections, int seconds);
bool page_watch_start(struct sl_page *page);
void page_watch_stop(struct sl_page *page);
bool page_random_hex(char *ret, size_t bytes);
/* NULL: may come in; else why not. `ret_rest`: the address behind the key. */
const char *page_door(const struct sl_page *page, struct MHD_Connection *connection,
                      const char *url, const char **ret_rest);

/* ---- request.c, answer.c ---- */
struct page_request;
typedef enum MHD_Result page_handler(struct sl_page *page, struct page_request *request);

enum page_body { PAGE_NO_BODY, PAGE_JSON_BODY, PAGE_FILE_BODY };

struct page_request {
    struct sl_page *page;
    struct MHD_Connection *connection;
    page_handler *handler;
    enum page_body body;
    char id[PAGE_ID_MAX]; /* of the photo in the address */
    long strip;           /* in the address */
    char name[64];        /* what is named last in the address */
    size_t received, limit;
    bool refused; /* has been answered, or is not worth an answer */
    char *text;   /* JSON body */
    size_t room;
    int file; /* file body */
    char path[PAGE_PATH_MAX];
    int write_error;
};

enum MHD_Result page_answer_error(struct page_request *request, unsigned http, const char *code,
                                  const char *message, const char *remedy);
enum MHD_Result page_answer_status(struct page_request *request, unsigned http,
                                   const struct sl_status *status);
/* Takes `json` over. */
enum MHD_Result page_answer_json(struct page_request *request, unsigned http, json_t *json);
struct page_reply {
    unsigned http;
    const char *type, *etag, *download; /* may be NULL, but the type */
    bool page;                          /* the page itself: with its content security policy */
};
/* Takes `bytes` over (free). */
enum MHD_Result page_answer_bytes(struct page_request *request, const struct page_reply *reply,
                                  void *bytes, size_t count);
enum MHD_Result page_answer_static(struct page_request *request, const struct page_reply *reply,
                                   const void *bytes, size_t count);
enum MHD_Result page_answer_unchanged(struct page_request *request, const char *etag);
enum MHD_Result page_answer_nothing(struct page_request *request, unsigned http);
enum MHD_Result page_answer_method(struct page_request *request, const char *allow);
bool page_etag_matches(struct page_request *request, const char *etag);

enum MHD_Result page_request_handle(void *cls, struct MHD_Connection *connection, const char *url,
                                    const char *method, const char *version, const char *data,
                                    size_t *bytes, void **context);
void page_request_completed(void *cls, struct MHD_Connection *connection, void **context,
                            enum MHD_RequestTerminationCode code);

/* ---- route.c ---- */
/* Fills handler, body, limit, id, strip and name; else 404 or 405 (`ret_allow` set). */
bool page_route(struct page_request *request, const char *method, const char *rest,
                const char **ret_allow);

/* ---- the handlers ---- */
page_handler page_get_asset, page_get_state, page_put_photo, page_delete_photo, page_get_reading,
    page_get_picture, page_get_region, page_get_strip_picture, page_post_hand, page_post_conditions,
    page_post_pairs, page_post_overlay, page_get_export;
sl_code page_command(struct sl_page *page, char **ret, struct sl_status *status);
/* A whole number in the query; false: there, and none within low..high. Left alone: not there. */
bool page_query_number(struct page_request *request, const char *name, long low, long high,
                       long *ret);

/* ---- assets, made by the build ---- */
struct page_asset {
    const char *name, *type, *etag;
    const unsigned char *bytes;
    size_t count;
};
extern const struct page_asset page_assets[];
extern const size_t page_asset_count;

#endif
