#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The truth bench: draws photos of which everything is known, has them read, and says how far off it was.

    bench.py --program P --renderer R --folder DIR [--count N] [--first SEED] [--long-side PX]
             [--given nothing|corners|marks] [--only TIER-STYLE,...] [--nothing-retained N]
             [--limits] [--markdown] [--pictures DIR] [--resume]
    bench.py --program P --photos TRUTHS [--parity even|odd] --folder DIR
             [--given nothing|corners|marks] [--markdown] [--resume]

Draws N photos of each difficulty (easy, normal, hard) and style (tidy, dip), and N that can't be read
of each style, from seed SEED on. Prints a table and the ten photos that went worst, and writes all
of it to figures-GIVEN.json beside the photos. --given tells the program by hand where strips (and
marks) are, so that what is still wrong is due to a later step. --nothing-retained adds N pairs of inks
that no paper holds, of all difficulties and styles in turn: what they retain is on its way.
--limits compares with limits.py and exits with 1 where one is broken. --markdown prints the table for a
document, with aims. --pictures writes a small picture of each of the ten. What was read is kept in
records-GIVEN.jsonl beside the photos as it comes: after a run that was cut off, --resume reads the rest.

With --photos nothing is drawn: the photos of TRUTHS are read, a folder with truth files (format strip-truth-1),
those with an even or an odd number alone if told so, and what comes out is written to DIR.
"""
import argparse
import json
import pathlib
import sys

import draw
import figures
import folder
import limits
import markdown
import pictures
import read

WORST, FAULTS = 10, 5  # how many are shown


def arguments():
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", required=True)
    source = parser.add_mutually_exclusive_group(required=True)
    source.add_argument("--renderer")
    source.add_argument("--photos", metavar="TRUTHS")
    parser.add_argument("--parity", choices=folder.PARITIES, default="all", help="of the photos' numbers")
    parser.add_argument("--folder", required=True)
    parser.add_argument("--count", type=int, default=6)
    parser.add_argument("--first", type=int, default=5000)
    parser.add_argument("--long-side", type=int, default=0)
    parser.add_argument("--given", choices=("nothing", "corners", "marks"), default="nothing")
    parser.add_argument("--only", default="", help="such as easy-tidy,hard-dip")
    parser.add_argument("--nothing-retained", type=int, default=0, metavar="N")
    parser.add_argument("--limits", action="store_true")
    parser.add_argument("--markdown", action="store_true")
    parser.add_argument("--pictures", metavar="DIR")
    parser.add_argument("--resume", action="store_true")
    options = parser.parse_args()
    if options.photos and (options.limits or options.pictures or options.nothing_retained):
        parser.error("--limits, --pictures and --nothing-retained are for what is drawn")
    return options


def jobs_of(options):
    tiers = figures.TIERS + (("negative",) if options.given == "nothing" else ())
    only = set(filter(None, options.only.split(",")))
    jobs = [draw.Job(tier, style, seed) for style in figures.STYLES for tier in tiers
            for seed in range(options.first, options.first + options.count)
            if not only or f"{tier}-{style}" in only]
    kinds = [(tier, style) for style in figures.STYLES for tier in figures.TIERS]
    return jobs + [draw.Job(*kinds[k % len(kinds)], options.first + k // len(kinds), True)
                   for k in range(options.nothing_retained)]


def kept(path):
    """Records of a run that was cut off; the last line may be half written."""
    records = []
    for line in path.read_text().splitlines() if path.exists() else []:
        try:
            records.append(json.loads(line))
        except ValueError:
            break
    return records


def read_all(options, groups, path):
    """The records of all photos, each kept on disk as soon as it is there."""
    wanted = {photo.path for group in groups for photo in group}
    records = [r for r in (kept(path) if options.resume else []) if r["path"] in wanted]
    known = {r["path"] for r in records}
    left = [group for group in groups if not all(photo.path in known for photo in group)]
    with path.open("w") as file:
        for line in map(json.dumps, records):
            print(line, file=file)
        for new in read.records(options.program, left, options.given):
            records += new
            print("\n".join(map(json.dumps, new)), file=file, flush=True)
    order = {photo.path: k for k, photo in enumerate(photo for group in groups for photo in group)}
    return sorted(records, key=lambda record: order[record["path"]])


def print_worst(worst):
    print("\nThe worst:")
    for badness, record, faults in worst:
        print(f"{badness:5.1f}  {record['path']}\n       " + "; ".join(faults[:FAULTS]))


def photos_of(options):
    """Groups of photos, and the folder where what is found out about them is kept."""
    if options.photos:
        kept_in = pathlib.Path(options.folder)
        kept_in.mkdir(parents=True, exist_ok=True)
        return folder.groups(options.photos, options.parity), kept_in
    renders = draw.renders_folder(options.folder, options.renderer, options.long_side)
    return draw.draw(options.renderer, renders, options.long_side, jobs_of(options)), renders


def main():
    options = arguments()
    groups, kept_in = photos_of(options)
    records = read_all(options, list(filter(None, groups)), kept_in / f"records-{options.given}.jsonl")
    scores = figures.scores(records)
    worst = figures.worst([r for r in records if not r["job"]["nothing_retained"]], WORST)
    if options.markdown:
        print(markdown.page(scores))
    else:
        print(figures.table(scores))
        print_worst(worst)
    if options.pictures:
        pictures.write(options.renderer, pathlib.Path(options.pictures), worst, options.long_side)
    out = kept_in / f"figures-{options.given}.json"
    out.write_text(json.dumps({
        **scores._asdict(),
        "worst": [{"badness": round(badness, 1), "path": record["path"], "faults": faults}
                  for badness, record, faults in worst],
        "records": records}, indent=1))
    print(f"\nAll of it: {out}", file=sys.stderr if options.markdown else sys.stdout)
    broken = limits.broken(scores) if options.limits else []
    for line in broken:
        print(f"LIMIT {line}")
    return 1 if broken or not all(groups) else 0


if __name__ == "__main__":
    sys.exit(main())
