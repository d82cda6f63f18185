# SPDX-License-Identifier: GPL-3.0-or-later
"""The figures as Markdown, for the documentation: tables by style, and what is aimed at beside what was reached."""
import figures
import limits

NOTE = ("Medians stand before their 95th percentile; parts are followed by their standard error; "
        "n: how many bands, strips, pairs or photos a figure is made of. Aims that are missed are in bold.")


def plain(value):
    """Three figures that count; counts as they are."""
    if value is None:
        return "–"
    if isinstance(value, int):
        return str(value)
    return f"{value:.1f}" if abs(value) >= 10 else f"{value:.2f}" if abs(value) >= 1 else f"{value:.4f}"


def cell(figure):
    value, count = figure["value"], figure["count"]
    if value is None:
        return "–"
    if "p95" in figure:
        return f"{plain(value)} / {plain(figure['p95'])} (n {count})"
    if figure.get("se") is not None:
        return f"{value:.1f} ± {figure['se']:.1f} (n {count})"
    return f"{plain(value)} (n {count})"


def row(cells):
    return "| " + " | ".join(cells) + " |"


def head(cells):
    return [row(cells), row(["---"] + ["---:"] * (len(cells) - 1))]


def table_of_style(groups, style):
    columns = [tier for tier in figures.TIERS if f"{tier} {style}" in groups]
    if not columns:
        return []
    lines = head([style, *columns])
    for name in groups[f"{columns[0]} {style}"]:
        lines.append(row([name, *(cell(groups[f"{tier} {style}"][name]) for tier in columns)]))
    return lines + [""]


def reached(check):
    if check is None or check.value is None:
        return "–"
    text = f"{plain(check.value)} (n {check.count}), aim {check.wanted}"
    return text if check.aim_missed_by is None else f"**{text}: missed by {plain(check.aim_missed_by)}**"


def table_of_aims(checks, style):
    columns = [f"{tier} {style}" for tier in figures.TIERS]
    cells = {}
    for check in checks:
        cells.setdefault(check.figure, {})[check.group] = check
    rows = [row([name, *(reached(by_group.get(column)) for column in columns)])
            for name, by_group in cells.items() if any(column in by_group for column in columns)]
    return head(["aims", *columns]) + rows + [""] if rows else []


def other_aims(checks):
    """Of what has no difficulty and style."""
    groups = [f"{tier} {style}" for tier in figures.TIERS for style in figures.STYLES]
    return [f"{check.group[0].upper()}{check.group[1:]}, {check.figure}: {reached(check)}."
            for check in checks if check.group not in groups and check.count]


def page(groups, negatives, nothing):
    checks = limits.checks(groups, negatives, nothing)
    lines = [NOTE, ""]
    for style in figures.STYLES:
        lines += table_of_style(groups, style) + table_of_aims(checks, style)
    for line in other_aims(checks):
        lines += [line, ""]
    if nothing["count"]:
        lines += [f"What was said of inks with nothing retained: {figures.said_of_nothing(nothing)}.", ""]
    return "\n".join(lines)
