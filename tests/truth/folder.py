# SPDX-License-Identifier: GPL-3.0-or-later
"""The photos of a folder that has truth files already (NAME.truth.json, format strip-truth-1), as draw.py gives those
that it drew. index.json there says which are a pair photographed strip by strip."""
import json
import pathlib
import re

import compare
import draw

PARITIES = {"even": (0,), "odd": (1,), "all": (0, 1)}


def number(name):
    """p014.jpg is the 14th; 0 where the name has none."""
    digits = re.findall(r"\d+", pathlib.Path(name).stem)
    return int(digits[-1]) if digits else 0


def pairs_apart(folder):
    index = folder / "index.json"
    listed = json.loads(index.read_text()).get("separate_pairs", []) if index.exists() else []
    return [[pair["immediate"], pair["dried"]] for pair in listed]


def groups(folder, parity="all"):
    """A list of groups of photos as draw.draw() gives; a pair has the number of its dried strip, on which the
    verdict rests."""
    folder = pathlib.Path(folder)
    truths = {}
    for path in sorted(folder.glob("*.truth.json")):
        truth = json.loads(path.read_text())
        truths[truth["photo"]] = path, truth
    apart = pairs_apart(folder)
    alone = [[name] for name in truths if not any(name in pair for pair in apart)]
    found = []
    for names in alone + apart:
        seed = number(names[-1])
        if seed % 2 in PARITIES[parity]:
            found.append([draw.Photo(str(folder / name), str(path), truth["layout"],
                                     draw.Job(truth["tier"], compare.style_of(truth), seed))
                          for name in names for path, truth in [truths[name]]])
    return found
