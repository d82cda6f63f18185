// SPDX-License-Identifier: GPL-3.0-or-later
/* Values set by hand.
 *
 * A value is a list: a comma parts the strips of a photo, from left to right; a colon parts the
 * photos, in the order given; an empty place means "find it". A list without a colon holds for
 * every photo, and a list of one value for every strip. */
#include "cli.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WHERE "cli/options"

enum { WORD_MAX = 64, CORNER_NUMBERS = 8 };

void cli_hand_init(struct cli_hand *hand)
{
    *hand = (struct cli_hand){.paper_reflectance = {NAN, NAN, NAN}};
}

sl_code cli_number(const char *text, const struct cli_limit *limit, double *ret,
                   struct sl_status *status)
{
    char *end;
    double value = strtod(text, &end);
    if (end == text || *end || !isfinite(value))
        return sl_status_set(status, SL_E_RANGE, WHERE, "Write it with a decimal point, like 0.25.",
                             "%s takes a number, and \"%s\" is none", limit->option, text);
    if (value < limit->low || value > limit->high)
        return sl_status_set(status, SL_E_RANGE, WHERE, "",
                             "%s %s is out of range: it goes from %g to %g", limit->option, text,
                             limit->low, limit->high);
    *ret = value;
    return SL_OK;
}

/* Cuts the next word out of `*text`, up to one of `stops`; the stop itself is given back. */
static char next_word(const char **text, const char *stops, char ret[WORD_MAX])
{
    size_t n = strcspn(*text, stops);
    snprintf(ret, WORD_MAX, "%.*s", (int)(n < WORD_MAX ? n : WORD_MAX - 1), *text);
    char stop = (*text)[n];
    *text += n + (stop != '\0');
    return stop;
}

/* Reads one word of a list; `context` is the parser's own. */
typedef sl_code parse_word(const char *word, const void *context, double *ret,
                           struct sl_status *status);

static sl_code parse_list(const char *text, const char *option, parse_word *parse,
                          const void *context, struct cli_list *ret, struct sl_status *status)
{
    struct cli_list list = {.photo_count = 1};
    char word[WORD_MAX], stop;
    do {
        struct cli_row *row = &list.photo[list.photo_count - 1];
        if (row->count == SL_STRIPS_MAX)
            return sl_status_set(status, SL_E_RANGE, WHERE, "A colon parts the values of photos.",
                                 "%s has more values for a photo than the %d strips one can hold",
                                 option, SL_STRIPS_MAX);
        stop = next_word(&text, ",:", word);
        row->value[row->count] = NAN;
        sl_code code = word[0] ? parse(word, context, &row->value[row->count], status) : SL_OK;
        if (code != SL_OK)
            return code;
        row->count++;
        if (stop == ':' && list.photo_count++ == CLI_HAND_PHOTOS_MAX)
            return sl_status_set(status, SL_E_RANGE, WHERE, "Read the photos in smaller groups.",
                                 "%s has values for more than %d photos", option,
                                 CLI_HAND_PHOTOS_MAX);
    } while (stop);
    *ret = list;
    return SL_OK;
}

static sl_code number_word(const char *word, const void *context, double *ret,
                           struct sl_status *status)
{
    return cli_number(word, context, ret, status);
}

sl_code cli_list_parse(const char *text, const struct cli_limit *limit, struct cli_list *ret,
                       struct sl_status *status)
{
    return parse_list(text, limit->option, number_word, limit, ret, status);
}

static sl_code flag_word(const char *word, const void *context, double *ret,
                         struct sl_status *status)
{
    (void)context;
    if (strcmp(word, "yes") != 0 && strcmp(word, "no") != 0)
        return sl_status_set(status, SL_E_USAGE, WHERE, "Say yes or no for each strip.",
                             "--upside-down does not know \"%s\"", word);
    *ret = word[0] == 'y';
    return SL_OK;
}

sl_code cli_flags_parse(const char *text, struct cli_list *ret, struct sl_status *status)
{
    return parse_list(text ? text : "yes", "--upside-down", flag_word, NULL, ret, status);
}

static sl_code role_word(const char *word, const void *context, double *ret,
                         struct sl_status *status)
{
    (void)context;
    enum sl_role role;
    if (!sl_role_from_name(word, &role))
        return sl_status_set(status, SL_E_USAGE, WHERE,
                             "The roles are immediate, dried and single.",
                             "--roles does not know \"%s\"", word);
    *ret = role;
    return SL_OK;
}

sl_code cli_roles_parse(const char *text, struct cli_list *ret, struct sl_status *status)
{
    struct cli_list list;
    sl_code code = parse_list(text, "--roles", role_word, NULL, &list, status);
    if (code != SL_OK)
        return code;
    for (size_t p = 0; p < list.photo_count; p++)
        for (size_t i = 0; i < list.photo[p].count; i++)
            if (isnan(list.photo[p].value[i]) && list.photo[p].count > 1)
                return sl_status_set(status, SL_E_USAGE, WHERE,
                                     "Name a role for every strip of the photo.",
                                     "--roles has an empty place");
    *ret = list;
    return SL_OK;
}

static sl_code parse_quad(const char *text, struct cli_quad *ret, struct sl_status *status)
{
    static const struct cli_limit limit = {"--corners", -SL_PHOTO_SIDE_MAX, SL_PHOTO_SIDE_MAX};
    double number[CORNER_NUMBERS];
    size_t n = 0;
    char word[WORD_MAX], stop = ',';
    while (stop && n < CORNER_NUMBERS) {
        stop = next_word(&text, ",", word);
        sl_code code = cli_number(word, &limit, &number[n++], status);
        if (code != SL_OK)
            return code;
    }
    if (n != CORNER_NUMBERS || stop)
        return sl_status_set(status, SL_E_USAGE, WHERE,
                             "Give x and y of the lower left, lower right, upper right and upper "
                             "left corner.",
                             "--corners takes eight numbers with commas between for each strip");
    ret->given = true;
    for (size_t i = 0; i < 4; i++)
        ret->corner_px[i] = (struct sl_point){number[2 * i], number[2 * i + 1]};
    return SL_OK;
}

sl_code cli_corners_parse(const char *text, struct cli_hand *hand, struct sl_status *status)
{
    size_t strip = hand->corner_options++;
    if (strip == SL_STRIPS_MAX)
        return sl_status_set(status, SL_E_RANGE, WHERE, "",
                             "--corners was given more often than the %d strips a photo can hold",
                             SL_STRIPS_MAX);
    char word[WORD_MAX * CORNER_NUMBERS], stop = ':';
    for (size_t photo = 0; stop; photo++) {
        if (photo == CLI_HAND_PHOTOS_MAX)
            return sl_status_set(status, SL_E_RANGE, WHERE, "Read the photos in smaller groups.",
                                 "--corners has values for more than %d photos",
                                 CLI_HAND_PHOTOS_MAX);
        size_t n = strcspn(text, ":");
        snprintf(word, sizeof word, "%.*s", (int)(n < sizeof word ? n : sizeof word - 1), text);
        stop = text[n];
        text += n + (stop != '\0');
        if (photo >= hand->corner_rows)
            hand->corner_rows = photo + 1;
        if (!word[0])
            continue;
        sl_code code = parse_quad(word, &hand->corners[photo][strip], status);
        if (code != SL_OK)
            return code;
        hand->corner_count[photo] = strip + 1;
    }
    return SL_OK;
}

/* "0.3-0.42": the lower end, a dash, the upper one. */
static sl_code parse_limits(const char *word, struct sl_band_limits *ret, struct sl_status *status)
{
    static const struct cli_limit limit = {"--band-limits", 0, 1};
    char *end;
    double from = strtod(word, &end);
    if (end == word || *end != '-')
        return sl_status_set(status, SL_E_USAGE, WHERE, "Write both ends, like 0.3-0.42.",
                             "--band-limits does not know \"%s\"", word);
    char lower[WORD_MAX];
    snprintf(lower, sizeof lower, "%.*s", (int)(end - word), word);
    sl_code code = cli_number(lower, &limit, &ret->from, status);
    if (code == SL_OK)
        code = cli_number(end + 1, &limit, &ret->to, status);
    if (code == SL_OK && from >= ret->to)
        code = sl_status_set(status, SL_E_RANGE, WHERE, "Give the lower end first.",
                             "--band-limits %s does not rise", word);
    return code;
}

static sl_code add_limits(const char *word, struct cli_bands *bands, struct sl_status *status)
{
    if (bands->count == SL_HINT_BANDS_MAX)
        return sl_status_set(status, SL_E_RANGE, WHERE, "",
                             "--band-limits has more than %d bands for one strip",
                             SL_HINT_BANDS_MAX);
    return parse_limits(word, &bands->item[bands->count++], status);
}

sl_code cli_bands_parse(const char *text, struct cli_band_list *ret, struct sl_status *status)
{
    char word[WORD_MAX], stop = ':';
    *ret = (struct cli_band_list){0};
    for (size_t strip = 0; stop;) {
        if (stop == ':' && ret->photo_count++ == CLI_HAND_PHOTOS_MAX)
            return sl_status_set(status, SL_E_RANGE, WHERE, "Read the photos in smaller groups.",
                                 "--band-limits has values for more than %d photos",
                                 CLI_HAND_PHOTOS_MAX);
        strip = stop == ':' ? 0 : strip + (stop == ',');
        if (strip == SL_STRIPS_MAX)
            return sl_status_set(status, SL_E_RANGE, WHERE, "A colon parts the values of photos.",
                                 "--band-limits has more values for a photo than the %d strips one "
                                 "can hold",
                                 SL_STRIPS_MAX);
        size_t photo = ret->photo_count - 1;
        ret->strip_count[photo] = strip + 1;
        stop = next_word(&text, "+,:", word);
        sl_code code = word[0] ? add_limits(word, &ret->bands[photo][strip], status) : SL_OK;
        if (code != SL_OK)
            return code;
    }
    return SL_OK;
}

sl_code cli_reflectance_parse(const char *text, double ret[3], struct sl_status *status)
{
    static const struct cli_limit limit = {"--paper-reflectance", 0.02, 1};
    double value[3];
    size_t n = 0;
    char word[WORD_MAX], stop = ',';
    while (stop && n < 3) {
        stop = next_word(&text, ",", word);
        sl_code code = cli_number(word, &limit, &value[n++], status);
        if (code != SL_OK)
            return code;
    }
    if (stop || n == 2)
        return sl_status_set(status, SL_E_USAGE, WHERE, "",
                             "--paper-reflectance takes one number, or three for red, green, blue");
    for (size_t k = 0; k < 3; k++)
        ret[k] = value[n == 3 ? k : 0];
    return SL_OK;
}

static const struct cli_row *row_of(const struct cli_list *list, size_t photo)
{
    static const struct cli_row none = {0};
    if (list->photo_count == 1)
        return &list->photo[0];
    return photo < list->photo_count ? &list->photo[photo] : &none;
}

static double value_of(const struct cli_row *row, size_t strip)
{
    if (row->count == 1)
        return row->value[0];
    return strip < row->count ? row->value[strip] : NAN;
}

static size_t corner_row(const struct cli_hand *hand, size_t photo)
{
    return hand->corner_rows == 1 ? 0 : photo;
}

static size_t corner_count(const struct cli_hand *hand, size_t photo)
{
    size_t row = corner_row(hand, photo);
    return row < hand->corner_rows ? hand->corner_count[row] : 0;
}

static size_t max_size(size_t a, size_t b)
{
    return a > b ? a : b;
}

static size_t bands_row(const struct cli_band_list *list, size_t photo)
{
    return list->photo_count == 1 ? 0 : photo;
}

static size_t bands_count(const struct cli_band_list *list, size_t photo)
{
    size_t row = bands_row(list, photo);
    return row < list->photo_count ? list->strip_count[row] : 0;
}

/* One value in a row: for every strip. */
static const struct cli_bands *bands_of(const struct cli_band_list *list, size_t photo,
                                        size_t strip)
{
    static const struct cli_bands none = {0};
    size_t count = bands_count(list, photo);
    if (count == 1)
        strip = 0;
    return strip < count ? &list->bands[bands_row(list, photo)][strip] : &none;
}

/* For how many strips of the photo something was set; one value counts as one. */
static size_t hint_count(const struct cli_hand *hand, size_t photo)
{
    const struct cli_list *list[] = {&hand->origin, &hand->front, &hand->length_mm,
                                     &hand->upside_down};
    size_t n = max_size(corner_count(hand, photo), bands_count(&hand->band_limits, photo));
    for (size_t i = 0; i < sizeof list / sizeof *list; i++)
        n = max_size(n, row_of(list[i], photo)->count);
    if (n == 0 && !isnan(hand->paper_reflectance[0]))
        n = 1;
    return n;
}

static sl_code check_origin_below_front(const struct cli_hand *hand, size_t photo,
                                        struct sl_status *status)
{
    for (size_t i = 0; i < hint_count(hand, photo); i++) {
        double origin = value_of(row_of(&hand->origin, photo), i);
        double front = value_of(row_of(&hand->front, photo), i);
        if (origin >= front) /* false where one of them is not set */
            return sl_status_set(status, SL_E_ORIGIN_ABOVE_FRONT, WHERE,
                                 "Both count from the end that was in the water.",
                                 "--origin %g is not below --front %g", origin, front);
    }
    return SL_OK;
}

void cli_hand_roles_single(struct cli_hand *hand)
{
    if (hand->roles.photo_count == 0)
        hand->roles = (struct cli_list){1, {{1, {SL_ROLE_SINGLE}}}};
}

sl_code cli_hand_check(const struct cli_hand *hand, size_t photo_count, struct sl_status *status)
{
    const struct {
        const char *option;
        size_t count;
    } rows[] = {
        {"--origin", hand->origin.photo_count},
        {"--front", hand->front.photo_count},
        {"--length-mm", hand->length_mm.photo_count},
        {"--roles", hand->roles.photo_count},
        {"--corners", hand->corner_rows},
        {"--upside-down", hand->upside_down.photo_count},
        {"--band-limits", hand->band_limits.photo_count},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].count > 1 && rows[i].count > photo_count)
            return sl_status_set(status, SL_E_USAGE, WHERE,
                                 "A colon parts photos, a comma parts strips.",
                                 "%s has values for %zu photos, but %zu %s given", rows[i].option,
                                 rows[i].count, photo_count, photo_count == 1 ? "was" : "were");
    for (size_t photo = 0; photo < photo_count && photo < CLI_HAND_PHOTOS_MAX; photo++) {
        sl_code code = check_origin_below_front(hand, photo, status);
        if (code != SL_OK)
            return code;
    }
    return SL_OK;
}

void cli_hand_apply(const struct cli_hand *hand, size_t photo, struct sl_read_options *ret)
{
    size_t quads = corner_count(hand, photo);
    ret->hint_count = hint_count(hand, photo);
    for (size_t i = 0; i < ret->hint_count; i++) {
        struct sl_strip_hints *hint = &ret->hint[i];
        hint->origin = value_of(row_of(&hand->origin, photo), i);
        hint->front = value_of(row_of(&hand->front, photo), i);
        hint->length_mm = value_of(row_of(&hand->length_mm, photo), i);
        double turned = value_of(row_of(&hand->upside_down, photo), i);
        hint->upside_down = isnan(turned) ? -1 : (int)turned;
        memcpy(hint->paper_reflectance, hand->paper_reflectance, sizeof hint->paper_reflectance);
        const struct cli_bands *bands = bands_of(&hand->band_limits, photo, i);
        hint->band_count = bands->count;
        memcpy(hint->band, bands->item, sizeof hint->band);
        if (i >= quads)
            continue;
        const struct cli_quad *quad = &hand->corners[corner_row(hand, photo)][i];
        hint->has_corners = quad->given;
        memcpy(hint->corners_px, quad->corner_px, sizeof hint->corners_px);
    }
    const struct cli_row *roles = row_of(&hand->roles, photo);
    for (size_t i = 0; i < roles->count && !isnan(roles->value[i]); i++)
        ret->role[ret->role_count++] = (enum sl_role)(int)roles->value[i];
}
