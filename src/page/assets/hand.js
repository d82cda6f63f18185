// SPDX-License-Identifier: GPL-3.0-or-later
/* Values set by hand, and the way back from them.
 *
 * 1. A change is drawn at once and sent; while one request is under way only the newest value waits. Bound shares take
 *    longest: they are asked for by a second request, once no newer value waits.
 * 2. Moves of one handle in one go are one step of the history.
 * 3. Undo sends the values before the step, redo those after it.
 * 4. The history outlives a reload: it waits in the tab's own storage, for the run of the program that it belongs to. */

import { post, Refusal } from "./api.js";
import { tell } from "./dom.js";
import { awaitAnswer, on, photoOf, readingOf, readingVersion, say, state, takePhoto, takeState } from "./store.js";

/** @typedef {import("./types.js").Hand} Hand */
/** @typedef {import("./types.js").HandStrip} HandStrip */
/** @typedef {{photo: string, what: string, before: Hand, after: Hand, at: number, key: string}} Step */

/* Moves of one handle that follow each other within this time are one step. */
const ONE_STEP_MS = 1200;
const STEPS_MAX = 200;

/** @type {Step[]} */
let done = [];
/** @type {Step[]} */
let undone = [];
/** @type {Map<string, Hand>} */
const waiting = new Map();
/** @type {Map<string, import("./types.js").Problem>} */
const refused = new Map();
/** Answered without bound shares. @type {Map<string, Hand>} */
const unfinished = new Map();
/** @type {string|null} */
let sending = null, quick = false;
/** @type {Map<string, Hand>} */
const drafts = new Map();

/** @returns {HandStrip} */
export function nothing() {
  return { corners_px: null, origin: null, front: null, upside_down: null, length_mm: null, role: null, ink: null, bands: null };
}

/** The values set by hand, an entry a strip. @param {string} id @returns {HandStrip[]} */
export function handOf(id) {
  const photo = photoOf(id), draft = drafts.get(id);
  const set = draft ? draft.strips : photo && photo.hand ? photo.hand.strips : [];
  const count = Math.max(set.length, readingOf(id)?.strips.length || 0);
  return Array.from({ length: count }, (_, i) => ({ ...nothing(), ...set[i] }));
}

/** Whether numbers of this photo are not yet those of the values that it shows. @param {string} id */
export const isBehind = id => waiting.has(id) || (sending === id && quick);

/** Why the last value of this photo was not taken. @param {string} id */
export const refusalOf = id => refused.get(id) || null;

export const unsent = () => waiting.size > 0 || (sending !== null && quick);
export const canUndo = () => done.length > 0;
export const canRedo = () => undone.length > 0;

/**
 * @param {string} id
 * @param {HandStrip[]} strips
 * @param {string} what for the history: "front of strip 2"
 * @param {string} key moves with one key are one step
 */
export function setHand(id, strips, what, key) {
  const before = { strips: handOf(id) }, after = { strips }, now = Date.now(), last = done[done.length - 1];
  if (last && last.photo === id && last.key === key && now - last.at < ONE_STEP_MS) {
    last.after = after;
    last.at = now;
  } else {
    done.push({ photo: id, what, before, after, at: now, key });
    done = done.slice(-STEPS_MAX);
  }
  undone = [];
  send(id, after);
}

/** @param {string} id @param {number} strip @param {Partial<HandStrip>} values @param {string} what @param {string} key */
export function setStrip(id, strip, values, what, key) {
  const strips = handOf(id);
  while (strips.length <= strip) strips.push(nothing());
  strips[strip] = { ...strips[strip], ...values };
  setHand(id, strips, what, key);
}

/** Ends a step: the next move of the same handle is one of its own. */
export function endStep() {
  if (done.length) done[done.length - 1].at = 0;
}

/** @param {Step[]} from @param {Step[]} to @param {"before"|"after"} side @param {string} word */
function move(from, to, side, word) {
  let step = from.pop();
  while (step && !photoOf(step.photo)) step = from.pop(); // of a photo that was removed
  if (!step) return;
  to.push({ ...step, at: 0 });
  tell(`${word}: ${step.what}.`);
  send(step.photo, step[side]);
}
export const undo = () => move(done, undone, "before", "Undone");
export const redo = () => move(undone, done, "after", "Done again");

function keepHistory() {
  try {
    sessionStorage.setItem("history", JSON.stringify({ run: state.run, done, undone }));
  } catch { /* without storage a reload begins a new history */ }
}

function findHistory() {
  try {
    const kept = JSON.parse(sessionStorage.getItem("history") || "{}");
    if (kept.run !== state.run) return;
    done = kept.done;
    undone = kept.undone;
  } catch { /* as above */ }
}

export function startHistory() {
  let looked = false;
  on(["state"], () => {
    if (looked || !state.run) return;
    looked = true;
    findHistory();
  });
  window.addEventListener("pagehide", keepHistory);
}

/** @param {Hand} hand @returns {Hand} */
function trimmed(hand) {
  const any = hand.strips.some(s => Object.values(s).some(v => v !== null));
  return any ? hand : { strips: [] };
}

/** @param {string} id @param {Hand} hand */
function send(id, hand) {
  drafts.set(id, hand);
  waiting.set(id, hand);
  say("hand");
  pump();
}

function pump() {
  if (sending !== null) return;
  const next = (waiting.size ? waiting : unfinished).entries().next();
  if (next.done) return;
  quick = waiting.size > 0;
  const [id, hand] = next.value;
  waiting.delete(id);
  unfinished.delete(id);
  sending = id;
  awaitAnswer(ask(id, hand).finally(() => {
    sending = null;
    say("state", "reading", "hand");
    pump();
  }));
}

/** @param {string} id @param {Hand} hand */
async function ask(id, hand) {
  try {
    const photo = await post(`./photos/${encodeURIComponent(id)}/hand`, { ...trimmed(hand), since: readingVersion(id), quick });
    refused.delete(id);
    if (!waiting.has(id)) drafts.delete(id);
    if (photo.unfinished && !waiting.has(id)) unfinished.set(id, hand);
    takePhoto(photo);
  } catch (error) {
    if (!waiting.has(id)) drafts.delete(id);
    if (!(error instanceof Refusal)) return;
    refused.set(id, error.problem);
    tell(error.problem.message);
  }
}

/** Sends conditions or pairs and takes the state that comes back. @param {string} address @param {unknown} body */
export async function change(address, body) {
  try {
    takeState(await post(address, body));
    return true;
  } catch (error) {
    if (error instanceof Refusal) tell(error.problem.message + ". " + error.problem.remedy);
    return false;
  }
}

/** Pairs chosen by hand so far, as they are sent. */
export const chosenPairs = () => state.pairs.filter(p => p.by_hand).map(p => ({ immediate: p.immediate, dried: p.dried }));
