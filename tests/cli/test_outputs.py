#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is written, where and when: forms, files, figures, colour, progress, interrupts."""
import csv
import html.parser
import json
import os
import pathlib
import pty
import re
import signal
import subprocess
import sys
import time
import xml.etree.ElementTree

from harness import TIME_LIMIT_S, holds, main, one_sentence, same

ROOT = pathlib.Path(__file__).resolve().parents[2]
ESCAPE = "\x1b["


def bands_of(document):
    return [[b["rf"] for b in s["bands"]] for p in document["photos"] for s in p["strips"]]


def help_and_version(run):
    for arguments in (["--help"], ["help"], ["read", "--help"], ["pair", "--help"],
                      ["overlay", "--help"], ["--version"]):
        done = run.strandline(*arguments)
        same((done.code, done.err), (0, ""), f"exit code and errors of {arguments}")
        holds(all(len(line) <= 90 for line in done.out.splitlines()), f"long line in {arguments}")
        if arguments != ["--version"]:
            holds("Example:" in done.out and "  strandline " in done.out, "no example")
        holds(not re.search(r"^[A-Z][^\n]*:\n(\n|\Z)", done.out, re.M), f"empty heading in {arguments}")
    version = run.strandline("--version").out
    holds(re.match(r"strandline \d+\.\d+\.\d+\n", version), version)
    for library in ("libjpeg", "libpng", "libheif", "libtiff", "lcms2", "gsl", "cairo", "pango",
                    "jansson"):
        holds(re.search(rf"{library} +\d+\.\d+", version), f"no version of {library}: {version}")


def the_table_is_plain_text(run):
    done = run.strandline("read", run.draw("single", "a.jpg"))
    same((done.code, done.err), (0, ""), "exit code and errors")
    holds(ESCAPE not in done.out, "colour without a terminal")
    holds("Rf" in done.out and "a.jpg" in done.out, done.out)


def the_verdict_is_told(run):
    done = run.strandline("pair", "--upside-down=no", run.draw("pair", "a.jpg"))
    same((done.code, done.err), (0, ""), "exit code and errors")
    holds("indicator" in done.out, "the caution is missing")
    text = " ".join(done.out.split())
    order = [text.find(words) for words in (
        "Verdict: Stays in this dip Very likely (",
        "at least 30 % of the dye was still at the ink line.",
        "none trace partial strong |", " 0 2 8 30 100 ", "Retention index 37 (", "level strong",
        "It is virtually certain to hold more once dry", "Would a longer soak take it?", "Inferred")]
    holds(-1 not in order and order == sorted(order), f"not told in this order: {order} in {text}")


def json_is_one_document(run):
    done = run.strandline("pair", "--json", run.draw("pair", "a.jpg"))
    same((done.code, done.err), (0, ""), "exit code and errors")
    document = done.document()
    same(document["strandline"], 1, "version of the document")
    same([s["role"] for s in document["photos"][0]["strips"]], ["immediate", "dried"], "roles")
    same(len(document["pairs"]), 1, "pairs")
    same(done.out.count("\n"), 1, "lines where no terminal is")


def json_is_indented_at_a_terminal(run):
    shown = with_terminal(run, ["read", "--json", run.draw("single", "a.jpg")])
    holds(re.search(r"\n  \"photos\": \[", shown), "not indented")


def json_lines_are_a_document_each(run):
    a, b = run.draw("pair", "a.jpg"), run.draw("pair", "b.png")
    done = run.strandline("pair", "--json-lines", a, b)
    lines = [json.loads(line) for line in done.out.splitlines()]
    same([line["photos"][0]["file"] for line in lines], [a, b], "photos")
    same([len(line["pairs"]) for line in lines], [1, 1], "pairs")
    done = run.strandline("read", "--json-lines", a, b, "--output", "lines.jsonl", "--csv-bands",
                          "bands.csv")
    same((done.code, done.out, done.err), (0, "", ""), "exit code and outputs")
    same(len(open(run.path("lines.jsonl")).readlines()), 2, "lines in the file")
    names = {row["photo"] for row in csv.DictReader(open(run.path("bands.csv")))}
    same(names, {a, b}, "photos in the table of all")


def output_goes_to_a_file_instead(run):
    photo = run.draw("single", "a.jpg")
    wanted = run.strandline("read", "--json", photo).document()
    done = run.strandline("read", "--json", photo, "--output", "a.json")
    same((done.code, done.out, done.err), (0, "", ""), "exit code and outputs")
    same(json.load(open(run.path("a.json"))), wanted, "the document in the file")


def tables_hold_all_bands_and_samples(run):
    photo = run.draw("pair", "a.jpg")
    done = run.strandline("read", "--json", photo, "--csv-bands", "b.csv", "--csv-profiles",
                          "p.csv")
    strips = done.document()["photos"][0]["strips"]
    bands = list(csv.DictReader(open(run.path("b.csv"))))
    same(len(bands), sum(len(s["bands"]) for s in strips), "rows of the table of bands")
    profiles = list(csv.DictReader(open(run.path("p.csv"))))
    same(len(profiles), sum(len(s["profile"]["rf"]) for s in strips), "rows of the profiles")


class Links(html.parser.HTMLParser):
    """Every address that a page would ask for or send to."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attributes):
        for name, value in attributes:
            if name in ("src", "href", "action", "data", "srcset", "poster", "xlink:href"):
                self.found.append(value or "")


def the_report_needs_nothing_else(run):
    done = run.strandline("pair", run.draw("pair", "a.jpg"), "--html", "report.html")
    same((done.code, done.err), (0, ""), "exit code and errors")
    text = open(run.path("report.html"), encoding="utf-8").read()
    links = Links()
    links.feed(text)
    outside = [link for link in links.found if not link.startswith(("#", "data:"))]
    same(outside, [], "addresses outside the page")
    holds("@import" not in text and not re.search(r"url\(\s*['\"]?https?:", text),
          "a style sheet asks for something outside")


def figures_of_all_kinds(run):
    photo = run.draw("pair", "harbour.jpg")
    done = run.strandline("pair", photo, "--figures", "new/folder", "--figure-format",
                          "png,svg,pdf")
    same((done.code, done.err), (0, ""), "exit code and errors")
    names = ["harbour-pair-1", "harbour-strip-1", "harbour-strip-2"]
    for name in names:
        data = {f: open(run.path(f"new/folder/{name}.{f}"), "rb").read()
                for f in ("png", "svg", "pdf")}
        holds(data["png"].startswith(b"\x89PNG\r\n\x1a\n"), f"{name}.png is none")
        holds(data["pdf"].startswith(b"%PDF-"), f"{name}.pdf is none")
        root = xml.etree.ElementTree.fromstring(data["svg"])
        holds(root.tag.endswith("svg"), f"{name}.svg is none")
    same(len([f for f in run.files() if "harbour-" in f]), 9, "figures")


def figures_of_photos_with_one_name(run):
    os.mkdir(run.path("x"))
    os.mkdir(run.path("y"))
    photos = [run.draw("single", "x/a.jpg"), run.draw("single", "y/a.png")]
    done = run.strandline("overlay", *photos, "--figures", "f")
    same((done.code, done.err), (0, ""), "exit code and errors")
    same(sorted(os.listdir(run.path("f"))),
         ["a-photo-2-strip-1.png", "a-strip-1.png", "overlay.png"], "figures")


def how_it_was_read_is_drawn(run):
    photo = run.draw("single", "a.jpg")
    done = run.strandline("read", photo, "--figures", "f", "--steps", "--figure-format", "svg")
    same((done.code, done.err), (0, ""), "exit code and errors")
    same(sorted(os.listdir(run.path("f"))), ["a-steps-1.svg", "a-strip-1.svg"], "figures")
    root = xml.etree.ElementTree.parse(run.path("f/a-steps-1.svg")).getroot()
    text = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
    for step in ("Found", "Straight", "Light", "Reflectance", "Load", "Bands"):
        holds(any(step in line for line in text), f"no step {step} among {text}")
    pictures = list(root.iter("{http://www.w3.org/2000/svg}image"))
    same(len(pictures), 3, "pictures: the photo, the strip before and after the light was removed")
    bands = run.strandline("read", "--json", photo).document()["photos"][0]["strips"][0]["bands"]
    same([t for t in text if t.startswith("Rf ")],
         ["Rf " + f"{b['rf']:.2f}".replace("-0.00", "0.00").replace("-", "−")
          for b in reversed(bands)], "bands named, the uppermost first")


def how_it_was_read_wants_the_photo_that_was_read(run):
    photo = run.draw("single", "a.jpg")
    run.strandline("read", "--json", photo, "--output", "a.json")
    done = run.strandline("read", "a.json", "--figures", "f", "--steps")
    same((done.code, done.err), (0, ""), "exit code and errors while the photo is there")
    run.draw("dried", "a.jpg")
    done = run.strandline("read", "a.json", "--figures", "f", "--steps")
    one_sentence(done, "a.jpg", "not the photo")
    holds("a-strip-1.png" in os.listdir(run.path("f")), "the strip's own figure was not drawn")
    os.remove(photo)
    done = run.strandline("read", "a.json", "--figures", "f", "--steps")
    one_sentence(done, "a.jpg")
    holds(done.code != 0, "exit code")


def a_saved_reading_gives_the_same_numbers(run):
    photo = run.draw("pair", "a.jpg")
    first = run.strandline("pair", "--json", photo, "--ink", "Harbour", "--dip-s", "12",
                           "--output", "a.json")
    same((first.code, first.err), (0, ""), "exit code and errors")
    saved = json.load(open(run.path("a.json")))
    again = run.strandline("pair", "--json", "a.json").document()
    same(bands_of(again), bands_of(saved), "Rf")
    for name in ("level", "answer", "unjudged", "water_resistant"):
        same([p[name] for p in again["pairs"]], [p[name] for p in saved["pairs"]], name)
    same(again["photos"][0]["strips"][0]["ink"], "Harbour", "ink")
    same(again["photos"][0]["sha256"], saved["photos"][0]["sha256"], "hash of the photo")


def photos_and_readings_lie_on_one_axis(run):
    a, b = run.draw("single", "a.jpg"), run.draw("dried", "b.jpg")
    run.strandline("read", "--json", a, "--output", "a.json")
    run.strandline("read", "--json-lines", a, b, "--output", "ab.jsonl")
    done = run.strandline("overlay", "--json", "a.json", b, "ab.jsonl")
    same((done.code, done.err), (0, ""), "exit code and errors")
    same(len(done.document()["photos"]), 4, "photos")
    done = run.strandline("overlay", "--json", run.draw("pair", "p.jpg"))
    same([s["role"] for s in done.document()["photos"][0]["strips"]], ["single"] * 2, "roles")
    same([t["label"] for t in done.document()["overlay"]["traces"]], ["p.jpg 1", "p.jpg 2"],
         "names of strips whose roles nobody told")
    done = run.strandline("overlay", "a.json", b, "--figures", "f", "--normalise")
    same((done.code, done.err), (0, ""), "exit code and errors")
    holds("overlay.png" in os.listdir(run.path("f")), "no overlay was drawn")


def inks_are_told_once_or_for_each(run):
    photos = [run.draw("single", "a.jpg"), run.draw("pair", "b.jpg")]

    def inks(*names):
        options = [word for name in names for word in ("--ink", name)]
        document = run.strandline("read", "--json", *photos, *options).document()
        return [s["ink"] for p in document["photos"] for s in p["strips"]]

    same(inks("Reef"), ["Reef"] * 3, "one ink for all")
    same(inks("A", "B, dark", "C: red"), ["A", "B, dark", "C: red"], "an ink for each")


def conditions_travel(run):
    done = run.strandline("read", "--json", run.draw("single", "a.jpg"), "--paper", "smooth filter",
                          "--solvent", "rain water", "--dip-s", "12.5", "--dried-min", "10",
                          "--date", "2026-03-01")
    text = done.out
    for word in ("smooth filter", "rain water", "12.5", "2026-03-01 00:00:00"):
        holds(word in text, f"{word} is not in the document")


def with_terminal(run, arguments, environment=None):
    """Runs with a terminal as output and error; gives all that was shown there."""
    main_end, end = pty.openpty()
    variables = {"LC_ALL": "C.UTF-8", "TERM": "xterm", "PATH": os.environ["PATH"],
                 **{k: v for k, v in os.environ.items() if k.startswith(("ASAN", "UBSAN", "LSAN"))},
                 **(environment or {})}
    process = subprocess.Popen([run.program, *arguments], cwd=run.folder, env=variables,
                               stdin=subprocess.DEVNULL, stdout=end, stderr=end)
    os.close(end)
    shown = b""
    while True:
        try:
            data = os.read(main_end, 65536)
        except OSError:  # what Linux gives once the other end is closed
            break
        if not data:
            break
        shown += data
    os.close(main_end)
    process.wait(timeout=TIME_LIMIT_S)
    return shown.decode(errors="replace")


def colour_on_a_terminal_only(run):
    photo = run.draw("single", "a.jpg")
    colour = ESCAPE + "48;2;"
    other = ESCAPE + "38;2;"

    def coloured(text):
        return colour in text or other in text

    holds(coloured(with_terminal(run, ["read", photo])), "no swatches on a terminal")
    for arguments, environment in ((["read", photo], {"NO_COLOR": "1"}),
                                   (["read", photo], {"TERM": "dumb"}),
                                   (["read", photo, "--colour", "never"], {}),
                                   (["read", photo, "--json"], {})):
        holds(not coloured(with_terminal(run, arguments, environment)),
              f"colour with {arguments[2:]} {environment}")
    holds(coloured(with_terminal(run, ["read", photo], {"NO_COLOR": ""})), "an empty NO_COLOR")
    done = run.strandline("read", photo, "--colour=always", environment={"NO_COLOR": "1"})
    holds(coloured(done.out), "no colour with --colour=always")


def progress_on_a_terminal_only(run):
    photos = [run.draw("single", "a.jpg"), run.draw("single", "b.jpg")]
    shown = with_terminal(run, ["read", *photos])
    holds("reading 2 of 2" in shown, "no progress on a terminal")
    holds("reading" not in with_terminal(run, ["read", "--quiet", *photos]), "progress with --quiet")
    same(run.strandline("read", *photos).err, "", "standard error without a terminal")


def standard_output_closed(run):
    photo = run.draw("single", "a.jpg")
    done = subprocess.run(["sh", "-c", '"$0" read "$1" >&-', run.program, photo],
                          stderr=subprocess.PIPE, stdin=subprocess.DEVNULL)
    same(done.returncode, 74, "exit code")
    holds(b"Standard output" in done.stderr, done.stderr)


def an_interrupt_leaves_nothing_half(run):
    photo = run.draw("pair", "a.jpg")
    before = run.files()
    process = subprocess.Popen([run.program, "read", *[photo] * 400, "--html", "r.html",
                                "--output", "o.txt"], cwd=run.folder, stdin=subprocess.DEVNULL,
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    time.sleep(0.5)
    process.send_signal(signal.SIGINT)
    out, _ = process.communicate(timeout=TIME_LIMIT_S)
    same(process.returncode, -signal.SIGINT, "how it ended")
    same(out, b"", "standard output")
    same(run.files(), before, "files afterwards")


def files_appear_whole(run):
    """An older file of the same name is replaced, its mode kept, and nothing lies beside it."""
    photo = run.draw("single", "a.jpg")
    run.write("r.html", b"old")
    os.chmod(run.path("r.html"), 0o640)
    done = run.strandline("read", photo, "--html", "r.html")
    same((done.code, done.err), (0, ""), "exit code and errors")
    same(os.stat(run.path("r.html")).st_mode & 0o777, 0o640, "mode")
    same(run.files(), ["a.jpg", "r.html"], "files")
    one_sentence(run.strandline("read", photo, "--html", "r.html/x"), "r.html/x")


def examples_of_the_documents_work(run):
    """Every command that the README, the manual and the help show, in their order."""
    manual = (ROOT / "docs" / "strandline.1").read_text()
    examples = re.findall(r"^    (strandline .*)$", (ROOT / "README.md").read_text(), re.M)
    examples += [e.replace(r"\(dq", '"')
                 for e in re.findall(r"^\.Dl (strandline .*)$", manual, re.M)]
    for verb in ("read", "pair", "overlay"):
        text = run.strandline(verb, "--help").out
        examples += re.findall(r"^Example:\n  (strandline .*)$", text, re.M)
    # the page is served until it is stopped: tests/page_server tries it
    examples = [e for e in examples if not e.startswith("strandline bench")]
    holds(len(examples) > 10, f"only {len(examples)} examples were found")
    for name in ("both", "row", "monday", "tuesday", "friday"):
        run.draw("pair", f"{name}.jpg")
    for name in ("at-once", "now", "new", "strip"):
        run.draw("single", f"{name}.jpg")
    for name in ("dried", "later"):
        run.draw("dried", f"{name}.jpg")
    run.strandline("read", "--json", "both.jpg", "--output", "earlier.json")
    folder = os.path.dirname(run.program)
    for example in examples:
        done = subprocess.run(["sh", "-c", example], cwd=run.folder, capture_output=True, text=True,
                              stdin=subprocess.DEVNULL, timeout=TIME_LIMIT_S,
                              env=dict(os.environ, PATH=f"{folder}:{os.environ['PATH']}"))
        same((done.returncode, done.stderr), (0, ""), f"exit code and errors of {example}")


TESTS = [
    help_and_version, the_table_is_plain_text, the_verdict_is_told, json_is_one_document,
    json_is_indented_at_a_terminal,
    json_lines_are_a_document_each, output_goes_to_a_file_instead,
    tables_hold_all_bands_and_samples, the_report_needs_nothing_else, figures_of_all_kinds,
    figures_of_photos_with_one_name, how_it_was_read_is_drawn,
    how_it_was_read_wants_the_photo_that_was_read, a_saved_reading_gives_the_same_numbers,
    photos_and_readings_lie_on_one_axis, inks_are_told_once_or_for_each, conditions_travel,
    colour_on_a_terminal_only, progress_on_a_terminal_only, standard_output_closed,
    an_interrupt_leaves_nothing_half, files_appear_whole, examples_of_the_documents_work,
]

if __name__ == "__main__":
    sys.exit(main(TESTS))
