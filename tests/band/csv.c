// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "csv.h"

FILE *csv_open(const char *name)
{
    char path[CSV_BYTES];
    struct csv_row header;
    snprintf(path, sizeof path, "%s/%s", FIXTURES_DIR, name);
    FILE *file = fopen(path, "r");
    if (!file)
        fail_msg("can't open %s", path);
    assert_true(csv_next(file, &header));
    return file;
}

bool csv_next(FILE *file, struct csv_row *row)
{
    do {
        if (!fgets(row->text, sizeof row->text, file))
            return false;
    } while (row->text[0] == '#'); /* where the figures come from */
    row->text[strcspn(row->text, "\r\n")] = 0;
    row->count = 0;
    for (char *at = row->text; at && row->count < CSV_FIELDS;) {
        char *end = *at == '"' ? strchr(at + 1, '"') : NULL;
        char *comma = strchr(end ? end : at, ',');
        if (end) {
            *end = 0;
            at++;
        }
        row->field[row->count++] = at;
        if (comma)
            *comma = 0;
        at = comma ? comma + 1 : NULL;
    }
    return true;
}

double csv_number(const struct csv_row *row, size_t field)
{
    assert_true(field < row->count);
    char *end;
    double value = strtod(row->field[field], &end);
    assert_true(end != row->field[field]);
    return value;
}
