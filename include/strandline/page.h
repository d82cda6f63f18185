// SPDX-License-Identifier: GPL-3.0-or-later
/* The page: a small web server for the browser on the same machine (docs/page-api.md). It listens
 * on the loopback addresses alone, asks every request for this run's key, and sends nothing out.
 *
 * Ownership: opaque (start/stop). It runs in threads of its own. GSL's error handler must be off.
 */
#ifndef STRANDLINE_PAGE_H
#define STRANDLINE_PAGE_H

#include "strandline/report.h"

struct sl_page;

struct sl_page_options {
    int port;           /* 0: a free one */
    const char *folder; /* where the work is kept; NULL: $XDG_STATE_HOME/strandline/bench */
};

/* SL_E_WRITE where the folder can't be used or another page uses it, SL_E_READ where what is in it
 * can't be looked at, SL_E_USAGE where the port is taken, SL_E_MEMORY, SL_E_INTERNAL. */
SL_API sl_code sl_page_start(const struct sl_page_options *options, struct sl_page **ret,
                             struct sl_status *status);
/* With the key: "http://127.0.0.1:PORT/KEY/". */
SL_API const char *sl_page_address(const struct sl_page *page);
/* What became of kept work that could not be read as it was: to be told to the user. */
SL_API const struct sl_warnings *sl_page_told(const struct sl_page *page);
/* First what has changed is saved, then all requests and readings end; it waits for them.
 * SL_E_WRITE or SL_E_MEMORY: the last changes could not be saved, and are lost. NULL allowed. */
SL_API sl_code sl_page_stop(struct sl_page *page, struct sl_status *status);

#endif
