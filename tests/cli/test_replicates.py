#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Replicates from end to end: photos of strips whose bands are known by arithmetic (draw_photo.c), taken
together in read and pair, kept in saved documents, and refused where they were run differently."""
import csv
import json
import pathlib
import sys

from harness import holds, main, near, same
from test_numbers import LEFT_DRIED, RF, RF_ALLOWED

INK = ("--ink", "Ullowen Slate")


def document_of(run, verb, *arguments):
    done = run.strandline(verb, "--json", "--quiet", *arguments)
    same(done.code, 0, f"exit code ({done.err})")
    return done.document()


def three(run):
    """The same strip by three cameras' formats: alike, not identical."""
    return [run.draw("single", f"{name}") for name in ("a.jpg", "b.png", "c.tif")]


def alike_strips_are_combined(run):
    document = document_of(run, "read", *three(run), *INK)
    same(len(document["replicates"]), 1, "sets")
    together = document["replicates"][0]
    same(together["strips"], [[0, 0], [1, 0], [2, 0]], "strips")
    same(together["warnings"], [], "warnings")
    strips = [p["strips"][0] for p in document["photos"]]
    for rf in RF:
        band = min(together["bands"], key=lambda b: abs(b["rf"]["value"] - rf))
        near(band["rf"]["value"], rf, RF_ALLOWED, "Rf")
        same(band["rf"]["count"], 3, "strips with the band")
        own = [strips[i]["bands"][k] for i, k in enumerate(band["bands"])]
        low, high = band["rf"]["interval"]
        holds(high - low < min(b["rf_interval"][1] - b["rf_interval"][0] for b in own),
              "three strips are known no better than one")
        holds(min(b["rf"] for b in own) <= band["rf"]["value"] <= max(b["rf"] for b in own),
              "the mean lies outside its strips")
    low, high = together["bound"]["interval"]
    holds(0 <= low <= together["bound"]["value"] <= high <= 1, "bound share and its interval")


def nothing_is_combined_without_an_ink(run):
    same(document_of(run, "read", *three(run))["replicates"], [], "sets")


def the_strip_that_disagrees_is_pointed_at(run):
    photos = three(run) + [run.draw("dried", "d.jpg")]
    document = document_of(run, "read", *photos, *INK)
    together = document["replicates"][0]
    same([w["code"] for w in together["warnings"]], ["strip-disagrees"], "warnings")
    holds("d.jpg" in together["warnings"][0]["message"], together["warnings"][0]["message"])
    holds("a.jpg" not in together["warnings"][0]["message"], together["warnings"][0]["message"])
    holds(abs(together["bound"]["deviations"][3]) > 1, "the deviation is small")
    text = run.strandline("read", "--quiet", *photos, *INK).out
    holds("Together: 4 strips of Ullowen Slate, run alike" in text, "not in the text")
    holds("One strip differs from the others" in " ".join(text.split()), "not pointed at in the text")


def several_pairs_give_one_verdict(run):
    photos = [run.draw("pair", "one.jpg"), run.draw("pair", "two.png")]
    document = document_of(run, "pair", *photos, *INK)
    same((len(document["pairs"]), len(document["combined"])), (2, 1), "pairs and verdicts of all")
    verdict = document["combined"][0]
    same((verdict["immediate"], verdict["dried"]), ([[0, 0], [1, 0]], [[0, 1], [1, 1]]), "strips")
    near(verdict["dried_retained_share"], LEFT_DRIED, 0.06, "retained share, dried first")
    same((verdict["unjudged"], verdict["answer"]), (None, "stays"), "why no verdict, and the answer")
    low, high = verdict["index_interval"]
    for pair in document["pairs"]:
        # what two strips do not show of their spread outweighs what the second one adds
        holds(high - low < 1.1 * (pair["index_interval"][1] - pair["index_interval"][0]),
              "two pairs are known worse than one")
    text = run.strandline("pair", "--quiet", *photos, *INK).out
    same(text.count("Verdict on Ullowen Slate"), 1, "verdicts in the text")
    same(text.count("alone:"), 2, "single strips' verdicts in the text")


def strips_run_differently_are_refused(run):
    saved = []
    for name, paper in (("a.jpg", "round filter"), ("b.png", "blotter"), ("c.tif", "round filter")):
        out = run.strandline("read", "--json", "--quiet", run.draw("single", name), *INK,
                             "--paper", paper).out
        saved.append(run.write(f"{name}.json", out.encode()))
    document = document_of(run, "read", *saved)
    same([r["strips"] for r in document["replicates"]], [[[0, 0], [2, 0]]], "sets")
    told = document["photos"][1]["strips"][0]["warnings"]
    holds(any(w["code"] == "different-conditions" and "round filter, blotter" in w["message"]
              for w in told), f"not said: {told}")


def saved_documents_keep_it(run):
    first = run.strandline("read", "--json", "--quiet", *three(run), *INK).out
    again = document_of(run, "read", run.write("saved.json", first.encode()))
    for key in ("rf", "share"):
        for a, b in zip(json.loads(first)["replicates"][0]["bands"], again["replicates"][0]["bands"]):
            near(a[key]["value"], b[key]["value"], 2e-6, key)
            near(a[key]["interval"][0], b[key]["interval"][0], 1e-5, f"interval of {key}")
    lines = run.strandline("read", "--json-lines", "--quiet", *three(run), *INK).out
    again = document_of(run, "read", run.write("saved.jsonl", lines.encode()))
    same(len(again["replicates"]), 1, "sets from a batch")


def table_and_report(run):
    table, page = run.path("together.csv"), run.path("report.html")
    photos = [run.draw("pair", "one.jpg"), run.draw("pair", "two.png")]
    done = run.strandline("pair", "--quiet", *photos, *INK, "--csv-replicates", table,
                          "--html", page, "--figures", run.path("pictures"))
    same((done.code, done.err), (0, ""), "exit code and errors")
    for name in ("together-1.png", "together-2.png"):
        holds((run.folder / "pictures" / name).stat().st_size > 5000, f"{name} is empty")
    rows = list(csv.DictReader(open(table, newline="")))
    same({r["role"] for r in rows}, {"immediate", "dried"}, "roles")
    same({r["number"] for r in rows}, {"retained", "bound", "rf", "share"}, "numbers")
    for row in rows:
        holds(float(row["low"]) <= float(row["mean"]) <= float(row["high"]), f"order in {row}")
    text = pathlib.Path(page).read_text()
    for part in ('id="combined-1"', 'id="together-1"', 'id="together-2"', "2 strips together"):
        holds(part in text, f"{part} is not in the report")


TESTS = [
    alike_strips_are_combined, nothing_is_combined_without_an_ink,
    the_strip_that_disagrees_is_pointed_at, several_pairs_give_one_verdict,
    strips_run_differently_are_refused, saved_documents_keep_it, table_and_report,
]

if __name__ == "__main__":
    sys.exit(main(TESTS))
