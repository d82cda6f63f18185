#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""run.py SCRIPT [ARGUMENT...]: runs a script of this folder with node, once it is known that all it needs is there.

What is missing is told by name: the test counts as skipped then, or as failed where STRANDLINE_TESTS_COMPLETE is set,
as tests/run.sh does after it has installed everything."""
import os
import pathlib
import shutil
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
SKIPPED, FAILED = 77, 1  # meson's own code for a skipped test


def missing():
    if not shutil.which("node"):
        return "node is not installed"
    for package in ("playwright-core", "axe-core", "typescript"):
        if not (HERE / "node_modules" / package).is_dir():
            return f"{package} is not installed: run npm ci in tests/page"
    if not chromium():
        return "chromium is not installed"
    return None


def chromium():
    return os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")


def main():
    script, *arguments = sys.argv[1:]
    lack = missing()
    if lack and os.environ.get("STRANDLINE_TESTS_COMPLETE"):
        print(f"1..1\nnot ok 1 - {lack}")
        return FAILED
    if lack:
        print(f"1..0 # SKIP {lack}")
        return 0 if script.endswith(".mjs") else SKIPPED  # TAP tells it in words, other tests by their code
    return subprocess.run(["node", str(HERE / script), *arguments], env={**os.environ, "CHROMIUM": chromium()},
                          check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
