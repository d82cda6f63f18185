// SPDX-License-Identifier: GPL-3.0-or-later
/* What speaks against two strips being a pair: other conditions, or dyes of another ink.
 *
 * Dye is neither made nor lost on the way up a strip, so the load of the whole strip has the same
 * direction (red : green : blue) on both strips of one ink, however its dyes spread or smear.
 * Bands add to that: a strong, separate band of one strip has a partner of its colour on the other,
 * unless that one is smeared. */
#include "retention_internal.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Between whole-strip loads of one ink. Paper texture, light and saturation turn it by a few
 * degrees, hardly by 10; inks of one colour family may lie closer, so silence proves nothing. */
static const double WHOLE_ANGLE_MAX_DEG = 20;
/* A band that should have a partner: at least this share, not at the line, not under another. */
static const double PARTNER_SHARE_MIN = 0.2;
/* How far the partner may lie: dye that dried first sets out later and more slowly. */
static const double PARTNER_RF_MAX = 0.25;
static const double PARTNER_ANGLE_MAX_DEG = 25;
/* Part of a signature's standard error, in degrees, above which it says nothing. */
static const double SIGNATURE_SE_MAX = 0.1;

/* Below this many minutes of drying an ink that sets slowly has not set (common practice, no
 * source).
 */
static const double DRIED_MIN_SHORT = 5;

static double angle_deg(const double a[3], const double b[3])
{
    return sl_signature_angle_rad(a, b) * 180 / G_PI;
}

/* Load summed along the strip; false where there is too little to have a direction. */
static bool whole_load(const struct sl_strip *strip, double ret[3])
{
    const struct sl_profile *profile = &strip->profile;
    ret[0] = ret[1] = ret[2] = 0;
    for (size_t i = 0; i < profile->count; i++)
        for (int c = 0; c < 3; c++)
            if (isfinite(profile->load[i][c]))
                ret[c] += profile->load[i][c];
    const struct sl_bands *bands = &strip->bands;
    bool is_clear = bands->total_load > 0 && bands->total_load > 10 * bands->total_load_se;
    return is_clear && !sl_strip_is_blank(strip) && ret[0] + ret[1] + ret[2] > 0;
}

static bool has_partner(const struct sl_band *band, const struct sl_bands *others)
{
    for (size_t i = 0; i < others->count; i++) {
        const struct sl_band *other = &others->item[i];
        if (fabs(other->rf - band->rf) <= PARTNER_RF_MAX &&
            angle_deg(band->signature, other->signature) <= PARTNER_ANGLE_MAX_DEG)
            return true;
    }
    return false;
}

static bool wants_partner(const struct sl_band *band)
{
    double se = fmax(band->signature_se[0], fmax(band->signature_se[1], band->signature_se[2]));
    return band->share >= PARTNER_SHARE_MIN && !band->retained && !band->overlapped &&
           se <= SIGNATURE_SE_MAX;
}

/* The first strong band without a partner; NULL if there is none, or no telling. */
static const struct sl_band *lonely_band(const struct sl_strip *strip, const struct sl_strip *other)
{
    if (strip->bands.smeared || other->bands.smeared || other->bands.count == 0 ||
        strip->marks.front_seen == SL_FRONT_NOT_SEEN ||
        other->marks.front_seen == SL_FRONT_NOT_SEEN)
        return NULL;
    for (size_t i = 0; i < strip->bands.count; i++) {
        const struct sl_band *band = &strip->bands.item[i];
        if (wants_partner(band) && !has_partner(band, &other->bands))
            return band;
    }
    return NULL;
}

/* NAN where there is no telling. */
static double whole_angle_deg(const struct sl_side *immediate, const struct sl_side *dried)
{
    double a[3], b[3];
    return whole_load(immediate->strip, a) && whole_load(dried->strip, b) ? angle_deg(a, b) : NAN;
}

bool sl_pair_dyes_differ(const struct sl_side *immediate, const struct sl_side *dried)
{
    return whole_angle_deg(immediate, dried) > WHOLE_ANGLE_MAX_DEG;
}

void sl_pair_check_kinship(const struct sl_side *immediate, const struct sl_side *dried,
                           struct sl_warnings *warnings)
{
    static const char remedy[] =
        "Check that both strips carry the same ink; compare different inks with overlay.";
    double angle = whole_angle_deg(immediate, dried);
    if (isnan(angle))
        return;
    if (angle > WHOLE_ANGLE_MAX_DEG) {
        sl_warn(warnings, SL_W_DIFFERENT_INKS, "retention", remedy,
                "these strips may be of two inks: their dyes taken together are of another colour "
                "(%.0f degrees apart in direction, one ink stays within %.0f)",
                angle, WHOLE_ANGLE_MAX_DEG);
        return;
    }
    const struct sl_band *band = lonely_band(immediate->strip, dried->strip);
    const char *which = "dried first";
    if (!band) {
        band = lonely_band(dried->strip, immediate->strip);
        which = "dipped at once";
    }
    if (band)
        sl_warn(warnings, SL_W_DIFFERENT_INKS, "retention", remedy,
                "these strips may be of two inks: a strong %s band at hRf %ld has no like on the "
                "strip that was %s",
                band->hue_name, lround(sl_hrf(band->rf)), which);
}

void sl_pair_check_conditions(const struct sl_side *immediate, const struct sl_side *dried,
                              struct sl_warnings *warnings)
{
    const struct sl_reading *const reading[2] = {immediate->reading, dried->reading};
    const size_t strip[2] = {(size_t)(immediate->strip - immediate->reading->strip),
                             (size_t)(dried->strip - dried->reading->strip)};
    double dried_min = dried->reading->conditions.dried_min;
    char differences[SL_MESSAGE_MAX];
    sl_strips_differ(reading, strip, false, differences, sizeof differences);
    if (*differences)
        sl_warn(warnings, SL_W_CONDITIONS, "retention",
                "Run both strips the same way, one right after the other.",
                "the two strips were not run under the same conditions: %s", differences);
    else if (dried_min < DRIED_MIN_SHORT)
        sl_warn(warnings, SL_W_CONDITIONS, "retention", "Let the line dry for about ten minutes.",
                "the second strip dried for %.0f min only: an ink that sets slowly looks weaker "
                "than it is",
                dried_min);
}
