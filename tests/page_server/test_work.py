#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The job on the page, through its endpoints: the numbers are those of the command line, and the work survives."""
import json
import os
import pathlib
import shlex
import signal
import stat
import subprocess
import sys
import time

from bench import PHOTOS, Bench
from harness import holds, main, near, same


def without_settings(photo):
    """What was found; how the values were told may differ in form."""
    return {k: v for k, v in photo.items() if k not in ("settings", "file")}


def by_command(run, *arguments):
    done = run.strandline(*arguments, "--json", "--quiet")
    same(done.code, 0, f"exit code of {arguments} ({done.err})")
    return done.document()


def corners_text(points):
    return ",".join(repr(x) for point in points for x in point)


def a_pair_from_drop_to_verdict(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        state = bench.settled()
        same([(p["id"], p["name"], p["error"]) for p in state["photos"]], [(photo_id, "bench-pair.jpg", None)], "photos")
        reading = json.loads(bench.get(f"photos/{photo_id}/reading"))
        told = by_command(run, "pair", str(PHOTOS / "bench-pair.jpg"))
        same(without_settings(reading), without_settings(told["photos"][0]), "the reading")
        pair, wanted = state["pairs"][0], told["pairs"][0]
        same((pair["immediate"], pair["dried"], pair["by_hand"]), ([photo_id, 0], [photo_id, 1], False), "the pair")
        for key in wanted:
            if key not in ("immediate", "dried"):
                same(pair[key], wanted[key], f"{key} of the pair")


def place_on_scale(index):
    """Four levels, equally wide."""
    limits = (0, 2, 8, 30, 100)
    level = max(i for i in range(4) if limits[i] <= index)
    return (level + (index - limits[level]) / (limits[level + 1] - limits[level])) / 4


def one_line(text):
    return " ".join(text.split())


def the_verdict_s_words_are_those_of_the_command_line(run):
    with Bench(run) as bench:
        bench.drop("bench-pair.jpg")
        bench.drop("washable-pair.jpg")
        pairs = bench.settled()["pairs"]
        same([p["words"]["answer"] for p in pairs], ["Stays in this dip", "Washes away"], "answers")
        for pair, name in zip(pairs, ("bench-pair.jpg", "washable-pair.jpg")):
            words = pair["words"]
            same(sorted(words), ["answer", "level", "scale", "soak", "sure"], "words")
            told = one_line(run.strandline("pair", str(PHOTOS / name)).out)
            for sentence in ("Verdict: " + words["answer"], words["sure"], words["level"], words["soak"]):
                holds(one_line(sentence) in told, f"{sentence!r} is not in {told}")
            for seen, index in zip(words["scale"], (pair["index_interval"][0], pair["index"], pair["index_interval"][1])):
                near(seen, place_on_scale(index), 1e-5, f"{index}, which is rounded, on the scale")
        same([bool(p["words"]["soak"]) for p in pairs], [True, False], "a word on soaking")


def a_pair_without_a_verdict_says_why(run):
    with Bench(run) as bench:
        ids = [bench.put(pathlib.Path(run.draw(scene, scene + ".png")).read_bytes(), scene + ".png")["ids"][0] for scene in ("single", "blank")]
        bench.settled()
        pair = bench.json("POST", "pairs", {"pairs": [{"immediate": [ids[0], 0], "dried": [ids[1], 0]}]})["pairs"][0]
        same(pair["words"], {"answer": "No ink found", "sure": "", "level": "", "soak": "", "scale": None}, "words")
        same((pair["unjudged"], pair["level"], pair["index"]), ("blank", None, None), "the verdict")
        holds(pair["reasons"][0].startswith("No ink was found on the strip dried first. Check "), pair["reasons"])


def hand_set_values_give_the_command_line_s_numbers(run):
    path = str(PHOTOS / "bench-pair.jpg")
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        bench.settled()
        found = json.loads(bench.get(f"photos/{photo_id}/reading"))
        moved = [[x + 6.25, y - 3.5] for x, y in found["strips"][0]["corners_px"]]
        other = found["strips"][1]["corners_px"]
        for strips, options in (
                ([{"origin": 0.2}, {}], ["--origin", "0.2,"]),
                ([{"origin": 0.2}, {"front": 0.88}], ["--origin", "0.2,", "--front", ",0.88"]),
                ([{}, {"length_mm": 92.5}], ["--length-mm", ",92.5"]),
                ([{"corners_px": moved}, {}], ["--corners", corners_text(moved), "--origin", ","]),
                ([{"corners_px": moved, "front": 0.9}, {"corners_px": other}],
                 ["--corners", corners_text(moved), "--corners", corners_text(other), "--front", "0.9,"]),
                ([{"bands": [[0.4, 0.52]]}, {}], ["--band-limits", "0.4-0.52,"]),
                ([{"bands": [[0.5, 0.62], [0.3, 0.45]], "front": 0.9}, {"bands": [[0.38, 0.5]]}],
                 ["--band-limits", "0.3-0.45+0.5-0.62,0.38-0.5", "--front", "0.9,"]),
                ([{"upside_down": True}, {}], ["--upside-down=yes,"]),
                ([{"role": "dried"}, {"role": "immediate"}], ["--roles", "dried,immediate"]),
                ([{"ink": "Dusk"}, {"ink": "Dawn"}], ["--ink", "Dusk", "--ink", "Dawn"]),
                ([], [])):
            photo = bench.json("POST", f"photos/{photo_id}/hand", {"strips": strips})
            told = by_command(run, "read", path, *options)
            same(without_settings(photo["reading"]), without_settings(told["photos"][0]), f"the reading with {options}")
            same(json.loads(bench.get(f"photos/{photo_id}/reading")), photo["reading"], "the same asked for again")


def without_bound(pair):
    words = {k: v for k, v in pair["words"].items() if k != "soak"}
    return {**{k: v for k, v in pair.items() if "bound" not in k and k not in ("soak", "unfinished")}, "words": words}


def a_quick_answer_has_the_verdict_but_for_the_soak(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        before = bench.settled()["pairs"][0]
        hand = {"strips": [{}, {"origin": 0.174}]}
        quick = bench.json("POST", f"photos/{photo_id}/hand", {**hand, "quick": True})["pairs"][0]
        whole = bench.json("POST", f"photos/{photo_id}/hand", hand)["pairs"][0]
        told = by_command(run, "pair", str(PHOTOS / "bench-pair.jpg"), "--origin", ",0.174")["pairs"][0]
        for key in ("index", "index_interval", "answer", "level_probability", "drying", "reasons", "advice"):
            same(quick[key], told[key], f"{key} of the quick answer")
        holds(quick["words"]["answer"] != before["words"]["answer"], "the move does not change the answer")
        same(without_bound(quick), without_bound(whole), "the verdict")
        same((quick["unfinished"], quick["soak"]["probability"], quick["words"]["soak"]), (True, None, ""), "what is open")
        same((whole["unfinished"], whole["soak"]), (False, told["soak"]), "what is open after it")
        holds(whole["words"]["soak"].startswith("Would a longer soak take it? "), whole["words"])


def a_quick_answer_leaves_the_bound_share_open_and_nothing_else(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        bench.settled()
        hand = {"strips": [{"front": 0.89}, {}]}
        quick = bench.json("POST", f"photos/{photo_id}/hand", {**hand, "quick": True})
        strip = quick["reading"]["strips"][0]
        same((quick["unfinished"], strip["bound_share"], strip["bound_interval"]), (True, None, [None, None]), "what is open")
        same([p["unfinished"] for p in quick["pairs"]], [True], "the pair")
        holds("being worked out" in quick["words"][0]["retained"], quick["words"][0]["retained"])
        whole = bench.json("POST", f"photos/{photo_id}/hand", {**hand, "since": quick["reading_version"]})
        same((whole["unfinished"], [p["unfinished"] for p in whole["pairs"]]), (False, [False]), "what is open after it")
        same(whole["reading"]["strips"][0]["bands"], strip["bands"], "the bands")
        same([k for k, v in whole["reading"]["strips"][0]["profile"].items() if isinstance(v, list)], [], "lists that have changed")
        told = by_command(run, "read", str(PHOTOS / "bench-pair.jpg"), "--front", "0.89,")["photos"][0]
        same(without_settings(json.loads(bench.get(f"photos/{photo_id}/reading"))), without_settings(told), "the reading")
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"front": 0.88}, {}], "quick": True})
        told = by_command(run, "read", str(PHOTOS / "bench-pair.jpg"), "--front", "0.88,")["photos"][0]
        same(without_settings(json.loads(bench.get(f"photos/{photo_id}/reading"))), without_settings(told), "what is asked for while it is open")
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"front": 0.87}, {}], "quick": True})
        bench.get("export/bands.csv")
        same(bench.json("GET", "state")["photos"][0]["unfinished"], False, "after an export")
        bench.stop()
    with Bench(run) as bench:
        bench.settled()
        same(bench.json("GET", "state")["photos"][0]["hand"]["strips"][0]["front"], 0.87, "after an export and a stop")
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"front": 0.86}, {}], "quick": True})
    with Bench(run) as bench:
        bench.settled()
        photo = bench.json("GET", "state")["photos"][0]
        same((photo["hand"]["strips"][0]["front"], photo["unfinished"]), (0.86, False), "after a stop right behind a quick answer")
        limits = {"strips": [{"front": 0.86, "bands": [[0.3, 0.42]]}, {}]}
        same(bench.json("POST", f"photos/{photo_id}/hand", {**limits, "quick": True})["unfinished"], False, "limits of a band")
        bench.stop(signal.SIGKILL)
    with Bench(run) as bench:
        same(bench.json("GET", "state")["photos"][0]["hand"]["strips"][0].get("bands"), [[0.3, 0.42]], "after a kill")


def a_value_that_can_t_be_used_changes_nothing(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        bench.settled()
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"origin": 0.2}, {}]})
        before = bench.json("GET", "state")
        reading = bench.get(f"photos/{photo_id}/reading")
        for strips, status in (([{"origin": 1.5}], 422), ([{"origin": "low"}], 400), ([{"origin": 0.9, "front": 0.5}], 422),
                               ([{}] * 9, 422), ([{"front": 0.9}] * 5, 422), ([{"corners_px": [[0, 0]] * 4}, {}], 422),
                               ([{"corners_px": [[1, 2], [3, 4]]}], 400), ([{"bands": [[0.5, 0.4]]}, {}], 422),
                               ([{"bands": [[0.3, 0.5], [0.4, 0.6]]}, {}], 422), ([{"bands": [0.3, 0.4]}, {}], 400),
                               ([{"bands": [[0.01, 0.02]] * 13}, {}], 422), ([{"role": "wet"}], 400), ([{"ink": "x" * 200}], 422),
                               ([{"corners_px": [[0, 0], [4, 0], [4, -9], [0, -9]]}], 422)):
            bench.json("POST", f"photos/{photo_id}/hand", {"strips": strips}, status)
        same(bench.json("GET", "state")["photos"], before["photos"], "the photo")
        same(bench.get(f"photos/{photo_id}/reading"), reading, "the reading")


def kill_and_come_back(run):
    with Bench(run) as bench:
        first = bench.drop("bench-pair.jpg")
        second = bench.drop("washable-pair.jpg")
        bench.settled()
        document = bench.get("export/json")
        saved = bench.put(document, "earlier.json")["ids"]
        bench.json("POST", "conditions", {"ink": "Harbour 3", "paper": "filter", "solvent": "water", "dip_s": 12, "dried_min": 10})
        bench.json("POST", f"photos/{first}/hand", {"strips": [{"origin": 0.2071234567890123}, {"ink": "Dusk"}]})
        state = bench.settled()
        bench.json("POST", "pairs", {"pairs": [{"immediate": [second, 1], "dried": [second, 0]}]})
        state = bench.json("GET", "state")
        reading = json.loads(bench.get(f"photos/{first}/reading"))
        for path in pathlib.Path(bench.state).rglob("*"):
            mode = stat.S_IMODE(path.stat().st_mode)
            same(oct(mode), "0o700" if path.is_dir() else "0o600", f"mode of {path.name}")
        bench.process.send_signal(signal.SIGKILL)
        bench.process.wait()
    (bench.folder / "files/new-0123456789abcdef").write_bytes(b"cut off")
    with Bench(run) as bench:
        begin = time.monotonic()
        again = bench.json("GET", "state")
        same((again["keep"]["error"], again["keep"]["told"]), (None, []), "the folder")
        again = bench.settled()
        def essence(state):
            return [[{k: v for k, v in p.items() if k != "reading_version"} for p in state[key]] for key in ("photos", "saved")]
        same(essence(again), essence(state), "photos and saved readings")
        same(again["pairs"], state["pairs"], "pairs")
        same(again["conditions"], state["conditions"], "conditions")
        same(json.loads(bench.get(f"photos/{first}/reading")), reading, "the reading")
        same([s["id"] for s in again["saved"]], saved, "saved readings")
        names = sorted(p.name for p in (bench.folder / "files").iterdir())
        same(names, sorted([first, second, *saved]), "files kept")
        third = bench.drop("ink-row.jpg")
        holds(third not in (first, second, *saved), "an id was used twice")


def one_page_a_folder(run):
    with Bench(run) as bench:
        done = subprocess.run([run.program, "bench", "--no-open"], capture_output=True, text=True, timeout=20,
                              env={"PATH": os.environ["PATH"], "XDG_STATE_HOME": bench.state, "HOME": "/nonexistent"})
        same((done.returncode, done.stdout, done.stderr.count("\n")), (73, "", 1), "a second one")
        holds("Another strandline bench is running" in done.stderr, done.stderr)
        with Bench(run, state="other") as other:
            same(other.json("GET", "state")["photos"], [], "with a folder of its own")
        done = run.strandline("bench", "--no-open", "--port", str(bench.port), environment={"XDG_STATE_HOME": run.path("third")})
        same(done.code, 64, "a taken port")
        holds("--port" in done.err, done.err)


def it_stops_cleanly(run):
    for number in (signal.SIGINT, signal.SIGTERM):
        with Bench(run) as bench:
            version = bench.json("GET", "state")["version"]
            waiting = subprocess.Popen([sys.executable, "-c", "import sys,urllib.request;urllib.request.urlopen(sys.argv[1])",
                                        f"{bench.address}state?after={version}"], stderr=subprocess.DEVNULL)
            time.sleep(0.3)
            begin = time.monotonic()
            same(bench.stop(number), 0, f"exit code after signal {number}")
            holds(time.monotonic() - begin < 10, f"it took {time.monotonic() - begin:.1f} s to stop")
            waiting.wait(timeout=20)


def etags_and_long_poll(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        bench.settled()
        for path in (f"photos/{photo_id}/reading", f"photos/{photo_id}/picture?side=400", f"photos/{photo_id}/strips/1/picture"):
            status, headers, body = bench.ask("GET", path)
            same(status, 200, path)
            same(bench.ask("GET", path, headers={"If-None-Match": headers["ETag"]})[0], 304, f"{path} again")
            same(bench.ask("GET", path, headers={"If-None-Match": '"else"'})[0], 200, f"{path} with another tag")
        jpeg = bench.get(f"photos/{photo_id}/picture?side=400")
        holds(jpeg[:3] == b"\xff\xd8\xff" and len(jpeg) > 2000, "the picture is no JPEG")
        png = bench.get(f"photos/{photo_id}/region?x=-5&y=10&w=200&h=100")
        same((png[:8], int.from_bytes(png[16:20], "big"), int.from_bytes(png[20:24], "big")),
             (b"\x89PNG\r\n\x1a\n", 195, 100), "the region, clipped at the left")
        _, old, _ = bench.ask("GET", f"photos/{photo_id}/reading")
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"origin": 0.21}, {}]})
        same(bench.ask("GET", f"photos/{photo_id}/reading", headers={"If-None-Match": old["ETag"]})[0], 200, "a changed reading")
        version = bench.json("GET", "state")["version"]
        begin = time.monotonic()
        bench.json("GET", f"state?after={version + 1000}")
        holds(time.monotonic() - begin < 5, "a version from another run made it wait")


def delete_while_reading(run):
    with Bench(run) as bench:
        ids = [bench.drop("ink-row.jpg") for _ in range(3)]
        for photo_id in ids:
            same(bench.ask("DELETE", f"photos/{photo_id}")[0], 204, photo_id)
        same(bench.ask("DELETE", f"photos/{ids[0]}")[0], 404, "once more")
        last = bench.drop("bench-pair.jpg")
        state = bench.settled()
        same([p["id"] for p in state["photos"]], [last], "photos")
        same([p.name for p in (bench.folder / "files").iterdir()], [last], "files")


def pairs_by_hand(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        other = bench.drop("kitchen-pair.jpg")
        bench.settled()
        state = bench.json("POST", "pairs", {"pairs": [{"immediate": [photo_id, 0], "dried": [other, 1]}]})
        same([(p["immediate"], p["dried"], p["by_hand"]) for p in state["pairs"]],
             [([photo_id, 0], [other, 1], True)], "the pair")
        bench.json("POST", "pairs", {"pairs": [{"immediate": [photo_id, 0], "dried": [photo_id, 0]}]}, 422)
        bench.json("POST", "pairs", {"pairs": [{"immediate": [photo_id, 0], "dried": ["p99", 0]}]}, 422)
        bench.json("POST", f"photos/{photo_id}/hand", {"strips": [{"ink": "Dusk"}, {"ink": "Dusk"}]})
        bench.json("POST", f"photos/{other}/hand", {"strips": [{"ink": "Dawn"}, {"ink": "Dawn"}]})
        error = bench.json("POST", "pairs", {"pairs": [{"immediate": [photo_id, 0], "dried": [other, 0]}]}, 422)["error"]
        same(error["code"], "different-inks", "two inks")
        state = bench.json("POST", "pairs", {"pairs": []})
        same(len(state["pairs"]), 2, "pairs by the usual order")


def overlay_and_exports(run):
    with Bench(run) as bench:
        photo_id = bench.drop("bench-pair.jpg")
        row = bench.drop("ink-row.jpg")
        bench.settled()
        wanted = [[row, 2], [photo_id, 1], [row, 0]]
        answer = bench.json("POST", "overlay", {"strips": wanted})
        same([t["strip"] for t in answer["overlay"]["traces"]], wanted, "traces in the order asked for")
        same(answer["left_out"], [], "left out")
        bench.json("POST", "overlay", {"strips": [["p77", 0]]}, 404)
        schema = json.loads(bench.get("export/json"))
        same((schema["strandline"], len(schema["photos"]), len(schema["pairs"])), (1, 2, len(bench.json("GET", "state")["pairs"])),
             "the document")
        begin = {"png": b"\x89PNG", "svg": b"<svg ", "pdf": b"%PDF-"}
        for ending, magic in begin.items():
            for path in (f"pair.{ending}?n=0", f"strip.{ending}?strip={row}.1", f"overlay.{ending}?strips={row}.0,{photo_id}.1&normalise=1"):
                same(bench.get("export/" + path)[:len(magic)], magic, path)
        for shape, size in (("landscape", (1920, 1080)), ("portrait", (1080, 1920))):
            png = bench.get(f"export/review.png?n=0&shape={shape}")
            same((int.from_bytes(png[16:20], "big"), int.from_bytes(png[20:24], "big")), size, shape)
        holds(b"<html" in bench.get("export/report.html")[:300], "the report")
        holds(bench.get("export/bands.csv").count(b"\n") > 4 and bench.get("export/profiles.csv").count(b"\n") > 100, "the tables")
        for path in ("pair.png", "pair.png?n=9", "strip.png?strip=p1", "strip.png?strip=p1.9", "overlay.png", "review.svg?n=0"):
            bench.json("GET", "export/" + path, None, 404)


def the_command_line_that_is_told(run):
    """Run as it stands, it gives the page's readings and pairs."""
    names = ["bench-pair.jpg", "kitchen-pair.jpg"]
    for name in names:
        run.write(name, (PHOTOS / name).read_bytes())
    run.write("it's a row $(x).jpg", (PHOTOS / "ink-row.jpg").read_bytes())
    with Bench(run) as bench:
        first, second = (bench.drop(name) for name in names)
        third = bench.put((PHOTOS / "ink-row.jpg").read_bytes(), "it%27s%20a%20row%20%24%28x%29.jpg")["ids"][0]
        bench.json("POST", "conditions", {"ink": "", "paper": "plain & brown", "solvent": "", "dip_s": 12.5, "dried_min": None})
        bench.settled()
        corners = json.loads(bench.get(f"photos/{first}/reading"))["strips"][1]["corners_px"]
        corners = [[x + 4, y] for x, y in corners]
        bench.json("POST", f"photos/{first}/hand", {"strips": [{"ink": "Dusk"}, {"ink": "Dusk", "corners_px": corners}]})
        bench.json("POST", f"photos/{second}/hand", {"strips": [{"origin": 0.19, "role": "immediate"}, {"front": 0.93, "role": "dried", "bands": [[0.4, 0.5], [0.55, 0.61]]}]})
        time.sleep(0.2)
        bench.settled()
        text = bench.get("export/command.txt").decode()
        words = shlex.split(text.replace("\\\n", " "), comments=True)
        same(words[0], "strandline", "the program")
        done = run.strandline(*words[1:], "--json", "--quiet")
        same(done.code, 0, f"exit code of {text} ({done.err})")
        told = done.document()
        for photo_id, photo in zip((first, second, third), told["photos"]):
            reading = json.loads(bench.get(f"photos/{photo_id}/reading"))
            same(without_settings(reading), without_settings(photo), f"{photo['file']} by {text}")


if __name__ == "__main__":
    sys.exit(main([a_pair_from_drop_to_verdict, the_verdict_s_words_are_those_of_the_command_line,
                   a_pair_without_a_verdict_says_why, hand_set_values_give_the_command_line_s_numbers,
                   a_quick_answer_has_the_verdict_but_for_the_soak,
                   a_quick_answer_leaves_the_bound_share_open_and_nothing_else,
                   a_value_that_can_t_be_used_changes_nothing, kill_and_come_back, one_page_a_folder, it_stops_cleanly,
                   etags_and_long_poll, delete_while_reading, pairs_by_hand, overlay_and_exports,
                   the_command_line_that_is_told]))
