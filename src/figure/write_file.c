// SPDX-License-Identifier: GPL-3.0-or-later
/* A file that appears whole or not at all.
 *
 * 1. Follow symbolic links, so that the file behind one is replaced and not the link.
 * 2. Write everything to a new file in the same folder, and have it reach the disk.
 * 3. Rename it over the target: readers see the old file or the new one, never a part.
 * On any failure the new file is removed and an old target stays as it was. A target that is no
 * plain file (a pipe, a terminal, /dev/null) can't be replaced and is written to directly. */
#define _XOPEN_SOURCE 700 /* realpath, symbolic links */

#include "strandline/figure.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define WHERE "figure/write"

enum { NAME_TRIES = 100 };

static const char *remedy_for(int error)
{
    switch (error) {
    case ENOENT:
    case ENOTDIR:
        return "Make the folder first, or name one that is there.";
    case EACCES:
    case EPERM:
    case EROFS:
        return "Name a folder that you may write to.";
    case ENOSPC:
    case EDQUOT:
        return "Make room on the disk, or name a folder on another one.";
    case EISDIR:
        return "Name a file, not a folder.";
    case ENAMETOOLONG:
        return "Name a shorter file.";
    default:
        return "Check the disk, or name another folder.";
    }
}

static const char *cause_of(int error)
{
    switch (error) {
    case ENOENT:
    case ENOTDIR:
        return "its folder does not exist";
    case EACCES:
    case EPERM:
        return "this folder or file may not be written to";
    case EROFS:
        return "the disk is read-only";
    case ENOSPC:
        return "the disk is full";
    case EDQUOT:
        return "your share of the disk is used up";
    case EISDIR:
        return "a folder has this name";
    case ENAMETOOLONG:
        return "its name is too long";
    case EFBIG:
        return "it would pass the limit of a file's size";
    case EPIPE:
        return "the reader has gone";
    default:
        return "writing to the disk failed";
    }
}

static sl_code fail(struct sl_status *status, const char *path, int error)
{
    return sl_status_set(status, SL_E_WRITE, WHERE, remedy_for(error), "%s can't be written: %s.",
                         path, cause_of(error));
}

static int write_all(int fd, const unsigned char *bytes, size_t count)
{
    while (count > 0) {
        ssize_t n = write(fd, bytes, count < SSIZE_MAX ? count : SSIZE_MAX);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return errno;
        bytes += n;
        count -= (size_t)n;
    }
    return 0;
}

/* The error of the first step that failed; close can report a full disk, so it is looked at. */
static int write_and_close(int fd, const void *bytes, size_t count, bool sync)
{
    int error = write_all(fd, bytes, count);
    if (!error && sync && fsync(fd) != 0)
        error = errno;
    if (close(fd) != 0 && !error)
        error = errno;
    return error;
}

static int write_directly(const char *path, const void *bytes, size_t count)
{
    int fd = open(path, O_WRONLY | O_CLOEXEC);
    return fd < 0 ? errno : write_and_close(fd, bytes, count, false);
}

/* A new file beside `target`; mode 0666 less the user's umask, as for any file a program makes. */
static int open_beside(const char *target, char *ret_name, size_t size)
{
    const char *slash = strrchr(target, '/');
    int folder = slash ? (int)(slash - target) + 1 : 0;
    for (int i = 0; i < NAME_TRIES; i++) {
        int n = snprintf(ret_name, size, "%.*s.strandline-%ld-%d.part", folder, target,
                         (long)getpid(), i);
        if (n < 0 || (size_t)n >= size) {
            errno = ENAMETOOLONG;
            return -1;
        }
        int fd = open(ret_name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (fd >= 0 || errno != EEXIST)
            return fd;
    }
    return -1;
}

static int replace(const char *target, const mode_t *mode, const void *bytes, size_t count)
{
    char part[PATH_MAX + 64];
    int fd = open_beside(target, part, sizeof part);
    if (fd < 0)
        return errno;
    int error = mode && fchmod(fd, *mode & 07777) != 0 ? errno : 0;
    int write_error = write_and_close(fd, bytes, count, true);
    if (!error)
        error = write_error;
    if (!error && rename(part, target) != 0)
        error = errno;
    if (error)
        unlink(part);
    return error;
}

sl_code sl_write_file(const char *path, const void *bytes, size_t count, struct sl_status *status)
{
    struct stat info;
    bool exists = stat(path, &info) == 0;
    if (!exists && errno != ENOENT)
        return fail(status, path, errno);
    if (exists && S_ISDIR(info.st_mode))
        return fail(status, path, EISDIR);
    if (*path && path[strlen(path) - 1] == '/')
        return fail(status, path, EISDIR);
    int error;
    if (exists && !S_ISREG(info.st_mode)) {
        error = write_directly(path, bytes, count);
    } else {
        char *real = exists ? realpath(path, NULL) : NULL;
        if (exists && access(path, W_OK) != 0)
            error =
                errno; /* a write-protected file is not to be replaced behind its owner's back */
        else
            error = replace(real ? real : path, exists ? &info.st_mode : NULL, bytes, count);
        free(real);
    }
    return error ? fail(status, path, error) : SL_OK;
}
