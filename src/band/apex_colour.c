// SPDX-License-Identifier: GPL-3.0-or-later
/* Colour and signature at an apex:
 * 1. A parabola through the samples around it, by least squares; its value at the apex is a
 * weighted sum of them (A. Savitzky, M. Golay, Anal. Chem. 36 (1964) 1627-1639). A mean would be
 * paler than the apex. As the samples lie alike on both sides, what is odd drops out.
 * 2. Random error: that of the weighted sum, and larger where the samples leave the parabola by
 * more than their errors.
 * 3. Light: white that is wrong by a part e multiplies X, Y and Z alike, which moves L* + 16, a*
 *    and b* by e / 3 of themselves (CIE 15, cube roots). Its colour can be wrong too: where e_X,
 *    e_Y, e_Z differ, a* changes by 500 (fX e_X - fY e_Y) / 3, b* by 200 (fY e_Y - fZ e_Z) / 3.
 * 4. JPEG rounds the colour of even patches, white's and the band's.
 * 5. Hue: the error at right angles to the chroma, seen from the grey axis. */
#include <gsl/gsl_math.h>
#include <math.h>

#include "band/measure.h"
#include "strandline/colour.h"

static const double z_95 = 1.959964;
enum { SAMPLES_LEAST = 5 };
/* What eight bits and the blocks of a photo leave open: the spread of a*, b* that is left on
 * rendered photographs where noise, light and JPEG's steps of colour explain none of it; less in
 * L*. */
static const double coding_se[3] = {0.2, 0.3, 0.3};

/* Parts of X, Y, Z of grey light that red, green and blue make (sRGB's primaries, IEC 61966-2-1,
 * adapted to D50 by the Bradford transform). */
static const double part_of_xyz[3][3] = {
    {0.4522, 0.3993, 0.1484}, {0.2225, 0.7169, 0.0606}, {0.0169, 0.1177, 0.8653}};

/* Moments of the places t = (rf - apex) / reach of the samples that are seen. */
struct window {
    size_t from, to;
    double apex, reach;
    double n, s2, s4;
};

static double place(const struct track *track, const struct window *w, size_t i)
{
    return (track->rf[i] - w->apex) / w->reach;
}

static struct window window_make(const struct track *track, double apex, double reach)
{
    struct window w = {.apex = apex, .reach = fmax(reach, 0.5 * track->step)};
    w.from = track_at(track, apex - w.reach);
    w.to = track_at(track, apex + w.reach);
    for (size_t i = w.from; i <= w.to; i++) {
        double t2 = gsl_pow_2(place(track, &w, i));
        w.n += track->weight[i] > 0.0;
        w.s2 += track->weight[i] > 0.0 ? t2 : 0.0;
        w.s4 += track->weight[i] > 0.0 ? t2 * t2 : 0.0;
    }
    return w;
}

struct value {
    double at_apex, se;
};

/* The value at the apex of a series of triples' channel `c`. */
static struct value at_apex(const struct track *track, const struct window *w,
                            const double (*series)[3], const double (*series_se)[3], int c)
{
    bool curved = w->n >= SAMPLES_LEAST;
    double det = w->n * w->s4 - w->s2 * w->s2, variance = 0.0, chi2 = 0.0;
    double sum = 0.0, slope = 0.0, bend = 0.0; /* of 1, t and t^2 with the series */
    for (size_t i = w->from; i <= w->to; i++) {
        double t = place(track, w, i), y = series[i][c];
        if (track->weight[i] <= 0.0)
            continue;
        double weight = curved ? (w->s4 - w->s2 * t * t) / det : 1.0 / w->n;
        sum += y;
        slope += t * y;
        bend += t * t * y;
        variance += gsl_pow_2(weight * series_se[i][c]);
    }
    struct value value = {sum / fmax(w->n, 1.0), 0.0};
    if (curved) {
        value.at_apex = (w->s4 * sum - w->s2 * bend) / det;
        double square = (w->n * bend - w->s2 * sum) / det;
        for (size_t i = w->from; i <= w->to; i++) {
            double t = place(track, w, i);
            double left = series[i][c] - value.at_apex - t * slope / w->s2 - t * t * square;
            if (track->weight[i] > 0.0 && series_se[i][c] > 0.0)
                chi2 += gsl_pow_2(left / series_se[i][c]);
        }
        variance *= fmax(chi2 / fmax(w->n - 3.0, 1.0), 1.0);
    }
    value.se = sqrt(variance * fmin(track->correlation, fmax(w->n, 1.0)));
    return value;
}

/* Adds in squares what `e`, errors of log red, green and blue that go together, does to L*, a*, b*
 * of a colour with these reflectances. */
static void add_moved(const double lab[3], const double r[3], const double e[3], double ret[3])
{
    double fy = (lab[0] + 16.0) / 116.0, f[3] = {fy + lab[1] / 500.0, fy, fy - lab[2] / 200.0};
    for (int i = 0; i < 3; i++) {
        double moved = 0.0, all = 0.0;
        for (int c = 0; c < 3; c++) {
            double part = part_of_xyz[i][c] * fmax(r[c], SL_REFLECTANCE_MIN);
            moved += part * e[c];
            all += part;
        }
        f[i] *= moved / all / 3.0;
    }
    ret[0] = hypot(ret[0], 116.0 * f[1]);
    ret[1] = hypot(ret[1], 500.0 * (f[0] - f[1]));
    ret[2] = hypot(ret[2], 200.0 * (f[1] - f[2]));
}

/* White's log R/G or log B/G is wrong; the mean of the three is the light's. */
static void add_white_colour(const struct sl_profile *profile, const double lab[3],
                             const double r[3], double ret[3])
{
    for (int k = 0; k < 2; k++) {
        double e[3];
        for (int c = 0; c < 3; c++)
            e[c] = profile->white_colour_se[k] * ((c == 2 * k) - 1.0 / 3.0);
        add_moved(lab, r, e, ret);
    }
}

/* By how much a level of 8 bits changes the logarithm of linear light (IEC 61966-2-1). */
static double log_of_level(double linear)
{
    double encoded = 1.055 * pow(fmin(fmax(linear, 0.0031308), 1.0), 1.0 / 2.4) - 0.055;
    return 2.4 / (255.0 * (encoded + 0.055));
}

/* JPEG rounds Cb and Cr of even patches, paper's as well as the band's: errors evenly spread over a
 * step (ITU-T T.871 for what they do to red, green and blue). */
static void add_chroma_steps(const struct sl_profile *profile, const double lab[3],
                             const double r[3], double ret[3])
{
    static const double rgb_of[2][3] = {{0.0, -0.344136, 1.772}, {1.402, -0.714136, 0.0}};
    double level = profile->chroma_step / sqrt(12.0);
    for (int k = 0; k < 2; k++) {
        double white[3], band[3];
        for (int c = 0; c < 3; c++) {
            white[c] = level * rgb_of[k][c] * log_of_level(profile->white_rgb[c]);
            band[c] = level * rgb_of[k][c] * log_of_level(profile->white_rgb[c] * r[c]);
        }
        add_moved(lab, r, white, ret);
        add_moved(lab, r, band, ret);
    }
}

static void set_hue(struct sl_band *band)
{
    double a = band->lab_d50[1], b = band->lab_d50[2], chroma = sl_lab_chroma(band->lab_d50);
    double across = hypot(b * band->lab_se[1], a * band->lab_se[2]) / fmax(chroma, 1e-12);
    double part = z_95 * across / fmax(chroma, 1e-12);
    double half_deg = part < 1.0 ? asin(part) * 180.0 / M_PI : NAN; /* NAN: any hue is possible */
    band->hue_deg = sl_lab_hue_deg(band->lab_d50);
    band->hue_name = sl_hue_name(band->lab_d50);
    band->hue_interval[0] = band->hue_deg - half_deg;
    band->hue_interval[1] = band->hue_deg + half_deg;
}

void band_colour(const struct sl_profile *profile, const struct track *track, double apex,
                 double reach, struct sl_band *ret)
{
    struct window w = window_make(track, apex, reach);
    size_t at = track_at(track, apex);
    double white = hypot(track->white_se[at], profile->white_level_se), length = 0.0,
           coloured[3] = {0.0, 0.0, 0.0};
    for (int c = 0; c < 3; c++) {
        struct value lab = at_apex(track, &w, (const double(*)[3])profile->lab_d50,
                                   (const double(*)[3])profile->lab_se, c);
        struct value load = at_apex(track, &w, (const double(*)[3])track->load,
                                    (const double(*)[3])track->load_se, c);
        double light = white / 3.0 * (lab.at_apex + (c == 0 ? 16.0 : 0.0));
        ret->lab_d50[c] = lab.at_apex;
        ret->lab_se[c] = hypot(hypot(lab.se, light), coding_se[c]);
        ret->signature[c] = load.at_apex;
        ret->signature_se[c] = load.se;
        length += load.at_apex * load.at_apex;
    }
    add_white_colour(profile, ret->lab_d50, profile->reflectance[at], coloured);
    add_chroma_steps(profile, ret->lab_d50, profile->reflectance[at], coloured);
    length = fmax(sqrt(length), 1e-12);
    for (int c = 0; c < 3; c++) {
        ret->signature[c] /= length;
        ret->signature_se[c] /= length;
        ret->lab_se[c] = hypot(ret->lab_se[c], coloured[c]);
    }
    set_hue(ret);
}
