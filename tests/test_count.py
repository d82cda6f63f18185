#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The count of all checks, as tests/run.sh prints it: what it adds up, and that missing tests are failures in words."""
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

COUNT = pathlib.Path(__file__).resolve().parent / "count.py"


def entry(name, result="OK", stdout=None):
    return json.dumps({"name": name, "result": result, "stdout": stdout}) + "\n"


GOOD = entry("a", stdout="1..2\nok 1 - one\nok 2 - two\n") + entry("b")


class Count(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def log(self, text, name="log.json"):
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path

    def count(self, *logs):
        """Exit code and lines; never a word on standard error."""
        done = subprocess.run([sys.executable, COUNT, *logs], capture_output=True, text=True, check=False)
        self.assertEqual(done.stderr, "")
        return done.returncode, done.stdout.splitlines()

    def test_checks_of_all_logs_are_added_up(self):
        self.assertEqual(self.count(self.log(GOOD), self.log(GOOD, "second.json")), (0, ["6 passed, 0 failed"]))

    def test_what_failed_or_was_skipped_is_named(self):
        log = self.log(entry("a", "FAIL", "ok 1 - one\nnot ok 2 - two\nok 3 - three # SKIP no light\n") +
                       entry("b", "TIMEOUT", "ok 1 - one\n") + entry("c", "SKIP"))
        self.assertEqual(self.count(log), (1, [
            f"skipped: a: three # SKIP no light ({log})", f"failed: a: two ({log})",
            f"failed: b: ended with timeout ({log})", f"skipped: c: as a whole ({log})",
            "2 passed, 2 failed, 2 skipped"]))

    def test_a_missing_log_is_a_failure_in_words(self):
        missing = self.folder / "testlog.json"
        self.assertEqual(self.count(self.log(GOOD), missing), (1, [
            f"failed: no tests were run: the log cannot be read (No such file or directory) ({missing})",
            "3 passed, 1 failed"]))

    def test_a_log_without_a_test_is_a_failure_in_words(self):
        empty = self.log("", "empty.json")
        self.assertEqual(self.count(self.log(GOOD), empty), (1, [
            f"failed: no tests were run: the log is empty ({empty})", "3 passed, 1 failed"]))

    def test_a_log_that_was_cut_off_is_a_failure_in_words(self):
        cut = self.log(GOOD + entry("c")[:20])
        self.assertEqual(self.count(cut), (1, [f"failed: the log is cut off after 2 tests ({cut})", "3 passed, 1 failed"]))


if __name__ == "__main__":
    unittest.main()
