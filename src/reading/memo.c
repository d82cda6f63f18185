// SPDX-License-Identifier: GPL-3.0-or-later
/* What a reader remembers between two readings of one photo. Every step is a pure function of what
 * stands in its key, so that a remembered result is the one that a fresh run would give.
 *
 * 1. Outlines found: of the photo alone.
 * 2. A sheet as straightened: of the outline.
 * 3. What a sheet shows: of the outline and which end was said to be the lower one.
 * 4. Marks: of the outline and the hints.
 * 5. A measured strip: of outline, hints, scale and averaging; it is copied from the reading
 * before.
 * 6. The work behind its bands: of the same, but the limits of bands.
 * The oldest entry gives way to a new one. */
#include "reading_internal.h"

#include <stdlib.h>
#include <string.h>

#define SAME(a, b, field) (memcmp(&(a)->field, &(b)->field, sizeof(a)->field) == 0)

/* Field by field: the bytes between them are anything. */
static bool same_outline(const struct sl_outline *a, const struct sl_outline *b)
{
    return SAME(a, b, corner_px) && SAME(a, b, left_px) && SAME(a, b, right_px) &&
           SAME(a, b, edge_sigma_px) && SAME(a, b, hidden_from) && SAME(a, b, hidden_to) &&
           SAME(a, b, bend) && SAME(a, b, taper) && a->cut_off == b->cut_off &&
           a->cut_lower == b->cut_lower && a->cut_upper == b->cut_upper && a->given == b->given;
}

/* Corners are in the outline already; limits of bands leave the marks alone. */
static bool same_hints(const struct sl_strip_hints *a, const struct sl_strip_hints *b)
{
    return SAME(a, b, origin) && SAME(a, b, front) && SAME(a, b, length_mm) &&
           a->upside_down == b->upside_down && SAME(a, b, paper_reflectance);
}

static bool same_bands(const struct sl_strip_hints *a, const struct sl_strip_hints *b)
{
    return a->band_count == b->band_count &&
           memcmp(a->band, b->band, a->band_count * sizeof *a->band) == 0;
}

static bool same_averaging(const struct sl_profile_options *a, const struct sl_profile_options *b)
{
    return SAME(a, b, across_from) && SAME(a, b, across_to) &&
           a->straighten_fronts == b->straighten_fronts;
}

bool sl_read_key_same_profile(const struct sl_read_key *a, const struct sl_read_key *b)
{
    return same_outline(&a->found, &b->found) && same_hints(&a->hints, &b->hints) &&
           SAME(a, b, length_mm) && same_averaging(&a->averaging, &b->averaging);
}

bool sl_read_key_same(const struct sl_read_key *had, const struct sl_read_key *wanted)
{
    return sl_read_key_same_profile(had, wanted) && same_bands(&had->hints, &wanted->hints) &&
           (!had->bound_later || wanted->bound_later);
}

static void *copy(const void *from, size_t count, size_t size, bool *failed)
{
    if (!from || count == 0)
        return NULL;
    void *to = malloc(count * size); /* of this size already once */
    if (!to) {
        *failed = true;
        return NULL;
    }
    return memcpy(to, from, count * size);
}

static bool copy_profile(const struct sl_profile *from, struct sl_profile *ret)
{
    bool failed = false;
    size_t n = from->count, triple = sizeof *from->load;
    *ret = *from;
    ret->position = copy(from->position, n, sizeof *from->position, &failed);
    ret->reflectance = copy(from->reflectance, n, triple, &failed);
    ret->reflectance_se = copy(from->reflectance_se, n, triple, &failed);
    ret->load = copy(from->load, n, triple, &failed);
    ret->load_se = copy(from->load_se, n, triple, &failed);
    ret->density = copy(from->density, n, triple, &failed);
    ret->lab_d50 = copy(from->lab_d50, n, triple, &failed);
    ret->lab_se = copy(from->lab_se, n, triple, &failed);
    ret->light_se = copy(from->light_se, n, triple, &failed);
    ret->flags = copy(from->flags, n, 1, &failed);
    return !failed;
}

bool sl_read_copy_measured(const struct sl_strip *from, struct sl_strip *ret)
{
    bool failed = false;
    ret->outline = from->outline;
    ret->marks = from->marks;
    ret->warnings = from->warnings;
    ret->bands = from->bands;
    ret->picture = from->picture;
    ret->bands.smooth = copy(from->bands.smooth, from->bands.smooth_count, sizeof(double), &failed);
    ret->bands.fitted = copy(from->bands.fitted, from->bands.smooth_count, sizeof(double), &failed);
    size_t pixels = (size_t)from->picture.width * (size_t)from->picture.height;
    ret->picture.rgb = copy(from->picture.rgb, pixels, 3, &failed);
    return copy_profile(&from->profile, &ret->profile) && !failed;
}

bool sl_sheet_copy(const struct sl_sheet *from, struct sl_sheet *ret)
{
    bool failed = false;
    size_t rows = (size_t)from->rows, cells = rows * (size_t)from->columns;
    struct sl_sheet sheet = *from;
    sheet.rgb = copy(from->rgb, cells, 3 * sizeof *from->rgb, &failed);
    sheet.flags = copy(from->flags, cells, 1, &failed);
    sheet.paper = copy(from->paper, rows, 3 * sizeof *from->paper, &failed);
    if (failed)
        sl_sheet_finish(&sheet);
    else
        *ret = sheet;
    return !failed;
}

const struct sl_sheet *sl_memo_sheet(struct sl_read_memo *memo, const struct sl_outline *outline)
{
    for (size_t i = 0; i < SL_MEMO_SHEETS; i++) {
        struct sl_memo_sheet *entry = &memo->sheet[i];
        if (entry->sheet.rgb && same_outline(&entry->outline, outline)) {
            entry->used_at = ++memo->clock;
            return &entry->sheet;
        }
    }
    return NULL;
}

void sl_memo_keep_sheet(struct sl_read_memo *memo, const struct sl_outline *outline,
                        const struct sl_sheet *sheet)
{
    struct sl_memo_sheet *oldest = &memo->sheet[0];
    for (size_t i = 1; i < SL_MEMO_SHEETS; i++)
        if (memo->sheet[i].used_at < oldest->used_at)
            oldest = &memo->sheet[i];
    sl_sheet_finish(&oldest->sheet);
    *oldest = (struct sl_memo_sheet){.used_at = ++memo->clock, .outline = *outline};
    if (!sl_sheet_copy(sheet, &oldest->sheet))
        oldest->used_at = 0; /* without memory it is straightened again */
}

const struct sl_sight *sl_memo_sight(struct sl_read_memo *memo, const struct sl_outline *outline,
                                     int upside_down)
{
    for (size_t i = 0; i < SL_MEMO_SIGHTS; i++) {
        struct sl_memo_sight *entry = &memo->sight[i];
        if (entry->sight && entry->upside_down == upside_down &&
            same_outline(&entry->outline, outline)) {
            entry->used_at = ++memo->clock;
            return entry->sight;
        }
    }
    return NULL;
}

void sl_memo_keep_sight(struct sl_read_memo *memo, const struct sl_outline *outline,
                        int upside_down, struct sl_sight *sight)
{
    struct sl_memo_sight *oldest = &memo->sight[0];
    for (size_t i = 1; i < SL_MEMO_SIGHTS; i++)
        if (memo->sight[i].used_at < oldest->used_at)
            oldest = &memo->sight[i];
    sl_sight_destroy(oldest->sight);
    *oldest = (struct sl_memo_sight){++memo->clock, *outline, upside_down, sight};
}

const struct sl_memo_marks *sl_memo_marks(struct sl_read_memo *memo,
                                          const struct sl_outline *outline,
                                          const struct sl_strip_hints *hints)
{
    for (size_t i = 0; i < SL_MEMO_MARKS; i++) {
        struct sl_memo_marks *entry = &memo->marks[i];
        if (entry->used_at && same_outline(&entry->found, outline) &&
            same_hints(&entry->hints, hints)) {
            entry->used_at = ++memo->clock;
            return entry;
        }
    }
    return NULL;
}

void sl_memo_keep_marks(struct sl_read_memo *memo, const struct sl_read_item *item,
                        const struct sl_strip_hints *hints)
{
    struct sl_memo_marks *oldest = &memo->marks[0];
    for (size_t i = 1; i < SL_MEMO_MARKS; i++)
        if (memo->marks[i].used_at < oldest->used_at)
            oldest = &memo->marks[i];
    *oldest = (struct sl_memo_marks){++memo->clock, item->found, *hints,
                                     item->outline, item->marks, item->warnings};
}

void sl_memo_keep_works(struct sl_read_memo *memo, struct sl_read_item *items, size_t count)
{
    for (size_t i = 0; i < SL_STRIPS_MAX; i++) {
        sl_band_work_destroy(memo->last_work[i]);
        memo->last_work[i] = i < count ? items[i].work : NULL;
        if (i < count)
            items[i].work = NULL;
    }
}

void sl_memo_rest(struct sl_read_memo *memo)
{
    sl_memo_keep_works(memo, NULL, 0);
    for (size_t i = 0; i < SL_MEMO_SIGHTS; i++) {
        sl_sight_destroy(memo->sight[i].sight);
        memo->sight[i] = (struct sl_memo_sight){0};
    }
    for (size_t i = 0; i < SL_MEMO_SHEETS; i++) {
        sl_sheet_finish(&memo->sheet[i].sheet);
        memo->sheet[i].used_at = 0;
    }
}
