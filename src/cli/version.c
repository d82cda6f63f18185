// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

#include <stdio.h>

void cli_print_version(void)
{
    struct sl_library_version library;
    printf("strandline %s\n", SL_VERSION);
    for (size_t i = 0; sl_library_version(i, &library); i++)
        printf("  %-8s %s\n", library.name, library.version);
}
