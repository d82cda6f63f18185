// SPDX-License-Identifier: GPL-3.0-or-later
/* The photo with what was found drawn on it, and handles to set it right.
 *
 * 1. The photo's display copy fills the stage; lines are drawn over it in the photo's own pixels.
 * 2. Handles are elements above the picture, so each can be focused, named and moved by keys: four corners, origin
 *    and front of the strip that is chosen, start and end of the band that is.
 * 3. While a handle is held or has just been moved by key, a magnifier shows the photo at full resolution under it. */

import { chooseBandAt, chosenBand, chosenLimits, setLimit } from "./bands.js";
import { byId, draw, fill, letter, make } from "./dom.js";
import { acrossAt, edgesOf, polygon, positionOf, toPhoto, toPosition } from "./geometry.js";
import { endStep, handOf, setStrip } from "./hand.js";
import { hideMagnifier, showMagnifier } from "./magnifier.js";
import { on, photoOf, place, pointAt, readingOf, say, select, selection } from "./store.js";
import { number, roleText } from "./words.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./geometry.js").Edges} Edges */
/** @typedef {"origin"|"front"|"band-from"|"band-to"} MarkName */
/** @typedef {"corner-0"|"corner-1"|"corner-2"|"corner-3"|MarkName} HandleName */

const CORNERS = ["lower left corner", "lower right corner", "upper right corner", "upper left corner"];
/** @type {HandleName[]} */
const NAMES = ["corner-3", "corner-2", "corner-1", "corner-0", "origin", "front", "band-from", "band-to"];
/* What is written on a handle that moves along the strip, and how it is named. */
const MARKS = /** @type {{[name: string]: [string, string]}} */ ({
  origin: ["origin", "origin"], front: ["front", "front"], "band-from": ["start", "start of the band"], "band-to": ["end", "end of the band"]
});

/** @param {HandleName} name @returns {name is MarkName} */
const isMark = name => name in MARKS;
/** @param {MarkName} name @returns {"from"|"to"|null} */
const endOf = name => name === "band-from" ? "from" : name === "band-to" ? "to" : null;
/* One step of an arrow key: photo pixels, and parts of the strip's length; Shift makes it ten. */
const STEP_PX = 1, STEP_LENGTH = 0.001, BIG = 10;
/* Grips of origin and front stand this far off the strip's edge, in letters' heights. */
const GRIP = 1.25;

const stage = byId("stage"), image = /** @type {HTMLImageElement} */ (byId("stage-picture"));
const lines = /** @type {Element} */ (byId("stage-lines")), handles = byId("stage-handles");
let shown = "", stage_px = 0; // the stage's width, 0: to be measured
/** @type {{name: HandleName, pointer: number, offset: Point}|null} */
let held = null;

/** Corners of each strip: hand-set or as read. @param {Strip[]} strips */
function cornersNow(strips) {
  return handOf(selection.photo).map((h, i) => h.corners_px || strips[i]?.corners_px || []);
}

/** @param {Strip} strip @param {number} index */
function edgesNow(strip, index) {
  return edgesOf(strip, handOf(selection.photo)[index]?.corners_px || null);
}

/** Where a mark stands, hand-set or as read. @param {Strip} strip @param {number} index @param {MarkName} name @returns {number|null} */
function markNow(strip, index, name) {
  if (name === "band-from" || name === "band-to") return chosenLimits(strip, index)?.[name === "band-from" ? 0 : 1] ?? null;
  const set = handOf(selection.photo)[index]?.[name];
  return set === null || set === undefined ? strip[name] : set;
}

/** Page pixels a photo pixel. */
const scale = () => (stage_px ||= stage.clientWidth) / (photoOf(selection.photo)?.width_px || 1) || 1;

/** @param {HandleName} name @param {Strip} strip @param {number} index @returns {Point} */
function anchor(name, strip, index) {
  if (!isMark(name)) return cornersNow([...Array(index), strip])[index][Number(name.slice(7))];
  return toPhoto(edgesNow(strip, index), markNow(strip, index, name) ?? usual(name), 0.5);
}

/** Where a mark begins that was never found. @param {MarkName} name */
const usual = name => name === "front" ? 0.9 : 0.15;

/** Where the handle stands: that of a mark beside the strip, so that it hides no dye. @param {HandleName} name @param {Strip} strip @param {number} index @returns {Point} */
function stand(name, strip, index) {
  if (!isMark(name)) return anchor(name, strip, index);
  const edges = edgesNow(strip, index), at = markNow(strip, index, name) ?? usual(name), side = endOf(name) ? -1 : 1;
  const edge = toPhoto(edges, at, side > 0 ? 1 : 0), way = acrossAt(edges, at), off = side * GRIP * letter() / scale();
  return [edge[0] + way[0] * off, edge[1] + way[1] * off];
}

/** @param {HandleName} name @param {Strip} strip @param {number} index @param {Point} to */
function moveTo(name, strip, index, to) {
  const photo = photoOf(selection.photo);
  if (!photo) return;
  const what = `strip ${index + 1}, `;
  if (isMark(name)) {
    setMark(name, strip, index, toPosition(edgesNow(strip, index), to));
    return;
  }
  const corner = Number(name.slice(7));
  const corners = cornersNow(readingOf(photo.id)?.strips || [])[index].map(c => /** @type {Point} */([...c]));
  corners[corner] = [round(Math.min(Math.max(to[0], 0), photo.width_px), 2), round(Math.min(Math.max(to[1], 0), photo.height_px), 2)];
  setStrip(photo.id, index, { corners_px: corners }, what + CORNERS[corner], `${index}-${name}`);
}

/** @param {MarkName} name @param {Strip} strip @param {number} index @param {number} position */
function setMark(name, strip, index, position) {
  const end = endOf(name);
  if (end) {
    setLimit(strip, index, end, position);
    return;
  }
  setStrip(selection.photo, index, { [name]: round(Math.min(Math.max(position, 0), 1), 4) }, `strip ${index + 1}, ${name}`, `${index}-${name}`);
}

/** @param {number} value @param {number} digits */
const round = (value, digits) => Number(value.toFixed(digits));

/** @param {PointerEvent|MouseEvent} e @returns {Point} */
function toPhotoPixels(e) {
  const box = stage.getBoundingClientRect(), k = 1 / scale();
  return [(e.clientX - box.left) * k, (e.clientY - box.top) * k];
}

/** @param {HandleName} name */
function makeHandle(name) {
  const slider = isMark(name);
  const handle = make("button", {
    type: "button", class: "handle " + (slider ? "mark " + name : "corner"), "data-key": name, "data-handle": name,
    "aria-describedby": "handle-help", role: slider ? "slider" : null, "aria-orientation": slider ? "vertical" : null,
    "aria-valuemin": slider ? 0 : null, "aria-valuemax": slider ? 1 : null
  }, make("span", { class: "dot", "aria-hidden": "true" }, slider ? MARKS[name][0] : ""));
  handle.addEventListener("pointerdown", e => grab(e, name, handle));
  handle.addEventListener("pointermove", e => drag(e));
  handle.addEventListener("pointerup", release);
  handle.addEventListener("pointercancel", release);
  handle.addEventListener("keydown", e => byKey(e, name));
  handle.addEventListener("blur", hideMagnifier);
  return handle;
}

function current() {
  const strip = readingOf(selection.photo)?.strips[selection.strip];
  return strip ? { strip, index: selection.strip } : null;
}

/** @param {PointerEvent} e @param {HandleName} name @param {HTMLElement} handle */
function grab(e, name, handle) {
  const now = current();
  if (!now || e.button !== 0) return;
  const at = toPhotoPixels(e), from = anchor(name, now.strip, now.index);
  held = { name, pointer: e.pointerId, offset: [from[0] - at[0], from[1] - at[1]] };
  handle.setPointerCapture(e.pointerId);
  handle.focus({ preventScroll: true });
  magnify(name);
  e.preventDefault();
}

/** @param {PointerEvent} e */
function drag(e) {
  const now = current();
  if (!held || e.pointerId !== held.pointer || !now) return;
  const at = toPhotoPixels(e);
  moveTo(held.name, now.strip, now.index, [at[0] + held.offset[0], at[1] + held.offset[1]]);
  magnify(held.name);
}

function release() {
  if (!held) return;
  held = null;
  endStep();
  hideMagnifier();
}

/** @param {KeyboardEvent} e @param {HandleName} name */
function byKey(e, name) {
  /** @type {{[key: string]: Point}} */
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const way = ways[e.key], now = current();
  if (e.key === "Escape") hideMagnifier();
  if (!way || !now || e.ctrlKey || e.metaKey || e.altKey) return;
  e.preventDefault();
  const many = e.shiftKey ? BIG : 1;
  if (isMark(name)) {
    const from = markNow(now.strip, now.index, name) ?? usual(name);
    setMark(name, now.strip, now.index, from + (way[0] - way[1]) * STEP_LENGTH * many);
  } else {
    const from = anchor(name, now.strip, now.index);
    moveTo(name, now.strip, now.index, [from[0] + way[0] * STEP_PX * many, from[1] + way[1] * STEP_PX * many]);
  }
  magnify(name);
}

/** @param {HandleName} name */
function magnify(name) {
  const photo = photoOf(selection.photo), now = current();
  if (!photo || !now) return;
  const edges = edgesNow(now.strip, now.index), at = anchor(name, now.strip, now.index);
  const mark = isMark(name) ? markNow(now.strip, now.index, name) ?? 0 : null;
  const line = mark === null ? null : [toPhoto(edges, mark, 0), toPhoto(edges, mark, 1)];
  showMagnifier(photo, image, at, [[...polygon(edges), polygon(edges)[0]], ...(line ? [line] : [])], stage);
}

/** @param {Strip} strip @param {number} index */
function drawStrip(strip, index) {
  const edges = edgesNow(strip, index), chosen = index === selection.strip, parts = [];
  const shape = polygon(edges).map(p => p.map(v => v.toFixed(1)).join(",")).join(" ");
  parts.push(draw("polygon", { points: shape, class: "halo" }), draw("polygon", { points: shape, class: "edge" }));
  for (const name of /** @type {const} */ (["origin", "front"])) {
    const at = markNow(strip, index, name);
    if (at === null) continue;
    parts.push(...rule(edges, at, -0.06, 1.06, "halo"), ...rule(edges, at, -0.06, 1.06, name + (name === "front" && strip.front_seen === "no" ? " unseen" : "")));
  }
  if (chosen) strip.bands.forEach((band, i) => parts.push(...drawBand(strip, edges, band, i)));
  const limits = chosen ? chosenLimits(strip, index) : null;
  for (const at of limits || []) parts.push(...rule(edges, at, -0.06, 1, "halo"), ...rule(edges, at, -0.06, 1, "limit"));
  if (place && place.photo === selection.photo && place.strip === index) {
    parts.push(...rule(edges, place.position, -0.15, 1.15, "halo"), ...rule(edges, place.position, -0.15, 1.15, "pointed"));
  }
  const group = draw("g", { class: "strip" + (chosen ? " chosen" : ""), "data-strip": index }, ...parts);
  return group;
}

/** @param {Strip} strip @param {Edges} edges @param {import("./types.js").Band} band @param {number} i */
function drawBand(strip, edges, band, i) {
  const at = toPhoto(edges, positionOf(strip, band.rf), 0), way = acrossAt(edges, positionOf(strip, band.rf)), off = 0.9 * letter() / scale();
  const parts = rule(edges, positionOf(strip, band.rf), -0.08, 0.06, "apex");
  if (band.start_rf !== null && band.end_rf !== null) {
    const a = toPhoto(edges, positionOf(strip, band.start_rf), -0.03), b = toPhoto(edges, positionOf(strip, band.end_rf), -0.03);
    parts.push(draw("line", { x1: a[0], y1: a[1], x2: b[0], y2: b[1], class: "halo" }), draw("line", { x1: a[0], y1: a[1], x2: b[0], y2: b[1], class: "extent" }));
  }
  parts.push(draw("text", {
    x: at[0] - way[0] * off, y: at[1] - way[1] * off, "font-size": 0.8 * letter() / scale(), "stroke-width": 3 / scale(),
    "text-anchor": "middle", "dominant-baseline": "central", class: "band-number"
  }, String(i + 1)));
  return parts;
}

/** A line across the strip. @param {Edges} edges @param {number} at @param {number} from @param {number} to @param {string} look @returns {SVGElement[]} */
function rule(edges, at, from, to, look) {
  const a = toPhoto(edges, at, from), b = toPhoto(edges, at, to);
  return [draw("line", { x1: a[0].toFixed(1), y1: a[1].toFixed(1), x2: b[0].toFixed(1), y2: b[1].toFixed(1), class: look })];
}

function showPicture() {
  const photo = photoOf(selection.photo), known = !!photo && photo.width_px > 0;
  byId("photo").hidden = !photo;
  if (!photo) return;
  const key = photo.id + (known ? "+" : "");
  if (shown !== key) {
    shown = key;
    held = null;
    hideMagnifier();
    image.hidden = !known;
    if (known) image.src = `./photos/${encodeURIComponent(photo.id)}/picture?side=1600`;
  }
  image.alt = `Photo ${photo.name}`;
  if (known) {
    stage_px = 0;
    stage.style.aspectRatio = `${photo.width_px} / ${photo.height_px}`;
    stage.style.setProperty("--ratio", String(photo.width_px / photo.height_px));
    lines.setAttribute("viewBox", `0 0 ${photo.width_px} ${photo.height_px}`);
  }
}

function showLines() {
  const strips = readingOf(selection.photo)?.strips || [];
  lines.replaceChildren(...strips.map(drawStrip));
}

function showHandles() {
  const now = current(), photo = photoOf(selection.photo);
  if (!now || !photo) {
    handles.replaceChildren();
    return;
  }
  if (!handles.childElementCount) fill(handles, ...NAMES.map(makeHandle));
  for (const handle of /** @type {HTMLElement[]} */ ([...handles.children])) {
    const name = /** @type {HandleName} */ (handle.dataset.handle), at = stand(name, now.strip, now.index);
    handle.style.left = `${100 * at[0] / photo.width_px}%`;
    handle.style.top = `${100 * at[1] / photo.height_px}%`;
    nameHandle(handle, name, now.strip, now.index);
  }
}

/** Whether the chosen band's limits are hand-set. @param {number} index */
const isByHand = index => (handOf(selection.photo)[index]?.bands || []).some(l => selection.band !== null && selection.band >= l[0] && selection.band <= l[1]);

/** @param {HTMLElement} handle @param {HandleName} name @param {Strip} strip @param {number} index */
function nameHandle(handle, name, strip, index) {
  const set = handOf(selection.photo)[index], whose = `Strip ${index + 1}, `;
  if (isMark(name)) {
    const end = endOf(name), by_hand = end ? chosenLimits(strip, index) !== null && isByHand(index) : set?.[/** @type {"origin"|"front"} */ (name)] !== null;
    const at = markNow(strip, index, name), band = chosenBand(strip), how = by_hand ? "set by hand" : name === "front" && strip.front_seen === "no" ? "not seen" : "found";
    handle.hidden = !!end && at === null;
    handle.setAttribute("aria-label", whose + MARKS[name][1] + (end && band >= 0 ? ` ${band + 1}` : ""));
    handle.setAttribute("aria-valuenow", String(at ?? 0));
    handle.setAttribute("aria-valuetext", `${number(at, 3)} of the length, ${how}`);
    handle.classList.toggle("by-hand", by_hand);
    return;
  }
  const at = anchor(name, strip, index);
  handle.setAttribute("aria-label", `${whose}${CORNERS[Number(name.slice(7))]}: ${number(at[0], 0)} across, ${number(at[1], 0)} down`);
  handle.classList.toggle("by-hand", !!set?.corners_px);
}

/** The strip under a point of the photo. @param {Point} at */
function stripUnder(at) {
  const strips = readingOf(selection.photo)?.strips || [];
  return strips.findIndex((strip, i) => {
    const shape = polygon(edgesNow(strip, i));
    let inside = false;
    for (let a = 0, b = shape.length - 1; a < shape.length; b = a++) {
      const [ax, ay] = shape[a], [bx, by] = shape[b];
      if ((ay > at[1]) !== (by > at[1]) && at[0] < (bx - ax) * (at[1] - ay) / (by - ay) + ax) inside = !inside;
    }
    return inside;
  });
}

function watchPointer() {
  stage.addEventListener("pointermove", e => {
    if (held) return;
    const at = toPhotoPixels(e), index = stripUnder(at), strip = readingOf(selection.photo)?.strips[index];
    pointAt(strip ? { photo: selection.photo, strip: index, position: toPosition(edgesNow(strip, index), at) } : null);
  });
  stage.addEventListener("pointerleave", () => { if (!held) pointAt(null); });
  stage.addEventListener("click", e => {
    if (e.target instanceof Element && e.target.closest(".handle")) return; // the end of a drag
    const at = toPhotoPixels(e), index = stripUnder(at), strip = readingOf(selection.photo)?.strips[index];
    if (!strip) return;
    select(selection.photo, index);
    chooseBandAt(strip, index, toPosition(edgesNow(strip, index), at));
  });
}

/** Sizes of the stage: the whole photo, or closer. */
function watchZoom() {
  for (const button of /** @type {NodeListOf<HTMLButtonElement>} */ (document.querySelectorAll("#zoom button"))) {
    button.addEventListener("click", () => {
      byId("stage-frame").style.setProperty("--zoom", button.value);
      document.querySelectorAll("#zoom button").forEach(b => b.setAttribute("aria-pressed", String(b === button)));
    });
  }
}

/** Words that name a strip. @param {string} photo @param {number} index @param {Strip} [strip] */
export function stripName(photo, index, strip) {
  const ink = handOf(photo)[index]?.ink || strip?.ink;
  return (ink || `Strip ${index + 1}`) + (strip ? ", " + roleText(strip.role) : "");
}

export function startEditor() {
  watchPointer();
  watchZoom();
  image.addEventListener("load", () => say("place"));
  new ResizeObserver(() => {
    stage_px = 0;
    say("size");
  }).observe(stage);
  on(["state", "selection"], showPicture);
  on(["state", "reading", "selection", "hand", "size", "place"], showLines);
  on(["state", "reading", "selection", "hand", "size"], showHandles);
}
