#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""test_install.py BUILD_DIR: what `meson install` lays down is whole, and a program of someone else can be
built on it through pkg-config alone. Standard library only."""
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

PROGRAM = """
#include <strandline/report.h>
#include <strandline/figure.h>
#include <stdio.h>

int main(void)
{
    struct sl_document document;
    sl_document_init(&document);
    sl_document_finish(&document);
    printf("%s %.4f\\n", sl_code_name(SL_E_NO_STRIP), sl_rf(7.3, 1.0, 9.0));
    return 0;
}
"""


def output_of(*command, **more):
    return subprocess.run(command, check=True, capture_output=True, text=True, **more).stdout


def find(root, name):
    found = [p for p in pathlib.Path(root).rglob(name)]
    if not found:
        raise AssertionError(f"{name} was not installed")
    return found[0]


def everything_is_there(root):
    for name in ("strandline", "libstrandline.so", "strandline.pc", "strandline.1",
                 "reading.schema.json"):
        find(root, name)
    headers = {p.name for p in (find(root, "report.h").parent).glob("*.h")}
    source = pathlib.Path(__file__).resolve().parents[2] / "include" / "strandline"
    assert headers == {p.name for p in source.glob("*.h")}, headers


def the_installed_program_runs(root):
    text = output_of(str(find(root, "strandline.1").parents[3] / "bin" / "strandline"), "--version")
    assert text.startswith("strandline "), text


def another_program_can_be_built(root):
    pc = find(root, "strandline.pc")
    environment = dict(os.environ, PKG_CONFIG_PATH=str(pc.parent),
                       PKG_CONFIG_SYSROOT_DIR=str(root))
    flags = shlex.split(output_of("pkg-config", "--cflags", "--libs", "strandline",
                                  env=environment))
    output_of("pkg-config", "--print-errors", "--exists", "strandline", env=environment)
    source = pathlib.Path(root) / "other.c"
    source.write_text(PROGRAM)
    binary = str(source.with_suffix(""))
    compiler = shlex.split(os.environ.get("CC", "cc"))
    output_of(*compiler, "-std=c11", "-Wall", "-Werror", str(source), "-o", binary, *flags)
    library = str(find(root, "libstrandline.so").parent)
    said = output_of(binary, env=dict(os.environ, LD_LIBRARY_PATH=library))
    # 0.7875: worked example with positions from the edge, 1.0, 7.3 and 9.0 cm (fixtures/)
    assert said == "no-strip 0.7875\n", said


def every_header_can_be_read_alone(root):
    folder = find(root, "report.h").parent
    for header in sorted(folder.glob("*.h")):
        source = pathlib.Path(root) / "alone.c"
        source.write_text(f"#include <strandline/{header.name}>\n")
        output_of("cc", "-std=c11", "-Wall", "-Werror", "-fsyntax-only", "-I", str(folder.parent),
                  str(source))


def the_manual_is_sound(root):
    page = find(root, "strandline.1")
    if shutil.which("groff"):
        done = subprocess.run(["groff", "-mdoc", "-Tascii", "-ww", str(page)], capture_output=True,
                              text=True)
        assert done.returncode == 0 and not done.stderr, done.stderr
    text = page.read_text()
    options = set(re.findall(r"^\.It Fl -([a-z-]+)", text, re.M))
    program = str(find(root, "strandline.1").parents[3] / "bin" / "strandline")
    helped = set()
    for verb in ("read", "pair", "overlay"):
        helped |= set(re.findall(r"^  --([a-z-]+)", output_of(program, verb, "--help"), re.M))
    assert options == helped | {"version"}, options ^ (helped | {"version"})


TESTS = [everything_is_there, the_installed_program_runs, another_program_can_be_built,
         every_header_can_be_read_alone, the_manual_is_sound]


def run():
    failed = 0
    print(f"1..{len(TESTS)}")
    with tempfile.TemporaryDirectory(prefix="strandline-install-") as root:
        output_of("meson", "install", "-C", sys.argv[1], "--no-rebuild", "--destdir", root)
        for number, test in enumerate(TESTS, 1):
            try:
                test(root)
                print(f"ok {number} - {test.__name__.replace('_', ' ')}")
            except (AssertionError, subprocess.CalledProcessError) as problem:
                failed += 1
                print(f"not ok {number} - {test.__name__.replace('_', ' ')}")
                said = getattr(problem, "stderr", "") or ""
                for line in f"{problem}\n{said}".splitlines():
                    print(f"# {line}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(run())
