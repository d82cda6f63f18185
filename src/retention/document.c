// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/retention.h"

#include <stdint.h>
#include <stdlib.h>

void sl_document_init(struct sl_document *document)
{
    *document = (struct sl_document){0};
}

void sl_document_finish(struct sl_document *document)
{
    if (!document)
        return;
    for (size_t i = 0; i < document->reading_count; i++)
        sl_reading_destroy(document->reading[i]);
    free(document->reading);
    free(document->pair);
    free(document->replicate);
    free(document->combined);
    sl_document_init(document);
}

sl_code sl_document_add(struct sl_document *document, struct sl_reading *reading,
                        struct sl_status *status)
{
    size_t count = document->reading_count + 1;
    struct sl_reading **grown = NULL;
    if (count <= SIZE_MAX / sizeof *grown)
        grown = realloc(document->reading, count * sizeof *grown);
    if (!grown)
        return sl_status_set(status, SL_E_MEMORY, "retention", "Read fewer photos at once.",
                             "there is not enough memory for %zu photos", count);
    document->reading = grown;
    document->reading[document->reading_count] = reading;
    document->reading_count = count;
    return SL_OK;
}
