#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job on photos of which everything is known: fixtures/photos, drawn by the project's renderer.

The renderer shares no code with what it tests; its truths hold places, Rf, shares and bound shares of
every strip. Limits are those the project sets itself: strips found (overlap 0.8 at least), and for tidy ones
median |dRf| 0.006 at most, no band made up, for smears the profile within 0.02; and for both the right answer,
with what drying does and what a longer soak would do.
"""
import json
import pathlib
import statistics
import sys

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "cli"))

from harness import holds, main, near, same  # noqa: E402

PHOTOS = HERE.parent.parent / "fixtures" / "photos"
OVERLAP = 0.8
SAME_BAND_RF = 0.04
MEDIAN_RF = 0.006
FRONT_LINE_RF = 0.035  # the tide line may be told as a band of its own
SHARE = 0.06
MARK = 0.012           # origin and front, of the strip's length
MARK_SMEARED = 0.04
MOVED = 0.02           # how far load lies from where it should, of the length
BEYOND = 0.02          # the 95 % interval of a retained or bound share
RESISTANT = 0.08       # retained share of the dried strip


def truth_of(name):
    return json.loads((PHOTOS / f"{name}.truth.json").read_text())


def area(polygon):
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(polygon, polygon[1:] + polygon[:1]))


def inside_part(subject, clip):
    """Sutherland and Hodgman, Reentrant polygon clipping, CACM 17 (1974) 32; both convex."""
    for a, b in zip(clip, clip[1:] + clip[:1]):
        def side(p):
            return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
        out = []
        for p, q in zip(subject, subject[1:] + subject[:1]):
            if side(p) >= 0:
                out.append(p)
            if (side(p) >= 0) != (side(q) >= 0):
                t = side(p) / (side(p) - side(q))
                out.append([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])])
        subject = out
        if not subject:
            return 0.0
    return abs(area(subject))


def overlap(a, b):
    a, b = (p if area(p) > 0 else p[::-1] for p in (a, b))
    common = inside_part(a, b)
    return common / (abs(area(a)) + abs(area(b)) - common)


def read(run, verb, name, *arguments):
    done = run.strandline(verb, "--json", "--quiet", *arguments, str(PHOTOS / f"{name}.jpg"))
    same(done.code, 0, "exit code")
    return done.document()


def check_places(seen, true, allowed=MARK):
    same(len(seen), len(true), "strips")
    for strip, wanted in zip(seen, true):
        holds(overlap(strip["corners_px"], wanted["corners"]) >= OVERLAP, "the strip is elsewhere")
        near(strip["origin"], wanted["origin_frac"], allowed, "origin")
        near(strip["front"], wanted["front_frac"], allowed, "front")


def at_positions(positions, values, wanted):
    """Linear in between, nothing beyond."""
    out, k = [], 0
    for x in wanted:
        while k < len(positions) - 2 and positions[k + 1] < x:
            k += 1
        t = (x - positions[k]) / (positions[k + 1] - positions[k])
        out.append(values[k] + t * (values[k + 1] - values[k]) if 0 <= t <= 1 else 0.0)
    return out


def moved(strip, wanted):
    """How far load has to be moved on average to make one profile of the other, of the length: the
    earth mover's distance in one dimension (Vallender, Theory Probab. Appl. 18 (1974) 784)."""
    place = wanted["profile"]["pos"]
    a = [sum(row) for row in wanted["profile"]["load"]]
    seen = [max(sum(row), 0.0) for row in strip["profile"]["load"]]
    b = at_positions(strip["profile"]["position"], seen, place)
    ahead = total = 0.0
    for x, y in zip(a, b):
        ahead += x / sum(a) - y / sum(b)
        total += abs(ahead)
    return total / len(a)


def check_bands(seen, true):
    """Differences of Rf of the bands that stand apart."""
    off = []
    for wanted in true["bands"]:
        if not wanted["separated"] or wanted["faint"]:
            continue
        holds(seen["bands"], "no band was found")
        band = min(seen["bands"], key=lambda b: abs(b["rf"] - wanted["rf"]))
        near(band["rf"], wanted["rf"], SAME_BAND_RF, "Rf")
        near(band["share"], wanted["share"], SHARE, f"share of the band at Rf {wanted['rf']}")
        same(band["retained"], wanted["retained"], f"retained, band at Rf {wanted['rf']}")
        off.append(abs(band["rf"] - wanted["rf"]))
    for band in seen["bands"]:
        known = any(abs(band["rf"] - w["rf"]) <= SAME_BAND_RF for w in true["bands"])
        holds(known or abs(band["rf"] - 1) <= FRONT_LINE_RF, f"made up: band at Rf {band['rf']}")
    return off


def check_shares(seen, true):
    for strip, wanted in zip(seen, true):
        for kind in ("retained", "bound"):
            low, high = strip[f"{kind}_interval"]
            share = wanted[f"{kind}_share"]
            holds(low - BEYOND <= share <= high + BEYOND, f"{kind} share {share} is not within {low} to {high}")


def check_verdict(document, true, answer):
    """The answer, and no statement that is wrong."""
    same(len(document["pairs"]), 1, "pairs")
    pair = document["pairs"][0]
    same((pair["unjudged"], pair["answer"]), (None, answer), "why no verdict, and the answer")
    same(pair["water_resistant"], true["dried_retained"] >= RESISTANT, "flag")
    more = true["dried_retained"] - true["immediate_retained"] >= 0.02
    for what, likely, is_so in (
            ("flag", pair["water_resistant_probability"], true["dried_retained"] >= RESISTANT),
            ("holds more once dry", pair["drying"]["probability"], more),
            ("remains in a longer soak", pair["soak"]["probability"], true["dried_bound"] >= RESISTANT)):
        holds((likely >= 0.5) == is_so, f"{what}: {likely} is told, {is_so} is true")


def check_pair(run, name, answer):
    truth = truth_of(name)
    document = read(run, "pair", name)
    seen = document["photos"][0]["strips"]
    check_places(seen, truth["strips"])
    off = [d for s, t in zip(seen, truth["strips"]) for d in check_bands(s, t)]
    holds(statistics.median(off) <= MEDIAN_RF, f"median |dRf| {statistics.median(off)}")
    check_shares(seen, truth["strips"])
    check_verdict(document, truth["pair"], answer)


def an_ink_with_a_part_that_stays(run):
    check_pair(run, "bench-pair", "stays")


def an_ink_that_washes_out(run):
    check_pair(run, "washable-pair", "washes away")


def a_row_of_four_inks(run):
    truth = truth_of("ink-row")
    document = read(run, "read", "ink-row", "--roles", "single,single,single,single")
    seen = document["photos"][0]["strips"]
    check_places(seen, truth["strips"])
    off = [d for s, t in zip(seen, truth["strips"]) for d in check_bands(s, t)]
    holds(statistics.median(off) <= MEDIAN_RF, f"median |dRf| {statistics.median(off)}")


def a_smear_beside_a_ruler_and_a_card(run):
    """The kitchen table: no other thing is taken for a strip, the profile is where it should be."""
    truth = truth_of("kitchen-pair")
    document = read(run, "pair", "kitchen-pair")
    seen = document["photos"][0]["strips"]
    check_places(seen, truth["strips"], MARK_SMEARED)
    for strip, wanted in zip(seen, truth["strips"]):
        holds(moved(strip, wanted) <= MOVED, f"the profile is off by {moved(strip, wanted)}")
    check_shares(seen, truth["strips"])
    check_verdict(document, truth["pair"], "stays")


TESTS = [
    an_ink_with_a_part_that_stays, an_ink_that_washes_out, a_row_of_four_inks,
    a_smear_beside_a_ruler_and_a_card,
]

if __name__ == "__main__":
    sys.exit(main(TESTS))
