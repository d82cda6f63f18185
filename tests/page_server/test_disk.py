#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What has been answered is on the disk, and not only on its way there: the program is one that notes what it asks of
the disk, and in which order."""
import json
import pathlib
import re
import sys

from bench import PHOTOS, Bench
from harness import holds, main, same

NO_PHOTO = b"no photo, but kept all the same"
# A list is whole on the disk once its bytes are, and then its name.
LIST_SAVED = ["fsync *.part", "rename *.part state.json", "fsync ."]


class Disk:
    def __init__(self, run, state):
        self.log = pathlib.Path(run.path("disk.log"))
        self.folder = pathlib.Path(run.path(state)).resolve() / "strandline/bench"
        self.seen = 0

    def asked(self):
        """What was asked since the last call, with names from the private folder on and without what is drawn by chance."""
        lines = self.log.read_text(encoding="utf-8").splitlines()
        new, self.seen = lines[self.seen:], len(lines)
        return [" ".join(self.plain(word) for word in line.split()) for line in new]

    def plain(self, word):
        if not word.startswith("/"):
            return word
        path = pathlib.Path(word)
        name = str(path.relative_to(self.folder)) if path.is_relative_to(self.folder) else word
        return re.sub(r"new-[0-9a-f]+$", "new-*", re.sub(r"\.strandline-[0-9-]+\.part$", "*.part", name))


def bench_with_log(run, state="state"):
    return Bench(run, state=state, environment={"DISK_LOG": run.path("disk.log")}), Disk(run, state)


def in_this_order(wanted, asked, what):
    rest = iter(asked)
    for line in wanted:
        holds(line in rest, f"{line!r} is missing or comes too early when {what}: {asked}")


def a_photo_is_on_the_disk_before_it_is_accepted(run):
    server, disk = bench_with_log(run)
    with server as bench:
        disk.asked()
        photo_id = bench.put(NO_PHOTO, "a.jpg")["ids"][0]
        in_this_order(["fsync files/new-*", f"rename files/new-* files/{photo_id}", "fsync files", *LIST_SAVED], disk.asked(),
                      "a photo is accepted")
        saved = run.strandline("read", "--json", "--quiet", str(PHOTOS / "bench-pair.jpg"),
                               environment={"DISK_LOG": run.path("elsewhere.log")}).out
        saved_id = bench.put(saved.encode(), "earlier.json")["ids"][0]
        in_this_order([f"fsync files/*.part", f"rename files/*.part files/{saved_id}", "fsync files", *LIST_SAVED],
                      disk.asked(), "a saved reading is accepted")


def an_edit_is_on_the_disk_before_it_is_answered(run):
    server, disk = bench_with_log(run)
    with server as bench:
        photo_id = bench.drop("bench-pair.jpg")
        bench.settled()
        for path, value in ((f"photos/{photo_id}/hand", {"strips": [{"front": 0.88}, {}], "quick": True}),
                            (f"photos/{photo_id}/hand", {"strips": [{"front": 0.88}, {}]}),
                            ("conditions", {"ink": "Dusk", "paper": "", "solvent": "", "dip_s": None, "dried_min": None}),
                            ("pairs", {"pairs": [{"immediate": [photo_id, 1], "dried": [photo_id, 0]}]})):
            disk.asked()
            bench.json("POST", path, value)
            in_this_order(LIST_SAVED, disk.asked(), f"{path} is answered")
        disk.asked()
        same(bench.ask("DELETE", f"photos/{photo_id}")[0], 204, "taking it off")
        in_this_order(LIST_SAVED, disk.asked(), "a photo is taken off")


def what_is_put_aside_is_on_the_disk(run):
    server, disk = bench_with_log(run)
    with server as bench:
        bench.put(NO_PHOTO, "a.jpg")
    (bench.folder / "state.json").write_text("broken")
    disk.asked()
    server, _ = bench_with_log(run)
    with server as bench:
        aside = next(bench.folder.glob("aside-*")).name
        asked = disk.asked()
        for folder in (f"{aside}/files", aside, "files", "."):
            in_this_order([f"rename state.json {aside}/state.json", f"rename files/p1 {aside}/files/p1", f"fsync {folder}"], asked,
                          "something was put aside")


def new_folders_are_on_the_disk(run):
    server, disk = bench_with_log(run, "deep")
    with server as bench:
        state = str(disk.folder.parent.parent)
        in_this_order([f"fsync {pathlib.Path(state).parent}", f"fsync {state}", f"fsync {state}/strandline", "fsync ."], disk.asked(),
                      "the folders are made")
        same(json.loads(bench.get("state"))["photos"], [], "photos")


if __name__ == "__main__":
    sys.exit(main([a_photo_is_on_the_disk_before_it_is_accepted, an_edit_is_on_the_disk_before_it_is_answered,
                   what_is_put_aside_is_on_the_disk, new_folders_are_on_the_disk]))
