// SPDX-License-Identifier: GPL-3.0-or-later
/* What was read from the chosen strip: words, the strip beside its profile, bands, and what was set by hand. */

import { addBand, chosenBand } from "./bands.js";
import { css } from "./colour.js";
import { byId, make, markBehind, problemList, refill, tell, write, withRange } from "./dom.js";
import { stripName } from "./editor.js";
import { positionOf, rfOf } from "./geometry.js";
import { handOf, isBehind, nothing, refusalOf, setHand, setStrip } from "./hand.js";
import { chooseBand, on, photoOf, pictureOf, place, pointAt, readingOf, readingVersion, select, selection } from "./store.js";
import { traceOf } from "./trace.js";
import { frontText, hueText, number, rfText, shareText } from "./words.js";

/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./types.js").Band} Band */
/** @typedef {import("./types.js").HandStrip} HandStrip */

/** @type {{key: string, version: number, picture: string, plot: ReturnType<typeof strandlineProfilePlot.create>}|null} */
let plotted = null;
let kind = "hue";

function chosen() {
  const strip = readingOf(selection.photo)?.strips[selection.strip];
  return strip || null;
}

function showChoice() {
  const strips = readingOf(selection.photo)?.strips || [];
  const names = strips.map((strip, i) => stripName(selection.photo, i, strip));
  refill(byId("strip-choice"), [selection.photo, selection.strip, names], () => names.map((text, i) => make("button", {
    type: "button", "data-key": "strip-" + i, "aria-pressed": String(i === selection.strip), text,
    onclick: () => select(selection.photo, i)
  })));
}

/** The chosen strip's sentences. */
const wordsOf = () => photoOf(selection.photo)?.words?.[selection.strip];

/** What the list of bands does not say; all of it where there is none. @param {Strip} strip */
function summary(strip) {
  const words = wordsOf();
  return !words ? "" : strip.bands.length && !strip.smeared ? `${words.retained} ${words.front}`.trim() : words.whole;
}

/** @param {Strip} strip */
function showPlot(strip) {
  const key = `${selection.photo}/${selection.strip}`, version = readingVersion(selection.photo), words = wordsOf()?.whole || "";
  if (plotted && plotted.key === key) {
    if (plotted.version === version) return;
    plotted.version = version;
    plotted.plot.update(traceOf(strip), words);
    if (plotted.picture !== pictureOf(selection.photo, selection.strip)) plotted.plot.setImage(picture());
    plotted.picture = pictureOf(selection.photo, selection.strip);
    return;
  }
  if (plotted) plotted.plot.destroy();
  const photo = selection.photo, index = selection.strip;
  const plot = strandlineProfilePlot.create(byId("strip-plot"), traceOf(strip), {
    name: "reading", words, kind, image: picture(),
    choose: next => { kind = next; },
    point: at => {
      const now = readingOf(photo)?.strips[index];
      if (now && at !== null) pointAt({ photo, strip: index, position: positionOf(now, at) });
    }
  });
  plotted = { key, version, plot, picture: pictureOf(photo, index) };
}

function picture() {
  const image = new Image();
  image.src = pictureOf(selection.photo, selection.strip);
  return image;
}

/** @param {Strip} strip @param {Band} band @param {number} i */
function bandRow(strip, band, i) {
  const show = () => pointAt({ photo: selection.photo, strip: selection.strip, position: positionOf(strip, band.rf) });
  const row = make("tr", { "data-band": i, onpointerenter: show },
    make("th", { scope: "row" }, make("button", { type: "button", "data-key": "band-" + i, "aria-pressed": String(i === chosenBand(strip)), onclick: () => choose(strip, i), onfocus: show, "aria-label": `Band ${i + 1}, ${band.hue_name}${band.limits_given ? ", limits by hand" : ""}: show its limits in the photo` },
      make("span", { class: "swatch", colour: css(band.lab) }), `${i + 1}. ${band.hue_name}`, band.limits_given && make("span", { class: "tag", text: "by hand" }))));
  row.append(withRange(rfText(band.rf, band.rf_interval)), withRange(shareText(band.share, band.share_interval)),
    make("td", { text: band.retained ? "yes" : "no" }), make("td", { class: "n", text: number(band.resolution_to_next, 2) }));
  return row;
}

/** Its limits become handles in the photo; pressed again they go. @param {Strip} strip @param {number} i */
function choose(strip, i) {
  const chosen = chosenBand(strip) === i;
  chooseBand(chosen ? null : positionOf(strip, strip.bands[i].rf));
  tell(chosen ? "No band is chosen." : `Band ${i + 1} is chosen: its start and end are handles in the photo.`);
}

/** @param {Strip} strip */
function shapeTable(strip) {
  if (!strip.bands.length) return null;
  return make("details", { "data-key": "shape" }, make("summary", { text: "Shape and hue of the bands" }), make("table", {},
    head(["Band", "Width at half height, Rf", "Asymmetry", "Hue angle"]), make("tbody", {}, ...strip.bands.map((band, i) => make("tr", {},
      make("th", { scope: "row", text: `${i + 1}. ${band.hue_name}` }), ...[number(band.half_width_rf, 3), number(band.asymmetry, 2),
        hueText(band.hue_deg, band.hue_interval)].map(text => make("td", { class: "n", text })))))));
}

/** @param {string[]} names */
const head = names => make("thead", {}, make("tr", {}, ...names.map((text, i) => make("th", { scope: "col", class: i === 0 || text === "Retained" ? "" : "n", text }))));

/** @param {Strip} strip */
function bandTable(strip) {
  if (!strip.bands.length) return null;
  return make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Bands" }, make("table", { id: "bands" },
    make("caption", {}, make("span", { text: "Bands, lowest first, with 95 % intervals" })),
    head(["Hue", "Rf", "Share", "Retained", "Resolution to the next"]),
    make("tbody", {}, ...strip.bands.map((band, i) => bandRow(strip, band, i)))));
}

/** @param {Strip} strip */
function reachTable(strip) {
  if (!strip.reach || !strip.reach.length) return null;
  return make("details", { "data-key": `reach-${selection.photo}/${selection.strip}`, open: !strip.bands.length || strip.smeared }, make("summary", { text: "How far each colour reaches" }),
    make("table", {}, head(["Hue", "From Rf", "To Rf", "Share"]), make("tbody", {}, ...strip.reach.map(r => make("tr", {},
      make("th", { scope: "row", text: r.hue_name }), make("td", { class: "n", text: number(r.first_rf, 2) }),
      make("td", { class: "n", text: number(r.last_rf, 2) }), make("td", { class: "n", text: shareText(r.share) }))))));
}

/** @param {Strip} strip */
function facts(strip) {
  const se = (/** @type {number|null|undefined} */ v, /** @type {boolean|undefined} */ given) => v && !given ? ` ± ${number(1.96 * v, 3)}` : "";
  const rows = [["Origin", strip.origin === null ? "not found" : `${number(strip.origin, 3)}${se(strip.origin_se, strip.origin_given)} of the length, ${strip.origin_given ? "set by hand" : "found"}`],
    ["Front", `${strip.front === null ? "" : `${number(strip.front, 3)}${se(strip.front_se, strip.front_given)} of the length, `}${frontText(strip.front_seen)}`],
    ["Corners, lower left first", strip.corners_px.map(c => `(${number(c[0], 0)}, ${number(c[1], 0)})`).join(" ") + " px"]];
  if (strip.length_mm !== null) rows.push(["Length", number(strip.length_mm, 1) + " mm"]);
  return make("details", { "data-key": "where" }, make("summary", { text: "Where things lie on the strip" }),
    make("dl", {}, ...rows.flatMap(([name, text]) => [make("dt", { text: name }), make("dd", { text })])));
}

/** @param {string} name @param {Node} field */
const labelled = (name, field) => make("label", {}, name, field);

/** Role, ink and length, and what was set by hand with the way back. */
function showSettings() {
  const strips = readingOf(selection.photo)?.strips || [], strip = chosen(), index = selection.strip, photo = selection.photo;
  const root = byId("strip-settings"), set = handOf(photo);
  if (!strip) {
    const found = photoOf(photo), can = !!found && found.phase === "done" && found.width_px > 0;
    refill(root, can, () => [can ? addStripButton() : null]);
    return;
  }
  refill(root, [photo, index, set[index], strip.ink, stripName(photo, index, strip), strips.length], () => settings(photo, index, set[index]));
}

/** @param {string} photo @param {number} index @param {HandStrip} mine */
function settings(photo, index, mine) {
  const strips = readingOf(photo)?.strips || [], strip = strips[index], whose = `strip ${index + 1}, `;
  const role = make("select", { "data-key": "role", onchange: () => setStrip(photo, index, { role: role.value || null }, whose + "role", "role") },
    ...[["", "as it lies"], ["immediate", "dipped at once"], ["dried", "dried first"], ["single", "single strip"]].map(([value, text]) => make("option", { value, text, selected: (mine.role || "") === value })));
  const ink = make("input", { "data-key": "ink", maxlength: 95, value: mine.ink || "", placeholder: strip.ink, onchange: () => setStrip(photo, index, { ink: ink.value.trim() || null }, whose + "ink", "ink") });
  const length = make("input", { "data-key": "length", inputmode: "decimal", maxlength: 8, value: mine.length_mm ?? "", onchange: () => setLength(length, photo, index) });
  const turn = make("button", { type: "button", "data-key": "turn", text: "Other end in the water", onclick: () => turnOver(index) });
  return [make("h3", { text: stripName(photo, index, strip) }),
    make("div", { class: "settings" }, labelled("Role", role), labelled("Ink", ink), labelled("Length, mm", length), turn, make("button", { type: "button", "data-key": "add-band", text: "Mark a band", onclick: () => addNew(index) }), addStripButton(),
      strips.length > 1 && make("button", { type: "button", "data-key": "drop-strip", text: "This is no strip", onclick: () => dropStrip(index) })),
    byHandList(mine, index)];
}

/* What is pressed acts on the strip as it is then. */
/** @param {number} index */
function addNew(index) {
  const strip = readingOf(selection.photo)?.strips[index];
  if (strip) addBand(strip, index);
}

/** @param {HTMLInputElement} field @param {string} photo @param {number} index */
function setLength(field, photo, index) {
  const value = field.value.trim() === "" ? null : Number(field.value.replace(",", "."));
  const bad = value !== null && !(value > 0 && value <= 5000);
  field.setCustomValidity(bad ? "A length in mm, like 120" : "");
  field.reportValidity();
  if (!bad) setStrip(photo, index, { length_mm: value }, `strip ${index + 1}, length`, "length");
}

/* Set by hand, the front end is the one that lies lower in the photo or the one that lies higher. */
/** @param {number} index */
function turnOver(index) {
  const strip = readingOf(selection.photo)?.strips[index];
  if (!strip) return;
  const mine = handOf(selection.photo)[index], middle = (/** @type {number} */ a, /** @type {number} */ b) => (strip.corners_px[a][1] + strip.corners_px[b][1]) / 2;
  const front_lower = mine.upside_down ?? middle(2, 3) > middle(0, 1);
  const c = mine.corners_px;
  setStrip(selection.photo, index, { upside_down: !front_lower, origin: null, front: null, bands: null, corners_px: c ? [c[2], c[3], c[0], c[1]] : null }, `strip ${index + 1}, which end was in the water`, "turn");
}

/** @param {number} index */
function dropStrip(index) {
  const strips = readingOf(selection.photo)?.strips || [];
  const left = handOf(selection.photo).map((h, i) => ({ ...h, corners_px: h.corners_px || strips[i].corners_px })).filter((_, i) => i !== index);
  setHand(selection.photo, left, `strip ${index + 1} left out`, "drop-" + index);
  select(selection.photo, 0);
}

function addStripButton() {
  return make("button", { type: "button", "data-key": "add-strip", text: "Mark a strip by hand", onclick: addStrip });
}

/* A strip of the usual shape in the middle of the photo, to be dragged where it belongs. */
function addStrip() {
  const photo = photoOf(selection.photo), strips = readingOf(selection.photo)?.strips || [];
  if (!photo) return;
  const w = photo.width_px, h = photo.height_px, hand = handOf(photo.id).map((s, i) => ({ ...s, corners_px: s.corners_px || strips[i]?.corners_px || null }));
  /** @type {import("./types.js").Point[]} */
  const corners = [[.42 * w, .85 * h], [.58 * w, .85 * h], [.58 * w, .15 * h], [.42 * w, .15 * h]];
  hand.push({ ...nothing(), corners_px: corners.map(c => /** @type {import("./types.js").Point} */(c.map(Math.round))) });
  setHand(photo.id, hand, "a strip marked by hand", "add");
}

const GIVE_BACK = /** @type {[keyof HandStrip, string][]} */ ([["corners_px", "corners"], ["origin", "origin"], ["front", "front"], ["bands", "limits of bands"], ["upside_down", "which end was in the water"]]);

/** @param {HandStrip} mine @param {number} index */
function byHandList(mine, index) {
  const set = GIVE_BACK.filter(([name]) => mine[name] !== null);
  if (!set.length) return null;
  return make("ul", { class: "by-hand-list", "aria-label": "Set by hand" }, ...set.map(([name, words]) => make("li", {}, make("button", {
    type: "button", class: "small", "data-key": "find-" + name, "data-find": name, text: `Set by hand: ${words}. Find ${name === "bands" || name === "corners_px" ? "them" : "it"} again`,
    onclick: () => setStrip(selection.photo, index, { [name]: null }, `strip ${index + 1}, ${words} given back`, "find-" + name)
  }))));
}

function showProblems() {
  const photo = photoOf(selection.photo), reading = readingOf(selection.photo), refused = refusalOf(selection.photo);
  const errors = /** @type {import("./types.js").Problem[]} */ ([refused, photo?.error].filter(p => !!p)), warnings = reading?.warnings || [];
  const waiting = photo && photo.phase !== "done" ? photo.phase === "waiting" ? "This photo waits to be read." : "This photo is being read." : "";
  refill(byId("photo-problems"), [waiting, errors, warnings], () => [waiting ? make("p", { class: "muted", text: waiting }) : null, problemList(errors, "errors"), problemList(warnings, "warnings")]);
  write(byId("photo-title"), photo ? photo.name : "Photo");
}

/* Options of the command line that the page has as well. */
const HERE = / with --(?:origin|front|length-mm)/;

/* What limits this photo's numbers most, in the library's own words. */
function showAdvice() {
  if (photoOf(selection.photo)?.unfinished) return;
  const advice = readingOf(selection.photo)?.advice || [];
  refill(byId("advice"), advice, () => advice.length ? [make("h3", { text: "What would help most next time" }), make("ol", {}, ...advice.map(a => make("li", { text: a.message.replace(HERE, " here") })))] : []);
}

function show() {
  const strips = readingOf(selection.photo)?.strips || [];
  if (strips.length && selection.strip >= strips.length) selection.strip = 0;
  const strip = chosen();
  showProblems();
  showSettings();
  showAdvice();
  byId("reading").hidden = !strip;
  markBehind(byId("reading"), isBehind(selection.photo));
  if (!strip) return;
  showChoice();
  write(byId("strip-words"), summary(strip));
  refill(byId("strip-problems"), strip.warnings, () => [problemList(strip.warnings, "warnings")]);
  const { profile, ...numbers } = strip;
  refill(byId("strip-tables"), [selection.photo, selection.strip, chosenBand(strip), numbers], () => [bandTable(strip), shapeTable(strip), reachTable(strip), facts(strip)]);
  showPlace();
}

function showProfile() {
  const strip = chosen();
  if (!strip || strip.profile.position.length < 2) return;
  showPlot(strip);
  pointInPlot(strip);
}

/** Where on the strip shown is pointed at. @param {Strip} strip */
const pointedRf = strip => place && place.photo === selection.photo && place.strip === selection.strip ? rfOf(strip, place.position) : null;

/** @param {Strip} strip */
function pointInPlot(strip) {
  const rf = pointedRf(strip);
  if (rf !== null && plotted && plotted.key === `${selection.photo}/${selection.strip}`) plotted.plot.point(rf);
}

/** The place that was pointed at, in the list. */
function showPlace() {
  const strip = chosen(), rf = strip && pointedRf(strip);
  if (!strip) return;
  document.querySelectorAll("#bands tbody tr").forEach((row, i) => {
    const band = strip.bands[i];
    row.classList.toggle("pointed", rf !== null && !!band && band.start_rf !== null && band.end_rf !== null && rf >= band.start_rf && rf <= band.end_rf);
  });
}

export function startStripView() {
  on(["state", "reading", "selection", "hand"], show);
  on(["place"], () => {
    const strip = chosen();
    showPlace();
    if (strip) pointInPlot(strip);
  });
  on(["state", "reading", "selection"], showProfile, true);
}
