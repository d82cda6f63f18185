// SPDX-License-Identifier: GPL-3.0-or-later
/* What a start can't read, or has no list of, goes into a folder of its own: aside-DATE, or
 * aside-DATE-2 where that is there already. It is laid out as the private folder is, so that it can
 * be put back, and is never touched again. */
#include "page_internal.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static const char where[] = "page/aside";

static sl_code cannot(const struct sl_page *page, struct sl_status *status)
{
    return sl_status_set(status, SL_E_WRITE, where,
                         "Make room on the disk, or set XDG_STATE_HOME to another folder.",
                         "A part of the work kept in %.180s must be put aside and can't be: %s.",
                         page->folder, strerror(errno));
}

/* A folder that was not there before. */
static bool make_folder(const struct sl_page *page, struct page_aside *aside)
{
    char day[16];
    struct tm local;
    time_t now = time(NULL);
    localtime_r(&now, &local);
    strftime(day, sizeof day, "%Y-%m-%d", &local);
    for (int i = 1;; i++) {
        int n = snprintf(aside->name, sizeof aside->name, "aside-%s", day);
        if (i > 1)
            snprintf(aside->name + n, sizeof aside->name - (size_t)n, "-%d", i);
        if (!page_keep_join(aside->path, page->folder, aside->name))
            return false;
        if (mkdir(aside->path, 0700) == 0)
            return true;
        if (errno != EEXIST)
            return false;
    }
}

static bool make(const struct sl_page *page, struct page_aside *aside)
{
    char files[PAGE_PATH_MAX];
    if (aside->name[0])
        return true;
    if (!make_folder(page, aside))
        return false;
    if (page_keep_join(files, aside->path, "files") && mkdir(files, 0700) == 0)
        return true;
    int error = errno;
    rmdir(aside->path); /* the next start would leave another one */
    errno = error;
    return false;
}

sl_code page_aside_put(const struct sl_page *page, struct page_aside *aside, const char *name,
                       struct sl_status *status)
{
    char from[PAGE_PATH_MAX], to[PAGE_PATH_MAX];
    if (!make(page, aside) || !page_keep_join(from, page->folder, name) ||
        !page_keep_join(to, aside->path, name) || rename(from, to) != 0)
        return cannot(page, status);
    return SL_OK;
}

sl_code page_aside_copy(const struct sl_page *page, struct page_aside *aside, const char *name,
                        const char *text, struct sl_status *status)
{
    char to[PAGE_PATH_MAX];
    if (!make(page, aside) || !page_keep_join(to, aside->path, name))
        return cannot(page, status);
    return sl_write_file(to, text, strlen(text), status);
}

/* What sl_write_file was cut off in: nobody was told that it is kept. */
static bool is_part(const char *name)
{
    static const char begin[] = ".strandline-", end[] = ".part";
    size_t n = strlen(name), least = strlen(begin) + strlen(end);
    return n > least && strncmp(name, begin, strlen(begin)) == 0 &&
           strcmp(name + n - strlen(end), end) == 0;
}

static bool is_file(DIR *folder, const char *name)
{
    struct stat info;
    return fstatat(dirfd(folder), name, &info, AT_SYMLINK_NOFOLLOW) == 0 && S_ISREG(info.st_mode);
}

static sl_code look_at(struct sl_page *page, DIR *folder, const char *name,
                       struct page_aside *aside, struct sl_status *status)
{
    char below[PAGE_PATH_MAX];
    bool unfinished = is_part(name) || (aside && page_keep_is_upload(name));
    bool stray = aside && page_keep_is_id(name) && !page_find(page, name);
    if ((!unfinished && !stray) || !is_file(folder, name))
        return SL_OK;
    if (unfinished)
        return unlinkat(dirfd(folder), name, 0) == 0 ? SL_OK : cannot(page, status);
    aside->files++;
    page_keep_join(below, "files", name);
    return page_aside_put(page, aside, below, status);
}

/* `aside`: NULL where no photos lie. */
static sl_code look_through(struct sl_page *page, const char *path, struct page_aside *aside,
                            struct sl_status *status)
{
    sl_code code = SL_OK;
    const struct dirent *entry;
    DIR *folder = opendir(path);
    if (!folder)
        return cannot(page, status);
    while (code == SL_OK && (entry = readdir(folder)))
        code = look_at(page, folder, entry->d_name, aside, status);
    closedir(folder);
    return code;
}

sl_code page_aside_strays(struct sl_page *page, struct page_aside *aside, struct sl_status *status)
{
    char files[PAGE_PATH_MAX], kept[PAGE_PATH_MAX];
    if (!page_keep_join(files, page->folder, "files"))
        return cannot(page, status);
    sl_code code = look_through(page, page->folder, NULL, status);
    if (code == SL_OK)
        code = look_through(page, files, aside, status);
    if (code != SL_OK || !aside->name[0])
        return code;
    if (page_keep_join(kept, aside->path, "files") && page_keep_sync(kept) &&
        page_keep_sync(aside->path) && page_keep_sync(files) && page_keep_sync(page->folder))
        return SL_OK;
    return cannot(page, status);
}
