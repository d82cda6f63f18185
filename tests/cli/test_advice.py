#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Advice from end to end: a scene drawn well and drawn badly in one thing at a time. Each fault gets its
advice, the good photo gets none, and what the advice says of a front in pencil comes true."""
import json
import pathlib
import re
import subprocess
import sys

from harness import holds, main, same

SCENE = pathlib.Path(__file__).resolve().parent.parent.parent / "demo" / "scenes" / "bench-pair.txt"
KEPT = 1.5  # how much wider than foretold an interval may come out


def draw(run, name, scene=(), strip=()):
    """The demo's pair with other values, in the photo or on both strips."""
    text = SCENE.read_text()
    for section, values in (("scene", scene), ("strip", strip)):
        for key, value in dict(values).items():
            text = re.sub(rf"(?m)^{key} = .*\n", "", text)
            text = text.replace(f"[{section}]\n", f"[{section}]\n{key} = {value}\n")
    run.write(f"{name}.txt", text.encode())
    subprocess.run([run.draw_program, "-o", str(run.folder), run.path(f"{name}.txt")], check=True)
    return run.path(f"{name}.jpg")


def photo_of(run, verb, *arguments):
    done = run.strandline(verb, "--json", "--quiet", *arguments)
    same(done.code, 0, "exit code")
    return done.document()


def causes(document):
    return [a["cause"] for a in document["photos"][0]["advice"]]


def a_good_photo_gets_no_advice(run):
    photo = draw(run, "good", strip={"front_pencil": "line"})
    document = photo_of(run, "pair", photo)
    same(causes(document), [], "advice")
    holds("next time" not in run.strandline("read", "--quiet", photo).out, "advice in the text")


def a_front_that_is_not_seen(run):
    unseen = photo_of(run, "read", draw(run, "unseen", strip={"front_pencil": "none", "tide": "0"}))
    marked = photo_of(run, "read", draw(run, "marked", strip={"front_pencil": "line", "tide": "0"}))
    same((causes(unseen)[0], causes(marked)), ("front", []), "advice")
    for before, after in zip(unseen["photos"][0]["strips"], marked["photos"][0]["strips"]):
        effect = next(e for a in before["advice"] if a["cause"] == "front"
                      for e in a["effects"] if e["number"] == "rf")
        same(effect["now"], before["bands"][effect["band"]]["rf_interval"], "the interval now")
        low, high = after["bands"][effect["band"]]["rf_interval"]
        foretold = effect["then"][1] - effect["then"][0]
        holds(high - low <= KEPT * foretold, f"{low} to {high} instead of a width of {foretold}")
        holds(high - low < 0.2 * (effect["now"][1] - effect["now"][0]), "it helped little")


def a_shadow(run):
    photo = draw(run, "shadow", scene={"shadow": "0.6", "shadow_direction_deg": "60",
                                       "shadow_offset_mm": "0", "shadow_soft_mm": "12"})
    document = photo_of(run, "pair", photo)
    same(causes(document)[:1], ["shadow"], "advice")
    text = run.strandline("pair", "--quiet", photo).out
    holds("What would help most next time:\n  1. Keep shadows" in text, "not in the text")


def blur_and_distance(run):
    blurred = photo_of(run, "read", draw(run, "blurred", scene={"blur_px": "9"}))
    same(causes(blurred)[:1], ["blur"], "advice on a blurred photo")
    far = photo_of(run, "read", draw(run, "far", scene={"width_px": "810", "height_px": "1080",
                                                        "px_per_mm": "4"}))
    same(causes(far)[:1], ["closer"], "advice on a photo from afar")


def advice_is_kept(run):
    photo = draw(run, "unseen", strip={"front_pencil": "none", "tide": "0"})
    first = run.strandline("read", "--json", "--quiet", photo).out
    again = photo_of(run, "read", run.write("saved.json", first.encode()))
    same(again["photos"][0]["advice"], json.loads(first)["photos"][0]["advice"], "the photo's")
    for a, b in zip(again["photos"][0]["strips"], json.loads(first)["photos"][0]["strips"]):
        same(a["advice"], b["advice"], "a strip's")
    html = run.path("report.html")
    same(run.strandline("read", "--quiet", photo, "--html", html).code, 0, "exit code")
    page = pathlib.Path(html).read_text()
    holds(first and json.loads(first)["photos"][0]["advice"][0]["message"].split(":")[0] in page,
          "not in the report")


TESTS = [
    a_good_photo_gets_no_advice, a_front_that_is_not_seen, a_shadow, blur_and_distance,
    advice_is_kept,
]

if __name__ == "__main__":
    sys.exit(main(TESTS))
