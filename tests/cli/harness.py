# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the real program and says in TAP what was seen. Standard library only.

A test is a function that takes a Run; it fails by raising. Every test has a folder of its own.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import traceback

TIME_LIMIT_S = 120


class Skip(Exception):
    """What a test raises that can't be made here; its text says why."""


class Done:
    """What one run of the program left behind."""

    def __init__(self, code, out, err):
        self.code, self.out, self.err = code, out, err

    def document(self):
        return json.loads(self.out)


def clean_environment(more=None):
    """The locale is fixed; `more` adds to what the program needs of ours."""
    variables = {k: v for k, v in os.environ.items()
                 if k.startswith(("ASAN", "UBSAN", "LSAN", "LD_")) or k in ("PATH", "HOME")}
    variables.update({"LC_ALL": "C.UTF-8", "TERM": "xterm"}, **(more or {}))
    return variables


def processor_s(pid):
    """Of a running process so far, all threads, user and system."""
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


class Run:
    def __init__(self, program, draw, folder):
        self.program, self.draw_program = program, draw
        self.folder = pathlib.Path(folder)

    def path(self, name):
        return str(self.folder / name)

    def draw(self, scene, name):
        """A photo of the scene; the ending of the name is its format."""
        subprocess.run([self.draw_program, scene, self.path(name)], check=True)
        return self.path(name)

    def write(self, name, data):
        (self.folder / name).write_bytes(data)
        return self.path(name)

    def strandline(self, *arguments, environment=None, stdout=None):
        """Runs in the test's folder."""
        done = subprocess.run([self.program, *arguments], cwd=self.folder, env=clean_environment(environment),
                              stdin=subprocess.DEVNULL, stdout=stdout or subprocess.PIPE,
                              stderr=subprocess.PIPE, timeout=TIME_LIMIT_S)
        return Done(done.returncode, (done.stdout or b"").decode(), done.stderr.decode())

    def files(self):
        """All files below the folder, hidden ones too."""
        return sorted(str(p.relative_to(self.folder)) for p in self.folder.rglob("*"))


def same(seen, wanted, what):
    if seen != wanted:
        raise AssertionError(f"{what}: {seen!r} instead of {wanted!r}")


def near(seen, wanted, allowed, what):
    if not abs(seen - wanted) <= allowed:
        raise AssertionError(f"{what}: {seen} is not within {allowed} of {wanted}")


def holds(condition, what):
    if not condition:
        raise AssertionError(what)


def one_sentence(done, *words):
    """One line on standard error in the form of all messages, with these words in it."""
    lines = done.err.splitlines()
    same(len(lines), 1, f"lines on standard error ({done.err!r})")
    holds(lines[0].startswith("strandline: "), f"the line does not begin as usual: {lines[0]}")
    holds(lines[0].endswith((".", "!", "?")), f"the line does not end a sentence: {lines[0]}")
    holds(".." not in lines[0].replace("...", ""), f"two full stops: {lines[0]}")
    for word in words:
        holds(word.lower() in lines[0].lower(), f"{word!r} is not in: {lines[0]}")


def main(tests):
    """Arguments: the program, the drawing program, and names of tests to run (default: all)."""
    program, draw = (os.path.abspath(a) for a in sys.argv[1:3])
    chosen = [t for t in tests if not sys.argv[3:] or t.__name__ in sys.argv[3:]]
    failed = 0
    print(f"1..{len(chosen)}", flush=True)
    for number, test in enumerate(chosen, 1):
        name = test.__name__.replace("_", " ")
        with tempfile.TemporaryDirectory(prefix="strandline-test-") as folder:
            try:
                test(Run(program, draw, folder))
                print(f"ok {number} - {name}", flush=True)
            except Skip as reason:
                print(f"ok {number} - {name} # SKIP {reason}", flush=True)
            except Exception:
                failed += 1
                print(f"not ok {number} - {name}")
                for line in traceback.format_exc().splitlines():
                    print(f"# {line}")
                sys.stdout.flush()
    return 1 if failed else 0
