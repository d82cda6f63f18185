// SPDX-License-Identifier: GPL-3.0-or-later
/* Readings made by hand for tests: an invented ink of a grey that binds, a pink and a turquoise
 * that run, on two strips. */
#ifndef SAMPLE_H
#define SAMPLE_H

#include "strandline/report.h"

enum { SAMPLE_COUNT = 240 };

struct sample_dye {
    double rf, sigma; /* of a Gaussian, in Rf */
    double amount;    /* area in Rf, in K/S of the strongest channel */
    double red, green, blue;
};

/* A strip with one band a dye, origin 0.2, front 0.9, 80 mm. */
void sample_strip(struct sl_strip *strip, enum sl_role role, const char *ink,
                  const struct sample_dye *dyes, size_t count);
/* A retained share with its interval; three quarters of it are bound, give or take as much. */
void sample_retained(struct sl_strip *strip, double share, double half_interval);

/* One photo with `count` strips, all as sample_strip makes them; roles by the usual order. */
struct sl_reading *sample_reading(const char *file, const char *ink, size_t count);
/* Blur, and a front that was not seen. */
struct sl_advice_list sample_advice(void);
/* One photo with the pair; retained shares 0.03 (immediate) and 0.2 (dried). */
struct sl_document sample_document(void);
/* With every member of the schema but an overlay: a photo that could not be read, and one with two
 * pairs of one ink. Its last strip disagrees with its replicate and has all that strips can have.
 */
struct sl_document sample_full_document(void);

extern const struct sample_dye sample_dyes[3];

/* cmocka compares floats only. */
#define assert_near(a, b, within) assert_true(fabs((a) - (b)) <= (within))

#endif
