// SPDX-License-Identifier: GPL-3.0-or-later
/* Each member of a saved document in turn has every wrong type, or is gone: it loads, or is refused
 * with a message, and nothing is read before it is set. For that the loader is built here with its
 * variables filled with a pattern (meson.build), and malloc fills what it gives. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <malloc.h>
#include <stdlib.h>
#include <string.h>

#include "sample.h"

enum { KEPT = 4, FILLER = 0xA5 };

static const char *const wrong[] = {
    "null", "true", "7", "1e300", "-3", "\"a text\"", "[]", "[1,2,3,4,5]", "{}",
};

/* What is made anew from the photos, not loaded: passed over whatever lies within. */
static const char *const passed_over[] = {"tool", "pairs", "replicates", "combined", "overlay"};

struct walk {
    json_t *root; /* the whole document, changed and mended again */
    size_t loaded, refused;
};

/* Whatever was loaded can be judged and written. */
static void use(struct sl_document *document)
{
    char *text = NULL;
    sl_document_make_pairs(document, NULL);
    sl_document_make_replicates(document, NULL);
    assert_int_equal(sl_report_json(document, NULL, 0, &text, NULL), SL_OK);
    free(text);
    assert_int_equal(sl_report_text(document, NULL, &(struct sl_text_options){0}, &text, NULL),
                     SL_OK);
    free(text);
}

static void load_changed(struct walk *walk, const char *what)
{
    char *text = json_dumps(walk->root, 0);
    struct sl_document document;
    struct sl_status status = {0};
    sl_document_init(&document);
    sl_code code = sl_report_json_load(text, strlen(text), "spoilt.json", &document, &status);
    if (code == SL_OK)
        use(&document);
    else if (code != SL_E_READING || !strstr(status.message, "spoilt.json") || !*status.remedy)
        fail_msg("%s: code %d, '%s'", what, (int)code, status.message);
    walk->loaded += code == SL_OK;
    walk->refused += code != SL_OK;
    sl_document_finish(&document);
    free(text);
}

static bool is_passed_over(const char *key)
{
    for (size_t i = 0; i < sizeof passed_over / sizeof *passed_over; i++)
        if (strcmp(key, passed_over[i]) == 0)
            return true;
    return false;
}

static void spoil(struct walk *walk, json_t *node);

static void spoil_member(struct walk *walk, json_t *object, const char *key, json_t *value)
{
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        json_object_set_new(object, key, json_loads(wrong[i], JSON_DECODE_ANY, NULL));
        load_changed(walk, key);
    }
    json_object_del(object, key);
    load_changed(walk, key);
    json_object_set(object, key, value);
    if (!is_passed_over(key))
        spoil(walk, value);
}

static void spoil_element(struct walk *walk, json_t *array, size_t index)
{
    json_t *value = json_incref(json_array_get(array, index));
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        json_array_set_new(array, index, json_loads(wrong[i], JSON_DECODE_ANY, NULL));
        load_changed(walk, "an element");
    }
    json_array_remove(array, index);
    load_changed(walk, "an element");
    json_array_insert_new(array, index, value);
    spoil(walk, value);
}

/* Of a list of objects the first and the last stand for all, as sample_full_document fills them; of
 * another list the last. */
static void spoil(struct walk *walk, json_t *node)
{
    json_t *members = json_is_object(node) ? json_copy(node) : NULL, *value;
    const char *key;
    json_object_foreach(members, key, value)
    {
        spoil_member(walk, node, key, value);
    }
    json_decref(members);
    size_t count = json_array_size(node);
    if (count > 1 && json_is_object(json_array_get(node, 0)))
        spoil_element(walk, node, 0);
    if (count > 0)
        spoil_element(walk, node, count - 1);
}

/* Samples of a profile are alike; edges need all their points. */
static void shorten(json_t *node)
{
    const char *key;
    json_t *value;
    size_t i;
    while (json_array_size(node) > SL_EDGE_POINTS)
        while (json_array_size(node) > KEPT)
            json_array_remove(node, json_array_size(node) - 1);
    json_object_foreach(node, key, value)
    {
        shorten(value);
    }
    json_array_foreach(node, i, value)
    {
        shorten(value);
    }
}

/* Thousands of variants are written and parsed: what only repeats is left out. */
static json_t *full_document(void)
{
    struct sl_document document = sample_full_document();
    struct sl_overlay overlay = {0};
    char *text = NULL;
    assert_int_equal(sl_overlay_make(&document, &overlay, NULL), SL_OK);
    assert_int_equal(sl_report_json(&document, &overlay, 0, &text, NULL), SL_OK);
    json_t *root = json_loads(text, 0, NULL);
    json_t *photo = json_array_get(json_object_get(root, "photos"), 1);
    json_t *strips = json_object_get(photo, "strips");
    shorten(root);
    while (json_array_size(strips) > 1)
        json_array_remove(strips, 0);
    free(text);
    sl_overlay_finish(&overlay);
    sl_document_finish(&document);
    return root;
}

static void every_member_of_every_wrong_type_is_loaded_or_refused(void **state)
{
    (void)state;
    struct walk walk = {.root = full_document()};
    load_changed(&walk, "nothing changed");
    assert_int_equal(walk.loaded, 1);
    spoil(&walk, walk.root);
    print_message("# %zu loaded, %zu refused\n", walk.loaded, walk.refused);
    json_decref(walk.root);
}

/* Names of the schema's members that `seen` lacks. */
static size_t count_unseen(json_t *schema, json_t *seen)
{
    const char *key;
    json_t *value;
    size_t i, unseen = 0;
    json_object_foreach(json_object_get(schema, "properties"), key, value)
    {
        if (!json_object_get(seen, key)) {
            print_error("no test of the member %s\n", key);
            unseen++;
        }
    }
    json_object_foreach(schema, key, value)
    {
        unseen += count_unseen(value, seen);
    }
    json_array_foreach(schema, i, value)
    {
        unseen += count_unseen(value, seen);
    }
    return unseen;
}

static void collect(json_t *node, json_t *seen)
{
    const char *key;
    json_t *value;
    size_t i;
    json_object_foreach(node, key, value)
    {
        json_object_set_new(seen, key, json_true());
        collect(value, seen);
    }
    json_array_foreach(node, i, value)
    {
        collect(value, seen);
    }
}

static void the_document_has_every_member_of_the_schema(void **state)
{
    (void)state;
    json_t *root = full_document(), *seen = json_object();
    json_t *schema = json_load_file(DOCS_DIR "/reading.schema.json", 0, NULL);
    assert_non_null(schema);
    collect(root, seen);
    assert_int_equal(count_unseen(schema, seen), 0);
    json_decref(schema);
    json_decref(seen);
    json_decref(root);
}

int main(void)
{
    mallopt(M_PERTURB, FILLER);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_document_has_every_member_of_the_schema),
        cmocka_unit_test(every_member_of_every_wrong_type_is_loaded_or_refused),
    };
    return cmocka_run_group_tests_name("report/json_types", tests, NULL, NULL);
}
