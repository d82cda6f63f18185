#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Turns text files into C arrays: embed.py OUT.c NAME=FILE...

For each file: html_NAME (bytes), html_NAME_bytes (count), html_NAME_sha256 (base64 of its hash, for
the page's content security policy). References to source maps are cut: nothing may be fetched.
"""
import base64
import hashlib
import re
import sys


def load(path):
    text = open(path, "rb").read()
    text = re.sub(rb"\n?(//# sourceMappingURL=[^\n]*|/\*# sourceMappingURL=[^*]*\*/)\s*$", b"\n", text)
    lower = text.lower()
    if b"</script" in lower or b"</style" in lower or b"<!--" in lower:
        sys.exit(f"{path}: would end the element it is put into")
    return text


def array(name, text):
    lines = [",".join(str(b) for b in text[i:i + 32]) for i in range(0, len(text), 32)]
    digest = base64.b64encode(hashlib.sha256(text).digest()).decode()
    return (f"const char html_{name}[] = {{\n" + ",\n".join(lines) + "};\n"
            f"const size_t html_{name}_bytes = sizeof html_{name};\n"
            f"const char html_{name}_sha256[] = \"{digest}\";\n")


def main():
    out, assets = sys.argv[1], [a.split("=", 1) for a in sys.argv[2:]]
    parts = ["// Made by embed.py.\n#include \"report/html_assets.h\"\n"]
    for name, path in assets:
        text = load(path)
        if path.endswith(".js"):  # plain char may be signed; a JavaScript string reads \\xb5 as the letter
            text = text.decode().encode("ascii", "backslashreplace")
        text.decode("ascii")
        parts.append(array(name, text))
    open(out, "w", encoding="ascii").write("\n".join(parts))


main()
