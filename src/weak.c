// SPDX-License-Identifier: GPL-3.0-or-later
/* Temporary: stands in for parts that are being written, goes when they have all landed. */
#include "strandline/figure.h"
#include "strandline/report.h"
#define WEAK __attribute__((weak))
WEAK sl_code sl_strips_find(struct sl_photo *p, struct sl_outlines *r, struct sl_warnings *w, struct sl_status *s) { (void)p; (void)r; (void)w; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_outline_from_corners(const struct sl_photo *p, const struct sl_point c[4], struct sl_outline *r, struct sl_status *s) { (void)p; (void)r; (void)c; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_sheet_straighten(struct sl_photo *p, const struct sl_outline *o, struct sl_sheet *r, struct sl_status *s) { (void)p; (void)r; (void)o; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_sheet_read_marks(struct sl_sheet *t, struct sl_outline *o, const struct sl_strip_hints *h, struct sl_marks *r, struct sl_warnings *w, struct sl_status *s) { (void)t; (void)r; (void)o; (void)h; (void)w; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK void sl_sheet_finish(struct sl_sheet *t) { (void)t; }
WEAK void sl_strip_hints_init(struct sl_strip_hints *t) { *t = (struct sl_strip_hints){.upside_down = -1}; }
WEAK const char *sl_front_seen_name(enum sl_front_seen t) { (void)t; return "no"; }
WEAK sl_code sl_profile_make(const struct sl_sheet *t, const struct sl_marks *o, const struct sl_profile_options *h, struct sl_profile *r, struct sl_status *s) { (void)t; (void)r; (void)o; (void)h; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK void sl_profile_finish(struct sl_profile *t) { (void)t; }
WEAK void sl_profile_options_init(struct sl_profile_options *t) { *t = (struct sl_profile_options){.05, .95, true}; }
WEAK double sl_rf(double a, double b, double c) { return (a - b) / (c - b); }
WEAK sl_code sl_bands_find(const struct sl_profile *t, const struct sl_marks *o, double h, struct sl_bands *r, struct sl_warnings *w, struct sl_status *s) { (void)t; (void)r; (void)o; (void)h; (void)w; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK void sl_bands_finish(struct sl_bands *t) { (void)t; }
WEAK sl_code sl_photo_open(const char *path, struct sl_photo **ret, struct sl_warnings *w, struct sl_status *s) { (void)path; (void)ret; (void)w; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK void sl_photo_close(struct sl_photo *p) { (void)p; }
WEAK const struct sl_photo_info *sl_photo_info(const struct sl_photo *p) { (void)p; return NULL; }
WEAK double sl_srgb_encode(double x) { return x; }
WEAK void sl_document_init(struct sl_document *d) { *d = (struct sl_document){0}; }
WEAK void sl_document_finish(struct sl_document *d) { (void)d; }
WEAK sl_code sl_document_add(struct sl_document *d, struct sl_reading *r, struct sl_status *s) { (void)d; (void)r; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_document_make_pairs(struct sl_document *d, struct sl_status *s) { (void)d; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_overlay_make(const struct sl_document *d, struct sl_overlay *r, struct sl_status *s) { (void)d; (void)r; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK void sl_overlay_finish(struct sl_overlay *o) { (void)o; }
WEAK sl_code sl_report_csv_bands(const struct sl_document *d, char **r, struct sl_status *s) { (void)d; (void)r; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_report_csv_profiles(const struct sl_document *d, char **r, struct sl_status *s) { (void)d; (void)r; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_report_html(const struct sl_document *d, const struct sl_overlay *o, char **r, struct sl_status *s) { (void)d; (void)o; (void)r; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_report_json(const struct sl_document *d, const struct sl_overlay *o, int i, char **r, struct sl_status *s) { (void)d; (void)o; (void)i; (void)r; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_report_text(const struct sl_document *d, const struct sl_overlay *o, const struct sl_text_options *i, char **r, struct sl_status *s) { (void)d; (void)o; (void)i; (void)r; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_report_json_load(const char *t, size_t b, const char *n, struct sl_document *d, struct sl_status *s) { (void)d; (void)t; (void)b; (void)n; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK void sl_figure_options_init(struct sl_figure_options *o) { *o = (struct sl_figure_options){0}; }
WEAK sl_code sl_figure_strip(const struct sl_reading *a, size_t b, enum sl_figure_format f, const struct sl_figure_options *o, const char *p, struct sl_warnings *w, struct sl_status *s) { (void)a; (void)b; (void)f; (void)o; (void)p; (void)w; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_figure_pair(const struct sl_document *a, const struct sl_pair *b, enum sl_figure_format f, const struct sl_figure_options *o, const char *p, struct sl_warnings *w, struct sl_status *s) { (void)a; (void)b; (void)f; (void)o; (void)p; (void)w; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK sl_code sl_figure_overlay(const struct sl_document *a, const struct sl_overlay *b, enum sl_figure_format f, const struct sl_figure_options *o, const char *p, struct sl_warnings *w, struct sl_status *s) { (void)a; (void)b; (void)f; (void)o; (void)p; (void)w; return sl_status_set(s, SL_E_INTERNAL, "weak", "", "not there yet"); }
WEAK const char *sl_retention_caution(void) { return ""; }
