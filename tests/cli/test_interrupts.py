#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Interrupts end the program soon, whatever photo is being read; what is written by then is whole."""
import os
import pathlib
import signal
import subprocess
import sys
import time

from harness import Run, clean_environment, holds, main, processor_s, same
from stored import slow_tiff

PROMISE_S = 2  # from the interrupt to the end
UNDER_WAY_S = 0.5  # of processor time: more than the program takes to start
PATIENCE_S = 60


def slow_photo(run, made={}):
    """It takes many times PROMISE_S to decode. Made once for all tests of this file."""
    if not made:
        made["bytes"] = slow_tiff(pathlib.Path(run.draw("pair", "plain.ppm")).read_bytes())
        os.remove(run.path("plain.ppm"))
    return run.write("slow.tif", made["bytes"])


def start(run, *arguments):
    return subprocess.Popen([run.program, *arguments], cwd=run.folder, env=clean_environment(),
                            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def work_on(process, more_s):
    """Waits until it has worked so much longer, which must not be its end."""
    wanted, patience = processor_s(process.pid) + more_s, time.monotonic() + PATIENCE_S
    while processor_s(process.pid) < wanted:
        same(process.poll(), None, "exit code before the interrupt")
        holds(time.monotonic() < patience, "it does not work")
        time.sleep(0.01)


def interrupt(process, number):
    """What the process still wrote to standard output and error."""
    begin = time.monotonic()
    process.send_signal(number)
    try:
        said = process.communicate(timeout=PATIENCE_S)
    finally:
        process.kill()
    took = time.monotonic() - begin
    same(process.returncode, -number, "exit code")
    holds(took < PROMISE_S, f"it took {took:.1f} s to end")
    return said


def a_photo_that_is_being_read_is_left_at_once(run: Run):
    photo = slow_photo(run)
    before = run.files()
    for verb, number in (("read", signal.SIGINT), ("pair", signal.SIGTERM), ("overlay", signal.SIGHUP)):
        process = start(run, verb, photo, "--json", "--output", "a.json", "--html", "a.html", "--csv-bands",
                        "a.csv", "--figures", "figures")
        work_on(process, UNDER_WAY_S)
        same(interrupt(process, number), ("", ""), "what it said")
        same(run.files(), before, "files afterwards")


def what_was_read_before_is_kept(run: Run):
    process = start(run, "read", "--json-lines", run.draw("single", "first.jpg"), slow_photo(run))
    first = process.stdout.readline()
    holds(first.startswith('{"strandline"') and first.endswith("}\n"), f"the first line: {first[:80]}")
    work_on(process, UNDER_WAY_S)
    same(interrupt(process, signal.SIGTERM), ("", ""), "what it said then")


def a_photo_that_is_read_again_for_its_figures_is_left_too(run: Run):
    folder = run.folder / "figures"
    process = start(run, "read", slow_photo(run), "--quiet", "--figures", "figures", "--steps", "--figure-format", "png")
    patience = time.monotonic() + 2 * PATIENCE_S
    while not (folder / "slow-strip-2.png").exists():
        holds(time.monotonic() < patience and process.poll() is None, "the figures of the strips were not drawn")
        time.sleep(0.01)
    work_on(process, UNDER_WAY_S)
    same(interrupt(process, signal.SIGTERM), ("", ""), "what it said")
    same(sorted(os.listdir(folder)), ["slow-strip-1.png", "slow-strip-2.png"], "figures")
    for figure in folder.iterdir():
        same(figure.read_bytes()[-8:-4], b"IEND", f"the end of {figure.name}")


if __name__ == "__main__":
    sys.exit(main([a_photo_that_is_being_read_is_left_at_once, what_was_read_before_is_kept,
                   a_photo_that_is_read_again_for_its_figures_is_left_too]))
