// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

static int run(const struct cli_options *options)
{
    return cli_run(options, sl_document_make_replicates);
}

const struct cli_verb cli_verb_read = {
    .name = "read",
    .bit = CLI_READ,
    .synopsis = "PHOTO...",
    .summary = "list the bands of every strip in the photos, with their Rf",
    .about = "Finds the strips in each photo (JPEG, PNG, HEIC or TIFF) and lists their bands: Rf,\n"
             "colour, share, and how much is retained at the origin. Saved readings (JSON) can\n"
             "stand in place of photos. Strips that were told to be of one ink, in one role, are\n"
             "taken together as replicates.",
    .example = "strandline read strip.jpg --csv-bands bands.csv",
    .run = run,
};
