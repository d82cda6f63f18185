// SPDX-License-Identifier: GPL-3.0-or-later
/* Small helpers to make elements, and the one voice that tells what happened. */

/** @typedef {{[name: string]: any}} Attributes */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @param {Element} target
 * @param {Attributes} attributes
 */
function dress(target, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) target.addEventListener(name.slice(2), value);
    else if (name === "text") target.textContent = value;
    else if (name === "colour") /** @type {HTMLElement} */ (target).style.background = value;
    else target.setAttribute(name, value === true ? "" : String(value));
  }
}

/**
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Attributes} [attributes]
 * @param {(Node|string|null|undefined|false)[]} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function make(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  dress(made, attributes);
  made.append(...children.filter(c => c !== null && c !== undefined && c !== false).map(c => /** @type {Node|string} */(c)));
  return made;
}

/**
 * @template {keyof SVGElementTagNameMap} T
 * @param {T} tag
 * @param {Attributes} attributes
 * @param {(Node|string)[]} children
 * @returns {SVGElementTagNameMap[T]}
 */
export function draw(tag, attributes, ...children) {
  const made = document.createElementNS(SVG, tag);
  dress(made, attributes);
  made.append(...children);
  return made;
}

/**
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error("the page has no #" + id);
  return found;
}

/**
 * Puts children in place of what is in `root`; the focus stays where it was, and details stay open or closed, told by
 * data-key.
 * @param {Element} root
 * @param {(Node|null|false)[]} children
 */
export function fill(root, ...children) {
  const focused = document.activeElement;
  const key = focused instanceof HTMLElement && root.contains(focused) ? focused.dataset.key : undefined;
  const kept = children.filter(c => c !== null && c !== false).map(c => /** @type {Node} */(c));
  const opened = new Map([...root.querySelectorAll("details[data-key]")].map(d => [/** @type {HTMLElement} */ (d).dataset.key, /** @type {HTMLDetailsElement} */ (d).open]));
  root.replaceChildren(...kept);
  if (opened.size) {
    for (const d of /** @type {NodeListOf<HTMLDetailsElement>} */ (root.querySelectorAll("details[data-key]"))) d.open = opened.get(d.dataset.key) ?? d.open;
  }
  if (key === undefined) return;
  const again = root.querySelector(`[data-key="${CSS.escape(key)}"]`);
  if (again instanceof HTMLElement) again.focus({ preventScroll: true });
}

/** @type {WeakMap<Element, string>} */
const filled = new WeakMap();

/**
 * `fill`, where what the children follow from has changed: an unchanged part keeps what is typed, its focus and its
 * pictures, and costs no layout.
 * @param {Element} root
 * @param {unknown} from all that the children follow from
 * @param {() => (Node|null|false)[]} children
 */
export function refill(root, from, children) {
  const text = JSON.stringify(from);
  if (filled.get(root) === text) return;
  filled.set(root, text);
  fill(root, ...children());
}

/** A table's value with its interval, which a narrow screen puts below it. @param {string} text */
export function withRange(text) {
  const at = text.indexOf(" (");
  return make("td", { class: "n" }, at < 0 ? text : text.slice(0, at), at >= 0 && make("span", { class: "range", text: text.slice(at) }));
}

/** A table of numbers, whose first column names them. @param {string} kind its class @param {string} caption @param {string[]} names of the columns @param {HTMLTableRowElement[]} rows */
export function table(kind, caption, names, rows) {
  return make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": caption }, make("table", { class: kind }, make("caption", {}, make("span", { text: caption })),
    make("thead", {}, make("tr", {}, ...names.map((text, i) => make("th", { scope: "col", class: i ? "n" : "", text })))), make("tbody", {}, ...rows)));
}

/** Writes where it differs: writing costs a layout even where nothing changes. @param {Element} element @param {string} text */
export function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** Marks numbers as those of before: new ones are being worked out. @param {Element} root @param {boolean} behind */
export function markBehind(root, behind) {
  if (root.classList.contains("behind") === behind) return;
  root.classList.toggle("behind", behind);
  root.setAttribute("aria-busy", String(behind));
}

let letter_px = 0;

/** Pixels of a letter's height: what is drawn grows with the page's text. Asked of the browser once a frame. */
export function letter() {
  if (!letter_px) {
    letter_px = parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
    requestAnimationFrame(() => { letter_px = 0; });
  }
  return letter_px;
}

/** @type {ReturnType<typeof setTimeout>|undefined} */
let saying;

/**
 * Tells it in the status line, which screen readers read out.
 * @param {string} text
 */
export function tell(text) {
  const line = byId("status");
  clearTimeout(saying);
  line.textContent = "";
  saying = setTimeout(() => { line.textContent = text; }, 30);
}

/**
 * @param {import("./types.js").Problem[]} problems
 * @param {string} kind
 */
export function problemList(problems, kind) {
  if (!problems.length) return null;
  return make("ul", { class: kind }, ...problems.map(p =>
    make("li", {}, make("b", { text: sentence(p.message) }), p.remedy ? " " + here(p.remedy) : "")));
}

/* What to do about it here, where the program's own words name an option of the command line. */
/** @type {[RegExp, string][]} */
const HERE = [
  [/--roles/, "If it is not so, tell each strip's role below the photo."],
  [/--upside-down/, "Look, and press “Other end in the water” if it is wrong."],
  [/--origin/, "Drag the origin to where the ink line was."],
  [/--front/, "Mark the front with a pencil tick while the paper is wet, or drag the front to where the water came."],
  [/--paper-reflectance/, ""]
];

/** @param {string} remedy */
function here(remedy) {
  const found = HERE.find(([option]) => option.test(remedy));
  return found ? found[1] : remedy;
}

/** @param {string} text */
function sentence(text) {
  const whole = text.charAt(0).toUpperCase() + text.slice(1);
  return /[.!?]$/.test(whole) ? whole : whole + ".";
}
