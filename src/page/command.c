// SPDX-License-Identifier: GPL-3.0-or-later
/* The command line that gives the readings on the page: photos in their order; a comma parts the
 * strips of a photo, a colon parts photos, an empty place means "find it". */
#include "page_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct line {
    FILE *out;
    size_t count;
    const struct page_photo *photo[PAGE_PHOTOS_MAX];
};

/* For a POSIX shell: all is plain between single quotes but the quote itself. */
static void put_quoted(FILE *out, const char *text)
{
    static const char plain[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_-+=:,./@%";
    if (*text && text[strspn(text, plain)] == '\0') {
        fputs(text, out);
        return;
    }
    fputc('\'', out);
    for (; *text; text++)
        if (*text == '\'')
            fputs("'\\''", out);
        else
            fputc(*text, out);
    fputc('\'', out);
}

/* The shortest decimal that gives the same double. */
static void put_number(FILE *out, double value)
{
    char text[40];
    for (int digits = 1; digits <= 17; digits++) {
        snprintf(text, sizeof text, "%.*g", digits, value);
        if (strtod(text, NULL) == value)
            break;
    }
    fputs(text, out);
}

static bool has_corners(const struct page_photo *photo)
{
    for (size_t i = 0; i < photo->hand.count; i++)
        if (photo->hand.hint[i].has_corners)
            return true;
    return false;
}

typedef double value_of(const struct sl_strip_hints *hint);
static double origin_of(const struct sl_strip_hints *hint)
{
    return hint->origin;
}
static double front_of(const struct sl_strip_hints *hint)
{
    return hint->front;
}
static double length_of(const struct sl_strip_hints *hint)
{
    return hint->length_mm;
}
static double direction_of(const struct sl_strip_hints *hint)
{
    return hint->upside_down < 0 ? (double)NAN : (double)hint->upside_down;
}

static bool any_set(const struct line *line, value_of *value)
{
    for (size_t p = 0; p < line->count; p++)
        for (size_t i = 0; i < line->photo[p]->hand.count; i++)
            if (!isnan(value(&line->photo[p]->hand.hint[i])))
                return true;
    return false;
}

/* `forced`: also without a value; its places say then how many strips there are. */
static void put_list(const struct line *line, const char *option, value_of *value, bool forced)
{
    if (!forced && !any_set(line, value))
        return;
    fprintf(line->out, " \\\n  %s%c", option, value == direction_of ? '=' : ' ');
    bool empty = true;
    for (size_t p = 0; p < line->count; p++) {
        const struct page_hand *hand = &line->photo[p]->hand;
        if (p > 0) {
            fputc(':', line->out);
            empty = false;
        }
        for (size_t i = 0; i < hand->count; i++) {
            double v = value(&hand->hint[i]);
            if (i > 0)
                fputc(',', line->out);
            empty = empty && i == 0 && isnan(v);
            if (isnan(v))
                continue;
            if (value == direction_of)
                fputs(v > 0 ? "yes" : "no", line->out);
            else
                put_number(line->out, v);
        }
    }
    if (empty)
        fputs("''", line->out);
}

/* One option a strip; in it the photos. */
static void put_corners(const struct line *line)
{
    size_t strips = 0;
    for (size_t p = 0; p < line->count; p++)
        if (has_corners(line->photo[p]) && line->photo[p]->hand.count > strips)
            strips = line->photo[p]->hand.count;
    for (size_t i = 0; i < strips; i++) {
        fputs(" \\\n  --corners '", line->out);
        for (size_t p = 0; p < line->count; p++) {
            const struct page_hand *hand = &line->photo[p]->hand;
            if (p > 0)
                fputc(':', line->out);
            if (i >= hand->count || !hand->hint[i].has_corners)
                continue;
            for (size_t k = 0; k < 4; k++) {
                if (k > 0)
                    fputc(',', line->out);
                put_number(line->out, hand->hint[i].corners_px[k].x);
                fputc(',', line->out);
                put_number(line->out, hand->hint[i].corners_px[k].y);
            }
        }
        fputc('\'', line->out);
    }
}

/* As a list, but each strip's value is a chain of limits. */
static void put_band_limits(const struct line *line)
{
    bool any = false;
    for (size_t p = 0; p < line->count; p++)
        for (size_t i = 0; i < line->photo[p]->hand.count; i++)
            any = any || line->photo[p]->hand.hint[i].band_count;
    if (!any)
        return;
    fputs(" \\\n  --band-limits ", line->out);
    for (size_t p = 0; p < line->count; p++) {
        const struct page_hand *hand = &line->photo[p]->hand;
        if (p > 0)
            fputc(':', line->out);
        for (size_t i = 0; i < hand->count; i++) {
            if (i > 0)
                fputc(',', line->out);
            for (size_t k = 0; k < hand->hint[i].band_count; k++) {
                if (k > 0)
                    fputc('+', line->out);
                put_number(line->out, hand->hint[i].band[k].from);
                fputc('-', line->out);
                put_number(line->out, hand->hint[i].band[k].to);
            }
        }
    }
}

static void put_roles(const struct line *line, struct sl_read_options *options)
{
    bool any = false;
    for (size_t p = 0; p < line->count; p++)
        for (size_t i = 0; i < line->photo[p]->hand.count; i++)
            any = any || line->photo[p]->hand.has_role[i];
    if (!any)
        return;
    fputs(" \\\n  --roles ", line->out);
    for (size_t p = 0; p < line->count; p++) {
        struct sl_conditions none;
        sl_conditions_init(&none);
        page_hand_options(&line->photo[p]->hand, &none, options);
        if (p > 0)
            fputc(':', line->out);
        for (size_t i = 0; i < options->role_count; i++)
            fprintf(line->out, "%s%s", i ? "," : "", sl_role_name(options->role[i]));
    }
}

/* Once for all strips, or again for each strip of all photos. */
static void put_inks(const struct line *line, const struct sl_conditions *conditions)
{
    bool any = false;
    for (size_t p = 0; p < line->count; p++)
        for (size_t i = 0; i < line->photo[p]->hand.count; i++)
            any = any || line->photo[p]->hand.has_ink[i];
    if (!any && conditions->ink[0]) {
        fputs(" \\\n  --ink ", line->out);
        put_quoted(line->out, conditions->ink);
    }
    for (size_t p = 0; any && p < line->count; p++) {
        const struct page_photo *photo = line->photo[p];
        size_t strips = photo->shared ? photo->shared->reading->strip_count : 0;
        for (size_t i = 0; i < strips; i++) {
            fputs(" \\\n  --ink ", line->out);
            put_quoted(line->out, photo->shared->reading->strip[i].ink);
        }
    }
}

static void put_text(const struct line *line, const char *option, const char *text)
{
    if (!*text)
        return;
    fprintf(line->out, " \\\n  %s ", option);
    put_quoted(line->out, text);
}

static void put_amount(const struct line *line, const char *option, double value)
{
    if (isnan(value))
        return;
    fprintf(line->out, " \\\n  %s ", option);
    put_number(line->out, value);
}

/* Lock held. */
static void put_line(struct sl_page *page, struct line *line, struct sl_read_options *options)
{
    bool corners = false;
    fprintf(line->out, "strandline %s", page->pair_count ? "pair" : "read");
    for (size_t p = 0; p < line->count; p++) {
        bool dash = line->photo[p]->name[0] == '-';
        fputc(' ', line->out);
        if (dash)
            fputs("./", line->out); /* no option */
        put_quoted(line->out, line->photo[p]->name);
        corners = corners || has_corners(line->photo[p]);
    }
    put_corners(line);
    put_list(line, "--origin", origin_of, corners);
    put_list(line, "--front", front_of, false);
    put_list(line, "--upside-down", direction_of, false);
    put_list(line, "--length-mm", length_of, false);
    put_band_limits(line);
    put_roles(line, options);
    put_inks(line, &page->conditions);
    put_text(line, "--paper", page->conditions.paper);
    put_text(line, "--solvent", page->conditions.solvent);
    put_amount(line, "--dip-s", page->conditions.dip_s);
    put_amount(line, "--dried-min", page->conditions.dried_min);
    fputc('\n', line->out);
}

static void put_all(struct sl_page *page, FILE *out, struct sl_read_options *options)
{
    struct line line = {.out = out};
    size_t saved = 0;
    for (size_t i = 0; i < page->photo_count; i++)
        if (page->photo[i]->saved)
            saved++;
        else
            line.photo[line.count++] = page->photo[i];
    if (line.count)
        put_line(page, &line, options);
    else
        fputs("# There is no photo on the page yet.\n", out);
    if (saved)
        fprintf(out,
                "# Beside these, %zu saved reading%s on the page: give their documents to "
                "strandline overlay.\n",
                saved, saved == 1 ? " is" : "s are");
    bool by_hand = page->hand_pair_count > 0;
    if (by_hand)
        fputs("# Pairs were chosen by hand: give each two photos a command of their own.\n", out);
}

sl_code page_command(struct sl_page *page, char **ret, struct sl_status *status)
{
    char *text = NULL;
    size_t bytes = 0;
    FILE *out = open_memstream(&text, &bytes);
    struct sl_read_options *options = malloc(sizeof *options);
    bool failed = !out || !options;
    if (!failed) {
        pthread_mutex_lock(&page->lock);
        put_all(page, out, options);
        pthread_mutex_unlock(&page->lock);
    }
    free(options);
    if (out)
        failed = fclose(out) != 0 || failed;
    if (failed) {
        free(text);
        return sl_status_set(status, SL_E_MEMORY, "page", "Close other programs.",
                             "There is not enough memory for the command line.");
    }
    *ret = text;
    return SL_OK;
}
