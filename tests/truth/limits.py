# SPDX-License-Identifier: GPL-3.0-or-later
"""How good the figures have to be: what is aimed at, and what a quick draw must reach at least.

The limits are those that the program reaches now, with a margin for a small draw; they only ever get
tighter, until they are the aims. Aims are the project's own.
"""
TIERS = ("easy", "normal", "hard")

# (figure, part of it, better when): style -> ((aims easy, normal, hard), (limits easy, normal, hard))
TABLE = {
    ("strips found %", "value", "more"): {
        "tidy": ((100, 99, 93), (90, 90, 80)),
        "dip": ((100, 98, 92), (70, 60, 35))},
    ("rf error", "value", "less"): {
        "tidy": ((0.002, 0.003, 0.006), (0.005, 0.006, 0.010))},
    ("recall separated %", "value", "more"): {
        "tidy": ((99, 97, 92), (80, 80, 70))},
    ("precision %", "value", "more"): {
        "tidy": ((99, 97, 92), (75, 75, 70))},
    ("retained error", "value", "less"): {
        "tidy": ((0.005, 0.012, 0.03), (0.015, 0.025, 0.05))},
    ("profile moved", "value", "less"): {
        "dip": ((0.004, 0.006, 0.012), (0.025, 0.03, 0.05))},
    ("bound error", "value", "less"): {
        "dip": ((0.01, 0.02, 0.05), (0.12, 0.15, 0.2))},
    ("verdict right %", "value", "more"): {
        "tidy": ((99, 98, 93), (60, 60, 60)),
        "dip": ((99, 98, 93), (50, 40, 20))},
    ("covered rf %", "value", "more"): {
        "tidy": ((90, 90, 90), (80, 80, 80))},
    ("covered share %", "value", "more"): {
        "tidy": ((90, 90, 90), (60, 60, 60))},
}
HANDLED_AIM, HANDLED_LIMIT = 100, 80


def _breaks(value, limit, better):
    return value is None or (value < limit if better == "more" else value > limit)


def broken(groups, negatives):
    """A line for each limit that does not hold; a figure that is missing breaks its limit."""
    lines = []
    for (name, part, better), styles in TABLE.items():
        for style, (aims, limits) in styles.items():
            for tier, aim, limit in zip(TIERS, aims, limits):
                value = groups[f"{tier} {style}"][name][part]
                if _breaks(value, limit, better):
                    lines.append(f"{tier} {style}: {name} is {value}, limit {limit}, aim {aim}")
    if _breaks(negatives["value"], HANDLED_LIMIT, "more"):
        lines.append(f"unreadable photos handled: {negatives['value']} %, limit {HANDLED_LIMIT}, "
                     f"aim {HANDLED_AIM}")
    return lines
