#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""test_schema.py SCHEMA COMMAND...

Checks what COMMAND prints, a document a line, against SCHEMA, and that spoilt documents fail it. The
schema is tightened for the check: a member that it does not describe counts as an error.
Ends with 77 (skipped) where the module jsonschema is missing (Debian: python3-jsonschema).
"""
import copy
import json
import subprocess
import sys

try:
    import jsonschema
except ImportError:
    print("python3-jsonschema is not there: skipped")
    sys.exit(77)


def tighten(node):
    """No member that is not described, wherever members are described."""
    if isinstance(node, dict):
        if "properties" in node and "additionalProperties" not in node:
            node["additionalProperties"] = False
        for value in node.values():
            tighten(value)
    elif isinstance(node, list):
        for value in node:
            tighten(value)


def brief(document):
    """A copy whose profiles have one sample: a spoilt member shows as well, and far sooner."""
    short = copy.deepcopy(document)
    for photo in short["photos"]:
        for strip in photo["strips"]:
            profile = strip["profile"]
            strip["profile"] = {key: value[:1] if isinstance(value, list) else value
                                for key, value in profile.items()}
    return short


def spoil(document, path, value):
    """A copy with the member at `path` replaced, or taken away where `value` is KeyError."""
    changed = copy.deepcopy(document)
    at = changed
    for key in path[:-1]:
        at = at[key]
    if value is KeyError:
        del at[path[-1]]
    else:
        at[path[-1]] = value
    return changed


STRIP = ("photos", 0, "strips", 1)
PAIR = ("pairs", 0)
SPOILT = [
    (("strandline",), 2),
    (("pairs",), KeyError),
    (("photos", 0, "sha256"), "not hex"),
    (("photos", 0, "error"), "bad"),
    (("undescribed",), 1),
    (STRIP + ("role",), "wet"),
    (STRIP + ("front_seen",), "maybe"),
    (STRIP + ("corners_px",), [[0, 0]]),
    (STRIP + ("bands", 0, "rf"), None),
    (STRIP + ("bands", 0, "rf_interval"), [0.1]),
    (STRIP + ("profile", "load", 0), [1, 2]),
    (STRIP + ("bound_share",), KeyError),
    (PAIR + ("dried",), [0]),
    (PAIR + ("immediate_retained_share",), KeyError),
    (PAIR + ("dried_retained_share",), KeyError),
    (PAIR + ("dried_bound_share",), KeyError),
    (PAIR + ("level",), "undecided"),
    (PAIR + ("level_probability",), KeyError),
    (PAIR + ("level_probability", "partial"), KeyError),
    (PAIR + ("level_probability", "strong"), 1.5),
    (PAIR + ("water_resistant",), 1),
    (PAIR + ("water_resistant_probability",), KeyError),
    (PAIR + ("water_resistant_probability",), -0.1),
    (PAIR + ("soak",), KeyError),
    (PAIR + ("soak", "probability"), KeyError),
    (PAIR + ("drying", "interval"), [0]),
    (PAIR + ("answer",), "perhaps"),
    (PAIR + ("unjudged",), "dark"),
    (PAIR + ("decided",), True),
]


def main(schema_path, command):
    with open(schema_path, encoding="utf-8") as file:
        schema = json.load(file)
    jsonschema.Draft202012Validator.check_schema(schema)
    tighten(schema)
    validator = jsonschema.Draft202012Validator(schema)
    lines = subprocess.run(command, check=True, capture_output=True).stdout.splitlines()
    documents = [json.loads(line) for line in lines]
    failures = 0
    for i, document in enumerate(documents):
        for error in validator.iter_errors(document):
            failures += 1
            print(f"document {i}, {error.json_path}: {error.message[:200]}")
    sound = brief(documents[0])
    if not validator.is_valid(sound):
        failures += 1
        print("the document that is to be spoilt is spoilt already")
    for path, value in SPOILT:
        if validator.is_valid(spoil(sound, path, value)):
            failures += 1
            print(f"{path} = {value} passed, it should not")
    if not documents:
        failures += 1
        print("no document was printed")
    print(f"{len(documents)} documents, {len(SPOILT)} spoilt ones, {failures} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2:]))
