// SPDX-License-Identifier: GPL-3.0-or-later
/* What is on the page. The truth lies with the program: this copy follows it by long polling, so a
 * reload loses nothing.
 *
 * Views subscribe to topics: "state" (photos, pairs, conditions), "reading" (numbers), "selection",
 * "place" (the spot pointed at), "uploads". */

import { get, Refusal } from "./api.js";
import { tell } from "./dom.js";

/** @typedef {import("./types.js").ServerState} ServerState */
/** @typedef {import("./types.js").Photo} Photo */
/** @typedef {import("./types.js").Reading} Reading */
/** @typedef {import("./types.js").Place} Place */
/** @typedef {"state"|"reading"|"selection"|"place"|"uploads"} Topic */

/** @type {ServerState} */
export let state = {
  version: -1, run: "", photos: [], saved: [], pairs: [],
  conditions: { ink: "", paper: "", solvent: "", dip_s: null, dried_min: null }
};
/** `band`: a place inside the chosen band, a fraction of the strip's length. @type {{photo: string, strip: number, band: number|null}} */
export const selection = { photo: "", strip: 0, band: null };
/** @type {Place|null} */
export let place = null;

/** @type {Map<string, {version: number, reading: Reading}>} */
const readings = new Map();
/** @type {Set<string>} */
const asked = new Set();
/** @type {Map<Topic, (() => void)[]>} */
const listeners = new Map();

/** @param {Topic[]} topics @param {() => void} listener */
export function on(topics, listener) {
  for (const topic of topics) listeners.set(topic, [...listeners.get(topic) || [], listener]);
}

/** @param {Topic[]} topics */
export function say(...topics) {
  /** @type {Set<() => void>} */
  const once = new Set(topics.flatMap(t => listeners.get(t) || []));
  once.forEach(listener => listener());
}

/** @param {string} id @returns {Photo|undefined} */
export function photoOf(id) {
  return state.photos.find(p => p.id === id) || state.saved.find(p => p.id === id);
}

/**
 * The photo's reading if it is here; else it is asked for and "reading" is said when it has come.
 * @param {string} id
 * @returns {Reading|null}
 */
export function readingOf(id) {
  const photo = photoOf(id), held = readings.get(id);
  if (!photo || photo.reading_version === null) return null;
  if (!held || held.version < photo.reading_version) void fetchReading(photo.id, photo.reading_version);
  return held ? held.reading : null;
}

/** @param {string} id */
export function readingVersion(id) {
  return readings.get(id)?.version ?? 0;
}

/** Where a strip's straightened picture is. @param {string} id @param {number} strip */
export const pictureOf = (id, strip) => `./photos/${encodeURIComponent(id)}/strips/${strip}/picture?v=${photoOf(id)?.pictures?.[strip] ?? 0}`;

/** @param {string} id @param {number} version */
async function fetchReading(id, version) {
  const key = id + "@" + version;
  if (asked.has(key)) return;
  asked.add(key);
  try {
    const reading = await get(`./photos/${encodeURIComponent(id)}/reading?v=${version}`);
    keepReading(id, version, reading);
    say("reading");
  } catch (error) {
    if (error instanceof Refusal) tell(error.problem.message);
  } finally {
    asked.delete(key);
  }
}

/** @param {string} id @param {number} version @param {Reading} reading */
function keepReading(id, version, reading) {
  const held = readings.get(id);
  if (!held || held.version <= version) readings.set(id, { version, reading });
}

/** A photo as answered to a hand-set value, with what has changed of its reading; the caller says it. @param {Photo} photo */
export function takePhoto(photo) {
  const at = state.photos.findIndex(p => p.id === photo.id);
  if (at < 0) return;
  const { reading, reading_since, ...rest } = photo, held = readings.get(photo.id);
  state.photos[at] = /** @type {Photo} */ (rest);
  if (!reading || photo.reading_version === null) return;
  if (reading_since !== undefined) {
    if (!held || held.version !== reading_since) return; // it will be asked for as a whole
    reading.strips.forEach((strip, i) => { strip.profile = { ...held.reading.strips[i]?.profile, ...strip.profile }; });
  }
  keepReading(photo.id, photo.reading_version, reading);
}

/** @param {ServerState} next */
export function takeState(next) {
  if (next.run === state.run && next.version <= state.version) return;
  if (next.run !== state.run) readings.clear();
  state = next;
  if (!state.photos.some(p => p.id === selection.photo)) {
    selection.photo = state.photos.length ? state.photos[0].id : "";
    selection.strip = 0;
    selection.band = null;
  }
  say("state", "reading", "selection");
}

/** @param {string} photo @param {number} [strip] */
export function select(photo, strip = 0) {
  if (photo === selection.photo && strip === selection.strip) return;
  selection.photo = photo;
  selection.strip = strip;
  selection.band = null;
  keepSelection();
  say("selection");
}

/** @param {number|null} place @param {boolean} [quietly] more is about to be said */
export function chooseBand(place, quietly = false) {
  if (place === selection.band) return;
  selection.band = place;
  keepSelection();
  if (!quietly) say("selection");
}

function keepSelection() {
  try {
    sessionStorage.setItem("selection", JSON.stringify(selection));
  } catch { /* without storage a reload begins at the first photo */ }
}

/** @param {Place|null} next */
export function pointAt(next) {
  if (!next && !place) return;
  place = next;
  say("place");
}

/** @param {number} ms */
const pause = ms => new Promise(resolve => setTimeout(resolve, ms));

/** Follows the program's state for as long as the page is open. */
export async function follow() {
  try {
    Object.assign(selection, JSON.parse(sessionStorage.getItem("selection") || "{}"));
  } catch { /* as above */ }
  let address = "./state", lost = false;
  for (;;) {
    try {
      takeState(await get(address));
      if (lost) tell("The program answers again.");
      lost = false;
      address = "./state?after=" + state.version;
    } catch (error) {
      if (!lost && error instanceof Refusal) tell(error.problem.message + ". " + error.problem.remedy);
      lost = true;
      address = "./state";
      await pause(1500);
    }
    document.body.classList.toggle("lost", lost);
  }
}
