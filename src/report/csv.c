// SPDX-License-Identifier: GPL-3.0-or-later
/* Bands and profiles as CSV after RFC 4180: commas, CRLF, quotes doubled, a header row; a dot as
 * decimal sign everywhere. Units are in the column names, what has none is a plain number. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report_internal.h"

/* Where a strip stands and how it was run: the first columns of every row. */
static const char STRIP_HEADER[] =
    "photo,strip,ink,role,paper,solvent,dip_s,dried_min,date,length_mm";

static sl_code no_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "report/csv", "Close other programs.",
                         "there is not enough memory to write the table");
}

/* A spreadsheet takes a text that begins so for a formula; an apostrophe before it is harmless. */
static bool is_formula(const char *text)
{
    return *text && strchr("=+-@\t\r", *text);
}

static void put_text(FILE *out, const char *text)
{
    char *clean = sl_text_clean(text, SL_TEXT_REPLACE_CONTROLS);
    if (!clean) {
        fputs("?", out); /* the stream itself will tell that memory is short */
        return;
    }
    bool quoted = strpbrk(clean, ",\"\r\n") || is_formula(clean);
    if (quoted)
        fputc('"', out);
    if (is_formula(clean))
        fputc('\'', out);
    for (const char *c = clean; *c; c++) {
        if (*c == '"')
            fputc('"', out);
        fputc(*c, out);
    }
    if (quoted)
        fputc('"', out);
    free(clean);
}

/* Trailing zeros say nothing; what is not known stays empty. */
static void put_number(FILE *out, double value, int decimals)
{
    char text[SL_NUMBER_BYTES];
    fputc(',', out);
    if (!isfinite(value))
        return;
    sl_number(value, decimals, text);
    size_t n = strlen(text);
    if (strchr(text, '.')) {
        while (text[n - 1] == '0')
            n--;
        if (text[n - 1] == '.')
            n--;
    }
    text[n] = '\0';
    fputs(text, out);
}

static void put_triple(FILE *out, const double (*values)[3], size_t i, int decimals)
{
    for (int c = 0; c < 3; c++)
        put_number(out, values ? values[i][c] : NAN, decimals);
}

static void put_strip(FILE *out, const struct sl_reading *reading, size_t index)
{
    const struct sl_strip *strip = &reading->strip[index];
    const struct sl_conditions *conditions = &reading->conditions;
    put_text(out, reading->photo.file);
    fprintf(out, ",%zu,", index + 1);
    put_text(out, strip->ink[0] ? strip->ink : conditions->ink);
    fprintf(out, ",%s,", sl_role_name(strip->role));
    put_text(out, conditions->paper);
    fputc(',', out);
    put_text(out, conditions->solvent);
    put_number(out, conditions->dip_s, 3);
    put_number(out, conditions->dried_min, 3);
    fputc(',', out);
    put_text(out, conditions->date);
    put_number(out, strip->length_mm, 3);
}

static void put_band(FILE *out, const struct sl_bands *bands, size_t index)
{
    const struct sl_band *band = &bands->item[index];
    fprintf(out, ",%zu", index + 1);
    put_number(out, band->rf, 4);
    put_number(out, band->rf_interval[0], 4);
    put_number(out, band->rf_interval[1], 4);
    put_number(out, sl_hrf(band->rf), 2);
    put_number(out, band->start_rf, 4);
    put_number(out, band->end_rf, 4);
    put_number(out, band->share, 4);
    put_number(out, band->share_interval[0], 4);
    put_number(out, band->share_interval[1], 4);
    put_number(out, band->half_width_rf, 4);
    put_number(out, band->asymmetry, 3);
    put_number(out, band->resolution_to_next, 3);
    put_triple(out, &band->lab_d50, 0, 2);
    put_number(out, band->hue_deg, 1);
    put_number(out, band->hue_interval[0], 1);
    put_number(out, band->hue_interval[1], 1);
    fputc(',', out);
    put_text(out, band->hue_name ? band->hue_name : "");
    put_triple(out, &band->signature, 0, 4);
    const bool said[] = {band->retained, band->overlapped, band->unsure, band->given};
    for (size_t i = 0; i < sizeof said / sizeof *said; i++)
        fprintf(out, ",%s", said[i] ? "yes" : "no");
    put_number(out, bands->retained_share, 4);
    put_number(out, bands->retained_interval[0], 4);
    put_number(out, bands->retained_interval[1], 4);
    put_number(out, bands->bound_share, 4);
    put_number(out, bands->bound_interval[0], 4);
    put_number(out, bands->bound_interval[1], 4);
    fputs("\r\n", out);
}

static void put_bands(FILE *out, const struct sl_document *document)
{
    fprintf(out,
            "%s,band,rf,rf_low,rf_high,hrf,start_rf,end_rf,share,share_low,share_high,"
            "half_width_rf,asymmetry,resolution_to_next,lab_l,lab_a,lab_b,hue_deg,"
            "hue_low,hue_high,hue_name,"
            "signature_red,signature_green,signature_blue,retained,overlapped,unsure,"
            "limits_given,strip_retained_share,strip_retained_low,strip_retained_high,"
            "strip_bound_share,strip_bound_low,strip_bound_high\r\n",
            STRIP_HEADER);
    for (size_t i = 0; i < document->reading_count; i++)
        for (size_t j = 0; j < document->reading[i]->strip_count; j++)
            for (size_t k = 0; k < document->reading[i]->strip[j].bands.count; k++) {
                put_strip(out, document->reading[i], j);
                put_band(out, &document->reading[i]->strip[j].bands, k);
            }
}

static void put_sample(FILE *out, const struct sl_strip *strip, size_t i)
{
    const struct sl_profile *p = &strip->profile;
    const double *lab = p->lab_d50 ? p->lab_d50[i] : NULL;
    /* what was hidden is bridged and has no error that was measured */
    bool hidden = p->flags && (p->flags[i] & SL_CELL_HIDDEN);
    put_number(out, p->position[i], 6);
    put_number(out, p->position[i] * strip->length_mm, 3);
    put_number(out, sl_strip_rf(strip, p->position[i]), 5);
    put_number(out, p->load[i][0] + p->load[i][1] + p->load[i][2], 5);
    put_triple(out, (const double(*)[3])p->load, i, 5);
    put_triple(out, hidden ? NULL : (const double(*)[3])p->load_se, i, 5);
    put_triple(out, (const double(*)[3])p->density, i, 4);
    put_triple(out, (const double(*)[3])p->reflectance, i, 5);
    put_triple(out, (const double(*)[3])p->lab_d50, i, 2);
    put_number(out, lab && isfinite(lab[0]) ? sl_lab_hue_deg(lab) : NAN, 1);
    fputs("\r\n", out);
}

static void put_profiles(FILE *out, const struct sl_document *document)
{
    fprintf(out,
            "%s,position,position_mm,rf,load,load_red,load_green,load_blue,load_se_red,"
            "load_se_green,load_se_blue,density_red,density_green,density_blue,reflectance_red,"
            "reflectance_green,reflectance_blue,lab_l,lab_a,lab_b,hue_deg\r\n",
            STRIP_HEADER);
    for (size_t i = 0; i < document->reading_count; i++)
        for (size_t j = 0; j < document->reading[i]->strip_count; j++)
            for (size_t k = 0; k < document->reading[i]->strip[j].profile.count; k++) {
                put_strip(out, document->reading[i], j);
                put_sample(out, &document->reading[i]->strip[j], k);
            }
}

struct replicate_row {
    const char *number; /* kind of number */
    size_t band;        /* from 1; 0: of the whole strip */
    const char *hue_name;
    const struct sl_mean *mean;
};

static void put_mean(FILE *out, const struct sl_replicate *set, const struct replicate_row *row)
{
    put_text(out, set->ink);
    fprintf(out, ",%s,%zu,%s,", sl_role_name(set->role), set->strip_count, row->number);
    if (row->band)
        fprintf(out, "%zu", row->band);
    fputc(',', out);
    put_text(out, row->hue_name);
    fprintf(out, ",%zu", row->mean->count);
    put_number(out, row->mean->value, 4);
    put_number(out, row->mean->interval[0], 4);
    put_number(out, row->mean->interval[1], 4);
    put_number(out, row->mean->between_sd, 4);
    fputs("\r\n", out);
}

static void put_replicates(FILE *out, const struct sl_document *document)
{
    fputs("ink,role,strips,number,band,hue_name,strips_with_it,mean,low,high,between_sd\r\n", out);
    for (size_t i = 0; i < document->replicate_count; i++) {
        const struct sl_replicate *set = &document->replicate[i];
        put_mean(out, set, &(struct replicate_row){"retained", 0, "", &set->retained});
        put_mean(out, set, &(struct replicate_row){"bound", 0, "", &set->bound});
        for (size_t k = 0; k < set->band_count; k++) {
            const struct sl_replicate_band *band = &set->band[k];
            put_mean(out, set, &(struct replicate_row){"rf", k + 1, band->hue_name, &band->rf});
            put_mean(out, set,
                     &(struct replicate_row){"share", k + 1, band->hue_name, &band->share});
        }
    }
}

static sl_code write_table(void (*put)(FILE *out, const struct sl_document *document),
                           const struct sl_document *document, char **ret, struct sl_status *status)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    if (!out)
        return no_memory(status);
    put(out, document);
    bool failed = ferror(out) != 0;
    if (fclose(out) != 0 || failed) {
        free(text);
        return no_memory(status);
    }
    *ret = text;
    return SL_OK;
}

sl_code sl_report_csv_bands(const struct sl_document *document, char **ret,
                            struct sl_status *status)
{
    return write_table(put_bands, document, ret, status);
}

sl_code sl_report_csv_replicates(const struct sl_document *document, char **ret,
                                 struct sl_status *status)
{
    return write_table(put_replicates, document, ret, status);
}

sl_code sl_report_csv_profiles(const struct sl_document *document, char **ret,
                               struct sl_status *status)
{
    return write_table(put_profiles, document, ret, status);
}
