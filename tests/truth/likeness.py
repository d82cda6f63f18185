# SPDX-License-Identifier: GPL-3.0-or-later
"""How like other photographs with truth ours are: likeness.py OURS... -- OTHERS...

Both are folders with NAME.truth.json (format strip-truth-1). Prints a Markdown table, a row for each quantity
that both truths state: the 10, 50 and 90 % quantiles, or the part of strips, of both kinds of folder.
"""
import json
import pathlib
import statistics
import sys


def strips(folders):
    """All strips that carry ink, with the photo they are in."""
    for folder in folders:
        for path in sorted(pathlib.Path(folder).glob("*.truth.json")):
            truth = json.loads(path.read_text())
            if truth.get("negative"):
                continue
            for strip in truth["strips"]:
                if strip.get("components"):
                    yield truth, strip


def dyes(strip, key):
    return [dye[key] for dye in strip["components"] if dye.get(key) is not None]


def of_dried(key, low, high):
    return lambda photo, strip: [low <= strip[key] <= high] if strip["role"] == "dried" else []


# (name, values of one strip); a strip without the quantity gives none
QUANTITIES = (
    ("length mm", lambda photo, strip: [strip["length_mm"]]),
    ("width mm", lambda photo, strip: [strip["width_mm"]]),
    ("px per mm", lambda photo, strip: [photo["px_per_mm"]]),
    ("line's width mm", lambda photo, strip: [strip["line_width_mm"]]),
    ("run mm", lambda photo, strip: [strip["front_mm"] - strip["origin_mm"]]),
    ("front's spread mm", lambda photo, strip: [strip["front_spread_mm"]]),
    ("lift of curled strips mm", lambda photo, strip: [strip["curl"]["lift_mm"]] if strip["curl"] else []),
    ("dyes", lambda photo, strip: [len(strip["components"])]),
    ("Rf of a dye", lambda photo, strip: dyes(strip, "mobile_apex_rf")),
    ("part released slowly", lambda photo, strip: dyes(strip, "slow_release")),
    ("retained share", lambda photo, strip: [strip["retained_share"]]),
    ("bound share", lambda photo, strip: [strip["bound_share"]]),
    ("bands", lambda photo, strip: [len(strip["bands"])]),
    ("height of a band, K/S", lambda photo, strip: [band["apex_ks"] for band in strip["bands"]]),
    ("curled", lambda photo, strip: [bool(strip["curl"])]),
    ("torn", lambda photo, strip: [any(strip["torn"])]),
    ("front visible", lambda photo, strip: [bool(strip["front_visible"])]),
    ("retained 8 % or more, of those that dried", of_dried("retained_share", 0.08, 1)),
    ("retained 4 to 20 %, of those that dried", of_dried("retained_share", 0.04, 0.2)),
    ("bound 8 % or more, of those that dried", of_dried("bound_share", 0.08, 1)),
)


def values(folders):
    """Name of a quantity to all its values."""
    found = {name: [] for name, _ in QUANTITIES}
    for photo, strip in strips(folders):
        for name, of_strip in QUANTITIES:
            try:
                found[name] += of_strip(photo, strip)
            except KeyError:
                pass  # this truth does not state it
    return found


def cell(numbers):
    if not numbers:
        return "-"
    if isinstance(numbers[0], bool):
        return f"{100 * statistics.mean(numbers):.0f} % (n {len(numbers)})"
    ordered = sorted(numbers)
    three = [ordered[min(len(ordered) - 1, int(part * len(ordered)))] for part in (0.1, 0.5, 0.9)]
    return " / ".join(f"{value:.3g}" for value in three) + f" (n {len(numbers)})"


def main():
    if "--" not in sys.argv[1:]:
        sys.exit(__doc__)
    at = sys.argv.index("--")
    ours, others = values(sys.argv[1:at]), values(sys.argv[at + 1:])
    print("| 10 / 50 / 90 % quantiles | ours | others |\n| --- | ---: | ---: |")
    for name, _ in QUANTITIES:
        if ours[name] and others[name]:
            print(f"| {name} | {cell(ours[name])} | {cell(others[name])} |")


if __name__ == "__main__":
    main()
