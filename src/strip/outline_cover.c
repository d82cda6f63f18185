// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the paper ends under tape. What was found is where the tape begins; but tape lets some of
 * the light through, so that paper under it shows against what lies under the tape beside it.
 * 1. The line that was found goes on beyond both sides, and beyond it lies the same thing on the
 *    strip and beside it, which is neither paper nor table: the tape.
 * 2. Row by row the difference between the strip's columns and those beside a side, which shading
 *    of the tape does not change. It falls to nothing at the paper's end: the place of a step in
 *    the mean, by least squares.
 * 3. It counts only where it is far above what rows differ by, and has paper's sense. */
#include <gsl/gsl_statistics.h>
#include <math.h>

#include "strip/outline_field.h"

enum { MARGIN_COLUMNS = 3 };             /* that blur and shadow touch */
static const double START = 0.08;        /* widths beyond the tape's edge */
static const double AFTER = 0.12;        /* widths of tape that must be seen beyond the end */
static const double MOST = 1.0;          /* widths */
static const double TAPE_VARIES = 0.045; /* root of light, standard deviation */
static const double TAPE_UNLIKE = 0.06;  /* root of light, from paper and from table */
static const double TABLE_MOST = 0.1;    /* of the rows along the strip */
static const double STEP_LEAST = 0.006;  /* root of light */
static const double STEP_SIGMAS = 4;     /* of a row's scatter */
static const double REST_MOST = 0.5;     /* of the step, that remains beyond it */

static void strip_colour(const struct outline_field *r, int row, float ret[FIND_PLANES])
{
    outline_field_mean(r, row, FIELD_BESIDE + MARGIN_COLUMNS,
                       FIELD_BESIDE + FIELD_COLUMNS - 1 - MARGIN_COLUMNS, ret);
}

static void beside_colour(const struct outline_field *r, int row, bool right,
                          float ret[FIND_PLANES])
{
    int from = right ? FIELD_BESIDE + FIELD_COLUMNS : 0;
    outline_field_mean(r, row, from, from + FIELD_BESIDE - 1, ret);
}

enum beside { LEFT, RIGHT, BOTH, WAYS };

/* Step 2: lightness of the strip less that beside it; light that falls off across the tape is taken
 * out where both sides show the tape, but beside one another strip may lie under it. */
static int differences(const struct outline_field *r, int from, enum beside way,
                       double ret[FIELD_ROWS_MAX])
{
    int n = 0, most = (int)((MOST + AFTER) * r->width / r->step);
    for (int i = from; i < r->rows && n < most; i++) {
        float on[FIND_PLANES], left[FIND_PLANES], right[FIND_PLANES];
        bool inside[] = {outline_field_cell(r, i, 0)->inside,
                         outline_field_cell(r, i, FIELD_ALL - 1)->inside};
        if ((way != RIGHT && !inside[0]) || (way != LEFT && !inside[1]))
            break;
        strip_colour(r, i, on);
        beside_colour(r, i, false, left);
        beside_colour(r, i, true, right);
        double of_left = way == LEFT ? 1 : way == RIGHT ? 0 : 0.5;
        ret[n++] = (double)on[0] - of_left * (double)left[0] - (1 - of_left) * (double)right[0];
    }
    return n;
}

/* How many of the rows along the strip show at this side what lies beyond its end. */
static double table_like(const struct outline_field *r, bool right, const float colour[FIND_PLANES])
{
    int alike = 0, last = r->at - (int)(START * r->width / r->step);
    for (int i = 0; i < last; i++) {
        float table[FIND_PLANES];
        beside_colour(r, i, right, table);
        alike += find_distance(table, colour) < TAPE_UNLIKE;
    }
    return (double)alike / fmax(last, 1);
}

/* Step 1: whether tape lies on the rows, beside the strip too. */
static bool is_tape(const struct outline_field *r, int from, int to, bool right)
{
    double light[FIELD_ROWS_MAX];
    float on[FIND_PLANES], off[FIND_PLANES], tape[FIND_PLANES] = {0};
    double unlike_paper = 0, unlike = 0;
    int n = 0;
    for (int i = from; i <= to && i < r->rows; i++, n++) {
        strip_colour(r, i, on);
        beside_colour(r, i, right, off);
        light[n] = (double)off[0];
        for (int c = 0; c < FIND_PLANES; c++)
            tape[c] += off[c] / (float)(to - from + 1);
        unlike_paper += find_distance_from(on, r->paper);
        unlike += find_distance(on, off);
    }
    return n > 1 && gsl_stats_sd(light, 1, (size_t)n) < TAPE_VARIES &&
           unlike_paper > n * TAPE_UNLIKE && unlike < 0.5 * unlike_paper &&
           table_like(r, right, tape) < TABLE_MOST;
}

struct step {
    int row;
    double size, rest, scatter;
};

/* Steps 2 and 3: the step that leaves least of the sum of squares. */
static struct step best_step(const double *d, int n, int after)
{
    struct step best = {0, 0, 0, HUGE_VAL};
    for (int k = 4; k + after <= n; k++) {
        double first = gsl_stats_mean(d, 1, (size_t)k);
        double second = gsl_stats_mean(d + k, 1, (size_t)after);
        double square = gsl_stats_tss_m(d, 1, (size_t)k, first) +
                        gsl_stats_tss_m(d + k, 1, (size_t)after, second);
        double scatter = sqrt(square / (k + after - 2));
        double worth = (first - second) / (scatter + STEP_LEAST / STEP_SIGMAS);
        if (worth > best.size / (best.scatter + STEP_LEAST / STEP_SIGMAS))
            best = (struct step){k, first - second, second, scatter};
    }
    return best;
}

double outline_under_cover(const struct outline_field *r, double slope)
{
    int start = r->at + (int)((fabs(slope) / 2 + START) * r->width / r->step);
    int after = (int)fmax(6, AFTER * r->width / r->step);
    double d[FIELD_ROWS_MAX], most = 0, out = 0;
    for (int way = 0; way < WAYS; way++) {
        struct step s = best_step(d, differences(r, start, (enum beside)way, d), after);
        int last = start + s.row + after - 1;
        double sure = s.size / (s.scatter + STEP_LEAST / STEP_SIGMAS);
        if (s.row > 0 && s.size > fmax(STEP_LEAST, STEP_SIGMAS * s.scatter) && sure > most &&
            fabs(s.rest) < REST_MOST * s.size && (way == RIGHT || is_tape(r, start, last, false)) &&
            (way == LEFT || is_tape(r, start, last, true))) {
            most = sure;
            out = (start + s.row - 0.5 - r->at) * r->step;
        }
    }
    return out;
}
