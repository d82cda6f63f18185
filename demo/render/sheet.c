// SPDX-License-Identifier: GPL-3.0-or-later
#include "sheet.h"

#include "letters.h"
#include "within.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

bool sheet_create(struct sheet *sheet, double width_mm, double length_mm, double step_mm)
{
    *sheet = (struct sheet){.width_mm = width_mm,
                            .length_mm = length_mm,
                            .step_mm = step_mm,
                            .cos_turn = 1,
                            .opacity = 1,
                            .height_mm = 0.2,
                            .relief = RELIEF_NONE,
                            .columns = (int)ceil(width_mm / step_mm) + 1,
                            .rows = (int)ceil(length_mm / step_mm) + 1};
    size_t cells = (size_t)sheet->columns * (size_t)sheet->rows;
    sheet->rgb = calloc(cells, 3 * sizeof *sheet->rgb);
    sheet->edge = calloc(cells, sizeof *sheet->edge);
    if (sheet->rgb == NULL || sheet->edge == NULL) {
        sheet_finish(sheet);
        return false;
    }
    return true;
}

void sheet_finish(struct sheet *sheet)
{
    free(sheet->rgb);
    free(sheet->edge);
    *sheet = (struct sheet){0};
}

void sheet_place(struct sheet *sheet, double x_mm, double y_mm, double turn_deg)
{
    sheet->x_mm = x_mm;
    sheet->y_mm = y_mm;
    sheet->turn_deg = turn_deg;
    sheet->cos_turn = cos(turn_deg * pi / 180);
    sheet->sin_turn = sin(turn_deg * pi / 180);
}

double sheet_u(const struct sheet *sheet, int column)
{
    return column * sheet->step_mm - sheet->width_mm / 2;
}

double sheet_v(const struct sheet *sheet, int row)
{
    return row * sheet->step_mm;
}

void sheet_fill(struct sheet *sheet, const double colour[3])
{
    size_t cells = (size_t)sheet->columns * (size_t)sheet->rows;
    for (size_t k = 0; k < cells; k++) {
        for (int c = 0; c < 3; c++) {
            sheet->rgb[3 * k + (size_t)c] = (float)colour[c];
        }
    }
}

void sheet_outline(struct sheet *sheet, double rounded_mm)
{
    for (int j = 0; j < sheet->rows; j++) {
        for (int i = 0; i < sheet->columns; i++) {
            double qx = fabs(sheet_u(sheet, i)) - sheet->width_mm / 2 + rounded_mm;
            double qy =
                fabs(sheet_v(sheet, j) - sheet->length_mm / 2) - sheet->length_mm / 2 + rounded_mm;
            double outside = hypot(fmax(qx, 0), fmax(qy, 0)) + fmin(fmax(qx, qy), 0);
            sheet->edge[(size_t)j * (size_t)sheet->columns + (size_t)i] =
                (float)(rounded_mm - outside);
        }
    }
}

static double lift_of(int kind, double lift_mm, double t)
{
    double bent = 2 * t - 1;
    switch (kind) {
    case CURL_ARCH:
        return lift_mm * sin(pi * t);
    case CURL_ENDS:
        return lift_mm * bent * bent;
    case CURL_UPPER:
        return lift_mm * t * t * t;
    case CURL_LOWER:
        return lift_mm * (1 - t) * (1 - t) * (1 - t);
    default:
        return 0;
    }
}

// Radius of the circle on which an arc of this half length rises by lift_mm from its middle to its
// ends: lift = r (1 - cos(half / r)). Paper that is wetter on one face bends evenly.
static double radius_of_arc(double half_mm, double lift_mm)
{
    double low = 0;
    double high = 1.5; // half / r in radians; lift / half grows with it
    for (int k = 0; k < 60; k++) {
        double angle = (low + high) / 2;
        if ((1 - cos(angle)) / angle < lift_mm / half_mm) {
            low = angle;
        } else {
            high = angle;
        }
    }
    return half_mm / high;
}

static void bend_along(struct sheet *sheet, int kind, double lift_mm)
{
    double step = sheet->length_mm / CURL_STEPS;
    sheet->ground_mm[0] = 0;
    for (int k = 0; k <= CURL_STEPS; k++) {
        sheet->lift_mm[k] = lift_of(kind, lift_mm, (double)k / CURL_STEPS);
        if (k > 0) {
            double rise = sheet->lift_mm[k] - sheet->lift_mm[k - 1];
            sheet->ground_mm[k] = sheet->ground_mm[k - 1] + sqrt(step * step - rise * rise);
            sheet->slope[k] = rise / step;
        }
    }
    sheet->slope[0] = sheet->slope[1];
}

void sheet_curl(struct sheet *sheet, int kind, double lift_mm, double paper_width_mm)
{
    sheet->curled = kind != CURL_NONE && lift_mm > 0;
    sheet->most_lift_mm = sheet->curled ? lift_mm : 0;
    if (sheet->curled && curl_is_rolled(kind)) {
        sheet->roll_mm = radius_of_arc(paper_width_mm / 2, lift_mm);
        sheet->crest_mm = kind == CURL_RIDGE ? lift_mm : 0;
    } else {
        bend_along(sheet, kind, lift_mm);
    }
}

// How far from its middle the paper goes on along the circle; never so far as to stand upright.
static double roll_reach_mm(const struct sheet *sheet)
{
    return fmin(sheet->width_mm / 2, 1.4 * sheet->roll_mm);
}

static double roll_lift(const struct sheet *sheet, double u, double ret_slope[2])
{
    double angle = within(u, -roll_reach_mm(sheet), roll_reach_mm(sheet)) / sheet->roll_mm;
    double rise = sheet->roll_mm * (1 - cos(angle));
    bool ridge = sheet->crest_mm > 0;
    ret_slope[0] = ridge ? -sin(angle) : sin(angle);
    ret_slope[1] = 0;
    return ridge ? fmax(sheet->crest_mm - rise, 0) : rise;
}

double sheet_lift(const struct sheet *sheet, double u, double v, double ret_slope[2])
{
    if (sheet->roll_mm > 0) {
        return roll_lift(sheet, u, ret_slope);
    }
    double t = within(v / sheet->length_mm, 0, 1) * CURL_STEPS;
    int k = (int)fmin(t, CURL_STEPS - 1);
    double s = t - k;
    ret_slope[0] = 0;
    ret_slope[1] = sheet->slope[k] * (1 - s) + sheet->slope[k + 1] * s;
    return sheet->lift_mm[k] * (1 - s) + sheet->lift_mm[k + 1] * s;
}

// Across a rolled sheet: from the paper to the table below it, and back. Beside it the table goes
// on.
static double ground_across(const struct sheet *sheet, double u)
{
    double on = within(u, -roll_reach_mm(sheet), roll_reach_mm(sheet));
    return sheet->roll_mm * sin(on / sheet->roll_mm) + u - on;
}

static double paper_across(const struct sheet *sheet, double ground)
{
    double reach = sheet->roll_mm * sin(roll_reach_mm(sheet) / sheet->roll_mm);
    double on = within(ground, -reach, reach);
    return sheet->roll_mm * asin(on / sheet->roll_mm) + ground - on;
}

static double along_of_ground(const struct sheet *sheet, double ground)
{
    const double *g = sheet->ground_mm;
    double step = sheet->length_mm / CURL_STEPS;
    if (ground <= 0) {
        return ground;
    }
    if (ground >= g[CURL_STEPS]) {
        return sheet->length_mm + ground - g[CURL_STEPS];
    }
    int low = (int)(ground / sheet->length_mm * CURL_STEPS);
    while (low < CURL_STEPS - 1 && g[low + 1] < ground) {
        low++;
    }
    return step * (low + (ground - g[low]) / (g[low + 1] - g[low]));
}

void sheet_local(const struct sheet *sheet, double x, double y, double *ret_u, double *ret_v)
{
    double dx = x - sheet->x_mm;
    double dy = y - sheet->y_mm;
    *ret_u = dx * sheet->cos_turn + dy * sheet->sin_turn;
    double up = dx * sheet->sin_turn - dy * sheet->cos_turn;
    if (sheet->roll_mm > 0) {
        *ret_u = paper_across(sheet, *ret_u);
    }
    bool bent = sheet->curled && sheet->roll_mm <= 0;
    *ret_v = bent ? along_of_ground(sheet, up + sheet->ground_mm[CURL_STEPS] / 2)
                  : up + sheet->length_mm / 2;
}

void sheet_world(const struct sheet *sheet, double u, double v, double *ret_x, double *ret_y,
                 double *ret_z)
{
    double up = v - sheet->length_mm / 2;
    double slope[2];
    *ret_z = sheet->curled ? sheet_lift(sheet, u, v, slope) : 0;
    if (sheet->roll_mm > 0) {
        u = ground_across(sheet, u);
    } else if (sheet->curled) {
        double t = within(v / sheet->length_mm, 0, 1) * CURL_STEPS;
        int k = (int)fmin(t, CURL_STEPS - 1);
        double s = t - k;
        up = sheet->ground_mm[k] * (1 - s) + sheet->ground_mm[k + 1] * s -
             sheet->ground_mm[CURL_STEPS] / 2;
    }
    *ret_x = sheet->x_mm + u * sheet->cos_turn + up * sheet->sin_turn;
    *ret_y = sheet->y_mm + u * sheet->sin_turn - up * sheet->cos_turn;
}

static double distance_to_segment(double x, double y, double x0, double y0, double x1, double y1)
{
    double dx = x1 - x0;
    double dy = y1 - y0;
    double square = dx * dx + dy * dy;
    double t = square > 0 ? ((x - x0) * dx + (y - y0) * dy) / square : 0;
    t = within(t, 0, 1);
    return hypot(x - x0 - t * dx, y - y0 - t * dy);
}

static int clamp_index(double value, int count)
{
    return (int)within(value, 0, count - 1);
}

void sheet_line(struct sheet *sheet, const struct ink_pen *pen, double u0, double v0, double u1,
                double v1)
{
    double reach = pen->half_width_mm + sheet->step_mm;
    double step = sheet->step_mm;
    double left = sheet->width_mm / 2;
    int i0 = clamp_index(floor((fmin(u0, u1) - reach + left) / step), sheet->columns);
    int i1 = clamp_index(ceil((fmax(u0, u1) + reach + left) / step), sheet->columns);
    int j0 = clamp_index(floor((fmin(v0, v1) - reach) / step), sheet->rows);
    int j1 = clamp_index(ceil((fmax(v0, v1) + reach) / step), sheet->rows);
    for (int j = j0; j <= j1; j++) {
        for (int i = i0; i <= i1; i++) {
            double away = distance_to_segment(sheet_u(sheet, i), sheet_v(sheet, j), u0, v0, u1, v1);
            double cover = 0.5 + (pen->half_width_mm - away) / step;
            cover = pen->opacity * within(cover, 0, 1);
            float *cell = sheet->rgb + 3 * ((size_t)j * (size_t)sheet->columns + (size_t)i);
            for (int c = 0; c < 3; c++) {
                // where strokes cross, the ink does not get darker than the ink
                double drawn = cell[c] * (1 - cover) + pen->colour[c] * cover;
                cell[c] = (float)fmin(cell[c], drawn > pen->colour[c] ? drawn : pen->colour[c]);
            }
        }
    }
}

double sheet_text(struct sheet *sheet, const struct ink_pen *pen, const char *text, double u,
                  double v, double height_mm, double turn_deg)
{
    double unit = height_mm / LETTER_HEIGHT;
    double along_u = cos(turn_deg * pi / 180) * unit;
    double along_v = -sin(turn_deg * pi / 180) * unit;
    double pos = 0;
    for (const char *letter = text; *letter != '\0'; letter++) {
        const char *strokes = letter_strokes(*letter);
        bool down = false;
        double last_u = 0;
        double last_v = 0;
        for (; *strokes != '\0'; strokes++) {
            if (*strokes == ' ') {
                down = false;
                continue;
            }
            double x = pos + (strokes[0] - '0');
            double y = strokes[1] - '0';
            double next_u = u + x * along_u - y * along_v;
            double next_v = v + x * along_v + y * along_u;
            if (down) {
                sheet_line(sheet, pen, last_u, last_v, next_u, next_v);
            }
            last_u = next_u;
            last_v = next_v;
            down = true;
            strokes++;
        }
        pos += LETTER_STEP;
    }
    return pos * unit;
}
