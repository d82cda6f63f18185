// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

void cli_session_init(struct cli_session *session, const struct cli_options *options)
{
    *session = (struct cli_session){.options = options};
    sl_document_init(&session->document);
}

void cli_session_finish(struct cli_session *session)
{
    sl_document_finish(&session->document);
}

bool cli_nothing_read(const struct sl_document *document)
{
    for (size_t i = 0; i < document->reading_count; i++)
        if (document->reading[i]->strip_count > 0)
            return false;
    return true;
}
