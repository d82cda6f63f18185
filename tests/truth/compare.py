# SPDX-License-Identifier: GPL-3.0-or-later
"""What the program says of a photo (reading, version 1) against what is true (strip-truth-1).

1. Strips are paired by overlap, the best first; one is found if it covers the true one well enough.
2. Bands are paired one to one by Rf, the closest first. Where nothing shows the front, they are
   compared by their place on the strip, so that a front that nobody can know is held against no one.
3. All that is left over is missed or invented. Not invented: a dye hidden under another band, the
   tide line at the front, stains below the origin.
4. Of a pair the program makes statements, each with its probability: that the ink holds (the flag), that it
   holds more once dry, that a part would remain in a longer soak, and its answer. Each is held against what
   is true of the retained shares, or, of the soak, of the bound share.
"""
import geometry

FOUND_OVERLAP = 0.8     # of strip and truth
SAME_STRIP_OVERLAP = 0.3  # enough to say which strip is meant
ELSEWHERE = 0.5         # a strip is elsewhere if less of it lies on true strips
SAME_BAND_RF = 0.04
COLOURED = 10.0         # chroma from which a hue means something
OTHER_HUE_DEG = 30.0
OVERLAPPING = (0.4, 0.8)  # resolution
# The verdict's own limits, of a retained share: resistant, and where levels begin.
RESISTANT = 0.08
LEVELS = {"none": 0.0, "trace": 0.02, "partial": RESISTANT, "strong": 0.3}
HOLDS_MORE = 0.02       # retained so much more once dry: it sets as it dries
NOTHING_RETAINED = 0.02  # a smaller share that is told to be RESISTANT for sure is a false alarm
SURE = 0.9              # "very likely" in the words that the program uses
LIKELY = 0.66           # "likely"; of a longer soak nothing is told that is surer than 0.85
# Between them nobody can tell: "about as likely as not" (Mastrandrea et al., IPCC 2010, table 1).
OPEN = (0.33, 0.66)
# What has to be true of the retained share for an answer to be true.
EVENTS = {"washes away": lambda retained: retained < RESISTANT,
          "partly stays": lambda retained: retained >= RESISTANT,
          "stays": lambda retained: retained >= LEVELS["strong"]}
STATEMENTS = ("flag", "drying", "soak", "answer")
# Stands for a pair that the program did not name; "no pair" is the bench's own word.
NO_PAIR = {"unjudged": "no pair", "water_resistant_probability": None, "drying": {"probability": None},
           "soak": {"probability": None}, "answer": "none", "answer_probability": None, "level": None,
           "level_probability": {"partial": None, "strong": None}, "index": None, "index_interval": None,
           "warnings": []}
NORMAL_95 = 1.96        # standard errors on each side
NO_DOCUMENT = "no-document"  # the bench's own word for a program that left no document
# Said about nearly every photo; they do not count as having noticed that something is wrong.
NOTES = {"no-colour-profile", "roles-assumed"}


def closest_pairs(costs, limit):
    """One-to-one pairs (i, j), the cheapest first; costs is {(i, j): cost}."""
    pairs, used_i, used_j = [], set(), set()
    for (i, j), cost in sorted(costs.items(), key=lambda item: item[1]):
        if cost <= limit and i not in used_i and j not in used_j:
            pairs.append((i, j))
            used_i.add(i)
            used_j.add(j)
    return pairs


def angle_between(a, b):
    return abs((a - b + 180) % 360 - 180)


def inside(value, interval):
    """None where there is no interval to judge."""
    if not interval or None in interval or value is None:
        return None
    return interval[0] <= value <= interval[1]


def difference(seen, true):
    return None if seen is None or true is None else abs(seen - true)


# ---------------------------------------------------------------- bands

def other_hue(a, b):
    """Two bands that the eye tells apart by hue (a grey one from a coloured one too)."""
    coloured = [band["chroma"] >= COLOURED for band in (a, b)]
    if not any(coloured):
        return False
    return not all(coloured) or angle_between(a["hue_deg"], b["hue_deg"]) >= OTHER_HUE_DEG


def overlapping(bands, k):
    """Overlaps a neighbour of another hue: close, but to be told apart by colour."""
    low, high = OVERLAPPING
    for other, resolution in ((k - 1, bands[k]["rs_prev"]), (k + 1, bands[k]["rs_next"])):
        if resolution is not None and low <= resolution < high and other_hue(bands[k], bands[other]):
            return True
    return False


def comparable_rf(strip, truth, rf):
    """The reported Rf, or the place on the strip on the true scale where the front is hidden."""
    if truth["front_visible"] or None in (strip["origin"], strip["front"]):
        return rf
    place = strip["origin"] + rf * (strip["front"] - strip["origin"])
    return (place - truth["origin_frac"]) / (truth["front_frac"] - truth["origin_frac"])


def allowed(truth, rf):
    """Something is there, though no band."""
    hidden = [c["mobile_apex_rf"] for c in truth["components"] if not c["own_band"]]
    if "tide line" in truth["front_visible_by"]:
        hidden.append(1.0)
    hidden += [stain["rf"] for stain in truth.get("stains", [])]
    return any(abs(rf - place) <= SAME_BAND_RF for place in hidden)


def colour_intervals(seen, true):
    """[(true L*, a* or b*, its 95 % interval)] from the standard errors told."""
    se = seen.get("lab_se")
    if not seen.get("lab") or not se or None in se:
        return []
    return [(value, [middle - NORMAL_95 * error, middle + NORMAL_95 * error])
            for value, middle, error in zip(true["lab"], seen["lab"], se)]


def band_record(strip, truth, seen, true, rf):
    hue = None
    if true["chroma"] >= COLOURED and seen["hue_deg"] is not None:
        hue = angle_between(seen["hue_deg"], true["hue_deg"])
    covered = inside(true["rf"], seen["rf_interval"])
    return {
        "rf_true": true["rf"],
        "rf_error": abs(rf - true["rf"]),
        "share_error": abs(seen["share"] - true["share"]),
        "hue_error": hue,
        "colour_covered": [inside(value, interval) for value, interval in colour_intervals(seen, true)],
        "place_error_hidden": None if truth["front_visible"] else abs(rf - true["rf"]),
        "rf_covered": covered if truth["front_visible"] else None,
        "rf_covered_hidden": None if truth["front_visible"] else covered,
        "share_covered": inside(true["share"], seen["share_interval"]),
    }


def compare_bands(strip, truth):
    """The strip may be None: nothing of it was seen."""
    seen = strip["bands"] if strip else []
    rfs = [comparable_rf(strip, truth, band["rf"]) for band in seen]
    true = truth["bands"]
    costs = {(i, j): abs(rfs[i] - true[j]["rf"]) for i in range(len(seen)) for j in range(len(true))}
    pairs = closest_pairs(costs, SAME_BAND_RF)
    matched_seen, matched_true = ({p[k] for p in pairs} for k in (0, 1))
    asked = [j for j, band in enumerate(true) if not band["faint"]]
    hidden = [c["mobile_apex_rf"] for c in truth["components"]
              if not c["own_band"] and not c.get("gradient")]
    return {
        "matches": [band_record(strip, truth, seen[i], true[j], rfs[i]) for i, j in pairs],
        "separated": [j in matched_true for j in asked if true[j]["separated"]],
        "overlapping": [j in matched_true for j in asked if overlapping(true, j)],
        "all": [j in matched_true for j in asked],
        "hidden": [any(abs(rf - place) <= SAME_BAND_RF for k, rf in enumerate(rfs)
                       if k not in matched_seen) for place in hidden],
        "missed_rf": [true[j]["rf"] for j in asked if j not in matched_true],
        "reported": len(seen),
        "invented_rf": [rf for k, rf in enumerate(rfs)
                        if k not in matched_seen and not allowed(truth, rf)],
    }


# ---------------------------------------------------------------- profile

def moved_load(position, load, true_position, true_load):
    """How far load has to be moved on average, in strip lengths.

    The earth mover's distance in one dimension: the area between the two cumulative sums. Noise about zero
    counts with its sign, so that it averages out. None where there is nothing to move.
    """
    def cumulated(positions, loads):
        edges = ([0.0] + [(a + b) / 2 for a, b in zip(positions, positions[1:])] + [1.0])
        sums = [0.0]
        for k, row in enumerate(loads):
            sums.append(sums[-1] + sum(v or 0.0 for v in row) * (edges[k + 1] - edges[k]))
        return edges, sums

    def at(edges, sums, grid):
        out, k = [], 0
        for x in grid:
            while k + 2 < len(edges) and edges[k + 1] <= x:
                k += 1
            t = (x - edges[k]) / (edges[k + 1] - edges[k])
            out.append((sums[k] + t * (sums[k + 1] - sums[k])) / sums[-1])
        return out

    steps = 1000
    grid = [(k + 0.5) / steps for k in range(steps)]
    a, b = cumulated(position, load), cumulated(true_position, true_load)
    if a[1][-1] <= 0 or b[1][-1] <= 0:
        return None
    return sum(abs(p - q) for p, q in zip(at(*a, grid), at(*b, grid))) / steps


# ---------------------------------------------------------------- strips

def place(corners, origin, front):
    return {"corners": corners, "origin": origin, "front": front}


def true_place(truth):
    return place(truth["corners"], truth["origin_frac"], truth["front_frac"])


def bare_record(truth):
    return {"true_place": true_place(truth), "seen_place": None,
            "found": False, "seen": False, "turned": False, "overlap": 0.0,
            "front_visible": truth["front_visible"], **compare_bands(None, truth)}


def strip_record(strip, truth, px_per_mm):
    share = geometry.overlap(strip["corners_px"], truth["corners"])
    profile, true_profile = strip.get("profile") or {}, truth.get("profile")
    moved = None
    if true_profile and profile.get("position"):
        moved = moved_load(profile["position"], profile["load"],
                           true_profile["pos"], true_profile["load"])
    return {
        "true_place": true_place(truth),
        "seen_place": place(strip["corners_px"], strip["origin"], strip["front"]),
        "found": share >= FOUND_OVERLAP,
        "seen": True,
        "turned": geometry.ends_swapped(strip["corners_px"], truth["corners"]),
        "overlap": share,
        "corner_error_mm": geometry.farthest_corner(strip["corners_px"], truth["corners"]) / px_per_mm,
        "origin_error": difference(strip["origin"], truth["origin_frac"]),
        "front_error": difference(strip["front"], truth["front_frac"]),
        "front_visible": truth["front_visible"],
        "front_claimed": strip["front_seen"] != "no",
        "retained_error": difference(strip["retained_share"], truth["retained_share"]),
        "retained_covered": inside(truth["retained_share"], strip["retained_interval"]),
        "bound_error": difference(strip["bound_share"], truth["bound_share"]),
        "bound_covered": inside(truth["bound_share"], strip["bound_interval"]),
        "moved": moved,
        **compare_bands(strip, truth),
    }


def compare_strips(photo, truth):
    seen, true = photo["strips"], truth["strips"]
    costs = {(i, j): 1 - geometry.overlap(seen[i]["corners_px"], true[j]["corners"])
             for i in range(len(seen)) for j in range(len(true))}
    whose = {j: i for i, j in closest_pairs(costs, 1 - SAME_STRIP_OVERLAP)}
    records = [strip_record(seen[whose[j]], t, truth["px_per_mm"]) if j in whose else bare_record(t)
               for j, t in enumerate(true)]
    elsewhere = []
    for strip in seen:
        on_strips = sum(geometry.common_area(strip["corners_px"], t["corners"]) for t in true)
        if on_strips < ELSEWHERE * geometry.area(strip["corners_px"]):
            elsewhere.append(strip["corners_px"])
    return records, elsewhere


# ---------------------------------------------------------------- pairs and photos

def no_document(complaints):
    """Stands for the answer of a program that gave none."""
    error = {"code": NO_DOCUMENT, "message": complaints.strip(), "remedy": "", "where": "bench"}
    return {"error": error, "warnings": [], "strips": []}


def separate_pair(truths):
    """The truth of a pair photographed strip by strip, in the form of one in one photo."""
    immediate, dried = (truth["strips"][0] for truth in truths)
    return {"immediate_retained": immediate["retained_share"],
            "dried_retained": dried["retained_share"], "dried_bound": dried["bound_share"]}


def true_pairs(truth):
    if truth.get("pair"):
        return [truth["pair"]]
    return truth.get("pairs") or []


def true_level(retained):
    return [name for name, start in LEVELS.items() if retained >= start][-1]


def statements(pair, truth):
    """{name: its probability, None where nothing is said, and whether it is true}"""
    retained = truth["dried_retained"]
    event = EVENTS.get(pair["answer"])
    said = {
        "flag": (pair["water_resistant_probability"], retained >= RESISTANT),
        "drying": (pair["drying"]["probability"], retained - truth["immediate_retained"] >= HOLDS_MORE),
        "soak": (pair["soak"]["probability"], truth["dried_bound"] >= RESISTANT),
        "answer": (pair["answer_probability"], event(retained)) if event else (None, None),
    }
    return {name: {"p": p, "true": true} for name, (p, true) in said.items()}


def false_alarm(pair, retained):
    """None where there is something to be told."""
    levels = pair["level_probability"]
    sure = (levels["partial"] or 0) + (levels["strong"] or 0) >= SURE
    return sure if retained < NOTHING_RETAINED else None


def pair_record(pair, truth):
    """The pair may be None: the program named none."""
    pair, retained = pair or NO_PAIR, truth["dried_retained"]
    answered = pair["unjudged"] is None
    said = statements(pair, truth)
    p, resistant = said["flag"]["p"], said["flag"]["true"]
    return {
        "answered": answered,
        "unjudged": pair["unjudged"],
        "said": pair["answer"],
        **said,
        "resistant": resistant,
        "right": (p >= 0.5) == resistant if answered else None,
        "open": OPEN[0] <= p <= OPEN[1] if answered else None,
        "level": pair["level"],
        "level_right": pair["level"] == true_level(retained) if answered else None,
        "index": pair["index"],
        "index_true": 100 * retained,
        "index_interval": pair["index_interval"],
        "index_covered": inside(100 * retained, pair["index_interval"]),
        "false_alarm": false_alarm(pair, retained),
        "warnings": [w["code"] for w in pair["warnings"]],
    }


def compare_pairs(pairs, truths):
    """Left to right; too few are missing, too many are of no use."""
    padded = list(pairs) + [None] * len(truths)
    return [pair_record(p, t) for p, t in zip(padded, truths)]


def warnings_of(photo):
    said = photo["warnings"] + [w for strip in photo["strips"] for w in strip["warnings"]]
    return [w["code"] for w in said if w["code"] not in NOTES]


def handled(photo, expect):
    """A photo that can't be read: said so, and nothing made up. A program that falls over says nothing."""
    error = photo["error"]
    told = bool(warnings_of(photo)) or (error is not None and error["code"] != NO_DOCUMENT)
    made_up = any(strip["bands"] for strip in photo["strips"])
    return told and (expect["bands"] or not made_up)


def style_of(truth):
    """Truths from before there were dip tests do not state it."""
    return truth.get("style", "tidy")


def compare_photo(photo, truth):
    """One photo's record. The pairs are compared apart: they may be spread over two photos."""
    record = {"photo": truth["photo"], "tier": truth["tier"], "style": style_of(truth),
              "background": truth["background"], "layout": truth["layout"],
              "negative": truth["negative"], "error": photo["error"] and photo["error"]["code"],
              "warnings": warnings_of(photo), "size": truth["displayed_size"],
              "strips": [], "elsewhere": [], "pairs": []}
    if truth["negative"]:
        record["handled"] = handled(photo, truth["expect"])
    else:
        record["strips"], record["elsewhere"] = compare_strips(photo, truth)
    return record
