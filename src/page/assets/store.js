// SPDX-License-Identifier: GPL-3.0-or-later
/* What is on the page. The truth lies with the program: this copy follows it by long polling, so a
 * reload loses nothing.
 *
 * Views subscribe to topics: "state" (photos, pairs, conditions), "reading" (numbers), "selection",
 * "place" (the spot pointed at), "uploads", "hand" (values set by hand, sent or not), "size" (of what is drawn one to one). What was said is drawn once, in
 * the next frame: words and numbers first, plots in the frame after, so that these never hold numbers up. */

import { get, Refusal } from "./api.js";
import { tell } from "./dom.js";

/** @typedef {import("./types.js").ServerState} ServerState */
/** @typedef {import("./types.js").Photo} Photo */
/** @typedef {import("./types.js").Reading} Reading */
/** @typedef {import("./types.js").Place} Place */
/** @typedef {"state"|"reading"|"selection"|"place"|"uploads"|"hand"|"size"} Topic */

/** @type {ServerState} */
export let state = {
  version: -1, run: "", photos: [], saved: [], pairs: [], replicates: [], combined: [],
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
/** @type {{topics: Topic[], draw: () => void, plot: boolean}[]} */
const views = [];
/** What was said and is not drawn yet, for numbers and for plots. @type {{now: Set<Topic>, next: Set<Topic>}} */
const said = { now: new Set(), next: new Set() };
let waiting = false, turn = false;

/** @param {Topic[]} topics @param {() => void} draw @param {boolean} [plot] it may come a frame later */
export function on(topics, draw, plot = false) {
  views.push({ topics, draw, plot });
}

/** @param {Topic[]} topics */
export function say(...topics) {
  for (const topic of topics) {
    said.now.add(topic);
    if (views.some(view => view.plot && view.topics.includes(topic))) said.next.add(topic);
  }
  wait();
}

/* A page that is not seen has no frames, but its title and its words follow all the same. */
function wait() {
  if (waiting) return;
  waiting = true;
  if (document.hidden) setTimeout(frame);
  else requestAnimationFrame(frame);
}

/** @param {Set<Topic>} set @param {boolean} plot */
function drawAll(set, plot) {
  const topics = [...set];
  set.clear();
  views.filter(view => view.plot === plot && view.topics.some(t => topics.includes(t))).forEach(view => view.draw());
}

function frame() {
  const plots = turn ? new Set(said.next) : null;
  waiting = false;
  drawAll(said.now, false);
  if (plots) {
    plots.forEach(topic => said.next.delete(topic));
    drawAll(plots, true);
  }
  turn = said.next.size > 0;
  if (turn) wait();
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

/** Who is in a pair with whom. @param {import("./types.js").Pair[]} pairs */
const matches = pairs => JSON.stringify(pairs.map(p => [p.immediate, p.dried, p.by_hand]));

/** Whether the answer has all that is new: nothing else has changed meanwhile, and no offer to other photos. @param {import("./types.js").Answer} answer @param {Photo} before */
const isWhole = (answer, before) => answer.version === state.version + 1 && answer.strip_count === before.strip_count && matches(answer.pairs) === matches(state.pairs);

/** A photo as answered to a hand-set value, with what has changed of its reading; the caller says it. @param {import("./types.js").Answer} answer */
export function takePhoto(answer) {
  const at = state.photos.findIndex(p => p.id === answer.id);
  if (at < 0) return;
  const { reading, reading_since, version, pairs, replicates, combined, ...photo } = answer, held = readings.get(photo.id);
  if (isWhole(answer, state.photos[at])) Object.assign(state, { version, pairs, replicates, combined });
  state.photos[at] = photo;
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

/** What is told of by the answer that is under way. @type {Promise<void>|null} */
let answer = null;

/** Until this has come, no state is taken that would ask for the same once more. @param {Promise<void>} coming */
export function awaitAnswer(coming) {
  answer = coming;
}

/** Follows the program's state for as long as the page is open. */
export async function follow() {
  try {
    Object.assign(selection, JSON.parse(sessionStorage.getItem("selection") || "{}"));
  } catch { /* as above */ }
  let address = "./state", lost = false;
  for (;;) {
    try {
      const next = await get(address);
      await answer;
      takeState(next);
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
