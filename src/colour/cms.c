// SPDX-License-Identifier: GPL-3.0-or-later
#include "colour/cms.h"

static void stay_silent(cmsContext context, cmsUInt32Number code, const char *text)
{
    (void)context;
    (void)code;
    (void)text;
}

cmsContext cms_context_create(void)
{
    cmsContext context = cmsCreateContext(NULL, NULL);
    if (context)
        cmsSetLogErrorHandlerTHR(context, stay_silent);
    return context;
}

cmsHPROFILE cms_rgb_profile(cmsContext context, const struct colour_encoding *figures,
                            cmsToneCurve *curve)
{
    const double(*p)[2] = figures->primaries_xy;
    cmsCIExyY white = {figures->white_xy[0], figures->white_xy[1], 1};
    cmsCIExyYTRIPLE primaries = {
        {p[0][0], p[0][1], 1}, {p[1][0], p[1][1], 1}, {p[2][0], p[2][1], 1}};
    cmsToneCurve *curves[3] = {curve, curve, curve};
    return cmsCreateRGBProfileTHR(context, &white, &primaries, curves);
}

cmsHPROFILE cms_linear_srgb_profile(cmsContext context)
{
    cmsToneCurve *linear = cmsBuildGamma(context, 1.0);
    if (!linear)
        return NULL;
    cmsHPROFILE profile = cms_rgb_profile(context, &colour_encoding_srgb, linear);
    cmsFreeToneCurve(linear);
    return profile;
}

cmsHTRANSFORM cms_exact_transform(cmsContext context, cmsHPROFILE from, cmsUInt32Number from_format,
                                  cmsHPROFILE to, cmsUInt32Number to_format)
{
    if (!from || !to)
        return NULL;
    return cmsCreateTransformTHR(context, from, from_format, to, to_format,
                                 INTENT_RELATIVE_COLORIMETRIC,
                                 cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
}
