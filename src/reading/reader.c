// SPDX-License-Identifier: GPL-3.0-or-later
#include "reading_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct sl_reader {
    char *path;
    char name[SL_PHOTO_NAME_MAX];
    struct sl_photo *photo; /* NULL while it rests */
    struct sl_warnings photo_warnings;
    struct sl_cancel cancel;
    void (*progress)(void *context, double part);
    void *progress_context;
    struct sl_read_memo memo;
};

sl_code sl_reader_open(const char *path, const char *name, struct sl_reader **ret,
                       struct sl_status *status)
{
    struct sl_reader *reader = calloc(1, sizeof *reader);
    size_t bytes = strlen(path) + 1;
    char *copy = malloc(bytes);
    if (!reader || !copy) {
        free(reader);
        free(copy);
        return sl_status_set(status, SL_E_MEMORY, "reading", "Close other programs.",
                             "there is not enough memory for one more photo");
    }
    reader->path = memcpy(copy, path, bytes);
    snprintf(reader->name, sizeof reader->name, "%s", name);
    *ret = reader;
    return SL_OK;
}

void sl_reader_rest(struct sl_reader *reader)
{
    sl_photo_close(reader->photo);
    reader->photo = NULL;
    sl_memo_rest(&reader->memo);
}

void sl_reader_close(struct sl_reader *reader)
{
    if (!reader)
        return;
    sl_reader_rest(reader);
    free(reader->path);
    free(reader);
}

void sl_reader_watch(struct sl_reader *reader, void (*progress)(void *context, double part),
                     void *context)
{
    reader->progress = progress;
    reader->progress_context = context;
}

void sl_reader_set_cancel(struct sl_reader *reader, struct sl_cancel cancel)
{
    reader->cancel = cancel;
}

static sl_code need_photo(struct sl_reader *reader, struct sl_status *status)
{
    sl_code code = SL_OK;
    if (!reader->photo) {
        reader->photo_warnings.count = 0;
        code = sl_photo_open_named(reader->path, reader->name, &reader->photo,
                                   &reader->photo_warnings, status);
    }
    if (code == SL_OK)
        sl_photo_set_cancel(reader->photo, reader->cancel);
    return code;
}

sl_code sl_reader_photo(struct sl_reader *reader, struct sl_photo **ret, struct sl_status *status)
{
    sl_code code = need_photo(reader, status);
    if (code == SL_OK)
        *ret = reader->photo;
    return code;
}

static sl_code need_sheet(struct sl_reader *reader, const struct sl_outline *outline,
                          struct sl_status *status)
{
    struct sl_sheet sheet = {0};
    if (sl_memo_sheet(&reader->memo, outline))
        return SL_OK;
    sl_code code = sl_sheet_straighten(reader->photo, outline, &sheet, status);
    if (code == SL_OK)
        sl_memo_keep_sheet(&reader->memo, outline, &sheet);
    sl_sheet_finish(&sheet);
    return code;
}

sl_code sl_reader_wake(struct sl_reader *reader, struct sl_status *status)
{
    sl_code code = need_photo(reader, status);
    if (code == SL_OK)
        code = sl_photo_keep_pixels(reader->photo, status);
    for (size_t i = 0; code == SL_OK && i < reader->memo.last_count; i++)
        code = need_sheet(reader, &reader->memo.last_key[i].found, status);
    return code;
}

sl_code sl_reader_read(struct sl_reader *reader, const struct sl_read_options *options,
                       const struct sl_reading *previous, struct sl_reading **ret,
                       struct sl_status *status)
{
    struct sl_status problem = {0};
    sl_code code = need_photo(reader, &problem);
    if (code != SL_OK)
        return sl_read_failed(reader->name, options, &reader->photo_warnings, &problem, ret,
                              status);
    struct sl_read_run run = {
        .photo = reader->photo,
        .options = options,
        .memo = &reader->memo,
        .previous = previous,
        .progress = reader->progress,
        .progress_context = reader->progress_context,
    };
    return sl_read_run(&run, &reader->photo_warnings, ret, status);
}
