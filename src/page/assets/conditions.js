// SPDX-License-Identifier: GPL-3.0-or-later
/* How the test was run, as the user tells it. */

import { byId } from "./dom.js";
import { change } from "./hand.js";
import { on, state } from "./store.js";

const form = /** @type {HTMLFormElement} */ (byId("conditions"));
const fields = () => /** @type {HTMLInputElement[]} */ ([...form.elements].filter(e => e instanceof HTMLInputElement));
const NUMBERS = ["dip_s", "dried_min"];

/** @param {HTMLInputElement} field */
function valueOf(field) {
  const text = field.value.trim();
  if (!NUMBERS.includes(field.name)) return text;
  return text === "" ? null : Number(text.replace(",", "."));
}

async function send() {
  const bad = fields().filter(f => NUMBERS.includes(f.name) && valueOf(f) !== null && !(Number(valueOf(f)) >= 0));
  fields().forEach(f => f.setCustomValidity(bad.includes(f) ? "A number, like 12" : ""));
  if (bad.length) bad[0].reportValidity();
  else await change("./conditions", Object.fromEntries(fields().map(f => [f.name, valueOf(f)])));
}

function show() {
  const told = /** @type {{[name: string]: string|number|null}} */ (/** @type {unknown} */ (state.conditions));
  for (const field of fields()) {
    if (field !== document.activeElement) field.value = String(told[field.name] ?? "");
  }
}

export function startConditions() {
  form.addEventListener("change", () => void send());
  form.addEventListener("submit", e => e.preventDefault());
  on(["state"], show);
}
