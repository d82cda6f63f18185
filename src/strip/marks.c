// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Light is learnt and divided out (light.c); writing is flagged.
 * 2. Lines are looked for all along the strip; they and the bands tell which end was in the water,
 *    unless that was set by hand. The sheet and the outline are turned where needed.
 * 3. The origin is looked for, and how sure it is (marks_origin.c).
 * 4. The front is looked for above it.
 * 5. A pencil line on the ink line is taken out (marks_pencil.c).
 * Values set by hand are checked against each other first and are kept to the end. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "strip/light.h"
#include "strip/marks_end.h"
#include "strip/marks_front.h"
#include "strip/marks_line.h"
#include "strip/marks_origin.h"
#include "strip/marks_outside.h"
#include "strip/marks_paper.h"
#include "strip/marks_pencil.h"
#include "strip/marks_side.h"
#include "strip/marks_view.h"
#include "strip/marks_writing.h"

static const char where[] = "strip/marks";

#define PAPER_R_MIN 0.02 /* limits for one set by hand */
#define PAPER_R_MAX 1.0
#define PAPER_SIGMA 0.03 /* of one that is judged from its colour; common practice, no source */
#define ENDS_OUT 0.03    /* of the length, where no line is looked for */
#define RUN_LEAST 0.02   /* of the length, from origin to front */
#define RUN_COMMON 0.4
#define ORIGIN_COMMON 0.15 /* as in marks_origin.c */
#define CUT_SIGMA 0.005    /* of strips cut by a machine, lens and noise included */
#define BENT_SIGMA 10.0    /* more for edges that bend, on drawn strips of both kinds */
#define BENT_MOST 0.06
#define GIVEN_SIGMA                                                                                \
    0.015 /* of corners set by hand, which show no bend: drawn strips of both kinds */
#define UNSURE_SIGMA 0.01 /* of the length, from here on the user is told */
#define PLAIN_DOUBT 0.05  /* orientation doubt, up to here a value set by hand is objected to */
#define PLAIN_OFF 1.5     /* line widths: what counts as retained reaches no further */
#define DOUBT_TOLD 0.1    /* orientation doubt, from here on the user is told */
#define CUT_DOUBT                                                                                  \
    0.02              /* orientation doubt of a cut strip, from here on its origin is not known    \
                       */
#define CUT_FRONT 0.9 /* of the length, from here on a cut strip's front is not seen */
#define CUT_FRONT_SIGMA 0.1 /* fronts stand up to a third of the length below the upper end */
#define PENCIL_WIDTH                                                                               \
    0.03 /* of the strip's width: what is narrower was the pencil's, not the ink's */
#define BLANK_AMOUNT 0.12 /* -ln R summed: deltaE of about 3 */
#define UNEVEN_TOLD 1.5   /* brightest to darkest paper */
#define CLEAN_TOLD 0.1    /* part of the strip that must be clean paper */
#define CLIPPED_TOLD 0.02 /* part of the cells */

static sl_code check_fraction(const char *name, double value, struct sl_status *status)
{
    if (isnan(value) || (value >= 0 && value <= 1))
        return SL_OK;
    return sl_status_set(status, SL_E_RANGE, where,
                         "Give it as a fraction of the strip's length from the lower edge.",
                         "The %s was set to %g; it must lie between 0 and 1.", name, value);
}

static sl_code check_hints(const struct sl_strip_hints *hints, struct sl_status *status)
{
    sl_code code = check_fraction("origin", hints->origin, status);
    if (code == SL_OK)
        code = check_fraction("front", hints->front, status);
    if (code != SL_OK)
        return code;
    if (isfinite(hints->origin) && isfinite(hints->front) && hints->origin >= hints->front)
        return sl_status_set(status, SL_E_ORIGIN_ABOVE_FRONT, where,
                             "Count both from the end that was in the water.",
                             "The origin (%g) was set above the front (%g).", hints->origin,
                             hints->front);
    for (int c = 0; c < 3; c++) {
        double r = hints->paper_reflectance[c];
        if (isnan(r) || (r >= PAPER_R_MIN && r <= PAPER_R_MAX))
            continue;
        return sl_status_set(
            status, SL_E_RANGE, where, "White filter paper has about 0.85.",
            "The paper's reflectance was set to %g; it must lie between %g and %g.", r, PAPER_R_MIN,
            PAPER_R_MAX);
    }
    return SL_OK;
}

static void swap_cells(struct sl_sheet *sheet, size_t a, size_t b)
{
    for (size_t c = 0; c < 3; c++) {
        float kept = sheet->rgb[3 * a + c];
        sheet->rgb[3 * a + c] = sheet->rgb[3 * b + c];
        sheet->rgb[3 * b + c] = kept;
    }
    uint8_t flags = sheet->flags[a];
    sheet->flags[a] = sheet->flags[b];
    sheet->flags[b] = flags;
}

static void turn_sheet(struct sl_sheet *sheet)
{
    size_t cells = (size_t)sheet->rows * (size_t)sheet->columns, rows = (size_t)sheet->rows;
    for (size_t i = 0; i < cells / 2; i++)
        swap_cells(sheet, i, cells - 1 - i);
    for (size_t row = 0; row < rows / 2; row++)
        for (size_t c = 0; c < 3; c++) {
            float kept = sheet->paper[3 * row + c];
            sheet->paper[3 * row + c] = sheet->paper[3 * (rows - 1 - row) + c];
            sheet->paper[3 * (rows - 1 - row) + c] = kept;
        }
}

static void turn_outline(struct sl_outline *outline)
{
    struct sl_outline old = *outline;
    for (int i = 0; i < 4; i++)
        outline->corner_px[i] = old.corner_px[(i + 2) % 4];
    for (int k = 0; k < SL_EDGE_POINTS; k++) {
        outline->left_px[k] = old.right_px[SL_EDGE_POINTS - 1 - k];
        outline->right_px[k] = old.left_px[SL_EDGE_POINTS - 1 - k];
    }
    outline->taper = -old.taper;
    outline->cut_lower = old.cut_upper;
    outline->cut_upper = old.cut_lower;
    outline->hidden_from = 1 - old.hidden_to;
    outline->hidden_to = 1 - old.hidden_from;
}

/* A lamp's light changes over the whole strip, a shadow's edge within a part of it. */
static double light_step(const struct sl_light *light)
{
    double most = 0;
    int part = light->rows / 10;
    for (int row = part; row < light->rows; row++)
        most = fmax(most, fabs(light->log_white[row][1] - light->log_white[row - part][1]));
    return exp(most);
}

static void write_light(const struct sl_light *light, const struct sl_sheet *sheet,
                        struct sl_marks *marks, struct sl_warnings *warnings)
{
    double low = INFINITY, high = -INFINITY;
    for (int row = 0; row < light->rows; row++) {
        low = fmin(low, light->log_white[row][1]);
        high = fmax(high, light->log_white[row][1]);
    }
    for (int c = 0; c < 3; c++)
        marks->paper_rgb[c] = exp(light->log_white[light->rows / 2][c]);
    marks->white_level_se = light->level_se;
    memcpy(marks->white_colour_se, light->colour_se, sizeof marks->white_colour_se);
    marks->light_ratio = exp(high - low);
    marks->light_step = light_step(light);
    if (marks->light_ratio > UNEVEN_TOLD)
        sl_warn(
            warnings, SL_W_UNEVEN_LIGHT, where,
            "Light the strip from both sides and keep shadows off it.",
            "The light on the strip is uneven, %.1f times as bright at one place as at another.",
            marks->light_ratio);
    if (light->clean_part < CLEAN_TOLD)
        sl_warn(warnings, SL_W_NO_CLEAN_PAPER, where,
                "Leave clean paper above the front and beside the ink.",
                "Only %.0f %% of the strip is clean paper, so its white is not well known.",
                100 * light->clean_part);
    size_t cells = (size_t)sheet->rows * (size_t)sheet->columns, clipped = 0;
    for (size_t i = 0; i < cells; i++)
        clipped += (sheet->flags[i] & SL_CELL_CLIPPED) != 0;
    if ((double)clipped > CLIPPED_TOLD * (double)cells)
        sl_warn(warnings, SL_W_CLIPPED, where, "Photograph it again with less exposure.",
                "%.0f %% of the strip is overexposed: pale colours there are too pale.",
                100 * (double)clipped / (double)cells);
}

static void write_paper(const struct sl_light *light, const struct sl_strip_hints *hints,
                        struct sl_marks *marks, struct sl_warnings *warnings)
{
    double white[3] = {0, 0, 0};
    for (int row = 0; row < light->rows; row++)
        for (int c = 0; c < 3; c++)
            white[c] = fmax(white[c], exp(light->log_white[row][c]));
    bool brown = sl_paper_reflectance(white, marks->paper_reflectance);
    marks->paper_sigma = PAPER_SIGMA;
    for (int c = 0; c < 3; c++) {
        if (!isfinite(hints->paper_reflectance[c]))
            continue;
        marks->paper_reflectance[c] = hints->paper_reflectance[c];
        marks->paper_sigma = 0;
        brown = false;
    }
    if (brown)
        sl_warn(warnings, SL_W_COLOURED_PAPER, where,
                "If it is white paper under warm light, set --paper-reflectance 0.85.",
                "The paper is taken for brown paper with a reflectance of %.2f, %.2f, %.2f.",
                marks->paper_reflectance[0], marks->paper_reflectance[1],
                marks->paper_reflectance[2]);
}

static bool is_blank(const struct sl_view *view)
{
    /* what is thicker than a water mark: the mean over a fiftieth of the length */
    int half = view->rows / 100;
    double limit = fmax(BLANK_AMOUNT, 4 * view->noise_mean);
    for (int row = view->rows / 25; row < view->rows - view->rows / 25; row++) {
        double sum = 0;
        int n = 0;
        for (int r = row - half; r <= row + half; r++) {
            if (r < 0 || r >= view->rows)
                continue;
            sum += view->mean[r];
            n++;
        }
        if (sum / n > limit)
            return false;
    }
    return true;
}

static void turn_seen(struct sl_seen *seen)
{
    struct sl_seen old = *seen;
    for (int i = 0; i < old.lines; i++) {
        seen->line[i] = old.line[old.lines - 1 - i];
        seen->line[i].v = 1 - seen->line[i].v;
    }
    for (int i = 0; i < old.ticks; i++) {
        seen->tick[i] = old.tick[old.ticks - 1 - i];
        seen->tick[i].v = 1 - seen->tick[i].v;
    }
    seen->writing = -old.writing;
}

static void write_front(const struct sl_front *front, const struct sl_strip_hints *hints,
                        struct sl_marks *marks)
{
    marks->front = front->v;
    marks->front_sigma = front->sigma;
    marks->front_seen = front->seen;
    marks->front_slant = front->slant;
    marks->front_spread = front->spread;
    marks->front_doubtful = front->doubtful;
    if (!isfinite(hints->front))
        return;
    marks->front = hints->front;
    marks->front_sigma = 0;
    marks->front_seen = SL_FRONT_GIVEN;
    marks->front_doubtful = false;
    marks->given_front = true;
}

/* A found mark must not stand on the wrong side of one that was set by hand. */
static void keep_order(struct sl_marks *marks)
{
    if (marks->front - marks->origin >= RUN_LEAST)
        return;
    if (!marks->given_front) {
        marks->front = fmin(marks->origin + RUN_COMMON, (1 + marks->origin) / 2);
        marks->front_sigma = (marks->front - marks->origin) / 2;
        marks->front_seen = SL_FRONT_NOT_SEEN;
    } else if (!marks->given_origin) {
        marks->origin = fmin(ORIGIN_COMMON, marks->front / 2);
        marks->origin_sigma = marks->origin / 2;
    }
}

/* What the photo plainly says against values set by hand; these are kept all the same. */
struct objections {
    bool end;      /* the other end was in the water */
    double origin; /* where the ink line was found; NAN: no objection */
};

static void warn_objections(const struct objections *objections, const struct sl_marks *marks,
                            struct sl_warnings *warnings)
{
    if (marks->blank)
        return;
    if (objections->end)
        sl_warn(warnings, SL_W_ORIENTATION, where, "Look, and set --upside-down if it is wrong.",
                "The strip's own marks and bands say that its other end was in the water.");
    if (isfinite(objections->origin))
        sl_warn(warnings, SL_W_ORIGIN_UNSURE, where,
                "Look, and leave the origin to be found if it is wrong.",
                "The ink line seems to lie at %.3f of the length, but the origin was set by hand "
                "at %.3f.",
                objections->origin, marks->origin);
}

static void warn_marks(const struct sl_marks *marks, struct sl_warnings *warnings)
{
    if (marks->blank) {
        sl_warn(warnings, SL_W_BLANK, where, "", "There is no ink on the strip.");
        return;
    }
    if (marks->origin_outside)
        sl_warn(warnings, SL_W_CUT_OFF, where,
                "Take the photo again with the whole strip in the frame, or set --origin.",
                "The photo's frame cuts this strip: the ink line may lie outside the photo, so no "
                "bands are given.");
    if (marks->orientation_doubt > DOUBT_TOLD)
        sl_warn(warnings, SL_W_ORIENTATION, where, "Look, and set --upside-down if it is wrong.",
                "It is not certain which end of the strip was in the water.");
    if (!marks->given_origin && !marks->origin_outside && marks->origin_sigma > UNSURE_SIGMA)
        sl_warn(warnings, SL_W_ORIGIN_UNSURE, where,
                "Look, and set it with --origin if it is wrong; next time draw a pencil tick at "
                "each edge beside the ink line.",
                "The ink line can't be seen clearly; the origin is taken at %.3f of the length.",
                marks->origin);
    if (marks->front_seen == SL_FRONT_NOT_SEEN)
        sl_warn(warnings, SL_W_FRONT_UNSEEN, where,
                "Mark the front with a pencil tick while the paper is wet, or set it with --front.",
                "Nothing shows where the water's front stopped; it is taken at %.2f of the length.",
                marks->front);
    else if (marks->front_doubtful)
        sl_warn(warnings, SL_W_FRONT_UNSEEN, where,
                "Look, and set it with --front if it is wrong; next time mark it with a pencil "
                "tick while the paper is wet.",
                "It is not certain that the water's front stopped at %.2f of the length: what is "
                "seen there may be the end of a band.",
                marks->front);
}

static void warn_pencil(const struct sl_pencil *pencil, struct sl_warnings *warnings)
{
    if (pencil->kind == SL_PENCIL_CLEAR)
        sl_warn(warnings, SL_W_PENCIL, where,
                "Mark the line's place by short ticks at the very edges only.",
                "A pencil mark lies on the ink line: it was taken out, and what it may hide or add "
                "is within the intervals.");
    else if (pencil->kind == SL_PENCIL_IN_DOUBT)
        sl_warn(warnings, SL_W_PENCIL, where,
                "Mark the line's place by short ticks at the very edges only.",
                "A narrow grey line lies on the ink line; whether it is pencil or ink can't be "
                "told, what it may add is within the intervals.");
}

/* A strip cut a part k wider at one end looks as if seen at a slant; a place v is then off by
 * k v (1 - v) (the homography's cross ratio, to first order). Edges that are not straight tell of
 * paper that was cut by hand, or that curls towards the camera and away: more of the same. */
static double stretch_sigma(const struct sl_outline *outline)
{
    if (outline->given)
        return GIVEN_SIGMA;
    return hypot(CUT_SIGMA, fmin(BENT_SIGMA * outline->bend, BENT_MOST));
}

static double stretched(double sigma, double v, const struct sl_marks *marks)
{
    return hypot(sigma, marks->stretch_sigma * v * (1 - v));
}

/* Dye runs upwards from a line near the lower end; without that end any band can look like it. */
static bool is_origin_outside(const struct sl_outline *outline, const struct sl_marks *marks)
{
    if (marks->given_origin)
        return false;
    return outline->cut_lower || (outline->cut_off && marks->orientation_doubt > CUT_DOUBT);
}

/* What ends near a cut upper end may go on beyond it. */
static void doubt_cut_front(const struct sl_outline *outline, struct sl_marks *marks)
{
    if (!outline->cut_upper || marks->given_front || marks->front < CUT_FRONT)
        return;
    marks->front_seen = SL_FRONT_NOT_SEEN;
    marks->front_sigma = fmax(marks->front_sigma, CUT_FRONT_SIGMA);
}

static sl_code no_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                         "There is not enough memory to look for marks.");
}

static sl_code look(const struct sl_sheet *sheet, const struct sl_view *view, struct sl_seen *seen,
                    struct sl_status *status)
{
    seen->lines = sl_lines_find(view, ENDS_OUT, 1 - ENDS_OUT, seen->line);
    seen->ticks = sl_ticks_find(sheet, seen->tick);
    if (seen->lines < 0 || seen->ticks < 0)
        return no_memory(status);
    seen->writing = sl_writing_up(sheet);
    for (int i = 0; i < seen->lines; i++)
        sl_line_refine(view, &seen->line[i]);
    return SL_OK;
}

/* A mark set by hand on the wrong side of one that was plainly found: one of them is wrong, and
 * nothing could be measured between them. */
static sl_code check_order(const struct sl_strip_hints *hints, const struct sl_origin *origin,
                           const struct sl_front *front, const struct sl_marks *marks,
                           struct sl_status *status)
{
    if (isfinite(hints->origin) && isnan(hints->front) && front->seen != SL_FRONT_NOT_SEEN &&
        front->v - hints->origin < RUN_LEAST)
        return sl_status_set(status, SL_E_ORIGIN_ABOVE_FRONT, where,
                             "Set the front as well, or another origin.",
                             "The origin was set to %g, and the front was found at %.2f: the "
                             "origin must lie below it",
                             hints->origin, front->v);
    if (isfinite(hints->front) && isnan(hints->origin) && origin->sigma < UNSURE_SIGMA &&
        hints->front - origin->v < RUN_LEAST)
        return sl_status_set(status, SL_E_ORIGIN_ABOVE_FRONT, where,
                             "Set the origin as well, or another front.",
                             "The front was set to %g, and the ink line was found at %.2f: the "
                             "front must lie above it",
                             hints->front, origin->v);
    if (marks->front - marks->origin < RUN_LEAST)
        return sl_status_set(status, SL_E_ORIGIN_ABOVE_FRONT, where,
                             "Count both from the end that was in the water.",
                             "The origin (%.3f) and the front (%.3f) leave no run between them",
                             marks->origin, marks->front);
    return SL_OK;
}

/* What a sheet shows, right way up: all that does not hang on an origin or front set by hand. */
struct sl_sight {
    struct sl_sheet sheet; /* empty where the caller's own is worked on */
    struct sl_light light;
    struct sl_view view;
    struct sl_seen seen;
    bool turned, objects; /* to the end that was set by hand */
    double orientation_doubt;
    struct sl_origin origin;
    struct sl_front front; /* above that origin */
    bool blank;
};

static void sight_finish(struct sl_sight *sight)
{
    sl_sheet_finish(&sight->sheet);
    sl_light_finish(&sight->light);
    sl_view_finish(&sight->view);
}

static void find_end(struct sl_sight *sight, int upside_down)
{
    double odds = sl_end_log_odds(&sight->view, &sight->seen);
    sight->turned = odds < 0;
    sight->orientation_doubt = 1 / (1 + exp(fabs(odds)));
    if (upside_down < 0)
        return;
    bool found = sight->turned;
    sight->turned = upside_down != 0;
    sight->objects = sight->turned != found && sight->orientation_doubt < PLAIN_DOUBT;
    sight->orientation_doubt = 0;
}

static sl_code remove_light(struct sl_sight *sight, struct sl_sheet *sheet,
                            struct sl_status *status)
{
    if (!sl_light_learn(&sight->light, sheet))
        return sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                             "There is not enough memory to learn the light.");
    sl_light_divide(&sight->light, sheet);
    if (!sl_side_even(sheet, &sight->light) || !sl_outside_flag(sheet) || !sl_writing_flag(sheet))
        return no_memory(status);
    return SL_OK;
}

/* Removes the light from the sheet and turns it where needed. */
static sl_code see(struct sl_sight *sight, struct sl_sheet *sheet, int upside_down,
                   struct sl_status *status)
{
    struct sl_view *view = &sight->view;
    sl_code code = remove_light(sight, sheet, status);
    if (code == SL_OK && !sl_view_init(view, sheet))
        code = no_memory(status);
    if (code == SL_OK)
        code = look(sheet, view, &sight->seen, status);
    if (code != SL_OK)
        return code;
    find_end(sight, upside_down);
    if (sight->turned) {
        turn_sheet(sheet);
        sl_view_turn(view);
        turn_seen(&sight->seen);
    }
    if (!sl_origin_find(view, &sight->seen, &sight->origin) ||
        !sl_front_find(view, &sight->seen, sight->origin.v, &sight->front))
        return no_memory(status);
    sight->blank = is_blank(view);
    return SL_OK;
}

static sl_code mark(const struct sl_sight *sight, const struct sl_outline *outline,
                    const struct sl_strip_hints *hints, struct sl_marks *marks,
                    struct objections *objections, struct sl_status *status)
{
    struct sl_origin origin = sight->origin;
    struct sl_front front = sight->front;
    marks->turned = sight->turned;
    marks->orientation_doubt = sight->orientation_doubt;
    objections->end = sight->objects;
    marks->origin = origin.v;
    marks->stretch_sigma = stretch_sigma(outline);
    marks->origin_sigma = stretched(origin.sigma, origin.v, marks);
    marks->origin_other = origin.other;
    marks->origin_elsewhere = origin.elsewhere;
    marks->line_width = origin.line_width;
    if (isfinite(hints->origin)) {
        marks->origin = hints->origin;
        marks->origin_sigma = marks->origin_elsewhere = 0;
        marks->given_origin = true;
        if (origin.sigma < UNSURE_SIGMA &&
            fabs(origin.v - hints->origin) > PLAIN_OFF * origin.line_width)
            objections->origin = origin.v;
        if (!sl_front_find(&sight->view, &sight->seen, marks->origin, &front))
            return no_memory(status);
    }
    front.sigma = stretched(front.sigma, front.v, marks);
    write_front(&front, hints, marks);
    keep_order(marks);
    marks->blank = sight->blank;
    return check_order(hints, &origin, &sight->front, marks, status);
}

static sl_code take_pencil_out(const struct sl_sight *sight, struct sl_sheet *sheet,
                               struct sl_marks *marks, struct sl_warnings *warnings,
                               struct sl_status *status)
{
    const struct sl_view *view = &sight->view;
    struct sl_pencil pencil;
    if (!sl_pencil_find(view, marks->origin, &pencil))
        return sl_status_set(status, SL_E_MEMORY, where, "Close other programs.",
                             "There is not enough memory to look for pencil on the ink line.");
    sl_pencil_take_out(&pencil, view, sheet);
    if (pencil.kind == SL_PENCIL_CLEAR && marks->line_width < PENCIL_WIDTH * view->width_part)
        marks->line_width = SL_LINE_TYPICAL * view->width_part;
    warn_pencil(&pencil, warnings);
    return SL_OK;
}

/* `sheet`: as it was seen. */
static sl_code read_marks(const struct sl_sight *sight, struct sl_sheet *sheet,
                          struct sl_outline *outline, const struct sl_strip_hints *hints,
                          struct sl_marks *ret, struct sl_warnings *warnings,
                          struct sl_status *status)
{
    struct sl_marks marks = {0};
    struct objections objections = {.origin = NAN};
    sl_code code = mark(sight, outline, hints, &marks, &objections, status);
    if (code == SL_OK)
        code = take_pencil_out(sight, sheet, &marks, warnings, status);
    if (code != SL_OK)
        return code;
    if (marks.turned)
        turn_outline(outline);
    marks.origin_outside = is_origin_outside(outline, &marks);
    doubt_cut_front(outline, &marks);
    write_light(&sight->light, sheet, &marks, warnings);
    write_paper(&sight->light, hints, &marks, warnings);
    warn_marks(&marks, warnings);
    warn_objections(&objections, &marks, warnings);
    *ret = marks;
    return SL_OK;
}

sl_code sl_sheet_read_marks(struct sl_sheet *sheet, struct sl_outline *outline,
                            const struct sl_strip_hints *hints, struct sl_marks *ret,
                            struct sl_warnings *warnings, struct sl_status *status)
{
    struct sl_sight sight = {0};
    sl_code code = check_hints(hints, status);
    if (code == SL_OK)
        code = see(&sight, sheet, hints->upside_down, status);
    if (code == SL_OK)
        code = read_marks(&sight, sheet, outline, hints, ret, warnings, status);
    sight_finish(&sight);
    return code;
}

sl_code sl_sight_make(struct sl_sheet *sheet, int upside_down, struct sl_sight **ret,
                      struct sl_status *status)
{
    struct sl_sight *sight = calloc(1, sizeof *sight);
    if (!sight) {
        sl_sheet_finish(sheet);
        return no_memory(status);
    }
    sight->sheet = *sheet;
    *sheet = (struct sl_sheet){0};
    sl_code code = see(sight, &sight->sheet, upside_down, status);
    if (code == SL_OK)
        *ret = sight;
    else
        sl_sight_destroy(sight);
    return code;
}

const struct sl_sheet *sl_sight_sheet(const struct sl_sight *sight)
{
    return &sight->sheet;
}

sl_code sl_sight_read_marks(const struct sl_sight *sight, struct sl_sheet *sheet,
                            struct sl_outline *outline, const struct sl_strip_hints *hints,
                            struct sl_marks *ret, struct sl_warnings *warnings,
                            struct sl_status *status)
{
    sl_code code = check_hints(hints, status);
    return code == SL_OK ? read_marks(sight, sheet, outline, hints, ret, warnings, status) : code;
}

void sl_sight_destroy(struct sl_sight *sight)
{
    if (sight)
        sight_finish(sight);
    free(sight);
}
