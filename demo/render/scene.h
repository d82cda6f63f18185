// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What a picture is drawn from: dyes, inks, papers, strips, things lying about, light and camera.
 *
 * Plain values, no ownership: a scene may be copied. It is filled by describe.h (from a text) or by
 * random.h, and read by everything else. Lengths in mm, angles in degrees clockwise as seen in the
 * picture, table coordinates with x to the right, y down, (0, 0) in the middle of the picture.
 */
#ifndef RENDER_SCENE_H
#define RENDER_SCENE_H

#include <stdbool.h>
#include <stdint.h>

enum {
    NAME_SIZE = 48,
    PEAKS_MAX = 4,
    DYES_MAX = 24,
    PARTS_MAX = 8,
    INKS_MAX = 12,
    PAPERS_MAX = 8,
    STRIPS_MAX = 8,
    OBJECTS_MAX = 12,
};

/// One absorption peak: K/S of a dye is the sum of Gaussians over the wavelength.
struct peak {
    double centre_nm, width_nm, height;
};

struct dye {
    char name[NAME_SIZE];
    struct peak peaks[PEAKS_MAX];
    int peak_count;
};

/// How one dye of an ink behaves. Fractions are of the run (origin to front) or of the dye.
struct part {
    char dye[NAME_SIZE];
    int dye_index;      ///< filled in by scene_resolve()
    double amount;      ///< K/S x mm along the strip, for a dye of height 1
    double rf;          ///< where the mobile band travels to
    double spread;      ///< its standard deviation
    double tail;        ///< length of its exponential tail towards the origin
    double slow;        ///< part of the mobile dye that leaves the line slowly: a streak
    double release;     ///< rate of that x run of the water; 0: a spread of speeds, which fades:
    double reach;       ///< length over which such a streak fades
    double bound;       ///< part that never moves, strip dipped at once
    double bound_dried; ///< the same, strip dried first
    double bath;        ///< part that bleeds down, below the line
};

struct ink {
    char name[NAME_SIZE];
    struct part parts[PARTS_MAX];
    int part_count;
};

enum paper_kind { PAPER_SMOOTH, PAPER_CREPE, PAPER_BLOTTER, PAPER_BROWN, PAPER_TOWEL };

struct paper {
    char name[NAME_SIZE];
    int kind;              ///< enum paper_kind
    double reflectance[3]; ///< linear light, red, green, blue
    double texture;        ///< depth of the relief, 1 = usual for the kind
};

enum strip_role { ROLE_IMMEDIATE, ROLE_DRIED, ROLE_SINGLE };
enum pencil_kind { PENCIL_NONE, PENCIL_LINE, PENCIL_TICKS };
/// Bent along the length, or (trough: edges up, ridge: middle up) rolled about the long axis.
enum curl_kind {
    CURL_NONE,
    CURL_ARCH,
    CURL_ENDS,
    CURL_UPPER,
    CURL_LOWER,
    CURL_TROUGH,
    CURL_RIDGE,
};

struct strip {
    char ink[NAME_SIZE], paper[NAME_SIZE], label[NAME_SIZE];
    int ink_index, paper_index; ///< filled in by scene_resolve(); ink_index -1: a blank strip
    int role;                   ///< enum strip_role
    bool dried;                 ///< for ROLE_SINGLE: which way it was run
    double x_mm, y_mm, turn_deg;
    double width_mm, taper_mm, length_mm; ///< taper: upper end wider than lower by so much
    double rounded_mm, crooked_mm, torn_mm, torn_lower_mm; ///< torn: upper end, lower end
    double origin_mm, run_mm;
    double line_width_mm, line_slant_deg, margin_left_mm, margin_right_mm, amount;
    double front_slant_mm, front_curve_mm, fingers_mm, wander;
    double tide;         ///< strength of the tide line at the front, 0 to 1
    int pencil;          ///< enum pencil_kind, at the origin
    int front_pencil;    ///< enum pencil_kind, at the front
    bool label_at_lower; ///< the label stands below the origin and not above the front
    int curl;            ///< enum curl_kind
    double lift_mm;      ///< greatest height above the table
};

enum object_kind {
    OBJECT_CARD,
    OBJECT_RULER,
    OBJECT_PEN,
    OBJECT_SWATCH,
    OBJECT_COIN,
    OBJECT_PEG,
    OBJECT_TAPE,
};

struct object {
    int kind; ///< enum object_kind
    char text[NAME_SIZE];
    double x_mm, y_mm, turn_deg, width_mm, length_mm;
    double colour[3];
};

enum table_kind {
    TABLE_LIGHT_WOOD,
    TABLE_DARK_WOOD,
    TABLE_BLACK_CARD,
    TABLE_GREY,
    TABLE_WHITE_DESK,
    TABLE_STRIPED_CLOTH,
    TABLE_MAT,
    TABLE_NOTEBOOK,
    TABLE_SQUARED,
    TABLE_PLATE,
    TABLE_OILCLOTH,
};

enum profile_kind { PROFILE_NONE, PROFILE_SRGB, PROFILE_P3 };
enum tier { TIER_EASY, TIER_NORMAL, TIER_HARD, TIER_NEGATIVE };
/// SEPARATE: a pair photographed strip by strip; one scene holds both, IMMEDIATE and DRIED one
/// each.
enum layout {
    LAYOUT_SINGLE,
    LAYOUT_PAIR,
    LAYOUT_PAIRS,
    LAYOUT_ROW,
    LAYOUT_NONE,
    LAYOUT_IMMEDIATE,
    LAYOUT_DRIED,
    LAYOUT_SEPARATE,
};

struct scene {
    uint64_t seed;
    int tier, layout;
    bool dip; ///< the kitchen-table kind
    char negative[NAME_SIZE], must[NAME_SIZE];
    bool bands_allowed; ///< of a negative scene

    struct dye dyes[DYES_MAX];
    struct ink inks[INKS_MAX];
    struct paper papers[PAPERS_MAX];
    struct strip strips[STRIPS_MAX];
    struct object objects[OBJECTS_MAX];
    int dye_count, ink_count, paper_count, strip_count, object_count;

    int table; ///< enum table_kind
    double table_turn_deg, table_colour[3];
    int width_px, height_px; ///< as displayed
    double px_per_mm, tilt_deg, tilt_direction_deg, roll_deg;
    double light_ratio, light_direction_deg; ///< brightest over darkest in the frame
    double shadow, shadow_direction_deg, shadow_offset_mm, shadow_soft_mm;
    double glare;
    double exposure_ev, lamp_k, balanced; ///< 0 eV: paper white at 0.80 of full scale
    double distortion_percent; ///< at the frame's corners; barrel negative, pincushion positive
    double blur_px, noise, tone;
    int orientation, profile, jpeg_quality, bits; ///< quality 0: PNG
};

/// A scene with usual values and nothing in it.
void scene_defaults(struct scene *scene);
void strip_defaults(struct strip *strip);
void part_defaults(struct part *part);

bool curl_is_rolled(int curl); ///< about the long axis

/// Finds the names that strips, inks and dyes refer to. On failure writes one sentence.
bool scene_resolve(struct scene *scene, char *ret_error, int error_size);

extern const char *const paper_words[];
extern const char *const role_words[];
extern const char *const pencil_words[];
extern const char *const curl_words[];
extern const char *const object_words[];
extern const char *const table_words[];
extern const char *const profile_words[];
extern const char *const tier_words[];
extern const char *const layout_words[];

#endif
