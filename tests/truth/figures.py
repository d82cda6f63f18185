# SPDX-License-Identifier: GPL-3.0-or-later
"""From the records of single photos to figures for a difficulty, and to the photos that went worst."""
import collections
import math
import statistics

TIERS = ("easy", "normal", "hard")
STYLES = ("tidy", "dip")


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
        "verdict right %": percent([p["right"] for p in pairs]),
        "verdict decided %": percent([p["decided"] for p in pairs]),
        "decided verdict right %": percent([p["right"] for p in pairs if p["decided"]]),
        "verdict AUC": area_under_roc(pairs),
        "false alarms": {"value": sum(bool(p["false_alarm"]) for p in pairs),
                         "count": sum(p["false_alarm"] is not None for p in pairs)},
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
    """Pairs of inks that no paper holds: how many were called partial or strong, and what was said."""
    pairs = [p for r in records for p in r["pairs"]]
    said = collections.Counter(p["level"] or "no answer" for p in pairs)
    return {"value": sum(bool(p["false_alarm"]) for p in pairs) if pairs else None, "count": len(pairs),
            "said": dict(sorted(said.items()))}


def group(records):
    """{"easy tidy": figures, ...}, and how many photos that can't be read were handled.

    Inks that no paper holds are counted apart: of_nothing_retained().
    """
    groups = {}
    for style in STYLES:
        for tier in TIERS:
            chosen = [r for r in records if r["tier"] == tier and r["style"] == style]
            if chosen:
                groups[f"{tier} {style}"] = of_records(chosen)
    return groups, of_negatives(records)


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


def said_of_nothing(nothing):
    said = ", ".join(f"{level} {count}" for level, count in nothing["said"].items())
    return f"{nothing['value']} false alarms in {nothing['count']} ({said})"


def table(groups, negatives, nothing):
    """Text: medians stand with the 95th percentile, parts with their standard error and /how many."""
    columns = list(groups)
    width = 19
    lines = [" " * 27 + "".join(c.rjust(width) for c in columns)]
    for name in next(iter(groups.values()), {}):
        lines.append(name.ljust(27) + "".join(cell(groups[c][name]).rjust(width) for c in columns))
    if negatives["count"]:
        lines.append("unreadable photos handled: " + cell(negatives))
    if nothing["count"]:
        lines.append("inks with nothing retained: " + said_of_nothing(nothing))
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


def faults_of(record):
    if record["negative"]:
        return [] if record["handled"] else [(3.0, f"{record['negative']}: not noticed")]
    faults = [f for k, strip in enumerate(record["strips"]) for f in faults_of_strip(k, strip)]
    if record["elsewhere"]:
        count = len(record["elsewhere"])
        faults.append((2.0 * count, f"{count} other thing{'s' * (count > 1)} taken for a strip"))
    for pair in record["pairs"]:
        if not pair["right"]:
            said = "none" if pair["index"] is None else f"{pair['index']:.1f}"
            faults.append((2.0, f"verdict wrong: index {said}, true {pair['index_true']:.1f}"))
        if pair["false_alarm"]:
            faults.append((3.0, "false alarm"))
    return faults


def worst(records, count):
    """[(how bad, record, what went wrong)], the worst first; photos without a fault are left out."""
    rated = []
    for record in records:
        faults = sorted(faults_of(record), reverse=True)
        if faults:
            rated.append((sum(f[0] for f in faults), record, [f[1] for f in faults]))
    return sorted(rated, key=lambda row: -row[0])[:count]
