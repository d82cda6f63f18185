// SPDX-License-Identifier: GPL-3.0-or-later
// Generator: splitmix64 (Steele, Lea, Flood: Fast splittable pseudorandom number generators,
// OOPSLA 2014). Fields: value noise, octaves summed (common practice, no source).
#include "noise.h"

#include <math.h>

static uint64_t mix(uint64_t z)
{
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

uint64_t rng_next(struct rng *rng)
{
    rng->state += 0x9e3779b97f4a7c15u;
    return mix(rng->state);
}

double rng_uniform(struct rng *rng)
{
    return (double)(rng_next(rng) >> 11) * 0x1p-53;
}

double rng_between(struct rng *rng, double low, double high)
{
    return low + (high - low) * rng_uniform(rng);
}

int rng_below(struct rng *rng, int count)
{
    return (int)(rng_uniform(rng) * count);
}

int rng_chance(struct rng *rng, double p)
{
    return rng_uniform(rng) < p;
}

double rng_normal(struct rng *rng)
{
    double u = 1.0 - rng_uniform(rng);
    double v = rng_uniform(rng);
    return sqrt(-2.0 * log(u)) * cos(2.0 * 3.14159265358979323846 * v);
}

static double lattice(uint64_t seed, int64_t k)
{
    return (double)(mix(seed * 0x9e3779b97f4a7c15u + (uint64_t)k) >> 11) * 0x1p-52 - 1.0;
}

double wave_at(uint64_t seed, double x)
{
    double whole = floor(x);
    double t = x - whole;
    int64_t k = (int64_t)whole;
    double s = t * t * (3.0 - 2.0 * t);
    return lattice(seed, k) * (1.0 - s) + lattice(seed, k + 1) * s;
}

static double value_2d(uint64_t seed, int period, double x, double y)
{
    int i = (int)x;
    int j = (int)y;
    double s = x - i;
    double t = y - j;
    s = s * s * (3.0 - 2.0 * s);
    t = t * t * (3.0 - 2.0 * t);
    int i1 = (i + 1) % period;
    int j1 = (j + 1) % period;
    double a = lattice(seed, (int64_t)j * period + i);
    double b = lattice(seed, (int64_t)j * period + i1);
    double c = lattice(seed, (int64_t)j1 * period + i);
    double d = lattice(seed, (int64_t)j1 * period + i1);
    return (a * (1 - s) + b * s) * (1 - t) + (c * (1 - s) + d * s) * t;
}

static void normalise(struct tile *tile)
{
    double sum = 0;
    double squares = 0;
    int count = TILE_CELLS * TILE_CELLS;
    for (int k = 0; k < count; k++) {
        sum += tile->cells[k];
        squares += (double)tile->cells[k] * tile->cells[k];
    }
    double mean = sum / count;
    double scale = 1.0 / sqrt(squares / count - mean * mean);
    for (int k = 0; k < count; k++) {
        tile->cells[k] = (float)((tile->cells[k] - mean) * scale);
    }
}

void tile_fill(struct tile *tile, uint64_t seed, int coarsest, int finest, double fall)
{
    for (int j = 0; j < TILE_CELLS; j++) {
        for (int i = 0; i < TILE_CELLS; i++) {
            double value = 0;
            double height = 1;
            for (int period = coarsest; period <= finest; period *= 2) {
                double step = (double)period / TILE_CELLS;
                value += height * value_2d(seed + (uint64_t)period, period, i * step, j * step);
                height *= fall;
            }
            tile->cells[j * TILE_CELLS + i] = (float)value;
        }
    }
    normalise(tile);
}

// floor() without a library call: this is the innermost loop of a picture.
static int floor_int(double x)
{
    int whole = (int)x;
    return whole - (x < whole);
}

float tile_at(const struct tile *tile, double x, double y)
{
    int fx = floor_int(x);
    int fy = floor_int(y);
    float s = (float)(x - fx);
    float t = (float)(y - fy);
    unsigned i = (unsigned)fx % TILE_CELLS;
    unsigned j = (unsigned)fy % TILE_CELLS;
    unsigned i1 = (i + 1) % TILE_CELLS;
    unsigned j1 = (j + 1) % TILE_CELLS;
    const float *row0 = tile->cells + j * TILE_CELLS;
    const float *row1 = tile->cells + j1 * TILE_CELLS;
    float low = row0[i] + s * (row0[i1] - row0[i]);
    float high = row1[i] + s * (row1[i1] - row1[i]);
    return low + t * (high - low);
}
