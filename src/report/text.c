// SPDX-License-Identifier: GPL-3.0-or-later
/* What a terminal shows: photo by photo, strip by strip, then the pairs' verdicts. */
#include "figure/words.h"
#include "text_print.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { WIDTH_USUAL = 80, WIDTH_MIN = 30 };

/* ---- numbers ---- */

/* "12 %", or "3.1 %" where whole percents are too coarse. */
static const char *percent(double share, int decimals, char text[SL_NUMBER_BYTES])
{
    return sl_number(100 * share, decimals, text);
}

static const char *share_text(double share, const double interval[2], char text[SL_CELL_BYTES])
{
    char value[SL_NUMBER_BYTES], low[SL_NUMBER_BYTES], high[SL_NUMBER_BYTES];
    int decimals = share < 0.0995;
    if (isfinite(interval[0]) && isfinite(interval[1]))
        snprintf(text, SL_CELL_BYTES, "%.8s %% (%.8s to %.8s %%)", percent(share, decimals, value),
                 percent(interval[0], decimals, low), percent(interval[1], decimals, high));
    else
        snprintf(text, SL_CELL_BYTES, "%.8s %%", percent(share, decimals, value));
    return text;
}

static void put_number(char cell[SL_CELL_BYTES], double value, int decimals)
{
    char text[SL_NUMBER_BYTES];
    snprintf(cell, SL_CELL_BYTES, "%.12s",
             isfinite(value) ? sl_number(value, decimals, text) : "-");
}

static void put_interval(char cell[SL_CELL_BYTES], const double interval[2], int decimals)
{
    char low[SL_NUMBER_BYTES], high[SL_NUMBER_BYTES];
    if (isfinite(interval[0]) && isfinite(interval[1]))
        snprintf(cell, SL_CELL_BYTES, "%.12s to %.12s", sl_number(interval[0], decimals, low),
                 sl_number(interval[1], decimals, high));
    else
        snprintf(cell, SL_CELL_BYTES, "-");
}

/* ---- bands ---- */

static const struct sl_column band_columns[] = {
    {"", false, 0},      {"Rf", false, 0},      {"95 % interval", false, 2},
    {"hRf", false, 5},   {"share %", false, 0}, {"95 %", false, 3},
    {"width", false, 6}, {"Rs", false, 4},      {"colour", true, 0},
};
enum { BAND_COLUMNS = sizeof band_columns / sizeof *band_columns };

static void band_cells(const struct sl_band *band, size_t index,
                       char cell[SL_COLUMNS_MAX][SL_CELL_BYTES])
{
    double share[2] = {100 * band->share_interval[0], 100 * band->share_interval[1]};
    snprintf(cell[0], SL_CELL_BYTES, "%zu", index + 1);
    put_number(cell[1], band->rf, 3);
    put_interval(cell[2], band->rf_interval, 3);
    put_number(cell[3], sl_hrf(band->rf), 0);
    put_number(cell[4], 100 * band->share, 1);
    put_interval(cell[5], share, 0);
    put_number(cell[6], band->half_width_rf, 3);
    put_number(cell[7], band->resolution_to_next, 1);
    snprintf(cell[8], SL_CELL_BYTES, "%s%s%s%s", band->hue_name ? band->hue_name : "",
             band->retained ? ", retained" : "", band->overlapped ? ", overlapped" : "",
             band->given ? ", by hand" : "");
}

static void print_bands(struct sl_printer *printer, const struct sl_bands *bands)
{
    char cell[SL_BANDS_MAX][SL_COLUMNS_MAX][SL_CELL_BYTES];
    double swatch[SL_BANDS_MAX][3];
    for (size_t i = 0; i < bands->count; i++) {
        band_cells(&bands->item[i], i, cell[i]);
        memcpy(swatch[i], bands->item[i].lab_d50, sizeof swatch[i]);
    }
    struct sl_text_table table = {BAND_COLUMNS, bands->count, band_columns, cell,
                                  (const double(*)[3])swatch};
    fputc('\n', printer->out);
    sl_print_table(printer, "  ", &table);
}

static void print_reach(struct sl_printer *printer, const struct sl_bands *bands)
{
    sl_print_paragraph(printer, "  ",
                       bands->count ? "Much of the dye stands in a streak outside these bands:"
                                    : "The dye forms a streak without bands of its own:");
    for (size_t i = 0; i < bands->reach_count; i++) {
        const struct sl_reach *reach = &bands->reach[i];
        char first[SL_NUMBER_BYTES], last[SL_NUMBER_BYTES], share[SL_NUMBER_BYTES];
        sl_print_format(
            printer, "  - ", "%s reaches from hRf %s to %s (%s %% of the dye)",
            reach->hue_name ? reach->hue_name : "", sl_number(sl_hrf(reach->first_rf), 0, first),
            sl_number(sl_hrf(reach->last_rf), 0, last), sl_number(100 * reach->share, 0, share));
    }
}

/* ---- strip ---- */

static const char *role_words(enum sl_role role)
{
    return role == SL_ROLE_IMMEDIATE ? "dipped at once"
           : role == SL_ROLE_DRIED   ? "dried first"
                                     : "";
}

/* "front at 0.912 (seen by the dye)" */
static void front_text(const struct sl_marks *marks, char *to, size_t size)
{
    static const char *const how[] = {
        [SL_FRONT_DYE] = "seen by the dye",
        [SL_FRONT_WATER_LINE] = "seen by its water line",
        [SL_FRONT_PENCIL] = "marked in pencil",
        [SL_FRONT_GIVEN] = "set by hand",
    };
    char front[SL_NUMBER_BYTES];
    sl_number(marks->front, 3, front);
    if (marks->front_seen == SL_FRONT_NOT_SEEN)
        snprintf(to, size, "front not seen (taken at %s, so Rf is rough)", front);
    else
        snprintf(to, size, "front at %s (%s)", front, how[marks->front_seen]);
}

static void print_marks(struct sl_printer *printer, const struct sl_strip *strip)
{
    char origin[SL_NUMBER_BYTES], front[SL_NUMBER_BYTES + 48], length[SL_NUMBER_BYTES];
    char scale[SL_NUMBER_BYTES + 16] = "no scale";
    if (isfinite(strip->length_mm))
        snprintf(scale, sizeof scale, "%s mm long", sl_number(strip->length_mm, 1, length));
    front_text(&strip->marks, front, sizeof front);
    sl_print_format(printer, "  ", "Origin at %s of the length%s, %s; %s.",
                    sl_number(strip->marks.origin, 3, origin),
                    strip->marks.given_origin ? " (set by hand)" : "", front, scale);
}

static void print_retained(struct sl_printer *printer, const struct sl_bands *bands)
{
    char retained[SL_CELL_BYTES], bound[SL_CELL_BYTES];
    sl_print_format(printer, "  ", "Retained at the line %s, bound %s.",
                    share_text(bands->retained_share, bands->retained_interval, retained),
                    share_text(bands->bound_share, bands->bound_interval, bound));
}

static void print_strip(struct sl_printer *printer, const struct sl_reading *reading, size_t index)
{
    const struct sl_strip *strip = &reading->strip[index];
    const char *ink = sl_strip_ink(reading, index);
    fputc('\n', printer->out);
    const char *role = role_words(strip->role);
    sl_print_format(printer, "", "Strip %zu of %zu%s%s%s%s", index + 1, reading->strip_count,
                    *ink || *role ? ": " : "", ink, *ink && *role ? ", " : "", role);
    if (!strip->marks.origin_outside && !sl_strip_is_blank(strip))
        print_marks(printer, strip);
    if (sl_strip_is_blank(strip))
        sl_print_paragraph(printer, "  ", "No ink on this strip.");
    else if (!strip->marks.origin_outside)
        print_retained(printer, &strip->bands);
    if (strip->bands.count)
        print_bands(printer, &strip->bands);
    if (strip->bands.smeared && strip->bands.reach_count)
        print_reach(printer, &strip->bands);
    sl_print_warnings(printer, "  ! ", &strip->warnings);
}

/* ---- photo ---- */

static void print_conditions(struct sl_printer *printer, const struct sl_conditions *conditions)
{
    char text[3 * SL_NAME_MAX + 128], dip[SL_NUMBER_BYTES] = "", dried[SL_NUMBER_BYTES] = "";
    bool has_dip = isfinite(conditions->dip_s), has_dried = isfinite(conditions->dried_min);
    if (has_dip)
        sl_number(conditions->dip_s, 0, dip);
    if (has_dried)
        sl_number(conditions->dried_min, 0, dried);
    snprintf(text, sizeof text, "%s%s%s%s%s%s%s%s%s%s%s", conditions->paper,
             conditions->paper[0] ? ", " : "", conditions->solvent,
             conditions->solvent[0] ? ", " : "", dip, has_dip ? " s dip, " : "",
             has_dried ? "dried " : "", dried, has_dried ? " min, " : "", conditions->date,
             conditions->date[0] ? ", " : "");
    size_t n = strlen(text);
    if (n < 2)
        return;
    text[n - 2] = '\0';
    sl_print_paragraph(printer, "  ", text);
}

static void print_advice(struct sl_printer *printer, const struct sl_reading *reading)
{
    struct sl_reading_advice advice;
    sl_reading_advise(reading, &advice);
    if (!advice.count)
        return;
    fputc('\n', printer->out);
    sl_print_paragraph(printer, "", "What would help most next time:");
    for (size_t i = 0; i < advice.count; i++) {
        char words[SL_ADVICE_BYTES], number[32];
        sl_reading_advice_words(reading, &advice, i, words, sizeof words);
        snprintf(number, sizeof number, "  %zu. ", i + 1);
        sl_print_paragraph(printer, number, words);
    }
}

static void print_photo(struct sl_printer *printer, const struct sl_reading *reading)
{
    const struct sl_photo_info *photo = &reading->photo;
    if (reading->error.code != SL_OK) {
        sl_print_format(printer, "", "%s", photo->file);
        sl_print_warnings(printer, "  ! ", &reading->warnings);
        sl_print_problem(printer, "  error: ", &reading->error);
        return;
    }
    sl_print_format(printer, "", "%s: %d x %d px, %s", photo->file, photo->width_px,
                    photo->height_px, photo->colour_profile);
    print_conditions(printer, &reading->conditions);
    sl_print_warnings(printer, "  ! ", &reading->warnings);
    for (size_t i = 0; i < reading->strip_count; i++)
        print_strip(printer, reading, i);
    print_advice(printer, reading);
}

/* ---- verdict ---- */

enum { ZONE = 13, SCALE = SL_LEVELS * ZONE };

/* An index on a limit stands in the level that begins there. */
static int scale_column(double index)
{
    int column = (int)(words_scale_place(index) * SCALE);
    return column < SCALE ? column : SCALE - 1;
}

/* The levels side by side, the interval as a bar, the index on it:
 *     none         trace       partial      strong
 * |............|............|............==#==........|
 * 0            2            8            30           100 */
static void print_scale(struct sl_printer *printer, const struct sl_pair *pair)
{
    char names[SCALE + 1] = "", bar[SCALE + 1];
    if (printer->width < SCALE + 7)
        return;
    memset(bar, '.', SCALE);
    bar[SCALE] = '\0';
    for (int i = 0; i < SL_LEVELS; i++) {
        const char *name = sl_level_name((enum sl_level)i);
        int middle = i * ZONE + (ZONE + (int)strlen(name)) / 2, used = (int)strlen(names);
        snprintf(names + used, sizeof names - (size_t)used, "%*s", middle - used, name);
        bar[i * ZONE] = '|';
    }
    int low = scale_column(pair->index_interval[0]), high = scale_column(pair->index_interval[1]);
    memset(bar + low, '=', (size_t)(high - low + 1));
    bar[scale_column(pair->index)] = '#';
    fprintf(printer->out, "\n    %s\n    %s|\n    ", names, bar);
    fprintf(printer->out, "%-*d%-*.0f%-*.0f%-*.0f%d\n\n", ZONE, 0, ZONE, 100 * SL_TRACE_LIMIT, ZONE,
            100 * SL_RETAINED_LIMIT, ZONE, 100 * SL_STRONG_LIMIT, 100);
}

static void print_words(struct sl_printer *printer,
                        void (*words)(const struct sl_pair *, char *, size_t),
                        const struct sl_pair *pair)
{
    char text[WORDS_BYTES];
    words(pair, text, sizeof text);
    if (*text)
        sl_print_paragraph(printer, "  ", text);
}

/* In the figure's words: the answer, and how sure that is. */
static void print_headline(struct sl_printer *printer, const struct sl_pair *pair)
{
    char answer[96];
    words_answer(pair, answer, sizeof answer);
    sl_print_format(printer, "", "Verdict%s%s: %s", pair->ink[0] ? " on " : "", pair->ink, answer);
    print_words(printer, words_sure, pair);
}

/* Whether a verdict of several strips takes the pair in. */
static bool is_combined(const struct sl_document *document, const struct sl_pair *pair)
{
    for (size_t i = 0; i < document->combined_count; i++) {
        const struct sl_combined *one = &document->combined[i];
        for (size_t k = 0; k < one->dried_count; k++)
            if (one->dried[k].photo == pair->dried.photo &&
                one->dried[k].strip == pair->dried.strip)
                return true;
    }
    return false;
}

static void print_short(struct sl_printer *printer, const struct sl_document *document,
                        const struct sl_pair *pair)
{
    const struct sl_reading *reading = document->reading[pair->dried.photo];
    char answer[96], level[256];
    words_answer(pair, answer, sizeof answer);
    words_level(pair, level, sizeof level);
    sl_print_format(printer, "  ", "By strip %zu of %s alone: %s%s%s", pair->dried.strip + 1,
                    words_file(reading->photo.file), answer, *level ? ". " : "", level);
}

static void print_pair(struct sl_printer *printer, const struct sl_pair *pair)
{
    fputc('\n', printer->out);
    print_headline(printer, pair);
    if (pair->unjudged == SL_JUDGED)
        print_scale(printer, pair);
    print_words(printer, words_level, pair);
    if (printer->lab && *pair->retained_hue_name) {
        fputs("  Colour of what is retained: ", printer->out);
        sl_print_swatch(printer, pair->retained_lab_d50);
        fprintf(printer->out, "%s\n", pair->retained_hue_name);
    }
    for (size_t i = 0; i < pair->reason_count; i++)
        sl_print_paragraph(printer, "  - ", pair->reason[i]);
    print_words(printer, words_soak, pair);
    for (size_t i = 0; i < pair->advice_count; i++)
        sl_print_paragraph(printer, "  > ", pair->advice[i]);
    sl_print_warnings(printer, "  ! ", &pair->warnings);
}

static void print_combined(struct sl_printer *printer, const struct sl_document *document,
                           const struct sl_combined *combined)
{
    print_pair(printer, &combined->pair);
    for (size_t i = 0; i < document->pair_count; i++)
        for (size_t k = 0; k < combined->dried_count; k++)
            if (document->pair[i].dried.photo == combined->dried[k].photo &&
                document->pair[i].dried.strip == combined->dried[k].strip)
                print_short(printer, document, &document->pair[i]);
}

static void print_document(struct sl_printer *printer, const struct sl_document *document,
                           const struct sl_overlay *overlay)
{
    for (size_t i = 0; i < document->reading_count; i++) {
        if (i > 0)
            fputc('\n', printer->out);
        print_photo(printer, document->reading[i]);
    }
    for (size_t i = 0; i < document->replicate_count; i++)
        sl_print_replicate(printer, document, &document->replicate[i]);
    for (size_t i = 0; i < document->combined_count; i++)
        print_combined(printer, document, &document->combined[i]);
    for (size_t i = 0; i < document->pair_count; i++)
        if (!is_combined(document, &document->pair[i]))
            print_pair(printer, &document->pair[i]);
    if (document->pair_count) {
        fputc('\n', printer->out);
        sl_print_paragraph(printer, "", sl_retention_caution());
    }
    if (overlay)
        sl_print_overlay(printer, document, overlay);
}

sl_code sl_report_text(const struct sl_document *document, const struct sl_overlay *overlay,
                       const struct sl_text_options *options, char **ret, struct sl_status *status)
{
    char *text = NULL;
    size_t size = 0;
    struct sl_printer printer = {.width = options->width > 0 ? options->width : WIDTH_USUAL};
    printer.width = printer.width < WIDTH_MIN ? WIDTH_MIN : printer.width;
    if (options->colour) {
        sl_code code = sl_lab_create(&printer.lab, status);
        if (code != SL_OK)
            return code;
    }
    printer.out = open_memstream(&text, &size);
    bool failed = !printer.out;
    if (printer.out) {
        struct words_locale locale = words_locale_begin();
        print_document(&printer, document, overlay);
        words_locale_end(locale);
        failed = ferror(printer.out) != 0 || printer.failed;
        failed = fclose(printer.out) != 0 || failed;
    }
    sl_lab_destroy(printer.lab);
    if (failed) {
        free(text);
        return sl_status_set(status, SL_E_MEMORY, "report/text", "Close other programs.",
                             "there is not enough memory to write the report");
    }
    *ret = text;
    return SL_OK;
}
