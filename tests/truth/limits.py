# SPDX-License-Identifier: GPL-3.0-or-later
"""How good the figures have to be: what is aimed at, and what a quick draw must reach at least.

The limits are those that the program reaches now, with a margin for a small draw: about two strips, a pair or two
bands of a part, half of an error. They only ever get tighter, until they are the aims. Aims are the project's own.
A limit of None: a quick draw has too few, such as a single resistant ink.
"""
import collections

from figures import STYLES, TIERS, farthest_off

COVERED = (90, 98)  # of 95 % intervals: more than that, and they are wider than they need be

# (figure, part of it, better when): style -> ((aims easy, normal, hard), (limits easy, normal, hard))
TABLE = {
    ("strips found %", "value", "more"): {
        "tidy": ((100, 99, 93), (90, 90, 87)),
        "dip": ((100, 98, 92), (92, 86, 90))},
    ("strips elsewhere", "value", "less"): {
        "tidy": ((0, 0, 0), (0, 0, 0)),
        "dip": ((0, 0, 0), (0, 0, 0))},
    ("rf error", "value", "less"): {
        "tidy": ((0.002, 0.003, 0.006), (0.0035, 0.003, 0.006))},
    ("rf error", "p95", "less"): {
        "tidy": ((0.006, 0.010, 0.025), (0.02, 0.012, 0.025))},
    ("place error, front hidden", "value", "less"): {
        "tidy": ((0.002, 0.003, 0.006), (0.0039, 0.003, 0.006))},
    ("recall separated %", "value", "more"): {
        "tidy": ((99, 97, 92), (95, 93, 92))},
    ("precision %", "value", "more"): {
        "tidy": ((99, 97, 92), (95, 93, 92))},
    ("recall overlapping %", "value", "more"): {
        "tidy": ((85, 75, 55), (None, None, None))},
    ("share error", "value", "less"): {
        "tidy": ((0.01, 0.02, 0.04), (0.01, 0.02, 0.04))},
    ("hue error deg", "value", "less"): {
        "tidy": ((2, 3, 6), (2, 3, 6))},
    ("retained error", "value", "less"): {
        "tidy": ((0.005, 0.012, 0.03), (0.005, 0.012, 0.03))},
    ("profile moved", "value", "less"): {
        "dip": ((0.004, 0.006, 0.012), (0.0095, 0.008, 0.013))},
    ("bound error", "value", "less"): {
        "dip": ((0.01, 0.02, 0.05), (0.023, 0.033, 0.05))},
    # refusing is no way to be right: both strips of a pair are found as often as is aimed at
    ("pairs without a verdict %", "value", "less"): {
        "tidy": ((0, 2, 14), (50, 15, 34)),
        "dip": ((0, 4, 15), (12, 20, 15))},
    ("flag right %", "value", "more"): {
        "tidy": ((99, 97, 93), (60, 75, 66)),
        "dip": ((99, 97, 93), (85, 75, 85))},
    ("flag open %", "value", "less"): {
        "tidy": ((5, 10, 15), (50, 15, 34)),
        "dip": ((5, 10, 15), (23, 40, 23))},
    ("flag, 90 % sure, true %", "value", "more"): {
        "tidy": ((95, 95, 95), (60, 75, 66)),
        "dip": ((95, 95, 95), (85, 75, 85))},
    ("drying, 90 % sure, true %", "value", "more"): {
        "tidy": ((95, 95, 95), (None, 75, None)),
        "dip": ((95, 95, 95), (66, None, None))},
    ("soak, likely, true %", "value", "more"): {
        "tidy": ((66, 66, 66), (60, 66, 60)),
        "dip": ((66, 66, 66), (66, 66, 60))},
    ("flag AUC", "value", "more"): {
        "tidy": ((0.995, 0.99, 0.95), (None, 0.8, None)),
        "dip": ((0.99, 0.98, 0.93), (0.8, 0.9, 0.8))},
    ("false alarms", "value", "less"): {
        "tidy": ((0, 0, 0), (0, 0, None)),
        "dip": ((0, 0, 0), (None, None, None))},
    ("covered rf %", "value", "within"): {
        "tidy": ((COVERED,) * 3, (83, 90, 90)),
        "dip": ((COVERED,) * 3, (90, 87, 90))},
    ("covered share %", "value", "within"): {
        "tidy": ((COVERED,) * 3, (90, 90, 82)),
        "dip": ((COVERED,) * 3, (90, 90, 90))},
    ("covered colour %", "value", "within"): {
        "tidy": ((COVERED,) * 3, (90, 90, 90)),
        "dip": ((COVERED,) * 3, (90, 90, 87))},
    ("covered retained %", "value", "within"): {
        "tidy": ((COVERED,) * 3, (83, 85, 84)),
        "dip": ((COVERED,) * 3, (90, 80, 85))},
    ("covered bound %", "value", "within"): {
        "tidy": ((COVERED,) * 3, (83, 85, 84)),
        "dip": ((COVERED,) * 3, (88, 86, 90))},
    ("covered index %", "value", "within"): {
        "tidy": ((COVERED,) * 3, (60, 75, 66)),
        "dip": ((COVERED,) * 3, (85, 80, 85))},
}
HANDLED_AIM, HANDLED_LIMIT = 100, 90
NOTHING_AIM, NOTHING_LIMIT = 0, 0  # false alarms
# Points by which the part that is true may differ from what was said, in every tenth that holds enough: a quick
# draw fills none.
TENTH_AIM, TENTH_LIMIT = 7, None

# group: "easy tidy", or what else was counted; aim_missed_by: None where the aim is held.
Check = collections.namedtuple("Check", "group figure wanted value count limit aim_missed_by broken")


def _missed_by(value, wanted, better):
    """By how much value is worse than wanted; None if it is not."""
    if value is None:
        return None
    low, high = wanted if isinstance(wanted, tuple) else (wanted, wanted)
    if better != "less" and value < low:
        return low - value
    if better != "more" and value > high:
        return value - high
    return None


def _words(wanted, better):
    if isinstance(wanted, tuple):
        return f"{wanted[0]} to {wanted[1]}"
    return f"{'≥' if better == 'more' else '≤'} {wanted}"


def _check(group, name, figure, part, better, aim, limit):
    """Limits hold from one side: what a part of covered intervals must not do is to fall."""
    value = figure[part]
    against = "less" if better == "less" else "more"
    broken = limit is not None and (value is None or _missed_by(value, limit, against) is not None)
    name = f"{name}, 95th percentile" if part == "p95" else name
    return Check(group, name, _words(aim, better), value, figure["count"], limit,
                 _missed_by(value, aim, better), broken)


def _checks_of_tenths(reliability):
    for statement, by_style in reliability.items():
        for style, rows in by_style.items():
            yield _check(f"{style} pairs", f"{statement}, points off in the worst tenth", farthest_off(rows),
                         "value", "less", TENTH_AIM, TENTH_LIMIT)


def checks(scores):
    """All aims and limits of what was measured."""
    found = []
    for (name, part, better), styles in TABLE.items():
        for style, (aims, limits) in styles.items():
            for tier, aim, limit in zip(TIERS, aims, limits):
                group = f"{tier} {style}"
                if group in scores.groups:
                    figure = scores.groups[group][name]
                    found.append(_check(group, name, figure, part, better, aim, limit))
    found.append(_check("photos that cannot be read", "handled %", scores.negatives, "value", "more",
                        HANDLED_AIM, HANDLED_LIMIT))
    found.append(_check("inks that no paper holds", "false alarms", scores.nothing, "value", "less",
                        NOTHING_AIM, NOTHING_LIMIT))
    return found + [*_checks_of_tenths(scores.reliability)]


def broken(scores):
    """A line for each limit that does not hold; a figure that is missing breaks its limit."""
    lines = [f"{c.group}: {c.figure} is {c.value} (n {c.count}), limit {c.limit}, aim {c.wanted}"
             for c in checks(scores) if c.broken]
    for style in STYLES:
        lines += [f"{tier} {style}: nothing was measured" for tier in TIERS
                  if f"{tier} {style}" not in scores.groups]
    return lines
