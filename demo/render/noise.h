// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Random numbers and random fields, all from a seed: the same seed draws the same picture.
 */
#ifndef RENDER_NOISE_H
#define RENDER_NOISE_H

#include <stdint.h>

struct rng {
    uint64_t state;
};

uint64_t rng_next(struct rng *rng);
double rng_uniform(struct rng *rng); ///< [0, 1)
double rng_between(struct rng *rng, double low, double high);
int rng_below(struct rng *rng, int count); ///< 0 .. count - 1
int rng_chance(struct rng *rng, double p); ///< 1 with probability p
double rng_normal(struct rng *rng);        ///< mean 0, standard deviation 1

/// Smooth random function of one variable, period of its ripples 1, within about -1 .. 1.
double wave_at(uint64_t seed, double x);

/// A periodic random picture of mean 0 and standard deviation 1; TILE_CELLS cells a side.
enum { TILE_CELLS = 512 };
struct tile {
    float cells[TILE_CELLS * TILE_CELLS];
};

/// Octaves from `coarsest` to `finest` cells a period (powers of two), each `fall` times the last.
void tile_fill(struct tile *tile, uint64_t seed, int coarsest, int finest, double fall);
float tile_at(const struct tile *tile, double x, double y);

#endif
