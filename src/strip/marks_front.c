// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Pencil above the dye's end, or close to it: somebody marked the front while it was wet.
 * 2. Else a water line there (marks_tide.c), if it stands out of the paper's texture: by more, the
 *    farther it lies from all dye and the nearer to the end.
 * 3. Else the dye's end, as likely as its shape says that dye was pushed against the front: it ends
 *    more steeply than it rises to its apex, or it is fingered as the front is. Bands that the
 *    water left behind end softly, evenly and alike on both sides. A logistic regression on drawn
 *    strips weighs these.
 * 4. Otherwise the front is where the last trace of dye is lost or somewhere above, and the error
 *    says so.
 * Evidence of like weight for two places makes the error as wide as they are apart. */
#include "strip/marks_front.h"

#include <math.h>

#include "strip/marks_dye.h"
#include "strip/marks_tide.h"

#define ENDS_OUT 0.06       /* of the length at the upper end: cut edge, table shining in */
#define RUN_LEAST 0.1       /* of the length: water climbs further than that above the line */
#define BELOW_EDGE 0.03     /* how far below the dye's end a pencil mark can still be the front's */
#define PENCIL_WIDTH 0.0065 /* of the length */
#define PENCIL_WANDER 0.0015
/* Blurred it is wider; as straight and as grey as this nothing but pencil is. */
#define RULED_WIDTH 0.01
#define RULED_WANDER 0.0008
#define RULED_TINT 0.08
#define TIDE_WIDTH 0.016
#define TIDE_FAINT 0.3 /* amount; deltaE of up to about 6 */
#define TIDE_TINT 0.18
#define TIDE_STRENGTH 1.3 /* of a water line: from here on texture is no likely cause */
#define TIDE_SURE 2.0
#define TIDE_FAR 0.04 /* of the length above the dye's end */
/* From a water line to the log odds that it is the front's and no texture; fitted to 505 drawn
 * strips of two kinds, of which it was so on 84 in 100. */
#define TIDE_ODDS 1.4          /* of one twice as strong as texture */
#define TIDE_ODDS_STRENGTH 2.4 /* for ln of the strength, at most TIDE_STRENGTH_MOST */
#define TIDE_ODDS_GAP (-6.5)   /* a length above the dye's end, from TIDE_GAP on */
#define TIDE_ODDS_HIGH (-35.0) /* a length above TIDE_HIGH: pegs and tables shade the end */
#define TIDE_STRENGTH_MOST 6.0
#define TIDE_GAP 0.3
#define TIDE_HIGH 0.85
#define TIDE_LIKELY 0.5  /* probability below which it is not taken for the front */
#define TIDE_ABOVE 0.004 /* of the length above a lane's end of dye, whose crest is no line */
#define TIDE_PART 0.5    /* of the strongest: a higher one of that strength is the front's */
#define GREY_PART 0.25   /* largest less smallest channel over the sum */
/* From the shape of the dye's end to the log odds that the front is there; fitted to 376 drawn
 * strips of two kinds, of which it was so on one in three. */
#define ODDS_NONE (-3.6)
#define ODDS_PUSHED 1.9    /* for ln of the way to the apex over the softness, 0 to 1 */
#define ODDS_FINGERED 0.56 /* for ln of the fingers over FINGERED softnesses, -1.2 to 1.2 */
#define ODDS_TRAIL 0.57    /* for ln of the way below the apex over that above it */
#define ODDS_FAR 2.8       /* a length above the origin, at most half of one */
#define ODDS_FOOT (-1.9)   /* for ln of the way from half height to the foot over the softness */
#define BAND_LEAST                                                                                 \
    0.02 /* of the length, half a band's width; one cut near its apex has less above */
#define FINGERED 0.12
#define FOOT_LEAST 0.0005 /* of the length, less than a row */
/* Of the length, softnesses: blur leaves a steep end's half height in place; dye that was pushed
 * and ends as softly as SOFT_TO has its foot at the front, or its half height where it is plain
 * that it was pushed: there the fibres have blurred it. What merely fades there is seen as far as
 * about FADE_BLUR above it; ends as steep as FADE_FROM don't fade. */
#define SOFT_FROM 0.012
#define SOFT_TO 0.032
#define FADE_FROM 0.02
#define FADE_BLUR 0.005
#define EDGE_SIGMA 0.003 /* of the length */
#define SOFT_SIGMA 0.17  /* of the softness */
#define LANES_FEW 12     /* dye that ends in fewer lanes may be writing or a shadow */
#define DYE_LIKELY 0.5   /* probability from which on the dye's end is taken for the front */
#define DYE_SURE 0.75
#define DYE_PLAIN 0.9 /* from here on it was pushed there, without doubt */
/* Where nothing shows the front, it lies above the last trace of dye. Measured on 376 drawn strips
 * without pencil or water line, of those whose dye does not reach it, as median (10 % to 90 %), by
 * the probability that it does:
 * - below 0.1: tidy strips 0.44 (0.32 to 0.47), dip tests 0.21 (0.07 to 0.28);
 * - 0.1 to 0.2: tidy 0.13 (0.04 to 0.38), dip 0.12 (0.05 to 0.25);
 * - 0.2 to 0.45: tidy 0.08 (0.03 to 0.17), dip 0.09 (0.02 to 0.19).
 * One place is likelier than any of these from UNSEEN_MIDDLE on: the end of the dye itself, and
 * bands are counted from there. */
#define UNSEEN_GAP_MOST 0.15
#define UNSEEN_MIDDLE 0.13 /* the probabilities of these */
#define UNSEEN_LEAST 0.06
#define UNSEEN_SIGMA 0.12
#define UNSEEN_SIGMA_MOST 0.15
#define FRONT_MOST 0.97   /* of the length */
#define FRONT_COMMON 0.65 /* without any dye: anywhere on common strips */
#define FRONT_COMMON_SIGMA 0.17

static double between(double x, double low, double high)
{
    return fmin(fmax(x, low), high);
}

/* Largest less smallest channel over the sum. */
static double tint_of(const double colour[3])
{
    double sum = colour[0] + colour[1] + colour[2];
    double high = fmax(colour[0], fmax(colour[1], colour[2]));
    double low = fmin(colour[0], fmin(colour[1], colour[2]));
    return sum > 0 ? (high - low) / sum : INFINITY;
}

static bool is_grey(const double colour[3])
{
    return tint_of(colour) < GREY_PART;
}

/* Faint, and absorbing blue most and red least by a clear part of the whole: the shade of a ridge
 * is grey. */
static bool is_water_mark(const double colour[3])
{
    double sum = colour[0] + colour[1] + colour[2];
    return sum > 0 && sum < TIDE_FAINT && colour[2] - colour[0] > TIDE_TINT * sum &&
           colour[2] > colour[1] && colour[1] > colour[0] * 0.9;
}

enum sl_front_seen sl_front_kind(const struct sl_view *view, const struct sl_line *line)
{
    const double *colour = line->colour;
    bool thin = line->width < PENCIL_WIDTH && line->wander < PENCIL_WANDER && is_grey(colour);
    bool ruled =
        line->width < RULED_WIDTH && line->wander < RULED_WANDER && tint_of(colour) < RULED_TINT;
    if ((thin || ruled) && line->likeness > 12 * view->noise_mean)
        return SL_FRONT_PENCIL;
    if (line->width < TIDE_WIDTH && is_water_mark(colour) && line->likeness > 4 * view->noise_mean)
        return SL_FRONT_WATER_LINE;
    return SL_FRONT_NOT_SEEN;
}

static struct sl_front from_line(const struct sl_line *line)
{
    return (struct sl_front){.v = line->v,
                             .sigma = hypot(line->sigma, line->width / 2),
                             .seen = SL_FRONT_PENCIL,
                             .slant = line->slant,
                             .spread = line->wander};
}

/* The lowest pencil line above a place. */
static bool from_pencil_line(const struct sl_view *view, const struct sl_seen *seen, double lowest,
                             struct sl_front *ret)
{
    for (int i = 0; i < seen->lines; i++) {
        const struct sl_line *line = &seen->line[i];
        if (line->v < lowest || line->v > 1 - ENDS_OUT ||
            sl_front_kind(view, line) != SL_FRONT_PENCIL)
            continue;
        *ret = from_line(line);
        return true;
    }
    return false;
}

/* The lowest pencil mark: writing at the upper end can look like more of them. */
static bool from_pencil(const struct sl_view *view, const struct sl_seen *seen, double lowest,
                        struct sl_front *ret)
{
    bool found = from_pencil_line(view, seen, lowest, ret);
    for (int i = 0; i < seen->ticks; i++) {
        const struct sl_tick *tick = &seen->tick[i];
        if (tick->v < lowest || tick->v > (found ? ret->v : 1 - ENDS_OUT))
            continue;
        *ret = (struct sl_front){
            .v = tick->v, .sigma = tick->sigma, .seen = SL_FRONT_PENCIL, .slant = tick->slant};
        return true;
    }
    return found;
}

/* The highest of the strong water lines: drying leaves fainter ones below it. */
static bool pick_tide(const struct sl_tide *tides, int count, struct sl_tide *ret)
{
    double strongest = 0;
    for (int i = 0; i < count; i++)
        strongest = fmax(strongest, tides[i].strength);
    for (int i = count - 1; i >= 0; i--)
        if (tides[i].strength > fmax(TIDE_STRENGTH, TIDE_PART * strongest)) {
            *ret = tides[i];
            return true;
        }
    return false;
}

static struct sl_front from_tide(const struct sl_tide *tide)
{
    /* what the water carries along is laid down at its highest point or just below */
    return (struct sl_front){.v = tide->v + tide->width / 4,
                             .sigma = hypot(tide->sigma, tide->width / 4),
                             .seen = SL_FRONT_WATER_LINE,
                             .slant = tide->slant,
                             .spread = tide->spread};
}

/* Probability that the front is where the dye ends. */
static double pushed(const struct sl_dye_end *dye, double origin)
{
    double fingers = sqrt(fmax(dye->spread * dye->spread - dye->rough * dye->rough, 0));
    double rise = fmax(dye->lead, fmin(dye->trail, BAND_LEAST));
    double foot = fmax(dye->foot - dye->half, FOOT_LEAST);
    double odds =
        ODDS_NONE + ODDS_PUSHED * between(log(1.05 * rise / dye->soft), 0, 1) +
        ODDS_FINGERED *
            between(log((0.02 + fingers / fmax(dye->soft, SOFT_FROM)) / FINGERED), -1.2, 1.2) +
        ODDS_TRAIL * log(between(dye->trail / dye->lead, 0.3, 10)) +
        ODDS_FAR * fmin(dye->v - origin, 0.5) + ODDS_FOOT * between(log(foot / dye->soft), -3, 0);
    double p = 1 / (1 + exp(-odds));
    return dye->lanes < LANES_FEW ? p / 2 : p;
}

/* Where dye that was pushed against the front, with probability `p`, ends. */
static double pushed_to(const struct sl_dye_end *dye, double p)
{
    double soft = between((dye->soft - SOFT_FROM) / (SOFT_TO - SOFT_FROM), 0, 1);
    double faded = between((DYE_PLAIN - p) / (DYE_PLAIN - DYE_LIKELY), 0, 1);
    return dye->half + soft * faded * (dye->foot - dye->half);
}

/* The highest place that dye reaches. */
static double fades_to(const struct sl_dye_end *dye)
{
    double soft = between((dye->soft - SOFT_FROM) / (FADE_FROM - SOFT_FROM), 0, 1);
    return dye->half + soft * fmax(dye->fade - FADE_BLUR - dye->half, 0);
}

static struct sl_front from_dye(const struct sl_dye_end *dye, double p)
{
    struct sl_front front = {.slant = dye->slant, .spread = dye->spread};
    if (p >= DYE_LIKELY) {
        double doubt = pow((1 - p) / (1 - DYE_LIKELY), 1.5);
        front.v = pushed_to(dye, p);
        front.sigma = hypot(hypot(EDGE_SIGMA, SOFT_SIGMA * dye->soft),
                            dye->spread / sqrt(fmax(dye->lanes / 3.0, 1)));
        front.sigma = hypot(front.sigma, UNSEEN_SIGMA * doubt);
        front.seen = SL_FRONT_DYE;
        front.doubtful = p < DYE_SURE;
    } else {
        double far = between((UNSEEN_MIDDLE - p) / (UNSEEN_MIDDLE - UNSEEN_LEAST), 0, 1);
        double end = fades_to(dye);
        front.v = fmin(fmin(end + far * UNSEEN_GAP_MOST, (1 + end) / 2), FRONT_MOST);
        front.sigma = UNSEEN_SIGMA + far * (UNSEEN_SIGMA_MOST - UNSEEN_SIGMA);
        front.seen = SL_FRONT_NOT_SEEN;
    }
    return front;
}

/* Probability that a water line is the front's. */
static double drawn_by_water(const struct sl_tide *tide, const struct sl_dye_end *dye)
{
    double gap = dye->lanes > 0 ? tide->v - dye->v : 0;
    double odds =
        TIDE_ODDS + TIDE_ODDS_STRENGTH * log(fmin(tide->strength, TIDE_STRENGTH_MOST) / 2) +
        TIDE_ODDS_GAP * fmax(gap - TIDE_GAP, 0) + TIDE_ODDS_HIGH * fmax(tide->v - TIDE_HIGH, 0);
    return 1 / (1 + exp(-odds));
}

/* Two places that may be the front: the likelier one, as unsure as they are apart. */
static struct sl_front weigh(struct sl_front taken, const struct sl_front *other, double doubt)
{
    double apart = fabs(taken.v - other->v);
    taken.sigma = hypot(taken.sigma, doubt * apart);
    taken.doubtful = taken.doubtful || doubt * apart > 2 * EDGE_SIGMA;
    return taken;
}

static struct sl_front tide_or_dye(const struct sl_tide *tide, const struct sl_dye_end *dye,
                                   double p)
{
    struct sl_front water = from_tide(tide);
    if (dye->lanes == 0)
        return water;
    double strength = tide->strength, drawn = drawn_by_water(tide, dye);
    struct sl_front edge = from_dye(dye, p);
    if (drawn < TIDE_LIKELY) /* the spread of two places, of which one is that likely */
        return weigh(edge, &water, sqrt(drawn * (1 - p) / (1 - drawn * p)));
    /* texture at times makes a line; above dye that is plainly pushed there is no water */
    if (p >= DYE_SURE && water.v - dye->v > TIDE_FAR)
        return weigh(edge, &water, (1 - p) / 2);
    if (strength >= TIDE_SURE || p < DYE_LIKELY)
        return water;
    double q = (strength - TIDE_STRENGTH) / (TIDE_SURE - TIDE_STRENGTH);
    return q >= p ? weigh(water, &edge, p / 2) : weigh(edge, &water, q / 2);
}

bool sl_front_find(const struct sl_view *view, const struct sl_seen *seen, double origin,
                   struct sl_front *ret)
{
    struct sl_dye_end dye = sl_dye_end_find(view, origin);
    struct sl_tide tides[SL_TIDES_MAX], tide;
    double from[SL_VIEW_LANES];
    for (int lane = 0; lane < SL_VIEW_LANES; lane++)
        from[lane] = dye.lanes > 0 ? dye.at[lane] + TIDE_ABOVE : origin + RUN_LEAST;
    int count = sl_tides_find(view, from, 1 - ENDS_OUT, tides);
    if (count < 0)
        return false;
    double p = dye.lanes > 0 ? pushed(&dye, origin) : 0;
    double lowest = origin + RUN_LEAST;
    if (from_pencil(view, seen, dye.lanes > 0 ? fmax(dye.v - BELOW_EDGE, lowest) : lowest, ret))
        return true;
    /* what looks like dye above a pencil line is a shadow or writing */
    if ((p < DYE_LIKELY || dye.lanes < LANES_FEW) && from_pencil_line(view, seen, lowest, ret))
        return true;
    if (pick_tide(tides, count, &tide))
        *ret = tide_or_dye(&tide, &dye, p);
    else if (dye.lanes > 0)
        *ret = from_dye(&dye, p);
    else
        *ret = (struct sl_front){
            .v = FRONT_COMMON, .sigma = FRONT_COMMON_SIGMA, .seen = SL_FRONT_NOT_SEEN};
    return true;
}
