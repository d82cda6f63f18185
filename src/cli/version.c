// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli.h"

#include <stdio.h>

void cli_print_version(void)
{
    printf("strandline %s\n", SL_VERSION);
}
