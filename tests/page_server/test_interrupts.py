#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What takes long gives way: the page stops soon, whatever it is at, and a photo that is taken off it is read no more."""
import json
import pathlib
import signal
import sys
import threading
import time

from bench import PHOTOS, Bench
from harness import holds, main, processor_s, same
from stored import slow_tiff

STOP_S = 5  # from the interrupt to the end
LEAVE_S = 2  # of processor time, from the removal to the next photo's turn
UNDER_WAY_S = 0.5  # of processor time
PATIENCE_S = 60
READINGS = 64  # the page's limit


def slow_photo(run, made={}):
    """It takes many times STOP_S to decode. Made once for all tests of this file."""
    if not made:
        made["bytes"] = slow_tiff(pathlib.Path(run.draw("pair", "plain.ppm")).read_bytes())
    return made["bytes"]


def work_on(bench, more_s):
    """Waits until it has worked so much longer."""
    wanted, patience = processor_s(bench.process.pid) + more_s, time.monotonic() + PATIENCE_S
    while processor_s(bench.process.pid) < wanted:
        holds(time.monotonic() < patience, "it does not work")
        time.sleep(0.01)


def reads(bench, photo_id):
    """Waits until the photo is being read."""
    patience = time.monotonic() + PATIENCE_S
    while True:
        phase = next(p["phase"] for p in bench.json("GET", "state")["photos"] if p["id"] == photo_id)
        if phase == "reading":
            return work_on(bench, UNDER_WAY_S)
        holds(phase == "waiting" and time.monotonic() < patience, f"the photo's phase is {phase}")
        time.sleep(0.01)


def in_background(bench, *question):
    """Asks and lets the answer go: the page may end before it."""
    def ask():
        try:
            bench.ask(*question)
        except OSError:
            pass
    thread = threading.Thread(target=ask)
    thread.start()
    return thread


def stops_in_time(bench, number):
    begin = time.monotonic()
    same(bench.stop(number), 0, "exit code")
    took = time.monotonic() - begin
    holds(took < STOP_S, f"it took {took:.1f} s to stop")


def it_stops_while_a_photo_is_read(run):
    for number in (signal.SIGINT, signal.SIGTERM):
        with Bench(run, state=f"state-{number}") as bench:
            done = bench.drop("bench-pair.jpg")
            bench.settled()
            slow = bench.put(slow_photo(run), "slow.tif")["ids"][0]
            reads(bench, slow)
            waiting = [in_background(bench, "GET", f"photos/{slow}/picture?side=400"),
                       in_background(bench, "POST", f"photos/{slow}/hand", b'{"strips": [{"origin": 0.2}, {}]}')]
            bench.json("POST", f"photos/{done}/hand", {"strips": [{"front": 0.87}, {}], "quick": True})
            stops_in_time(bench, number)
            for thread in waiting:
                thread.join()
        with Bench(run, state=f"state-{number}") as bench:
            photos = bench.json("GET", "state")["photos"]
            same([(p["id"], p["error"]) for p in photos], [(done, None), (slow, None)], "photos afterwards")
            same(photos[0]["hand"]["strips"][0]["front"], 0.87, "the value that was set last")


def it_stops_while_a_report_is_drawn(run):
    """Which nothing interrupts, and takes far longer."""
    with Bench(run) as bench:
        bench.drop("ink-row.jpg")
        bench.settled()
        document = json.loads(bench.get("export/json"))
        document["photos"] *= READINGS // 2
        text = json.dumps(document).encode()
        ids = [photo_id for name in ("one.json", "two.json") for photo_id in bench.put(text, name)["ids"]]
        same(len(ids), READINGS, "saved readings")
        waiting = in_background(bench, "GET", "export/report.html")
        work_on(bench, UNDER_WAY_S)
        stops_in_time(bench, signal.SIGTERM)
        waiting.join()
    with Bench(run) as bench:
        same([s["id"] for s in bench.json("GET", "state")["saved"]], ids, "saved readings afterwards")


def a_photo_taken_off_the_page_is_read_no_more(run):
    with Bench(run) as bench:
        before = processor_s(bench.process.pid)
        bench.drop("bench-pair.jpg")
        bench.settled()
        usual = processor_s(bench.process.pid) - before
        slow = bench.put(slow_photo(run), "slow.tif")["ids"][0]
        reads(bench, slow)
        bench.put((PHOTOS / "bench-pair.jpg").read_bytes(), "next.jpg")
        before = processor_s(bench.process.pid)
        same(bench.ask("DELETE", f"photos/{slow}")[0], 204, "the removal")
        photos = bench.settled()["photos"]
        took = processor_s(bench.process.pid) - before
        same([(p["name"], p["error"]) for p in photos], [("bench-pair.jpg", None), ("next.jpg", None)], "photos")
        print(f"# a photo takes {usual:.1f} s, behind one that is taken off the page {took:.1f} s")
        holds(took < usual + LEAVE_S, f"the next photo was read after {took:.1f} s, alone it takes {usual:.1f} s")


if __name__ == "__main__":
    sys.exit(main([it_stops_while_a_photo_is_read, it_stops_while_a_report_is_drawn,
                   a_photo_taken_off_the_page_is_read_no_more]))
