#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""soak.py STRANDLINE FOLDER[:even|:odd]...: fits SOAK_DOUBT of src/retention/judge.c.

FOLDER holds photographs with truth (format strip-truth-1); :even takes those with even numbers only. Every
strip that is found is asked whether at least 0.08 of its dye is bound: p by the normal law, from the bound share
and its 95 % interval as the program tells them, against what is true. The model behind them may be wrong as a
whole; then all that is known is that half of all inks hold (common practice, no source). So what is told is
(1 - d) p + d / 2, and d is where the photographs are likeliest. Prints d with the range in which the logarithm of
the likelihood falls by no more than 1.92 (95 %), and how often each told probability was true.
"""
import json
import math
import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "truth"))
sys.dont_write_bytecode = True

import compare  # noqa: E402
import geometry  # noqa: E402

LIMIT = 0.08
Z_95 = 1.959964
STEPS = 100


def at_least(share, interval):
    sd = max((interval[1] - interval[0]) / (2 * Z_95), 1e-9)
    return 0.5 * math.erfc((LIMIT - share) / sd / math.sqrt(2))


def truths(folder, half):
    for path in sorted(pathlib.Path(folder).glob("*.truth.json")):
        number = int("".join(filter(str.isdigit, path.name)) or 0)
        if half and number % 2 != (half == "odd"):
            continue
        truth = json.loads(path.read_text())
        if not truth["negative"]:
            yield path.parent / truth["photo"], truth


def asked(program, photo, truth):
    """(p, whether it is so) of each strip that was found."""
    done = subprocess.run([program, "read", "--json", "--quiet", photo], capture_output=True, text=True)
    strips = json.loads(done.stdout)["photos"][0]["strips"] if done.stdout else []
    costs = {(i, j): 1 - geometry.overlap(s["corners_px"], t["corners"])
             for i, s in enumerate(strips) for j, t in enumerate(truth["strips"])}
    for i, j in compare.closest_pairs(costs, 1 - compare.FOUND_OVERLAP):
        if strips[i]["bound_share"] is not None:
            yield (at_least(strips[i]["bound_share"], strips[i]["bound_interval"]),
                   truth["strips"][j]["bound_share"] >= LIMIT)


def told(p, doubt):
    return (1 - doubt) * p + doubt / 2


def log_likelihood(strips, doubt):
    return sum(math.log(max(told(p, doubt) if true else 1 - told(p, doubt), 1e-12)) for p, true in strips)


def main(argv):
    if len(argv) < 2:
        sys.exit(__doc__)
    strips = []
    for name in argv[1:]:
        folder, _, half = name.partition(":")
        for photo, truth in truths(folder, half):
            strips += asked(argv[0], photo, truth)
    by_doubt = [(log_likelihood(strips, k / STEPS), k / STEPS) for k in range(STEPS + 1)]
    best, doubt = max(by_doubt)
    possible = [d for value, d in by_doubt if value >= best - 1.92]
    print(f"{len(strips)} strips: doubt {doubt:.2f} ({possible[0]:.2f} to {possible[-1]:.2f})")
    for low in range(10):
        inside = [(told(p, doubt), true) for p, true in strips if min(int(10 * told(p, doubt)), 9) == low]
        if inside:
            print(f"told {sum(p for p, _ in inside) / len(inside):.2f}: "
                  f"true {sum(t for _, t in inside) / len(inside):.2f} of {len(inside)}")


if __name__ == "__main__":
    main(sys.argv[1:])
