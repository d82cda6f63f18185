#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job under valgrind: no invalid access, no use of what was never set, nothing lost."""
import pathlib
import subprocess
import sys

from harness import Run, main, same

LEAKS = pathlib.Path(__file__).resolve().parents[1] / "valgrind.supp"
VALGRIND = ["valgrind", "--quiet", "--error-exitcode=99", "--leak-check=full",
            "--show-leak-kinds=definite", "--errors-for-leak-kinds=definite",
            f"--suppressions={LEAKS}"]
TIME_LIMIT_S = 540


def under_valgrind(run, *arguments):
    return subprocess.run([*VALGRIND, run.program, *arguments], cwd=run.folder,
                          stdin=subprocess.DEVNULL, capture_output=True, text=True,
                          timeout=TIME_LIMIT_S)


def clean(run, *arguments):
    done = under_valgrind(run, *arguments)
    same((done.returncode, done.stderr[:4000]), (0, ""), f"exit code and errors of {arguments[:2]}")


def a_pair_with_all_outputs(run: Run):
    clean(run, "pair", run.draw("pair", "a.jpg"), "--json", "--html", "a.html", "--csv-bands",
          "a.csv", "--csv-profiles", "b.csv", "--figures", "f", "--figure-format", "png,svg,pdf")


def a_photo_without_strips(run: Run):
    done = under_valgrind(run, "read", run.draw("none", "a.png"))
    same(done.returncode, 65, f"exit code ({done.stderr[:4000]})")


def a_reading_with_a_number_for_its_strips(run: Run):
    saved = run.write("a.json", b'{"strandline": 1, "photos": [{"strips": 5}]}')
    done = under_valgrind(run, "overlay", saved)
    same(done.returncode, 65, f"exit code ({done.stderr[:4000]})")


if __name__ == "__main__":
    sys.exit(main([a_pair_with_all_outputs, a_photo_without_strips,
                   a_reading_with_a_number_for_its_strips]))
