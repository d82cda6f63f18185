#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job from end to end: drawn strips whose bands are known by arithmetic (draw_photo.c).

Rf = (apex - origin) / (front - origin), IUPAC Gold Book R05353: with the origin at 0.18, the front at
0.90 and zones at 0.50 and 0.74 of the length, Rf is 0.4444 and 0.7778; a third zone ends at the front.
"""
import math
import sys

from harness import holds, main, near, same

ORIGIN, FRONT = 0.18, 0.90
RF = [(0.50 - ORIGIN) / (FRONT - ORIGIN), (0.74 - ORIGIN) / (FRONT - ORIGIN)]
# Area under a zone goes with apex x mean sigma; the summed channels of draw_photo.c's tables.
LINE_FAINT, LINE_DARK = 0.09 * 0.006, 9.0 * 0.006
DYES = [1.5 * 0.022, 1.65 * 0.024, 1.05 * 0.0165]
# Nothing smears, so what lies at the line is both retained and bound.
LEFT_AT_ONCE = LINE_FAINT / (LINE_FAINT + sum(DYES))
LEFT_DRIED = LINE_DARK / (LINE_DARK + sum(DYES))

RF_ALLOWED = 0.006       # found marks; the strip is 860 px long
RF_ALLOWED_GIVEN = 0.004  # marks set by hand
SHARE_ALLOWED = 0.05


def near_any(bands, rf, allowed):
    best = min(bands, key=lambda b: abs(b["rf"] - rf))
    near(best["rf"], rf, allowed, "Rf")
    return best


def corners():
    """Where draw_photo.c puts the strip of `single`: 130 x 860 px about (450, 600), turned."""
    c, s = math.cos(0.035), math.sin(0.035)
    out = []
    for across, along in ((-65, -430), (65, -430), (65, 430), (-65, 430)):
        out.append((450 + across * c + along * s, 600 + across * s - along * c))
    return out


def a_single_strip(run):
    for name in ("a.jpg", "a.png", "a.tif", "a.heic"):
        done = run.strandline("read", "--json", run.draw("single", name))
        same((done.code, done.err), (0, ""), f"exit code and errors of {name}")
        strip = done.document()["photos"][0]["strips"][0]
        near(strip["origin"], ORIGIN, 0.01, f"origin in {name}")
        near(strip["front"], FRONT, 0.01, f"front in {name}")
        for (x, y), (tx, ty) in zip(strip["corners_px"], corners()):
            near(x, tx, 1, f"x of a corner in {name}")
            near(y, ty, 1, f"y of a corner in {name}")


def marks_set_by_hand_are_kept(run):
    done = run.strandline("read", "--json", run.draw("single", "a.jpg"), "--origin", str(ORIGIN),
                          "--front", str(FRONT), "--length-mm", "100")
    strip = done.document()["photos"][0]["strips"][0]
    same((strip["origin"], strip["front"]), (ORIGIN, FRONT), "origin and front")
    same((strip["front_seen"], strip["length_mm"], strip["scale_source"]), ("given", 100, "given"),
         "what is said about them")
    total = LINE_FAINT + sum(DYES)
    for rf, dye in zip(RF, DYES):
        band = near_any(strip["bands"], rf, RF_ALLOWED_GIVEN)
        near(band["share"], dye / total, SHARE_ALLOWED, "share")
        low, high = band["rf_interval"]
        holds(low <= rf <= high or abs(band["rf"] - rf) < 0.002, f"{rf} is outside {low}..{high}")


def limits_of_bands_set_by_hand_are_kept(run):
    def at(rf):
        return ORIGIN + rf * (FRONT - ORIGIN)
    half = (RF[0] + RF[1]) / 2
    limits = [[round(at(RF[0] - 0.08), 4), round(at(half), 4)], [round(at(half), 4), round(at(RF[1] + 0.08), 4)]]
    text = "+".join(f"{a}-{b}" for a, b in limits)
    photo = run.draw("single", "a.jpg")
    done = run.strandline("read", "--json", photo, "--origin", str(ORIGIN), "--front", str(FRONT), "--band-limits", text)
    same((done.code, done.err), (0, ""), "exit code and errors")
    document = done.document()
    same(document["settings"]["strips"][0]["bands"], limits, "the settings")
    bands = document["photos"][0]["strips"][0]["bands"]
    given = [b for b in bands if b["limits_given"]]
    same(len(given), 2, "bands with limits by hand")
    total = LINE_FAINT + sum(DYES)
    for band, rf, dye, (low, high) in zip(given, RF, DYES, limits):
        near(band["rf"], rf, RF_ALLOWED_GIVEN, "Rf")
        near(band["share"], dye / total, SHARE_ALLOWED, "share")
        near(at(band["start_rf"]), low, 1e-5, "where it begins")
        near(at(band["end_rf"]), high, 1e-5, "where it ends")
    again = run.strandline("read", "--json", run.write("saved.json", done.out.encode()))
    same(again.document()["photos"][0]["strips"][0]["bands"], bands, "the bands of the saved document")
    overlap = run.strandline("read", photo, "--band-limits", "0.3-0.5+0.4-0.6")
    same((overlap.code, overlap.out), (64, ""), "limits that overlap")
    holds("overlaps" in overlap.err, overlap.err)


def corners_set_by_hand_are_kept(run):
    text = ",".join(f"{v:.2f}" for xy in corners() for v in xy)
    done = run.strandline("read", "--json", run.draw("single", "a.jpg"), "--corners", text)
    strips = done.document()["photos"][0]["strips"]
    same(len(strips), 1, "strips")
    for (x, y), (tx, ty) in zip(strips[0]["corners_px"], corners()):
        near(x, tx, 0.006, "x")
        near(y, ty, 0.006, "y")
    near_any(strips[0]["bands"], RF[0], RF_ALLOWED)


def corners_of_two_strips_by_hand(run):
    """The same numbers as where the strips are found, and only the strips that were told."""
    photo = run.draw("pair", "a.jpg")
    quads = [s["corners_px"] for s in
             run.strandline("read", "--json", photo).document()["photos"][0]["strips"]]
    left, right = (",".join(f"{v:.2f}" for xy in quad for v in xy) for quad in quads)
    done = run.strandline("pair", "--json", photo, "--corners", left, "--corners", right)
    pair = done.document()["pairs"][0]
    near(pair["dried_retained_share"], LEFT_DRIED, 0.06, "retained share, dried first")
    done = run.strandline("read", "--json", photo, run.draw("single", "b.jpg"), "--corners",
                          f"{right}:")
    same([len(p["strips"]) for p in done.document()["photos"]], [1, 1], "strips")
    near(done.document()["photos"][0]["strips"][0]["corners_px"][0][0], quads[1][0][0], 0.006,
         "x of the lower left corner")


def a_strip_that_is_cut_askew_by_hand(run):
    """Corners that are wide at one end: both strips' are perspective, one strip's is rather its cut."""
    photo = run.draw("pair", "a.jpg")
    quads = [s["corners_px"] for s in
             run.strandline("read", "--json", photo).document()["photos"][0]["strips"]]

    def widened(quad, part):
        (lx, ly), (rx, ry) = quad[3], quad[2]
        dx, dy = part / 2 * (rx - lx), part / 2 * (ry - ly)
        return [*quad[:2], [rx + dx, ry + dy], [lx - dx, ly - dy]]

    def origin(left, right):
        options = []
        for quad in (widened(quads[0], left), widened(quads[1], right)):
            options += ["--corners", ",".join(f"{v:.2f}" for xy in quad for v in xy)]
        done = run.strandline("read", "--json", photo, *options)
        return done.document()["photos"][0]["strips"][1]["origin"]

    straight, both, one = origin(0, 0), origin(0.04, 0.04), origin(0, 0.04)
    holds(abs(both - straight) > 0.003, f"perspective moves the origin: {straight} to {both}")
    holds(abs(one - straight) < 0.75 * abs(both - straight), f"{straight}, one {one}, both {both}")


def upside_down_by_hand_is_kept(run):
    photo = run.draw("single", "a.jpg")
    done = run.strandline("read", "--json", photo, "--upside-down")
    strip = done.document()["photos"][0]["strips"][0]
    (_, lower_y), (_, upper_y) = strip["corners_px"][0], strip["corners_px"][3]
    holds(lower_y < upper_y, "the lower edge is not the upper one in the photo")


def values_for_one_strip_of_two(run):
    done = run.strandline("read", "--json", run.draw("pair", "a.jpg"), "--front", ",0.9",
                          "--length-mm", "100")
    left, right = done.document()["photos"][0]["strips"]
    same((right["front"], right["front_seen"]), (0.9, "given"), "front of the right strip")
    holds(left["front_seen"] != "given", "the left strip was set too")
    same((left["length_mm"], right["length_mm"]), (100, 100), "length of both")


def values_for_two_photos(run):
    done = run.strandline("read", "--json", run.draw("single", "a.jpg"), run.draw("dried", "b.jpg"),
                          "--origin", "0.17:0.19")
    same([p["strips"][0]["origin"] for p in done.document()["photos"]], [0.17, 0.19], "origins")


def a_pair_in_one_photo(run):
    done = run.strandline("pair", "--json", run.draw("pair", "a.jpg"))
    same((done.code, done.err), (0, ""), "exit code and errors")
    document = done.document()
    pair = document["pairs"][0]
    for strip in document["photos"][0]["strips"]:
        for rf in RF:
            near_any(strip["bands"], rf, RF_ALLOWED)
    for kind in ("retained", "bound"):
        near(pair[f"immediate_{kind}_share"], LEFT_AT_ONCE, 0.03, f"{kind} share, dipped at once")
        near(pair[f"dried_{kind}_share"], LEFT_DRIED, 0.06, f"{kind} share, dried first")
    near(pair["index"], 100 * pair["dried_retained_share"], 0.01, "index")
    low, high = pair["index_interval"]
    holds(low <= 100 * LEFT_DRIED <= high, f"{100 * LEFT_DRIED:.1f} is outside {low}..{high}")


def normal_above(value, interval, limit):
    """The part of a normal law above a limit; the law's 95 % interval is as wide as the given one."""
    sd = (interval[1] - interval[0]) / (2 * 1.959964)
    return 0.5 * math.erfc((limit - value) / sd / math.sqrt(2))


def the_verdict_follows_from_the_shares(run):
    # which end was in the water is told: a doubt of it would make less sure
    told = run.strandline("pair", "--json", "--upside-down=no", run.draw("pair", "a.jpg"))
    pair = told.document()["pairs"][0]
    same((pair["unjudged"], pair["water_resistant"]), (None, True), "why no verdict, and the flag")
    share, interval = pair["dried_retained_share"], pair["dried_retained_interval"]
    above = [1, *(normal_above(share, interval, limit) for limit in (0.02, 0.08, 0.3)), 0]
    names = ("none", "trace", "partial", "strong")
    for name, from_there, from_next in zip(names, above, above[1:]):
        near(pair["level_probability"][name], from_there - from_next, 1e-4, f"probability of {name}")
    same(pair["level"], max(names, key=pair["level_probability"].get), "level")
    near(pair["water_resistant_probability"], above[2], 1e-4, "probability of the flag")
    # 37 % of the dye is at the line, and its interval hardly goes below 30
    same((pair["level"], pair["answer"]), ("strong", "stays"), "level and answer")
    same(pair["answer_probability"], pair["level_probability"]["strong"], "probability of the answer")
    drying, soak = pair["drying"], pair["soak"]
    near(drying["difference"], share - pair["immediate_retained_share"], 2e-6, "what drying adds")
    holds(drying["interval"][0] < LEFT_DRIED - LEFT_AT_ONCE < drying["interval"][1], f"drying: {drying}")
    near(drying["probability"], normal_above(drying["difference"], drying["interval"], 0.02), 1e-4,
         "probability that drying adds")
    same((soak["bound_share"], soak["interval"]), (pair["dried_bound_share"], pair["dried_bound_interval"]),
         "what a longer soak would leave")
    # in 30 of 100 strips the bound share says nothing, and half of all inks hold
    told = 0.7 * normal_above(soak["bound_share"], soak["interval"], 0.08) + 0.3 * 0.5
    near(soak["probability"], told, 1e-4,
         "probability that it leaves something")


def no_verdict_where_there_is_nothing_to_judge(run):
    """A strip without ink, and water that hardly rose above the line."""
    at_once, dried, blank = run.draw("single", "a.jpg"), run.draw("dried", "b.jpg"), run.draw("blank", "c.jpg")
    for why, arguments in (("blank", (at_once, blank)), ("blank", (blank, dried)),
                           ("water too low", (at_once, dried, "--origin", ":0.18", "--front", ":0.21"))):
        pair = run.strandline("pair", "--json", *arguments).document()["pairs"][0]
        same((pair["unjudged"], pair["answer"], pair["water_resistant"]), (why, "none", None), "verdict")
        numbers = [pair[name] for name in ("level", "index", "water_resistant_probability", "answer_probability")]
        numbers += [*pair["level_probability"].values(), *pair["index_interval"]]
        numbers += [pair[name]["probability"] for name in ("drying", "soak")]
        same(set(numbers), {None}, f"numbers of a pair without a verdict ({why})")
        holds(pair["reasons"], "nothing stands in place of a verdict")


def a_pair_in_two_photos(run):
    a, b = run.draw("single", "a.jpg"), run.draw("dried", "b.jpg")
    pair = run.strandline("pair", "--json", a, b).document()["pairs"][0]
    same((pair["immediate"], pair["dried"]), ([0, 0], [1, 0]), "which is which")
    same(pair["answer"], "stays", "answer")
    turned = run.strandline("pair", "--json", b, a, "--roles", "dried:immediate").document()
    same((turned["pairs"][0]["immediate"], turned["pairs"][0]["dried"]), ([1, 0], [0, 0]),
         "which is which with --roles")
    near(turned["pairs"][0]["index"], pair["index"], 0.01, "index with --roles")


def roles_by_hand(run):
    done = run.strandline("pair", "--json", run.draw("pair", "a.jpg"), "--roles",
                          "dried,immediate", "--upside-down=no")
    document = done.document()
    same([s["role"] for s in document["photos"][0]["strips"]], ["dried", "immediate"], "roles")
    pair = document["pairs"][0]
    same((pair["water_resistant"], pair["answer"]), (False, "washes away"), "verdict the other way round")
    near(pair["drying"]["probability"], 0, 0.01, "probability that drying adds")


def the_same_photo_gives_the_same_numbers(run):
    photo = run.draw("pair", "a.jpg")
    first, second = (run.strandline("pair", "--json", photo).out for _ in range(2))
    same(first, second, "the second document")


TESTS = [
    a_single_strip, marks_set_by_hand_are_kept, limits_of_bands_set_by_hand_are_kept,
    corners_set_by_hand_are_kept,
    corners_of_two_strips_by_hand, a_strip_that_is_cut_askew_by_hand,
    upside_down_by_hand_is_kept, values_for_one_strip_of_two, values_for_two_photos,
    a_pair_in_one_photo, the_verdict_follows_from_the_shares,
    no_verdict_where_there_is_nothing_to_judge, a_pair_in_two_photos, roles_by_hand,
    the_same_photo_gives_the_same_numbers,
]

if __name__ == "__main__":
    sys.exit(main(TESTS))
