// SPDX-License-Identifier: GPL-3.0-or-later
/* The same number is written the same way here as on figures and in the report (src/figure/words.c); sentences come
 * from the program. */

/** @typedef {import("./types.js").Interval} Interval */

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

/** @param {string} role */
export function roleText(role) {
  return role === "immediate" ? "dipped at once" : role === "dried" ? "dried first" : "single strip";
}

/** @param {string} seen */
export function frontText(seen) {
  const how = /** @type {{[seen: string]: string}} */ ({
    "dye": "seen where the dye ends", "water line": "seen by the water's line", "pencil": "seen by a pencil mark",
    "given": "set by hand"
  });
  return how[seen] || "not seen";
}
