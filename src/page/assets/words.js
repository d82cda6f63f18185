// SPDX-License-Identifier: GPL-3.0-or-later
/* The same number is written the same way here as on figures and in the report. */

/** @typedef {import("./types.js").Interval} Interval */
/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./types.js").Pair} Pair */

/* From this bound share of the dried strip on a component counts as likely water-resistant. */
const BOUND_LIMIT = 0.08;

/**
 * With a true minus sign: a hyphen beside an interval's dash can't be told from it.
 * @param {number|null|undefined} value
 * @param {number} digits
 */
export function number(value, digits) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  const text = Math.abs(value).toFixed(digits);
  return (value < 0 && /[1-9]/.test(text) ? "−" : "") + text;
}

/** @param {Interval|undefined} interval @returns {interval is [number, number]} */
function known(interval) {
  return !!interval && interval[0] !== null && interval[1] !== null && interval[1] > interval[0];
}

/** @param {number|null} rf @param {Interval} [interval] */
export function rfText(rf, interval) {
  return number(rf, 3) + (rf !== null && known(interval) ? ` (${number(interval[0], 3)}–${number(interval[1], 3)})` : "");
}

/* Whole percents, tenths where these would say too little. */
/** @param {number} share */
const decimals = share => share < 0.0995 ? 1 : 0;

/** @param {number|null} share @param {Interval} [interval] */
export function shareText(share, interval) {
  if (share === null) return "–";
  const d = decimals(share);
  return number(100 * share, d) + "\u00a0%" +
    (known(interval) ? ` (${number(100 * interval[0], d)}–${number(100 * interval[1], d)})` : "");
}

/** @param {number} deg */
const turned = deg => ((Math.round(deg) % 360) + 360) % 360;

/** An interval across 0 reads "(357–4)". @param {number|null} deg @param {Interval} [interval] */
export function hueText(deg, interval) {
  if (deg === null) return "–";
  return `${turned(deg)}°` + (known(interval) ? ` (${turned(interval[0])}–${turned(interval[1])})` : "");
}

/** @param {number|null} index @param {Interval} [interval] */
export function indexText(index, interval) {
  if (index === null) return "–";
  const d = decimals(index / 100);
  return number(index, d) + (known(interval) ? ` (${number(interval[0], d)}–${number(interval[1], d)})` : "");
}

/** @param {string} role */
export function roleText(role) {
  return role === "immediate" ? "dipped at once" : role === "dried" ? "dried first" : "single strip";
}

/** @param {Pair} pair */
export function levelText(pair) {
  const names = /** @type {{[level: string]: string}} */ ({
    none: "No retention", trace: "A trace of retention", partial: "Partial retention", strong: "Strong retention"
  });
  if (names[pair.level]) return names[pair.level];
  const [low, high] = pair.dried_bound_interval;
  if (low !== null && low >= BOUND_LIMIT) return "Partial or strong retention";
  if (high !== null && high < BOUND_LIMIT) return "No or a trace of retention";
  return "Undecided";
}

/** @param {Pair} pair */
export function waterText(pair) {
  if (!pair.decided) return "The photo does not decide whether a component is water-resistant.";
  return pair.water_resistant ? "A component is likely to be water-resistant." : "No component is likely to be water-resistant.";
}

/** "Only" where the strip dipped at once surely held too little to count. @param {Pair} pair */
export function holdText(pair) {
  const high = pair.immediate_bound_interval[1];
  if (pair.hold === "at once") return "It holds at once.";
  if (pair.hold !== "as it dries") return "";
  return high !== null && high < BOUND_LIMIT ? "It sets only as it dries." : "It holds more once dry.";
}

/** What was read from a strip, in sentences. @param {Strip} strip */
export function stripText(strip) {
  if (strip.blank) return "No ink was found on this strip.";
  const parts = [];
  if (strip.bands.length) {
    parts.push(`${strip.bands.length} band${strip.bands.length === 1 ? "" : "s"}: ` + strip.bands.map(b =>
      `${b.hue_name || "a colour"} at Rf ${number(b.rf, 3)}`).join(", ") + ".");
  } else parts.push("No band of its own.");
  if ((strip.smeared || !strip.bands.length) && strip.reach && strip.reach.length) {
    parts.push("How far the colours reach: " + strip.reach.map(r =>
      `${r.hue_name || "a colour"} from Rf ${number(r.first_rf, 2)} to ${number(r.last_rf, 2)}`).join(", ") + ".");
  }
  if (strip.retained_share !== null) {
    parts.push(`Retained at the origin: ${shareText(strip.retained_share, strip.retained_interval)} of the dye` +
      (strip.bound_share === null ? "." : `; bound, not moving at all: ${shareText(strip.bound_share, strip.bound_interval)}.`));
  }
  if (strip.front_seen === "no") {
    parts.push("The water's front was not seen: Rf values may be off by as much as their intervals say.");
  }
  return parts.join(" ");
}

/** @param {string} seen */
export function frontText(seen) {
  const how = /** @type {{[seen: string]: string}} */ ({
    "dye": "seen where the dye ends", "water line": "seen by the water's line", "pencil": "seen by a pencil mark",
    "given": "set by hand"
  });
  return how[seen] || "not seen";
}
