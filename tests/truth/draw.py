# SPDX-License-Identifier: GPL-3.0-or-later
"""Draws the photos of the bench and has the program read them.

Renders lie in FOLDER/RENDERER-SIZE/, where RENDERER is part of a hash of the renderer: what was drawn is
used again until the renderer itself changes.
"""
import concurrent.futures
import hashlib
import json
import pathlib
import subprocess
import time

import compare

WORKERS = 2
PHOTOS_A_CALL = 3
DRAW_LIMIT_S, READ_LIMIT_S = 300, 300
PAIR_IN_ONE = ("pair", "pairs")
AT_ONCE, DRIED = "-a", "-b"  # endings of a pair photographed strip by strip
ERROR = {"code": compare.NO_DOCUMENT, "message": "", "remedy": "", "where": "bench"}


def renders_folder(folder, renderer, long_side):
    digest = hashlib.sha256(pathlib.Path(renderer).read_bytes()).hexdigest()[:8]
    return pathlib.Path(folder) / f"{digest}-{long_side or 'full'}"


def truth_files(folder, tier, style, seed):
    """What was drawn for one seed: one file, two for a pair photographed strip by strip, or none yet."""
    name = f"{tier}-{style}-{seed}"
    whole = folder / f"{name}.truth.json"
    halves = [folder / f"{name}{end}.truth.json" for end in (AT_ONCE, DRIED)]
    if whole.exists():
        return [whole]
    return halves if all(h.exists() for h in halves) else []


def draw_one(renderer, folder, long_side, job):
    tier, style, seed = job
    folder = folder / f"{tier}-{style}"  # apart: each run of the renderer writes an index
    folder.mkdir(parents=True, exist_ok=True)
    if not truth_files(folder, tier, style, seed):
        size = ["--long-side", str(long_side)] if long_side else []
        subprocess.run([renderer, "--random", tier, style, str(seed), *size, "-o", str(folder)],
                       check=True, timeout=DRAW_LIMIT_S)
    return [json.loads(f.read_text()) | {"folder": str(folder)}
            for f in truth_files(folder, tier, style, seed)]


def draw(renderer, folder, long_side, jobs):
    """A list of groups of truths; a group is one photo, or two that make a pair."""
    with concurrent.futures.ThreadPoolExecutor(WORKERS) as pool:
        return list(pool.map(lambda job: draw_one(renderer, folder, long_side, job), jobs))


def by_hand(truth, given):
    """Options that tell the program where things are: nothing, the corners, or the marks as well."""
    strips = truth["strips"]
    if given == "nothing" or not strips:
        return []
    options = []
    for strip in strips:
        options += ["--corners", ",".join(f"{v:.2f}" for corner in strip["corners"] for v in corner)]
    if given == "marks":
        for name in ("origin", "front"):
            options += [f"--{name}", ",".join(f"{s[name + '_frac']:.5f}" for s in strips)]
    return options


def calls_for(groups, given):
    """[verb and options, truths]: what a user would know to show a pair goes through `pair`."""
    batches = {}
    for group in groups:
        if len(group) == 2 and given == "nothing":
            yield ["pair", "--json"], group
            continue
        for truth in group:
            verb = "pair" if truth["layout"] in PAIR_IN_ONE else "read"
            command = [verb, "--json-lines", *by_hand(truth, given)]
            if given != "nothing":
                yield command, [truth]
                continue
            batch = batches.setdefault(verb, [])
            batch.append(truth)
            if len(batch) == PHOTOS_A_CALL:
                yield command, batches.pop(verb)
    for verb, batch in batches.items():
        yield [verb, "--json-lines"], batch


def path_of(truth):
    return str(pathlib.Path(truth["folder"]) / truth["photo"])


def photos_of(document):
    """[(photo, its pairs)]; the pairs of two photos go with the first."""
    photos = document["photos"]
    return [(p, document["pairs"] if k == 0 else []) for k, p in enumerate(photos)]


def call(program, command, truths):
    """[(truth, photo, pairs, seconds)]"""
    paths = [path_of(t) for t in truths]
    start = time.monotonic()
    done = subprocess.run([program, *command, "--quiet", *paths], capture_output=True, text=True,
                          timeout=READ_LIMIT_S)
    seconds = (time.monotonic() - start) / len(truths)
    read = {}
    for line in filter(None, done.stdout.splitlines() if "--json-lines" in command else [done.stdout]):
        for photo, pairs in photos_of(json.loads(line)):
            read[photo["file"]] = (photo, pairs)
    nothing = {"error": ERROR | {"message": done.stderr.strip()}, "warnings": [], "strips": []}
    return [(t, *read.get(p, (nothing, [])), seconds) for t, p in zip(truths, paths)]


def read(program, groups, given="nothing"):
    with concurrent.futures.ThreadPoolExecutor(WORKERS) as pool:
        jobs = [pool.submit(call, program, c, t) for c, t in calls_for(groups, given)]
        return [row for job in jobs for row in job.result()]
