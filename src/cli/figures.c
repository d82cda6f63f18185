// SPDX-License-Identifier: GPL-3.0-or-later
/* Figures are named after their photo: harbour.jpg gives harbour-strip-1.png, harbour-pair-1.png;
 * an overlay gives overlay.png. */
#include "cli.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

static const char *const extensions[] = {
    [SL_FIGURE_PNG] = "png", [SL_FIGURE_SVG] = "svg", [SL_FIGURE_PDF] = "pdf"};
enum { FORMATS = sizeof extensions / sizeof *extensions };

enum { STEM_MAX = 160 };

/* The folder and those above it, as far as they are missing. */
static sl_code make_folder(const char *path, struct sl_status *status)
{
    char part[PATH_MAX];
    size_t n = strlen(path);
    if (n == 0 || n >= sizeof part)
        return sl_status_set(status, SL_E_WRITE, "cli/figures", "Name another folder.",
                             "The folder's name \"%.40s\" can't be used", path);
    for (size_t i = 1; i <= n; i++) {
        if (path[i] != '/' && path[i] != '\0')
            continue;
        memcpy(part, path, i);
        part[i] = '\0';
        struct stat info;
        if ((mkdir(part, 0777) != 0 && errno != EEXIST) || stat(part, &info) != 0)
            return sl_status_set(status, SL_E_WRITE, "cli/figures",
                                 "Name a folder that you may write to.",
                                 "The folder %s can't be made: %s", part, strerror(errno));
        if (!S_ISDIR(info.st_mode))
            return sl_status_set(status, SL_E_WRITE, "cli/figures", "Name another folder.",
                                 "%s is a file, and a folder is needed for the figures", part);
    }
    return SL_OK;
}

static void stem_of(const char *file, char ret[STEM_MAX])
{
    const char *slash = strrchr(file, '/');
    const char *name = slash ? slash + 1 : file;
    const char *dot = strrchr(name, '.');
    size_t n = dot && dot > name ? (size_t)(dot - name) : strlen(name);
    snprintf(ret, STEM_MAX, "%.*s", (int)(n < STEM_MAX ? n : STEM_MAX - 1), name);
}

/* The photo's name without folder and ending, numbered where two photos share it. */
static void label_of(const struct sl_document *document, size_t photo, char ret[STEM_MAX + 32])
{
    char stem[STEM_MAX], other[STEM_MAX];
    size_t earlier = 0;
    stem_of(document->reading[photo]->photo.file, stem);
    for (size_t i = 0; i < photo; i++) {
        stem_of(document->reading[i]->photo.file, other);
        earlier += strcmp(stem, other) == 0;
    }
    if (earlier)
        snprintf(ret, STEM_MAX + 32, "%s-photo-%zu", stem, earlier + 1);
    else
        snprintf(ret, STEM_MAX + 32, "%s", stem);
}

/* What one figure is of: an overlay, a pair, replicates or a strip, or how a strip was read from
 * its photo. */
struct subject {
    const struct sl_overlay *overlay;
    const struct sl_pair *pair;
    const struct sl_replicate *replicate;
    struct sl_strip_ref strip;
    struct sl_photo *photo; /* NULL: not how it was read */
};

static sl_code draw(struct cli_session *session, const struct subject *subject,
                    enum sl_figure_format format, const char *path, struct sl_status *status)
{
    struct sl_figure_options options;
    struct sl_warnings warnings = {0};
    const struct sl_document *document = &session->document;
    sl_figure_options_init(&options);
    options.normalise = session->options->normalise;
    sl_code code = cli_check_not_input(session->options, path, status);
    if (code != SL_OK)
        return code;
    if (subject->overlay)
        code = sl_figure_overlay(document, subject->overlay, format, &options, path, &warnings,
                                 status);
    else if (subject->pair)
        code = sl_figure_pair(document, subject->pair, format, &options, path, &warnings, status);
    else if (subject->replicate)
        code = sl_figure_replicate(document, subject->replicate, format, &options, path, &warnings,
                                   status);
    else if (subject->photo)
        code = sl_figure_steps(subject->photo, document->reading[subject->strip.photo],
                               subject->strip.strip, format, &options, path, &warnings, status);
    else
        code = sl_figure_strip(document->reading[subject->strip.photo], subject->strip.strip,
                               format, &options, path, &warnings, status);
    for (size_t i = 0; i < warnings.count && !session->options->quiet; i++)
        cli_message(path, &warnings.item[i]);
    return code;
}

/* Every wanted format; false once a figure could not be written: the next ones could not either. */
static bool emit(struct cli_session *session, const struct subject *subject, const char *name)
{
    char path[PATH_MAX];
    struct sl_status status;
    for (size_t f = 0; f < FORMATS && !cli_stopped(); f++) {
        if (!(session->options->figure_formats & (1u << f)))
            continue;
        int n =
            snprintf(path, sizeof path, "%s/%s.%s", session->options->figures, name, extensions[f]);
        if (n < 0 || (size_t)n >= sizeof path)
            sl_status_set(&status, SL_E_WRITE, "cli/figures", "Name a shorter folder.",
                          "The name of the figure %s is too long", name);
        else if (draw(session, subject, (enum sl_figure_format)f, path, &status) == SL_OK)
            continue;
        if (!cli_stopped())
            cli_fail(session, path, &status);
        return false;
    }
    return true;
}

static bool emit_strips(struct cli_session *session, size_t photo)
{
    const struct sl_reading *reading = session->document.reading[photo];
    char label[STEM_MAX + 32], name[STEM_MAX + 64];
    label_of(&session->document, photo, label);
    for (size_t i = 0; i < reading->strip_count; i++) {
        struct subject subject = {.strip = {photo, i}};
        snprintf(name, sizeof name, "%s-strip-%zu", label, i + 1);
        if (!emit(session, &subject, name))
            return false;
    }
    return true;
}

/* The photo that the reading is of; a saved reading's may have moved or changed. */
static sl_code open_again(const struct sl_reading *reading, struct sl_photo **ret,
                          struct sl_status *status)
{
    const char *file = reading->photo.file;
    sl_code code = sl_photo_open(file, ret, NULL, status);
    if (code != SL_OK || strcmp(sl_photo_info(*ret)->sha256, reading->photo.sha256) == 0)
        return code;
    sl_photo_close(*ret);
    *ret = NULL;
    return sl_status_set(status, SL_E_NO_FILE, "cli/figures", "Read the photo anew.",
                         "How the strips were read can't be drawn: %s is not the photo that the "
                         "saved reading was made of",
                         file);
}

static bool is_stopped(void *context)
{
    (void)context;
    return cli_stopped();
}

static bool emit_steps(struct cli_session *session, size_t photo)
{
    const struct sl_reading *reading = session->document.reading[photo];
    char label[STEM_MAX + 32], name[STEM_MAX + 64];
    struct subject subject = {.strip = {photo, 0}};
    struct sl_status status;
    if (!reading->strip_count)
        return true;
    if (open_again(reading, &subject.photo, &status) != SL_OK) {
        cli_fail(session, reading->photo.file, &status);
        return true; /* the other photos' can still be drawn */
    }
    sl_photo_set_cancel(subject.photo, (struct sl_cancel){is_stopped, NULL});
    bool written = true;
    label_of(&session->document, photo, label);
    for (size_t i = 0; written && i < reading->strip_count; i++) {
        subject.strip.strip = i;
        snprintf(name, sizeof name, "%s-steps-%zu", label, i + 1);
        written = emit(session, &subject, name);
    }
    sl_photo_close(subject.photo);
    return written;
}

static bool emit_pairs(struct cli_session *session)
{
    const struct sl_document *document = &session->document;
    char label[STEM_MAX + 32], name[STEM_MAX + 64];
    for (size_t i = 0; i < document->pair_count; i++) {
        struct subject subject = {.pair = &document->pair[i]};
        size_t photo = subject.pair->immediate.photo, number = 1;
        for (size_t k = 0; k < i; k++)
            number += document->pair[k].immediate.photo == photo;
        label_of(document, photo, label);
        snprintf(name, sizeof name, "%s-pair-%zu", label, number);
        if (!emit(session, &subject, name))
            return false;
    }
    return true;
}

static bool emit_replicates(struct cli_session *session)
{
    char name[STEM_MAX];
    for (size_t i = 0; i < session->document.replicate_count; i++) {
        struct subject subject = {.replicate = &session->document.replicate[i]};
        snprintf(name, sizeof name, "together-%zu", i + 1);
        if (!emit(session, &subject, name))
            return false;
    }
    return true;
}

void cli_emit_figures(struct cli_session *session, const struct sl_overlay *overlay)
{
    struct sl_status status;
    if (make_folder(session->options->figures, &status) != SL_OK) {
        cli_fail(session, session->options->figures, &status);
        return;
    }
    struct subject all = {.overlay = overlay};
    if ((overlay && !emit(session, &all, "overlay")) || !emit_pairs(session) ||
        !emit_replicates(session))
        return;
    for (size_t i = 0; i < session->document.reading_count; i++)
        if (!emit_strips(session, i) || (session->options->steps && !emit_steps(session, i)))
            return;
}
