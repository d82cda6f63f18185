// SPDX-License-Identifier: GPL-3.0-or-later
/* Photos in: dropped, chosen or pasted, many at once; and the tray that shows how far each has come. */

import { remove, Refusal, upload } from "./api.js";
import { byId, make, refill, tell } from "./dom.js";
import { on, say, select, selection, state } from "./store.js";

/** @typedef {import("./types.js").Problem} Problem */
/** @typedef {{file: File, part: number, problem: Problem|null}} Sending */


/** @type {Sending[]} */
let sendings = [];
let under_way = false;

export const uploading = () => sendings.some(s => !s.problem);

/** @param {Iterable<File>} files */
export function addFiles(files) {
  const added = [...files].map(file => ({ file, part: 0, problem: null }));
  if (!added.length) return;
  sendings.push(...added);
  tell(`Adding ${added.length} file${added.length === 1 ? "" : "s"}.`);
  say("uploads");
  void pump();
}

/* One after the other: photos of one strip each are paired in the order given. */
async function pump() {
  const next = sendings.find(s => s.part === 0 && !s.problem);
  if (!next || under_way) return;
  under_way = true;
  next.part = 1e-9;
  try {
    const limit = state.limits?.photo_bytes;
    if (limit && next.file.size > limit) {
      throw new Refusal({ code: "too-large", message: `${next.file.name} has ${mega(next.file.size)} MB, and the limit is ${mega(limit)} MB`, remedy: "Save it smaller and add it again." });
    }
    await upload(next.file, part => {
      next.part = Math.max(part, 1e-9);
      say("uploads");
    });
    sendings = sendings.filter(s => s !== next);
  } catch (error) {
    next.problem = error instanceof Refusal ? error.problem : { code: "unknown", message: String(error), remedy: "" };
    tell(next.problem.message);
  } finally {
    under_way = false;
    say("uploads", "state");
    void pump();
  }
}

/** @param {number} bytes */
const mega = bytes => Math.ceil(bytes / 1e6);

/** @param {Sending} sending */
function sendingItem(sending) {
  const problem = sending.problem;
  const body = make("div", { class: "thumb button" }, make("span", {},
    make("span", { class: "name", text: sending.file.name || "pasted picture" }), problem ? "not added" : "uploading"));
  return make("li", {}, body,
    problem ? make("ul", { class: "errors" }, make("li", {}, make("b", { text: problem.message + ". " }), problem.remedy)) :
      make("progress", { max: 1, value: sending.part, "aria-label": "Upload of " + sending.file.name }),
    problem && make("button", {
      type: "button", class: "small", text: "Dismiss", onclick: () => {
        sendings = sendings.filter(s => s !== sending);
        say("uploads");
      }
    }));
}

/** @param {import("./types.js").Photo} photo */
function stateWords(photo) {
  if (photo.error) return "⚠ not read";
  if (photo.phase === "waiting") return "waits to be read";
  if (photo.phase === "reading") return "is being read";
  return `${photo.strip_count} strip${photo.strip_count === 1 ? "" : "s"}`;
}

/** @param {import("./types.js").Photo} photo @param {boolean} saved */
function photoItem(photo, saved) {
  const words = stateWords(photo);
  const inner = [
    saved || !photo.width_px ? null : make("img", { src: `./photos/${encodeURIComponent(photo.id)}/picture?side=160`, alt: "" }),
    make("span", {}, make("span", { class: "name", text: photo.name }), make("span", { class: photo.error ? "problem" : "", text: saved ? "saved reading, " + words : words }))
  ];
  return make("li", {},
    saved ? make("div", { class: "thumb button" }, ...inner) : make("button", {
      type: "button", class: "thumb", "data-key": "photo-" + photo.id, "aria-current": photo.id === selection.photo ? "true" : null,
      onclick: () => select(photo.id)
    }, ...inner),
    photo.phase === "done" ? null : make("progress", { max: 1, value: photo.phase === "waiting" ? 0 : photo.progress, "aria-label": "Reading of " + photo.name }),
    make("button", { type: "button", class: "small", "data-key": "remove-" + photo.id, "aria-label": "Remove " + photo.name, text: "Remove", onclick: () => take(photo) }));
}

/** @param {import("./types.js").Photo} photo */
async function take(photo) {
  if (!window.confirm(`Remove ${photo.name} and all that was set on it from this page?`)) return;
  try {
    await remove(photo.id);
    tell(photo.name + " is removed.");
  } catch (error) {
    if (error instanceof Refusal) tell(error.problem.message);
  }
}

let announced = "";

/* Says in words what has come out, once. */
function announce() {
  const open = state.photos.filter(p => p.phase !== "done").length, key = `${state.photos.length}/${open}`;
  if (key === announced) return;
  const first = !announced;
  announced = key;
  if (first || !state.photos.length) return;
  const failed = state.photos.filter(p => p.error).length;
  tell(open ? `${open} of ${state.photos.length} photos are still to be read.` :
    `All ${state.photos.length} photo${state.photos.length === 1 ? " is" : "s are"} read${failed ? `, ${failed} with a problem` : ""}.`);
}

function show() {
  document.body.classList.toggle("empty", !state.photos.length && !state.saved.length && !sendings.length);
  document.body.classList.toggle("saved-only", !state.photos.length);
  const looks = [...state.photos, ...state.saved].map(p => [p.id, p.name, p.phase, p.progress, p.width_px, p.strip_count, p.error]);
  refill(byId("tray-list"), [looks, selection.photo, sendings.map(s => [s.file.name, s.part, s.problem])],
    () => [...state.photos.map(p => photoItem(p, false)), ...state.saved.map(p => photoItem(p, true)), ...sendings.map(sendingItem)]);
  announce();
}

/** @param {DragEvent} e */
const hasFiles = e => !!e.dataTransfer && [...e.dataTransfer.types].includes("Files");

function listenForDrops() {
  const veil = byId("drop-veil");
  let depth = 0;
  window.addEventListener("dragenter", e => {
    if (!hasFiles(e)) return;
    e.preventDefault();
    depth++;
    veil.hidden = false;
  });
  window.addEventListener("dragleave", () => {
    depth = Math.max(0, depth - 1);
    veil.hidden = depth === 0;
  });
  window.addEventListener("dragover", e => { if (hasFiles(e)) e.preventDefault(); });
  window.addEventListener("drop", e => {
    depth = 0;
    veil.hidden = true;
    if (!hasFiles(e) || !e.dataTransfer) return;
    e.preventDefault();
    addFiles(e.dataTransfer.files);
  });
}

export function startPhotos() {
  const picker = /** @type {HTMLInputElement} */ (byId("picker"));
  picker.addEventListener("change", () => {
    addFiles(picker.files || []);
    picker.value = "";
  });
  window.addEventListener("paste", e => {
    if (!e.clipboardData || !e.clipboardData.files.length) return;
    e.preventDefault();
    addFiles(e.clipboardData.files);
  });
  listenForDrops();
  on(["state", "uploads", "selection"], show);
}
