// SPDX-License-Identifier: GPL-3.0-or-later
#include "json_fields.h"

#include "strandline/overlay.h"

/* clang-format off */
#define TABLE(fields) {fields, sizeof fields / sizeof *fields}
#define FIELD(type, name, what, member, ...) \
    {.key = name, .kind = what, .offset = offsetof(struct type, member), __VA_ARGS__}
#define REAL(type, key, member, digits) \
    FIELD(type, key, SL_JSON_REAL, member, .count = 1, .decimals = digits)
#define REALS(type, key, member, many, digits) \
    FIELD(type, key, SL_JSON_REAL, member, .count = many, .decimals = digits)
/* A position, Rf or share: what lies far outside is no measurement. */
#define PLACE(type, key, member, least, most, needed) \
    FIELD(type, key, SL_JSON_REAL, member, .count = 1, .decimals = SL_DECIMALS_PART, \
          .low = least, .high = most, .is_needed = needed)
#define FLAG(type, key, member) FIELD(type, key, SL_JSON_FLAG, member, .count = 1)
#define INTEGER(type, key, member) FIELD(type, key, SL_JSON_INTEGER, member, .count = 1)
#define HUE(type, key, member) FIELD(type, key, SL_JSON_HUE, member, .count = 1)
#define TEXT(type, key, member) \
    FIELD(type, key, SL_JSON_TEXT, member, .count = sizeof((struct type *)0)->member)
/* clang-format on */

enum { PART = SL_DECIMALS_PART, LOAD = SL_DECIMALS_LOAD, LAB = SL_DECIMALS_LAB };

static const struct sl_json_field photo_fields[] = {
    TEXT(sl_photo_info, "file", file),
    TEXT(sl_photo_info, "sha256", sha256),
    INTEGER(sl_photo_info, "width_px", width_px),
    INTEGER(sl_photo_info, "height_px", height_px),
    TEXT(sl_photo_info, "colour_profile", colour_profile),
    INTEGER(sl_photo_info, "orientation", orientation),
    TEXT(sl_photo_info, "date", date),
};
const struct sl_json_table sl_json_photo = TABLE(photo_fields);

static const struct sl_json_field conditions_fields[] = {
    TEXT(sl_conditions, "ink", ink),
    TEXT(sl_conditions, "paper", paper),
    TEXT(sl_conditions, "solvent", solvent),
    REAL(sl_conditions, "dip_s", dip_s, 3),
    REAL(sl_conditions, "dried_min", dried_min, 3),
    TEXT(sl_conditions, "date", date),
};
const struct sl_json_table sl_json_conditions = TABLE(conditions_fields);

static const struct sl_json_field strip_fields[] = {
    PLACE(sl_strip, "origin", marks.origin, -1, 2, false),
    REAL(sl_strip, "origin_se", marks.origin_sigma, PART),
    PLACE(sl_strip, "front", marks.front, -1, 2, false),
    REAL(sl_strip, "front_se", marks.front_sigma, PART),
    REAL(sl_strip, "front_slant", marks.front_slant, PART),
    REAL(sl_strip, "front_spread", marks.front_spread, PART),
    REAL(sl_strip, "line_width", marks.line_width, PART),
    REAL(sl_strip, "length_mm", length_mm, 4),
    REALS(sl_strip, "paper_rgb", marks.paper_rgb, 3, PART),
    REALS(sl_strip, "paper_reflectance", marks.paper_reflectance, 3, PART),
    REAL(sl_strip, "paper_reflectance_se", marks.paper_sigma, PART),
    REAL(sl_strip, "light_ratio", marks.light_ratio, 4),
    REAL(sl_strip, "light_step", marks.light_step, 4),
    FLAG(sl_strip, "blank", marks.blank),
    FLAG(sl_strip, "turned", marks.turned),
    REAL(sl_strip, "orientation_doubt", marks.orientation_doubt, PART),
    FLAG(sl_strip, "origin_given", marks.given_origin),
    FLAG(sl_strip, "front_given", marks.given_front),
    FLAG(sl_strip, "origin_outside", marks.origin_outside),
    PLACE(sl_strip, "retained_share", bands.retained_share, -1, 2, false),
    REALS(sl_strip, "retained_interval", bands.retained_interval, 2, PART),
    PLACE(sl_strip, "bound_share", bands.bound_share, -1, 2, false),
    REALS(sl_strip, "bound_interval", bands.bound_interval, 2, PART),
    REALS(sl_strip, "retained_lab", bands.retained_lab_d50, 3, LAB),
    REAL(sl_strip, "possible_rf", bands.possible_rf, PART),
    FLAG(sl_strip, "smeared", bands.smeared),
    REAL(sl_strip, "total_load", bands.total_load, 8),
    REAL(sl_strip, "total_load_se", bands.total_load_se, 8),
    REAL(sl_strip, "noise", bands.noise, LOAD),
    REAL(sl_strip, "goodness", bands.goodness, 4),
};
const struct sl_json_table sl_json_strip = TABLE(strip_fields);

static const struct sl_json_field outline_fields[] = {
    REAL(sl_outline, "edge_se_px", edge_sigma_px, SL_DECIMALS_PX),
    REAL(sl_outline, "hidden_from", hidden_from, PART),
    REAL(sl_outline, "hidden_to", hidden_to, PART),
    REAL(sl_outline, "bend", bend, PART),
    FLAG(sl_outline, "cut_off", cut_off),
    FLAG(sl_outline, "given", given),
    REAL(sl_outline, "confidence", confidence, 4),
};
const struct sl_json_table sl_json_outline = TABLE(outline_fields);

static const struct sl_json_field band_fields[] = {
    PLACE(sl_band, "rf", rf, -100, 100, true),
    REALS(sl_band, "rf_interval", rf_interval, 2, PART),
    REAL(sl_band, "start_rf", start_rf, PART),
    REAL(sl_band, "end_rf", end_rf, PART),
    PLACE(sl_band, "share", share, -1, 2, true),
    REALS(sl_band, "share_interval", share_interval, 2, PART),
    REALS(sl_band, "lab", lab_d50, 3, LAB),
    REALS(sl_band, "lab_se", lab_se, 3, LAB),
    REAL(sl_band, "hue_deg", hue_deg, 3),
    REALS(sl_band, "hue_interval", hue_interval, 2, 3),
    HUE(sl_band, "hue_name", hue_name),
    REALS(sl_band, "signature", signature, 3, PART),
    REALS(sl_band, "signature_se", signature_se, 3, PART),
    FLAG(sl_band, "retained", retained),
    FLAG(sl_band, "unsure", unsure),
    FLAG(sl_band, "overlapped", overlapped),
    FLAG(sl_band, "limits_given", given),
    REAL(sl_band, "apex_load", apex_load, LOAD),
    REAL(sl_band, "half_width_rf", half_width_rf, PART),
    REAL(sl_band, "asymmetry", asymmetry, 4),
    REAL(sl_band, "resolution_to_next", resolution_to_next, 4),
};
const struct sl_json_table sl_json_band = TABLE(band_fields);

static const struct sl_json_field reach_fields[] = {
    HUE(sl_reach, "hue_name", hue_name),        REAL(sl_reach, "hue_deg", hue_deg, 3),
    REAL(sl_reach, "first_rf", first_rf, PART), REAL(sl_reach, "last_rf", last_rf, PART),
    REAL(sl_reach, "share", share, PART),
};
const struct sl_json_table sl_json_reach = TABLE(reach_fields);

static const struct sl_json_field pair_fields[] = {
    TEXT(sl_pair, "ink", ink),
    REAL(sl_pair, "immediate_retained_share", immediate_retained_share, PART),
    REALS(sl_pair, "immediate_retained_interval", immediate_retained_interval, 2, PART),
    REAL(sl_pair, "dried_retained_share", dried_retained_share, PART),
    REALS(sl_pair, "dried_retained_interval", dried_retained_interval, 2, PART),
    REAL(sl_pair, "immediate_bound_share", immediate_bound_share, PART),
    REALS(sl_pair, "immediate_bound_interval", immediate_bound_interval, 2, PART),
    REAL(sl_pair, "dried_bound_share", dried_bound_share, PART),
    REALS(sl_pair, "dried_bound_interval", dried_bound_interval, 2, PART),
    REAL(sl_pair, "index", index, 4),
    REALS(sl_pair, "index_interval", index_interval, 2, 4),
    REAL(sl_pair, "water_resistant_probability", water_resistant_probability, PART),
    REAL(sl_pair, "answer_probability", answer_probability, PART),
    REALS(sl_pair, "retained_lab", retained_lab_d50, 3, LAB),
    HUE(sl_pair, "retained_hue_name", retained_hue_name),
};
const struct sl_json_table sl_json_pair = TABLE(pair_fields);

static const struct sl_json_field shared_fields[] = {
    REAL(sl_shared_dye, "rf_difference", rf_difference, PART),
    REAL(sl_shared_dye, "rf_allowance", rf_allowance, PART),
    REAL(sl_shared_dye, "signature_angle_deg", signature_angle_deg, 3),
    REAL(sl_shared_dye, "signature_allowance_deg", signature_allowance_deg, 3),
    HUE(sl_shared_dye, "hue_name", hue_name),
};
const struct sl_json_table sl_json_shared = TABLE(shared_fields);

static const struct sl_json_field averaging_fields[] = {
    REAL(sl_profile_options, "across_from", across_from, PART),
    REAL(sl_profile_options, "across_to", across_to, PART),
    FLAG(sl_profile_options, "straighten_fronts", straighten_fronts),
};
const struct sl_json_table sl_json_averaging = TABLE(averaging_fields);

const struct sl_json_series sl_json_triple_series[SL_JSON_SERIES] = {
    {"load", offsetof(struct sl_profile, load), LOAD, true},
    {"load_se", offsetof(struct sl_profile, load_se), LOAD, false},
    {"lab", offsetof(struct sl_profile, lab_d50), 2, false},
    {"lab_se", offsetof(struct sl_profile, lab_se), 2, false},
    {"reflectance", offsetof(struct sl_profile, reflectance), LOAD, false},
    {"reflectance_se", offsetof(struct sl_profile, reflectance_se), LOAD, false},
    {"density", offsetof(struct sl_profile, density), 4, false},
    {"light_se", offsetof(struct sl_profile, light_se), LOAD, false},
};
