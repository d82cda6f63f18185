// SPDX-License-Identifier: GPL-3.0-or-later
#include "describe.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum type { NUMBER, WHOLE, SEED, YES_NO, WORD, TEXT, COLOUR, PEAK };

struct key {
    const char *name;
    enum type type;
    size_t offset;
    double low, high;
    const char *const *words;
};

#define AT(type, field) offsetof(struct type, field)

static const struct key scene_keys[] = {
    {"seed", SEED, AT(scene, seed), 0, 1e15, NULL},
    {"tier", WORD, AT(scene, tier), 0, 0, tier_words},
    {"layout", WORD, AT(scene, layout), 0, 0, layout_words},
    {"kitchen_table", YES_NO, AT(scene, dip), 0, 0, NULL},
    {"table", WORD, AT(scene, table), 0, 0, table_words},
    {"table_turn_deg", NUMBER, AT(scene, table_turn_deg), -360, 360, NULL},
    {"table_colour", COLOUR, AT(scene, table_colour), 0, 1, NULL},
    {"width_px", WHOLE, AT(scene, width_px), 64, 8192, NULL},
    {"height_px", WHOLE, AT(scene, height_px), 64, 8192, NULL},
    {"px_per_mm", NUMBER, AT(scene, px_per_mm), 1, 100, NULL},
    {"tilt_deg", NUMBER, AT(scene, tilt_deg), 0, 40, NULL},
    {"tilt_direction_deg", NUMBER, AT(scene, tilt_direction_deg), -360, 360, NULL},
    {"roll_deg", NUMBER, AT(scene, roll_deg), -89, 89, NULL},
    {"light_ratio", NUMBER, AT(scene, light_ratio), 1, 6, NULL},
    {"light_direction_deg", NUMBER, AT(scene, light_direction_deg), -360, 360, NULL},
    {"shadow", NUMBER, AT(scene, shadow), 0, 0.95, NULL},
    {"shadow_direction_deg", NUMBER, AT(scene, shadow_direction_deg), -360, 360, NULL},
    {"shadow_offset_mm", NUMBER, AT(scene, shadow_offset_mm), -300, 300, NULL},
    {"shadow_soft_mm", NUMBER, AT(scene, shadow_soft_mm), 0.1, 300, NULL},
    {"glare", NUMBER, AT(scene, glare), 0, 1, NULL},
    {"exposure_ev", NUMBER, AT(scene, exposure_ev), -6, 4, NULL},
    {"lamp_k", NUMBER, AT(scene, lamp_k), 2000, 12000, NULL},
    {"balanced", NUMBER, AT(scene, balanced), 0, 1, NULL},
    {"distortion_percent", NUMBER, AT(scene, distortion_percent), -5, 5, NULL},
    {"blur_px", NUMBER, AT(scene, blur_px), 0, 24, NULL},
    {"noise", NUMBER, AT(scene, noise), 0, 0.2, NULL},
    {"tone", NUMBER, AT(scene, tone), 0, 1, NULL},
    {"orientation", WHOLE, AT(scene, orientation), 1, 8, NULL},
    {"profile", WORD, AT(scene, profile), 0, 0, profile_words},
    {"jpeg_quality", WHOLE, AT(scene, jpeg_quality), 0, 100, NULL},
    {"bits", WHOLE, AT(scene, bits), 8, 16, NULL},
    {NULL, NUMBER, 0, 0, 0, NULL},
};

static const struct key dye_keys[] = {
    {"name", TEXT, AT(dye, name), 0, 0, NULL},
    {"peak", PEAK, 0, 0, 0, NULL},
    {NULL, NUMBER, 0, 0, 0, NULL},
};

static const struct key ink_keys[] = {
    {"name", TEXT, AT(ink, name), 0, 0, NULL},
    {NULL, NUMBER, 0, 0, 0, NULL},
};

static const struct key part_keys[] = {
    {"dye", TEXT, AT(part, dye), 0, 0, NULL},
    {"amount", NUMBER, AT(part, amount), 0, 200, NULL},
    {"rf", NUMBER, AT(part, rf), 0, 1, NULL},
    {"spread", NUMBER, AT(part, spread), 0.003, 0.4, NULL},
    {"tail", NUMBER, AT(part, tail), 0, 1, NULL},
    {"slow", NUMBER, AT(part, slow), 0, 0.95, NULL},
    {"release", NUMBER, AT(part, release), 0, 20, NULL},
    {"reach", NUMBER, AT(part, reach), 0.01, 5, NULL},
    {"bound", NUMBER, AT(part, bound), 0, 1, NULL},
    {"bound_dried", NUMBER, AT(part, bound_dried), 0, 1, NULL},
    {"bath", NUMBER, AT(part, bath), 0, 0.5, NULL},
    {NULL, NUMBER, 0, 0, 0, NULL},
};

static const struct key paper_keys[] = {
    {"name", TEXT, AT(paper, name), 0, 0, NULL},
    {"kind", WORD, AT(paper, kind), 0, 0, paper_words},
    {"reflectance", COLOUR, AT(paper, reflectance), 0.05, 1, NULL},
    {"texture", NUMBER, AT(paper, texture), 0, 4, NULL},
    {NULL, NUMBER, 0, 0, 0, NULL},
};

static const struct key strip_keys[] = {
    {"ink", TEXT, AT(strip, ink), 0, 0, NULL},
    {"paper", TEXT, AT(strip, paper), 0, 0, NULL},
    {"label", TEXT, AT(strip, label), 0, 0, NULL},
    {"role", WORD, AT(strip, role), 0, 0, role_words},
    {"dried", YES_NO, AT(strip, dried), 0, 0, NULL},
    {"x_mm", NUMBER, AT(strip, x_mm), -500, 500, NULL},
    {"y_mm", NUMBER, AT(strip, y_mm), -500, 500, NULL},
    {"turn_deg", NUMBER, AT(strip, turn_deg), -360, 360, NULL},
    {"width_mm", NUMBER, AT(strip, width_mm), 4, 80, NULL},
    {"taper_mm", NUMBER, AT(strip, taper_mm), -10, 10, NULL},
    {"length_mm", NUMBER, AT(strip, length_mm), 20, 300, NULL},
    {"rounded_mm", NUMBER, AT(strip, rounded_mm), 0, 10, NULL},
    {"crooked_mm", NUMBER, AT(strip, crooked_mm), 0, 3, NULL},
    {"torn_mm", NUMBER, AT(strip, torn_mm), 0, 6, NULL},
    {"torn_lower_mm", NUMBER, AT(strip, torn_lower_mm), 0, 6, NULL},
    {"origin_mm", NUMBER, AT(strip, origin_mm), 2, 200, NULL},
    {"run_mm", NUMBER, AT(strip, run_mm), 5, 250, NULL},
    {"line_width_mm", NUMBER, AT(strip, line_width_mm), 0.2, 6, NULL},
    {"line_slant_deg", NUMBER, AT(strip, line_slant_deg), -15, 15, NULL},
    {"margin_left_mm", NUMBER, AT(strip, margin_left_mm), 0, 30, NULL},
    {"margin_right_mm", NUMBER, AT(strip, margin_right_mm), 0, 30, NULL},
    {"amount", NUMBER, AT(strip, amount), 0.01, 10, NULL},
    {"front_slant_mm", NUMBER, AT(strip, front_slant_mm), -15, 15, NULL},
    {"front_curve_mm", NUMBER, AT(strip, front_curve_mm), -10, 10, NULL},
    {"fingers_mm", NUMBER, AT(strip, fingers_mm), 0, 6, NULL},
    {"wander", NUMBER, AT(strip, wander), 0, 4, NULL},
    {"tide", NUMBER, AT(strip, tide), 0, 1, NULL},
    {"pencil", WORD, AT(strip, pencil), 0, 0, pencil_words},
    {"front_pencil", WORD, AT(strip, front_pencil), 0, 0, pencil_words},
    {"label_at_lower", YES_NO, AT(strip, label_at_lower), 0, 0, NULL},
    {"curl", WORD, AT(strip, curl), 0, 0, curl_words},
    {"lift_mm", NUMBER, AT(strip, lift_mm), 0, 12, NULL},
    {NULL, NUMBER, 0, 0, 0, NULL},
};

static const struct key object_keys[] = {
    {"kind", WORD, AT(object, kind), 0, 0, object_words},
    {"text", TEXT, AT(object, text), 0, 0, NULL},
    {"x_mm", NUMBER, AT(object, x_mm), -500, 500, NULL},
    {"y_mm", NUMBER, AT(object, y_mm), -500, 500, NULL},
    {"turn_deg", NUMBER, AT(object, turn_deg), -360, 360, NULL},
    {"width_mm", NUMBER, AT(object, width_mm), 3, 300, NULL},
    {"length_mm", NUMBER, AT(object, length_mm), 3, 400, NULL},
    {"colour", COLOUR, AT(object, colour), 0, 1, NULL},
    {NULL, NUMBER, 0, 0, 0, NULL},
};

enum { KEYS_MAX = 40 };

struct reader {
    const char *path;
    int line;
    struct scene *scene;
    char *error;
    int error_size;
    const char *section;
    const struct key *keys;
    void *target;
    bool seen[KEYS_MAX];
};

static bool fail(struct reader *reader, const char *format, ...)
{
    char text[256];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    snprintf(reader->error, (size_t)reader->error_size, "%s, line %d: %s", reader->path,
             reader->line, text);
    return false;
}

static char *trimmed(char *text)
{
    while (isspace((unsigned char)*text)) {
        text++;
    }
    char *end = text + strlen(text);
    while (end > text && isspace((unsigned char)end[-1])) {
        end--;
    }
    *end = '\0';
    return text;
}

// Reads up to `count` numbers; true if there were exactly so many and nothing else.
static bool read_numbers(const char *text, double *ret_values, int count)
{
    for (int k = 0; k < count; k++) {
        char *end;
        ret_values[k] = strtod(text, &end);
        if (end == text || !isfinite(ret_values[k])) {
            return false;
        }
        text = end;
    }
    while (isspace((unsigned char)*text)) {
        text++;
    }
    return *text == '\0';
}

static bool set_number(struct reader *reader, const struct key *key, const char *value)
{
    char *field = (char *)reader->target + key->offset;
    double number;
    if (!read_numbers(value, &number, 1)) {
        return fail(reader, "%s needs a number, not \"%s\"", key->name, value);
    }
    if (number < key->low || number > key->high) {
        return fail(reader, "%s is %g, it has to lie between %g and %g", key->name, number,
                    key->low, key->high);
    }
    if (key->type != NUMBER && number != floor(number)) {
        return fail(reader, "%s needs a whole number, not %s", key->name, value);
    }
    if (key->type == NUMBER) {
        *(double *)(void *)field = number;
    } else if (key->type == SEED) {
        *(uint64_t *)(void *)field = (uint64_t)number;
    } else {
        *(int *)(void *)field = (int)number;
    }
    return true;
}

static bool set_word(struct reader *reader, const struct key *key, const char *value)
{
    char all[200] = "";
    for (int k = 0; key->words[k] != NULL; k++) {
        if (strcmp(key->words[k], value) == 0) {
            *(int *)(void *)((char *)reader->target + key->offset) = k;
            return true;
        }
        size_t used = strlen(all);
        snprintf(all + used, sizeof all - used, "%s%s", k > 0 ? ", " : "", key->words[k]);
    }
    return fail(reader, "%s cannot be \"%s\"; it can be: %s", key->name, value, all);
}

static bool set_colour(struct reader *reader, const struct key *key, const char *value)
{
    double rgb[3];
    if (!read_numbers(value, rgb, 3)) {
        return fail(reader, "%s needs three numbers (red green blue), not \"%s\"", key->name,
                    value);
    }
    for (int c = 0; c < 3; c++) {
        if (rgb[c] < key->low || rgb[c] > key->high) {
            return fail(reader, "%s has %g in it; its numbers have to lie between %g and %g",
                        key->name, rgb[c], key->low, key->high);
        }
    }
    memcpy((char *)reader->target + key->offset, rgb, sizeof rgb);
    return true;
}

static bool add_peak(struct reader *reader, const char *value)
{
    struct dye *dye = reader->target;
    double v[3];
    if (dye->peak_count == PEAKS_MAX) {
        return fail(reader, "a dye has at most %d peaks", PEAKS_MAX);
    }
    if (!read_numbers(value, v, 3) || v[0] < 300 || v[0] > 800 || v[1] < 5 || v[1] > 200 ||
        v[2] < 0 || v[2] > 10) {
        return fail(reader,
                    "peak needs centre (300 to 800 nm), width (5 to 200 nm) and height (0 to 10), "
                    "not \"%s\"",
                    value);
    }
    dye->peaks[dye->peak_count++] = (struct peak){v[0], v[1], v[2]};
    return true;
}

static bool set_text(struct reader *reader, const struct key *key, const char *value)
{
    if (strlen(value) >= NAME_SIZE) {
        return fail(reader, "%s is longer than %d letters", key->name, NAME_SIZE - 1);
    }
    strcpy((char *)reader->target + key->offset, value);
    return true;
}

static bool set_yes_no(struct reader *reader, const struct key *key, const char *value)
{
    bool yes = strcmp(value, "yes") == 0;
    if (!yes && strcmp(value, "no") != 0) {
        return fail(reader, "%s is yes or no, not \"%s\"", key->name, value);
    }
    *(bool *)((char *)reader->target + key->offset) = yes;
    return true;
}

static bool set_value(struct reader *reader, const struct key *key, const char *value)
{
    switch (key->type) {
    case WORD:
        return set_word(reader, key, value);
    case TEXT:
        return set_text(reader, key, value);
    case YES_NO:
        return set_yes_no(reader, key, value);
    case COLOUR:
        return set_colour(reader, key, value);
    case PEAK:
        return add_peak(reader, value);
    default:
        return set_number(reader, key, value);
    }
}

// The next free place of a section's list, or NULL when it is full.
static void *next_place(void *list, size_t size, int *count, int most)
{
    return *count < most ? (char *)list + size * (size_t)(*count)++ : NULL;
}

static bool begin_section(struct reader *reader, const char *name)
{
    struct scene *scene = reader->scene;
    reader->target = NULL;
    memset(reader->seen, 0, sizeof reader->seen);
    if (strcmp(name, "scene") == 0) {
        reader->keys = scene_keys;
        reader->target = scene;
        reader->section = "scene";
    } else if (strcmp(name, "dye") == 0) {
        reader->keys = dye_keys;
        reader->target = next_place(scene->dyes, sizeof *scene->dyes, &scene->dye_count, DYES_MAX);
        reader->section = "dye";
    } else if (strcmp(name, "ink") == 0) {
        reader->keys = ink_keys;
        reader->target = next_place(scene->inks, sizeof *scene->inks, &scene->ink_count, INKS_MAX);
        reader->section = "ink";
    } else if (strcmp(name, "part") == 0) {
        if (scene->ink_count == 0) {
            return fail(reader, "a [part] belongs to the [ink] above it, and there is none");
        }
        struct ink *ink = &scene->inks[scene->ink_count - 1];
        reader->keys = part_keys;
        reader->target = next_place(ink->parts, sizeof *ink->parts, &ink->part_count, PARTS_MAX);
        reader->section = "part";
        if (reader->target != NULL) {
            part_defaults(reader->target);
        }
    } else if (strcmp(name, "paper") == 0) {
        reader->keys = paper_keys;
        reader->target =
            next_place(scene->papers, sizeof *scene->papers, &scene->paper_count, PAPERS_MAX);
        reader->section = "paper";
        if (reader->target != NULL) {
            *(struct paper *)reader->target =
                (struct paper){.reflectance = {0.85, 0.85, 0.83}, .texture = 1};
        }
    } else if (strcmp(name, "strip") == 0) {
        reader->keys = strip_keys;
        reader->target =
            next_place(scene->strips, sizeof *scene->strips, &scene->strip_count, STRIPS_MAX);
        reader->section = "strip";
        if (reader->target != NULL) {
            strip_defaults(reader->target);
        }
    } else if (strcmp(name, "object") == 0) {
        reader->keys = object_keys;
        reader->target =
            next_place(scene->objects, sizeof *scene->objects, &scene->object_count, OBJECTS_MAX);
        reader->section = "object";
        if (reader->target != NULL) {
            *(struct object *)reader->target = (struct object){.colour = {0.75, 0.74, 0.7}};
        }
    } else {
        return fail(reader,
                    "there is no section [%s]; sections are scene, dye, ink, part, paper, strip "
                    "and object",
                    name);
    }
    return reader->target != NULL || fail(reader, "too many sections [%s]", name);
}

static bool read_line(struct reader *reader, char *line)
{
    char *comment = strchr(line, '#');
    if (comment != NULL) {
        *comment = '\0';
    }
    char *text = trimmed(line);
    size_t length = strlen(text);
    if (length == 0) {
        return true;
    }
    if (text[0] == '[') {
        if (text[length - 1] != ']') {
            return fail(reader, "a section begins with [name], not with %s", text);
        }
        text[length - 1] = '\0';
        return begin_section(reader, trimmed(text + 1));
    }
    char *equals = strchr(text, '=');
    if (equals == NULL) {
        return fail(reader, "expected \"key = value\", found \"%s\"", text);
    }
    *equals = '\0';
    const char *name = trimmed(text);
    const char *value = trimmed(equals + 1);
    if (reader->target == NULL) {
        return fail(reader, "\"%s\" stands before the first [section]", name);
    }
    for (int k = 0; reader->keys[k].name != NULL; k++) {
        const struct key *key = &reader->keys[k];
        if (strcmp(key->name, name) == 0) {
            if (reader->seen[k] && key->type != PEAK) {
                return fail(reader, "%s is given twice in this [%s]", name, reader->section);
            }
            reader->seen[k] = true;
            return set_value(reader, key, value);
        }
    }
    return fail(reader, "[%s] has no key \"%s\"", reader->section, name);
}

bool describe_read(const char *path, struct scene *ret_scene, char *ret_error, int error_size)
{
    struct reader reader = {
        .path = path, .scene = ret_scene, .error = ret_error, .error_size = error_size};
    char line[512];
    bool ok = true;
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        snprintf(ret_error, (size_t)error_size, "cannot read %s: %s", path, strerror(errno));
        return false;
    }
    scene_defaults(ret_scene);
    while (ok && fgets(line, sizeof line, file) != NULL) {
        reader.line++;
        ok = strchr(line, '\n') != NULL || feof(file)
                 ? read_line(&reader, line)
                 : fail(&reader, "the line is longer than %zu letters", sizeof line - 2);
    }
    fclose(file);
    if (ok && ret_scene->bits != 8 && (ret_scene->bits != 16 || ret_scene->jpeg_quality > 0)) {
        ok = fail(&reader, "bits is 8, or 16 with jpeg_quality = 0 (PNG)");
    }
    return ok && scene_resolve(ret_scene, ret_error, error_size);
}
