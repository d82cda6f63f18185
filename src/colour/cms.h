// SPDX-License-Identifier: GPL-3.0-or-later
/* What the colour files share about lcms2: a context of its own for each object, so that no
 * handler or state is global and two threads never meet. */
#ifndef STRANDLINE_COLOUR_CMS_H
#define STRANDLINE_COLOUR_CMS_H

#include <lcms2.h>

#include "colour/encoding.h"

/* A context whose messages go nowhere: callers judge by return values. NULL: out of memory. */
cmsContext cms_context_create(void);

/* RGB with the primaries and white given; the curve is used for all channels and stays the
 * caller's. NULL: out of memory or impossible figures. */
cmsHPROFILE cms_rgb_profile(cmsContext context, const struct colour_encoding *figures,
                            cmsToneCurve *curve);

/* RGB with a linear transfer on the sRGB primaries and D65 white. NULL: out of memory. */
cmsHPROFILE cms_linear_srgb_profile(cmsContext context);

/* Exact float maths without clamping or a cache, relative colorimetric. Any profile may be NULL
 * (then NULL is returned). */
cmsHTRANSFORM cms_exact_transform(cmsContext context, cmsHPROFILE from, cmsUInt32Number from_format,
                                  cmsHPROFILE to, cmsUInt32Number to_format);

#endif
