// SPDX-License-Identifier: GPL-3.0-or-later
/* Follows one edge of the paper below a pixel.
 * 1. At stations along the rough edge the light is read along the normal, as the mean of a few
 *    neighbouring profiles.
 * 2. Each profile's steepest places are candidates; the chain of candidates that is steep and
 *    steady at once is taken (Viterbi), so that a shadow, a dyed band or a peg here and there does
 *    not lead away.
 * 3. The edge is where the light is half way between inside and outside, in linear light: blur
 *    moves no light across that place.
 * 4. A low-order curve through all stations, outliers counting little (bisquare weights). */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "strip/outline_trace.h"

enum {
    STATIONS_MAX = 65,
    PEAKS = 4,
    PROFILE_MAX = 400, /* samples */
    BESIDE = 2,        /* profiles on each side of the station */
    STATIONS_LEAST = 9,
};
static const double STEP_PX = 0.5;
static const double LEVEL_NEAR_PX = 2.0, LEVEL_FAR_PX = 4.0; /* where inside and outside are read */
static const double SHIFT_COST = 0.2; /* per px from station to station, against 1 for steepness */
static const double AWAY_COST = 0.25; /* at the end of the reach */

struct station {
    double t, x, y;
    int half; /* samples of the profile on either side */
    int count, chosen;
    double place[PEAKS], steep[PEAKS]; /* px along the normal; light per px */
    double offset;
    bool good;
};

static void light_at(const struct sl_image *look, double x, double y, double ret[3])
{
    size_t bytes = look->bits / 8 * 3;
    x = fmin(fmax(x, 0), look->width - 1.001);
    y = fmin(fmax(y, 0), look->height - 1.001);
    int i = (int)x, j = (int)y;
    double fx = x - i, fy = y - j;
    float top[6], low[6];
    const char *p = (const char *)look->pixels + (size_t)j * look->stride + (size_t)i * bytes;
    sl_colour_to_linear(look->colour, p, look->bits, 2, top);
    sl_colour_to_linear(look->colour, p + look->stride, look->bits, 2, low);
    for (int c = 0; c < 3; c++) {
        double a = (double)top[c] + fx * ((double)top[c + 3] - (double)top[c]);
        double b = (double)low[c] + fx * ((double)low[c + 3] - (double)low[c]);
        ret[c] = a + fy * (b - a);
    }
}

/* Step 1. */
static int read_profile(const struct sl_image *look, const struct outline_base *base,
                        const struct station *s, double (*ret)[3])
{
    int half = (int)((base->reach + LEVEL_FAR_PX) / STEP_PX);
    if (half > PROFILE_MAX / 2 - 1)
        half = PROFILE_MAX / 2 - 1;
    for (int i = -half; i <= half; i++) {
        double d = i * STEP_PX, *sum = ret[i + half];
        sum[0] = sum[1] = sum[2] = 0;
        for (int b = -BESIDE; b <= BESIDE; b++) {
            double rgb[3];
            light_at(look, s->x + d * base->nx + b * base->dx, s->y + d * base->ny + b * base->dy,
                     rgb);
            for (int c = 0; c < 3; c++)
                sum[c] += rgb[c] / (2 * BESIDE + 1);
        }
    }
    return half;
}

/* Steepness of the square root of light over two pixels: even noise, and dark tables count. */
static double steepness(double (*profile)[3], int i)
{
    double sum = 0;
    for (int c = 0; c < 3; c++) {
        double a = sqrt(fmax(profile[i - 2][c], 0)), b = sqrt(fmax(profile[i + 2][c], 0));
        sum += (b - a) * (b - a);
    }
    return sqrt(sum);
}

static void add_peak(struct station *s, double place, double steep)
{
    int at = s->count < PEAKS ? s->count++ : PEAKS - 1;
    if (at == PEAKS - 1 && s->count == PEAKS && s->steep[at] > steep && s->place[at] != 0)
        return;
    while (at > 0 && s->steep[at - 1] < steep) {
        s->steep[at] = s->steep[at - 1];
        s->place[at] = s->place[at - 1];
        at--;
    }
    s->steep[at] = steep;
    s->place[at] = place;
}

static void find_peaks(double (*profile)[3], int half, double reach, struct station *s)
{
    double steep[PROFILE_MAX];
    int n = 2 * half + 1;
    for (int i = 2; i + 2 < n; i++)
        steep[i] = steepness(profile, i);
    for (int i = 3; i + 3 < n; i++) {
        double place = (i - half) * STEP_PX;
        if (fabs(place) <= reach && steep[i] > steep[i - 1] && steep[i] >= steep[i + 1])
            add_peak(s, place, steep[i]);
    }
}

static int by_value(const void *a, const void *b)
{
    double d = *(const double *)a - *(const double *)b;
    return d > 0 ? 1 : d < 0 ? -1 : 0;
}

static double median(double *v, int n)
{
    qsort(v, (size_t)n, sizeof *v, by_value);
    return n ? v[n / 2] : 0;
}

static double usual_steepness(const struct station *s, int n)
{
    double v[STATIONS_MAX];
    int m = 0;
    for (int i = 0; i < n; i++)
        if (s[i].count)
            v[m++] = s[i].steep[0];
    return fmax(median(v, m), 1e-4);
}

/* Step 2. Stations without candidates are passed over. */
static void choose(struct station *s, int n, double reach)
{
    double score[STATIONS_MAX][PEAKS], usual = usual_steepness(s, n);
    int from[STATIONS_MAX][PEAKS], last = -1, previous[STATIONS_MAX];
    for (int i = 0; i < n; i++) {
        s[i].chosen = -1;
        if (!s[i].count)
            continue;
        previous[i] = last;
        for (int k = 0; k < s[i].count; k++) {
            double best = 0;
            from[i][k] = -1;
            for (int j = 0; last >= 0 && j < s[last].count; j++) {
                double v = score[last][j] - SHIFT_COST * fabs(s[i].place[k] - s[last].place[j]);
                if (from[i][k] < 0 || v > best) {
                    best = v;
                    from[i][k] = j;
                }
            }
            score[i][k] = best + s[i].steep[k] / (s[i].steep[k] + 0.5 * usual) -
                          AWAY_COST * fabs(s[i].place[k]) / reach;
        }
        last = i;
    }
    int at = 0;
    for (int k = 1; last >= 0 && k < s[last].count; k++)
        if (score[last][k] > score[last][at])
            at = k;
    for (int i = last; i >= 0; i = previous[i]) {
        s[i].chosen = at;
        at = from[i][at];
    }
}

static void level(double (*profile)[3], int half, double from, double to, double ret[3])
{
    int a = half + (int)lround(from / STEP_PX), b = half + (int)lround(to / STEP_PX), n = 0;
    memset(ret, 0, 3 * sizeof *ret);
    for (int i = a < b ? a : b; i <= (a < b ? b : a); i++)
        if (i >= 0 && i <= 2 * half) {
            for (int c = 0; c < 3; c++)
                ret[c] += profile[i][c];
            n++;
        }
    for (int c = 0; c < 3; c++)
        ret[c] /= n ? n : 1;
}

/* Step 3: along the straight way from one level's colour to the other's. */
static void locate(double (*profile)[3], int half, struct station *s)
{
    double place = s->place[s->chosen], in[3], out[3], way[3], square = 0, value[PROFILE_MAX];
    level(profile, half, place + LEVEL_NEAR_PX, place + LEVEL_FAR_PX, in);
    level(profile, half, place - LEVEL_NEAR_PX, place - LEVEL_FAR_PX, out);
    for (int c = 0; c < 3; c++) {
        way[c] = in[c] - out[c];
        square += way[c] * way[c];
    }
    s->offset = place;
    s->good = square > 1e-8;
    int middle = half + (int)lround(place / STEP_PX), best = -1;
    int span = (int)(LEVEL_NEAR_PX / STEP_PX);
    for (int i = middle - span; i <= middle + span && s->good; i++) {
        value[i] = -0.5;
        for (int c = 0; c < 3; c++)
            value[i] += (profile[i][c] - out[c]) * way[c] / square;
        if (i > middle - span && value[i - 1] < 0 && value[i] >= 0 &&
            (best < 0 || abs(i - middle) < abs(best - middle)))
            best = i;
    }
    if (best > 0)
        s->offset = (best - half - value[best] / (value[best] - value[best - 1])) * STEP_PX;
}

/* Step 4. */
static bool fit(const struct station *s, int n, int order, struct outline_curve *ret)
{
    size_t m = 0, p = (size_t)order + 1, row = 0;
    for (int i = 0; i < n; i++)
        m += s[i].good;
    if (m < STATIONS_LEAST || m < 2 * p)
        return false;
    gsl_multifit_robust_workspace *w =
        gsl_multifit_robust_alloc(gsl_multifit_robust_bisquare, m, p);
    gsl_matrix *x = gsl_matrix_alloc(m, p), *cov = gsl_matrix_alloc(p, p);
    gsl_vector *y = gsl_vector_alloc(m), *c = gsl_vector_alloc(p);
    bool good = w && x && cov && y && c;
    for (int i = 0; i < n && good; i++)
        if (s[i].good) {
            for (size_t k = 0; k < p; k++)
                gsl_matrix_set(x, row, k, pow(2 * s[i].t - 1, (double)k));
            gsl_vector_set(y, row++, s[i].offset);
        }
    if (good) {
        int status = gsl_multifit_robust(x, y, c, cov, w);
        good = status == GSL_SUCCESS || status == GSL_EMAXITER;
    }
    if (good) {
        gsl_multifit_robust_stats stats = gsl_multifit_robust_statistics(w);
        ret->scatter = stats.sigma_mad;
        ret->sigma = stats.sigma_mad * sqrt((double)p / (double)m);
        for (size_t k = 0; k < p; k++)
            ret->coefficient[k] = gsl_vector_get(c, k);
    }
    gsl_multifit_robust_free(w);
    gsl_matrix_free(x);
    gsl_matrix_free(cov);
    gsl_vector_free(y);
    gsl_vector_free(c);
    return good && gsl_finite(ret->coefficient[0]) && gsl_finite(ret->scatter);
}

static void set_base(struct outline_base *base)
{
    double x = base->b.x - base->a.x, y = base->b.y - base->a.y;
    base->length = hypot(x, y);
    base->dx = x / base->length;
    base->dy = y / base->length;
    base->nx = -base->dy;
    base->ny = base->dx;
}

bool outline_trace(const struct sl_image *look, struct sl_point a, struct sl_point b,
                   const struct outline_trace_how *how, struct outline_curve *ret)
{
    struct outline_curve curve = {.base = {.a = a, .b = b, .reach = how->reach_px},
                                  .from = how->margin,
                                  .to = 1 - how->margin};
    struct station *s = calloc(STATIONS_MAX, sizeof *s);
    double(*profiles)[PROFILE_MAX][3] = malloc(STATIONS_MAX * sizeof *profiles);
    bool good = s && profiles;
    set_base(&curve.base);
    int n = how->stations < STATIONS_MAX ? how->stations : STATIONS_MAX;
    for (int i = 0; i < n && good; i++) {
        s[i].t = how->margin + (1 - 2 * how->margin) * i / (n - 1);
        s[i].x = a.x + s[i].t * (b.x - a.x);
        s[i].y = a.y + s[i].t * (b.y - a.y);
        s[i].half = read_profile(look, &curve.base, &s[i], profiles[i]);
        find_peaks(profiles[i], s[i].half, how->reach_px, &s[i]);
    }
    if (good)
        choose(s, n, how->reach_px);
    for (int i = 0; i < n && good; i++)
        if (s[i].chosen >= 0)
            locate(profiles[i], s[i].half, &s[i]);
    good = good && fit(s, n, how->order, &curve);
    if (good)
        *ret = curve;
    free(s);
    free(profiles);
    return good;
}

struct sl_point outline_curve_at(const struct outline_curve *curve, double t)
{
    /* beyond the stations straight on */
    double u = 2 * fmin(fmax(t, curve->from), curve->to) - 1, v = 2 * t - 1, value = 0, slope = 0;
    for (int k = OUTLINE_ORDER_MAX; k >= 0; k--) {
        slope = slope * u + value;
        value = value * u + curve->coefficient[k];
    }
    value += slope * (v - u);
    const struct outline_base *b = &curve->base;
    return (struct sl_point){b->a.x + t * (b->b.x - b->a.x) + value * b->nx,
                             b->a.y + t * (b->b.y - b->a.y) + value * b->ny};
}
