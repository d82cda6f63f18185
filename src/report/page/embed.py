#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Turns files into C arrays.

embed.py OUT.c NAME=FILE...            what goes into the report
embed.py --table OUT.c FOLDER FILE...  what the page serves: all in FOLDER, and FILEs beside
embed.py --list FOLDER                 names what is in FOLDER

For each file of the report: html_NAME (bytes), html_NAME_bytes (count), html_NAME_sha256 (base64 of its hash, for
the page's content security policy). References to source maps are cut: nothing may be fetched.
"""
import base64
import hashlib
import os
import re
import sys

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
}


def without_source_map(text):
    return re.sub(rb"\n?(//# sourceMappingURL=[^\n]*|/\*# sourceMappingURL=[^*]*\*/)\s*$", b"\n", text)


def load(path):
    text = without_source_map(open(path, "rb").read())
    lower = text.lower()
    if b"</script" in lower or b"</style" in lower or b"<!--" in lower:
        sys.exit(f"{path}: would end the element it is put into")
    return text


def numbers(text):
    return ",\n".join(",".join(str(b) for b in text[i:i + 32]) for i in range(0, len(text), 32))


def array(name, text):
    digest = base64.b64encode(hashlib.sha256(text).digest()).decode()
    return (f"const char html_{name}[] = {{\n{numbers(text)}}};\n"
            f"const size_t html_{name}_bytes = sizeof html_{name};\n"
            f"const char html_{name}_sha256[] = \"{digest}\";\n")


def in_folder(folder):
    names = os.listdir(folder) if os.path.isdir(folder) else []
    return sorted(os.path.join(folder, n) for n in names if os.path.splitext(n)[1] in TYPES)


def table(out, paths):
    parts, rows = ["// Made by embed.py.\n#include \"page/page_internal.h\"\n"], []
    for i, path in enumerate(paths):
        data = open(path, "rb").read()
        ending = os.path.splitext(path)[1]
        if ending in (".js", ".css"):
            data = without_source_map(data)
        etag = hashlib.sha256(data).hexdigest()[:32]
        parts.append(f"static const unsigned char bytes_{i}[] = {{\n{numbers(data or b' ')}}};\n")
        rows.append(f'    {{"{os.path.basename(path)}", "{TYPES[ending]}", "\\"{etag}\\"", bytes_{i}, '
                    f"sizeof bytes_{i}}},\n")
    rows.append("    {0},\n")
    parts.append("const struct page_asset page_assets[] = {\n" + "".join(rows) + "};\n"
                 f"const size_t page_asset_count = {len(paths)};\n")
    open(out, "w", encoding="ascii").write("\n".join(parts))


def report():
    out, assets = sys.argv[1], [a.split("=", 1) for a in sys.argv[2:]]
    parts = ["// Made by embed.py.\n#include \"report/html_assets.h\"\n"]
    for name, path in assets:
        text = load(path)
        if path.endswith(".js"):  # plain char may be signed; a JavaScript string reads \\xb5 as the letter
            text = text.decode().encode("ascii", "backslashreplace")
        text.decode("ascii")
        parts.append(array(name, text))
    open(out, "w", encoding="ascii").write("\n".join(parts))


def main():
    if sys.argv[1] == "--list":
        print("\n".join(in_folder(sys.argv[2])))
    elif sys.argv[1] == "--table":
        table(sys.argv[2], in_folder(sys.argv[3]) + sys.argv[4:])
    else:
        report()


main()
