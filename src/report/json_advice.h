// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef SL_REPORT_JSON_ADVICE_H
#define SL_REPORT_JSON_ADVICE_H

#include "json_table.h"
#include "strandline/reading.h"

/* A strip's `advice`, and the photo's. */
json_t *sl_json_advice(const struct sl_advice_list *list, bool *failed);
json_t *sl_json_photo_advice(const struct sl_reading *reading, bool *failed);
/* A strip's, back; none where the document has none. */
sl_code sl_json_load_advice(struct sl_json_place *place, const json_t *owner,
                            struct sl_advice_list *ret);

#endif
