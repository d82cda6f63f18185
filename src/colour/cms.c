// SPDX-License-Identifier: GPL-3.0-or-later
#include "colour/cms.h"

const double cms_srgb_primaries_xy[3][2] = {{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}};
const double cms_d65_xy[2] = {0.3127, 0.3290};

static void stay_silent(cmsContext context, cmsUInt32Number code, const char *text) {
    (void)context;
    (void)code;
    (void)text;
}

cmsContext cms_context_create(void) {
    cmsContext context = cmsCreateContext(NULL, NULL);
    if (context)
        cmsSetLogErrorHandlerTHR(context, stay_silent);
    return context;
}

cmsHPROFILE cms_linear_srgb_profile(cmsContext context) {
    const double(*p)[2] = cms_srgb_primaries_xy;
    cmsCIExyY white = {cms_d65_xy[0], cms_d65_xy[1], 1};
    cmsCIExyYTRIPLE primaries = {
        {p[0][0], p[0][1], 1}, {p[1][0], p[1][1], 1}, {p[2][0], p[2][1], 1}};
    cmsToneCurve *linear = cmsBuildGamma(context, 1.0);
    if (!linear)
        return NULL;
    cmsToneCurve *curves[3] = {linear, linear, linear};
    cmsHPROFILE profile = cmsCreateRGBProfileTHR(context, &white, &primaries, curves);
    cmsFreeToneCurve(linear);
    return profile;
}

cmsHTRANSFORM cms_exact_transform(cmsContext context, cmsHPROFILE from, cmsUInt32Number from_format,
                                  cmsHPROFILE to, cmsUInt32Number to_format) {
    if (!from || !to)
        return NULL;
    return cmsCreateTransformTHR(context, from, from_format, to, to_format,
                                 INTENT_RELATIVE_COLORIMETRIC,
                                 cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
}
