// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

static int run(const struct cli_options *options)
{
    struct cli_session session;
    struct sl_status status;
    struct sl_overlay overlay = {0};
    cli_session_init(&session, options);
    for (size_t i = 0; i < options->input_count && !cli_stopped(); i++)
        cli_load(&session, i);
    cli_progress_end(options);
    if (!cli_stopped() && cli_inks_fit(&session)) {
        if (cli_nothing_read(&session.document))
            cli_emit(&session, NULL);
        else if (sl_overlay_make(&session.document, &overlay, &status) == SL_OK)
            cli_emit(&session, &overlay);
        else
            cli_fail(&session, NULL, &status);
    }
    int exit_code = session.exit_code;
    sl_overlay_finish(&overlay);
    cli_session_finish(&session);
    return exit_code;
}

const struct cli_verb cli_verb_overlay = {
    .name = "overlay",
    .bit = CLI_OVERLAY,
    .synopsis = "PHOTO|READING...",
    .summary = "lay many strips on one Rf axis and say which dyes they may share",
    .about = "Lays the strips of photos and saved readings, in any mix, on one Rf axis, says how\n"
             "alike they are and which bands can be the same dye.",
    .example = "strandline overlay row.jpg earlier.json --figures pictures",
    .run = run,
};
