// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads the fixtures' tables of figures: comma, header row, quoted fields where a comma is inside.
 */
#ifndef TESTS_BAND_CSV_H
#define TESTS_BAND_CSV_H

#include <stdbool.h>
#include <stdio.h>

enum { CSV_FIELDS = 12, CSV_BYTES = 1024 };

struct csv_row {
    char text[CSV_BYTES];
    char *field[CSV_FIELDS];
    size_t count;
};

/* Opens a file under fixtures/ and steps over its header; fails the test if it is not there. */
FILE *csv_open(const char *name);
bool csv_next(FILE *file, struct csv_row *row);
double csv_number(const struct csv_row *row, size_t field);

#endif
