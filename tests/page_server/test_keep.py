#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is on the page is never lost: not by a list that can't be read, a file that is missing, a full disk or a kill."""
import json
import os
import pathlib
import shutil
import signal
import sys
import time

from bench import PATIENCE_S, PHOTOS, Bench
from harness import holds, main, same

NO_PHOTO = b"no photo, but kept all the same"
CONDITIONS = {"ink": "Dusk", "paper": "filter", "solvent": "water", "dip_s": 12.0, "dried_min": 10.0}
FOREIGN = {"notes.txt": b"mine", "state.json.bak": b"{}", "files/p1.jpg": b"a name much like ours", "files/new-photo": b"new", "files/p01": b"no number of ours",
           "files/new-0123456789abcdef.jpg": b"almost an upload", "files/.hidden": b"dots", "files/.hidden.part": b"part",
           "files/deep/p1": b"in a folder of its own"}
UNFINISHED = ("files/new-0123456789abcdef", "files/.strandline-77-0.part", ".strandline-77-0.part")


def everything(folder):
    """The bytes of all files, by name."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file() and not p.is_symlink()}


def saved_reading(run):
    return run.strandline("read", "--json", "--quiet", str(PHOTOS / "bench-pair.jpg")).out.encode()


def work(run):
    """A page with photos, a saved reading and values set by hand; its folder, and the ids in their order."""
    with Bench(run, state="whole") as bench:
        ids = [bench.put(NO_PHOTO * 100, "first.jpg")["ids"][0], bench.put(NO_PHOTO, "second.jpg")["ids"][0]]
        ids += bench.put(saved_reading(run), "earlier.json")["ids"]
        bench.settled()
        bench.json("POST", f"photos/{ids[0]}/hand", {"strips": [{"origin": 0.21}, {"ink": "Dusk"}]})
        bench.json("POST", "conditions", CONDITIONS)
    return bench.folder, ids


def list_with(change):
    """The list as JSON with something changed in it."""
    def broken(folder):
        state = json.loads((folder / "state.json").read_bytes())
        change(state)
        (folder / "state.json").write_text(json.dumps(state))
    return broken


def list_as(make):
    """Other bytes in place of the list, made from it."""
    def broken(folder):
        path = folder / "state.json"
        path.write_bytes(make(path.read_bytes()))
    return broken


def in_place_of_the_list(make):
    def broken(folder):
        (folder / "state.json").unlink()
        make(folder / "state.json")
    return broken


def folder_with_a_file(path):
    path.mkdir()
    (path / "inside").write_bytes(b"inside")


def cut_file(name):
    def broken(folder):
        path = folder / "files" / name
        path.write_bytes(path.read_bytes()[:-1000])
    return broken


def more_than_fit(folder):
    """50 beside the two that are there, and the page takes 32."""
    state = json.loads((folder / "state.json").read_bytes())
    for i in range(10, 60):
        (folder / f"files/p{i}").write_bytes(NO_PHOTO)
        state["photos"].append({**state["photos"][1], "id": f"p{i}"})
    (folder / "state.json").write_text(json.dumps(state))


# How it is broken; what the start says of it; which of the three photos are on the page then.
UNREADABLE, GONE = ("can't be read: state.json and 3 files were", "whole", "aside-"), ("no list", "3 files were", "whole", "aside-")
PARTS, LOST = ("can't be read in all parts", "a copy of state.json", "aside-"), ("missing or has another size", "first.jpg")
BREAKS = {
    "cut to nothing": (list_as(lambda b: b""), UNREADABLE, ()),
    "cut after a byte": (list_as(lambda b: b[:1]), UNREADABLE, ()),
    "cut in the middle": (list_as(lambda b: b[:len(b) // 2]), UNREADABLE, ()),
    "cut before its end": (list_as(lambda b: b.rstrip()[:-1]), UNREADABLE, ()),
    "zeros": (list_as(lambda b: bytes(len(b))), UNREADABLE, ()),
    "zeros behind the first half": (list_as(lambda b: b[:len(b) // 2] + bytes(len(b) - len(b) // 2)), UNREADABLE, ()),
    "no JSON": (list_as(lambda b: b"hello\n"), UNREADABLE, ()),
    "a list": (list_as(lambda b: b"[" + b + b"]"), UNREADABLE, ()),
    "no version": (list_with(lambda s: s.pop("strandline_bench")), UNREADABLE, ()),
    "a version that is a text": (list_with(lambda s: s.update(strandline_bench="1")), UNREADABLE, ()),
    "a newer version": (list_with(lambda s: s.update(strandline_bench=2, more={})), ("newer", "state.json and 3 files were", "whole", "aside-"), ()),
    "missing": (lambda folder: (folder / "state.json").unlink(), GONE, ()),
    "a folder": (in_place_of_the_list(folder_with_a_file), UNREADABLE, ()),
    "a pipe": (in_place_of_the_list(os.mkfifo), UNREADABLE, ()),
    "a link to nowhere": (in_place_of_the_list(lambda path: path.symlink_to("nowhere")), UNREADABLE, ()),
    "photos that are no list": (list_with(lambda s: s.update(photos={})), PARTS + ("and 3 files were",), ()),
    "a photo that is a number": (list_with(lambda s: s["photos"].__setitem__(1, 7)), PARTS + ("and 1 file were",), (0, 2)),
    "a photo without a name": (list_with(lambda s: s["photos"][0].pop("name")), PARTS + ("and 1 file were",), (1, 2)),
    "a photo named like a path": (list_with(lambda s: s["photos"][0].update(id="../files/p1")), PARTS + ("and 1 file were",), (1, 2)),
    "a photo twice": (list_with(lambda s: s["photos"].append(s["photos"][0])), PARTS + ("state.json was",), (0, 1, 2)),
    "more photos than fit": (more_than_fit, PARTS + ("and 20 files were",), None),
    "values of the wrong type": (list_with(lambda s: s["photos"][0].update(hand={"strips": [{"origin": "low"}]})),
                                 PARTS + ("state.json was",), (0, 1, 2)),
    "pairs of the wrong type": (list_with(lambda s: s["pairs"].append(["p1", 0])), PARTS + ("state.json was",), (0, 1, 2)),
    "conditions of the wrong type": (list_with(lambda s: s.update(conditions=[])), PARTS + ("state.json was",), (0, 1, 2)),
    "a number for the next photo that is none": (list_with(lambda s: s.update(next_id=-3)), PARTS + ("state.json was",), (0, 1, 2)),
    "a number for the next photo that is taken": (list_with(lambda s: s.update(next_id=1)), (), (0, 1, 2)),
    "a photo of no list": (list_with(lambda s: s["photos"].pop(1)), ("more than its list names", "1 file was", "aside-"), (0, 2)),
    "a photo's file missing": (lambda folder: (folder / "files/p1").unlink(), LOST, (0, 1, 2)),
    "a photo's file cut": (cut_file("p1"), LOST, (0, 1, 2)),
    "two files cut": (lambda folder: [cut_file(n)(folder) for n in ("p1", "s3")], ("missing or have another size", "first.jpg", "2 photos", "files/p1"), (0, 1, 2)),
    "nothing": (lambda folder: None, (), (0, 1, 2)),
}


def all_still_there(before, folder, what):
    """Under whatever names: nothing of it is gone or changed."""
    now = list(everything(folder).values())
    for name, data in before.items():
        holds(data in now, f"{name} is lost after {what}: {sorted(everything(folder))}")


def said_once(bench, words, what):
    lines = bench.said.splitlines()
    same(len(lines), 1 if words else 0, f"lines on standard error with {what} ({bench.said!r})")
    for word in words:
        holds(word in lines[0], f"{word!r} is not said of {what}: {lines[0]}")


def one_break(run, number, what):
    broken, words, left = BREAKS[what]
    folder, ids = run.path("whole"), ["p1", "p2", "s3"]
    place = f"broken-{number}"
    shutil.copytree(folder, run.path(place))
    folder = pathlib.Path(run.path(place)) / "strandline/bench"
    for name, data in FOREIGN.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(data)
    for name in UNFINISHED:
        (folder / name).write_bytes(b"cut off, and told to nobody")
    broken(folder)
    understood = not any("state.json" in word for word in words)  # then the list may be written anew
    before = {n: b for n, b in everything(folder).items() if n not in UNFINISHED and (n != "state.json" or not understood)}
    with Bench(run, "--quiet", state=place) as bench:
        state = bench.json("GET", "state")
        if left is not None:
            same([p["id"] for p in state["photos"] + state["saved"]], [ids[i] for i in left], f"what is on the page after {what}")
        same(state["keep"]["error"], None, f"whether the work is kept after {what}")
        same(len(state["keep"]["told"]), 1 if words else 0, f"sentences on the page after {what}")
        for told in state["keep"]["told"]:
            holds(all(word in told["message"] for word in words) and told["remedy"].endswith("."), f"told after {what}: {told}")
        same(bench.stop(), 0, f"exit code with {what}")
        said_once(bench, words, what)
    all_still_there(before, folder, what)
    with Bench(run, "--quiet", state=place) as bench:
        new = bench.put(b"another one " + what.encode(), "new.jpg")["ids"][0] if left is not None else None
        bench.json("POST", "conditions", CONDITIONS)
        bench.stop()
        said_once(bench, words if words[1:2] == ("first.jpg",) else (), what + ", at the second start")
    all_still_there(before, folder, what + ", at the second start")
    for name, data in FOREIGN.items():
        same((folder / name).read_bytes(), data, f"{name} with {what}")
    for name in UNFINISHED:
        holds(not (folder / name).exists(), f"{name} is left with {what}")
    holds(not new or (folder / "files" / new).read_bytes() == b"another one " + what.encode(), f"the new photo with {what}")


def whatever_a_start_finds_nothing_is_lost(run):
    work(run)
    for number, what in enumerate(BREAKS):
        one_break(run, number, what)


def what_is_told_lost_comes_back_as_it_was(run):
    """A photo whose file is missing stays with all that was set by hand, whatever is changed meanwhile."""
    with Bench(run) as bench:
        photo_id = bench.drop("washable-pair.jpg")
        bench.settled()
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"origin": 0.21}, {"ink": "Dusk"}]})
        bench.json("POST", "pairs", {"pairs": [{"immediate": [photo_id, 1], "dried": [photo_id, 0]}]})
    (bench.folder / "files" / photo_id).rename(bench.folder / "elsewhere")
    with Bench(run) as bench:
        state = bench.settled()
        same(state["photos"][0]["error"]["code"], "no-such-file", "what is said of the photo")
        bench.json("POST", "conditions", CONDITIONS)
        bench.settled()
    (bench.folder / "elsewhere").rename(bench.folder / "files" / photo_id)
    with Bench(run) as bench:
        state = bench.settled()
        same(state["keep"]["told"], [], "what is told once the file is back")
        photo = state["photos"][0]
        same((photo["error"], photo["strip_count"]), (None, 2), "the photo")
        same((photo["hand"]["strips"][0]["origin"], photo["hand"]["strips"][1]["ink"]), (0.21, "Dusk"), "its values set by hand")
        same([p["immediate"] for p in state["pairs"] if p["by_hand"]], [[photo_id, 1]], "its pair")
        same(state["conditions"], CONDITIONS, "the conditions")


def put_aside_twice_on_one_day(run):
    wholes = []
    for number in range(3):
        folder, _ = work(run)
        (folder / "state.json").write_bytes(b"broken %d" % number)
        wholes.append(everything(folder / "files"))
        with Bench(run, state="whole"):
            pass
    asides = sorted(folder.glob("aside-*"))
    same(len(asides), 3, f"folders ({asides})")
    same(sorted((a / "state.json").read_bytes() for a in asides), [b"broken 0", b"broken 1", b"broken 2"], "lists")
    for aside in asides:
        same(everything(aside / "files"), wholes[0], f"files in {aside.name}")
        same(oct(aside.stat().st_mode & 0o777), "0o700", f"mode of {aside.name}")


def put_back_it_is_there_again(run):
    folder, ids = work(run)
    BREAKS["a newer version"][0](folder)
    with Bench(run, state="whole") as bench:
        same(bench.json("GET", "state")["photos"], [], "photos")
    aside, = folder.glob("aside-*")
    state = json.loads((aside / "state.json").read_bytes())
    same((state["strandline_bench"], state["more"]), (2, {}), "the newer list")
    state["strandline_bench"] = 1
    (folder / "state.json").write_text(json.dumps(state))
    for path in (aside / "files").iterdir():
        path.rename(folder / "files" / path.name)
    with Bench(run, state="whole") as bench:
        state = bench.settled()
        same([p["id"] for p in state["photos"] + state["saved"]], ids, "what is on the page")
        same((state["photos"][0]["hand"]["strips"][0]["origin"], state["saved"][0]["strip_count"]), (0.21, 2), "what is known of them")


def a_new_name_is_never_one_that_exists(run):
    with Bench(run) as bench:
        first = bench.put(NO_PHOTO, "a.jpg")["ids"][0]
        for name in ("p2", "p3", "s2", "s4"):
            (bench.folder / "files" / name).write_bytes(b"mine")
        (bench.folder / "files/p4").mkdir()
        same((first, bench.put(NO_PHOTO, "b.jpg")["ids"]), ("p1", ["p5"]), "ids")
        same(bench.put(saved_reading(run), "earlier.json")["ids"], ["s6"], "the saved reading's id")
        for name in ("p2", "p3", "s2", "s4"):
            same((bench.folder / "files" / name).read_bytes(), b"mine", name)


def only_what_was_taken_off_is_removed(run):
    folder, ids = work(run)
    with Bench(run, state="whole") as bench:
        for photo_id in (ids[1], ids[2]):
            same(bench.ask("DELETE", f"photos/{photo_id}")[0], 204, photo_id)
        same(bench.ask("DELETE", "photos/p77")[0], 404, "a photo that is none")
        same(sorted(everything(folder / "files")), [ids[0]], "files")
        same([p["id"] for p in bench.kept()["photos"]], [ids[0]], "the list")


def error_is(bench, wanted):
    """The state once its error is as wanted."""
    end = time.monotonic() + PATIENCE_S
    state = bench.json("GET", "state")
    while bool(state["keep"]["error"]) != wanted:
        holds(time.monotonic() < end, f"the state's error: {state['keep']['error']}")
        state = bench.json("GET", f"state?after={state['version']}")
    return state


def what_a_full_disk_refused_is_saved_once_there_is_room(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        bench.settled()
        before = bench.kept()
        bench.disk_is_full(True)
        bench.json("POST", "conditions", CONDITIONS)
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"front": 0.88}, {}], "quick": True})
        error = error_is(bench, True)["keep"]["error"]
        holds(error["code"] == "cannot-write" and "not on the disk" in error["message"] and "Make room" in error["remedy"], error)
        same(bench.put(NO_PHOTO, "a.jpg", 500)["error"]["code"], "cannot-write", "a photo that does not fit")
        same(bench.kept(), before, "what is on the disk meanwhile")
        bench.disk_is_full(False)
        state = error_is(bench, False)
        kept = bench.kept()
        same((kept["conditions"], kept["photos"][0]["hand"]["strips"][0]["front"]), (CONDITIONS, 0.88), "the list, with nothing said again")
        same([p["id"] for p in state["photos"]], [photo_id], "photos")
        same(sorted(everything(bench.folder / "files")), [photo_id], "files")
        bench.stop(signal.SIGKILL)
    with Bench(run) as bench:
        same(bench.json("GET", "state")["conditions"], CONDITIONS, "conditions after a kill")


def a_photo_taken_in_on_a_disk_that_fills_up_is_kept(run):
    """The list can't be written any more, the photo could: it comes onto the list, or at least aside."""
    with Bench(run) as bench:
        bench.put(NO_PHOTO, "a.jpg")
        bench.disk_is_full(True)
        second = bench.put(b"tiny", "b.jpg")["ids"][0]
        error_is(bench, True)
        bench.stop(signal.SIGKILL)
    with Bench(run, "--quiet") as bench:
        holds(b"tiny" in everything(bench.folder).values(), f"{second} is lost")
        bench.disk_is_full(True)
        third = bench.put(b"tiny too", "c.jpg")["ids"][0]
        error_is(bench, True)
        bench.disk_is_full(False)
        error_is(bench, False)
        same([p["id"] for p in bench.kept()["photos"]], ["p1", third], "the list")
        bench.stop()
        said_once(bench, ("more than its list names", "1 file was"), "a photo that came on no list")


def what_can_t_be_saved_at_the_end_is_told(run):
    with Bench(run, "--quiet") as bench:
        bench.json("POST", "conditions", CONDITIONS)
        bench.disk_is_full(True)
        bench.json("POST", "conditions", {**CONDITIONS, "ink": "Dawn"})
        same(bench.stop(), 73, "exit code")
        said_once(bench, ("not on the disk", "state.json", "Make room"), "the last changes")
    with Bench(run, "--quiet") as bench:
        same(bench.json("GET", "state")["conditions"], CONDITIONS, "what was kept before")
        bench.disk_is_full(True)
        bench.json("POST", "conditions", {**CONDITIONS, "ink": "Dawn"})
        bench.disk_is_full(False)
        same(bench.stop(), 0, "exit code with room at the end")
        said_once(bench, (), "changes that were saved at the end")
    with Bench(run) as bench:
        same(bench.json("GET", "state")["conditions"]["ink"], "Dawn", "what was saved at the end")


def a_photo_taken_off_a_full_disk_makes_room(run):
    with Bench(run, "--quiet") as bench:
        first, second = (bench.put(NO_PHOTO, name)["ids"][0] for name in ("a.jpg", "b.jpg"))
        bench.disk_is_full(True)
        same(bench.ask("DELETE", f"photos/{first}")[0], 204, "taking it off")
        same(sorted(everything(bench.folder / "files")), [second], "files")
        bench.disk_is_full(False)
        error_is(bench, False)
        same([p["id"] for p in bench.kept()["photos"]], [second], "the list")


def a_kill_right_behind_an_answer_loses_nothing(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        bench.settled()
        quick = bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"front": 0.87}, {}], "quick": True})
        bench.stop(signal.SIGKILL)
    same(quick["unfinished"], True, "whether the answer was a quick one")
    with Bench(run) as bench:
        same(bench.json("GET", "state")["photos"][0]["hand"]["strips"][0]["front"], 0.87, "the front")
        second = bench.put(NO_PHOTO, "b.jpg")["ids"][0]
        bench.stop(signal.SIGKILL)
    with Bench(run) as bench:
        same([p["id"] for p in bench.json("GET", "state")["photos"]], [photo_id, second], "photos")


if __name__ == "__main__":
    sys.exit(main([whatever_a_start_finds_nothing_is_lost, what_is_told_lost_comes_back_as_it_was, put_aside_twice_on_one_day,
                   put_back_it_is_there_again, a_new_name_is_never_one_that_exists, only_what_was_taken_off_is_removed,
                   what_a_full_disk_refused_is_saved_once_there_is_room, a_photo_taken_in_on_a_disk_that_fills_up_is_kept,
                   what_can_t_be_saved_at_the_end_is_told, a_photo_taken_off_a_full_disk_makes_room,
                   a_kill_right_behind_an_answer_loses_nothing]))
