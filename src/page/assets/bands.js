// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the chosen band begins and ends: as read until a limit is moved, then as set by hand. A band is chosen by a
 * place inside it, so that it stays chosen when bands beside it come or go. */

import { positionOf } from "./geometry.js";
import { handOf, setStrip } from "./hand.js";
import { chooseBand, selection } from "./store.js";

/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./types.js").Limits} Limits */
/** @typedef {"from"|"to"} End */

/* Least length of a band, and what a band is made with, in parts of the strip. */
const LEAST = 0.004, USUAL = 0.05;
const DIGITS = 4;

/** @param {Limits} limits */
const middle = limits => (limits[0] + limits[1]) / 2;
/** @param {number} index @returns {Limits[]} */
const byHand = index => handOf(selection.photo)[index]?.bands || [];

/** @param {Strip} strip @param {import("./types.js").Band} band @returns {Limits} */
function asRead(strip, band) {
  const at = positionOf(strip, band.rf);
  return [band.start_rf === null ? at : positionOf(strip, band.start_rf), band.end_rf === null ? at : positionOf(strip, band.end_rf)];
}

/** @param {Limits} limits @param {number} place */
const holds = (limits, place) => place >= limits[0] && place <= limits[1];

/** The chosen band's number in the list, or -1. @param {Strip} strip */
export function chosenBand(strip) {
  const place = selection.band;
  if (place === null) return -1;
  const inside = strip.bands.map((band, i) => ({ i, limits: asRead(strip, band), far: Math.abs(positionOf(strip, band.rf) - place) })).filter(b => holds(b.limits, place));
  return inside.sort((a, b) => a.far - b.far)[0]?.i ?? -1;
}

/** @param {Strip} strip @param {number} index @returns {Limits|null} */
export function chosenLimits(strip, index) {
  const place = selection.band, number = chosenBand(strip);
  if (place === null) return null;
  return byHand(index).find(l => holds(l, place)) || (number < 0 ? null : asRead(strip, strip.bands[number]));
}

/** Moves one end; it stops at the other one and at bands set by hand beside it. @param {Strip} strip @param {number} index @param {End} end @param {number} to */
export function setLimit(strip, index, end, to) {
  const limits = chosenLimits(strip, index), place = selection.band;
  if (!limits || place === null) return;
  const others = byHand(index).filter(l => !holds(l, place));
  const low = Math.max(0, ...others.filter(l => middle(l) < place).map(l => l[1])), high = Math.min(1, ...others.filter(l => middle(l) > place).map(l => l[0]));
  let from = Math.max(limits[0], low), upper = Math.min(limits[1], high);
  if (end === "from") from = Math.min(Math.max(to, low), upper - LEAST);
  else upper = Math.max(Math.min(to, high), from + LEAST);
  keep(index, [...others, round([from, upper])], end);
}

/** @param {Limits} limits @returns {Limits} */
const round = limits => [Number(limits[0].toFixed(DIGITS)), Number(limits[1].toFixed(DIGITS))];

/** @param {number} index @param {Limits[]} bands the last one is chosen @param {string} step */
function keep(index, bands, step) {
  chooseBand(middle(bands[bands.length - 1]), true);
  setStrip(selection.photo, index, { bands: [...bands].sort((a, b) => a[0] - b[0]) }, `strip ${index + 1}, limits of a band`, `${index}-band-${step}`);
}

/** A new band where there is most room for it. @param {Strip} strip @param {number} index */
export function addBand(strip, index) {
  const taken = [...byHand(index), ...strip.bands.map(b => asRead(strip, b))], origin = strip.origin ?? 0, front = strip.front ?? 1;
  const room = (/** @type {number} */ at) => Math.min(...taken.map(l => holds(l, at) ? 0 : Math.min(Math.abs(l[0] - at), Math.abs(l[1] - at))), 1);
  const places = Array.from({ length: 37 }, (_, i) => origin + (front - origin) * (0.05 + i * 0.025));
  const best = places.reduce((a, b) => room(b) > room(a) + 1e-9 ? b : a), half = Math.max(Math.min(USUAL / 2, room(best)), LEAST);
  keep(index, [...byHand(index).filter(l => !holds(l, best)), round([best - half, best + half])], "new");
}

/** Chooses the band at a place of the strip, if there is one. @param {Strip} strip @param {number} index @param {number} place */
export function chooseBandAt(strip, index, place) {
  const here = byHand(index).some(l => holds(l, place)) || strip.bands.some(b => holds(asRead(strip, b), place));
  chooseBand(here ? place : null);
}
