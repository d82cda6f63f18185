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
    index = 100 * pair["dried_bound"]
    return {"index": index, "index_interval": around(index, 1), "level": "none" if index < 2 else "strong",
            "water_resistant": pair["water_resistant_component"], "decided": True}


def truths():
    return [json.loads(f.read_text()) for f in sorted(PHOTOS.glob("*.truth.json"))]


def perfect(truth):
    photo = {"error": None, "warnings": [], "strips": [perfect_strip(s) for s in truth["strips"]]}
    return copy.deepcopy(photo), [perfect_pair(p) for p in compare.true_pairs(truth)]


def score(truth, photo, pairs):
    record = compare.compare_photo(photo, truth)
    record["pairs"] = compare.compare_pairs(pairs, compare.true_pairs(truth))
    return record | {"seconds": 1.0, "path": truth["photo"]}


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
    TRUE = {"dried_bound": 0.3, "water_resistant_component": True}
    FALSE = {"dried_bound": 0.005, "water_resistant_component": False}

    def test_a_missing_pair_is_no_right_verdict(self):
        record = compare.compare_pairs([], [self.FALSE])[0]
        self.assertFalse(record["right"])
        self.assertFalse(record["false_alarm"])

    def test_what_is_left_open_is_no_decided_verdict(self):
        said = [perfect_pair(self.TRUE), perfect_pair(self.TRUE) | {"decided": False},
                perfect_pair(self.FALSE) | {"water_resistant": True}]
        pairs = compare.compare_pairs(said, [self.TRUE, self.TRUE, self.FALSE, self.FALSE])
        truth = truths()[0]
        seen = figures.of_records([score(truth, *perfect(truth)) | {"pairs": pairs}])
        self.assertEqual(seen["verdict right %"]["value"], 50)
        self.assertEqual(seen["verdict decided %"]["value"], 50)
        self.assertEqual((seen["decided verdict right %"]["value"],
                          seen["decided verdict right %"]["count"]), (50, 2))

    def test_false_alarm(self):
        said = perfect_pair(self.FALSE) | {"level": "partial", "water_resistant": True}
        self.assertTrue(compare.compare_pairs([said], [self.FALSE])[0]["false_alarm"])
        self.assertIsNone(compare.compare_pairs([said], [self.TRUE])[0]["false_alarm"])

    def test_inks_with_nothing_retained(self):
        said = [perfect_pair(self.FALSE) | {"level": level} for level in ("none", "partial", "undecided")]
        records = [{"pairs": compare.compare_pairs([one], [self.FALSE])} for one in said]
        records.append({"pairs": compare.compare_pairs([], [self.FALSE])})
        figure = figures.of_nothing_retained(records)
        self.assertEqual((figure["value"], figure["count"]), (1, 4))
        self.assertEqual(figure["said"], {"no answer": 1, "none": 1, "partial": 1, "undecided": 1})
        self.assertIsNone(figures.of_nothing_retained([])["value"])

    def test_area_under_roc(self):
        def pair(index, resistant):
            return {"index": index, "resistant": resistant}
        pairs = [pair(30, True), pair(5, True), pair(10, False), pair(None, False)]
        self.assertEqual(figures.area_under_roc(pairs), {"value": 0.75, "count": 4})
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


class Words(unittest.TestCase):
    """Tables, limits."""

    @classmethod
    def setUpClass(cls):
        records = []
        for tier in figures.TIERS:
            for style in figures.STYLES:
                records += [score(t, *perfect(t)) | {"tier": tier, "style": style} for t in truths()]
        cls.groups = figures.group(records)[0]
        cls.negatives = figures.percent([True])
        pair = compare.compare_pairs([perfect_pair(Verdicts.FALSE)], [Verdicts.FALSE])
        cls.nothing = figures.of_nothing_retained([{"pairs": pair}])

    def checks(self):
        return limits.checks(self.groups, self.negatives, self.nothing)

    def test_every_limit_holds_for_the_truth_and_is_no_better_than_the_aim(self):
        for check in self.checks():
            if check.value is not None:
                self.assertFalse(check.broken, check.figure)
        for (name, _, better), styles in limits.TABLE.items():
            for aims, firm in styles.values():
                for aim, limit in zip(aims, firm):
                    aim = aim[0] if isinstance(aim, tuple) else aim
                    if limit is not None:
                        self.assertTrue(limit >= aim if better == "less" else limit <= aim, name)

    def test_a_spoilt_figure_breaks_its_limit_and_misses_its_aim(self):
        groups = copy.deepcopy(self.groups)
        groups["hard dip"]["strips elsewhere"]["value"] = 100
        groups["easy tidy"]["rf error"]["p95"] = 0.5
        groups["easy tidy"]["covered rf %"]["value"] = 20.0
        lines = limits.broken(groups, self.negatives, self.nothing | {"value": 100})
        for start in ("hard dip: strips elsewhere is 100 ", "easy tidy: rf error, 95th percentile is 0.5 ",
                      "easy tidy: covered rf % is 20.0 ", "inks with nothing retained: false alarms is 100 "):
            self.assertTrue(any(line.startswith(start) for line in lines), start)
        page = markdown.page(groups, self.negatives, self.nothing)
        self.assertIn("| covered rf % | **20.0 (n ", page)
        self.assertIn(", aim 90 to 98: missed by 70.0** |", page)

    def test_what_was_not_measured_breaks_limits(self):
        lines = limits.broken({}, figures.percent([]), figures.of_nothing_retained([]))
        self.assertIn("hard dip: nothing was measured", lines)
        self.assertEqual(len(lines), 8)

    def test_intervals_that_are_too_wide_miss_the_aim_but_break_nothing(self):
        groups = copy.deepcopy(self.groups)
        groups["easy tidy"]["covered rf %"]["value"] = 100.0
        check, = [c for c in limits.checks(groups, self.negatives, self.nothing)
                  if (c.group, c.figure) == ("easy tidy", "covered rf %")]
        self.assertEqual((check.aim_missed_by, check.broken), (2, False))

    def test_every_cell_of_the_markdown_says_of_how_many(self):
        page = markdown.page(self.groups, self.negatives, self.nothing)
        rows = [line.strip("| ").split(" | ") for line in page.splitlines() if line.startswith("| ")]
        rows = [row for row in rows if row[0] not in ("---", "tidy", "dip", "aims")]
        for cell in (cell for row in rows for cell in row[1:] if cell != "–"):
            self.assertRegex(cell, r"\(n \d+\)")
        self.assertGreater(len(rows), 80)
        self.assertIn("0 false alarms in 1 (none 1)", page)


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
