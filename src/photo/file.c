// SPDX-License-Identifier: GPL-3.0-or-later
#include "photo/decoder.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char *where = "photo/file";

static sl_code cannot_open(const char *path, int error, struct sl_status *status)
{
    if (error == ENOENT || error == ENOTDIR)
        return sl_status_set(status, SL_E_NO_FILE, where, "Check the name and the folder.",
                             "There is no file %s.", path);
    return sl_status_set(status, SL_E_READ, where, "Check that you may read the file.",
                         "%s can't be read: %s.", path, strerror(error));
}

static sl_code check_kind(const char *path, const struct stat *info, struct sl_status *status)
{
    if (S_ISDIR(info->st_mode))
        return sl_status_set(status, SL_E_NOT_A_FILE, where, "Name the photos in it one by one.",
                             "%s is a folder, not a photo.", path);
    if (!S_ISREG(info->st_mode))
        return sl_status_set(status, SL_E_NOT_A_FILE, where, "Save the photo to a file first.",
                             "%s is not an ordinary file.", path);
    if (info->st_size == 0)
        return sl_status_set(status, SL_E_EMPTY_FILE, where, "Copy the photo again.",
                             "%s is empty.", path);
    if (info->st_size > SL_PHOTO_FILE_BYTES_MAX)
        return sl_status_set(status, SL_E_TOO_LARGE, where, "Export the photo as JPEG.",
                             "%s has %lld MiB, more than the limit of %d MiB.", path,
                             (long long)info->st_size >> 20, SL_PHOTO_FILE_BYTES_MAX >> 20);
    return SL_OK;
}

sl_code file_read(const char *path, uint8_t **ret_bytes, size_t *ret_count,
                  struct sl_status *status)
{
    struct stat info;
    if (stat(path, &info) != 0)
        return cannot_open(path, errno, status);
    sl_code code = check_kind(path, &info, status);
    if (code)
        return code;
    FILE *file = fopen(path, "rb");
    if (!file)
        return cannot_open(path, errno, status);
    size_t count = (size_t)info.st_size;
    uint8_t *bytes = malloc(count);
    if (!bytes) {
        code = sl_status_set(status, SL_E_MEMORY, where, "Close other programs and try again.",
                             "There is not enough memory to read %s.", path);
        goto done;
    }
    if (fread(bytes, 1, count, file) != count) {
        code = cannot_open(path, errno ? errno : EIO, status);
        goto done;
    }
    *ret_bytes = bytes;
    *ret_count = count;
    bytes = NULL;
done:
    free(bytes);
    fclose(file);
    return code;
}
