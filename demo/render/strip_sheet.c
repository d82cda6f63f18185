// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise.h"
#include "things.h"

#include <math.h>
#include <string.h>

static const struct ink_pen pencil = {0.18, {0.16, 0.16, 0.17}, 0.62};
static const double tide_colour[3] = {0.93, 0.89,
                                      0.80}; // what water leaves: a little size and dirt
static const double tide_width_mm = 0.35;

static double end_at(double u, double width, double crooked, double torn, uint64_t seed)
{
    double slant = 1.4 * crooked * wave_at(seed, 0.5) * 2 * u / width;
    double tear = torn * (0.6 * wave_at(seed + 1, u / 7.0) + 0.3 * wave_at(seed + 2, u / 2.0) +
                          0.12 * wave_at(seed + 3, u / 0.5));
    return slant + tear + torn;
}

static double lower_end(const struct strip *strip, double u, uint64_t seed)
{
    return end_at(u, strip->width_mm, strip->crooked_mm, strip->torn_lower_mm, seed + 60);
}

static double upper_end(const struct strip *strip, double u, uint64_t seed)
{
    return strip->length_mm -
           end_at(u, strip->width_mm, strip->crooked_mm, strip->torn_mm, seed + 64);
}

void strip_ends(uint64_t seed, struct run *run)
{
    enum { STEPS = 200 };
    const struct strip *strip = run->strip;
    run->low_end_mm = run->high_end_mm = 0;
    for (int k = 0; k < STEPS; k++) {
        double u = 0.9 * strip->width_mm * ((k + 0.5) / STEPS - 0.5);
        // the sheet has no paper outside its own length
        run->low_end_mm += fmax(lower_end(strip, u, seed), 0) / STEPS;
        run->high_end_mm += fmin(upper_end(strip, u, seed), strip->length_mm) / STEPS;
    }
}

// Distance inside the outline: from the nearest of four edges, corners rounded.
static double inside(double left, double right, double low, double high, double rounded)
{
    double qx = rounded - fmin(left, right);
    double qy = rounded - fmin(low, high);
    return rounded - hypot(fmax(qx, 0), fmax(qy, 0)) - fmin(fmax(qx, qy), 0);
}

static void cut_out(const struct run *run, uint64_t seed, struct sheet *sheet)
{
    const struct strip *strip = run->strip;
    for (int j = 0; j < sheet->rows; j++) {
        double v = sheet_v(sheet, j);
        for (int i = 0; i < sheet->columns; i++) {
            double u = sheet_u(sheet, i);
            double low = v - lower_end(strip, u, seed);
            double high = upper_end(strip, u, seed) - v;
            sheet->edge[(size_t)j * (size_t)sheet->columns + (size_t)i] = (float)inside(
                u - run->left_mm[j], run->right_mm[j] - u, low, high, fmax(strip->rounded_mm, 0.1));
        }
    }
}

static double tide_at(double away_mm, double strength)
{
    double z = away_mm / tide_width_mm;
    return strength * exp(-0.5 * z * z);
}

static void colour_in(const struct run *run, uint64_t seed, struct sheet *sheet)
{
    for (int j = 0; j < sheet->rows; j++) {
        for (int i = 0; i < sheet->columns; i++) {
            size_t cell = 3 * ((size_t)j * (size_t)sheet->columns + (size_t)i);
            double tide = tide_at(sheet_v(sheet, j) - run->front_mm[i], run->strip->tide) *
                          (0.7 + 0.3 * wave_at(seed + 70, i * 0.04));
            for (size_t c = 0; c < 3; c++) {
                sheet->rgb[cell + c] =
                    (float)(run->reflectance[cell + c] * (1 + tide * (tide_colour[c] - 1)));
            }
        }
    }
}

double tide_line_de00(const struct run *run)
{
    double white[3] = {1, 1, 1};
    double line[3];
    double lab_white[3];
    double lab_line[3];
    for (int c = 0; c < 3; c++) {
        line[c] = 1 + 0.7 * run->strip->tide * (tide_colour[c] - 1);
    }
    lab_of_linear(white, lab_white);
    lab_of_linear(line, lab_line);
    return lab_difference(lab_white, lab_line);
}

static void pencil_marks(int kind, double v, double slope, uint64_t seed, struct sheet *sheet)
{
    double half = sheet->width_mm / 2;
    double tick = 2.0 + 1.2 * fabs(wave_at(seed, 0.3));
    if (kind == PENCIL_LINE) {
        sheet_line(sheet, &pencil, -half, v - slope * half, half, v + slope * half);
    } else if (kind == PENCIL_TICKS) {
        sheet_line(sheet, &pencil, -half, v - slope * half, -half + tick, v - slope * half + 0.1);
        if (wave_at(seed + 1, 0.6) > -0.3) {
            sheet_line(sheet, &pencil, half - tick, v + slope * half, half, v + slope * half);
        }
    }
}

static void write_label(const struct run *run, struct sheet *sheet)
{
    const struct strip *strip = run->strip;
    double unit_width = (double)strlen(strip->label);
    if (unit_width < 1) {
        return;
    }
    double height = fmin(5.0, 0.75 * strip->width_mm / unit_width);
    double v = strip->label_at_lower
                   ? fmax(strip->origin_mm / 2 - height / 2, 1.5) + strip->torn_lower_mm
                   : strip->length_mm - height - 4.0 - strip->torn_mm;
    sheet_text(sheet, &pencil, strip->label, -0.45 * height * unit_width, v, height,
               4 * wave_at((uint64_t)(strip->x_mm * 10 + 1000), 0.4));
}

bool strip_sheet(const struct scene *scene, const struct run *run, uint64_t seed,
                 struct sheet *ret_sheet)
{
    const struct strip *strip = run->strip;
    const struct paper *paper = &scene->papers[strip->paper_index];
    struct sheet sheet;
    if (!sheet_create(&sheet, (run->columns - 1) * run->step_mm, (run->rows - 1) * run->step_mm,
                      run->step_mm)) {
        return false;
    }
    sheet.rows = run->rows;
    sheet.columns = run->columns;
    sheet.length_mm = strip->length_mm;
    sheet.relief = paper->kind;
    sheet.relief_depth = paper->texture;
    sheet.relief_shift = 37.0 * (double)(seed % 17);
    sheet.height_mm = 0.35;
    sheet_place(&sheet, strip->x_mm, strip->y_mm, strip->turn_deg);
    sheet_curl(&sheet, strip->curl, strip->lift_mm, strip->width_mm);
    cut_out(run, seed, &sheet);
    colour_in(run, seed, &sheet);
    pencil_marks(strip->pencil, run->origin_mean_mm, 0.01 * wave_at(seed, 0.2), seed, &sheet);
    pencil_marks(strip->front_pencil, run->front_mean_mm, 0.01 * wave_at(seed, 0.7), seed + 5,
                 &sheet);
    write_label(run, &sheet);
    *ret_sheet = sheet;
    return true;
}
