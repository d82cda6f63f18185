// SPDX-License-Identifier: GPL-3.0-or-later
/* Photos and saved readings, told apart by content: JSON begins with a brace, no photo does. */
#include "cli.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* A reading has about a megabyte a photo; this holds several hundred. */
enum { READING_BYTES_MAX = 512 * 1024 * 1024 };

static bool is_reading(const char *path)
{
    struct stat info;
    if (stat(path, &info) != 0 || !S_ISREG(info.st_mode))
        return false;
    FILE *file = fopen(path, "rb");
    if (!file)
        return false;
    int c;
    do
        c = fgetc(file);
    while (c == ' ' || c == '\t' || c == '\n' || c == '\r');
    fclose(file);
    return c == '{';
}

static sl_code cannot_read(const char *path, struct sl_status *status)
{
    return sl_status_set(status, SL_E_READ, "cli/input", "", "%s can't be read: %s", path,
                         strerror(errno));
}

static sl_code slurp(const char *path, char **ret, size_t *ret_bytes, struct sl_status *status)
{
    FILE *file = fopen(path, "rb");
    char *text = NULL;
    sl_code code = SL_OK;
    struct stat info;
    if (!file || stat(path, &info) != 0) {
        code = cannot_read(path, status);
        goto done;
    }
    if (info.st_size > READING_BYTES_MAX) {
        code = sl_status_set(status, SL_E_TOO_LARGE, "cli/input", "",
                             "%s has %lld bytes, and a reading may have %d", path,
                             (long long)info.st_size, READING_BYTES_MAX);
        goto done;
    }
    size_t bytes = (size_t)info.st_size;
    text = malloc(bytes + 1);
    if (!text) {
        code = sl_status_set(status, SL_E_MEMORY, "cli/input", "Close other programs.",
                             "There is not enough memory to load %s", path);
        goto done;
    }
    if (fread(text, 1, bytes, file) != bytes) {
        code = cannot_read(path, status);
        goto done;
    }
    text[bytes] = '\0';
    *ret = text;
    *ret_bytes = bytes;
    text = NULL;
done:
    free(text);
    if (file)
        fclose(file);
    return code;
}

/* What --json-lines wrote has a whole document on its first line. */
static bool has_lines(const char *text)
{
    size_t n = strcspn(text, "\n");
    return n > 1 && text[n] && text[n - 1] == '}';
}

static sl_code load_reading(struct cli_session *session, const char *path, struct sl_status *status)
{
    char *text = NULL;
    size_t bytes = 0;
    sl_code code = slurp(path, &text, &bytes, status);
    if (code != SL_OK)
        return code;
    bool lines = has_lines(text);
    for (const char *at = text; code == SL_OK && at < text + bytes;) {
        const char *end = lines ? memchr(at, '\n', (size_t)(text + bytes - at)) : NULL;
        size_t n = (size_t)((end ? end : text + bytes) - at);
        if (n > 0)
            code = sl_report_json_load(at, n, path, &session->document, status);
        at += n + 1;
    }
    free(text);
    return code;
}

static void name_inks(struct cli_session *session, struct sl_reading *reading)
{
    const struct cli_options *o = session->options;
    for (size_t i = 0; i < reading->strip_count; i++, session->inks_used++)
        if (session->inks_used < o->ink_count) {
            const char *ink = o->ink[session->inks_used];
            snprintf(reading->strip[i].ink, SL_NAME_MAX, "%s", ink);
            snprintf(reading->settings.ink[i], SL_NAME_MAX, "%s", ink);
            reading->settings.ink_count = i + 1;
        }
}

static sl_code load_photo(struct cli_session *session, size_t index, struct sl_status *status)
{
    const struct cli_options *o = session->options;
    struct sl_reading *reading = NULL;
    sl_code code = SL_E_MEMORY;
    struct sl_read_options *settings = malloc(sizeof *settings);
    if (!settings)
        return sl_status_set(status, code, "cli/input", "Close other programs.",
                             "There is not enough memory to read the photo");
    sl_read_options_init(settings);
    settings->conditions = o->conditions;
    cli_hand_apply(&o->hand, index, settings);
    if (o->ink_count == 1) {
        settings->ink_count = 1;
        snprintf(settings->ink[0], SL_NAME_MAX, "%s", o->ink[0]);
    }
    code = sl_read(o->input[index], settings, &reading, status);
    if (code == SL_OK && o->ink_count > 1)
        name_inks(session, reading);
    if (code == SL_OK)
        code = sl_document_add(&session->document, reading, status);
    if (code != SL_OK)
        sl_reading_destroy(reading);
    free(settings);
    return code;
}

void cli_load(struct cli_session *session, size_t index)
{
    const char *path = session->options->input[index];
    struct sl_status status = {0};
    size_t first = session->document.reading_count;
    cli_progress(session->options, index);
    cli_signals_reading(true);
    sl_code code = is_reading(path) ? load_reading(session, path, &status)
                                    : load_photo(session, index, &status);
    cli_signals_reading(false);
    if (code != SL_OK)
        cli_fail(session, path, &status);
    for (size_t i = first; i < session->document.reading_count; i++) {
        const struct sl_reading *reading = session->document.reading[i];
        if (reading->error.code != SL_OK)
            cli_fail(session, reading->photo.file, &reading->error);
    }
}

bool cli_inks_fit(struct cli_session *session)
{
    size_t told = session->options->ink_count;
    if (told < 2 || told == session->inks_used || session->inks_used == 0)
        return true;
    struct sl_status status;
    sl_status_set(&status, SL_E_USAGE, "cli/input",
                  "Give --ink once for all strips, or once for each.",
                  "%zu inks were told, but the photos show %zu strip%s", told, session->inks_used,
                  session->inks_used == 1 ? "" : "s");
    cli_fail(session, NULL, &status);
    return false;
}
