// SPDX-License-Identifier: GPL-3.0-or-later
/* From the private folder back onto the page, without losing any of it.
 *
 * 1. state.json as a whole can't be read, or is of a newer program: it is put aside, and so are all
 *    the files that it would have named.
 * 2. A part of it can't be understood: the rest is loaded, and a copy is put aside.
 * 3. A photo whose file is missing or has another size stays on the page with what was set by hand:
 *    the file may come back.
 * 4. Files that no list names are put aside.
 * What was done is told. */
#include "page_internal.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char where[] = "page/restore", list_name[] = "state.json";
static const json_int_t next_id_max = 1000000000000; /* what fits into an id; nobody comes so far */

struct losses {
    size_t count;
    char name[SL_PHOTO_NAME_MAX], id[PAGE_ID_MAX]; /* of the first one */
};

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
    sl_document_finish(&document);
    free(text);
}

/* `kept_bytes`: 0 where an older program did not note them. */
static void note_size(struct page_photo *photo, const char *path, json_int_t kept_bytes,
                      struct losses *losses)
{
    struct stat info;
    bool there = stat(path, &info) == 0 && S_ISREG(info.st_mode);
    photo->bytes = kept_bytes > 0 ? (size_t)kept_bytes : there ? (size_t)info.st_size : 0;
    if (there && (size_t)info.st_size == photo->bytes)
        return;
    if (losses->count++ == 0) {
        memcpy(losses->name, photo->name, sizeof losses->name);
        memcpy(losses->id, photo->id, sizeof losses->id);
    }
}

/* False: not understood as a whole. */
static bool load_photo(struct sl_page *page, const json_t *json, struct losses *losses)
{
    const char *id = json_string_value(json_object_get(json, "id"));
    const char *name = json_string_value(json_object_get(json, "name"));
    const json_t *is_saved = json_object_get(json, "saved");
    bool saved = json_is_true(is_saved);
    char path[PAGE_PATH_MAX];
    if (!id || !page_keep_is_id(id) || id[0] != (saved ? 's' : 'p') || !json_is_boolean(is_saved) ||
        !name || strlen(name) >= SL_PHOTO_NAME_MAX || page_find(page, id) ||
        !page_keep_path(page, id, path))
        return false;
    struct sl_reader *reader = NULL;
    if (!saved && sl_reader_open(path, name, &reader, NULL) != SL_OK)
        return false;
    struct page_photo *photo = page_add(page, id, name, saved);
    if (!photo) {
        sl_reader_close(reader);
        return false;
    }
    photo->reader = reader;
    photo->wanted = !saved;
    note_size(photo, path, json_integer_value(json_object_get(json, "bytes")), losses);
    if (saved)
        load_saved(photo, path);
    return page_hand_parse(json_object_get(json, "hand"), &photo->hand, NULL) == SL_OK;
}

static bool load_pairs(struct sl_page *page, const json_t *pairs)
{
    bool sound = json_is_array(pairs);
    for (size_t i = 0; i < json_array_size(pairs); i++) {
        struct page_pair pair;
        if (page->hand_pair_count < PAGE_PAIRS_MAX &&
            page_pair_parse(json_array_get(pairs, i), &pair))
            page->hand_pair[page->hand_pair_count++] = pair;
        else
            sound = false;
    }
    return sound;
}

/* False: not understood as a whole. */
static bool load_all(struct sl_page *page, const json_t *json, struct losses *losses)
{
    const json_t *photos = json_object_get(json, "photos");
    json_int_t next = json_integer_value(json_object_get(json, "next_id"));
    bool sound = json_is_array(photos) && next > 0 && next <= next_id_max;
    if (next > 0 && next <= next_id_max)
        page->next_id = (unsigned long)next;
    for (size_t i = 0; i < json_array_size(photos); i++)
        sound = load_photo(page, json_array_get(photos, i), losses) && sound;
    sound = load_pairs(page, json_object_get(json, "pairs")) && sound;
    return page_conditions_parse(json_object_get(json, "conditions"), &page->conditions, NULL) ==
               SL_OK &&
           sound;
}

static void tell_losses(struct sl_page *page, const struct losses *losses)
{
    static const char remedy[] =
        "Put it back as it was and start again, or drop the photo once more and take this one off "
        "the page: what was set by hand stays until then.";
    char path[PAGE_PATH_MAX] = "";
    page_keep_path(page, losses->id, path);
    if (losses->count == 1)
        sl_warn(&page->told, SL_E_DAMAGED, where, remedy,
                "The kept file of %s is missing or has another size: %s", losses->name, path);
    if (losses->count > 1)
        sl_warn(&page->told, SL_E_DAMAGED, where, remedy,
                "The kept files of %zu photos are missing or have another size, the first of %s: "
                "%s",
                losses->count, losses->name, path);
}

enum found { FOUND_NOTHING, FOUND_LIST, FOUND_PARTS, FOUND_DAMAGE, FOUND_NEWER };

static enum found judge_list(const json_t *json)
{
    json_int_t version = json_integer_value(json_object_get(json, "strandline_bench"));
    return version == PAGE_KEEP_VERSION  ? FOUND_LIST
           : version > PAGE_KEEP_VERSION ? FOUND_NEWER
                                         : FOUND_DAMAGE;
}

/* A lack of memory is an error, and nothing is put aside for it. */
static sl_code read_list(const char *path, char **ret_text, json_t **ret_json, enum found *ret,
                         struct sl_status *status)
{
    struct stat info;
    size_t bytes = 0;
    *ret = FOUND_NOTHING;
    if (lstat(path, &info) != 0)
        return errno == ENOENT
                   ? SL_OK
                   : sl_status_set(status, SL_E_READ, where,
                                   "Set XDG_STATE_HOME to a folder that you may read.",
                                   "%.200s can't be looked at: %s.", path, strerror(errno));
    *ret = FOUND_DAMAGE;
    sl_code code = page_slurp(path, PAGE_SAVED_BYTES_MAX, ret_text, &bytes, status);
    if (code != SL_OK)
        return code == SL_E_MEMORY ? code : SL_OK;
    json_error_t error;
    *ret_json = json_loadb(*ret_text, bytes, 0, &error);
    if (!*ret_json && json_error_code(&error) == json_error_out_of_memory)
        return sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                             "There is not enough memory to load the work kept on the page.");
    *ret = judge_list(*ret_json);
    return SL_OK;
}

static void tell_aside(struct sl_page *page, enum found found, const struct page_aside *aside)
{
    static const char again[] = "Drop the photos that lie there on the page once more; what was "
                                "set by hand stands in its state.json.";
    static const struct {
        const char *what, *list, *remedy;
    } words[] = {
        [FOUND_NOTHING] = {"has no list any more", "", "Drop them on the page once more."},
        [FOUND_LIST] = {"has more than its list names", "", "Drop them on the page once more."},
        [FOUND_PARTS] = {"can't be read in all parts", "a copy of state.json", again},
        [FOUND_DAMAGE] = {"can't be read", "state.json", again},
        [FOUND_NEWER] = {"is of a newer Strandline", "state.json",
                         "To have it back, stop this program, move what lies there back to where "
                         "it was, and start the newer one."},
    };
    const char *list = words[found].list;
    char files[32] = "";
    if (!aside->name[0])
        return;
    if (aside->files > 0)
        snprintf(files, sizeof files, "%zu file%s", aside->files, aside->files == 1 ? "" : "s");
    bool both = *list && *files;
    sl_warn(&page->told, SL_E_READ, where, words[found].remedy,
            "The work kept on the page %s: %s%s%s %s put aside, whole, in %s", words[found].what,
            list, both ? " and " : "", files, both || aside->files > 1 ? "were" : "was",
            aside->path);
}

sl_code page_keep_load(struct sl_page *page, struct sl_status *status)
{
    struct losses losses = {0};
    struct page_aside aside = {0};
    char path[PAGE_PATH_MAX] = "", *text = NULL;
    json_t *json = NULL;
    enum found found;
    page_keep_join(path, page->folder, list_name);
    sl_code code = read_list(path, &text, &json, &found, status);
    if (found == FOUND_LIST && !load_all(page, json, &losses)) {
        found = FOUND_PARTS;
        page_edited(page); /* or the next start would find the same */
    }
    if (code == SL_OK && found == FOUND_PARTS)
        code = page_aside_copy(page, &aside, list_name, text, status);
    if (code == SL_OK && (found == FOUND_DAMAGE || found == FOUND_NEWER))
        code = page_aside_put(page, &aside, list_name, status);
    if (code == SL_OK)
        code = page_aside_strays(page, &aside, status);
    json_decref(json);
    free(text);
    if (code != SL_OK)
        return code;
    tell_aside(page, found, &aside);
    tell_losses(page, &losses);
    page_changed(page);
    return SL_OK;
}
