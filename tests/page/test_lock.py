#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The packages that package-lock.json holds: Debian 12's own node runs each of them, and none has an address in it.

A machine with a newer node would never notice the first, nor one with the same registry the second."""
import json
import pathlib
import re
import unittest

NODE = 18  # of Debian 12, which the project promises to be enough
LOCK = pathlib.Path(__file__).resolve().parent / "package-lock.json"
PACKAGES = {path: package for path, package in json.loads(LOCK.read_text(encoding="utf-8"))["packages"].items() if path}


class Lock(unittest.TestCase):
    def test_the_nodes_that_packages_ask_for(self):
        self.assertTrue(PACKAGES)
        for path, package in PACKAGES.items():
            asked = package.get("engines", {}).get("node", ">=0")
            least = re.fullmatch(r">= ?(\d+)(\.\d+)*", asked)
            self.assertIsNotNone(least, f"{path} asks for node {asked}, which this test cannot judge")
            self.assertLessEqual(int(least[1]), NODE, f"{path} asks for node {asked}")

    def test_no_registry_is_named(self):
        self.assertEqual([path for path, package in PACKAGES.items() if "resolved" in package], [])


if __name__ == "__main__":
    unittest.main()
