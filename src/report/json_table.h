// SPDX-License-Identifier: GPL-3.0-or-later
/* One table for both directions: each row ties a key of the document to a member of a struct, so
 * that what is written and what is read back can't drift apart. */
#ifndef SL_REPORT_JSON_TABLE_H
#define SL_REPORT_JSON_TABLE_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "strandline/status.h"

enum sl_json_kind {
    SL_JSON_REAL,    /* double; NAN is null */
    SL_JSON_INTEGER, /* int */
    SL_JSON_FLAG,    /* bool */
    SL_JSON_TEXT,    /* char array of `count` bytes */
    SL_JSON_HUE,     /* const char *, one of the names of sl_hue_name */
};

struct sl_json_field {
    const char *key;
    enum sl_json_kind kind;
    size_t offset;
    size_t count;     /* doubles in an array (1: a plain number), bytes of a text */
    int decimals;     /* that are written; the rest is below any claim of accuracy */
    bool is_needed;   /* a document without it is refused */
    double low, high; /* what is loaded lies between them; both 0: anything */
};

struct sl_json_table {
    const struct sl_json_field *field;
    size_t count;
};

/* ---- writing: a value that can't be made sets *failed (no memory) ---- */

/* The number as it is written: rounded to `decimals`, so that saving what was loaded changes no
 * digit. */
double sl_json_round(double value, int decimals);
void sl_json_put(json_t *object, const char *key, json_t *value, bool *failed);
void sl_json_append(json_t *array, json_t *value, bool *failed);
json_t *sl_json_real(double value, int decimals);
/* Bytes that are no UTF-8 become U+FFFD: file names may hold anything. */
json_t *sl_json_text(const char *text);
json_t *sl_json_reals(const double *values, size_t count, int decimals, bool *failed);
json_t *sl_json_triples(const double (*values)[3], size_t count, int decimals, bool *failed);
void sl_json_put_fields(json_t *object, const struct sl_json_table *table, const void *from,
                        bool *failed);

/* ---- loading ---- */

enum { SL_JSON_PATH_BYTES = 128 };

/* Where in which document the loader is; `path` grows and shrinks as it walks. */
struct sl_json_place {
    const char *name; /* of the document, for messages */
    char path[SL_JSON_PATH_BYTES];
    struct sl_status *status;
};

/* Steps into a member (`index` < 0) or an element; returns what sl_json_leave takes. */
size_t sl_json_enter(struct sl_json_place *place, const char *key, long index);
void sl_json_leave(struct sl_json_place *place, size_t mark);

/* SL_E_READING with the place and "must be `wanted`". */
sl_code sl_json_refuse(const struct sl_json_place *place, const char *key, const char *wanted);

sl_code sl_json_get_real(struct sl_json_place *place, const char *key, const json_t *value,
                         double *ret);
/* NULL in *ret where the member is missing or null and not needed, and with every refusal: a list
 * of no elements then. `most`: limit of the count. */
sl_code sl_json_get_array(struct sl_json_place *place, const json_t *object, const char *key,
                          bool is_needed, size_t most, const json_t **ret);
/* Fill `count` numbers or triples from an array of exactly that many. */
sl_code sl_json_get_reals(struct sl_json_place *place, const char *key, const json_t *array,
                          size_t count, double *ret);
sl_code sl_json_get_triples(struct sl_json_place *place, const char *key, const json_t *array,
                            size_t count, double (*ret)[3]);
sl_code sl_json_get_text(struct sl_json_place *place, const char *key, const json_t *value,
                         size_t bytes, char *ret);
/* Missing members that are not needed become NAN, "", false, 0. */
sl_code sl_json_get_fields(struct sl_json_place *place, const json_t *object,
                           const struct sl_json_table *table, void *to);

#endif
