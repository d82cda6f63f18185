# SPDX-License-Identifier: GPL-3.0-or-later
"""A small picture of a photo that went wrong: where strips were found, where they lie in truth, and what was said.

Each is an SVG file that holds a reduced JPEG, which the renderer draws of the same scene (--preview).
"""
import base64
import html
import pathlib
import subprocess
import tempfile

import draw

LONG_SIDE_PX = 560
SMALLEST_PX = 240
SIZE_LIMIT = 80_000  # bytes of a picture
LINE_PX, LINES = 17, 5  # of the words below
TRUE_COLOUR, FOUND_COLOUR, UNDER = "#ffffff", "#ff7a00", "#000000"
BEYOND = 0.08  # how far a mark sticks out of the strip, of its width


def along(a, b, t):
    return [a[k] + t * (b[k] - a[k]) for k in (0, 1)]


def mark(corners, part):
    """Ends of the line across the strip at a fraction of its length."""
    left, right = along(corners[0], corners[3], part), along(corners[1], corners[2], part)
    return along(left, right, -BEYOND), along(left, right, 1 + BEYOND)


def path(points, scale, closed):
    """Pixel 0 covers -0.5 to 0.5 in a photo, 0 to 1 in SVG."""
    steps = " L".join(f"{(x + 0.5) * scale:.1f} {(y + 0.5) * scale:.1f}" for x, y in points)
    return f"M{steps}{' Z' if closed else ''}"


def stroke(shape, colour, dashes=""):
    """Dark below and coloured above, so that it shows on any table; dashes let show what lies below."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    width = 3 if dashes else 4
    return [f'<path d="{shape}" stroke="{UNDER}" stroke-opacity="0.5" stroke-width="{width}"/>',
            f'<path d="{shape}" stroke="{colour}" stroke-width="2"{dashed}/>']


def strip(place, scale, colour, dashes=""):
    lines = stroke(path(place["corners"], scale, True), colour, dashes)
    for name in ("origin", "front"):
        if place[name] is not None:
            lines += stroke(path(mark(place["corners"], place[name]), scale, False), colour, dashes)
    return lines


def outlines(record, scale):
    """The true ones dashed and on top: where both agree, both are seen."""
    lines = []
    for corners in record["elsewhere"]:
        lines += strip({"corners": corners, "origin": None, "front": None}, scale, FOUND_COLOUR)
    for one in record["strips"]:
        if one["seen_place"]:
            lines += strip(one["seen_place"], scale, FOUND_COLOUR)
    for one in record["strips"]:
        lines += strip(one["true_place"], scale, TRUE_COLOUR, "5 5")
    return lines


def words(record, faults, width):
    """The name of the photo and its worst faults, as many letters as fit."""
    letters = int(width / 7.2)
    lines = [pathlib.Path(record["path"]).stem] + faults[:LINES - 3]
    shown = [line if len(line) <= letters else line[:letters - 1] + "…" for line in lines]
    return shown + ["orange: found; white, dashed: true;", "lines across: origin and front"]


def svg(record, faults, jpeg, width, height):
    scale = width / record["size"][0]
    whole = height + LINE_PX * LINES + 8
    text = [f'<text x="6" y="{height + LINE_PX * (k + 1)}">{html.escape(line)}</text>'
            for k, line in enumerate(words(record, faults, width))]
    image = base64.b64encode(jpeg).decode()
    return "\n".join([
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {whole}" width="{width}" '
        f'height="{whole}">',
        f'<rect width="{width}" height="{whole}" fill="#f4f2ee"/>',
        f'<image width="{width}" height="{height}" href="data:image/jpeg;base64,{image}"/>',
        f'<clipPath id="photo"><rect width="{width}" height="{height}"/></clipPath>',
        '<g fill="none" stroke-linejoin="round" clip-path="url(#photo)">', *outlines(record, scale), "</g>",
        '<g font-family="DejaVu Sans, sans-serif" font-size="12" fill="#222">', *text, "</g>",
        "</svg>", ""])


def preview(renderer, record, long_side, full_px):
    """The JPEG of the scene, reduced."""
    name = pathlib.Path(record["path"]).stem
    size = ["--long-side", str(full_px)] if full_px else []
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([renderer, *draw.options_of(draw.Job(**record["job"])), *size, "--preview",
                        str(long_side), "-o", folder], check=True, timeout=draw.DRAW_LIMIT_S)
        return pathlib.Path(folder, f"{name}.jpg").read_bytes()


def picture(renderer, record, faults, full_px=0):
    """The SVG's text, smaller until it is small enough."""
    long_side = LONG_SIDE_PX
    while True:
        scale = long_side / max(record["size"])
        width, height = (round(side * scale) for side in record["size"])
        jpeg = preview(renderer, record, long_side, full_px)
        text = svg(record, faults, jpeg, width, height)
        if len(text.encode()) <= SIZE_LIMIT or long_side <= SMALLEST_PX:
            return text
        long_side = long_side * 4 // 5


def write(renderer, folder, worst, full_px=0):
    """worst: [(how bad, record, faults)]; files NUMBER-NAME.svg, the worst first."""
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    for number, (_, record, faults) in enumerate(worst, 1):
        name = f"{number:02}-{pathlib.Path(record['path']).stem}.svg"
        (folder / name).write_text(picture(renderer, record, faults, full_px))
