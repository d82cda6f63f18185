#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The scorer itself: the truth against itself is perfect, and what is spoilt on purpose is noticed.

The truths are those of fixtures/photos. What a perfect program would say is made from them.
"""
import copy
import json
import pathlib
import sys
import unittest

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
sys.dont_write_bytecode = True

import compare  # noqa: E402
import figures  # noqa: E402
import geometry  # noqa: E402

PHOTOS = HERE.parent.parent / "fixtures" / "photos"
SQUARE = [[0, 0], [4, 0], [4, 4], [0, 4]]


def around(value, width=0.01):
    return [value - width, value + width]


def perfect_band(band):
    return {"rf": band["rf"], "rf_interval": around(band["rf"]), "share": band["share"],
            "share_interval": around(band["share"]), "hue_deg": band["hue_deg"]}


def perfect_strip(strip):
    return {
        "corners_px": strip["corners"], "origin": strip["origin_frac"], "front": strip["front_frac"],
        "front_seen": "dye" if strip["front_visible"] else "no",
        "bands": [perfect_band(b) for b in strip["bands"]],
        "retained_share": strip["retained_share"],
        "retained_interval": around(strip["retained_share"]),
        "bound_share": strip["bound_share"], "bound_interval": around(strip["bound_share"]),
        "profile": {"position": strip["profile"]["pos"], "load": strip["profile"]["load"]},
        "warnings": [],
    }


def perfect_pair(pair):
    index = 100 * pair["dried_bound"]
    return {"index": index, "index_interval": around(index, 1), "level": "none" if index < 2 else "strong",
            "water_resistant": pair["water_resistant_component"]}


def truths():
    return [json.loads(f.read_text()) for f in sorted(PHOTOS.glob("*.truth.json"))]


def perfect(truth):
    photo = {"error": None, "warnings": [], "strips": [perfect_strip(s) for s in truth["strips"]]}
    return copy.deepcopy(photo), [perfect_pair(p) for p in compare.true_pairs(truth)]


def score(truth, photo, pairs):
    record = compare.compare_photo(photo, truth)
    record["pairs"] = compare.compare_pairs(pairs, compare.true_pairs(truth))
    record["seconds"] = 1.0
    return record


def figures_after(spoil, truth):
    """The figures after something was done to perfect results."""
    photo, pairs = perfect(truth)
    spoil(photo["strips"])
    return figures.of_records([score(truth, photo, pairs)])


class Geometry(unittest.TestCase):
    def test_overlap_of_squares_by_hand(self):
        shifted = [[x + 2, y] for x, y in SQUARE]
        self.assertAlmostEqual(geometry.overlap(SQUARE, shifted), 8 / 24)
        self.assertAlmostEqual(geometry.overlap(SQUARE, shifted[::-1]), 8 / 24)
        self.assertEqual(geometry.overlap(SQUARE, [[x + 9, y] for x, y in SQUARE]), 0.0)

    def test_ends(self):
        strip = [[0, 9], [2, 9], [2, 0], [0, 0]]
        self.assertFalse(geometry.ends_swapped(strip, strip))
        self.assertTrue(geometry.ends_swapped(strip[2:] + strip[:2], strip))


class Pairing(unittest.TestCase):
    def test_the_closest_go_first_and_nothing_twice(self):
        costs = {(0, 0): 0.03, (0, 1): 0.01, (1, 0): 0.05, (1, 1): 0.02}
        self.assertEqual(compare.closest_pairs(costs, 0.04), [(0, 1)])
        self.assertEqual(sorted(compare.closest_pairs(costs, 0.06)), [(0, 1), (1, 0)])

    def test_a_load_that_is_moved(self):
        places = [(k + 0.5) / 100 for k in range(100)]
        one = [[float(k == 30)] * 3 for k in range(100)]
        other = [[float(k == 40)] * 3 for k in range(100)]
        self.assertAlmostEqual(compare.moved_load(places, one, places, other), 0.1, 3)
        self.assertAlmostEqual(compare.moved_load(places, one, places, one), 0.0)
        self.assertIsNone(compare.moved_load(places, [[0.0] * 3] * 100, places, one))

    def test_angles_go_round(self):
        self.assertEqual(compare.angle_between(359, 2), 3)


class Scorer(unittest.TestCase):
    def test_the_truth_against_itself_is_perfect(self):
        for truth in truths():
            with self.subTest(truth["photo"]):
                record = score(truth, *perfect(truth))
                seen = figures.of_records([record])
                for name, figure in seen.items():
                    if "%" in name and figure["value"] is not None and "hidden dyes" not in name:
                        self.assertEqual(figure["value"], 100, name)
                    if "error" in name and figure["value"] is not None:
                        self.assertAlmostEqual(figure["value"], 0, 6, name)
                self.assertEqual(seen["strips elsewhere"]["value"], 0)
                self.assertEqual(seen["false alarms"]["value"], 0)
                self.assertAlmostEqual(seen["profile moved"]["value"], 0, 6)
                self.assertEqual(figures.faults_of(record), [])

    def test_swapped_ends_are_noticed(self):
        def swap(strips):
            strips[0]["corners_px"] = strips[0]["corners_px"][2:] + strips[0]["corners_px"][:2]
        for truth in truths():
            seen = figures_after(swap, truth)
            self.assertEqual(seen["strips found %"]["value"], 100)
            self.assertLess(seen["ends right %"]["value"], 100)

    def test_an_invented_band_is_noticed(self):
        def invent(strips):
            strips[0]["bands"].append(strips[0]["bands"][0] | {"rf": 1.4})
        for truth in truths():
            seen = figures_after(invent, truth)
            self.assertLess(seen["precision %"]["value"], 100)
            self.assertEqual(seen["recall all %"]["value"], 100)

    def test_a_missing_band_is_noticed(self):
        def take(strips):
            strips[0]["bands"] = []
        for truth in truths():
            seen = figures_after(take, truth)
            self.assertLess(seen["recall all %"]["value"], 100)
            self.assertEqual(seen["precision %"]["value"], 100)

    def test_a_missing_strip_takes_its_bands_along(self):
        for truth in truths():
            seen = figures_after(lambda strips: strips.pop(), truth)
            self.assertLess(seen["strips found %"]["value"], 100)
            self.assertLess(seen["recall all %"]["value"], 100)

    def test_a_strip_on_the_table_is_elsewhere(self):
        def add(strips):
            strips.append(strips[0] | {"corners_px": [[-90, -10], [-50, -10], [-50, -99], [-90, -99]]})
        for truth in truths():
            self.assertEqual(figures_after(add, truth)["strips elsewhere"]["value"], 1)

    def test_shifted_bands_are_noticed(self):
        def shift(strips):
            for strip in strips:
                for band in strip["bands"]:
                    band["rf"] += 0.02
                    band["rf_interval"] = around(band["rf"])
        for truth in truths():
            seen = figures_after(shift, truth)
            self.assertAlmostEqual(seen["rf error"]["value"], 0.02, 6)
            for name in ("covered rf %", "covered rf, front hidden %"):
                self.assertIn(seen[name]["value"], (0, None))

    def test_wrong_shares_leave_their_intervals(self):
        def change(strips):
            for strip in strips:
                for name in ("retained", "bound"):
                    strip[name + "_share"] += 0.1
                    strip[name + "_interval"] = around(strip[name + "_share"])
        for truth in truths():
            seen = figures_after(change, truth)
            self.assertAlmostEqual(seen["retained error"]["value"], 0.1, 6)
            self.assertAlmostEqual(seen["bound error"]["value"], 0.1, 6)
            self.assertEqual(seen["covered bound %"]["value"], 0)
            self.assertEqual(seen["covered retained %"]["value"], 0)

    def test_a_hidden_front_is_held_against_no_one(self):
        truth = copy.deepcopy(truths()[0])
        for strip in truth["strips"]:
            strip["front_visible"], strip["front_visible_by"] = False, []
        photo, pairs = perfect(truth)
        for strip in photo["strips"]:
            guessed = strip["front"] + 0.1
            for band in strip["bands"]:
                band["rf"] *= (strip["front"] - strip["origin"]) / (guessed - strip["origin"])
            strip["front"] = guessed
        seen = figures.of_records([score(truth, photo, pairs)])
        self.assertEqual(seen["recall all %"]["value"], 100)
        self.assertAlmostEqual(seen["rf error"]["value"], 0, 6)


class Verdicts(unittest.TestCase):
    TRUE = {"dried_bound": 0.3, "water_resistant_component": True}
    FALSE = {"dried_bound": 0.005, "water_resistant_component": False}

    def test_a_missing_pair_is_no_right_verdict(self):
        record = compare.compare_pairs([], [self.FALSE])[0]
        self.assertFalse(record["right"])
        self.assertFalse(record["false_alarm"])

    def test_false_alarm(self):
        said = perfect_pair(self.FALSE) | {"level": "partial", "water_resistant": True}
        self.assertTrue(compare.compare_pairs([said], [self.FALSE])[0]["false_alarm"])
        self.assertIsNone(compare.compare_pairs([said], [self.TRUE])[0]["false_alarm"])

    def test_area_under_roc(self):
        def pair(index, resistant):
            return {"index": index, "resistant": resistant}
        pairs = [pair(30, True), pair(5, True), pair(10, False), pair(None, False)]
        self.assertEqual(figures.area_under_roc(pairs)["value"], 0.75)
        self.assertIsNone(figures.area_under_roc(pairs[:2])["value"])


class Negatives(unittest.TestCase):
    def test_silence_and_invented_bands_are_noticed(self):
        band = {"rf": 0.5}
        silent = {"error": None, "warnings": [{"code": "no-colour-profile"}], "strips": []}
        warned = silent | {"warnings": [{"code": "blurred"}]}
        made_up = warned | {"strips": [{"bands": [band], "warnings": []}]}
        fallen = silent | {"error": {"code": compare.NO_DOCUMENT}}
        self.assertFalse(compare.handled(silent, {"bands": False}))
        self.assertFalse(compare.handled(fallen, {"bands": False}))
        self.assertTrue(compare.handled(warned, {"bands": False}))
        self.assertFalse(compare.handled(made_up, {"bands": False}))
        self.assertTrue(compare.handled(made_up, {"bands": True}))


if __name__ == "__main__":
    unittest.main()
