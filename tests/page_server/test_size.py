#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Photos as large as phones take them: the page stays small and quick. What is quick is told as a part of what one
reading of the same photo takes, in processor time, so that a slow or busy machine changes nothing."""
import json
import pathlib
import subprocess
import sys
import tempfile

from bench import Bench
from harness import Skip, holds, main, processor_s, same

SCENE = pathlib.Path(__file__).resolve().parent.parent.parent / "demo" / "scenes" / "bench-pair.txt"
LONG_SIDE_PX, MEGAPIXELS = 4032, 12e6
MEMORY_MIB = 300       # with that many photos on the page: the project's own limits
PHOTOS = 20
MOVES = 8
MOVE_PART, BAND_PART = 0.33, 0.25  # of the processor time of a first reading; seen: 0.15 and 0.08
MOVE_BYTES, BAND_BYTES = 0.2, 0.1  # of the reading's bytes


def large_photo(run, drawn={}):
    """Drawn once for all tests of this file."""
    if not drawn:
        with tempfile.TemporaryDirectory() as folder:
            subprocess.run([run.draw_program, str(SCENE), "--long-side", str(LONG_SIDE_PX), "-o", folder], check=True,
                           stdout=subprocess.DEVNULL)
            drawn["bytes"] = next(pathlib.Path(folder).glob("*.jpg")).read_bytes()
    return drawn["bytes"]


def read_first(run, bench):
    """Photo, its reading and the processor time that it took."""
    before = processor_s(bench.process.pid)
    photo_id = bench.put(large_photo(run), "large.jpg")["ids"][0]
    photo = bench.settled()["photos"][0]
    holds(photo["width_px"] * photo["height_px"] >= MEGAPIXELS, f"the photo is small: {photo}")
    took = processor_s(bench.process.pid) - before
    return photo_id, json.loads(bench.get(f"photos/{photo_id}/reading")), took


def moved(bench, photo_id, strips, since):
    status, _, text = bench.ask("POST", f"photos/{photo_id}/hand", json.dumps({"strips": strips, "since": since}).encode())
    same(status, 200, f"moving {strips}")
    return json.loads(text), len(text)


def moves(bench, photo_id, strips_at):
    """Mean processor time of a move, and the bytes of the last answer. The first one wakes the photo and does not count."""
    photo, _ = moved(bench, photo_id, strips_at(0), 0)
    before = processor_s(bench.process.pid)
    for i in range(1, MOVES + 1):
        photo, count = moved(bench, photo_id, strips_at(i), photo["reading_version"])
        same(photo["reading_since"] + 1, photo["reading_version"], "what is told against")
    return (processor_s(bench.process.pid) - before) / MOVES, count


def a_move_costs_a_part_of_a_reading(run):
    with Bench(run) as bench:
        photo_id, reading, first_s = read_first(run, bench)
        whole = len(bench.get(f"photos/{photo_id}/reading"))
        front = reading["strips"][0]["front"]
        move_s, count = moves(bench, photo_id, lambda i: [{"front": round(front - 0.001 * i, 4)}, {}])
        print(f"# a reading {first_s * 1000:.0f} ms of processor time, a move of the front {move_s * 1000:.0f} ms, "
              f"{count} of {whole} bytes")
        holds(move_s < MOVE_PART * first_s, f"a move takes {move_s:.3f} s of processor time, a reading {first_s:.3f} s")
        holds(count < MOVE_BYTES * whole, f"a move is answered with {count} bytes, the reading has {whole}")
        band_s, count = moves(bench, photo_id, lambda i: [{"bands": [[round(0.4 - 0.001 * i, 4), 0.5]]}, {}])
        print(f"# a move of a band's limit {band_s * 1000:.0f} ms, {count} bytes")
        holds(band_s < BAND_PART * first_s, f"a band's move takes {band_s:.3f} s, a reading {first_s:.3f} s")
        holds(count < BAND_BYTES * whole, f"a band's move is answered with {count} bytes, the reading has {whole}")


def what_has_changed_and_what_was_there_make_the_whole(run):
    with Bench(run) as bench:
        photo_id, held, _ = read_first(run, bench)
        version = bench.json("GET", "state")["photos"][0]["reading_version"]
        corners = held["strips"][1]["corners_px"]
        for strips in ([{"front": 0.8}, {}], [{"front": 0.8, "bands": [[0.3, 0.42]]}, {}], [{}, {"origin": 0.2}],
                       [{}, {"corners_px": [[x + 5, y] for x, y in corners]}], []):
            photo, _ = moved(bench, photo_id, strips, version)
            same(photo["reading_since"], version, "what is told against")
            for old, new in zip(held["strips"], photo["reading"]["strips"]):
                new["profile"] = {**old["profile"], **new["profile"]}
            held, version = photo["reading"], photo["reading_version"]
            same(held, json.loads(bench.get(f"photos/{photo_id}/reading")), f"the reading after {strips}")
        photo, _ = moved(bench, photo_id, [{"front": 0.79}, {}], version - 1)
        holds("reading_since" not in photo, "a change is told against a reading that is gone")
        same(photo["reading"], json.loads(bench.get(f"photos/{photo_id}/reading")), "the whole reading")


def twenty_large_photos_stay_small(run):
    if "sanitize" in str(run.program):
        raise Skip("a sanitizer takes memory of its own")
    with Bench(run) as bench:
        ids = [bench.put(large_photo(run), f"photo-{i}.jpg")["ids"][0] for i in range(PHOTOS)]
        state = bench.settled()
        same([p["error"] for p in state["photos"]], [None] * PHOTOS, "errors")
        for photo in state["photos"]:
            holds(photo["width_px"] * photo["height_px"] >= MEGAPIXELS, f"the photo is small: {photo}")
        for photo_id in ids:
            bench.get(f"photos/{photo_id}/picture?side=1600")
            bench.get(f"photos/{photo_id}/region?x=1000&y=1000&w=300&h=300")
            bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"origin": 0.2}, {}]})
        bench.get("export/json")
        bench.get("export/report.html")
        bench.get("export/review.png?n=0&shape=landscape")
        mib = bench.memory_kib() // 1024
        print(f"# {mib} MiB at most with {PHOTOS} photos of 12 megapixels")
        holds(mib < MEMORY_MIB, f"{mib} MiB")


if __name__ == "__main__":
    sys.exit(main([a_move_costs_a_part_of_a_reading, what_has_changed_and_what_was_there_make_the_whole,
                   twenty_large_photos_stay_small]))
