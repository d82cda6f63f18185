// SPDX-License-Identifier: GPL-3.0-or-later
/* A strip's profile thinned to what a plot can show, as the figures and the report do it (src/figure/parts.c). */

import { css } from "./colour.js";
import { rfOf } from "./geometry.js";

/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./types.js").Triple} Triple */

const SAMPLES_MAX = 600, Z_95 = 1.959963984540054, HIDDEN = 4;

/** @param {Triple|undefined} t */
const sum = t => t && t[0] !== null && t[1] !== null && t[2] !== null ? t[0] + t[1] + t[2] : null;

/** The channels err together by half, as where bands are measured. @param {Triple|undefined} own @param {Triple|undefined} light */
function deviation(own, light) {
  const each = (own || []).map(v => v ?? 0), common = each.reduce((a, v) => a + v, 0), squares = each.reduce((a, v) => a + v * v, 0);
  return Math.sqrt((common * common + squares) / 2 + (sum(light) ?? 0) ** 2);
}

/** @param {(Triple|undefined)[]} values @returns {Triple} */
function mean(values) {
  const known = values.filter(v => sum(v) !== null);
  if (!known.length) return [null, null, null];
  return /** @type {Triple} */ ([0, 1, 2].map(c => known.reduce((a, v) => a + Number(v?.[c]), 0) / known.length));
}

/** @type {WeakMap<Strip, ProfileData>} */
const traces = new WeakMap();

/** @param {Strip} strip */
export function traceOf(strip) {
  const trace = traces.get(strip) || thin(strip);
  traces.set(strip, trace);
  return trace;
}

/** @param {Strip} strip @returns {ProfileData} */
function thin(strip) {
  const p = strip.profile, n = p.position.length, count = Math.min(n, SAMPLES_MAX);
  const by_rf = strip.origin !== null && strip.front !== null && strip.front > strip.origin;
  const place = (/** @type {number} */ v) => by_rf ? rfOf(strip, v) : v;
  /** @type {ProfileData} */
  const data = {
    by_rf, front_seen: strip.front_seen !== "no", lower: place(0), upper: place(1), at: [], load: [], low: [], high: [], lab: [], density: [], rgb: [],
    bands: strip.bands.map(b => ({ rf: b.rf, from: b.start_rf, to: b.end_rf, hue: b.hue_name }))
  };
  for (let k = 0; k < count; k++) {
    const from = Math.floor(k * n / count), to = Math.max(Math.floor((k + 1) * n / count), from + 1);
    const rows = Array.from({ length: to - from }, (_, i) => from + i), seen = rows.filter(i => !((p.flags?.[i] ?? 0) & HIDDEN));
    const loads = seen.filter(i => sum(p.load[i]) !== null);
    const load = loads.length ? loads.reduce((a, i) => a + Number(sum(p.load[i])), 0) / loads.length : null;
    const se = loads.length ? loads.reduce((a, i) => a + deviation(p.load_se?.[i], p.light_se?.[i]), 0) / loads.length : 0;
    const lab = mean(seen.map(i => p.lab[i]));
    data.at.push(place((p.position[from] + p.position[to - 1]) / 2));
    data.load.push(load);
    data.low.push(load === null ? null : load - Z_95 * se);
    data.high.push(load === null ? null : load + Z_95 * se);
    data.lab.push(lab);
    data.density.push(mean(seen.map(i => p.density?.[i])));
    data.rgb.push(lab[0] === null ? "#fff" : css(lab));
  }
  return data;
}
