#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The truth bench: draws photos of which everything is known, has them read, and says how far off it was.

    bench.py --program P --renderer R --folder DIR [--count N] [--first SEED] [--long-side PX]
             [--given nothing|corners|marks] [--limits] [--only TIER-STYLE,...]

Draws N photos of each difficulty (easy, normal, hard) and style (tidy, dip), and N that can't be read
of each style, from seed SEED on. Prints a table and the ten photos that went worst, and writes all
of it to figures-GIVEN.json beside the photos. --given tells the program by hand where strips (and
marks) are, so that what is still wrong is due to a later step. --limits compares with limits.py and
exits with 1 where one is broken.
"""
import argparse
import json
import pathlib
import sys

import compare
import draw
import figures
import limits

WORST, FAULTS = 10, 5  # how many are shown


def arguments():
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", required=True)
    parser.add_argument("--renderer", required=True)
    parser.add_argument("--folder", required=True)
    parser.add_argument("--count", type=int, default=6)
    parser.add_argument("--first", type=int, default=5000)
    parser.add_argument("--long-side", type=int, default=0)
    parser.add_argument("--given", choices=("nothing", "corners", "marks"), default="nothing")
    parser.add_argument("--limits", action="store_true")
    parser.add_argument("--only", default="", help="such as easy-tidy,hard-dip")
    return parser.parse_args()


def jobs_of(options):
    tiers = figures.TIERS + (("negative",) if options.given == "nothing" else ())
    only = set(filter(None, options.only.split(",")))
    return [(tier, style, seed) for style in figures.STYLES for tier in tiers
            for seed in range(options.first, options.first + options.count)
            if not only or f"{tier}-{style}" in only]


def separate_pair(truths):
    """The truth of a pair photographed strip by strip, in the form of one in one photo."""
    dried = truths[1]["strips"][0]
    return {"dried_bound": dried["bound_share"],
            "water_resistant_component": dried["water_resistant_component"]}


def records_of(rows, groups, given):
    apart = {g[0]["photo"]: separate_pair(g) for g in groups if len(g) == 2 and given == "nothing"}
    records = []
    for truth, photo, pairs, seconds in rows:
        record = compare.compare_photo(photo, truth)
        if not truth["negative"]:
            alone = [apart[truth["photo"]]] if truth["photo"] in apart else []
            record["pairs"] = compare.compare_pairs(pairs, compare.true_pairs(truth) or alone)
        record["seconds"] = seconds
        record["path"] = draw.path_of(truth)
        records.append(record)
    return records


def print_worst(worst):
    print("\nThe worst:")
    for one in worst:
        print(f"{one['badness']:5.1f}  {one['path']}\n       " + "; ".join(one["faults"][:FAULTS]))


def main():
    options = arguments()
    folder = pathlib.Path(options.folder)
    renders = draw.renders_folder(folder, options.renderer, options.long_side)
    groups = draw.draw(options.renderer, renders, options.long_side, jobs_of(options))
    records = records_of(draw.read(options.program, groups, options.given), groups, options.given)
    table, negatives = figures.group(records)
    print(figures.table(table, negatives))
    worst = [{"badness": round(badness, 1), "path": record["path"], "faults": faults}
             for badness, record, faults in figures.worst(records, WORST)]
    print_worst(worst)
    out = renders / f"figures-{options.given}.json"
    out.write_text(json.dumps({"figures": table, "negatives": negatives, "worst": worst,
                               "records": records}, indent=1))
    print(f"\nAll of it: {out}")
    broken = limits.broken(table, negatives) if options.limits else []
    for line in broken:
        print(f"LIMIT {line}")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
