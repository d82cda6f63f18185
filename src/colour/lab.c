// SPDX-License-Identifier: GPL-3.0-or-later
/* Linear light to CIE L*a*b* (D50) and back through lcms2's float pipeline. */
#include "strandline/colour.h"

#include <math.h>
#include <stdlib.h>

#include "colour/cms.h"

struct sl_lab {
    cmsContext context;
    cmsHTRANSFORM from_linear, to_linear;
};

sl_code sl_lab_create(struct sl_lab **ret, struct sl_status *status)
{
    cmsHPROFILE linear = NULL, lab_d50 = NULL;
    sl_code code = SL_OK;
    struct sl_lab *lab = calloc(1, sizeof *lab);
    if (lab)
        lab->context = cms_context_create();
    if (lab && lab->context) {
        linear = cms_linear_srgb_profile(lab->context);
        lab_d50 = cmsCreateLab4ProfileTHR(lab->context, NULL); /* NULL: D50 */
        lab->from_linear =
            cms_exact_transform(lab->context, linear, TYPE_RGB_DBL, lab_d50, TYPE_Lab_DBL);
        lab->to_linear =
            cms_exact_transform(lab->context, lab_d50, TYPE_Lab_DBL, linear, TYPE_RGB_DBL);
    }
    if (linear)
        cmsCloseProfile(linear);
    if (lab_d50)
        cmsCloseProfile(lab_d50);
    if (!lab || !lab->from_linear || !lab->to_linear) {
        code =
            sl_status_set(status, SL_E_MEMORY, "colour/lab", "Close other programs and try again.",
                          "There is not enough memory for the colour conversion.");
        sl_lab_destroy(lab);
        return code;
    }
    *ret = lab;
    return SL_OK;
}

void sl_lab_destroy(struct sl_lab *lab)
{
    if (!lab)
        return;
    if (lab->from_linear)
        cmsDeleteTransform(lab->from_linear);
    if (lab->to_linear)
        cmsDeleteTransform(lab->to_linear);
    if (lab->context)
        cmsDeleteContext(lab->context);
    free(lab);
}

void sl_lab_from_linear(const struct sl_lab *lab, const double (*rgb_linear)[3], size_t count,
                        double (*ret_lab_d50)[3])
{
    /* lcms2 counts in 32 bits */
    for (size_t done = 0; done < count;) {
        size_t part = count - done < 1u << 20 ? count - done : 1u << 20;
        cmsDoTransform(lab->from_linear, rgb_linear[done], ret_lab_d50[done],
                       (cmsUInt32Number)part);
        done += part;
    }
}

void sl_lab_to_srgb8(const struct sl_lab *lab, const double lab_d50[3], uint8_t ret_srgb[3])
{
    double linear[3];
    cmsDoTransform(lab->to_linear, lab_d50, linear, 1);
    for (int k = 0; k < 3; k++) {
        double level = sl_srgb_encode(linear[k]) * 255;
        ret_srgb[k] = level > 0 ? (uint8_t)lround(fmin(level, 255)) : 0; /* NAN becomes 0 too */
    }
}

double sl_lab_chroma(const double lab_d50[3])
{
    return hypot(lab_d50[1], lab_d50[2]);
}

double sl_lab_hue_deg(const double lab_d50[3])
{
    static const double DEG_PER_RAD = 57.295779513082320877;
    double hue = atan2(lab_d50[2], lab_d50[1]) * DEG_PER_RAD;
    if (hue < 0)
        hue += 360;
    return hue < 360 ? hue : 0; /* a tiny negative angle rounds up to 360 */
}
