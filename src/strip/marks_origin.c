// SPDX-License-Identifier: GPL-3.0-or-later
/* Where ink was ruled, as one of several places that it may have been:
 * 1. Every lower edge in the part of the strip where ink is ruled (marks_edge.c) may be the ruled
 *    line's. Clues weigh for it: dye rises much within a line's width; little lies below it, as dye
 *    runs upwards; what stands on it falls again as a line does, and is as wide as one; ticks lie
 *    beside it; lines are ruled at such a height.
 * 2. The line's middle is that of the line that stands on the edge, or, where dye goes on above
 *    without one, half a typical line's width above the edge; clues weigh these two as well.
 * 3. Ticks without an edge, and where lines are commonly ruled, are places too.
 * The weights are those of a conditional logit with a mixture of normal errors (D. McFadden, in P.
 * Zarembka (ed.), Frontiers in Econometrics, 1974, 105-142), fitted to 2,138 drawn strips of two
 * kinds. The origin is the mean of the heaviest group of places that lie within a line's width. Its
 * standard error is that of a normal distribution whose 95 % reach as far as the mixture's: to what
 * else it may be as soon as that is likelier than 1 in 20. */
#include "strip/marks_origin.h"

#include <gsl/gsl_math.h>
#include <math.h>
#include <stddef.h>

#include "strip/marks_edge.h"
#include "strip/marks_end.h"

#define ORIGIN_COMMON 0.15 /* of the length; ruled there by common practice, no source */
#define ORIGIN_SIGMA 0.045
#define ORIGIN_FROM 0.02 /* of the length; no ink line below */
#define ORIGIN_END 0.35  /* and above */
#define LINE_REACH 0.7   /* line widths, from an edge to the line that stands on it */
#define TICK_REACH 0.01  /* of the length; ticks are drawn beside the line, not on it */
#define TICK_SIGMA 0.003
#define WIDE_MOST 1.5   /* times a typical line's: no ink line is wider */
#define GROUP_REACH 0.6 /* line widths; places nearer to each other are one */
#define Z_95 1.959964   /* of the normal distribution */

/* What speaks for an edge: its weight for a whole unit of each. */
enum clue {
    RISES,       /* ln of the rise over what paper alone reaches, at most RISES_MOST */
    STRONG,      /* ln of the rise over the most about there */
    DYE_BELOW,   /* ln of 1 and what lies below anywhere over the rise */
    OFF_PLACE,   /* squares of the way from where lines are ruled, over 2 */
    FALLS,       /* what the amount loses to above the line, of itself */
    LINE_STANDS, /* ln of the line's likeness over what paper alone reaches */
    LINE_WIDE,   /* squares of ln of its width over a typical one's, over 2 */
    TICKED,      /* ticks at both edges */
    TICKED_ONE,  /* at one */
    FLANK,       /* no maximum of the rise */
    HIDDEN,      /* rows beside it are hidden */
    CLUES,
};
static const double weight[CLUES] = {
    [RISES] = 1.5,      [STRONG] = 1.2,       [DYE_BELOW] = -1.9, [OFF_PLACE] = -1.7,
    [FALLS] = 1.1,      [LINE_STANDS] = 0.25, [LINE_WIDE] = -0.3, [TICKED] = 1.2,
    [TICKED_ONE] = 0.8, [FLANK] = -0.95,      [HIDDEN] = -2.5,
};
/* And for the line's own middle rather than half a line's width above the edge. */
#define LINE_WANDERS (-3.0) /* for its wander over WANDER, at most 3 */
#define LINE_OWN 3.0        /* for the part of the amount on it that is its own */
#define RISES_MOST 4.0
#define WANDER 0.003        /* of the length */
#define COMMON_SCORE (-2.7) /* of ORIGIN_COMMON */
#define TICK_SCORE 2.0      /* of ticks without an edge */
#define LINE_SPREAD 0.6     /* of ln of a line's width, as in marks_end.c */
#define EDGE_MIDDLE 0.53    /* line widths above an edge */
#define EDGE_SIGMA 0.35     /* line widths */
#define LINE_SIGMA 0.13     /* line widths, where nothing on it is its own */

/* One of the places where the line may be. */
struct place {
    double v, sigma, width; /* fractions of the length; width: of the line there */
    double score;           /* log likelihood but for a constant */
    double share;           /* probability */
};
enum { PLACES_MAX = 2 * SL_EDGES_MAX + SL_TICKS_MAX + 1 };

static double plus(double x)
{
    return fmax(x, 0);
}

static double between(double x, double low, double high)
{
    return fmin(fmax(x, low), high);
}

/* ln of a over b, both more than about `null`. */
static double log_ratio(double a, double b, double null)
{
    return log((plus(a) + 2 * null) / (plus(b) + 2 * null));
}

static double highest(const struct sl_view *view, double from, double to)
{
    double top = 0;
    for (int row = sl_view_row(view, from); row < sl_view_row(view, to); row++)
        top = fmax(top, view->mean[row]);
    return top;
}

/* The line that stands on an edge, NULL if none does. */
static const struct sl_line *line_on(const struct sl_edge *edge, const struct sl_seen *seen,
                                     double typical)
{
    const struct sl_line *best = NULL;
    double nearest = LINE_REACH * typical;
    for (int i = 0; i < seen->lines; i++) {
        const struct sl_line *line = &seen->line[i];
        double half = between(line->width, 0.5 * typical, 1.5 * typical) / 2;
        double off = fabs(line->v - edge->v - half);
        if (off < nearest)
            nearest = off, best = line;
    }
    return best;
}

static double ticked(const struct sl_seen *seen, double v, bool both)
{
    double best = 0;
    for (int i = 0; i < seen->ticks; i++) {
        double off = (seen->tick[i].v - v) / TICK_REACH;
        if (seen->tick[i].both == both)
            best = fmax(best, exp(-off * off / 2));
    }
    return best;
}

static double falls(const struct sl_edge *edge, double null)
{
    return between((edge->above - edge->beyond) / (fabs(edge->above) + 2 * null), -1, 1);
}

struct about {
    const struct sl_view *view;
    const struct sl_seen *seen;
    double typical; /* an ink line's width, fraction of the length */
    double null;    /* what paper alone reaches */
    double top;     /* the most where lines are ruled */
};

static void line_clues(const struct about *a, const struct sl_line *line, double clue[CLUES])
{
    double wide = log(fmax(line->width, 1e-4) / a->typical) / LINE_SPREAD;
    clue[LINE_STANDS] = fmin(log((plus(line->likeness) + a->null) / a->null), 4);
    clue[LINE_WIDE] = wide * wide / 2;
}

static void edge_clues(const struct about *a, const struct sl_edge *edge,
                       const struct sl_line *line, double clue[CLUES])
{
    double middle = edge->v + a->typical / 2, off = (middle - ORIGIN_COMMON) / ORIGIN_SIGMA;
    clue[RISES] = fmin(log1p(plus(edge->rise) / a->null), RISES_MOST);
    clue[STRONG] = fmax(log_ratio(edge->step, a->top, a->null), -4);
    clue[DYE_BELOW] = log1p(edge->highest_below / (plus(edge->step) + 2 * a->null));
    clue[OFF_PLACE] = off * off / 2;
    clue[FALLS] = falls(edge, a->null);
    clue[TICKED] = ticked(a->seen, middle, true);
    clue[TICKED_ONE] = ticked(a->seen, middle, false);
    clue[FLANK] = !edge->risen;
    clue[HIDDEN] = edge->hidden;
    if (line != NULL)
        line_clues(a, line, clue);
}

/* The part of the amount on a line that is the line's and no dye's that goes on above it. */
static double own_part(const struct about *a, const struct sl_edge *edge,
                       const struct sl_line *line)
{
    double stands = line->contrast / (plus(edge->above) + 2 * a->null);
    return fmax(falls(edge, a->null), between(stands, 0, 1));
}

/* A line that dye swallows is not where it seems to be. */
static double line_sigma(const struct about *a, const struct sl_edge *edge,
                         const struct sl_line *line)
{
    return hypot(line->sigma, LINE_SIGMA * a->typical * (1 - own_part(a, edge, line)));
}

static double weigh(const double clue[CLUES])
{
    double sum = 0;
    for (int k = 0; k < CLUES; k++)
        sum += weight[k] * clue[k];
    return sum;
}

/* ln of the odds that the line's own middle is the origin. */
static double line_odds(const struct about *a, const struct sl_edge *edge,
                        const struct sl_line *line)
{
    return LINE_WANDERS * fmin(line->wander / WANDER, 3) + LINE_OWN * own_part(a, edge, line);
}

static int add_edge(const struct about *a, const struct sl_edge *edge, struct place *ret)
{
    const struct sl_line *line = line_on(edge, a->seen, a->typical);
    if (edge->hidden && line == NULL)
        return 0;
    double clue[CLUES] = {0};
    edge_clues(a, edge, line, clue);
    double score = weigh(clue);
    double width = line != NULL ? fmin(line->width, WIDE_MOST * a->typical) : a->typical;
    ret[0] = (struct place){.v = edge->v + EDGE_MIDDLE * a->typical,
                            .sigma = EDGE_SIGMA * a->typical,
                            .width = width,
                            .score = score};
    if (line == NULL)
        return 1;
    double odds = line_odds(a, edge, line);
    ret[0].score -= log1p(exp(odds));
    ret[1] = (struct place){.v = line->v,
                            .sigma = line_sigma(a, edge, line),
                            .width = width,
                            .score = score - log1p(exp(-odds))};
    return 2;
}

static int add_ticks(const struct about *a, struct place *ret)
{
    int count = 0;
    for (int i = 0; i < a->seen->ticks; i++) {
        const struct sl_tick *tick = &a->seen->tick[i];
        if (tick->both && tick->v < ORIGIN_END)
            ret[count++] = (struct place){.v = tick->v,
                                          .sigma = hypot(tick->sigma, TICK_SIGMA),
                                          .width = a->typical,
                                          .score = TICK_SCORE};
    }
    return count;
}

static void share_out(struct place *place, int count)
{
    double most = -INFINITY, sum = 0;
    for (int i = 0; i < count; i++)
        most = fmax(most, place[i].score);
    for (int i = 0; i < count; i++)
        sum += place[i].share = exp(place[i].score - most);
    for (int i = 0; i < count; i++)
        place[i].share /= sum;
}

static double group_share(const struct place *place, int count, double v, double reach)
{
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += fabs(place[i].v - v) < reach ? place[i].share : 0;
    return sum;
}

/* The heaviest group of places within `reach` of one of them, without those within it of `but`. */
static const struct place *heaviest(const struct place *place, int count, double reach,
                                    const struct place *but, double *ret_share)
{
    const struct place *middle = NULL;
    *ret_share = 0;
    for (int i = 0; i < count; i++) {
        double here = group_share(place, count, place[i].v, reach);
        if (but != NULL && fabs(place[i].v - but->v) < 2 * reach)
            continue;
        if (here > *ret_share)
            *ret_share = here, middle = &place[i];
    }
    return middle;
}

static double normal_below(double z)
{
    return erfc(-z * M_SQRT1_2) / 2;
}

/* How much of the mixture lies within r of v. */
static double mass_within(const struct place *place, int count, double v, double r)
{
    double sum = 0;
    for (int i = 0; i < count; i++) {
        double off = place[i].v - v, sigma = place[i].sigma;
        sum +=
            place[i].share * (normal_below((r - off) / sigma) - normal_below((-r - off) / sigma));
    }
    return sum;
}

static double mixture_sigma(const struct place *place, int count, double v)
{
    double low = 0, high = 1;
    for (int round = 0; round < 40; round++) {
        double r = (low + high) / 2;
        if (mass_within(place, count, v, r) < 0.95)
            low = r;
        else
            high = r;
    }
    return high / Z_95;
}

static struct sl_origin settle(const struct place *place, int count, double reach)
{
    double all, other_share, share = 0, sum = 0, likeliest = 0;
    const struct place *middle = heaviest(place, count, reach, NULL, &all);
    const struct place *other = heaviest(place, count, reach, middle, &other_share);
    struct sl_origin ret = {.elsewhere = 1 - all};
    for (int i = 0; i < count; i++) {
        if (fabs(place[i].v - middle->v) >= reach)
            continue;
        share += place[i].share;
        sum += place[i].share * place[i].v;
        if (place[i].share > likeliest)
            likeliest = place[i].share, ret.line_width = place[i].width;
    }
    ret.v = sum / share;
    ret.sigma = mixture_sigma(place, count, ret.v);
    ret.other = other != NULL ? other->v : ret.v;
    return ret;
}

bool sl_origin_find(const struct sl_view *view, const struct sl_seen *seen, struct sl_origin *ret)
{
    struct sl_edge edges[SL_EDGES_MAX];
    struct place places[PLACES_MAX];
    struct about a = {.view = view,
                      .seen = seen,
                      .typical = SL_LINE_TYPICAL * view->width_part,
                      .null = sl_end_null(view),
                      .top = highest(view, 2 * ORIGIN_FROM, ORIGIN_END)};
    int count =
        sl_edges_find(view, seen->line, seen->lines, a.typical, ORIGIN_FROM, ORIGIN_END, edges);
    if (count < 0)
        return false;
    places[0] = (struct place){
        .v = ORIGIN_COMMON, .sigma = ORIGIN_SIGMA, .width = a.typical, .score = COMMON_SCORE};
    int n = 1;
    for (int i = 0; i < count; i++)
        n += add_edge(&a, &edges[i], &places[n]);
    n += add_ticks(&a, &places[n]);
    share_out(places, n);
    *ret = settle(places, n, GROUP_REACH * a.typical);
    return true;
}
