// SPDX-License-Identifier: GPL-3.0-or-later
/* A plain word for a colour relative to paper white.
 *
 * 1. Too little chroma for a hue to be seen: white, grey or black. How much is too little grows
 *    towards the dark.
 *    Up to twice that, towards blue: blue-grey, as slate inks are.
 * 2. Dark and not vivid around orange: brown.
 * 3. Otherwise the sector of the hue angle h_ab; where everyday language splits a sector by
 *    lightness or chroma (pink, magenta, purple), so is it split here.
 * The limits are judged by eye from the named colours of CSS Color Module Level 4, section 6.1; the
 * tests check them against these. */
#include "strandline/colour.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

struct sector {
    double end_deg; /* starts where the one before ends */
    const char *name;
};

/* Where no rule above has spoken. */
static const struct sector sectors[] = {
    {42, "red"},    {78, "orange"},     {106, "yellow"}, {122, "yellow-green"},
    {174, "green"}, {222, "turquoise"}, {298, "blue"},   {318, "violet"},
};

static double ramp(double x, double from, double to)
{
    return fmin(fmax((x - from) / (to - from), 0), 1);
}

static const char *achromatic_name(double L, double C, double h)
{
    double limit = 2.5 + 0.06 * (100 - L);
    if (L < 25 && C < 12)
        return "black";
    if (C < limit)
        return L < 25 ? "black" : L > 96 ? "white" : "grey";
    return C < 2 * limit && L < 90 && h >= 222 && h < 298 ? "blue-grey" : NULL;
}

/* Brown is a dark or dull orange; towards red it has to be duller still to lose its redness. */
static bool is_brown(double L, double C, double h)
{
    if (h >= 42 && h < 98)
        return (L < 66 && C < 70) || (L < 80 && C < 30);
    return h >= 25 && h < 42 && L < 55 && C < 42;
}

static const char *reddish_name(double L, double C, double h)
{
    if (h >= 318 && h < 338)
        return L >= 55 && C >= 80 ? "magenta" : "purple";
    if (h >= 338 || h < 4)
        return L >= 54 ? "pink" : "magenta";
    return h < 42 && L >= 64 ? "pink" : NULL;
}

const char *sl_hue_name(const double lab_d50[3])
{
    double L = lab_d50[0], C = sl_lab_chroma(lab_d50), h = sl_lab_hue_deg(lab_d50);
    const char *name = achromatic_name(L, C, h);
    if (name)
        return name;
    if (is_brown(L, C, h))
        return "brown";
    name = reddish_name(L, C, h);
    if (name)
        return name;
    /* vivid blue lies at a larger h_ab than pale blue: lines of one blue are bent in this space */
    if (h >= 298 && h < 298 + 10 * ramp(C / fmax(L, 1), 1.5, 3))
        return "blue";
    for (size_t i = 0; i < sizeof sectors / sizeof *sectors; i++)
        if (h < sectors[i].end_deg)
            return sectors[i].name;
    return "purple"; /* not reached: reddish_name speaks for 318 and on */
}

const char *sl_hue_name_known(const char *name)
{
    static const char *const others[] = {"black", "white",   "grey", "blue-grey",
                                         "brown", "magenta", "pink", "purple"};
    for (size_t i = 0; i < sizeof sectors / sizeof *sectors; i++)
        if (strcmp(name, sectors[i].name) == 0)
            return sectors[i].name;
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (strcmp(name, others[i]) == 0)
            return others[i];
    return "";
}
