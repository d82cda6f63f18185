// SPDX-License-Identifier: GPL-3.0-or-later
/* Reports: the table for a terminal, JSON (docs/reading.schema.json), CSV, one self-contained HTML
 * page.
 *
 * Text results are malloc'd strings that the caller frees. Files appear whole or not at all. */
#ifndef STRANDLINE_REPORT_H
#define STRANDLINE_REPORT_H

#include "strandline/overlay.h"
#include "strandline/retention.h"

/* A library that readings rest on, with its version at run time. */
struct sl_library_version {
    const char *name;
    char version[32];
};
/* Library `index`, from 0; false past the last. */
SL_API bool sl_library_version(size_t index, struct sl_library_version *ret);

struct sl_text_options {
    bool colour; /* swatches by 24-bit escape codes */
    int width;   /* columns of the terminal, 80 if unknown */
};

SL_API sl_code sl_report_text(const struct sl_document *document, const struct sl_overlay *overlay,
                              const struct sl_text_options *options, char **ret,
                              struct sl_status *status);
/* One document, version 1; `indent` 0: one line. `overlay` may be NULL. */
SL_API sl_code sl_report_json(const struct sl_document *document, const struct sl_overlay *overlay,
                              int indent, char **ret, struct sl_status *status);
/* Parts of that document, each as one object on one line: a photo, a pair, an overlay. */
SL_API sl_code sl_report_json_photo(const struct sl_reading *reading, char **ret,
                                    struct sl_status *status);
/* The photo for one who has it as it was before: of the profiles only the lists that are not the
 * same, number for number, as those of the strip at the same place in `previous`; null for one that
 * is there no more. */
SL_API sl_code sl_report_json_photo_change(const struct sl_reading *reading,
                                           const struct sl_reading *previous, char **ret,
                                           struct sl_status *status);
SL_API sl_code sl_report_json_pair(const struct sl_pair *pair, char **ret,
                                   struct sl_status *status);
/* What several strips say together: {"replicates", "combined"}. */
SL_API sl_code sl_report_json_together(const struct sl_document *document, char **ret,
                                       struct sl_status *status);
SL_API sl_code sl_report_json_overlay(const struct sl_overlay *overlay, char **ret,
                                      struct sl_status *status);
/* Appends the photos of a saved document to `document`. SL_E_READING with what is wrong and where.
 */
SL_API sl_code sl_report_json_load(const char *text, size_t bytes, const char *name,
                                   struct sl_document *document, struct sl_status *status);
SL_API sl_code sl_report_csv_bands(const struct sl_document *document, char **ret,
                                   struct sl_status *status);
/* What replicates give together, a number a row. */
SL_API sl_code sl_report_csv_replicates(const struct sl_document *document, char **ret,
                                        struct sl_status *status);
SL_API sl_code sl_report_csv_profiles(const struct sl_document *document, char **ret,
                                      struct sl_status *status);
SL_API sl_code sl_report_html(const struct sl_document *document, const struct sl_overlay *overlay,
                              char **ret, struct sl_status *status);

#endif
