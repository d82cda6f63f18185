// SPDX-License-Identifier: GPL-3.0-or-later
/* Shapes along the strip, x in Rf, with their derivatives; each has unit area if it ran free.
 *
 * emg: Gaussian with an exponential tail towards the origin (exponentially modified Gaussian).
 * line: a ruled line of width w, blurred.
 * streak: dye still being released at the origin while the band of the same dye ran ahead to R.
 * bath: dye washed down from the line into the bath's side of the paper. */
#ifndef BAND_SHAPE_H
#define BAND_SHAPE_H

struct emg {
    double value, by_mean, by_ln_sigma, by_ln_tau;
};
struct emg shape_emg(double x, double mean, double sigma, double tau);

struct line {
    double value, by_middle, by_ln_width, by_ln_blur;
};
struct line shape_line(double x, double middle, double width, double blur);

struct streak {
    double value, by_end, by_ln_sigma, by_ln_rate;
};
/* Released at `rate` per Rf; begins at the origin within `blur`, ends at `end` within `sigma`. */
struct streak shape_streak(double x, double blur, double end, double sigma, double rate);
/* Thins out upwards from the origin at `rate` per Rf; begins and ends as the other. */
struct streak shape_fading(double x, double blur, double end, double sigma, double rate);

struct bath {
    double value, by_ln_reach;
};
struct bath shape_bath(double x, double blur, double reach);

/* Apex of an emg, and its full width at `part` of the height; `ret_lead` the part of that width on
 * the side away from the tail (may be NULL). */
double shape_emg_apex(double mean, double sigma, double tau);
double shape_emg_width(double mean, double sigma, double tau, double part, double *ret_lead);

#endif
