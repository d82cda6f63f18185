// SPDX-License-Identifier: GPL-3.0-or-later
/* What can be taken away, through the same functions as from the command line. */
#include "page_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FIGURE_BYTES_MAX = 64 * 1024 * 1024, UNPROCESSABLE = 422 };

struct text_kind {
    const char *name, *type, *download;
    sl_code (*make)(const struct sl_document *document, char **ret, struct sl_status *status);
};

static sl_code make_json(const struct sl_document *document, char **ret, struct sl_status *status)
{
    return sl_report_json(document, NULL, 0, ret, status);
}

static sl_code make_html(const struct sl_document *document, char **ret, struct sl_status *status)
{
    return sl_report_html(document, NULL, ret, status);
}

static const struct text_kind text_kinds[] = {
    {"json", "application/json", "strandline.json", make_json},
    {"bands.csv", "text/csv; charset=utf-8", "bands.csv", sl_report_csv_bands},
    {"profiles.csv", "text/csv; charset=utf-8", "profiles.csv", sl_report_csv_profiles},
    {"report.html", "text/html; charset=utf-8", "report.html", make_html},
};

static const char *const figure_types[] = {[SL_FIGURE_PNG] = "image/png",
                                           [SL_FIGURE_SVG] = "image/svg+xml",
                                           [SL_FIGURE_PDF] = "application/pdf"};

static enum MHD_Result not_there(struct page_request *request)
{
    return page_answer_error(request, MHD_HTTP_NOT_FOUND, "not-found",
                             "There is no such pair, strip or kind of file.", "");
}

static enum MHD_Result answer_text(struct page_request *request, const struct text_kind *kind)
{
    struct sl_page *page = request->page;
    struct page_document document = {0};
    struct sl_status status = {0};
    char *text = NULL;
    pthread_mutex_lock(&page->draw_lock);
    pthread_mutex_lock(&page->lock);
    bool made = page_document_make(page, &document);
    pthread_mutex_unlock(&page->lock);
    sl_code code = made ? kind->make(&document.document, &text, &status)
                        : sl_status_set(&status, SL_E_MEMORY, "page", "Close other programs.",
                                        "There is not enough memory for the document.");
    page_document_finish(page, &document);
    pthread_mutex_unlock(&page->draw_lock);
    if (code != SL_OK)
        return page_answer_status(request, UNPROCESSABLE, &status);
    struct page_reply reply = {.http = MHD_HTTP_OK, .type = kind->type, .download = kind->download};
    return page_answer_bytes(request, &reply, text, strlen(text));
}

/* "p1.0" */
static bool parse_ref(const char *text, size_t length, struct page_ref *ret)
{
    const char *dot = memchr(text, '.', length);
    size_t id = dot ? (size_t)(dot - text) : 0;
    if (!dot || id == 0 || id >= sizeof ret->id || length != id + 2 || dot[1] < '0' ||
        dot[1] >= '0' + SL_STRIPS_MAX)
        return false;
    memcpy(ret->id, text, id);
    ret->id[id] = '\0';
    ret->strip = (size_t)(dot[1] - '0');
    return true;
}

static size_t parse_refs(const char *text, struct page_ref refs[SL_OVERLAY_MAX])
{
    size_t n = 0;
    while (text && *text) {
        size_t length = strcspn(text, ",");
        if (n == SL_OVERLAY_MAX || !parse_ref(text, length, &refs[n++]))
            return 0;
        text += length + (text[length] == ',');
    }
    return n;
}

enum subject { STRIP, PAIR, OVERLAY, REVIEW };

struct drawing {
    enum subject subject;
    enum sl_figure_format format;
    const struct sl_document *document;
    size_t pair; /* of the document */
    bool normalise, portrait;
};

static sl_code draw_overlay(const struct drawing *drawing, const struct sl_figure_options *options,
                            const char *path, struct sl_status *status)
{
    struct sl_overlay overlay = {0};
    sl_code code = sl_overlay_make(drawing->document, &overlay, status);
    if (code == SL_OK)
        code = sl_figure_overlay(drawing->document, &overlay, drawing->format, options, path, NULL,
                                 status);
    sl_overlay_finish(&overlay);
    return code;
}

static sl_code draw(const struct drawing *drawing, const char *path, struct sl_status *status)
{
    struct sl_figure_options options;
    /* a strip's or an overlay's document has no pairs */
    const struct sl_pair *pair =
        drawing->document->pair_count ? &drawing->document->pair[drawing->pair] : NULL;
    sl_figure_options_init(&options);
    options.normalise = drawing->normalise;
    switch (drawing->subject) {
    case STRIP:
        return sl_figure_strip(drawing->document->reading[0], 0, drawing->format, &options, path,
                               NULL, status);
    case PAIR:
        return sl_figure_pair(drawing->document, pair, drawing->format, &options, path, NULL,
                              status);
    case OVERLAY:
        return draw_overlay(drawing, &options, path, status);
    default:
        return sl_figure_review(drawing->document, pair,
                                drawing->portrait ? SL_REVIEW_PORTRAIT : SL_REVIEW_LANDSCAPE, path,
                                NULL, status);
    }
}

static enum MHD_Result answer_drawing(struct page_request *request, const struct drawing *drawing)
{
    struct sl_page *page = request->page;
    struct sl_status status = {0};
    char path[PAGE_PATH_MAX], *bytes = NULL;
    size_t count = 0;
    int file = page_keep_temporary(page, path);
    if (file < 0) {
        sl_status_set(&status, SL_E_WRITE, "page", "Make room on the disk.",
                      "The figure can't be written.");
        return page_answer_status(request, UNPROCESSABLE, &status);
    }
    close(file);
    pthread_mutex_lock(&page->draw_lock);
    sl_code code = draw(drawing, path, &status);
    pthread_mutex_unlock(&page->draw_lock);
    if (code == SL_OK)
        code = page_slurp(path, FIGURE_BYTES_MAX, &bytes, &count, &status);
    unlink(path);
    if (code != SL_OK)
        return page_answer_status(request, UNPROCESSABLE, &status);
    struct page_reply reply = {
        .http = MHD_HTTP_OK, .type = figure_types[drawing->format], .download = request->name};
    return page_answer_bytes(request, &reply, bytes, count);
}

/* Lock held. Whether all of them are readings of the page. */
static bool all_there(const struct sl_page *page, const struct page_ref *refs, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct page_photo *photo = page_find(page, refs[i].id);
        if (!photo || !photo->shared || refs[i].strip >= photo->shared->reading->strip_count)
            return false;
    }
    return count > 0;
}

static enum MHD_Result answer_picked(struct page_request *request, struct drawing *drawing)
{
    struct sl_page *page = request->page;
    struct page_document document = {0};
    struct page_ref refs[SL_OVERLAY_MAX];
    bool single = drawing->subject == STRIP;
    const char *told = MHD_lookup_connection_value(request->connection, MHD_GET_ARGUMENT_KIND,
                                                   single ? "strip" : "strips");
    size_t count = parse_refs(told, refs);
    pthread_mutex_lock(&page->lock);
    bool made = all_there(page, refs, count) && !(single && count > 1) &&
                page_document_pick(page, refs, count, &document);
    pthread_mutex_unlock(&page->lock);
    drawing->document = &document.document;
    enum MHD_Result result = made ? answer_drawing(request, drawing) : not_there(request);
    page_document_finish(page, &document);
    return result;
}

static enum MHD_Result answer_pair(struct page_request *request, struct drawing *drawing)
{
    struct sl_page *page = request->page;
    struct page_document document = {0};
    long n = -1;
    if (!page_query_number(request, "n", 0, PAGE_PAIRS_MAX, &n) || n < 0)
        return not_there(request);
    pthread_mutex_lock(&page->lock);
    bool made = (size_t)n < page->pair_count && page_document_make(page, &document);
    pthread_mutex_unlock(&page->lock);
    drawing->document = &document.document;
    drawing->pair = (size_t)n;
    enum MHD_Result result = made ? answer_drawing(request, drawing) : not_there(request);
    page_document_finish(page, &document);
    return result;
}

static bool figure_kind(const char *name, struct drawing *ret)
{
    static const char *const subjects[] = {
        [STRIP] = "strip", [PAIR] = "pair", [OVERLAY] = "overlay", [REVIEW] = "review"};
    static const char *const endings[] = {
        [SL_FIGURE_PNG] = "png", [SL_FIGURE_SVG] = "svg", [SL_FIGURE_PDF] = "pdf"};
    char whole[64];
    for (int s = STRIP; s <= REVIEW; s++)
        for (int f = SL_FIGURE_PNG; f <= SL_FIGURE_PDF; f++) {
            snprintf(whole, sizeof whole, "%s.%s", subjects[s], endings[f]);
            if (strcmp(whole, name) != 0)
                continue;
            ret->subject = (enum subject)s;
            ret->format = (enum sl_figure_format)f;
            return s != REVIEW || f == SL_FIGURE_PNG;
        }
    return false;
}

static enum MHD_Result answer_command(struct page_request *request)
{
    char *text = NULL;
    struct sl_status status = {0};
    if (page_command(request->page, &text, &status) != SL_OK)
        return page_answer_status(request, UNPROCESSABLE, &status);
    struct page_reply reply = {
        .http = MHD_HTTP_OK, .type = "text/plain; charset=utf-8", .download = "command.txt"};
    return page_answer_bytes(request, &reply, text, strlen(text));
}

enum MHD_Result page_get_export(struct sl_page *page, struct page_request *request)
{
    struct drawing drawing = {0};
    pthread_mutex_lock(&page->lock);
    page_close_readings(page);
    pthread_mutex_unlock(&page->lock);
    for (size_t i = 0; i < sizeof text_kinds / sizeof *text_kinds; i++)
        if (strcmp(text_kinds[i].name, request->name) == 0)
            return answer_text(request, &text_kinds[i]);
    if (strcmp(request->name, "command.txt") == 0)
        return answer_command(request);
    if (!figure_kind(request->name, &drawing))
        return not_there(request);
    const char *shape =
        MHD_lookup_connection_value(request->connection, MHD_GET_ARGUMENT_KIND, "shape");
    const char *normalise =
        MHD_lookup_connection_value(request->connection, MHD_GET_ARGUMENT_KIND, "normalise");
    drawing.portrait = shape && strcmp(shape, "portrait") == 0;
    drawing.normalise = normalise && strcmp(normalise, "1") == 0;
    return drawing.subject == STRIP || drawing.subject == OVERLAY ? answer_picked(request, &drawing)
                                                                  : answer_pair(request, &drawing);
}
