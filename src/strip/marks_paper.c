// SPDX-License-Identifier: GPL-3.0-or-later
/* Brown paper and white paper under warm light look alike: both redden along nearly the same line
 * of colours. Three things are weighed against each other as log odds:
 * - brown filter paper is rarer than white;
 * - the camera's white balance leaves some warmth, seldom much, and hardly any blueness, so the
 *   warmth that would be left over under each assumption has its own likelihood;
 * - white paper is among the brightest things in a photo, brown paper is not. */
#include "strip/marks_paper.h"

#include <math.h>
#include <string.h>

/* White filter paper gives back 0.8 to 0.9, unbleached coffee filters about 0.56, 0.45, 0.35 of
 * red, green, blue (common practice, no source). */
static const double white_paper[3] = {0.85, 0.85, 0.85};
static const double brown_paper[3] = {0.56, 0.45, 0.35};

#define PRIOR_ODDS 0.1          /* brown to white */
#define WARMTH_SCALE 0.06       /* log R/G that white balance leaves on average */
#define BLUENESS_SIGMA 0.03     /* log R/G below 0 */
#define WHITE_BRIGHTNESS 0.65   /* usual green light of white paper; brown less in proportion */
#define BRIGHTNESS_SIGMA 0.35   /* of its logarithm: exposure */
#define BRIGHTNESS_ODDS_MAX 1.5 /* log odds; a shadow or a dark room must not make paper brown */

/* Minus log likelihood, but for a constant, that light of this log R/G is left. */
static double warmth_cost(double warmth)
{
    if (warmth >= 0)
        return warmth / WARMTH_SCALE;
    return warmth * warmth / (2 * BLUENESS_SIGMA * BLUENESS_SIGMA);
}

static double brightness_cost(double green, double expected)
{
    double off = log(green / expected) / BRIGHTNESS_SIGMA;
    return off * off / 2;
}

bool sl_paper_reflectance(const double white[3], double ret[3])
{
    memcpy(ret, white_paper, sizeof white_paper);
    if (!(white[0] > 0 && white[1] > 0 && white[2] > 0))
        return false;
    double warmth = log(white[0] / white[1]);
    double brown_warmth = warmth - log(brown_paper[0] / brown_paper[1]);
    double brown_green = WHITE_BRIGHTNESS * brown_paper[1] / white_paper[1];
    double brightness =
        brightness_cost(white[1], WHITE_BRIGHTNESS) - brightness_cost(white[1], brown_green);
    double odds = log(PRIOR_ODDS) + warmth_cost(warmth) - warmth_cost(brown_warmth) +
                  fmin(fmax(brightness, -BRIGHTNESS_ODDS_MAX), BRIGHTNESS_ODDS_MAX);
    /* blue must be missing too: red paper or red light is not brown paper */
    if (odds <= 0 || white[2] > 0.85 * white[1])
        return false;
    memcpy(ret, brown_paper, sizeof brown_paper);
    return true;
}
