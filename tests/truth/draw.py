# SPDX-License-Identifier: GPL-3.0-or-later
"""Has the renderer draw the photos of the bench.

Renders lie in FOLDER/RENDERER-SIZE/, where RENDERER is part of a hash of the renderer: what was drawn is
used again until the renderer itself changes.
"""
import collections
import concurrent.futures
import hashlib
import json
import pathlib
import subprocess
import sys

WORKERS = 2
DRAW_LIMIT_S = 300
AT_ONCE, DRIED = "-a", "-b"  # endings of a pair photographed strip by strip

# One throw of the renderer's dice; nothing_retained: a pair of an ink that no paper holds.
Job = collections.namedtuple("Job", "tier style seed nothing_retained", defaults=(False,))

# One photo that was drawn, and its group: the photos of a pair photographed strip by strip go together.
Photo = collections.namedtuple("Photo", "path truth_path layout job")


def renders_folder(folder, renderer, long_side):
    digest = hashlib.sha256(pathlib.Path(renderer).read_bytes()).hexdigest()[:8]
    return pathlib.Path(folder) / f"{digest}-{long_side or 'full'}"


def options_of(job):
    options = ["--random", job.tier, job.style, str(job.seed)]
    return options + ["--nothing-retained"] if job.nothing_retained else options


def truth_files(folder, job):
    """What was drawn for one job: one file, two for a pair photographed strip by strip, or none yet."""
    name = f"{job.tier}-{job.style}-{job.seed}"
    whole = folder / f"{name}.truth.json"
    halves = [folder / f"{name}{end}.truth.json" for end in (AT_ONCE, DRIED)]
    if whole.exists():
        return [whole]
    return halves if all(h.exists() for h in halves) else []


def photos_in(folder, job):
    """The photos that lie there for a job; none if a file was left half written."""
    photos = []
    for path in truth_files(folder, job):
        try:
            truth = json.loads(path.read_text())
        except ValueError:
            return []
        photos.append(Photo(str(folder / truth["photo"]), str(path), truth["layout"], job))
    return photos


def draw_one(renderer, folder, long_side, job):
    # apart: each run of the renderer writes an index
    folder = folder / ("nothing-retained-" * job.nothing_retained + f"{job.tier}-{job.style}")
    folder.mkdir(parents=True, exist_ok=True)
    if not photos_in(folder, job):
        size = ["--long-side", str(long_side)] if long_side else []
        try:
            subprocess.run([renderer, *options_of(job), *size, "-o", str(folder)], check=True,
                           timeout=DRAW_LIMIT_S)
        except subprocess.SubprocessError as error:
            print(f"not drawn: {error}", file=sys.stderr)
            return []
    return photos_in(folder, job)


def draw(renderer, folder, long_side, jobs):
    """A list of groups of photos; a group is one photo, or two that make a pair."""
    with concurrent.futures.ThreadPoolExecutor(WORKERS) as pool:
        return list(pool.map(lambda job: draw_one(renderer, folder, long_side, job), jobs))
