# SPDX-License-Identifier: GPL-3.0-or-later
"""The figures as Markdown, for the documentation: tables by style, and what is aimed at beside what was reached."""
import figures
import limits

NOTE = ("Medians stand before their 95th percentile; parts are followed by their standard error; "
        "n: how many bands, strips, pairs or photos a figure is made of. Aims that are missed are in bold. "
        "Flag: the dried strip retained 8 % of its dye or more; of the pairs with a verdict it is open from 33 to "
        "66 %. 90 % sure: what was said to be so, or not to be so, with a probability of 90 % or more.")


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


def table_of_tenths(statement, by_style):
    lines = head([f"{statement}: said → true, %", *by_style])
    for name, rows in figures.said_tenths(by_style):
        cells = ["–" if not r["count"] else f"{r['said']:.1f} → {r['true']:.1f} ({r['off']:+.1f}, n {r['count']})"
                 for r in rows]
        lines.append(row([name, *cells]))
    return lines + [""]


def page(scores):
    checks = limits.checks(scores)
    lines = [NOTE, ""]
    for style in figures.STYLES:
        lines += table_of_style(scores.groups, style) + table_of_aims(checks, style)
    for name, why in figures.reasons(scores.groups).items():
        lines += [f"Without a verdict, {name}: {why}.", ""]
    for statement, by_style in scores.reliability.items():
        lines += table_of_tenths(statement, by_style)
    for line in other_aims(checks):
        lines += [line, ""]
    if scores.nothing["said"]:
        lines += [f"Inks that no paper holds: {figures.of_inks_that_no_paper_holds(scores.nothing)}.", ""]
    return "\n".join(lines)
