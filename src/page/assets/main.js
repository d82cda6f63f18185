// SPDX-License-Identifier: GPL-3.0-or-later
/* Puts the page together. What each part does stands in its own module. */

import { startConditions } from "./conditions.js";
import { byId, problemList, refill } from "./dom.js";
import { startEditor } from "./editor.js";
import { startExports } from "./exports.js";
import { canRedo, canUndo, redo, startHistory, undo, unsent } from "./hand.js";
import { startOverlay } from "./overlay_view.js";
import { startPairView } from "./pair_view.js";
import { startPhotos, uploading } from "./photos.js";
import { startReplicates } from "./replicate_view.js";
import { follow, on, state } from "./store.js";
import { startStripView } from "./strip_view.js";

/** @param {KeyboardEvent} e */
function shortcuts(e) {
  const typing = e.target instanceof HTMLInputElement && !["checkbox", "radio", "file"].includes(e.target.type);
  if (typing || e.altKey || !(e.ctrlKey || e.metaKey)) return;
  const key = e.key.toLowerCase();
  if (key !== "z" && key !== "y") return;
  e.preventDefault();
  if (key === "y" || e.shiftKey) redo();
  else undo();
}

function showTools() {
  /** @type {HTMLButtonElement} */ (byId("undo")).disabled = !canUndo();
  /** @type {HTMLButtonElement} */ (byId("redo")).disabled = !canRedo();
}

/* What is not on the disk yet stays in sight; what a start found stands above the photos. */
function showKept() {
  const error = state.keep?.error ?? null, told = state.keep?.told ?? [];
  refill(byId("unsaved"), error, () => [error && problemList([error], "errors")]);
  refill(byId("told"), told, () => [problemList(told, "warnings")]);
  byId("keep").hidden = error !== null;
}

startHistory();
startPhotos();
startEditor();
startStripView();
startPairView();
startReplicates();
startOverlay();
startExports();
startConditions();
byId("undo").addEventListener("click", undo);
byId("redo").addEventListener("click", redo);
window.addEventListener("keydown", shortcuts);
on(["state"], showTools);
on(["state"], showKept);
/* Plots are drawn for the screen: on paper they keep that size and are scaled as a whole. */
const PAPER_PX = 680;
window.addEventListener("beforeprint", () => {
  for (const plot of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(".plot"))) {
    plot.style.setProperty("--wide", `${plot.clientWidth}px`);
    plot.style.setProperty("--fit", String(Math.min(1, PAPER_PX / (plot.clientWidth || PAPER_PX))));
  }
});
/* What has not reached the program yet would be lost. */
window.addEventListener("beforeunload", e => {
  if (uploading() || unsent() || state.keep?.error) e.preventDefault();
});
void follow();
