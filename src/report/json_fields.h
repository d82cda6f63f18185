// SPDX-License-Identifier: GPL-3.0-or-later
/* The document's members that are plain values of a struct (design of the document:
 * docs/reading.schema.json). What needs more than a table row is in json_write.c and json_load.c.
 */
#ifndef SL_REPORT_JSON_FIELDS_H
#define SL_REPORT_JSON_FIELDS_H

#include "json_table.h"

enum {
    SL_JSON_VERSION = 1,
    /* Limits of what is loaded; far above anything that is written. */
    SL_JSON_BYTES_MAX = 512 * 1024 * 1024,
    SL_JSON_PHOTOS_MAX = 4096,
    SL_JSON_SAMPLES_MAX = 65536,
    /* Decimals that are written. */
    SL_DECIMALS_PART = 6, /* positions, Rf, shares */
    SL_DECIMALS_LOAD = 5, /* loads and reflectances; noise lies at 0.001 */
    SL_DECIMALS_LAB = 3,
    SL_DECIMALS_PX = 3,
};

extern const struct sl_json_table sl_json_photo;      /* of struct sl_photo_info */
extern const struct sl_json_table sl_json_conditions; /* of struct sl_conditions */
extern const struct sl_json_table sl_json_strip;      /* of struct sl_strip */
extern const struct sl_json_table sl_json_outline;    /* of struct sl_outline */
extern const struct sl_json_table sl_json_band;       /* of struct sl_band */
extern const struct sl_json_table sl_json_reach;      /* of struct sl_reach */
extern const struct sl_json_table sl_json_pair;       /* of struct sl_pair, written only */
extern const struct sl_json_table sl_json_shared;     /* of struct sl_shared_dye, written only */
extern const struct sl_json_table sl_json_averaging;  /* of struct sl_profile_options */

/* Arrays of a profile, all with one value or triple a sample. */
struct sl_json_series {
    const char *key;
    size_t offset; /* of the pointer in struct sl_profile */
    int decimals;
    bool is_needed;
};
enum { SL_JSON_SERIES = 8 };
extern const struct sl_json_series sl_json_triple_series[SL_JSON_SERIES];

#endif
