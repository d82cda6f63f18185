// SPDX-License-Identifier: GPL-3.0-or-later
/* The joint fit of all three channels: how many bands the data carry, and what each of them is. */
#ifndef BAND_FIT_H
#define BAND_FIT_H

#include "band/edges.h"
#include "band/lsq.h"
#include "band/model.h"
#include "band/seed.h"

/* Where the fit starts for one band. */
struct fit_start {
    double rf, half_width;
    double load[3]; /* at the apex */
};

struct fit_band {
    double apex, apex_se; /* Rf */
    double half_width, asymmetry;
    double area[3], area_sum; /* of what ran at once and what it left behind as a streak */
};

struct fit {
    struct edges edges; /* of the ruled line */
    struct cells cells;
    struct model model;
    struct lsq_result result;
    size_t given;        /* bands that the starts gave; those after them were resolved by the fit */
    double freedom;      /* residuals less parameters */
    double independence; /* part of the residuals that neighbours do not repeat */
    double criterion;    /* Bayesian information criterion */
    double fall[MODEL_BANDS_MAX]; /* of it when a resolved band was taken in; 0 for those given */
    bool has_nearly;              /* one band more, that the data ask for less clearly */
    struct fit_band nearly;
};

/* `line_load` is the load at the origin. On failure `ret` stays empty (cells.block NULL). */
sl_code fit_make(const struct track *track, double from_rf, double to_rf,
                 const struct fit_start *starts, size_t count, const double line_load[3],
                 struct fit *ret, struct sl_status *status);
void fit_finish(struct fit *fit);

struct fit_band fit_band(const struct fit *fit, size_t index);

/* Apex of the whole fitted load near `rf`, at most `reach` away. */
double fit_apex(const struct fit *fit, double rf, double reach);

#endif
