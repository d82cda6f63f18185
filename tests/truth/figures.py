# SPDX-License-Identifier: GPL-3.0-or-later
"""From the records of single photos to figures for a difficulty, and to the photos that went worst."""
import collections
import math
import statistics

import compare

TIERS = ("easy", "normal", "hard")
STYLES = ("tidy", "dip")
EVERYTHING = "all"  # both styles
TENTHS = 10
TENTH_LEAST = 30  # statements in a tenth from which its part means something

# What a set of records comes to: groups {"easy tidy": figures, ...}; of photos that can't be read the part that
# was handled; what was said of inks that no paper holds; {statement: {style or EVERYTHING: its tenths}}.
Scores = collections.namedtuple("Scores", "groups negatives nothing reliability")


def percent(values):
    """Of the true ones among those that are known; with how many, and the binomial standard error."""
    known = [bool(v) for v in values if v is not None]
    if not known:
        return {"value": None, "count": 0, "se": None}
    part = sum(known) / len(known)
    return {"value": 100 * part, "count": len(known),
            "se": 100 * math.sqrt(part * (1 - part) / len(known))}


def quantile(ordered, part):
    place = part * (len(ordered) - 1)
    low = math.floor(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (place - low) * (ordered[high] - ordered[low])


def spread(values):
    known = sorted(v for v in values if v is not None)
    if not known:
        return {"value": None, "count": 0, "p95": None}
    return {"value": statistics.median(known), "count": len(known), "p95": quantile(known, 0.95)}


def brier(statements):
    """The mean square of what a probability is off by: G. W. Brier, Mon. Weather Rev. 78 (1950) 1."""
    off = [(s["p"] - s["true"]) ** 2 for s in statements if s["p"] is not None]
    return {"value": statistics.mean(off) if off else None, "count": len(off)}


def sure_ones_true(statements, least):
    """Of what is said to hold, or not to hold, with that probability at least."""
    sure = [s for s in statements if s["p"] is not None and max(s["p"], 1 - s["p"]) >= least]
    return percent([(s["p"] >= 0.5) == s["true"] for s in sure])


def tenths(statements):
    """For each tenth of the probability: how many, what was said on average and the part that was true in
    percent, and by how many points they differ."""
    rows = []
    known = [s for s in statements if s["p"] is not None]
    for tenth in range(TENTHS):
        inside = [s for s in known if min(int(TENTHS * s["p"]), TENTHS - 1) == tenth]
        said, true = ([100 * float(s[key]) for s in inside] for key in ("p", "true"))
        said, true = (statistics.mean(v) if v else None for v in (said, true))
        rows.append({"from": 100 * tenth // TENTHS, "to": 100 * (tenth + 1) // TENTHS, "count": len(inside),
                     "said": said, "true": true, "off": true - said if inside else None})
    return rows


def farthest_off(rows):
    """The tenth that errs most, of those that hold enough."""
    full = [row for row in rows if row["count"] >= TENTH_LEAST]
    return {"value": max((abs(row["off"]) for row in full), default=None),
            "count": sum(row["count"] for row in full)}


def alarms(values):
    """How many of those that could be one."""
    known = [v for v in values if v is not None]
    return {"value": sum(known) if known else None, "count": len(known)}


def without_verdict(pairs):
    """The part, and how many for which reason."""
    why = collections.Counter(p["unjudged"] for p in pairs if not p["answered"])
    return percent([not p["answered"] for p in pairs]) | {"why": dict(sorted(why.items()))}


def area_under_roc(pairs):
    """The chance that a resistant ink has a higher index than another one; a missing index is the lowest."""
    def rank(pair):
        return -1.0 if pair["index"] is None else pair["index"]
    above = [rank(p) for p in pairs if p["resistant"]]
    below = [rank(p) for p in pairs if not p["resistant"]]
    wins = sum((a > b) + 0.5 * (a == b) for a in above for b in below)
    all_of_them = len(above) * len(below)
    return {"value": wins / all_of_them if all_of_them else None, "count": len(pairs)}


def of_records(records):
    """All figures of one difficulty and style."""
    readable = [r for r in records if not r["negative"]]
    strips = [s for r in readable for s in r["strips"]]
    seen = [s for s in strips if s["seen"]]
    matches = [m for s in strips for m in s["matches"]]
    pairs = [p for r in readable for p in r["pairs"]]

    def of_strips(name):
        return spread([s[name] for s in seen])

    def of_matches(name):
        return spread([m[name] for m in matches])

    def recall(name):
        return percent([v for s in strips for v in s[name]])

    def of_sure(statement, least=compare.SURE):
        return sure_ones_true([p[statement] for p in pairs], least)

    def of_brier(statement):
        return brier([p[statement] for p in pairs])

    reported = sum(s["reported"] for s in strips)
    invented = sum(len(s["invented_rf"]) for s in strips)
    return {
        "photos": {"value": len(readable), "count": len(readable)},
        "strips found %": percent([s["found"] for s in strips]),
        "ends right %": percent([not s["turned"] for s in seen]),
        "strips elsewhere": {"value": sum(len(r["elsewhere"]) for r in readable),
                             "count": len(readable)},
        "corner error mm": of_strips("corner_error_mm"),
        "origin error": of_strips("origin_error"),
        "front error, visible": spread([s["front_error"] for s in seen if s["front_visible"]]),
        "visible front seen %": percent([s["front_claimed"] for s in seen if s["front_visible"]]),
        "hidden front admitted %": percent([not s["front_claimed"] for s in seen
                                            if not s["front_visible"]]),
        "rf error": of_matches("rf_error"),
        "place error, front hidden": of_matches("place_error_hidden"),
        "recall separated %": recall("separated"),
        "recall overlapping %": recall("overlapping"),
        "recall all %": recall("all"),
        "hidden dyes told %": recall("hidden"),
        "precision %": percent([True] * (reported - invented) + [False] * invented),
        "share error": of_matches("share_error"),
        "hue error deg": of_matches("hue_error"),
        "retained error": of_strips("retained_error"),
        "bound error": of_strips("bound_error"),
        "profile moved": of_strips("moved"),
        "pairs without a verdict %": without_verdict(pairs),
        "flag right %": percent([p["right"] for p in pairs]),
        "flag open %": percent([p["open"] for p in pairs]),
        "flag, 90 % sure, true %": of_sure("flag"),
        "flag Brier score": of_brier("flag"),
        "flag AUC": area_under_roc(pairs),
        "answers true %": percent([p["answer"]["true"] for p in pairs]),
        "level right %": percent([p["level_right"] for p in pairs]),
        "drying, 90 % sure, true %": of_sure("drying"),
        "drying Brier score": of_brier("drying"),
        "soak, likely, true %": of_sure("soak", compare.LIKELY),
        "soak Brier score": of_brier("soak"),
        "false alarms": alarms([p["false_alarm"] for p in pairs]),
        "covered rf %": percent([m["rf_covered"] for m in matches]),
        "covered rf, front hidden %": percent([m["rf_covered_hidden"] for m in matches]),
        "covered share %": percent([m["share_covered"] for m in matches]),
        "covered colour %": percent([v for m in matches for v in m["colour_covered"]]),
        "covered retained %": percent([s["retained_covered"] for s in seen]),
        "covered bound %": percent([s["bound_covered"] for s in seen]),
        "covered index %": percent([p["index_covered"] for p in pairs]),
        "seconds a photo": spread([r["seconds"] for r in readable]),
    }


def of_negatives(records):
    return percent([r["handled"] for r in records if r["negative"]])


def of_nothing_retained(records):
    """Pairs of inks that no paper holds. What leaves them slowly is retained all the same, so a false alarm
    can only be where hardly anything was. Nothing is bound: how often a longer soak was told as likely to
    leave a part. And what was answered, of all of them."""
    pairs = [p for r in records for p in r["pairs"]]
    said = collections.Counter(p["said"] if p["answered"] else p["unjudged"] for p in pairs)
    soaks = [p["soak"]["p"] >= compare.LIKELY for p in pairs if p["soak"]["p"] is not None]
    return alarms([p["false_alarm"] for p in pairs]) | {"soak": alarms(soaks), "said": dict(sorted(said.items()))}


def of_reliability(records):
    """{statement: {style or EVERYTHING: its tenths}}"""
    def rows(statement, style):
        return tenths([p[statement] for r in records if style in (r["style"], EVERYTHING)
                       for p in r["pairs"]])
    return {statement: {style: rows(statement, style) for style in (*STYLES, EVERYTHING)}
            for statement in compare.STATEMENTS}


def scores(records):
    """Inks that no paper holds are counted apart."""
    ordinary = [r for r in records if not r["job"]["nothing_retained"]]
    groups = {}
    for style in STYLES:
        for tier in TIERS:
            chosen = [r for r in ordinary if r["tier"] == tier and r["style"] == style]
            if chosen:
                groups[f"{tier} {style}"] = of_records(chosen)
    nothing = of_nothing_retained([r for r in records if r["job"]["nothing_retained"]])
    return Scores(groups, of_negatives(ordinary), nothing, of_reliability(ordinary))


# ---------------------------------------------------------------- table

def cell(figure):
    value = figure["value"]
    if value is None:
        return "-"
    if "p95" in figure:
        return f"{value:.4f} {figure['p95']:.3f}" if value < 1 else f"{value:.2f} {figure['p95']:.1f}"
    if figure.get("se") is not None:
        return f"{value:.1f} ±{figure['se']:.1f} /{figure['count']}"
    text = f"{value:.3f}" if isinstance(value, float) else str(value)
    return f"{text} /{figure['count']}"


def counted(counts):
    return ", ".join(f"{name} {count}" for name, count in counts.items())


def of_inks_that_no_paper_holds(nothing):
    soak = nothing["soak"]
    return (f"{nothing['value']} false alarms in {nothing['count']} that retained hardly anything; {soak['value']} "
            f"of {soak['count']} told as likely that a longer soak leaves a part (said of all: "
            f"{counted(nothing['said'])})")


def reasons(groups):
    """{group: why pairs have no verdict}, of those that have such pairs."""
    why = {name: figures["pairs without a verdict %"]["why"] for name, figures in groups.items()}
    return {name: counted(counts) for name, counts in why.items() if counts}


def said_tenths(by_style):
    """[(words for the tenth, its row of each style)], of those in which something was said."""
    return [(f"{rows[0]['from']} to {rows[0]['to']} %", rows) for rows in zip(*by_style.values())
            if any(row["count"] for row in rows)]


def table_of_tenths(statement, by_style, width):
    lines = ["", f"{statement}: percent said > true, difference /how many"]
    lines.append(" " * 27 + "".join(style.rjust(width) for style in by_style))
    for name, rows in said_tenths(by_style):
        cells = ["-" if not row["count"] else
                 f"{row['said']:.1f} > {row['true']:.1f}, {row['off']:+.1f} /{row['count']}" for row in rows]
        lines.append(name.ljust(27) + "".join(c.rjust(width) for c in cells))
    return lines


def table(scores):
    """Text: medians stand with the 95th percentile, parts with their standard error and /how many."""
    groups = scores.groups
    columns = list(groups)
    width = 19
    lines = [" " * 27 + "".join(c.rjust(width) for c in columns)]
    for name in next(iter(groups.values()), {}):
        lines.append(name.ljust(27) + "".join(cell(groups[c][name]).rjust(width) for c in columns))
    lines += [f"without a verdict, {name}: {why}" for name, why in reasons(groups).items()]
    if scores.negatives["count"]:
        lines.append("unreadable photos handled: " + cell(scores.negatives))
    if scores.nothing["said"]:
        lines.append("inks that no paper holds: " + of_inks_that_no_paper_holds(scores.nothing))
    for statement, by_style in scores.reliability.items():
        lines += table_of_tenths(statement, by_style, 2 * width)
    return "\n".join(lines)


# ---------------------------------------------------------------- worst

# (of a strip, more than this misleads, in words)
MISLEADING = (("origin_error", 0.02, "origin off by"), ("front_error", 0.03, "front off by"),
              ("bound_error", 0.1, "bound share off by"),
              ("retained_error", 0.1, "retained share off by"), ("moved", 0.03, "load moved by"))


def faults_of_strip(number, strip):
    """[(how bad, what)]: 1 is about where a user would be misled."""
    where = f"strip {number + 1}"
    if not strip["seen"]:
        return [(4.0, f"{where} not found")]
    faults = []
    if not strip["found"]:
        faults.append((3.0, f"{where} overlap {strip['overlap']:.2f}"))
    if strip["turned"]:
        faults.append((4.0, f"{where} turned"))
    for name, scale, what in MISLEADING:
        value = strip[name]
        if name == "front_error" and not strip["front_visible"]:
            continue
        if value is not None and value > scale:
            faults.append((min(value / scale, 4.0), f"{where} {what} {value:.3f}"))
    for name, what in (("missed_rf", "missed"), ("invented_rf", "invented")):
        if strip[name]:
            rfs = " ".join(f"{rf:.2f}" for rf in strip[name])
            faults.append((0.5 * len(strip[name]), f"{where} {what} bands at Rf {rfs}"))
    return faults


def faults_of_pair(pair):
    if not pair["answered"]:
        return [(2.0, f"no verdict: {pair['unjudged']}")]
    faults = []
    if not pair["right"]:
        p, (low, high) = pair["flag"]["p"], pair["index_interval"]
        wrong_by = p if p >= 0.5 else 1 - p
        faults.append((3.0 * wrong_by, f"flag wrong, {100 * wrong_by:.0f} % sure: index {pair['index']:.1f} "
                                       f"({low:.1f} to {high:.1f}), true {pair['index_true']:.1f}"))
    if pair["false_alarm"]:
        faults.append((3.0, "false alarm"))
    return faults


def faults_of(record):
    if record["negative"]:
        return [] if record["handled"] else [(3.0, f"{record['negative']}: not noticed")]
    faults = [f for k, strip in enumerate(record["strips"]) for f in faults_of_strip(k, strip)]
    if record["elsewhere"]:
        count = len(record["elsewhere"])
        faults.append((2.0 * count, f"{count} other thing{'s' * (count > 1)} taken for a strip"))
    return faults + [f for pair in record["pairs"] for f in faults_of_pair(pair)]


def worst(records, count):
    """[(how bad, record, what went wrong)], the worst first; photos without a fault are left out."""
    rated = []
    for record in records:
        faults = sorted(faults_of(record), reverse=True)
        if faults:
            rated.append((sum(f[0] for f in faults), record, [f[1] for f in faults]))
    return sorted(rated, key=lambda row: -row[0])[:count]
