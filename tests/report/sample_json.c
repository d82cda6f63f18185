// SPDX-License-Identifier: GPL-3.0-or-later
/* Writes documents made by hand, one a line, for the test against the schema. */
#include "sample.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static int print(const struct sl_document *document, const struct sl_overlay *overlay)
{
    char *text = NULL;
    if (sl_report_json(document, overlay, 0, &text, NULL) != SL_OK)
        return 1;
    puts(text);
    free(text);
    return 0;
}

static struct sl_document unusual_document(void)
{
    struct sl_document document;
    sl_document_init(&document);
    struct sl_reading *error = sample_reading("missing.jpg", "", 0);
    error->photo = (struct sl_photo_info){.file = "missing.jpg"};
    sl_status_set(&error->error, SL_E_NO_FILE, "photo", "", "missing.jpg: no such file");
    sl_document_add(&document, error, NULL);
    struct sl_reading *row = sample_reading("row.png", "", 3);
    row->settings.hint_count = 1;
    row->settings.hint[0].front = 0.9;
    row->strip[0].length_mm = NAN;
    row->strip[0].scale_source = SL_SCALE_NONE;
    row->strip[1].marks.front_seen = SL_FRONT_NOT_SEEN;
    row->strip[1].bands.count = 0;
    row->strip[1].bands.smeared = true;
    row->strip[1].bands.reach_count = 1;
    row->strip[1].bands.reach[0] = (struct sl_reach){"blue", 262, 0.01, 0.7, 0.8};
    row->strip[1].advice = sample_advice();
    row->strip[2].marks.blank = true;
    sl_document_add(&document, row, NULL);
    return document;
}

/* Pairs and a combined verdict without one: the water hardly rose on one strip, another is blank.
 */
static struct sl_document unjudged_document(void)
{
    struct sl_document document = sample_document();
    sl_document_add(&document, sample_reading("again.jpg", "Harbour Dusk", 2), NULL);
    sl_document_add(&document, sample_reading("blank.jpg", "Harbour Dusk", 2), NULL);
    document.reading[1]->strip[1].marks.front = 0.21;
    document.reading[2]->strip[0].marks.blank = true;
    sl_document_make_pairs(&document, NULL);
    sl_document_make_replicates(&document, NULL);
    return document;
}

int main(void)
{
    struct sl_document pair = sample_document(), unusual = unusual_document();
    struct sl_document full = sample_full_document(), unjudged = unjudged_document();
    struct sl_document empty;
    sl_document_init(&empty);
    struct sl_overlay overlay = {0};
    int failed = sl_overlay_make(&unusual, &overlay, NULL) != SL_OK;
    failed |= print(&pair, NULL) | print(&unusual, &overlay) | print(&empty, NULL);
    failed |= print(&full, NULL) || full.combined_count != 1;
    failed |= print(&unjudged, NULL) || unjudged.combined_count != 1;
    sl_overlay_finish(&overlay);
    sl_document_finish(&unjudged);
    sl_document_finish(&full);
    sl_document_finish(&pair);
    sl_document_finish(&unusual);
    return failed;
}
