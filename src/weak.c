// SPDX-License-Identifier: GPL-3.0-or-later
/* Temporary: stands in for parts that are being written, goes when they have all landed. */
#include "strandline/reading.h"
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
