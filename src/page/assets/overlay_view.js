// SPDX-License-Identifier: GPL-3.0-or-later
/* Many strips on one Rf axis. Lines stay apart twice, by colour and by dashes (M. Okabe, K. Ito, "Color Universal
 * Design", 2008, without its yellow), in the order in which they were ticked. */

import { post, Refusal } from "./api.js";
import { byId, draw, fill, letter, make, tell, write } from "./dom.js";
import { on, photoOf, readingOf, readingVersion, state } from "./store.js";
import { number, roleText } from "./words.js";

/** @typedef {import("./types.js").Overlay} Overlay */
/** @typedef {import("./types.js").StripRef} StripRef */

const COLOURS = ["#0072b2", "#d55e00", "#009e73", "#cc79a7", "ink", "#e69f00", "#56b4e9"];
/** @type {(number[]|null)[]} */
const DASHES = [null, [9, 4], [2.5, 3], [10, 3, 2.5, 3], [15, 4], [2, 2, 8, 4, 8, 4]];
const RF_FROM = -0.1, RF_TO = 1.1, LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";

/** @type {StripRef[]} */
let ticked = [];
/** @type {Overlay|null} */
let overlay = null;
/** @type {Set<string>} */
const hidden = new Set();
let normalise = false, asking = false, again = false, asked = "", at = -1, ticks = "";
/** @type {any} */
let graph = null;
const dark = window.matchMedia("(prefers-color-scheme: dark)");

/** @param {StripRef} ref */
const keyOf = ref => `${ref[0]}.${ref[1]}`;
/** @param {number} i */
const colourOf = i => COLOURS[i % COLOURS.length] === "ink" ? (dark.matches ? "#ffffff" : "#000000") : COLOURS[i % COLOURS.length];
/** @param {string} name */
const style = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/** What is drawn, for exports. */
export const overlayChoice = () => ({ strips: ticked.map(keyOf), normalise });

/** @returns {{ref: StripRef, label: string}[]} */
function everyStrip() {
  return [...state.photos, ...state.saved].filter(p => p.phase === "done" && !p.error).flatMap(p => Array.from({ length: p.strip_count }, (_, k) => {
    const strip = ticked.some(t => t[0] === p.id) ? readingOf(p.id)?.strips[k] : null;
    const ink = strip?.ink || p.hand?.strips[k]?.ink || "";
    return { ref: /** @type {StripRef} */ ([p.id, k]), label: `${ink || `${p.name}, strip ${k + 1}`}${strip ? ", " + roleText(strip.role) : ""}` };
  }));
}

function showTicks() {
  const all = everyStrip(), here = new Set(all.map(s => keyOf(s.ref)));
  ticked = ticked.filter(t => here.has(keyOf(t)));
  const root = byId("overlay-ticks"), key = [...here].join();
  if (key !== ticks) {
    ticks = key;
    fill(root, make("legend", { class: "unseen", text: "Strips in the overlay" }), ...all.map(({ ref }) => {
      const box = make("input", { type: "checkbox", "data-key": "tick-" + keyOf(ref), onchange: () => toggle(ref, box.checked) });
      return make("label", { class: "tick" }, box, make("span"));
    }));
  }
  root.querySelectorAll("label").forEach((tick, i) => {
    /** @type {HTMLInputElement} */ (tick.children[0]).checked = ticked.some(t => keyOf(t) === keyOf(all[i].ref));
    write(tick.children[1], all[i].label);
  });
}

/** @param {StripRef} ref @param {boolean} wanted */
function toggle(ref, wanted) {
  ticked = ticked.filter(t => keyOf(t) !== keyOf(ref));
  if (wanted) ticked.push(ref);
  try {
    sessionStorage.setItem("overlay", JSON.stringify({ ticked, normalise }));
  } catch { /* without storage a reload forgets the ticks */ }
  void refresh();
}

/* Asks again when what is ticked, or its numbers, have changed. */
async function refresh() {
  showTicks();
  const key = JSON.stringify(ticked.map(t => [keyOf(t), photoOf(t[0])?.reading_version]));
  if (key === asked) return;
  if (asking) {
    again = true;
    return;
  }
  asked = key;
  asking = true;
  try {
    const answer = ticked.length ? await post("./overlay", { strips: ticked }) : { overlay: null, left_out: [] };
    overlay = answer.overlay;
    if (answer.left_out.length) tell(`${answer.left_out.length} of the ticked strips have no ink and are left out.`);
  } catch (error) {
    overlay = null;
    if (error instanceof Refusal) tell(error.problem.message);
  } finally {
    asking = false;
  }
  show();
  if (again) {
    again = false;
    void refresh();
  }
}

/** @param {import("./types.js").Triple} load */
const sum = load => load[0] === null || load[1] === null || load[2] === null ? null : load[0] + load[1] + load[2];

/** @returns {(number|null)[][]} */
function rows() {
  if (!overlay) return [];
  const loads = overlay.traces.map(t => t.load.map(sum)), tops = loads.map(l => normalise ? Math.max(1e-9, ...l.map(v => v ?? 0)) : 1);
  return overlay.rf.map((rf, i) => [rf, ...loads.map((l, t) => l[i] === null ? null : Number(l[i]) / tops[t])]);
}

/** @param {number} i */
function sample(i) {
  const dash = DASHES[i % DASHES.length], line = draw("line", { x1: 1, x2: 41, y1: 6, y2: 6, stroke: colourOf(i), "stroke-width": 3, "stroke-dasharray": dash ? dash.join(" ") : "none" });
  return draw("svg", { viewBox: "0 0 42 12", "aria-hidden": "true" }, line);
}

function legend() {
  return make("ul", { class: "legend", "aria-label": "Lines: press one to hide it" }, ...(overlay?.traces || []).map((trace, i) => make("li", {}, make("button", {
    type: "button", "data-key": "line-" + i, "aria-pressed": String(!hidden.has(keyOf(trace.strip))), onclick: () => {
      const key = keyOf(trace.strip);
      if (!hidden.delete(key)) hidden.add(key);
      show();
    }
  }, sample(i), trace.label))));
}

/** @param {HTMLElement} box @param {HTMLElement} out */
function plot(box, out) {
  const traces = overlay?.traces || [], data = rows();
  if (graph) graph.destroy();
  graph = new Dygraph(box, data, {
    labels: ["Rf", ...traces.map((t, i) => `${i + 1} ${t.label}`)], colors: traces.map((_, i) => colourOf(i)), strokeWidth: 2,
    series: Object.fromEntries(traces.map((t, i) => [`${i + 1} ${t.label}`, { strokePattern: DASHES[i % DASHES.length] }])),
    visibility: traces.map(t => !hidden.has(keyOf(t.strip))), dateWindow: [RF_FROM, RF_TO], yRangePad: 40, legend: "never", animatedZooms: false, highlightCircleSize: 4,
    xlabel: "Rf", ylabel: normalise ? "dye load, highest = 1" : "dye load (K/S)", gridLineColor: style("--grid"), axisLineColor: style("--muted"), xRangePad: 0,
    axisLabelFontSize: 0.8 * letter(), xLabelHeight: 1.15 * letter(), yLabelWidth: 1.15 * letter(),
    axes: { x: { axisLabelWidth: 3.5 * letter(), axisLabelFormatter: (/** @type {number} */ v) => number(v, 2) }, y: { axisLabelWidth: 2.75 * letter(), axisLabelFormatter: (/** @type {number} */ v) => String(+v.toFixed(4)).replace("-", "−") } },
    underlayCallback: marks, highlightCallback: (/** @type {Event} */ _e, /** @type {number} */ _x, /** @type {any} */ _p, /** @type {number} */ row) => read(out, row)
  });
  if (at >= 0) read(out, at);
}

/* Origin, front, and the letters of dyes that may be shared. */
/** @param {CanvasRenderingContext2D} c @param {{x: number, y: number, w: number, h: number}} area @param {any} g */
function marks(c, area, g) {
  c.font = `bold ${0.8 * letter()}px ` + getComputedStyle(document.body).fontFamily;
  c.textAlign = "center";
  c.fillStyle = c.strokeStyle = style("--muted");
  const all = [{ rf: 0, text: "origin" }, { rf: 1, text: "front" }, ...groups().map(s => ({ rf: s.rf, text: s.letter }))];
  for (const { rf, text } of all) {
    const x = g.toDomXCoord(rf);
    if (x < area.x || x > area.x + area.w) continue;
    c.save();
    c.setLineDash(text.length > 1 ? [] : [3, 4]);
    c.beginPath();
    c.moveTo(x, area.y + (text.length > 1 ? 1.05 : 2.1) * letter());
    c.lineTo(x, area.y + area.h);
    c.stroke();
    c.restore();
    c.fillText(text, x, area.y + (text.length > 1 ? 0.8 : 1.85) * letter());
  }
}

/** Pairs of bands that share a member are one dye: a letter each. */
function groups() {
  /** @type {{bands: Map<string, [number, number]>, links: Overlay["shared_dyes"], letter: string, rf: number, hue: string}[]} */
  let found = [];
  for (const link of overlay?.shared_dyes || []) {
    const keys = [link.band_1, link.band_2].map(b => b.join(".")), touched = found.filter(g => keys.some(k => g.bands.has(k)));
    const one = { bands: new Map([[keys[0], link.band_1], [keys[1], link.band_2], ...touched.flatMap(g => [...g.bands])]), links: [...touched.flatMap(g => g.links), link], letter: "", rf: 0, hue: link.hue_name };
    found = [...found.filter(g => !touched.includes(g)), one];
  }
  for (const g of found) {
    const rfs = [...g.bands.values()].map(bandRf).filter(v => v !== null);
    g.rf = rfs.length ? rfs.reduce((a, v) => a + Number(v), 0) / rfs.length : NaN;
  }
  found.sort((a, b) => a.rf - b.rf).forEach((g, i) => { g.letter = LETTERS[i % LETTERS.length]; });
  return found;
}

/** @param {[number, number]} band trace and band */
function bandRf(band) {
  const ref = overlay?.traces[band[0]].strip;
  return ref ? readingOf(ref[0])?.strips[ref[1]]?.bands[band[1]]?.rf ?? null : null;
}

/** @param {HTMLElement} out @param {number} row */
function read(out, row) {
  if (!overlay || row < 0 || row >= overlay.rf.length) return;
  at = row;
  const values = rows()[row];
  out.textContent = `Rf ${number(values[0], 3)}: ` + overlay.traces.map((t, i) => hidden.has(keyOf(t.strip)) ? "" : `${t.label} ${number(values[i + 1], 3)}`).filter(Boolean).join("; ") + ".";
}

/** @param {KeyboardEvent} e @param {HTMLElement} out */
function step(e, out) {
  const way = { ArrowLeft: -1, ArrowRight: 1, PageUp: 20, PageDown: -20 }[e.key], last = (overlay?.rf.length || 1) - 1;
  if (way === undefined && e.key !== "Home" && e.key !== "End") return;
  e.preventDefault();
  const from = at < 0 ? Math.round(last / 7) : at, to = e.key === "Home" ? 0 : e.key === "End" ? last : from + Number(way) * (e.shiftKey ? 10 : 1);
  const row = Math.min(Math.max(to, 0), last);
  graph.setSelection(row);
  read(out, row);
}

function sharedTable() {
  const dyes = groups();
  if (!overlay || overlay.traces.length < 2) return null;
  if (!dyes.length) return make("p", { text: "No two bands of different strips agree in Rf and signature within their intervals: no dye seems to be shared." });
  const name = (/** @type {[number, number]} */ b) => `${overlay?.traces[b[0]].label}, band ${b[1] + 1} (Rf ${number(bandRf(b), 3)})`;
  return make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Shared dyes" }, make("table", { id: "shared" }, make("caption", {}, make("span", { text: "Dyes that may be shared: a hint, no proof" })),
    make("thead", {}, make("tr", {}, ...["Dye", "Bands", "Why"].map(text => make("th", { scope: "col", text })))),
    make("tbody", {}, ...dyes.flatMap(g => g.links.map((s, i) => make("tr", {}, make("th", { scope: "row", text: i ? g.letter : `${g.letter}, ${g.hue}` }), make("td", { text: `${name(s.band_1)} and ${name(s.band_2)}` }),
      make("td", { text: `Rf differ by ${number(Math.abs(s.rf_difference), 3)}, within ${number(s.rf_allowance, 3)}; signatures by ${number(s.signature_angle_deg, 1)}°, within ${number(s.signature_allowance_deg, 1)}°` })))))));
}

function likenessTable() {
  if (!overlay || overlay.traces.length < 2) return null;
  const labels = overlay.traces.map(t => t.label);
  return make("details", {}, make("summary", { text: "How alike they are" }), make("p", { class: "muted", text: "1: the same profile; 0: nothing in common." }), make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Likeness" }, make("table", {},
    make("thead", {}, make("tr", {}, make("td"), ...labels.map(text => make("th", { scope: "col", class: "n", text })))),
    make("tbody", {}, ...overlay.likeness.map((row, i) => make("tr", {}, make("th", { scope: "row", text: labels[i] }), ...row.map(v => make("td", { class: "n", text: number(v, 2) }))))))));
}

function show() {
  const root = byId("overlay-view");
  root.hidden = !overlay;
  if (graph) {
    graph.destroy();
    graph = null;
  }
  if (!overlay) {
    fill(root);
    fill(byId("overlay-tables"));
    return;
  }
  const box = make("div", { class: "canvas", tabindex: 0, role: "img", "data-key": "overlay-plot", "aria-label": `Dye load of ${overlay.traces.length} strips along Rf. With the arrow keys you can step along it; the values are read out below, shared dyes are in the table.` });
  const out = make("output", { "aria-live": "polite", text: "Point at the plot, or step along it with the arrow keys. Drag to zoom." });
  const tick = make("input", { type: "checkbox", "data-key": "normalise", onchange: () => { normalise = tick.checked; show(); } });
  tick.checked = normalise;
  box.addEventListener("keydown", e => step(e, out));
  fill(root, make("div", { class: "bar" }, make("label", {}, tick, "Draw every strip to the same height"), make("button", { type: "button", "data-key": "overlay-all", text: "Show all", onclick: () => { graph.resetZoom(); graph.updateOptions({ dateWindow: [RF_FROM, RF_TO] }); } })), legend(), box, out);
  plot(box, out);
  fill(byId("overlay-tables"), sharedTable(), likenessTable());
}

export function startOverlay() {
  try {
    const kept = JSON.parse(sessionStorage.getItem("overlay") || "{}");
    ticked = kept.ticked || [];
    normalise = !!kept.normalise;
  } catch { /* nothing was kept */ }
  /* Ticks are judged only once the photos are here. */
  let versions = "";
  on(["state", "reading"], () => {
    if (state.version < 0) return;
    void refresh();
    const now = ticked.map(t => readingVersion(t[0])).join();
    if (now !== versions && overlay && !asking) fill(byId("overlay-tables"), sharedTable(), likenessTable());
    versions = now;
  });
  dark.addEventListener("change", show);
}
