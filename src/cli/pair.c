// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

/* Across photos of one strip each, pairs go by the order given: a photo that could not be read
 * would shift all after it, so then only pairs within a photo can be made. */
static bool order_is_broken(const struct sl_document *document)
{
    bool failed = false, lone = false;
    for (size_t i = 0; i < document->reading_count; i++) {
        failed = failed || document->reading[i]->error.code != SL_OK;
        lone = lone || document->reading[i]->strip_count == 1;
    }
    return document->reading_count == 0 || (failed && lone);
}

static sl_code judge(struct sl_document *document, struct sl_status *status)
{
    if (order_is_broken(document) || cli_nothing_read(document))
        return SL_OK; /* the photo's own error has been told */
    sl_code code = sl_document_make_pairs(document, status);
    return code == SL_OK ? sl_document_make_replicates(document, status) : code;
}

static int run(const struct cli_options *options)
{
    return cli_run(options, judge);
}

const struct cli_verb cli_verb_pair = {
    .name = "pair",
    .bit = CLI_PAIR,
    .synopsis = "IMMEDIATE DRIED | BOTH...",
    .summary = "compare the strip dipped at once with the one that dried first, and judge",
    .about = "Compares the strip that was dipped at once with the one that dried first, and says\n"
             "whether the ink stays when water passes, and how sure that is. Both strips may lie\n"
             "in one photo, the one dipped at once on the left, or in two photos, in this order.\n"
             "--roles tells another order. Several strips of one --ink give one verdict.",
    .example = "strandline pair both.jpg --html report.html",
    .run = run,
};
