// SPDX-License-Identifier: GPL-3.0-or-later
/* The retention index on the scale of its levels, as figures and report draw it (src/figure/scale.c). It is drawn in
 * parts of its width and in letters, so that its words stay readable at any width. */

import { draw } from "./dom.js";

/* Where levels begin, and where the last one ends (include/strandline/retention.h); from `HOLDS` on they count as holding. */
const LEVELS = ["none", "trace", "partial", "strong"], LIMITS = [0, 2, 8, 30, 100], HOLDS = 2;
/* In letters: top and height of the levels' boxes, the limits' line, half the dot. */
const TOP = 1.35, TALL = 1.3, LIMIT_AT = 3.75, DOT = .4;

const part = (/** @type {number} */ place) => `${100 * place}%`;
const letters = (/** @type {number} */ n) => `${n}em`;

/** @param {number} at @param {boolean} own */
function level(at, own) {
  const box = { x: part(at / LEVELS.length), y: letters(TOP), width: part(1 / LEVELS.length), height: letters(TALL) };
  return [draw("rect", { ...box, class: "box" }), ...at < HOLDS ? [] : [draw("rect", { ...box, class: "holds" })],
    draw("text", { x: part((at + .5) / LEVELS.length), y: "1em", "text-anchor": "middle", class: own ? "own" : "" }, LEVELS[at])];
}

/** @param {number} at */
const limit = at => draw("text", { x: part(at / LEVELS.length), y: letters(LIMIT_AT), "text-anchor": at === 0 ? "start" : at === LEVELS.length ? "end" : "middle" }, String(LIMITS[at]));

/** Null without a verdict. @param {import("./types.js").Verdict} verdict */
export function scaleOf(verdict) {
  const places = verdict.words.scale;
  if (!places) return null;
  const [low, at, high] = places.map(part), middle = letters(TOP + TALL / 2);
  const end = (/** @type {string} */ x) => draw("line", { x1: x, x2: x, y1: letters(TOP + TALL / 2 - DOT), y2: letters(TOP + TALL / 2 + DOT), class: "end" });
  return draw("svg", { class: "scale", role: "img", "aria-label": `The scale from none over trace and partial to strong, with limits at 2, 8 and 30. ${verdict.words.level}` },
    ...LEVELS.flatMap((name, i) => level(i, name === verdict.level)), ...LIMITS.map((_, i) => limit(i)),
    draw("line", { x1: low, x2: high, y1: middle, y2: middle, class: "interval" }), end(low), end(high),
    draw("circle", { cx: at, cy: middle, r: letters(DOT), class: "index" }));
}
