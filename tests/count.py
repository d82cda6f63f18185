#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""count.py TESTLOG...: the checks in meson's test logs (testlog.json), one each of what a test says in TAP.

A test that says nothing in TAP counts as one check, and so does one that ended badly though all of
its checks passed. A skipped check is none. Names what failed, then prints "N passed, N failed"; exit
code 1 if any failed or nothing was run.
"""
import json
import re
import sys


def checks(test):
    """Names of the passed and of the failed checks of one test."""
    passed, failed = [], []
    for line in (test.get("stdout") or "").splitlines():
        found = re.match(r"(not )?ok\b\s*\d*\s*-?\s*(.*)", line)
        if found and "# SKIP" not in line:
            (failed if found[1] else passed).append(found[2] or "unnamed")
    if test["result"] == "SKIP":
        return passed, failed
    if test["result"] not in ("OK", "EXPECTEDFAIL") and not failed:
        failed.append(f"ended with {test['result'].lower()}")
    return (passed or ([] if failed else ["as a whole"])), failed


def main():
    passed = failed = 0
    for path in sys.argv[1:]:
        with open(path, encoding="utf-8") as log:
            for line in log:
                test = json.loads(line)
                good, bad = checks(test)
                passed += len(good)
                failed += len(bad)
                for name in bad:
                    print(f"failed: {test['name']}: {name} ({path})")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
