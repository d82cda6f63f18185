// SPDX-License-Identifier: GPL-3.0-or-later
/* What can be taken away, and the command line that gives the same. */

import { getText, Refusal } from "./api.js";
import { byId, fill, make, tell } from "./dom.js";
import { stripName } from "./editor.js";
import { overlayChoice } from "./overlay_view.js";
import { on, photoOf, readingOf, selection, state } from "./store.js";

/** @param {string} name @param {[string, string][]} links */
function line(name, links) {
  return make("li", {}, make("span", { text: name }), ...links.map(([text, address]) => make("a", { href: "./export/" + address, download: "", text, "aria-label": `${name}: ${text}` })));
}

/** @param {string} kind @param {string} query @returns {[string, string][]} */
const pictures = (kind, query) => ["PNG", "SVG", "PDF"].map(f => [f, `${kind}.${f.toLowerCase()}?${query}`]);

/** @param {string} title @param {(HTMLElement|null)[]} lines */
function group(title, lines) {
  const here = lines.filter(l => !!l);
  return here.length ? [make("h3", { text: title }), make("ul", {}, .../** @type {HTMLElement[]} */(here))] : [];
}

function show() {
  const menu = /** @type {HTMLDetailsElement} */ (byId("take"));
  if (!menu.open) return;
  const strip = readingOf(selection.photo)?.strips[selection.strip], choice = overlayChoice();
  const pairs = state.pairs.flatMap((pair, n) => {
    const name = pair.ink || photoOf(pair.dried[0])?.name || `Pair ${n + 1}`;
    return [line(name, pictures("pair", "n=" + n)), line(name + ", for a review", [["landscape", `review.png?n=${n}&shape=landscape`], ["portrait", `review.png?n=${n}&shape=portrait`]])];
  });
  const command = make("pre", { id: "command", tabindex: 0, text: "…" });
  fill(byId("take-list"),
    ...group("All that is on the page", [line("Report to pass on", [["HTML", "report.html"]]), line("Readings", [["JSON", "json"]]), line("Tables", [["bands CSV", "bands.csv"], ["profiles CSV", "profiles.csv"]])]),
    ...group("Pairs", pairs),
    ...group("The strip shown", [strip ? line(stripName(selection.photo, selection.strip, strip), pictures("strip", `strip=${selection.photo}.${selection.strip}`)) : null]),
    ...group("Overlay", [choice.strips.length ? line(`${choice.strips.length} strips`, pictures("overlay", `strips=${choice.strips.join(",")}&normalise=${choice.normalise ? 1 : 0}`)) : null]),
    make("h3", { text: "The same in a terminal" }), command,
    make("button", { type: "button", class: "small", "data-key": "copy", text: "Copy the command", onclick: () => copy(command) }));
  void getText("./export/command.txt").then(text => { command.textContent = text.trim(); }, error => { command.textContent = error instanceof Refusal ? error.problem.message : String(error); });
}

/** @param {HTMLElement} from */
async function copy(from) {
  try {
    await navigator.clipboard.writeText(from.textContent || "");
    tell("The command is copied.");
  } catch {
    getSelection()?.selectAllChildren(from);
    tell("The command is selected: copy it with Ctrl-C.");
  }
}

export function startExports() {
  const menu = /** @type {HTMLDetailsElement} */ (byId("take"));
  menu.addEventListener("toggle", show);
  document.addEventListener("click", e => { if (menu.open && !menu.contains(/** @type {Node} */(e.target))) menu.open = false; });
  document.addEventListener("keydown", e => {
    if (e.key !== "Escape" || !menu.open) return;
    menu.open = false;
    menu.querySelector("summary")?.focus();
  });
  on(["state", "selection"], show);
}
