# SPDX-License-Identifier: GPL-3.0-or-later
"""How far two outlines cover each other. Corners are [x, y], in either sense of rotation."""
import math


def signed_area(polygon):
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(polygon, polygon[1:] + polygon[:1]))


def area(polygon):
    return abs(signed_area(polygon))


def _cut(polygon, a, b):
    """What lies to the left of the line from a to b (y upwards)."""
    def side(p):
        return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
    kept = []
    for p, q in zip(polygon, polygon[1:] + polygon[:1]):
        here, there = side(p), side(q)
        if here >= 0:
            kept.append(p)
        if (here >= 0) != (there >= 0):
            t = here / (here - there)
            kept.append([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])])
    return kept


def common_area(a, b):
    """Sutherland and Hodgman, Reentrant polygon clipping, CACM 17 (1974) 32; b is convex."""
    b = b if signed_area(b) > 0 else b[::-1]
    for first, second in zip(b, b[1:] + b[:1]):
        a = _cut(a, first, second)
        if not a:
            return 0.0
    return area(a)


def overlap(a, b):
    """Common area over the area of both together: 0 to 1."""
    common = common_area(a, b)
    together = area(a) + area(b) - common
    return common / together if together > 0 else 0.0


def _axis(corners):
    """From the middle of the lower edge to the middle of the upper one."""
    return [0.5 * (corners[2][k] + corners[3][k] - corners[0][k] - corners[1][k]) for k in (0, 1)]


def ends_swapped(seen, true):
    a, b = _axis(seen), _axis(true)
    return a[0] * b[0] + a[1] * b[1] < 0


def farthest_corner(seen, true):
    return max(math.dist(a, b) for a, b in zip(seen, true))
