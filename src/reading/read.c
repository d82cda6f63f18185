// SPDX-License-Identifier: GPL-3.0-or-later
/* From one photo to a reading.
 *
 * 1. Outlines: found, or taken from hand-set corners.
 * 2. Each strip straightened and its marks read; strips that lie against surer neighbours are
 * turned.
 * 3. Order from left to right; hand-set values that go by that order are applied now (the marks of
 *    those strips are read again).
 * 4. Profile, bands and a small picture of each strip.
 * A problem of one strip becomes a warning of the reading; a photo without any strip read has an
 * error. Whether the photo's cancel was asked for is looked at by all that touches its pixels, and
 * between strips: what one of them takes beyond its pixels is bounded by the size of its sheet, a
 * fifth of a second. */
#include "reading_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Parts of the work that are done once strips are found and their marks read, by the clock. */
static const double PROGRESS_FOUND = 0.4, PROGRESS_MARKS = 0.75;

static sl_code no_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "reading", "Close other programs.",
                         "there is not enough memory to read the photo");
}

static void item_rest(struct sl_read_item *item)
{
    sl_sheet_finish(&item->sheet);
    item->sheet = (struct sl_sheet){0};
}

static void item_finish(struct sl_read_item *item)
{
    item_rest(item);
    sl_band_work_destroy(item->work);
    item->work = NULL;
}

static struct sl_strip_hints hints_used(const struct sl_read_item *item)
{
    struct sl_strip_hints hints = item->hints;
    if (item->found.given && hints.upside_down < 0)
        hints.upside_down = 0; /* hand-set corners say which end is the lower one */
    return hints;
}

static sl_code straighten(struct sl_read_run *run, const struct sl_outline *outline,
                          struct sl_sheet *ret, struct sl_status *status)
{
    const struct sl_sheet *kept = run->memo ? sl_memo_sheet(run->memo, outline) : NULL;
    if (kept)
        return sl_sheet_copy(kept, ret) ? SL_OK : no_memory(status);
    sl_code code = sl_sheet_straighten(run->photo, outline, ret, status);
    if (code == SL_OK && run->memo)
        sl_memo_keep_sheet(run->memo, outline, ret);
    return code;
}

/* What the strip's sheet shows, from the memo or for it. */
static sl_code sight_of(struct sl_read_run *run, const struct sl_outline *outline, int upside_down,
                        const struct sl_sight **ret, struct sl_status *status)
{
    struct sl_sheet sheet = {0};
    struct sl_sight *made = NULL;
    *ret = sl_memo_sight(run->memo, outline, upside_down);
    if (*ret)
        return SL_OK;
    sl_code code = straighten(run, outline, &sheet, status);
    if (code == SL_OK)
        code = sl_sight_make(&sheet, upside_down, &made, status);
    if (code != SL_OK)
        return code;
    sl_memo_keep_sight(run->memo, outline, upside_down, made);
    *ret = made;
    return SL_OK;
}

static sl_code read_sheet(struct sl_read_run *run, struct sl_read_item *item,
                          const struct sl_strip_hints *hints, struct sl_status *status)
{
    const struct sl_sight *sight = NULL;
    sl_code code;
    if (run->memo) {
        code = sight_of(run, &item->outline, hints->upside_down, &sight, status);
        if (code == SL_OK && !sl_sheet_copy(sl_sight_sheet(sight), &item->sheet))
            code = no_memory(status);
        if (code == SL_OK)
            code = sl_sight_read_marks(sight, &item->sheet, &item->outline, hints, &item->marks,
                                       &item->warnings, status);
        return code;
    }
    code = straighten(run, &item->outline, &item->sheet, status);
    if (code == SL_OK)
        code = sl_sheet_read_marks(&item->sheet, &item->outline, hints, &item->marks,
                                   &item->warnings, status);
    return code;
}

/* Straightens the strip as found and reads its marks afresh. */
static sl_code item_read_afresh(struct sl_read_run *run, struct sl_read_item *item,
                                struct sl_status *status)
{
    item_rest(item);
    item->outline = item->found;
    item->warnings.count = 0;
    struct sl_strip_hints hints = hints_used(item);
    sl_code code = read_sheet(run, item, &hints, status);
    if (code == SL_OK && run->memo)
        sl_memo_keep_marks(run->memo, item, &hints);
    return code;
}

/* The same, where it is remembered without a sheet: `measure` asks for one if it needs it. */
static sl_code item_read(struct sl_read_run *run, struct sl_read_item *item,
                         struct sl_status *status)
{
    struct sl_strip_hints hints = hints_used(item);
    const struct sl_memo_marks *kept =
        run->memo ? sl_memo_marks(run->memo, &item->found, &hints) : NULL;
    if (!kept)
        return item_read_afresh(run, item, status);
    item_rest(item);
    item->outline = kept->outline;
    item->marks = kept->marks;
    item->warnings = kept->warnings;
    return SL_OK;
}

static bool all_corners_given(const struct sl_read_options *options)
{
    for (size_t i = 0; i < options->hint_count; i++)
        if (!options->hint[i].has_corners)
            return false;
    return options->hint_count > 0;
}

/* Whether a failure tells nothing of the photo: another time it may go well. */
static bool is_passing(sl_code code)
{
    return code == SL_E_MEMORY || code == SL_E_CANCELLED;
}

static sl_code outlines_found(struct sl_read_run *run, struct sl_outlines *ret,
                              struct sl_warnings *warnings, struct sl_status *status)
{
    struct sl_read_memo *memo = run->memo;
    if (!memo)
        return sl_strips_find(run->photo, ret, warnings, status);
    if (!memo->searched) {
        memo->search_warnings.count = 0;
        memo->search_code = sl_strips_find(run->photo, &memo->outlines, &memo->search_warnings,
                                           &memo->search_status);
        memo->searched = !is_passing(memo->search_code);
    }
    for (size_t i = 0; i < memo->search_warnings.count; i++) {
        const struct sl_status *w = &memo->search_warnings.item[i];
        sl_warn(warnings, w->code, w->where, w->remedy, "%s", w->message);
    }
    if (memo->search_code == SL_OK)
        *ret = memo->outlines;
    else if (status)
        *status = memo->search_status;
    return memo->search_code;
}

/* Hand-set corners of every strip. What else lies on the table still tells the slant at which it is
 * seen; a photo in which no strip is found tells nothing. */
static sl_code outlines_given(struct sl_read_run *run, struct sl_outlines *ret,
                              struct sl_status *status)
{
    const struct sl_read_options *options = run->options;
    struct sl_warnings ignored = {0};
    struct sl_status problem;
    sl_code found = outlines_found(run, ret, &ignored, &problem);
    if (is_passing(found)) {
        *status = problem;
        return found;
    }
    if (found != SL_OK)
        ret->straight_count = 0;
    ret->count = options->hint_count;
    for (size_t i = 0; i < options->hint_count; i++) {
        sl_code code =
            sl_outline_from_corners(run->photo, options->hint[i].corners_px, &ret->item[i], status);
        if (code != SL_OK)
            return code;
    }
    sl_outlines_level(sl_photo_info(run->photo), ret);
    return SL_OK;
}

static void tell_progress(const struct sl_read_run *run, double part)
{
    if (run->progress)
        run->progress(run->progress_context, part);
}

/* Strips that can't be read are dropped with a warning; `ret_error` keeps the last reason. */
static size_t read_items(struct sl_read_run *run, const struct sl_outlines *outlines,
                         struct sl_read_item *items, struct sl_warnings *warnings,
                         struct sl_status *ret_error)
{
    size_t n = 0;
    for (size_t i = 0; i < outlines->count; i++) {
        struct sl_read_item *item = &items[n];
        *item = (struct sl_read_item){.found = outlines->item[i]};
        sl_strip_hints_init(&item->hints);
        if (item_read(run, item, ret_error) == SL_OK) {
            n++;
            continue;
        }
        item_finish(item);
        sl_warn(warnings, ret_error->code, ret_error->where, ret_error->remedy,
                "strip %zu was left out: %s", i + 1, ret_error->message);
    }
    return n;
}

/* Turning one strip can settle another, hence the loop; each strip is turned at most once. */
static void agree_on_direction(struct sl_read_run *run, struct sl_read_item *items, size_t count)
{
    for (size_t round = 0; round < count; round++) {
        int i = sl_read_disagrees(items, count);
        if (i < 0)
            return;
        struct sl_read_item *item = &items[i];
        item->hints.upside_down = item->marks.turned ? 0 : 1;
        struct sl_status ignored;
        if (item_read(run, item, &ignored) != SL_OK)
            return;
    }
}

/* One hint without corners holds for every strip. */
static const struct sl_strip_hints *hint_for(const struct sl_read_options *options, size_t strip)
{
    if (options->hint_count == 1 && !options->hint[0].has_corners)
        return &options->hint[0];
    return strip < options->hint_count ? &options->hint[strip] : NULL;
}

static bool hint_is_set(const struct sl_strip_hints *h)
{
    return h->has_corners || !isnan(h->origin) || !isnan(h->front) || h->upside_down >= 0 ||
           !isnan(h->paper_reflectance[0]) || h->band_count > 0;
}

/* Hand-set corners replace what was found. What of their outline is perspective is told from all
 * strips of the photo: they lie on one table. */
static sl_code set_corners(const struct sl_read_run *run, const struct sl_outlines *found,
                           struct sl_read_item *items, size_t count, struct sl_status *status)
{
    struct sl_outlines all = *found;
    all.count = count;
    for (size_t i = 0; i < count; i++) {
        const struct sl_strip_hints *hint = hint_for(run->options, i);
        sl_code code = SL_OK;
        if (hint && hint->has_corners)
            code = sl_outline_from_corners(run->photo, hint->corners_px, &items[i].found, status);
        if (code != SL_OK)
            return code;
        all.item[i] = items[i].found;
    }
    sl_outlines_level(sl_photo_info(run->photo), &all);
    for (size_t i = 0; i < count; i++)
        if (all.item[i].given)
            items[i].found.taper = all.item[i].taper;
    return SL_OK;
}

static sl_code apply_hints(struct sl_read_run *run, const struct sl_outlines *found,
                           struct sl_read_item *items, size_t count, struct sl_status *status)
{
    sl_code code = set_corners(run, found, items, count, status);
    for (size_t i = 0; i < count && code == SL_OK; i++) {
        const struct sl_strip_hints *hint = hint_for(run->options, i);
        if (!hint || !hint_is_set(hint))
            continue;
        int direction = items[i].hints.upside_down;
        if (hint->has_corners)
            direction = -1; /* the corners' own */
        items[i].hints = *hint;
        if (items[i].hints.upside_down < 0)
            items[i].hints.upside_down = direction;
        code = item_read(run, &items[i], status);
    }
    return code;
}

static sl_code check_counts(const struct sl_read_options *options, size_t count,
                            struct sl_status *status)
{
    if (options->hint_count > count)
        return sl_status_set(status, SL_E_USAGE, "reading",
                             "Give one value a strip, from left to right.",
                             "hand-set values were given for %zu strips, but the photo shows %zu",
                             options->hint_count, count);
    if (options->role_count > count)
        return sl_status_set(status, SL_E_USAGE, "reading", "Give one role a strip.",
                             "%zu roles were told, but the photo shows %zu strips",
                             options->role_count, count);
    if (options->ink_count > 1 && options->ink_count > count)
        return sl_status_set(
            status, SL_E_USAGE, "reading", "Give one ink for all strips, or one a strip.",
            "%zu inks were told, but the photo shows %zu strips", options->ink_count, count);
    return SL_OK;
}

/* Two strips are a pair, four are two pairs, anything else is single strips (design). */
static enum sl_role usual_role(size_t index, size_t count)
{
    if (count != 2 && count != 4)
        return SL_ROLE_SINGLE;
    return index % 2 == 0 ? SL_ROLE_IMMEDIATE : SL_ROLE_DRIED;
}

static void name_strip(struct sl_strip *strip, size_t index, size_t count,
                       const struct sl_read_options *options)
{
    if (options->role_count == 1)
        strip->role = options->role[0];
    else
        strip->role = index < options->role_count ? options->role[index] : usual_role(index, count);
    const char *ink = options->conditions.ink;
    if (options->ink_count == 1)
        ink = options->ink[0];
    else if (index < options->ink_count)
        ink = options->ink[index];
    snprintf(strip->ink, sizeof strip->ink, "%s", ink);
    const struct sl_strip_hints *hint = hint_for(options, index);
    strip->length_mm = hint ? hint->length_mm : NAN;
    strip->scale_source = isnan(strip->length_mm) ? SL_SCALE_NONE : SL_SCALE_GIVEN;
}

static struct sl_read_key key_of(const struct sl_read_run *run, const struct sl_read_item *item,
                                 const struct sl_strip *strip)
{
    return (struct sl_read_key){item->found, hints_used(item), strip->length_mm,
                                run->options->profile, run->options->bound_later};
}

/* The place in the reading before of the strip for which nothing has changed that it follows from,
 * or SL_STRIPS_MAX. */
static size_t place_before(const struct sl_read_run *run, const struct sl_read_key *key,
                           bool (*same)(const struct sl_read_key *a, const struct sl_read_key *b))
{
    if (!run->memo || !run->previous || run->memo->last != run->previous)
        return SL_STRIPS_MAX;
    for (size_t i = 0; i < run->previous->strip_count; i++)
        if (same(&run->memo->last_key[i], key))
            return i;
    return SL_STRIPS_MAX;
}

/* Fit and bound share do not hang on the limits of bands: the work of the reading before will do.
 */
static sl_code find_bands(const struct sl_read_run *run, struct sl_read_item *item,
                          const struct sl_read_key *key, struct sl_strip *strip,
                          struct sl_status *status)
{
    sl_code code = SL_OK;
    if (!item->work)
        code = sl_band_work_make(&strip->profile, &strip->marks, strip->length_mm, &item->work,
                                 status);
    if (code == SL_OK && !run->options->bound_later)
        sl_band_work_bound(item->work);
    if (code == SL_OK)
        code = sl_band_work_bands(item->work, &strip->profile, &strip->marks, &key->hints,
                                  &strip->bands, &strip->warnings, status);
    return code;
}

/* The profile stays: limits of bands have changed, or the bound share is asked for now. */
static sl_code measure_bands(const struct sl_read_run *run, const struct sl_strip *before,
                             struct sl_read_item *item, const struct sl_read_key *key,
                             struct sl_strip *strip, struct sl_status *status)
{
    if (!sl_read_copy_measured(before, strip))
        return no_memory(status);
    sl_bands_finish(&strip->bands);
    strip->warnings = item->warnings;
    return find_bands(run, item, key, strip, status);
}

static sl_code measure_profile(const struct sl_read_run *run, struct sl_read_item *item,
                               struct sl_strip *strip, struct sl_status *status)
{
    strip->outline = item->outline;
    sl_outline_even(&strip->outline);
    strip->marks = item->marks;
    strip->warnings = item->warnings;
    sl_code code = sl_profile_make(&item->sheet, &item->marks, &run->options->profile,
                                   &strip->profile, status);
    if (code == SL_OK)
        code = sl_picture_of_sheet(&item->sheet, &item->outline, &strip->picture, status);
    return code;
}

static sl_code measure(struct sl_read_run *run, struct sl_read_item *item, struct sl_strip *strip,
                       struct sl_status *status)
{
    struct sl_read_key key = key_of(run, item, strip);
    size_t whole = place_before(run, &key, sl_read_key_same);
    size_t profile = place_before(run, &key, sl_read_key_same_profile);
    size_t at = whole < SL_STRIPS_MAX ? whole : profile;
    if (at < SL_STRIPS_MAX) {
        item->work = run->memo->last_work[at];
        run->memo->last_work[at] = NULL;
    }
    if (whole < SL_STRIPS_MAX)
        return sl_read_copy_measured(&run->previous->strip[whole], strip) ? SL_OK
                                                                          : no_memory(status);
    if (profile < SL_STRIPS_MAX)
        return measure_bands(run, &run->previous->strip[profile], item, &key, strip, status);
    sl_code code = item->sheet.rgb ? SL_OK : item_read_afresh(run, item, status);
    if (code == SL_OK)
        code = measure_profile(run, item, strip, status);
    return code == SL_OK ? find_bands(run, item, &key, strip, status) : code;
}

/* Only once the whole reading has come about: the keys belong to that one. */
static void remember(struct sl_read_run *run, struct sl_read_item *items,
                     const struct sl_reading *reading)
{
    if (!run->memo)
        return;
    run->memo->last = reading;
    run->memo->last_count = reading->strip_count;
    for (size_t i = 0; i < reading->strip_count; i++)
        run->memo->last_key[i] = key_of(run, &items[i], &reading->strip[i]);
    sl_memo_keep_works(run->memo, items, reading->strip_count);
}

static void advise(const struct sl_read_run *run, const struct sl_reading *reading,
                   struct sl_strip *strip)
{
    sl_advise(sl_photo_info(run->photo), &strip->outline, &strip->marks, strip->length_mm,
              &strip->bands, &reading->warnings, &strip->warnings, &strip->advice);
}

static sl_code measure_all(struct sl_read_run *run, struct sl_read_item *items, size_t count,
                           struct sl_reading *reading, struct sl_status *status)
{
    reading->strip = calloc(count, sizeof *reading->strip);
    if (!reading->strip)
        return no_memory(status);
    reading->strip_count = count;
    for (size_t i = 0; i < count; i++) {
        name_strip(&reading->strip[i], i, count, run->options);
        sl_code code = sl_photo_check_cancel(run->photo, status);
        if (code == SL_OK)
            code = measure(run, &items[i], &reading->strip[i], status);
        if (code != SL_OK)
            return code;
        advise(run, reading, &reading->strip[i]);
        item_rest(&items[i]); /* one sheet at a time is enough */
        tell_progress(run, PROGRESS_MARKS + (1 - PROGRESS_MARKS) * (double)(i + 1) / (double)count);
    }
    if ((count == 2 || count == 4) && run->options->role_count == 0)
        sl_warn(&reading->warnings, SL_W_ROLES, "reading", "Say --roles if they lie otherwise.",
                "taken for granted: left is dipped at once, right is dried first%s",
                count == 4 ? ", in two pairs" : "");
    remember(run, items, reading);
    return SL_OK;
}

/* Whether a failure is the caller's or the machine's, not the photo's. */
static bool is_fatal(sl_code code)
{
    return is_passing(code) || code == SL_E_USAGE || code == SL_E_RANGE ||
           code == SL_E_ORIGIN_ABOVE_FRONT;
}

static sl_code read_strips(struct sl_read_run *run, struct sl_reading *reading,
                           struct sl_status *status)
{
    const struct sl_read_options *options = run->options;
    struct sl_outlines *outlines = calloc(1, sizeof *outlines);
    struct sl_read_item *items = calloc(SL_STRIPS_MAX, sizeof *items);
    size_t count = 0;
    sl_code code = SL_OK;
    if (!outlines || !items) {
        code = no_memory(status);
        goto done;
    }
    bool given = all_corners_given(options);
    code = given ? outlines_given(run, outlines, status)
                 : outlines_found(run, outlines, &reading->warnings, status);
    if (code != SL_OK)
        goto done;
    tell_progress(run, PROGRESS_FOUND);
    struct sl_status last = {0};
    count = read_items(run, outlines, items, &reading->warnings, &last);
    if (count == 0) {
        if (status)
            *status = last;
        code = last.code;
        goto done;
    }
    if ((code = sl_photo_check_cancel(run->photo, status)) != SL_OK)
        goto done;
    tell_progress(run, PROGRESS_MARKS);
    agree_on_direction(run, items, count);
    if (!given)
        sl_read_sort(items, count);
    code = check_counts(options, count, status);
    if (code == SL_OK)
        code = apply_hints(run, outlines, items, count, status);
    if (code == SL_OK)
        code = measure_all(run, items, count, reading, status);
done:
    for (size_t i = 0; items && i < count; i++)
        item_finish(&items[i]);
    free(items);
    free(outlines);
    return code;
}

static struct sl_reading *reading_create(const struct sl_read_options *options)
{
    struct sl_reading *reading = calloc(1, sizeof *reading);
    if (reading) {
        reading->settings = *options;
        reading->conditions = options->conditions;
    }
    return reading;
}

sl_code sl_read_run(struct sl_read_run *run, const struct sl_warnings *photo_warnings,
                    struct sl_reading **ret, struct sl_status *status)
{
    struct sl_reading *reading = reading_create(run->options);
    if (!reading)
        return no_memory(status);
    reading->photo = *sl_photo_info(run->photo);
    if (photo_warnings)
        reading->warnings = *photo_warnings;
    if (!reading->conditions.date[0])
        memcpy(reading->conditions.date, reading->photo.date, sizeof reading->conditions.date);
    struct sl_status problem = {0};
    sl_code code = read_strips(run, reading, &problem);
    if (code != SL_OK && is_fatal(code)) {
        sl_reading_destroy(reading);
        if (status)
            *status = problem;
        return code;
    }
    if (code != SL_OK) {
        sl_reading_drop_strips(reading);
        reading->error = problem;
    }
    *ret = reading;
    return SL_OK;
}

sl_code sl_read_failed(const char *name, const struct sl_read_options *options,
                       const struct sl_warnings *warnings, const struct sl_status *problem,
                       struct sl_reading **ret, struct sl_status *status)
{
    if (problem->code == SL_E_MEMORY) {
        if (status)
            *status = *problem;
        return problem->code;
    }
    struct sl_reading *reading = reading_create(options);
    if (!reading)
        return no_memory(status);
    snprintf(reading->photo.file, sizeof reading->photo.file, "%s", name);
    reading->error = *problem;
    reading->warnings = *warnings;
    *ret = reading;
    return SL_OK;
}

sl_code sl_read_photo(struct sl_photo *photo, const struct sl_warnings *photo_warnings,
                      const struct sl_read_options *options, struct sl_reading **ret,
                      struct sl_status *status)
{
    struct sl_read_run run = {.photo = photo, .options = options};
    return sl_read_run(&run, photo_warnings, ret, status);
}

sl_code sl_read(const char *path, const struct sl_read_options *options, struct sl_reading **ret,
                struct sl_status *status)
{
    struct sl_photo *photo = NULL;
    struct sl_warnings warnings = {0};
    struct sl_status problem = {0};
    sl_code code = sl_photo_open(path, &photo, &warnings, &problem);
    if (code != SL_OK)
        return sl_read_failed(path, options, &warnings, &problem, ret, status);
    code = sl_read_photo(photo, &warnings, options, ret, status);
    sl_photo_close(photo);
    return code;
}
