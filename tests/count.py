#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""count.py TESTLOG...: the checks in meson's test logs (testlog.json), one each of what a test says in TAP.

A test that says nothing in TAP counts as one check, and so does one that ended badly though all of
its checks passed. A log that is missing, cut off or without a test counts as a failed check too.
Names what failed and what was skipped, then prints "N passed, N failed", with ", N skipped" if any
was; exit code 1 if any failed or nothing was run.
"""
import json
import re
import sys


def checks(test):
    """Names of the passed, of the failed and of the skipped checks of one test."""
    passed, failed, skipped = [], [], []
    for line in (test.get("stdout") or "").splitlines():
        found = re.match(r"(not )?ok\b\s*\d*\s*-?\s*(.*)", line)
        if found:
            is_skip = re.search(r"# SKIP\b", line, re.IGNORECASE)
            (skipped if is_skip else failed if found[1] else passed).append(found[2] or "unnamed")
    if test["result"] == "SKIP":
        return passed, failed, skipped or ["as a whole"]
    if test["result"] not in ("OK", "EXPECTEDFAIL") and not failed:
        failed.append(f"ended with {test['result'].lower()}")
    return (passed or ([] if failed or skipped else ["as a whole"])), failed, skipped


def read(path):
    """The tests of one log, and what is wrong with the log in words (None: nothing)."""
    tests = []
    try:
        with open(path, encoding="utf-8") as log:
            for line in log:
                tests.append(json.loads(line))
    except OSError as error:
        return tests, f"no tests were run: the log cannot be read ({error.strerror})"
    except ValueError:
        return tests, f"the log is cut off after {len(tests)} tests"
    return tests, None if tests else "no tests were run: the log is empty"


def main():
    passed = failed = skipped = 0
    for path in sys.argv[1:]:
        tests, fault = read(path)
        if fault:
            failed += 1
            print(f"failed: {fault} ({path})")
        for test in tests:
            good, bad, left_out = checks(test)
            passed += len(good)
            failed += len(bad)
            skipped += len(left_out)
            for name in left_out:
                print(f"skipped: {test['name']}: {name} ({path})")
            for name in bad:
                print(f"failed: {test['name']}: {name} ({path})")
    print(f"{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else ""))
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
