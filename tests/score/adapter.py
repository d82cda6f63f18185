#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""adapter.py STRANDLINE TRUTH_DIR RESULTS_DIR [NAME ...]

Runs the program on every photo of a folder with truth files (format strip-truth-1) and writes what it
says in the form that the folder's score.py reads, one NAME.json a photo. Photos that a user would know
to show a pair go through `pair`, the others through `read`. Prints a line a photo with its wall time.
Standard library only.
"""
import json
import os
import subprocess
import sys
import time

# Said about nearly every photo: they do not count as having noticed a problem.
NOTES = {"no-colour-profile", "roles-assumed"}
PAIR_LAYOUTS = {"pair", "pairs"}


def run(program, verb, photos):
    """The JSON document of one run, or one with an error in it if there is none."""
    done = subprocess.run([program, verb, "--json", *photos], capture_output=True, text=True,
                          timeout=120)
    try:
        return json.loads(done.stdout)
    except ValueError:
        text = done.stderr.strip() or f"exit {done.returncode} without a document"
        return {"photos": [{"error": {"message": text}, "strips": [], "warnings": []}
                           for _ in photos], "pairs": []}


def messages(warnings):
    return [w["message"] for w in warnings if w.get("code") not in NOTES]


def strip_result(strip):
    bands = [{k: b.get(k) for k in ("rf", "rf_interval", "share", "share_interval", "lab",
                                    "hue_deg", "retained")} for b in strip["bands"]]
    profile = strip.get("profile") or {}
    position = profile.get("position")
    out = {"corners": strip["corners_px"], "origin_frac": strip["origin"],
           "front_frac": strip["front"], "bands": bands}
    for key in ("retained_share", "retained_interval", "bound_share", "bound_interval"):
        out[key] = strip.get(key)
    if position:
        out["profile"] = {"pos": position, "load": profile["load"]}
    return out


def pair_result(pair):
    """What the folder's score.py reads, and after it what the verdict says beyond that."""
    more = ("water_resistant_probability", "level", "answer")
    return {"score": (pair["index"] or 0.0) / 100.0, "water_resistant": pair["water_resistant"],
            **{name: pair[name] for name in more}}


def photo_result(photo, pairs):
    error = photo.get("error")
    strips = photo.get("strips", [])
    warnings = messages(photo.get("warnings", []))
    for strip in strips:
        warnings += messages(strip.get("warnings", []))
    results = [pair_result(p) for p in pairs]
    return {"strips": [strip_result(s) for s in strips], "error": error and error["message"],
            "warnings": warnings, "pair": results[0] if results else None, "pairs": results}


def write(results_dir, photo, result):
    with open(os.path.join(results_dir, os.path.splitext(photo)[0] + ".json"), "w") as out:
        json.dump(result, out)


def separate_pairs(truth_dir):
    with open(os.path.join(truth_dir, "index.json")) as f:
        return json.load(f).get("separate_pairs", [])


def main(argv):
    if len(argv) < 3:
        print(__doc__)
        return 2
    program, truth_dir, results_dir, only = argv[0], argv[1], argv[2], set(argv[3:])
    os.makedirs(results_dir, exist_ok=True)
    truths = sorted(n for n in os.listdir(truth_dir) if n.endswith(".truth.json"))
    for name in truths:
        with open(os.path.join(truth_dir, name)) as f:
            truth = json.load(f)
        photo = truth["photo"]
        if only and os.path.splitext(photo)[0] not in only:
            continue
        verb = "pair" if truth["layout"] in PAIR_LAYOUTS else "read"
        start = time.monotonic()
        document = run(program, verb, [os.path.join(truth_dir, photo)])
        seconds = time.monotonic() - start
        result = photo_result(document["photos"][0], document.get("pairs", []))
        write(results_dir, photo, result)
        print(f"{photo} {seconds:.2f} s, strips {len(result['strips'])} of "
              f"{len(truth['strips'])} {result['error'] or ''}", flush=True)
    for pair in separate_pairs(truth_dir):
        photos = [pair["immediate"], pair["dried"]]
        if only and not any(os.path.splitext(p)[0] in only for p in photos):
            continue
        document = run(program, "pair", [os.path.join(truth_dir, p) for p in photos])
        for photo, read in zip(photos, document["photos"]):
            write(results_dir, photo, photo_result(read, document.get("pairs", [])))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
