// SPDX-License-Identifier: GPL-3.0-or-later
/* The private folder: what is on the page survives the browser, this program and a power cut.
 *
 * state.json   names, values set by hand, pairs, conditions (save.c, restore.c)
 * files/ID     the photos as they came in, and saved readings; a name is never given twice
 * aside-DATE   what a start could not read or has no list of (aside.c)
 * lock         held while a page runs: two pages may not write into one folder
 * The folders are 0700 and the files 0600. What is not of these names is another's: it is left
 * alone. */
#define _DEFAULT_SOURCE /* flock */

#include "page_internal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static const char where[] = "page/keep";
static const char upload[] = "new-"; /* and random digits: a file that is still coming in */
enum { UPLOAD_BYTES = 8 };

static sl_code cannot(struct sl_status *status, const char *path)
{
    return sl_status_set(status, SL_E_WRITE, where,
                         "Set XDG_STATE_HOME to a folder that you may write to.",
                         "The page can't keep its work in %.200s: %s.", path, strerror(errno));
}

bool page_keep_join(char ret[PAGE_PATH_MAX], const char *folder, const char *name)
{
    int n = snprintf(ret, PAGE_PATH_MAX, "%s/%s", folder, name);
    if (n > 0 && n < PAGE_PATH_MAX)
        return true;
    errno = ENAMETOOLONG;
    return false;
}

bool page_keep_sync(const char *folder)
{
    int file = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (file < 0)
        return false;
    bool done = fsync(file) == 0 || errno == EINVAL; /* a file system that knows no such thing */
    int error = errno;
    close(file);
    errno = error;
    return done;
}

/* A folder is there after a power cut once the one above it is on the disk: as far as that one may
 * be read. */
static bool make_one(char *path)
{
    if (mkdir(path, 0700) != 0)
        return errno == EEXIST;
    char *slash = strrchr(path, '/');
    if (!slash || slash == path)
        return true;
    *slash = '\0';
    page_keep_sync(path);
    *slash = '/';
    return true;
}

/* The folder and those above it; the last one for the user alone. */
static bool make_folder(char *path)
{
    for (char *c = path + 1; *c; c++) {
        if (*c != '/')
            continue;
        *c = '\0';
        bool made = make_one(path);
        *c = '/';
        if (!made)
            return false;
    }
    struct stat info;
    if (!make_one(path) || stat(path, &info) != 0)
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
        return page_keep_join(ret, state, "strandline/bench");
    return home && home[0] == '/' && page_keep_join(ret, home, ".local/state/strandline/bench");
}

bool page_keep_path(const struct sl_page *page, const char *name, char ret[PAGE_PATH_MAX])
{
    char files[PAGE_PATH_MAX];
    return page_keep_join(files, page->folder, "files") && page_keep_join(ret, files, name);
}

static sl_code take_lock(struct sl_page *page, struct sl_status *status)
{
    char path[PAGE_PATH_MAX];
    if (!page_keep_join(path, page->folder, "lock"))
        return cannot(status, page->folder);
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
    if (!make_folder(page->folder) || !page_keep_join(files, page->folder, "files") ||
        !make_folder(files))
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
    char name[sizeof upload + 2 * UPLOAD_BYTES];
    memcpy(name, upload, sizeof upload);
    if (!page_random_hex(name + strlen(upload), UPLOAD_BYTES) || !page_keep_path(page, name, ret)) {
        ret[0] = '\0';
        return -1;
    }
    int file = open(ret, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file < 0)
        ret[0] = '\0';
    return file;
}

bool page_keep_is_upload(const char *name)
{
    size_t n = strlen(upload);
    return strncmp(name, upload, n) == 0 && strlen(name + n) == 2 * UPLOAD_BYTES &&
           strspn(name + n, "0123456789abcdef") == 2 * UPLOAD_BYTES;
}

bool page_keep_is_id(const char *name)
{
    size_t n = strlen(name);
    return n > 1 && n < PAGE_ID_MAX && (name[0] == 'p' || name[0] == 's') && name[1] != '0' &&
           strspn(name + 1, "0123456789") == n - 1;
}

bool page_keep_claim(struct sl_page *page, char kind, char id[PAGE_ID_MAX],
                     char path[PAGE_PATH_MAX])
{
    for (;;) {
        pthread_mutex_lock(&page->lock);
        do
            snprintf(id, PAGE_ID_MAX, "%c%lu", kind, page->next_id++);
        while (page_find(page, id)); /* its file may be missing */
        pthread_mutex_unlock(&page->lock);
        int file = -1;
        if (page_keep_path(page, id, path))
            file = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
        if (file >= 0) {
            close(file);
            return true;
        }
        if (errno != EEXIST)
            return false;
    }
}

bool page_keep_sync_files(const struct sl_page *page)
{
    char files[PAGE_PATH_MAX];
    return page_keep_join(files, page->folder, "files") && page_keep_sync(files);
}

void page_keep_delete(const struct sl_page *page, const char *id)
{
    char path[PAGE_PATH_MAX];
    if (page_keep_path(page, id, path))
        unlink(path);
}

sl_code page_slurp(const char *path, size_t limit, char **ret, size_t *ret_bytes,
                   struct sl_status *status)
{
    struct stat info;
    bool there = stat(path, &info) == 0, plain = there && S_ISREG(info.st_mode);
    FILE *file = plain ? fopen(path, "rb") : NULL; /* a pipe would never end */
    char *text = NULL;
    sl_code code = SL_OK;
    if (!file || fstat(fileno(file), &info) != 0)
        code = sl_status_set(status, SL_E_READ, where, "", "The file can't be read: %s.",
                             there && !plain ? "it is no plain file" : strerror(errno));
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

static sl_code keep_text(struct sl_page *page, const char *text, size_t bytes, char id[PAGE_ID_MAX],
                         struct sl_status *status)
{
    char path[PAGE_PATH_MAX];
    if (!page_keep_claim(page, 's', id, path))
        return cannot(status, page->folder);
    sl_code code = sl_write_file(path, text, bytes, status);
    if (code == SL_OK && !page_keep_sync_files(page))
        code = cannot(status, page->folder);
    if (code != SL_OK)
        page_keep_delete(page, id);
    return code;
}

/* Takes `reading` over on success. */
static sl_code keep_reading(struct sl_page *page, struct sl_reading *reading, const char *name,
                            json_t *ids, struct sl_status *status)
{
    struct sl_document one;
    char id[PAGE_ID_MAX], *text = NULL;
    sl_document_init(&one);
    one.reading = &reading;
    one.reading_count = 1;
    sl_code code = sl_report_json(&one, NULL, 0, &text, status);
    if (code != SL_OK)
        return code;
    size_t bytes = strlen(text);
    code = keep_text(page, text, bytes, id, status);
    free(text);
    if (code != SL_OK)
        return code;
    pthread_mutex_lock(&page->lock);
    struct page_photo *photo = page_add(page, id, name, true);
    if (photo && page_install(photo, reading)) {
        photo->bytes = bytes;
        json_array_append_new(ids, json_string(id));
        page_changed(page);
        page_edited(page);
    } else {
        if (photo)
            page_remove(page, photo);
        code = sl_status_set(status, SL_E_TOO_LARGE, where, "Take some readings off the page.",
                             "The page holds %d saved readings, and no more fit.", PAGE_SAVED_MAX);
    }
    pthread_mutex_unlock(&page->lock);
    if (code != SL_OK)
        page_keep_delete(page, id);
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
