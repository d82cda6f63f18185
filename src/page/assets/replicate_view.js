// SPDX-License-Identifier: GPL-3.0-or-later
/* Replicates: what several strips of one ink that were treated alike say together, and which of them disagrees. */

import { css } from "./colour.js";
import { byId, make, markBehind, problemList, refill, table, tell, withRange } from "./dom.js";
import { isBehind } from "./hand.js";
import { verdictParts } from "./pair_view.js";
import { on, photoOf, select, selection, state } from "./store.js";
import { number, rfText, shareText } from "./words.js";

/** @typedef {import("./types.js").Replicate} Replicate */
/** @typedef {import("./types.js").Combined} Combined */
/** @typedef {import("./types.js").Mean} Mean */
/** @typedef {import("./types.js").StripRef} StripRef */

/** @param {StripRef} ref */
const stripWords = ref => `strip ${ref[1] + 1} of ${photoOf(ref[0])?.name || "a photo"}`;

/** @param {string} text */
const capital = text => text.charAt(0).toUpperCase() + text.slice(1);

/** Brings the strip up in photo and reading. @param {StripRef} ref */
function show(ref) {
  select(ref[0], ref[1]);
  byId("bench").scrollIntoView({ block: "start" });
  byId("stage-frame").focus({ preventScroll: true });
  tell(`${capital(stripWords(ref))} is shown.`);
}

/** @param {StripRef} ref @param {string} key */
function stripButton(ref, key) {
  if (!state.photos.some(p => p.id === ref[0])) return capital(stripWords(ref)); // a saved reading has no photo to show
  return make("button", {
    type: "button", "data-key": key, text: capital(stripWords(ref)), onclick: () => show(ref),
    "aria-current": ref[0] === selection.photo && ref[1] === selection.strip ? "true" : null
  });
}

/** "the Rf of its pink and blue bands" @param {string} what @param {string[]} hues */
function ofBands(what, hues) {
  const last = hues[hues.length - 1], others = hues.slice(0, -1).join(", ");
  return last && `the ${what} of its ${others ? `${others} and ${last} bands` : last + " band"}`;
}

/** The numbers by which a strip is further from the others than chance allows. @param {Replicate} set @param {number} i */
function differences(set, i) {
  const far = (/** @type {Mean} */ mean) => Math.abs(mean.deviations[i] ?? 0) > 1;
  const hues = (/** @type {"rf"|"share"} */ name) => set.bands.filter(band => far(band[name])).map(band => band.hue_name);
  return [far(set.bound) && "its bound share", far(set.retained) && "its retained share", ofBands("Rf", hues("rf")), ofBands("share", hues("share"))].filter(text => !!text).join(", ");
}

/** @param {Mean} mean */
const shareSpread = mean => mean.between_sd === null ? "–" : number(100 * mean.between_sd, 1) + "\u00a0%";

/** @param {Replicate} set @param {string} key @param {number} i */
function stripRow(set, key, i) {
  const how = differences(set, i), others = set.strips.length === 2 ? "the other" : "the others";
  return make("tr", { class: how ? "differs" : "" }, make("th", { scope: "row" }, stripButton(set.strips[i], `${key}-${i}`),
    how && make("span", { class: "why", text: `⚠ differs from ${others}: ${how}` })), withRange(set.alone[i].retained), withRange(set.alone[i].bound));
}

/** @param {Replicate} set @param {string} key */
function stripTable(set, key) {
  return table("strips", "What lay at the origin, strip by strip and together", ["Strip", "Retained share", "Bound share"], [...set.strips.map((_, i) => stripRow(set, key, i)),
    make("tr", { class: "mean" }, make("th", { scope: "row", text: "Mean" }), withRange(shareText(set.retained.value, set.retained.interval)), withRange(shareText(set.bound.value, set.bound.interval))),
    make("tr", {}, make("th", { scope: "row", text: "Spread between strips" }), withRange(shareSpread(set.retained)), withRange(shareSpread(set.bound)))]);
}

/** @param {Replicate} set */
function bandTable(set) {
  if (!set.bands.length) return null;
  return table("dyes", "Dyes of all strips, lowest first: means with 95 % intervals, and the standard deviation between strips", ["Hue", "Rf", "Spread", "Share", "Spread", "Strips"],
    set.bands.map((band, i) => make("tr", {}, make("th", { scope: "row" }, make("span", { class: "swatch", colour: css(band.lab) }), `${i + 1}. ${band.hue_name}`, band.retained && make("span", { class: "tag", text: "retained" })),
      withRange(rfText(band.rf.value, band.rf.interval)), withRange(number(band.rf.between_sd, 3)), withRange(shareText(band.share.value, band.share.interval)), withRange(shareSpread(band.share)),
      withRange(`${band.rf.count} of ${set.strips.length}`))));
}

/** @param {Replicate} set @param {number} n */
function setCard(set, n) {
  const title = `${set.ink}, ${set.treatment}: ${set.strips.length} strips together`;
  return make("article", { class: "set", "aria-label": title }, make("h3", { text: title }), problemList(set.warnings, "warnings"),
    make("div", { class: "tables" }, stripTable(set, "together-" + n), bandTable(set)));
}

/** @param {Combined} combined */
function verdict(combined) {
  return make("article", { class: "set", "aria-label": `Verdict of all strips: ${combined.ink}` }, make("h3", { text: `${combined.ink}: does it stay when water passes? All strips together` }),
    ...verdictParts(combined),
    combined.caution ? make("p", { class: "caution", text: combined.caution }) : null);
}

function draw() {
  const root = byId("replicates"), { replicates, combined } = state;
  root.hidden = !replicates.length;
  markBehind(root, replicates.some(set => set.unfinished || set.strips.some(ref => isBehind(ref[0]))));
  if (replicates.some(set => set.unfinished)) return; // means, and which strip disagrees, hang on bound shares too: what stood there is marked as old
  const names = [...state.photos, ...state.saved].map(p => [p.id, p.name]);
  refill(root, [replicates, combined, names, selection.photo, selection.strip], () => replicates.length ? [make("h2", { id: "replicates-title", text: "Replicates" }),
    make("p", { class: "muted", text: "Strips of one ink that were treated alike, taken together. How far they differ shows what one strip alone can't tell." }),
    ...combined.map(verdict), ...replicates.map(setCard)] : []);
}

export function startReplicates() {
  on(["state", "reading", "selection", "hand"], draw);
}
