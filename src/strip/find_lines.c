// SPDX-License-Identifier: GPL-3.0-or-later
/* From edge pixels to straight lines.
 * 1. From the strongest edge pixel down, neighbours of like direction are gathered into a group.
 * 2. A group is a segment if a line fits it; a bent group is parted where it leaves the line most.
 * 3. Segments that lie on one line, gaps allowed, are joined: a strip's side is broken wherever a
 *    dyed band happens to be as bright as the table. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char where[] = "strip/find";
enum {
    SEGMENTS_MAX = 3000,
    REACH = 2,       /* px between neighbours of a group: bridges single lost pixels */
    GROUP_LEAST = 8, /* edge pixels */
    SPLIT_DEPTH = 6,
    STRENGTH_BINS = 512,
};
static const double TURN_DEG = 16;   /* of a pixel against its group */
static const double FIT_PX = 1.2;    /* a segment's pixels lie this close to it ... */
static const double FIT_BOW = 0.006; /* ... plus this part of its length: paper is never flat */
static const double JOIN_PX = 2.0, JOIN_BOW = 0.010, JOIN_TURN_DEG = 5;
static const double JOIN_GAP = 0.6; /* of the length on both sides of the gap */
static const double STRENGTH_CAP = 25;

struct pixel {
    uint16_t x, y;
    float along, off; /* the line's coordinates while it is fitted */
};

struct segment {
    double x, y, dx, dy, half;
    double weight, strength;
};

struct work {
    const struct find_edges *edges;
    uint8_t *taken;
    uint32_t *order; /* edge pixels, strongest first */
    size_t order_count;
    struct pixel *group;
    size_t group_size;
    struct segment *segment;
    size_t segment_count;
};

static double turn_deg(double a, double b)
{
    double d = fabs(a - b);
    return d > 90 ? 180 - d : d;
}

static double direction_deg(const struct find_edges *e, size_t at)
{
    return e->direction[at] - 0.5;
}

static size_t strength_bin(float s)
{
    size_t bin = (size_t)(s * 4);
    return bin < STRENGTH_BINS ? bin : STRENGTH_BINS - 1;
}

static void sort_pixels(struct work *w)
{
    const struct find_edges *e = w->edges;
    size_t n = (size_t)e->width * (size_t)e->height, start[STRENGTH_BINS + 1] = {0};
    for (size_t i = 0; i < n; i++)
        if (e->direction[i])
            start[STRENGTH_BINS - 1 - strength_bin(e->strength[i]) + 1]++;
    for (size_t b = 0; b < STRENGTH_BINS; b++)
        start[b + 1] += start[b];
    for (size_t i = 0; i < n; i++)
        if (e->direction[i])
            w->order[start[STRENGTH_BINS - 1 - strength_bin(e->strength[i])]++] = (uint32_t)i;
}

/* Step 1. The group's direction is the mean of doubled angles. */
static size_t gather(struct work *w, size_t seed)
{
    const struct find_edges *e = w->edges;
    size_t count = 0, next = 0, width = (size_t)e->width;
    double c2 = 0, s2 = 0, deg = direction_deg(e, seed);
    w->group[count++] =
        (struct pixel){.x = (uint16_t)(seed % width), .y = (uint16_t)(seed / width)};
    w->taken[seed] = 1;
    while (next < count) {
        struct pixel p = w->group[next++];
        double own = direction_deg(e, (size_t)p.y * width + p.x) * M_PI / 90;
        c2 += cos(own);
        s2 += sin(own);
        deg = atan2(s2, c2) * 90 / M_PI;
        if (deg < 0)
            deg += 180;
        for (int y = p.y - REACH; y <= p.y + REACH; y++)
            for (int x = p.x - REACH; x <= p.x + REACH; x++) {
                if (x < 0 || y < 0 || x >= e->width || y >= e->height || count >= w->group_size)
                    continue;
                size_t at = (size_t)y * width + (size_t)x;
                if (!e->direction[at] || w->taken[at] ||
                    turn_deg(direction_deg(e, at), deg) > TURN_DEG)
                    continue;
                w->taken[at] = 1;
                w->group[count++] = (struct pixel){.x = (uint16_t)x, .y = (uint16_t)y};
            }
    }
    return count;
}

/* Principal axis through the pixels' mean. */
static struct segment fit(struct pixel *p, size_t n, double *ret_rms)
{
    double mx = 0, my = 0, xx = 0, xy = 0, yy = 0, low = 0, high = 0;
    for (size_t i = 0; i < n; i++) {
        mx += p[i].x;
        my += p[i].y;
    }
    mx /= (double)n;
    my /= (double)n;
    for (size_t i = 0; i < n; i++) {
        double x = p[i].x - mx, y = p[i].y - my;
        xx += x * x;
        xy += x * y;
        yy += y * y;
    }
    double a = 0.5 * atan2(2 * xy, xx - yy);
    struct segment s = {.dx = cos(a), .dy = sin(a), .weight = (double)n};
    double square = 0;
    for (size_t i = 0; i < n; i++) {
        double x = p[i].x - mx, y = p[i].y - my;
        p[i].along = (float)(x * s.dx + y * s.dy);
        p[i].off = (float)(y * s.dx - x * s.dy);
        square += (double)p[i].off * (double)p[i].off;
        low = fmin(low, (double)p[i].along);
        high = fmax(high, (double)p[i].along);
    }
    s.x = mx + s.dx * 0.5 * (low + high);
    s.y = my + s.dy * 0.5 * (low + high);
    s.half = 0.5 * (high - low) + 0.5;
    *ret_rms = sqrt(square / (double)n);
    return s;
}

static double mean_strength(const struct find_edges *e, const struct pixel *p, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += fmin((double)e->strength[(size_t)p[i].y * (size_t)e->width + p[i].x], STRENGTH_CAP);
    return sum / (double)n;
}

/* Moves pixels with along < cut to the front and returns their number. */
static size_t part(struct pixel *p, size_t n, double cut)
{
    size_t front = 0;
    for (size_t i = 0; i < n; i++)
        if ((double)p[i].along < cut) {
            struct pixel swap = p[i];
            p[i] = p[front];
            p[front++] = swap;
        }
    return front;
}

/* Step 2. A bent group leaves its line most at its ends and in its middle, so it is parted in the
 * middle. */
static void add_segments(struct work *w, struct pixel *p, size_t n, int depth)
{
    if (n < GROUP_LEAST || w->segment_count >= SEGMENTS_MAX)
        return;
    double rms;
    struct segment s = fit(p, n, &rms);
    if (rms > FIT_PX + FIT_BOW * 2 * s.half && depth > 0) {
        size_t front = part(p, n, 0.0);
        if (front > 0 && front < n) {
            add_segments(w, p, front, depth - 1);
            add_segments(w, p + front, n - front, depth - 1);
        }
        return;
    }
    s.strength = mean_strength(w->edges, p, n);
    w->segment[w->segment_count++] = s;
}

static int longer_first(const void *a, const void *b)
{
    const struct segment *s = a, *t = b;
    double d = t->half * t->strength - s->half * s->strength;
    return d > 0 ? 1 : d < 0 ? -1 : 0;
}

struct chain {
    double x, y, dx, dy, low, high; /* line through (x, y); covered from low to high */
    double covered;                 /* px */
    double strength;                /* sum of px x strength */
};

/* The line through the outer ends of two segments, the chain's own or the new one's. */
static void chain_add(struct chain *c, const struct segment *s)
{
    double sign = s->dx * c->dx + s->dy * c->dy < 0 ? -1 : 1;
    double along = (s->x - c->x) * c->dx + (s->y - c->y) * c->dy;
    double low = fmin(c->low, along - s->half), high = fmax(c->high, along + s->half);
    double w0 = c->covered, w1 = 2 * s->half;
    /* mean of the middles and of the directions, weighted by lengths; the joining vector counts
     * like an edge as long as itself */
    double mx = c->x + c->dx * 0.5 * (c->low + c->high),
           my = c->y + c->dy * 0.5 * (c->low + c->high);
    double jx = s->x - mx, jy = s->y - my;
    double j = hypot(jx, jy), jsign = jx * c->dx + jy * c->dy < 0 ? -1 : 1;
    double dx = w0 * c->dx + w1 * sign * s->dx, dy = w0 * c->dy + w1 * sign * s->dy;
    if (j > 0) {
        dx += jsign * jx;
        dy += jsign * jy;
    }
    double length = hypot(dx, dy);
    double x = (mx * w0 + s->x * w1) / (w0 + w1), y = (my * w0 + s->y * w1) / (w0 + w1);
    double shift = (x - c->x) * c->dx + (y - c->y) * c->dy;
    *c = (struct chain){.x = x,
                        .y = y,
                        .dx = dx / length,
                        .dy = dy / length,
                        .low = low - shift,
                        .high = high - shift,
                        .covered = c->covered + w1,
                        .strength = c->strength + w1 * s->strength};
}

static bool chain_takes(const struct chain *c, const struct segment *s)
{
    double cross = fabs(c->dx * s->dy - c->dy * s->dx);
    double turn = JOIN_TURN_DEG * M_PI / 180 + FIT_PX / s->half; /* short ones point anywhere */
    if (cross > sin(fmin(turn, 0.5)))
        return false;
    double along = (s->x - c->x) * c->dx + (s->y - c->y) * c->dy;
    double off = fabs((s->y - c->y) * c->dx - (s->x - c->x) * c->dy);
    double gap = fmax(along - s->half - c->high, c->low - along - s->half);
    double span = fmax(c->high, along + s->half) - fmin(c->low, along - s->half);
    if (gap < -0.3 * 2 * s->half) /* lies beside, not beyond */
        return false;
    return gap < JOIN_GAP * (c->high - c->low + 2 * s->half) && off < JOIN_PX + JOIN_BOW * span;
}

static struct chain chain_of(const struct segment *s)
{
    return (struct chain){.x = s->x,
                          .y = s->y,
                          .dx = s->dx,
                          .dy = s->dy,
                          .low = -s->half,
                          .high = s->half,
                          .covered = 2 * s->half,
                          .strength = 2 * s->half * s->strength};
}

static struct find_line line_of(const struct chain *c)
{
    double middle = 0.5 * (c->low + c->high), length = c->high - c->low;
    return (struct find_line){.x = c->x + c->dx * middle,
                              .y = c->y + c->dy * middle,
                              .dx = c->dx,
                              .dy = c->dy,
                              .half = length / 2,
                              .covered = fmin(c->covered / length, 1),
                              .strength = c->strength / c->covered};
}

/* The nearest segment that continues the chain. */
static size_t chain_next(const struct work *w, const struct chain *c, const uint8_t *used)
{
    size_t best = w->segment_count;
    double best_gap = 1e9;
    for (size_t i = 0; i < w->segment_count; i++) {
        const struct segment *s = &w->segment[i];
        if (used[i] || !chain_takes(c, s))
            continue;
        double along = (s->x - c->x) * c->dx + (s->y - c->y) * c->dy;
        double gap = fmax(along - s->half - c->high, c->low - along - s->half);
        if (gap < best_gap) {
            best_gap = gap;
            best = i;
        }
    }
    return best;
}

static int stronger_first(const void *a, const void *b)
{
    const struct find_line *s = a, *t = b;
    double d = t->half * t->covered * t->strength - s->half * s->covered * s->strength;
    return d > 0 ? 1 : d < 0 ? -1 : 0;
}

/* Step 3. Long segments stay as lines of their own beside the chain they went into: a chain may
 * have run on into something else. */
static void join(struct work *w, struct find_line *line, size_t *count, uint8_t *used)
{
    double side = fmin(w->edges->width, w->edges->height);
    qsort(w->segment, w->segment_count, sizeof *w->segment, longer_first);
    for (size_t i = 0; i < w->segment_count; i++) {
        const struct segment *seed = &w->segment[i];
        struct chain c = chain_of(seed);
        if (2 * seed->half > side * 0.06)
            line[(*count)++] = line_of(&c);
        if (used[i])
            continue;
        used[i] = 1;
        bool joined = false;
        for (size_t k; (k = chain_next(w, &c, used)) < w->segment_count; joined = true) {
            used[k] = 1;
            chain_add(&c, &w->segment[k]);
        }
        if (joined && c.high - c.low > side * 0.06)
            line[(*count)++] = line_of(&c);
    }
}

sl_code find_lines_fill(const struct find_edges *edges, struct find_lines *ret,
                        struct sl_status *status)
{
    size_t n = (size_t)edges->width * (size_t)edges->height, count = 0;
    struct work w = {.edges = edges};
    for (size_t i = 0; i < n; i++)
        w.order_count += edges->direction[i] != 0;
    w.group_size = w.order_count;
    w.taken = calloc(n, 1);
    w.order = malloc((w.order_count + 1) * sizeof *w.order);
    w.group = malloc((w.order_count + 1) * sizeof *w.group);
    w.segment = malloc(SEGMENTS_MAX * sizeof *w.segment);
    struct find_line *line = malloc(2 * SEGMENTS_MAX * sizeof *line);
    uint8_t *used = calloc(SEGMENTS_MAX, 1);
    sl_code code = SL_OK;
    if (!w.taken || !w.order || !w.group || !w.segment || !line || !used) {
        code = sl_status_set(status, SL_E_MEMORY, where,
                             "Close other programs or use a smaller photo.",
                             "There is not enough memory to look for lines.");
        goto done;
    }
    sort_pixels(&w);
    for (size_t i = 0; i < w.order_count; i++)
        if (!w.taken[w.order[i]])
            add_segments(&w, w.group, gather(&w, w.order[i]), SPLIT_DEPTH);
    join(&w, line, &count, used);
    qsort(line, count, sizeof *line, stronger_first);
    ret->count = count < FIND_LINES_MAX ? count : FIND_LINES_MAX;
    memcpy(ret->item, line, ret->count * sizeof *line);
done:
    free(w.taken);
    free(w.order);
    free(w.group);
    free(w.segment);
    free(line);
    free(used);
    return code;
}
