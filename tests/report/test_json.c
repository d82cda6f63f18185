// SPDX-License-Identifier: GPL-3.0-or-later
/* What is saved is loaded as it was; what is no sound document is refused with its place. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sample.h"

static char *save(const struct sl_document *document, const struct sl_overlay *overlay)
{
    char *text = NULL;
    struct sl_status status = {0};
    assert_int_equal(sl_report_json(document, overlay, 0, &text, &status), SL_OK);
    return text;
}

static struct sl_document load(const char *text)
{
    struct sl_document document;
    sl_document_init(&document);
    struct sl_status status = {0};
    sl_code code = sl_report_json_load(text, strlen(text), "saved.json", &document, &status);
    if (code != SL_OK)
        print_error("%s\n", status.message);
    assert_int_equal(code, SL_OK);
    return document;
}

static void saving_what_was_loaded_changes_nothing(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    document.reading[0]->strip[1].advice = sample_advice();
    char *first = save(&document, NULL);
    assert_non_null(strstr(first, "\"cause\":\"front\""));
    struct sl_document again = load(first);
    assert_int_equal(sl_document_make_pairs(&again, NULL), SL_OK);
    char *second = save(&again, NULL);
    assert_string_equal(first, second);
    free(first);
    free(second);
    sl_document_finish(&document);
    sl_document_finish(&again);
}

static void settings_by_hand_survive(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_read_options *settings = &document.reading[0]->settings;
    settings->hint_count = 2;
    settings->hint[0].has_corners = true;
    for (int i = 0; i < 4; i++)
        settings->hint[0].corners_px[i] = (struct sl_point){10.5 * i, 20.25 * i};
    settings->hint[1].origin = 0.21;
    settings->hint[1].upside_down = 0;
    settings->role_count = 1;
    settings->role[0] = SL_ROLE_DRIED;
    settings->ink_count = 1;
    strcpy(settings->ink[0], "Harbour Dusk");
    struct sl_reading *other = sample_reading("other.jpg", "Other", 1);
    assert_int_equal(sl_document_add(&document, other, NULL), SL_OK);
    char *first = save(&document, NULL);
    struct sl_document again = load(first);
    const struct sl_read_options *back = &again.reading[0]->settings;
    assert_int_equal(back->hint_count, 2);
    assert_true(back->hint[0].has_corners && !back->hint[1].has_corners);
    assert_near(back->hint[0].corners_px[3].y, 60.75, 0);
    assert_near(back->hint[1].origin, 0.21, 0);
    assert_true(isnan(back->hint[0].origin) && isnan(back->hint[1].front));
    assert_int_equal(back->hint[0].upside_down, -1);
    assert_int_equal(back->hint[1].upside_down, 0);
    assert_int_equal(back->role[0], SL_ROLE_DRIED);
    assert_string_equal(back->ink[0], "Harbour Dusk");
    assert_int_equal(again.reading[1]->settings.hint_count, 0);
    free(first);
    sl_document_finish(&document);
    sl_document_finish(&again);
}

static void numbers_come_back_within_their_decimals(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = save(&document, NULL);
    struct sl_document again = load(text);
    const struct sl_strip *a = &document.reading[0]->strip[1], *b = &again.reading[0]->strip[1];
    assert_int_equal(b->role, SL_ROLE_DRIED);
    assert_string_equal(b->ink, "Harbour Dusk");
    assert_int_equal(b->profile.count, a->profile.count);
    for (size_t i = 0; i < a->profile.count; i++)
        for (int c = 0; c < 3; c++) {
            assert_near(b->profile.load[i][c], a->profile.load[i][c], 0.6e-5);
            assert_near(b->profile.lab_d50[i][c], a->profile.lab_d50[i][c], 0.6e-2);
        }
    assert_int_equal(b->bands.count, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_near(b->bands.item[i].rf, a->bands.item[i].rf, 0.6e-6);
        assert_string_equal(b->bands.item[i].hue_name, a->bands.item[i].hue_name);
        assert_int_equal(b->bands.item[i].retained, a->bands.item[i].retained);
    }
    assert_true(isnan(b->bands.item[2].resolution_to_next));
    assert_true(isnan(b->outline.hidden_from));
    assert_null(b->picture.rgb);
    assert_near(b->outline.left_px[32].x, 100.25, 0);
    assert_int_equal(b->warnings.item[0].code, SL_W_UNEVEN_LIGHT);
    assert_string_equal(b->warnings.item[0].remedy, a->warnings.item[0].remedy);
    free(text);
    sl_document_finish(&document);
    sl_document_finish(&again);
}

/* The members that the version promises, with their meaning. */
static void the_promised_members_are_there(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = save(&document, NULL);
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
    int version = 0;
    double rf, level_index, rf_0, position_0, origin, front;
    const char *sha, *role, *level, *seen;
    assert_int_equal(json_unpack(root, "{s:i, s:{s:s, s:{s:s}}, s:o}", "strandline", &version,
                                 "tool", "version", &sha, "libraries", "lcms2", &role, "settings",
                                 &(json_t *){NULL}),
                     0);
    assert_int_equal(version, 1);
    json_t *strip = json_array_get(
        json_object_get(json_array_get(json_object_get(root, "photos"), 0), "strips"), 1);
    assert_int_equal(json_unpack(strip, "{s:s, s:s, s:F, s:F, s:[o,o,{s:F}]}", "role", &role,
                                 "front_seen", &seen, "origin", &origin, "front", &front, "bands",
                                 &(json_t *){NULL}, &(json_t *){NULL}, "rf", &rf),
                     0);
    assert_string_equal(role, "dried");
    assert_string_equal(seen, "dye");
    assert_near(rf, 0.9, 1e-12);
    assert_int_equal(json_unpack(json_object_get(strip, "profile"), "{s:[F], s:[F]}", "rf", &rf_0,
                                 "position", &position_0),
                     0);
    assert_near(rf_0, (position_0 - origin) / (front - origin), 1e-6);
    assert_int_equal(json_unpack(root, "{s:[{s:s, s:F, s:[i,i]}]}", "pairs", "level", &level,
                                 "index", &level_index, "dried", &(int){0}, &version),
                     0);
    assert_string_equal(level, "partial");
    assert_near(level_index, 20, 1e-9);
    assert_int_equal(version, 1);
    json_decref(root);
    free(text);
    sl_document_finish(&document);
}

static json_t *saved_pair(const struct sl_document *document, json_t **ret_root)
{
    char *text = save(document, NULL);
    *ret_root = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
    free(text);
    return json_array_get(json_object_get(*ret_root, "pairs"), 0);
}

static double number_in(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_number(value))
        fail_msg("%s is no number", key);
    return json_number_value(value);
}

static void assert_interval(const json_t *object, const char *key, double low, double high)
{
    const json_t *interval = json_object_get(object, key);
    assert_near(json_number_value(json_array_get(interval, 0)), low, 1e-6);
    assert_near(json_number_value(json_array_get(interval, 1)), high, 1e-6);
}

static void a_verdict_has_its_numbers_and_probabilities(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    const struct sl_pair *pair = &document.pair[0];
    json_t *root, *saved = saved_pair(&document, &root);
    json_t *levels = json_object_get(saved, "level_probability");
    json_t *drying = json_object_get(saved, "drying"), *soak = json_object_get(saved, "soak");
    assert_near(number_in(saved, "immediate_retained_share"), 0.03, 1e-9);
    assert_near(number_in(saved, "dried_retained_share"), 0.2, 1e-9);
    assert_near(number_in(saved, "immediate_bound_share"), 0.0225, 1e-9);
    assert_near(number_in(saved, "dried_bound_share"), 0.15, 1e-9);
    assert_interval(saved, "index_interval", 18, 22);
    assert_interval(saved, "dried_retained_interval", 0.18, 0.22);
    assert_true(json_is_null(json_object_get(saved, "unjudged")));
    assert_int_equal(json_object_size(levels), SL_LEVELS);
    for (int i = 0; i < SL_LEVELS; i++)
        assert_near(number_in(levels, sl_level_name((enum sl_level)i)), pair->level_probability[i],
                    0.6e-6);
    assert_true(json_is_true(json_object_get(saved, "water_resistant")));
    assert_near(number_in(saved, "water_resistant_probability"), pair->water_resistant_probability,
                0.6e-6);
    assert_string_equal(json_string_value(json_object_get(saved, "answer")), "partly stays");
    assert_near(number_in(saved, "answer_probability"), pair->answer_probability, 0.6e-6);
    assert_near(number_in(drying, "difference"), 0.17, 1e-9);
    assert_interval(drying, "interval", pair->drying_interval[0], pair->drying_interval[1]);
    assert_near(number_in(drying, "probability"), pair->drying_probability, 0.6e-6);
    assert_near(number_in(soak, "bound_share"), 0.15, 1e-9);
    assert_interval(soak, "interval", 0.13, 0.17);
    assert_near(number_in(soak, "probability"), pair->soak_probability, 0.6e-6);
    json_decref(root);
    sl_document_finish(&document);
}

static void without_a_verdict_nothing_can_be_taken_for_one(void **state)
{
    (void)state;
    static const char *const nulls[] = {"index", "level", "water_resistant",
                                        "water_resistant_probability", "answer_probability"};
    struct sl_document document = sample_document();
    document.reading[0]->strip[1].marks.front = 0.21;
    assert_int_equal(sl_document_make_pairs(&document, NULL), SL_OK);
    json_t *root, *saved = saved_pair(&document, &root), *value;
    const char *key;
    assert_string_equal(json_string_value(json_object_get(saved, "unjudged")), "water too low");
    assert_string_equal(json_string_value(json_object_get(saved, "answer")), "none");
    for (size_t i = 0; i < sizeof nulls / sizeof *nulls; i++)
        assert_true(json_is_null(json_object_get(saved, nulls[i])));
    json_object_foreach(json_object_get(saved, "level_probability"), key, value)
        assert_true(json_is_null(value));
    assert_true(json_is_null(json_object_get(json_object_get(saved, "drying"), "probability")));
    assert_true(json_is_null(json_object_get(json_object_get(saved, "soak"), "probability")));
    assert_int_equal(json_array_size(json_object_get(saved, "reasons")), 1);
    json_decref(root);
    sl_document_finish(&document);
}

static void what_is_not_finite_is_null(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_strip *strip = &document.reading[0]->strip[0];
    strip->length_mm = NAN;
    strip->profile.load[5][1] = NAN;
    strip->bands.goodness = INFINITY;
    char *text = save(&document, NULL);
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf,"));
    struct sl_document again = load(text);
    assert_true(isnan(again.reading[0]->strip[0].length_mm));
    assert_true(isnan(again.reading[0]->strip[0].profile.load[5][1]));
    assert_near(again.reading[0]->strip[0].profile.load[5][0], strip->profile.load[5][0], 1e-6);
    free(text);
    sl_document_finish(&document);
    sl_document_finish(&again);
}

static void a_photo_with_an_error_is_kept(void **state)
{
    (void)state;
    struct sl_document document;
    sl_document_init(&document);
    struct sl_reading *reading = sample_reading("night.jpg", "", 0);
    sl_status_set(&reading->error, SL_E_TOO_DARK, "strip/find", "Use more light.",
                  "night.jpg is too dark");
    sl_document_add(&document, reading, NULL);
    char *text = save(&document, NULL);
    struct sl_document again = load(text);
    assert_int_equal(again.reading[0]->error.code, SL_E_TOO_DARK);
    assert_string_equal(again.reading[0]->error.message, "night.jpg is too dark");
    assert_int_equal(again.reading[0]->strip_count, 0);
    free(text);
    sl_document_finish(&document);
    sl_document_finish(&again);
}

static void names_with_bytes_that_are_no_utf8_are_written(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    strcpy(document.reading[0]->photo.file, "bl\xE5.jpg");
    char *text = save(&document, NULL);
    assert_non_null(strstr(text, "bl\xEF\xBF\xBD.jpg"));
    struct sl_document again = load(text);
    assert_string_equal(again.reading[0]->photo.file, "bl\xEF\xBF\xBD.jpg");
    memset(document.reading[0]->photo.file, 0xE5, sizeof document.reading[0]->photo.file - 1);
    char *longer = save(&document, NULL);
    struct sl_document cut = load(longer);
    assert_int_equal(strlen(cut.reading[0]->photo.file), 255 / 3 * 3);
    free(text);
    free(longer);
    sl_document_finish(&document);
    sl_document_finish(&again);
    sl_document_finish(&cut);
}

static void a_batch_of_one_document_a_line_loads(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = save(&document, NULL);
    size_t n = strlen(text);
    char *lines = malloc(2 * n + 3);
    snprintf(lines, 2 * n + 3, "%s\n%s\n", text, text);
    struct sl_document again = load(lines);
    assert_int_equal(again.reading_count, 2);
    free(text);
    free(lines);
    sl_document_finish(&document);
    sl_document_finish(&again);
}

static void numbers_have_dots_in_every_locale(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *plain = save(&document, NULL);
    if (setlocale(LC_ALL, "de_DE.UTF-8")) {
        char *other = save(&document, NULL);
        assert_string_equal(plain, other);
        free(other);
        setlocale(LC_ALL, "C");
    }
    assert_non_null(strstr(plain, "\"origin\":0.2,"));
    free(plain);
    sl_document_finish(&document);
}

static void library_versions_are_told(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = save(&document, NULL);
    json_t *root = json_loads(text, 0, NULL);
    json_t *libraries = json_object_get(json_object_get(root, "tool"), "libraries"), *version;
    const char *name;
    size_t count = 0;
    json_object_foreach(libraries, name, version)
    {
        const char *s = json_string_value(version);
        assert_true(s && s[0] >= '0' && s[0] <= '9' && strchr(s, '.'));
        count++;
    }
    assert_true(count >= 8);
    json_decref(root);
    free(text);
    sl_document_finish(&document);
}

static void every_hue_name_can_be_loaded(void **state)
{
    (void)state;
    for (int L = 0; L <= 100; L += 4)
        for (int a = -100; a <= 100; a += 4)
            for (int b = -100; b <= 100; b += 4) {
                const double lab[3] = {L, a, b};
                const char *name = sl_hue_name(lab);
                if (sl_hue_name_known(name) != name)
                    fail_msg("%s is not known", name);
            }
    assert_string_equal(sl_hue_name_known("mauve"), "");
}

/* ---- what is refused ---- */

static void refused(const char *text, size_t bytes, const char *in_message)
{
    struct sl_document document = sample_document();
    struct sl_status status = {0};
    sl_code code = sl_report_json_load(text, bytes, "bad.json", &document, &status);
    assert_int_equal(code, SL_E_READING);
    if (!strstr(status.message, in_message) || !strstr(status.message, "bad.json"))
        fail_msg("'%s' does not speak of '%s'", status.message, in_message);
    assert_true(status.remedy[0] != '\0');
    assert_int_equal(document.reading_count, 1);
    sl_document_finish(&document);
}

static void foreign_and_newer_documents_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text, *message;
    } cases[] = {
        {"", "no sound JSON"},
        {"hello", "no sound JSON"},
        {"[]", "no saved reading"},
        {"{}", "no saved reading"},
        {"{\"strandline\": \"1\", \"photos\": []}", "no saved reading"},
        {"{\"strandline\": 2, \"photos\": []}", "version 2"},
        {"{\"strandline\": 1}", "photos"},
        {"{\"strandline\": 1, \"photos\": {}}", "photos"},
        {"{\"strandline\": 1, \"photos\": [7]}", "photos[0]"},
        {"{\"strandline\": 1, \"photos\": []} trailing", "no sound JSON"},
        {"{\"strandline\": 1, \"strandline\": 1, \"photos\": []}", "no sound JSON"},
        {"{\"strandline\": 1, \"photos\": [{\"file\": 1e999}]}", "no sound JSON"},
        {"{\"strandline\": 1, \"photos\": [{\"strips\": [{\"role\": \"wet\"}]}]}",
         "photos[0].strips[0].role"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        refused(cases[i].text, strlen(cases[i].text), cases[i].message);
    refused("{\"strandline\": 1, \"photos\": []}\0", 32, "no sound JSON");
}

/* One member of a sound document spoilt at a time. */
static void spoilt_members_are_refused_by_name(void **state)
{
    (void)state;
    static const struct {
        const char *owner, *key, *value, *message;
    } cases[] = {
        {"strip", "origin", "\"low\"", "strips[0].origin"},
        {"strip", "origin", "1e300", "strips[0].origin"},
        {"strip", "front", "0.1", "strips[0].front"},
        {"strip", "bound_share", "20", "strips[0].bound_share must be between -1 and 2"},
        {"strip", "bands", "[{\"rf\":0.5,\"share\":40}]", "bands[0].share"},
        {"strip", "front_seen", "\"perhaps\"", "front_seen"},
        {"strip", "corners_px", "[[1,2]]", "corners_px"},
        {"strip", "corners_px", "[[1,2],[1,2],[1,2],[1,null]]", "corners_px"},
        {"strip", "bands", "null", "bands"},
        {"strip", "bands", "[{\"share\":0.5}]", "bands[0].rf"},
        {"strip", "bands", "[{},{},{},{},{},{},{},{},{},{},{},{},{}]", "at most 12"},
        {"strip", "profile", "[]", "profile"},
        {"strip", "retained_interval", "[0.1]", "retained_interval"},
        {"strip", "warnings", "[{}]", "warnings[0].code"},
        {"strip", "blank", "1", "blank"},
        {"strip", "advice", "{}", "advice"},
        {"strip", "advice", "[{}]", "advice[0].cause"},
        {"strip", "advice", "[{\"cause\":\"front\",\"gain\":2,\"effects\":[]}]", "advice[0].gain"},
        {"strip", "advice", "[{\"cause\":\"front\",\"effects\":[{\"number\":\"hue\"}]}]",
         "advice[0].effects[0].number"},
        {"strip", "advice",
         "[{\"cause\":\"front\",\"effects\":[{\"number\":\"rf\",\"gain\":1,\"now\":[1,0]}]}]",
         "advice[0].effects[0].now"},
        {"strip", "advice", "[{\"cause\":\"front\",\"effects\":[{\"number\":\"rf\",\"band\":99}]}]",
         "advice[0].effects[0].band"},
        {"profile", "position", "[0.2,0.1]", "profile.position"},
        {"profile", "position", "[0.1,0.2]", "profile.load"},
        {"profile", "load", "[]", "profile.load"},
        {"profile", "flags", "[256]", "profile.flags"},
        {"photo", "strips", "[1,2,3,4,5,6,7,8,9]", "at most 8"},
        {"photo", "width_px", "2.5", "width_px"},
        {"photo", "warnings", "{}", "warnings"},
    };
    struct sl_document document = sample_document();
    char *text = save(&document, NULL);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        json_t *root = json_loads(text, 0, NULL);
        json_t *photo = json_array_get(json_object_get(root, "photos"), 0);
        json_t *strip = json_array_get(json_object_get(photo, "strips"), 0);
        json_t *owner = cases[i].owner[0] == 's'          ? strip
                        : strcmp(cases[i].owner, "photo") ? json_object_get(strip, "profile")
                                                          : photo;
        json_object_set_new(owner, cases[i].key, json_loads(cases[i].value, JSON_DECODE_ANY, NULL));
        char *spoilt = json_dumps(root, 0);
        refused(spoilt, strlen(spoilt), cases[i].message);
        free(spoilt);
        json_decref(root);
    }
    free(text);
    sl_document_finish(&document);
}

static void unknown_members_are_passed_over(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = save(&document, NULL);
    json_t *root = json_loads(text, 0, NULL);
    json_t *photo = json_array_get(json_object_get(root, "photos"), 0);
    json_object_set_new(root, "later", json_string("x"));
    json_object_set_new(json_array_get(json_object_get(photo, "strips"), 0), "later", json_array());
    char *changed = json_dumps(root, 0);
    struct sl_document again = load(changed);
    assert_int_equal(again.reading[0]->strip_count, 2);
    json_decref(root);
    free(text);
    free(changed);
    sl_document_finish(&document);
    sl_document_finish(&again);
}

/* No prefix of a document may crash the loader or be taken for a whole one. */
static void every_cut_document_is_refused(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    char *text = save(&document, NULL);
    size_t n = strlen(text);
    for (size_t cut = 0; cut < n; cut += 1 + n / 97) {
        struct sl_document again;
        sl_document_init(&again);
        assert_int_equal(sl_report_json_load(text, cut, "cut.json", &again, NULL), SL_E_READING);
        assert_int_equal(again.reading_count, 0);
    }
    free(text);
    sl_document_finish(&document);
}

/* The first strip's profile in what has changed from one reading to another. */
static json_t *changed_profile(const struct sl_reading *now, const struct sl_reading *before)
{
    char *text = NULL;
    struct sl_status status = {0};
    assert_int_equal(sl_report_json_photo_change(now, before, &text, &status), SL_OK);
    json_t *root = json_loads(text, 0, NULL);
    json_t *strip = json_array_get(json_object_get(root, "strips"), 0);
    json_t *profile = json_incref(json_object_get(strip, "profile"));
    free(text);
    json_decref(root);
    return profile;
}

static void only_lists_that_changed_are_told(void **state)
{
    (void)state;
    struct sl_document plain = sample_document(), other = sample_document();
    struct sl_reading *now = plain.reading[0], *before = other.reading[0];
    json_t *same = changed_profile(now, before);
    assert_null(json_object_get(same, "load"));
    assert_null(json_object_get(same, "fitted"));
    before->strip[0].profile.load[7][1] += 0.25;
    before->strip[0].bands.fitted = calloc(SAMPLE_COUNT, sizeof(double));
    json_t *gone = changed_profile(now, before), *come = changed_profile(before, now);
    assert_int_equal(json_array_size(json_object_get(gone, "load")), SAMPLE_COUNT);
    assert_null(json_object_get(gone, "smooth"));
    assert_true(json_is_null(json_object_get(gone, "fitted")));
    assert_int_equal(json_array_size(json_object_get(come, "fitted")), SAMPLE_COUNT);
    json_decref(same);
    json_decref(gone);
    json_decref(come);
    sl_document_finish(&plain);
    sl_document_finish(&other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(saving_what_was_loaded_changes_nothing),
        cmocka_unit_test(settings_by_hand_survive),
        cmocka_unit_test(numbers_come_back_within_their_decimals),
        cmocka_unit_test(the_promised_members_are_there),
        cmocka_unit_test(a_verdict_has_its_numbers_and_probabilities),
        cmocka_unit_test(without_a_verdict_nothing_can_be_taken_for_one),
        cmocka_unit_test(what_is_not_finite_is_null),
        cmocka_unit_test(a_photo_with_an_error_is_kept),
        cmocka_unit_test(names_with_bytes_that_are_no_utf8_are_written),
        cmocka_unit_test(a_batch_of_one_document_a_line_loads),
        cmocka_unit_test(numbers_have_dots_in_every_locale),
        cmocka_unit_test(library_versions_are_told),
        cmocka_unit_test(every_hue_name_can_be_loaded),
        cmocka_unit_test(foreign_and_newer_documents_are_refused),
        cmocka_unit_test(spoilt_members_are_refused_by_name),
        cmocka_unit_test(unknown_members_are_passed_over),
        cmocka_unit_test(every_cut_document_is_refused),
        cmocka_unit_test(only_lists_that_changed_are_told),
    };
    return cmocka_run_group_tests_name("report/json", tests, NULL, NULL);
}
