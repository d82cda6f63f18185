// SPDX-License-Identifier: GPL-3.0-or-later
/* The private folder: what is on the page survives the browser and this program.
 *
 * state.json   names, values set by hand, pairs, conditions; written whole or not at all
 * files/ID     the photos as they came in, and saved readings
 * lock         held while a page runs: two pages may not write into one folder
 * The folders are 0700 and the files 0600. At the start what state.json does not name is removed:
 * it is of an upload that was cut off. */
#define _DEFAULT_SOURCE /* flock */

#include "page_internal.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static const char where[] = "page/keep";
enum { KEEP_VERSION = 1 };

static sl_code cannot(struct sl_status *status, const char *path)
{
    return sl_status_set(status, SL_E_WRITE, where,
                         "Set XDG_STATE_HOME to a folder that you may write to.",
                         "The page can't keep its work in %.200s: %s.", path, strerror(errno));
}

static bool join(char ret[PAGE_PATH_MAX], const char *folder, const char *name)
{
    int n = snprintf(ret, PAGE_PATH_MAX, "%s/%s", folder, name);
    return n > 0 && n < PAGE_PATH_MAX;
}

/* The folder and those above it; the last one for the user alone. */
static bool make_folder(char *path)
{
    for (char *c = path + 1; *c; c++) {
        if (*c != '/')
            continue;
        *c = '\0';
        bool failed = mkdir(path, 0700) != 0 && errno != EEXIST;
        *c = '/';
        if (failed)
            return false;
    }
    struct stat info;
    if ((mkdir(path, 0700) != 0 && errno != EEXIST) || stat(path, &info) != 0)
        return false;
    if (!S_ISDIR(info.st_mode)) {
        errno = ENOTDIR;
        return false;
    }
    return chmod(path, 0700) == 0;
}

static bool usual_folder(char ret[PAGE_PATH_MAX])
{
    const char *state = getenv("XDG_STATE_HOME"), *home = getenv("HOME");
    if (state && state[0] == '/')
        return join(ret, state, "strandline/bench");
    return home && home[0] == '/' && join(ret, home, ".local/state/strandline/bench");
}

bool page_keep_path(const struct sl_page *page, const char *name, char ret[PAGE_PATH_MAX])
{
    int n = snprintf(ret, PAGE_PATH_MAX, "%s/files/%s", page->folder, name);
    return n > 0 && n < PAGE_PATH_MAX;
}

static sl_code take_lock(struct sl_page *page, struct sl_status *status)
{
    char path[PAGE_PATH_MAX];
    if (!join(path, page->folder, "lock")) {
        errno = ENAMETOOLONG;
        return cannot(status, page->folder);
    }
    page->lock_file = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (page->lock_file < 0)
        return cannot(status, path);
    if (flock(page->lock_file, LOCK_EX | LOCK_NB) == 0)
        return SL_OK;
    return sl_status_set(status, SL_E_WRITE, where,
                         "Use that page or stop it, or set XDG_STATE_HOME to another folder.",
                         "Another strandline bench is running with the work in %.200s.",
                         page->folder);
}

sl_code page_keep_open(struct sl_page *page, const char *folder, struct sl_status *status)
{
    char files[PAGE_PATH_MAX];
    bool named = folder ? snprintf(page->folder, sizeof page->folder, "%s", folder) <
                              (int)sizeof page->folder
                        : usual_folder(page->folder);
    if (!named)
        return sl_status_set(status, SL_E_WRITE, where, "Set XDG_STATE_HOME to a folder.",
                             "There is no folder to keep the page's work in: HOME is not set.");
    if (!make_folder(page->folder) || !join(files, page->folder, "files") || !make_folder(files))
        return cannot(status, page->folder);
    return take_lock(page, status);
}

void page_keep_close(struct sl_page *page)
{
    if (page->lock_file >= 0)
        close(page->lock_file);
    page->lock_file = -1;
}

int page_keep_temporary(struct sl_page *page, char ret[PAGE_PATH_MAX])
{
    char name[32] = "new-";
    if (!page_random_hex(name + 4, 8) || !page_keep_path(page, name, ret)) {
        ret[0] = '\0';
        return -1;
    }
    int file = open(ret, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file < 0)
        ret[0] = '\0';
    return file;
}

void page_keep_delete(const struct sl_page *page, const char *id)
{
    char path[PAGE_PATH_MAX];
    if (page_keep_path(page, id, path))
        unlink(path);
}

/* Lock held. */
static json_t *keep_json(struct sl_page *page)
{
    json_t *photos = json_array(), *pairs = json_array();
    for (size_t i = 0; i < page->photo_count; i++) {
        const struct page_photo *photo = page->photo[i];
        json_array_append_new(photos, json_pack("{s:s, s:s, s:b, s:o}", "id", photo->id, "name",
                                                photo->name, "saved", photo->saved, "hand",
                                                page_hand_json(&photo->hand)));
    }
    for (size_t i = 0; i < page->hand_pair_count; i++)
        json_array_append_new(pairs, json_pack("{s:o, s:o}", "immediate",
                                               page_ref_json(&page->hand_pair[i].immediate),
                                               "dried", page_ref_json(&page->hand_pair[i].dried)));
    return json_pack("{s:i, s:I, s:o, s:o, s:o}", "strandline_bench", KEEP_VERSION, "next_id",
                     (json_int_t)page->next_id, "photos", photos, "pairs", pairs, "conditions",
                     page_conditions_json(&page->conditions));
}

void page_keep_save(struct sl_page *page)
{
    char path[PAGE_PATH_MAX];
    struct sl_status problem = {0};
    pthread_mutex_lock(&page->keep_lock); /* so that an older state can't come last */
    pthread_mutex_lock(&page->lock);
    json_t *json = keep_json(page);
    page->unkept = false;
    pthread_mutex_unlock(&page->lock);
    /* all digits of a double: the numbers after a restart are the same */
    char *text = json ? json_dumps(json, JSON_INDENT(1) | JSON_REAL_PRECISION(17)) : NULL;
    json_decref(json);
    if (!text || !join(path, page->folder, "state.json"))
        sl_status_set(&problem, SL_E_MEMORY, where, "Close other programs.",
                      "There is not enough memory to keep the page's work.");
    else
        sl_write_file(path, text, strlen(text), &problem);
    free(text);
    pthread_mutex_lock(&page->lock);
    if (page->keep_problem.code != problem.code) {
        page->version++;
        pthread_cond_broadcast(&page->changed);
    }
    page->keep_problem = problem;
    pthread_mutex_unlock(&page->lock);
    pthread_mutex_unlock(&page->keep_lock);
}

void page_keep_unkept(struct sl_page *page)
{
    pthread_mutex_lock(&page->lock);
    bool unkept = page->unkept;
    pthread_mutex_unlock(&page->lock);
    if (unkept)
        page_keep_save(page);
}

sl_code page_slurp(const char *path, size_t limit, char **ret, size_t *ret_bytes,
                   struct sl_status *status)
{
    struct stat info;
    FILE *file = fopen(path, "rb");
    char *text = NULL;
    sl_code code = SL_OK;
    if (!file || fstat(fileno(file), &info) != 0)
        code = sl_status_set(status, SL_E_READ, where, "", "The file can't be read: %s.",
                             strerror(errno));
    else if ((size_t)info.st_size > limit)
        code = sl_status_set(status, SL_E_TOO_LARGE, where, "Save fewer photos in one document.",
                             "The document has %lld MiB, more than the limit of %zu MiB.",
                             (long long)info.st_size >> 20, limit >> 20);
    else if (!(text = malloc((size_t)info.st_size + 1)))
        code = sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                             "There is not enough memory for the file.");
    else if (fread(text, 1, (size_t)info.st_size, file) != (size_t)info.st_size)
        code = sl_status_set(status, SL_E_READ, where, "", "The file can't be read.");
    if (file)
        fclose(file);
    if (code != SL_OK) {
        free(text);
        return code;
    }
    text[info.st_size] = '\0';
    *ret = text;
    *ret_bytes = (size_t)info.st_size;
    return SL_OK;
}

/* Takes `reading` over on success. */
static sl_code keep_reading(struct sl_page *page, struct sl_reading *reading, const char *name,
                            json_t *ids, struct sl_status *status)
{
    struct sl_document one;
    char id[PAGE_ID_MAX], path[PAGE_PATH_MAX], *text = NULL;
    sl_document_init(&one);
    one.reading = &reading;
    one.reading_count = 1;
    sl_code code = sl_report_json(&one, NULL, 0, &text, status);
    if (code != SL_OK)
        return code;
    pthread_mutex_lock(&page->lock);
    snprintf(id, sizeof id, "s%lu", page->next_id++);
    pthread_mutex_unlock(&page->lock);
    if (page_keep_path(page, id, path))
        code = sl_write_file(path, text, strlen(text), status);
    size_t bytes = strlen(text);
    free(text);
    if (code != SL_OK)
        return code;
    pthread_mutex_lock(&page->lock);
    struct page_photo *photo = page_add(page, id, name, true);
    if (photo && page_install(photo, reading)) {
        photo->bytes = bytes;
        json_array_append_new(ids, json_string(id));
        page_changed(page);
    } else {
        if (photo)
            page_remove(page, photo);
        code = sl_status_set(status, SL_E_TOO_LARGE, where, "Take some readings off the page.",
                             "The page holds %d saved readings, and no more fit.", PAGE_SAVED_MAX);
    }
    pthread_mutex_unlock(&page->lock);
    if (code != SL_OK)
        unlink(path);
    return code;
}

sl_code page_add_saved(struct sl_page *page, const char *text, size_t bytes, const char *name,
                       json_t *ids, struct sl_status *status)
{
    struct sl_document document;
    sl_document_init(&document);
    sl_code code = sl_report_json_load(text, bytes, name, &document, status);
    if (code == SL_OK && document.reading_count == 0)
        code = sl_status_set(status, SL_E_READING, where, "", "%s holds no reading.", name);
    if (code == SL_OK && document.reading_count > PAGE_SAVED_MAX)
        code = sl_status_set(status, SL_E_TOO_LARGE, where, "Save fewer photos in one document.",
                             "%s holds %zu readings, and the page takes %d.", name,
                             document.reading_count, PAGE_SAVED_MAX);
    for (size_t i = 0; code == SL_OK && i < document.reading_count; i++) {
        const char *file = document.reading[i]->photo.file, *slash = strrchr(file, '/');
        code = keep_reading(page, document.reading[i], slash ? slash + 1 : file, ids, status);
        if (code == SL_OK) { /* it belongs to the page now */
            document.reading[i] = NULL;
        }
    }
    sl_document_finish(&document);
    return code;
}

/* ---- after a restart ---- */

static bool is_id(const char *id, bool saved)
{
    size_t n = id ? strlen(id) : 0;
    return n > 1 && n < PAGE_ID_MAX && id[0] == (saved ? 's' : 'p') &&
           strspn(id + 1, "0123456789") == n - 1;
}

static void load_saved(struct page_photo *photo, const char *path)
{
    char *text = NULL;
    size_t bytes = 0;
    struct sl_document document;
    sl_document_init(&document);
    sl_code code = page_slurp(path, PAGE_SAVED_BYTES_MAX, &text, &bytes, &photo->problem);
    if (code == SL_OK)
        code = sl_report_json_load(text, bytes, photo->name, &document, &photo->problem);
    if (code == SL_OK && document.reading_count > 0 && page_install(photo, document.reading[0]))
        document.reading[0] = NULL;
    photo->phase = PAGE_DONE;
    photo->bytes = bytes;
    sl_document_finish(&document);
    free(text);
}

static void load_photo(struct sl_page *page, const json_t *json)
{
    const char *id = json_string_value(json_object_get(json, "id"));
    const char *name = json_string_value(json_object_get(json, "name"));
    bool saved = json_is_true(json_object_get(json, "saved"));
    char path[PAGE_PATH_MAX];
    struct stat info;
    if (!is_id(id, saved) || !name || page_find(page, id) || !page_keep_path(page, id, path) ||
        stat(path, &info) != 0)
        return;
    struct sl_reader *reader = NULL;
    if (!saved && sl_reader_open(path, name, &reader, NULL) != SL_OK)
        return;
    struct page_photo *photo = page_add(page, id, name, saved);
    if (!photo) {
        sl_reader_close(reader);
        return;
    }
    photo->bytes = (size_t)info.st_size;
    photo->reader = reader;
    photo->wanted = !saved;
    page_hand_parse(json_object_get(json, "hand"), &photo->hand, NULL);
    unsigned long number = strtoul(id + 1, NULL, 10);
    if (number >= page->next_id)
        page->next_id = number + 1;
    if (saved)
        load_saved(photo, path);
}

static void load_all(struct sl_page *page, const json_t *json)
{
    const json_t *photos = json_object_get(json, "photos"), *pairs = json_object_get(json, "pairs");
    json_int_t next = json_integer_value(json_object_get(json, "next_id"));
    if (next > 0)
        page->next_id = (unsigned long)next;
    page_conditions_parse(json_object_get(json, "conditions"), &page->conditions, NULL);
    for (size_t i = 0; i < json_array_size(photos); i++)
        load_photo(page, json_array_get(photos, i));
    for (size_t i = 0; i < json_array_size(pairs) && page->hand_pair_count < PAGE_PAIRS_MAX; i++)
        if (page_pair_parse(json_array_get(pairs, i), &page->hand_pair[page->hand_pair_count]))
            page->hand_pair_count++;
}

static void remove_strays(struct sl_page *page)
{
    char path[PAGE_PATH_MAX];
    if (!join(path, page->folder, "files"))
        return;
    DIR *folder = opendir(path);
    const struct dirent *entry;
    while (folder && (entry = readdir(folder)))
        if (entry->d_name[0] != '.' || strstr(entry->d_name, ".part"))
            if (!page_find(page, entry->d_name))
                page_keep_delete(page, entry->d_name);
    if (folder)
        closedir(folder);
}

/* What can't be understood is put aside, never overwritten. */
static void put_aside(struct sl_page *page, const char *path)
{
    char aside[PAGE_PATH_MAX];
    if (join(aside, page->folder, "state.damaged.json"))
        rename(path, aside);
    sl_status_set(&page->keep_problem, SL_E_READ, where, "Drop the photos once more.",
                  "The work kept in %.200s can't be read; it was put aside.", page->folder);
}

void page_keep_load(struct sl_page *page)
{
    char path[PAGE_PATH_MAX], *text = NULL;
    size_t bytes = 0;
    if (!join(path, page->folder, "state.json") || access(path, F_OK) != 0) {
        remove_strays(page);
        return;
    }
    json_t *json = NULL;
    if (page_slurp(path, PAGE_SAVED_BYTES_MAX, &text, &bytes, NULL) == SL_OK)
        json = json_loadb(text, bytes, 0, NULL);
    free(text);
    if (json_integer_value(json_object_get(json, "strandline_bench")) != KEEP_VERSION) {
        put_aside(page, path); /* its files stay for whoever can read it */
    } else {
        load_all(page, json);
        remove_strays(page);
    }
    json_decref(json);
    page_changed(page);
}
