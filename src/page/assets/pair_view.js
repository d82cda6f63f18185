// SPDX-License-Identifier: GPL-3.0-or-later
/* Verdicts: whether the ink stays and why, both strips mirrored around one Rf axis, and pairs that could be made. */

import { css } from "./colour.js";
import { byId, draw, make, markBehind, problemList, refill, table, withRange } from "./dom.js";
import { stripName } from "./editor.js";
import { rfOf } from "./geometry.js";
import { change, chosenPairs, isBehind } from "./hand.js";
import { scaleOf } from "./scale.js";
import { on, photoOf, pictureOf, place, readingOf, readingVersion, say, selection, state } from "./store.js";
import { traceOf } from "./trace.js";
import { number, rfText, roleText, shareText } from "./words.js";

/** @typedef {import("./types.js").Pair} Pair */
/** @typedef {import("./types.js").Verdict} Verdict */
/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./types.js").StripRef} StripRef */
/** @typedef {import("./types.js").Interval} Interval */
/** @typedef {{from: number, to: number, top: number, bottom: number}} Axis */

const WIDTH_MAX = 640, WIDTH_MIN = 300, HEIGHT = 500, TOP = 34, BOTTOM = 30, STRIP_MAX = 34, STRIP_MIN = 26, AXIS_HALF = 21, EDGE = 2;
/* As on the figures: what shows less than this is drawn a second time, enlarged. */
const FACTOR = 5, LOAD_TOP_MIN = 0.15;

/* Drawn one to one, so that its words stay readable on a phone. */
let width = WIDTH_MAX;
const stripWidth = () => width < 440 ? STRIP_MIN : STRIP_MAX;
const labels = () => width < 440 ? 74 : 84;

/** @param {StripRef} ref */
const stripOf = ref => readingOf(ref[0])?.strips[ref[1]] || null;

/** @param {Pair} pair */
function pairName(pair) {
  const name = photoOf(pair.dried[0])?.name || "A pair", other = photoOf(pair.immediate[0])?.name;
  return pair.ink || (other && other !== name ? `${other} and ${name}` : name);
}

/** @param {Pair} pair */
function shares(pair) {
  const bound = (/** @type {number|null} */ share, /** @type {Interval} */ interval) => share === null && pair.unfinished ? "being worked out" : shareText(share, interval);
  const row = (/** @type {string[]} */ ...[name, ...cells]) => make("tr", {}, make("th", { scope: "row", text: name }), ...cells.map(withRange));
  return table("shares", "What lay at the origin, with 95 % intervals", ["Strip", "Retained share", "Bound share"], [
    row("dipped at once", shareText(pair.immediate_retained_share, pair.immediate_retained_interval), bound(pair.immediate_bound_share, pair.immediate_bound_interval)),
    row("dried first", shareText(pair.dried_retained_share, pair.dried_retained_interval), bound(pair.dried_bound_share, pair.dried_bound_interval))]);
}

/** Whether a longer soak would take what stays: that alone hangs on the bound share. @param {Verdict} verdict */
function soak(verdict) {
  if (verdict.words.soak) return make("p", { class: "soak", text: verdict.words.soak });
  const open = verdict.unfinished && verdict.words.scale && verdict.answer !== "washes away";
  return open && make("p", { class: "soak muted", text: "Would a longer soak take it? That is being worked out." });
}

/** The answer and how sure it is, the scale, then why; without a verdict what prevents it and what to do. @param {Verdict} verdict */
export function verdictParts(verdict) {
  const { answer, sure, level } = verdict.words;
  const stays = verdict.retained_hue_name && make("div", { class: "stays" }, make("span", { class: "swatch", colour: css(verdict.retained_lab) }), "what is retained: ", verdict.retained_hue_name);
  return [make("div", { class: "verdict" }, make("div", {}, make("p", { class: "answer", text: answer }), sure && make("p", { class: "sure", text: sure }),
    scaleOf(verdict), level && make("p", { text: level })), stays),
  make("ul", { class: "reasons" }, ...verdict.reasons.map(text => make("li", { text }))), soak(verdict)];
}

/** @param {Pair} pair @param {number} index */
function card(pair, index) {
  return make("article", { class: "pair", "data-pair": index, "aria-label": "Verdict: " + pairName(pair) },
    make("h3", { text: pairName(pair) + ": does it stay when water passes?" }), ...verdictParts(pair),
    problemList(pair.warnings || [], "warnings"), mirrorOf(pair).figure,
    pair.caution ? make("p", { class: "caution", text: pair.caution }) : null, shares(pair));
}

/** @param {number} rf @param {Axis} axis */
const yOf = (rf, axis) => axis.bottom + (rf - axis.from) / (axis.to - axis.from) * (axis.top - axis.bottom);

/** A pair's picture outlives its card: it is drawn anew where a strip has changed. @typedef {{figure: HTMLElement, pair: Pair, strips: (Strip|null)[], width: number}} Mirror */
/** @type {Map<string, Mirror>} */
const mirrors = new Map();

/** @param {Pair} pair @returns {Mirror} */
function mirrorOf(pair) {
  const key = [...pair.immediate, ...pair.dried].join(), known = mirrors.get(key);
  const mirror = known || { figure: make("figure", { class: "mirror" }), pair, strips: [], width: 0 };
  mirror.pair = pair;
  mirrors.set(key, mirror);
  return mirror;
}

function drawMirrors() {
  for (const [key, mirror] of mirrors) {
    const strips = [stripOf(mirror.pair.immediate), stripOf(mirror.pair.dried)];
    if (!mirror.figure.isConnected) mirrors.delete(key);
    else if (strips.some((s, i) => s !== mirror.strips[i]) || mirror.width !== width) drawMirror(mirror, strips);
  }
  showPlace();
}

/** @param {Mirror} mirror @param {(Strip|null)[]} strips */
function drawMirror(mirror, strips) {
  const pair = mirror.pair, sides = strips.filter(s => !!s), traces = sides.map(traceOf);
  Object.assign(mirror, { strips, width });
  if (sides.length < 2) {
    mirror.figure.replaceChildren(make("figcaption", { class: "muted", text: "The pair's numbers are on their way." }));
    return;
  }
  mirror.figure.hidden = !traces.every(t => t.by_rf);
  if (mirror.figure.hidden) return;
  const axis = { from: Math.max(Math.min(...traces.map(t => t.lower)), -.3), to: Math.min(Math.max(...traces.map(t => t.upper), 1), 1.35), top: TOP, bottom: HEIGHT - BOTTOM };
  const top = Math.max(LOAD_TOP_MIN, 1.06 * Math.max(...traces.flatMap(t => t.load.map(v => v ?? 0))));
  const svg = draw("svg", { viewBox: `0 0 ${width} ${HEIGHT}`, role: "img", "aria-label": `Both strips on one Rf axis. ${mirrorWords(sides)}` });
  drawAxis(svg, axis);
  [pair.immediate, pair.dried].forEach((ref, i) => drawSide(svg, axis, sides[i], traces[i], ref, i ? 1 : -1, top));
  svg.append(draw("text", { x: width / 2, y: HEIGHT - 4, "text-anchor": "middle", class: "soft" }, `dye load (K/S); dashed: × ${FACTOR}`));
  mirror.figure.replaceChildren(svg, make("figcaption", { class: "muted", text: "Dipped at once to the left, dried first to the right, on the same scale. The yellow zone is the origin, where retained dye is counted." }));
}

/** @param {Strip[]} strips */
function mirrorWords(strips) {
  return strips.map((s, i) => `${i ? "Dried first" : "Dipped at once"}: ${s.bands.map(b => `${b.hue_name} at Rf ${rfText(b.rf)}, ${shareText(b.share)}`).join("; ") || "no band of its own"}.`).join(" ");
}

/** @param {SVGElement} svg @param {Axis} axis */
function drawAxis(svg, axis) {
  const inner = stripWidth() + labels() + EDGE, half = width / 2 - AXIS_HALF;
  for (const x of [inner, width / 2 + AXIS_HALF]) svg.append(draw("rect", { x, y: axis.top, width: half - inner, height: axis.bottom - axis.top, class: "ground" }));
  for (let k = Math.ceil(axis.from * 5); k <= Math.floor(axis.to * 5 + 1e-9); k++) {
    const y = yOf(k / 5, axis), word = k === 0 ? "origin" : k === 5 ? "front" : "";
    for (const [a, b] of [[inner, half], [width - half, width - inner]]) svg.append(draw("line", { x1: a, x2: b, y1: y, y2: y, class: k === 5 ? "dash" : "rule" }));
    svg.append(draw("text", { x: width / 2, y: y + 4, "text-anchor": "middle", class: "soft" }, number(k / 5, 1)));
    if (word) svg.append(draw("text", { x: width / 2, y: y + 18, "text-anchor": "middle" }, word));
  }
  svg.append(draw("text", { x: width / 2, y: 22, "text-anchor": "middle", class: "title" }, "Rf"));
}

/** @param {SVGElement} svg @param {Axis} axis @param {Strip} strip @param {ProfileData} trace @param {StripRef} ref @param {number} sign @param {number} top */
function drawSide(svg, axis, strip, trace, ref, sign, top) {
  const base = width / 2 + sign * AXIS_HALF, room = width / 2 - AXIS_HALF - stripWidth() - labels() - EDGE, x = (/** @type {number} */ load) => base + sign * Math.min(Math.max(load, 0) / top, 1) * room;
  const zone = zoneOf(strip), outer = sign < 0 ? EDGE : width - EDGE - stripWidth(), lines = [draw("title", {}, roleText(strip.role))];
  if (zone) lines.push(draw("rect", { x: Math.min(base, base + sign * room), width: room, y: yOf(zone, axis), height: yOf(-zone, axis) - yOf(zone, axis), class: "zone" }));
  const seen = trace.at.map((at, i) => i).filter(i => trace.load[i] !== null && trace.at[i] >= axis.from && trace.at[i] <= axis.to);
  const step = Math.abs(yOf(trace.at[1], axis) - yOf(trace.at[0], axis)) + .5;
  for (const i of seen) {
    const y = yOf(trace.at[i], axis), end = x(Number(trace.load[i]));
    if (Math.abs(end - base) > .3) lines.push(draw("rect", { x: Math.min(base, end), y: y - step / 2, width: Math.abs(end - base), height: step, fill: trace.rgb[i] }));
  }
  const path = (/** @type {number} */ k) => seen.map((i, n) => `${n ? "L" : "M"}${x(Number(trace.load[i]) * k).toFixed(1)} ${yOf(trace.at[i], axis).toFixed(1)}`).join("");
  lines.push(draw("path", { d: path(1), class: "outline" }), draw("path", { d: path(FACTOR), class: "faint" }), draw("line", { x1: base, x2: base, y1: axis.top, y2: axis.bottom, class: "axis" }));
  lines.push(...drawPicture(axis, trace, ref, outer), ...drawBands(axis, strip, sign, x));
  lines.push(draw("text", { x: sign < 0 ? EDGE : width - EDGE, y: 22, "text-anchor": sign < 0 ? "start" : "end", class: "title" }, sign < 0 ? "dipped at once" : "dried first"));
  svg.append(draw("g", { "data-side": `${ref[0]}/${ref[1]}`, "data-from": axis.from, "data-to": axis.to }, ...lines));
}

/** Half the zone where retained dye is counted, in Rf; with a scale 1 mm more than half the line. @param {Strip} strip */
function zoneOf(strip) {
  if (!strip.line_width || strip.origin === null || strip.front === null) return 0;
  const more = strip.length_mm ? 1 / strip.length_mm : strip.line_width;
  return (strip.line_width / 2 + more) / (strip.front - strip.origin);
}

/** @param {Axis} axis @param {ProfileData} trace @param {StripRef} ref @param {number} x */
function drawPicture(axis, trace, ref, x) {
  const y0 = yOf(trace.upper, axis), y1 = yOf(trace.lower, axis), cut = { x, y: Math.max(y0, axis.top), width: stripWidth(), height: Math.min(y1, axis.bottom) - Math.max(y0, axis.top) };
  const id = `cut-${ref[0]}-${ref[1]}`, picture = draw("image", { x, y: y0, width: stripWidth(), height: y1 - y0, preserveAspectRatio: "none", "clip-path": `url(#${id})`, href: pictureOf(ref[0], ref[1]) });
  const frame = draw("rect", { ...cut, class: "frame" });
  if (!photoOf(ref[0]) || state.saved.some(p => p.id === ref[0])) return [frame];
  return [draw("clipPath", { id }, draw("rect", cut)), picture, frame];
}

/** @param {Axis} axis @param {Strip} strip @param {number} sign @param {(load: number) => number} x */
function drawBands(axis, strip, sign, x) {
  const edge = sign < 0 ? EDGE + stripWidth() + labels() : width - EDGE - stripWidth() - labels(), parts = [];
  let last = Infinity;
  for (const band of strip.bands) {
    if (band.rf < axis.from || band.rf > axis.to) continue;
    const y = yOf(band.rf, axis), label = Math.min(y, last - 32), load = /** @type {any} */ (band).apex_load;
    last = label;
    parts.push(draw("path", { d: `M${x(load ?? 0)} ${y}L${edge} ${y}L${edge - sign * -6} ${label}`, class: "axis", fill: "none" }));
    if (load) parts.push(draw("circle", { cx: x(load), cy: y, r: 3, class: "apex" }));
    const at = { x: edge - sign * -10, "text-anchor": sign < 0 ? "end" : "start" };
    parts.push(draw("text", { ...at, y: label, class: "strong" }, number(band.rf, 3)), draw("text", { ...at, y: label + 15, class: "soft" }, band.hue_name));
  }
  return parts;
}

/** A photo that shows one strip beside another that does. @param {import("./types.js").Photo} photo */
function offer(photo) {
  const other = photo.offer_pair_with && photoOf(photo.offer_pair_with);
  if (!other) return null;
  const pair = (/** @type {string} */ immediate, /** @type {string} */ dried) => change("./pairs", { pairs: [...chosenPairs(), { immediate: [immediate, 0], dried: [dried, 0] }] });
  return make("div", { class: "offer" }, make("p", {}, make("b", { text: `${photo.name} and ${other.name} could be a pair.` }), " Which strip was dried before the dip?"),
    make("div", { class: "row" }, make("button", { type: "button", "data-key": "offer-a-" + photo.id, text: other.name, onclick: () => pair(photo.id, other.id) }),
      make("button", { type: "button", "data-key": "offer-b-" + photo.id, text: photo.name, onclick: () => pair(other.id, photo.id) })));
}

/** Every strip on the page that can be in a pair. */
function everyStrip() {
  return state.photos.filter(p => p.phase === "done" && !p.error).flatMap(p => Array.from({ length: p.strip_count }, (_, k) => /** @type {StripRef} */([p.id, k])));
}

function chooser() {
  const all = everyStrip();
  if (all.length < 2) return null;
  const list = (/** @type {string} */ key) => make("select", { "data-key": key }, ...all.map(ref => make("option", { value: ref.join(" "), text: `${photoOf(ref[0])?.name}, ${stripName(ref[0], ref[1]).toLowerCase()}` })));
  const immediate = list("pair-immediate"), dried = list("pair-dried");
  dried.selectedIndex = 1;
  const ref = (/** @type {HTMLSelectElement} */ s) => [s.value.split(" ")[0], Number(s.value.split(" ")[1])];
  return make("details", { class: "chooser", "data-key": "chooser" }, make("summary", { text: "Choose a pair yourself" }), make("div", { class: "settings" },
    make("label", {}, "Dipped at once", immediate), make("label", {}, "Dried first", dried),
    make("button", { type: "button", "data-key": "pair-make", text: "Compare these", onclick: () => change("./pairs", { pairs: [...chosenPairs().filter(p => [p.immediate, p.dried].every(r => r.join() !== ref(immediate).join() && r.join() !== ref(dried).join())), { immediate: ref(immediate), dried: ref(dried) }] }) }),
    state.pairs.some(p => p.by_hand) && make("button", { type: "button", "data-key": "pair-usual", text: "Pair them as they lie", onclick: () => change("./pairs", { pairs: [] }) })));
}

function show() {
  const root = byId("verdicts"), offers = state.photos.filter(p => p.offer_pair_with), choose = everyStrip().length > 1 ? chooser() : null;
  const mine = state.pairs.map((pair, n) => ({ pair, n })).filter(({ pair }) => pair.immediate[0] === selection.photo || pair.dried[0] === selection.photo);
  const rest = state.pairs.map((pair, n) => ({ pair, n })).filter(({ n }) => !mine.some(m => m.n === n));
  root.hidden = !state.pairs.length && !offers.length && !choose;
  markBehind(root, state.pairs.some(p => [p.immediate, p.dried].some(ref => isBehind(ref[0]))));
  const from = [state.pairs, offers.map(o => o.id), state.photos.map(p => [p.id, p.phase, p.strip_count, readingVersion(p.id)]), selection.photo];
  refill(root, from, () => [make("h2", { id: "verdicts-title", text: state.pairs.length > 1 ? "Verdicts" : "Verdict" }), ...offers.map(offer), ...mine.map(({ pair, n }) => card(pair, n)),
    rest.length ? make("details", { "data-key": "rest" }, make("summary", { text: mine.length ? "The other pairs on the page" : "Pairs of other photos" }), ...rest.map(({ pair, n }) => card(pair, n))) : null,
    !state.pairs.length && !offers.length ? make("p", { class: "muted", text: "No pair yet: a verdict needs one strip dipped at once and one dried first. Add the other photo, or tell the strips' roles." }) : null, choose]);
}

function showPlace() {
  document.querySelectorAll("#verdicts .pointed").forEach(line => line.remove());
  const strip = place && stripOf([place.photo, place.strip]);
  if (!place || !strip) return;
  const rf = rfOf(strip, place.position);
  document.querySelectorAll(`#verdicts [data-side="${CSS.escape(place.photo)}/${place.strip}"]`).forEach(side => {
    const data = /** @type {SVGElement} */ (side).dataset, y = yOf(rf, { from: Number(data.from), to: Number(data.to), top: TOP, bottom: HEIGHT - BOTTOM });
    if (y >= TOP && y <= HEIGHT - BOTTOM) side.parentElement?.append(draw("line", { x1: 0, x2: width, y1: y, y2: y, class: "pointed" }));
  });
}

function measure() {
  const root = byId("verdicts"), inner = (root.clientWidth || WIDTH_MAX) - 2 * parseFloat(getComputedStyle(root).paddingLeft);
  const now = Math.round(Math.min(Math.max(inner, WIDTH_MIN), WIDTH_MAX));
  if (now === width) return;
  width = now;
  say("size");
}

export function startPairView() {
  on(["state", "reading", "selection", "hand"], show);
  on(["state", "reading", "selection", "size"], drawMirrors, true);
  on(["place"], showPlace);
  new ResizeObserver(measure).observe(byId("verdicts"));
}
