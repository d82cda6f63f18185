// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/colour.h"

#include <lcms2.h>

double sl_ciede2000(const double lab_1[3], const double lab_2[3])
{
    cmsCIELab first = {lab_1[0], lab_1[1], lab_1[2]};
    cmsCIELab second = {lab_2[0], lab_2[1], lab_2[2]};
    return cmsCIE2000DeltaE(&first, &second, 1, 1, 1);
}
