// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. A band's apex is that of the whole fitted load where the fit has one nearby: it takes the band
 *    as a whole and is not led astray by the paper's texture, as the profile's few highest samples
 *    may be. Where both differ, the interval spans the difference.
 * 2. A band that the fit alone resolves is reported with the fit's own numbers. */
#include <gsl/gsl_math.h>
#include <math.h>

#include "band/given.h"
#include "band/measure.h"
#include "band/resolve.h"
#include "strandline/colour.h"

static const double z_95 = 1.959964;
static const double apex_reach = 0.35; /* half widths */
/* A resolved band's share is no better known than this part of it. */
static const double share_doubt = 0.25, share_most = 0.9;
/* Evidence less than twice what a band needs is little. */
static const double unsure_fall = 40.0;
static const double apex_doubt = 0.15; /* half widths */
static const double colour_reach = 0.2;
/* What is reported as a band of its own: distance to the others in mean half widths, and angle
 * between the signatures unless the distance alone says so. */
static const double distance_least = 0.45, distance_alone = 1.8, other_hue_rad = 0.2;
/* What is broader than this part of the way is a gradient. */
static const double width_most = 0.18;
/* Least share: a smaller one under another band is as likely that band's own crooked shape. */
static const double under_least = 0.1, alone_least = 0.02;

static void spread(double value, double se, double low, double high, double ret[2])
{
    ret[0] = fmax(value - z_95 * se, low);
    ret[1] = fmin(value + z_95 * se, high);
}

static void refine(const struct fit *fit, struct sl_band *band)
{
    double reach = apex_reach * band->half_width_rf;
    double apex = fit_apex(fit, band->rf, reach);
    double se = (band->rf_interval[1] - band->rf_interval[0]) / (2.0 * z_95);
    if (fabs(apex - band->rf) > 0.9 * reach) /* the fit has none nearby */
        return;
    se = hypot(se, 0.5 * (apex - band->rf));
    band->rf = 0.5 * (apex + band->rf);
    spread(band->rf, se, -INFINITY, INFINITY, band->rf_interval);
}

/* The fitted band that makes most of the load at a measured apex. */
static size_t strongest(const struct fit *fit, double rf, const bool *taken)
{
    size_t best = fit->model.bands;
    double most = 0.0;
    for (size_t b = 0; b < fit->model.bands; b++) {
        double load[3];
        model_band_load(fit->result.parameters->data, b, rf, load);
        double sum = load[0] + load[1] + load[2];
        if (!taken[b] && sum > most) {
            most = sum;
            best = b;
        }
    }
    return best;
}

static void match(const struct fit *fit, const struct sl_bands *bands, bool *taken)
{
    for (size_t k = 0; k < bands->count; k++) {
        size_t own =
            bands->item[k].retained ? fit->model.bands : strongest(fit, bands->item[k].rf, taken);
        if (own < fit->model.bands)
            taken[own] = true;
    }
}

/* A band of another hue than, and not too near to, all that have maxima of their own. */
static bool tells_apart(const struct fit_band *fitted, const struct sl_bands *bands, double total)
{
    bool overlaps = false;
    if (fitted->apex > 1.0 || fitted->half_width > width_most || given_holds(bands, fitted->apex))
        return false;
    for (size_t k = 0; k < bands->count; k++) {
        const struct sl_band *other = &bands->item[k];
        double distance = fabs(fitted->apex - other->rf);
        double width = 0.5 * (fitted->half_width + other->half_width_rf);
        if (distance < distance_least * width)
            return false;
        if (distance > distance_alone * width)
            continue;
        overlaps = true;
        if (sl_signature_angle_rad(fitted->area, other->signature) < other_hue_rad)
            return false;
    }
    return fitted->area_sum > (overlaps ? under_least : alone_least) * total;
}

static struct sl_band resolved(const struct sl_profile *profile, const struct track *track,
                               const struct fit *fit, const struct fit_band *fitted, size_t index,
                               double total)
{
    struct sl_band band = {.rf = fitted->apex, .overlapped = true, .resolution_to_next = NAN};
    double load[3], length = 0.0;
    band_colour(profile, track, band.rf, colour_reach * fitted->half_width, &band);
    model_band_load(fit->result.parameters->data, index, band.rf, load);
    band.apex_load = load[0] + load[1] + load[2];
    band.half_width_rf = fitted->half_width;
    band.asymmetry = fitted->asymmetry;
    band.start_rf = band.rf - fitted->half_width;
    band.end_rf = band.rf + fitted->half_width;
    for (int c = 0; c < 3; c++)
        length += gsl_pow_2(fitted->area[c]);
    for (int c = 0; c < 3; c++)
        band.signature[c] = fitted->area[c] / sqrt(length);
    double se = hypot(fitted->apex_se, apex_doubt * fitted->half_width);
    se = hypot(se, track_scale_se(track, band.rf));
    spread(band.rf, se, -INFINITY, INFINITY, band.rf_interval);
    band.share = GSL_MIN(fitted->area_sum / total, 1.0);
    spread(band.share, share_doubt * band.share, 0.0, 1.0, band.share_interval);
    return band;
}

static void insert(struct sl_bands *bands, const struct sl_band *band)
{
    size_t at = 0;
    while (at < bands->count && bands->item[at].rf < band->rf)
        at++;
    for (size_t k = bands->count; k > at; k--)
        bands->item[k] = bands->item[k - 1];
    bands->item[at] = *band;
    bands->count++;
}

/* Where two bands are told apart half way between their apexes: the part on the new band's side of
 * what the other one reaches. That is what its share would be if it had a maximum of its own. */
static double beyond_the_middle(const struct track *track, const struct sl_band *under, double rf,
                                double total)
{
    double middle = 0.5 * (under->rf + rf);
    double area = rf > under->rf ? track_area(track, middle, under->end_rf)
                                 : track_area(track, under->start_rf, middle);
    return fmin(fmax(area / total, 0.0), under->share);
}

/* The new band takes its share from the band between whose valleys it stands. Both intervals span
 * the fit's answer and that of a cut half way. */
static void take_share(const struct track *track, double total, struct sl_bands *bands,
                       struct sl_band *from_band)
{
    struct sl_band *under = NULL;
    for (size_t k = 0; k < bands->count; k++)
        if (!bands->item[k].overlapped && bands->item[k].start_rf < from_band->rf &&
            bands->item[k].end_rf > from_band->rf)
            under = &bands->item[k];
    if (!under)
        return;
    double part = fmin(from_band->share, share_most * under->share);
    double cut = beyond_the_middle(track, under, from_band->rf, total);
    double least = fmax(1.0 - z_95 * share_doubt, 0.0) * fmin(part, cut);
    double most = fmin((1.0 + z_95 * share_doubt) * fmax(part, cut), under->share_interval[1]);
    from_band->share = part;
    from_band->share_interval[0] = least;
    from_band->share_interval[1] = fmax(most, part);
    under->share -= part;
    under->share_interval[0] = fmin(fmax(under->share_interval[0] - most, 0.0), under->share);
    under->share_interval[1] = fmax(under->share_interval[1] - least, under->share);
}

void resolve_bands(const struct sl_profile *profile, const struct track *track,
                   const struct fit *fit, double total, struct sl_bands *bands)
{
    bool taken[MODEL_BANDS_MAX] = {false};
    match(fit, bands, taken);
    for (size_t k = 0; k < bands->count; k++)
        if (!bands->item[k].retained && !bands->item[k].given)
            refine(fit, &bands->item[k]);
    for (size_t index = 0; index < fit->model.bands && bands->count < SL_BANDS_MAX; index++) {
        struct fit_band fitted = fit_band(fit, index);
        if (taken[index] || !tells_apart(&fitted, bands, total))
            continue;
        struct sl_band band = resolved(profile, track, fit, &fitted, index, total);
        band.unsure = fit->fall[index] < unsure_fall;
        take_share(track, total, bands, &band);
        insert(bands, &band);
    }
    if (fit->has_nearly && tells_apart(&fit->nearly, bands, total))
        bands->possible_rf = fit->nearly.apex;
}
