// SPDX-License-Identifier: GPL-3.0-or-later
/* Encoded samples to linear light on the sRGB primaries.
 *
 * 1. lcms2 makes an exact float transform from the embedded profile to linear sRGB (relative
 *    colorimetric, nothing clamped, nothing optimised).
 * 2. A matrix/TRC profile is three curves and a matrix: the curves are sampled, the matrix is
 *    read off the transform's answers to the pure primaries. This is some 70 times faster than
 *    lcms2 pixel by pixel, and checked against it on a grid before it is trusted.
 * 3. A grey profile is one curve, read off the transform.
 * 4. Any other profile goes through the transform, pixel by pixel. */
#include "strandline/colour.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "colour/cms.h"
#include "colour/encoding.h"
#include "colour/profile.h"

const struct colour_encoding colour_encoding_srgb = {
    .name = "sRGB",
    .white_xy = {0.3127, 0.3290},
    .primaries_xy = {{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}},
    .transfer = TRANSFER_SRGB,
};

/* The furthest that curves and matrix may be off the transform, in linear light; float rounding
 * alone gives some 1e-6. */
static const double SHAPER_TOLERANCE = 1e-4;
/* Below this a channel's curve is flat and no colour can be read. */
static const double CURVE_SPAN_MIN = 1e-3;

static sl_code out_of_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "colour/profile",
                         "Close other programs and try again.",
                         "There is not enough memory for the colour conversion.");
}

static sl_code damaged(struct sl_status *status, const char *what)
{
    return sl_status_set(status, SL_W_PROFILE_DAMAGED, "colour/profile",
                         "Export the photo again with an sRGB profile if its colours matter.",
                         "The photo's colour profile %s; sRGB is assumed instead.", what);
}

static void name_from_profile(struct sl_colour *colour, cmsHPROFILE profile)
{
    char text[NAME_BYTES] = "";
    cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", text, sizeof text);
    text[sizeof text - 1] = '\0';
    size_t n = 0;
    for (const char *c = text; *c; c++) /* a hostile name must not reach a terminal */
        if ((unsigned char)*c >= 0x20 && (unsigned char)*c < 0x7F)
            colour->name[n++] = *c;
    colour->name[n] = '\0';
    if (n == 0)
        strcpy(colour->name, "unnamed profile");
}

static bool finite_rgb(const float rgb[3])
{
    return isfinite(rgb[0]) && isfinite(rgb[1]) && isfinite(rgb[2]);
}

static void shaper_apply(const struct sl_colour *colour, const double curved[3], double ret[3])
{
    for (int i = 0; i < 3; i++)
        ret[i] = (double)colour->matrix[i][0] * curved[0] +
                 (double)colour->matrix[i][1] * curved[1] +
                 (double)colour->matrix[i][2] * curved[2];
}

/* Whether curves and matrix give what the transform gives, on a 5 x 5 x 5 grid. */
static bool shaper_agrees(const struct sl_colour *colour, cmsToneCurve *const curve[3])
{
    enum { GRID = 5 };
    for (int n = 0; n < GRID * GRID * GRID; n++) {
        float in[3] = {(float)(n % GRID) / (GRID - 1), (float)(n / GRID % GRID) / (GRID - 1),
                       (float)(n / GRID / GRID) / (GRID - 1)};
        float want[3];
        double curved[3], got[3];
        cmsDoTransform(colour->transform, in, want, 1);
        for (int k = 0; k < 3; k++)
            curved[k] = (double)cmsEvalToneCurveFloat(curve[k], in[k]);
        shaper_apply(colour, curved, got);
        for (int k = 0; k < 3; k++)
            if (!(fabs(got[k] - (double)want[k]) <= SHAPER_TOLERANCE))
                return false;
    }
    return true;
}

/* T(e_k) - T(0) = column k x (curve_k(1) - curve_k(0)). */
static bool shaper_matrix(struct sl_colour *colour, cmsToneCurve *const curve[3])
{
    const float black[3] = {0, 0, 0};
    float at_black[3];
    cmsDoTransform(colour->transform, black, at_black, 1);
    for (int k = 0; k < 3; k++) {
        float primary[3] = {0, 0, 0}, at_primary[3];
        primary[k] = 1;
        cmsDoTransform(colour->transform, primary, at_primary, 1);
        double span =
            (double)cmsEvalToneCurveFloat(curve[k], 1) - (double)cmsEvalToneCurveFloat(curve[k], 0);
        if (!(span > CURVE_SPAN_MIN))
            return false;
        for (int i = 0; i < 3; i++)
            colour->matrix[i][k] = (float)(((double)at_primary[i] - (double)at_black[i]) / span);
    }
    return true;
}

static bool take_shaper(struct sl_colour *colour, cmsHPROFILE profile)
{
    if (!cmsIsMatrixShaper(profile))
        return false;
    cmsToneCurve *const curve[3] = {cmsReadTag(profile, cmsSigRedTRCTag),
                                    cmsReadTag(profile, cmsSigGreenTRCTag),
                                    cmsReadTag(profile, cmsSigBlueTRCTag)};
    if (!curve[0] || !curve[1] || !curve[2] || !shaper_matrix(colour, curve) ||
        !shaper_agrees(colour, curve))
        return false;
    for (int k = 0; k < 3; k++) {
        for (int i = 0; i < LEVELS_8; i++)
            colour->curve_8[k][i] = cmsEvalToneCurveFloat(curve[k], (float)i / (LEVELS_8 - 1));
        for (int i = 0; i < NODES_16; i++)
            colour->curve_16[k][i] = cmsEvalToneCurveFloat(curve[k], (float)i / (NODES_16 - 1));
    }
    colour->kind = KIND_MATRIX;
    return true;
}

static void take_grey(struct sl_colour *colour)
{
    float rgb[3];
    for (int i = 0; i < LEVELS_8; i++) {
        float level = (float)i / (LEVELS_8 - 1);
        cmsDoTransform(colour->transform, &level, rgb, 1);
        for (int k = 0; k < 3; k++)
            colour->curve_8[k][i] = rgb[k];
    }
    for (int i = 0; i < NODES_16; i++) {
        float level = (float)i / (NODES_16 - 1);
        cmsDoTransform(colour->transform, &level, rgb, 1);
        for (int k = 0; k < 3; k++)
            colour->curve_16[k][i] = rgb[k];
    }
    colour->kind = KIND_GREY;
}

/* White must come out as light and black as less of it, or the profile is nonsense. */
static bool plausible(const struct sl_colour *colour)
{
    const float white_in[3] = {1, 1, 1}, black_in[3] = {0, 0, 0}; /* grey reads one value */
    float white[3], black[3];
    cmsDoTransform(colour->transform, white_in, white, 1);
    cmsDoTransform(colour->transform, black_in, black, 1);
    if (!finite_rgb(white) || !finite_rgb(black))
        return false;
    for (int k = 0; k < 3; k++)
        if (!(white[k] > 0.1f && white[k] < 10 && white[k] > black[k]))
            return false;
    return true;
}

static sl_code fill_from_profile(struct sl_colour *colour, cmsHPROFILE profile, bool grey,
                                 struct sl_status *status)
{
    cmsHPROFILE linear = cms_linear_srgb_profile(colour->context);
    if (!linear)
        return out_of_memory(status);
    colour->transform = cms_exact_transform(
        colour->context, profile, grey ? TYPE_GRAY_FLT : TYPE_RGB_FLT, linear, TYPE_RGB_FLT);
    cmsCloseProfile(linear);
    if (!colour->transform)
        return damaged(status, "lacks what is needed to read colours");
    if (!plausible(colour))
        return damaged(status, "gives impossible colours");
    if (grey)
        take_grey(colour);
    else if (!take_shaper(colour, profile))
        colour->kind = KIND_TRANSFORM;
    return SL_OK;
}

static sl_code check_space(cmsHPROFILE profile, struct sl_status *status)
{
    cmsColorSpaceSignature space = cmsGetColorSpace(profile);
    if (space == cmsSigRgbData || space == cmsSigGrayData)
        return SL_OK;
    return sl_status_set(status, SL_E_COLOUR_MODEL, "colour/profile",
                         "Export the photo as RGB, for example with an sRGB profile.",
                         "The colour profile is for %s; only RGB and grey are read.",
                         space == cmsSigCmykData ? "CMYK print colours" : "another colour model");
}

static sl_code open_profile(struct sl_colour *colour, const void *icc, size_t icc_bytes,
                            cmsHPROFILE *ret, struct sl_status *status)
{
    if (!icc) {
        *ret = cmsCreate_sRGBProfileTHR(colour->context);
        return *ret ? SL_OK : out_of_memory(status);
    }
    if (icc_bytes > SL_ICC_BYTES_MAX)
        return damaged(status, "is larger than the limit of 4 MiB");
    *ret = cmsOpenProfileFromMemTHR(colour->context, icc, (cmsUInt32Number)icc_bytes);
    return *ret ? check_space(*ret, status) : damaged(status, "can't be read");
}

static struct sl_colour *colour_alloc(void)
{
    struct sl_colour *colour = calloc(1, sizeof *colour);
    if (!colour)
        return NULL;
    colour->context = cms_context_create();
    if (!colour->context) {
        free(colour);
        return NULL;
    }
    return colour;
}

sl_code sl_colour_create(const void *icc, size_t icc_bytes, struct sl_colour **ret,
                         struct sl_status *status)
{
    cmsHPROFILE profile = NULL;
    struct sl_colour *colour = colour_alloc();
    if (!colour)
        return out_of_memory(status);
    sl_code code = open_profile(colour, icc, icc_bytes, &profile, status);
    if (!code)
        code =
            fill_from_profile(colour, profile, cmsGetColorSpace(profile) == cmsSigGrayData, status);
    if (!code && icc)
        name_from_profile(colour, profile);
    else if (!code)
        strcpy(colour->name, "sRGB (assumed)");
    if (profile)
        cmsCloseProfile(profile);
    if (code) {
        sl_colour_destroy(colour);
        return code;
    }
    *ret = colour;
    return SL_OK;
}

/* Parametric curve 4 of ICC.1: Y = (a X + b)^g for X >= d, else c X. */
static cmsToneCurve *transfer_curve(cmsContext context, const struct colour_encoding *encoding)
{
    const double srgb[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    const double bt709[5] = {1 / 0.45, 1 / 1.099, 0.099 / 1.099, 1 / 4.5, 0.081};
    switch (encoding->transfer) {
    case TRANSFER_SRGB:
        return cmsBuildParametricToneCurve(context, 4, srgb);
    case TRANSFER_BT709:
        return cmsBuildParametricToneCurve(context, 4, bt709);
    default:
        return cmsBuildGamma(context, encoding->gamma);
    }
}

static cmsHPROFILE encoding_profile(cmsContext context, const struct colour_encoding *encoding)
{
    cmsToneCurve *curve = transfer_curve(context, encoding);
    if (!curve)
        return NULL;
    cmsHPROFILE profile = cms_rgb_profile(context, encoding, curve);
    cmsFreeToneCurve(curve);
    return profile;
}

sl_code colour_create_encoding(const struct colour_encoding *encoding, struct sl_colour **ret,
                               struct sl_status *status)
{
    sl_code code = SL_OK;
    struct sl_colour *colour = colour_alloc();
    if (!colour)
        return out_of_memory(status);
    cmsHPROFILE profile = encoding_profile(colour->context, encoding);
    if (profile)
        code = fill_from_profile(colour, profile, false, status);
    else
        code = damaged(status, "has impossible primaries");
    if (profile)
        cmsCloseProfile(profile);
    if (code) {
        sl_colour_destroy(colour);
        return code;
    }
    strncpy(colour->name, encoding->name, sizeof colour->name - 1);
    *ret = colour;
    return SL_OK;
}

void sl_colour_destroy(struct sl_colour *colour)
{
    if (!colour)
        return;
    if (colour->transform)
        cmsDeleteTransform(colour->transform);
    if (colour->context)
        cmsDeleteContext(colour->context);
    free(colour);
}

const char *sl_colour_name(const struct sl_colour *colour)
{
    return colour->name;
}

bool colour_is_grey(const struct sl_colour *colour)
{
    return colour->kind == KIND_GREY;
}
