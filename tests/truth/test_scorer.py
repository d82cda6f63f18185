#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The scorer itself: the truth against itself is perfect, and what is spoilt on purpose is noticed.

The truths are those of fixtures/photos. What a perfect program would say is made from them.
"""
import copy
import json
import os
import pathlib
import sys
import tempfile
import unittest
import xml.etree.ElementTree

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
sys.dont_write_bytecode = True

import bench  # noqa: E402
import compare  # noqa: E402
import draw  # noqa: E402
import figures  # noqa: E402
import folder  # noqa: E402
import geometry  # noqa: E402
import limits  # noqa: E402
import markdown  # noqa: E402
import pictures  # noqa: E402
import read  # noqa: E402

PHOTOS = HERE.parent.parent / "fixtures" / "photos"
SQUARE = [[0, 0], [4, 0], [4, 4], [0, 4]]


def around(value, width=0.01):
    return [value - width, value + width]


def perfect_band(band):
    return {"rf": band["rf"], "rf_interval": around(band["rf"]), "share": band["share"],
            "share_interval": around(band["share"]), "hue_deg": band["hue_deg"],
            "lab": band["lab"], "lab_se": [0.1] * 3}


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
    retained = pair["dried_retained"]
    resistant, strong = retained >= 0.08, retained >= 0.3
    level = "strong" if strong else "partial" if resistant else "trace" if retained >= 0.02 else "none"
    more = retained - pair["immediate_retained"] >= 0.02
    return {"unjudged": None, "index": 100 * retained, "index_interval": around(100 * retained, 1), "level": level,
            "level_probability": {name: float(name == level) for name in ("none", "trace", "partial", "strong")},
            "water_resistant_probability": float(resistant), "answer_probability": 1.0,
            "answer": "stays" if strong else "partly stays" if resistant else "washes away",
            "drying": {"probability": float(more)}, "soak": {"probability": float(pair["dried_bound"] >= 0.08)},
            "warnings": []}


def refused_pair(why):
    return {"unjudged": why, "index": None, "index_interval": [None, None], "level": None,
            "level_probability": dict.fromkeys(("none", "trace", "partial", "strong")),
            "water_resistant_probability": None, "answer_probability": None, "answer": "none",
            "drying": {"probability": None}, "soak": {"probability": None}, "warnings": []}


def truths():
    return [json.loads(f.read_text()) for f in sorted(PHOTOS.glob("*.truth.json"))]


def perfect(truth):
    photo = {"error": None, "warnings": [], "strips": [perfect_strip(s) for s in truth["strips"]]}
    return copy.deepcopy(photo), [perfect_pair(p) for p in compare.true_pairs(truth)]


def score(truth, photo, pairs):
    record = compare.compare_photo(photo, truth)
    record["pairs"] = compare.compare_pairs(pairs, compare.true_pairs(truth))
    return record | {"seconds": 1.0, "path": truth["photo"], "job": {"nothing_retained": False}}


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
                    if figure["value"] is None or name == "hidden dyes told %":
                        continue
                    if name in ("pairs without a verdict %", "flag open %", "false alarms"):
                        self.assertEqual(figure["value"], 0, name)
                    elif "%" in name:
                        self.assertEqual(figure["value"], 100, name)
                    if "error" in name or "Brier" in name:
                        self.assertAlmostEqual(figure["value"], 0, 6, name)
                self.assertEqual(seen["strips elsewhere"]["value"], 0)
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

    def test_wrong_colours_are_noticed(self):
        def change(strips):
            for strip in strips:
                for band in strip["bands"]:
                    lab = band["lab"]
                    band["lab"] = [lab[0] + 0.19, lab[1], lab[2] - 0.2]  # 1.96 standard errors are 0.196
                    band["hue_deg"] += 7
        for truth in truths():
            seen = figures_after(change, truth)
            self.assertAlmostEqual(seen["covered colour %"]["value"], 100 * 2 / 3)
            self.assertAlmostEqual(seen["hue error deg"]["value"], 7)

    def test_a_pale_hue_is_not_asked_for(self):
        truth = copy.deepcopy(truths()[0])
        for strip in truth["strips"]:
            for band in strip["bands"]:
                band["chroma"] = compare.COLOURED - 0.1
        seen = figures.of_records([score(truth, *perfect(truth))])
        self.assertEqual(seen["hue error deg"]["count"], 0)

    def test_overlapping_bands_of_another_hue_are_counted_apart(self):
        def band(rf, hue, rs_prev, rs_next):
            return {"rf": rf, "hue_deg": hue, "chroma": 30, "rs_prev": rs_prev, "rs_next": rs_next}
        bands = [band(0.1, 10, None, 0.6), band(0.2, 100, 0.6, 0.6), band(0.3, 110, 0.6, 0.3),
                 band(0.4, 250, 0.3, None)]
        self.assertEqual([compare.overlapping(bands, k) for k in range(4)], [True, True, False, False])

    def test_a_wild_tail_shows_in_the_95th_percentile(self):
        self.assertEqual(figures.spread([0.0] * 18 + [1.0, 1.0])["value"], 0)
        self.assertAlmostEqual(figures.spread([0.0] * 18 + [1.0, 1.0])["p95"], 1)

    def test_wrong_shares_leave_their_intervals(self):
        def change(strips):
            for strip in strips:
                for name in ("retained", "bound"):
                    strip[name + "_share"] += 0.1
                    strip[name + "_interval"] = around(strip[name + "_share"])
                for band in strip["bands"]:
                    band["share"] += 0.1
                    band["share_interval"] = around(band["share"])
        for truth in truths():
            seen = figures_after(change, truth)
            self.assertAlmostEqual(seen["retained error"]["value"], 0.1, 6)
            self.assertAlmostEqual(seen["bound error"]["value"], 0.1, 6)
            self.assertAlmostEqual(seen["share error"]["value"], 0.1, 6)
            self.assertEqual(seen["covered share %"]["value"], 0)
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
        self.assertAlmostEqual(seen["place error, front hidden"]["value"], 0, 6)
        self.assertEqual(seen["place error, front hidden"]["count"], seen["rf error"]["count"])

    def test_places_count_where_the_front_is_hidden(self):
        truth = copy.deepcopy(truths()[0])
        truth["strips"][0]["front_visible"] = False
        photo, pairs = perfect(truth)
        for strip in photo["strips"]:
            for band in strip["bands"]:
                band["rf"] += 0.01
        seen = figures.of_records([score(truth, photo, pairs)])
        self.assertAlmostEqual(seen["place error, front hidden"]["value"], 0.01, 6)
        self.assertEqual(seen["place error, front hidden"]["count"], len(truth["strips"][0]["bands"]))


class Verdicts(unittest.TestCase):
    TRUE = {"immediate_retained": 0.1, "dried_retained": 0.35, "dried_bound": 0.3}
    FALSE = {"immediate_retained": 0.004, "dried_retained": 0.005, "dried_bound": 0.004}

    @staticmethod
    def figures_of(*said_and_true):
        """The figures of pairs alone: [(what was said, what is true)]."""
        truth = truths()[0]
        said, true = zip(*said_and_true)
        pairs = [compare.pair_record(*both) for both in zip(said, true)]
        return figures.of_records([score(truth, *perfect(truth)) | {"pairs": pairs}])

    def sure(self, true, p, **more):
        levels = {"none": 1 - p, "trace": 0.0, "partial": p / 4, "strong": 3 * p / 4}
        return perfect_pair(true) | {"water_resistant_probability": p, "level_probability": levels} | more

    def test_levels_begin_at_their_limits(self):
        for retained, level in ((0.0199, "none"), (0.02, "trace"), (0.0799, "trace"), (0.08, "partial"),
                                (0.2999, "partial"), (0.3, "strong")):
            self.assertEqual(compare.true_level(retained), level)
            seen = compare.pair_record(perfect_pair(self.TRUE), self.TRUE | {"dried_retained": retained})
            self.assertEqual((seen["level_right"], seen["resistant"]), (level == "strong", retained >= 0.08))

    def test_a_missing_pair_and_an_unjudged_one_have_no_verdict(self):
        right, refused = (perfect_pair(self.TRUE), self.TRUE), (refused_pair("two inks"), self.TRUE)
        seen = self.figures_of(right, right, refused, (None, self.TRUE), (None, self.FALSE))
        self.assertEqual(seen["pairs without a verdict %"]["value"], 60)
        self.assertEqual(seen["pairs without a verdict %"]["why"], {"no pair": 2, "two inks": 1})
        for name in ("flag right %", "level right %", "answers true %", "flag, 90 % sure, true %",
                     "drying, 90 % sure, true %", "soak, likely, true %"):
            self.assertEqual((seen[name]["value"], seen[name]["count"]), (100, 2), name)
        self.assertEqual((seen["flag Brier score"]["value"], seen["flag Brier score"]["count"]), (0, 2))
        self.assertEqual((seen["false alarms"]["value"], seen["false alarms"]["count"]), (0, 1))
        self.assertIn("no verdict: no pair", [what for _, what in figures.faults_of_pair(
            compare.pair_record(None, self.TRUE))])

    def test_too_few_pairs_are_missing(self):
        record = compare.compare_pairs([perfect_pair(self.TRUE)], [self.TRUE, self.FALSE])
        self.assertEqual([r["unjudged"] for r in record], [None, "no pair"])

    def test_a_wrong_flag(self):
        seen = self.figures_of((self.sure(self.TRUE, 0.9), self.TRUE), (self.sure(self.TRUE, 0.09), self.TRUE),
                               (self.sure(self.FALSE, 0.5), self.FALSE), (self.sure(self.FALSE, 0.49), self.FALSE))
        self.assertEqual(seen["flag right %"]["value"], 50)
        self.assertEqual((seen["flag, 90 % sure, true %"]["value"], seen["flag, 90 % sure, true %"]["count"]),
                         (50, 2))
        self.assertAlmostEqual(seen["flag Brier score"]["value"], (0.01 + 0.91 ** 2 + 0.25 + 0.49 ** 2) / 4)
        wrong = compare.pair_record(self.sure(self.TRUE, 0.03), self.TRUE)
        self.assertEqual([what for _, what in figures.faults_of_pair(wrong)],
                         ["flag wrong, 97 % sure: index 35.0 (34.0 to 36.0), true 35.0"])

    def test_an_open_flag(self):
        seen = self.figures_of(*((self.sure(self.TRUE, p), self.TRUE) for p in (0.32, 0.33, 0.66, 0.67)))
        self.assertEqual(seen["flag open %"]["value"], 50)

    def test_each_answer_has_an_event_of_its_own(self):
        for answer, true in (("washes away", [1, 0, 0]), ("partly stays", [0, 1, 1]), ("stays", [0, 0, 1]),
                             ("open", [None, None, None])):
            seen = [compare.pair_record(self.sure(self.TRUE, 0.5, answer=answer, answer_probability=0.8),
                                        self.TRUE | {"dried_retained": retained})["answer"]
                    for retained in (0.0799, 0.2999, 0.3)]
            self.assertEqual([s["true"] for s in seen], true)
            self.assertEqual(seen[0]["p"], None if answer == "open" else 0.8)

    def test_drying_and_soak_have_truths_of_their_own(self):
        said = perfect_pair(self.TRUE) | {"drying": {"probability": 0.97}, "soak": {"probability": 0.02}}
        as_said = {"immediate_retained": 0.329, "dried_retained": 0.35, "dried_bound": 0.079}
        not_so = {"immediate_retained": 0.331, "dried_retained": 0.35, "dried_bound": 0.08}
        seen = self.figures_of((said, as_said), (said, as_said), (said, as_said), (said, not_so))
        for name, sure, off in (("drying", "90 % sure", 0.03), ("soak", "likely", 0.02)):
            self.assertEqual(seen[f"{name}, {sure}, true %"]["value"], 75)
            self.assertAlmostEqual(seen[f"{name} Brier score"]["value"], (3 * off ** 2 + (1 - off) ** 2) / 4)
        self.assertEqual(seen["flag right %"]["value"], 100)

    def test_false_alarm(self):
        def alarm(p, true):
            return compare.pair_record(self.sure(true, p), true)["false_alarm"]
        self.assertEqual([alarm(p, self.FALSE) for p in (0.89, 0.9)], [False, True])
        self.assertIsNone(alarm(0.99, self.FALSE | {"dried_retained": 0.02}))
        self.assertFalse(compare.pair_record(refused_pair("blank"), self.FALSE)["false_alarm"])
        said = compare.pair_record(self.sure(self.FALSE, 0.99), self.FALSE)
        self.assertIn("false alarm", [what for _, what in figures.faults_of_pair(said)])

    def test_inks_that_no_paper_holds(self):
        held = self.FALSE | {"dried_retained": 0.2, "dried_bound": 0.0}
        said = [(self.sure(self.FALSE, 0.99, answer="partly stays"), self.FALSE),
                (perfect_pair(self.FALSE) | {"soak": {"probability": 0.9}}, self.FALSE),
                (perfect_pair(held), held), (refused_pair("blank"), self.FALSE), (None, self.FALSE)]
        figure = figures.of_nothing_retained([{"pairs": [compare.pair_record(*both)]} for both in said])
        self.assertEqual((figure["value"], figure["count"]), (1, 4))
        self.assertEqual(figure["soak"], {"value": 1, "count": 3})
        self.assertEqual(figure["said"], {"blank": 1, "no pair": 1, "partly stays": 2, "washes away": 1})
        self.assertIsNone(figures.of_nothing_retained([])["value"])

    def test_a_pair_photographed_strip_by_strip(self):
        photos = [{"strips": [{"retained_share": r, "bound_share": b}]} for r, b in ((0.1, 0.01), (0.3, 0.2))]
        self.assertEqual(compare.separate_pair(photos),
                         {"immediate_retained": 0.1, "dried_retained": 0.3, "dried_bound": 0.2})

    def test_area_under_roc(self):
        def pair(index, resistant):
            return {"index": index, "resistant": resistant}
        pairs = [pair(30, True), pair(5, True), pair(10, False), pair(None, False)]
        self.assertEqual(figures.area_under_roc(pairs), {"value": 0.75, "count": 4})
        self.assertIsNone(figures.area_under_roc(pairs[:2])["value"])


class Reliability(unittest.TestCase):
    @staticmethod
    def said(p, true, false):
        return [{"p": p, "true": True}] * true + [{"p": p, "true": False}] * false

    def test_tenths_by_hand(self):
        rows = figures.tenths(self.said(0.0, 0, 2) + self.said(0.1, 1, 3) + self.said(0.94, 1, 0) +
                              self.said(1.0, 2, 0) + [{"p": None, "true": True}])
        self.assertEqual([row["count"] for row in rows], [2, 4, 0, 0, 0, 0, 0, 0, 0, 3])
        self.assertEqual([(row["from"], row["to"]) for row in rows][::9], [(0, 10), (90, 100)])
        self.assertEqual((rows[0]["said"], rows[0]["true"], rows[0]["off"]), (0, 0, 0))
        self.assertEqual((rows[1]["true"], rows[1]["off"]), (25, 15))
        self.assertAlmostEqual(rows[9]["said"], 98)
        self.assertAlmostEqual(rows[9]["off"], 2)
        self.assertIsNone(rows[2]["off"])

    def test_few_of_a_tenth_say_nothing(self):
        few, enough = self.said(0.95, 0, 29), self.said(0.15, 0, 30)
        worst = figures.farthest_off(figures.tenths(few + enough))
        self.assertAlmostEqual(worst["value"], 15)
        self.assertEqual(worst["count"], 30)
        self.assertEqual(figures.farthest_off(figures.tenths(few)), {"value": None, "count": 0})

    def test_the_overconfident_are_noticed(self):
        """Nine in ten that are told as 99 % sure are still right, and yet the tenth is off."""
        sure, true, false = Verdicts().sure, Verdicts.TRUE, Verdicts.FALSE
        pairs = [compare.pair_record(sure(true, 0.99), true)] * 36 + [
            compare.pair_record(sure(false, 0.99), false)] * 4
        ordinary = score(truths()[0], *perfect(truths()[0])) | {"style": "dip", "pairs": pairs}
        scores = figures.scores([ordinary])
        off = {c.group: c for c in limits.checks(scores) if c.figure == "flag, points off in the worst tenth"}
        self.assertEqual({g: c.count for g, c in off.items()}, {"tidy pairs": 0, "dip pairs": 40, "all pairs": 40})
        self.assertAlmostEqual(off["dip pairs"].value, 9)
        self.assertAlmostEqual(off["all pairs"].aim_missed_by, 2)
        self.assertIn("99.0 > 90.0, -9.0 /40", figures.table(scores))
        self.assertIn("| 90 to 100 % | – | 99.0 → 90.0 (-9.0, n 40) | 99.0 → 90.0 (-9.0, n 40) |",
                      markdown.page(scores))


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


# A program that reads nothing: what it does is in the photo's name.
PRETENDER = """#!{python}
import json, os, sys, time
for path in sys.argv[4:]:
    if "crash" in path:
        os.abort()
    if "hang" in path:
        time.sleep(60)
    answer = {{"file": path, "error": None, "warnings": [], "strips": []}}
    line = json.dumps({{"photos": [answer], "pairs": []}})
    print(line[:20] if "cut" in path else line, flush=True)
"""


class Folder(unittest.TestCase):
    """Tests that need files."""

    def setUp(self):
        self.room = tempfile.TemporaryDirectory()
        self.addCleanup(self.room.cleanup)
        self.folder = pathlib.Path(self.room.name)

    def executable(self, name, text):
        path = self.folder / name
        path.write_text(text)
        os.chmod(path, 0o755)
        return str(path)

    def photos(self, *names):
        truth = truths()[0]
        made = []
        for seed, name in enumerate(names):
            path = self.folder / f"{name}.truth.json"
            path.write_text(json.dumps(truth | {"photo": f"{name}.jpg"}))
            job = draw.Job("easy", "tidy", seed)
            made.append(draw.Photo(f"/{name}.jpg", str(path), "single", job))
        return made


class Falls(Folder):
    """A program that falls over loses that photo, and no other."""

    def errors(self, *names):
        program = self.executable("pretender", PRETENDER.format(python=sys.executable))
        records = read.records_of_call(program, "read", self.photos(*names), "nothing")
        self.assertEqual([r["path"] for r in records], [f"/{name}.jpg" for name in names])
        return [r["error"] for r in records]

    def test_a_crash_and_a_line_cut_short(self):
        self.assertEqual(self.errors("a", "crash", "b"), [None, compare.NO_DOCUMENT, None])
        self.assertEqual(self.errors("cut", "a"), [compare.NO_DOCUMENT, None])

    def test_a_program_that_does_not_end(self):
        limit, read.READ_LIMIT_S = read.READ_LIMIT_S, 1
        self.addCleanup(setattr, read, "READ_LIMIT_S", limit)
        self.assertEqual(self.errors("a", "hang"), [None, compare.NO_DOCUMENT])

    def test_a_photo_without_an_answer_is_a_failure(self):
        program = self.executable("pretender", PRETENDER.format(python=sys.executable))
        record, = read.records_of_call(program, "read", self.photos("crash"), "nothing")
        seen = figures.of_records([record])
        self.assertEqual(seen["strips found %"]["value"], 0)
        self.assertEqual(seen["recall all %"]["value"], 0)

    def test_what_was_read_before_a_crash_of_the_bench_is_kept(self):
        path = self.folder / "records.jsonl"
        path.write_text('{"path": "a"}\n{"path": "b"}\n{"pa')
        self.assertEqual([r["path"] for r in bench.kept(path)], ["a", "b"])

    def test_a_renderer_that_falls_over_is_told(self):
        self.assertEqual(draw.draw_one("/bin/false", self.folder, 0, draw.Job("easy", "dip", 1)), [])


# Answers a call for a pair in two photos.
PAIRER = """#!{python}
import json, sys
photos = [{{"file": path, "error": None, "warnings": [], "strips": []}} for path in sys.argv[4:]]
print(json.dumps({{"photos": photos, "pairs": [{pair}]}}))
"""


class Existing(Folder):
    """A folder of photos that the bench did not draw."""

    def fill(self):
        truth = truths()[0]
        del truth["style"]
        for name, layout in (("p001", "pair"), ("p002", "single"), ("p003", "sepA"), ("p004", "sepB")):
            one = truth | {"photo": f"{name}.jpg", "layout": layout, "pair": None,
                           "strips": truth["strips"] if layout == "pair" else truth["strips"][:1]}
            if layout == "sepB":
                one["strips"] = [one["strips"][0] | {"retained_share": 0.4}]
            (self.folder / f"{name}.truth.json").write_text(json.dumps(one))
        index = {"separate_pairs": [{"immediate": "p003.jpg", "dried": "p004.jpg"}]}
        (self.folder / "index.json").write_text(json.dumps(index))

    def names(self, parity):
        return [[pathlib.Path(photo.path).stem for photo in group] for group in folder.groups(self.folder, parity)]

    def test_photos_and_pairs_apart_by_number(self):
        self.fill()
        self.assertEqual(self.names("all"), [["p001"], ["p002"], ["p003", "p004"]])
        self.assertEqual(self.names("even"), [["p002"], ["p003", "p004"]])
        self.assertEqual(self.names("odd"), [["p001"]])
        self.assertEqual(len(folder.groups(PHOTOS)), len(truths()))

    def test_a_pair_apart_is_held_against_both_truths(self):
        self.fill()
        pair = json.dumps(perfect_pair(Verdicts.TRUE)).replace("null", "None")
        program = self.executable("pairer", PAIRER.format(python=sys.executable, pair=pair))
        groups = folder.groups(self.folder)[-1:]
        records = [record for call in read.records(program, groups) for record in call]
        self.assertEqual([len(record["pairs"]) for record in records], [1, 0])
        self.assertEqual(records[0]["pairs"][0]["index_true"], 40)
        self.assertEqual(records[0]["style"], "tidy")


class Words(unittest.TestCase):
    """Tables, limits."""

    @classmethod
    def setUpClass(cls):
        records = []
        for tier in figures.TIERS:
            for style in figures.STYLES:
                records += [score(t, *perfect(t)) | {"tier": tier, "style": style} for t in truths()]
        pair = compare.compare_pairs([perfect_pair(Verdicts.FALSE)], [Verdicts.FALSE])
        records.append(records[0] | {"pairs": pair, "job": {"nothing_retained": True}})
        cls.scores = figures.scores(records)._replace(negatives=figures.percent([True]))

    def spoilt(self):
        return copy.deepcopy(self.scores)

    def test_every_limit_holds_for_the_truth_and_is_no_better_than_the_aim(self):
        for check in limits.checks(self.scores):
            if check.value is not None:
                self.assertFalse(check.broken, check.figure)
                too_wide = check.figure.startswith("covered")
                self.assertTrue(check.aim_missed_by is None or too_wide, check.figure)
        for (name, _, better), styles in limits.TABLE.items():
            for aims, firm in styles.values():
                for aim, limit in zip(aims, firm):
                    aim = aim[0] if isinstance(aim, tuple) else aim
                    if limit is not None:
                        self.assertTrue(limit >= aim if better == "less" else limit <= aim, name)

    def test_a_spoilt_figure_breaks_its_limit_and_misses_its_aim(self):
        scores = self.spoilt()
        scores.groups["hard dip"]["strips elsewhere"]["value"] = 100
        scores.groups["easy tidy"]["rf error"]["p95"] = 0.5
        scores.groups["easy tidy"]["covered rf %"]["value"] = 20.0
        scores.groups["easy tidy"]["false alarms"]["value"] = 1
        scores.nothing["value"] = 100
        lines = limits.broken(scores)
        for start in ("hard dip: strips elsewhere is 100 ", "easy tidy: rf error, 95th percentile is 0.5 ",
                      "easy tidy: covered rf % is 20.0 ", "easy tidy: false alarms is 1 ",
                      "inks that no paper holds: false alarms is 100 "):
            self.assertTrue(any(line.startswith(start) for line in lines), start)
        page = markdown.page(scores)
        self.assertIn("| covered rf % | **20.0 (n ", page)
        self.assertIn(", aim 90 to 98: missed by 70.0** |", page)

    def test_verdicts_that_are_wrong_open_or_missing_break_limits(self):
        scores = self.spoilt()
        for tier in figures.TIERS:
            for style in figures.STYLES:
                figure = scores.groups[f"{tier} {style}"]
                figure["flag right %"]["value"] = figure["flag, 90 % sure, true %"]["value"] = 50.0
                figure["flag open %"]["value"] = figure["pairs without a verdict %"]["value"] = 51.0
        broken = {(c.group, c.figure) for c in limits.checks(scores) if c.broken}
        for name in ("flag right %", "flag, 90 % sure, true %", "flag open %", "pairs without a verdict %"):
            self.assertEqual(sum(figure == name for _, figure in broken), 6, name)

    def test_what_was_not_measured_breaks_limits(self):
        lines = limits.broken(figures.scores([]))
        self.assertIn("hard dip: nothing was measured", lines)
        self.assertEqual(len(lines), 8)

    def test_intervals_that_are_too_wide_miss_the_aim_but_break_nothing(self):
        scores = self.spoilt()
        scores.groups["easy tidy"]["covered rf %"]["value"] = 100.0
        check, = [c for c in limits.checks(scores)
                  if (c.group, c.figure) == ("easy tidy", "covered rf %")]
        self.assertEqual((check.aim_missed_by, check.broken), (2, False))

    def test_every_cell_of_the_markdown_says_of_how_many(self):
        page = markdown.page(self.scores)
        rows = [line.strip("| ").split(" | ") for line in page.splitlines() if line.startswith("| ")]
        rows = [row for row in rows if row[0] not in ("---", "tidy", "dip", "aims") and "said →" not in row[0]]
        for cell in (cell for row in rows for cell in row[1:] if cell != "–"):
            self.assertRegex(cell, r"[( ]n \d+\)")
        self.assertGreater(len(rows), 90)
        for line in ("| flag: said → true, % | tidy | dip | all |", "Inks that no paper holds: 0 false alarms in 1 that "
                     "retained hardly anything; 0 of 1 told as likely that a longer soak leaves a part (said of all: "
                     "washes away 1)."):
            self.assertIn(line, page.splitlines())

    def test_inks_that_no_paper_holds_are_counted_apart(self):
        for figure in self.scores.groups.values():
            self.assertEqual(figure["photos"]["value"], len(truths()))
        self.assertEqual(sum(row["count"] for row in self.scores.reliability["flag"]["all"]),
                         6 * sum(len(compare.true_pairs(truth)) for truth in truths()))
        self.assertEqual(self.scores.nothing["said"], {"washes away": 1})

    def test_why_there_is_no_verdict_is_told(self):
        pairs = [compare.pair_record(pair, Verdicts.TRUE) for pair in (None, refused_pair("two inks"))]
        scores = figures.scores([score(truths()[0], *perfect(truths()[0])) | {"pairs": pairs}])
        self.assertIn("without a verdict, easy tidy: no pair 1, two inks 1", figures.table(scores).splitlines())
        self.assertIn("Without a verdict, easy tidy: no pair 1, two inks 1.", markdown.page(scores).splitlines())


# Draws as many bytes as it is asked for pixels.
BRUSH = """#!{python}
import pathlib, sys
side, folder = int(sys.argv[sys.argv.index("--preview") + 1]), sys.argv[-1]
pathlib.Path(folder, "easy-tidy-3.jpg").write_bytes(b"x" * side * {bytes_a_pixel})
"""


class Pictures(Folder):
    def record(self):
        truth = truths()[0]
        photo, pairs = perfect(truth)
        for corner in photo["strips"][0]["corners_px"]:
            corner[0] += 10
        return score(truth, photo, pairs) | {"path": "/photos/easy-tidy-3.png",
                                             "job": draw.Job("easy", "tidy", 3)._asdict()}

    def test_outlines_and_marks_are_where_they_were_found(self):
        record = self.record()
        brush = self.executable("brush", BRUSH.format(python=sys.executable, bytes_a_pixel=1))
        pictures.write(brush, self.folder / "out", [(1, record, ["<worst> fault"])])
        text = (self.folder / "out" / "01-easy-tidy-3.svg").read_text()
        tree = xml.etree.ElementTree.fromstring(text)
        space = "{http://www.w3.org/2000/svg}"
        scale = int(tree.get("width")) / record["size"][0]
        starts = {colour: [path.get("d").split(" L")[0] for path in tree.iter(space + "path")
                           if path.get("stroke") == colour]
                  for colour in (pictures.TRUE_COLOUR, pictures.FOUND_COLOUR)}
        x, y = record["strips"][0]["true_place"]["corners"][0]
        self.assertIn(f"M{(x + 0.5) * scale:.1f} {(y + 0.5) * scale:.1f}", starts[pictures.TRUE_COLOUR])
        self.assertIn(f"M{(x + 10.5) * scale:.1f} {(y + 0.5) * scale:.1f}",
                      starts[pictures.FOUND_COLOUR])
        self.assertEqual(len(starts[pictures.TRUE_COLOUR]), 3 * len(record["strips"]))
        self.assertIn("<worst> fault", [word.text for word in tree.iter(space + "text")])

    def test_a_picture_is_made_smaller_until_it_is_small_enough(self):
        brush = self.executable("brush", BRUSH.format(python=sys.executable, bytes_a_pixel=140))
        text = pictures.picture(brush, self.record(), [])
        self.assertLessEqual(len(text), pictures.SIZE_LIMIT)
        image, = xml.etree.ElementTree.fromstring(text).iter("{http://www.w3.org/2000/svg}image")
        sides = [int(image.get(name)) for name in ("width", "height")]
        self.assertEqual(max(sides), 358)  # 560 x 4 / 5 x 4 / 5

    def test_a_mark_halfway_up(self):
        strip = [[0, 10], [4, 10], [4, 0], [0, 0]]
        left, right = pictures.mark(strip, 0.25)
        self.assertEqual((left[1], right[1]), (7.5, 7.5))
        self.assertTrue(left[0] < 0 and right[0] > 4)


if __name__ == "__main__":
    unittest.main()
