// SPDX-License-Identifier: GPL-3.0-or-later
#include "photo/decoder.h"

#include <libexif/exif-data.h>
#include <libexif/exif-log.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static const uint8_t preamble[6] = {'E', 'x', 'i', 'f', 0, 0};

/* Makers' private notes are often odd and never used here: only the standard part counts. */
static void note_damage(ExifLog *log, ExifLogCode code, const char *domain, const char *format,
                        va_list args, void *data)
{
    (void)log;
    (void)format;
    (void)args;
    if (code == EXIF_LOG_CODE_CORRUPT_DATA && strcmp(domain, "ExifData") == 0)
        *(bool *)data = true;
}

static ExifData *parse(const uint8_t *bytes, size_t count, bool *ret_damaged)
{
    uint8_t *block = malloc(count + sizeof preamble);
    ExifData *data = exif_data_new();
    ExifLog *log = exif_log_new();
    if (block && data && log) {
        memcpy(block, preamble, sizeof preamble);
        memcpy(block + sizeof preamble, bytes, count);
        exif_log_set_func(log, note_damage, ret_damaged);
        exif_data_log(data, log);
        exif_data_unset_option(data, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
        exif_data_load_data(data, block, (unsigned)(count + sizeof preamble));
        exif_data_log(data, NULL);
    }
    exif_log_unref(log);
    free(block);
    return data;
}

/* libexif says nothing of a first directory that lies outside the block; it just finds nothing. */
static bool is_empty(const ExifData *data)
{
    for (int i = 0; i < EXIF_IFD_COUNT; i++)
        if (data->ifd[i] && data->ifd[i]->count > 0)
            return false;
    return true;
}

static int read_orientation(ExifData *data, bool *ret_damaged)
{
    ExifEntry *entry = exif_content_get_entry(data->ifd[EXIF_IFD_0], EXIF_TAG_ORIENTATION);
    if (!entry)
        return 0;
    int value = 0;
    if (entry->format == EXIF_FORMAT_SHORT && entry->size >= 2)
        value = exif_get_short(entry->data, exif_data_get_byte_order(data));
    if (value >= 1 && value <= 8)
        return value;
    *ret_damaged = true;
    return 0;
}

void exif_copy_date(const void *bytes, char ret[20])
{
    static const char pattern[] = "dddd:dd:dd dd:dd:dd";
    char text[20] = "";
    memcpy(text, bytes, 19);
    for (int i = 0; i < 19; i++) {
        bool digit = text[i] >= '0' && text[i] <= '9';
        if (pattern[i] == 'd' ? !digit : text[i] != pattern[i])
            return;
    }
    text[4] = text[7] = '-';
    memcpy(ret, text, 20);
}

bool exif_read(const uint8_t *bytes, size_t count, int *ret_orientation, char ret_date[20])
{
    bool damaged = false;
    /* a byte order, 42 and the offset of the first directory */
    if (count < 8 || (memcmp(bytes, "II*\0", 4) != 0 && memcmp(bytes, "MM\0*", 4) != 0))
        return false;
    ExifData *data = parse(bytes, count, &damaged);
    if (!data)
        return false;
    damaged = damaged || is_empty(data);
    *ret_orientation = read_orientation(data, &damaged);
    const ExifEntry *date =
        exif_content_get_entry(data->ifd[EXIF_IFD_EXIF], EXIF_TAG_DATE_TIME_ORIGINAL);
    if (date && date->size >= 19)
        exif_copy_date(date->data, ret_date);
    exif_data_unref(data);
    return !damaged;
}
