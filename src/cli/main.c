// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/status.h"

int main(void) {
    return sl_code_exit(SL_E_USAGE);
}
