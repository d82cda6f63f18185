// SPDX-License-Identifier: GPL-3.0-or-later
/* A lens on the photo at full resolution, beside the handle that is being moved. What the display copy knows is shown
 * at once, the sharp part as soon as it has come. */

import { byId } from "./dom.js";

/** @typedef {import("./types.js").Point} Point */

/* How much of the photo the lens shows, in photo pixels: enough to see where the edge goes on. */
const SEEN_MIN_PX = 40, SEEN_MAX_PX = 200, SEEN_PART = 1 / 24;
/* Regions overlap their lens this far, so that small moves need no new one. */
const SPARE = 1.8;

const lens = /** @type {HTMLCanvasElement} */ (byId("lens"));
/** @type {{photo: string, x: number, y: number, w: number, h: number, picture: HTMLImageElement}|null} */
let sharp = null;
let loading = false;
/** @type {(() => void)|null} */
let redraw = null;

export function hideMagnifier() {
  lens.hidden = true;
  redraw = null;
}

/**
 * @param {import("./types.js").Photo} photo
 * @param {HTMLImageElement} copy
 * @param {Point} at
 * @param {Point[][]} lines
 * @param {HTMLElement} stage
 */
export function showMagnifier(photo, copy, at, lines, stage) {
  const seen = Math.min(Math.max(Math.max(photo.width_px, photo.height_px) * SEEN_PART, SEEN_MIN_PX), SEEN_MAX_PX);
  lens.hidden = false;
  put(photo, at, stage);
  redraw = () => paint(photo, copy, at, lines, seen);
  redraw();
  load(photo, at, seen);
}

/** Beside the handle, towards the middle of the photo. @param {import("./types.js").Photo} photo @param {Point} at @param {HTMLElement} stage */
function put(photo, at, stage) {
  const k = stage.clientWidth / photo.width_px, half = lens.offsetWidth / 2, gap = half + 34;
  const x = at[0] * k, y = at[1] * k, side = x > stage.clientWidth / 2 ? -1 : 1;
  const left = Math.min(Math.max(x + side * gap - half, 0), Math.max(stage.clientWidth - 2 * half, 0));
  lens.style.left = `${left}px`;
  lens.style.top = `${Math.min(Math.max(y - half, 0), Math.max(stage.clientHeight - 2 * half, 0))}px`;
}

/** @param {import("./types.js").Photo} photo @param {HTMLImageElement} copy @param {Point} at @param {Point[][]} lines @param {number} seen */
function paint(photo, copy, at, lines, seen) {
  const size = lens.clientWidth * (window.devicePixelRatio || 1), c = lens.getContext("2d");
  if (!c || !size) return;
  lens.width = lens.height = size;
  const k = size / seen, x0 = at[0] - seen / 2, y0 = at[1] - seen / 2;
  const x = (/** @type {number} */ v) => (v - x0) * k, y = (/** @type {number} */ v) => (v - y0) * k;
  c.fillStyle = "#777";
  c.fillRect(0, 0, size, size);
  if (copy.naturalWidth) c.drawImage(copy, x(0), y(0), photo.width_px * k, photo.height_px * k);
  if (sharp && sharp.photo === photo.id) c.drawImage(sharp.picture, x(sharp.x), y(sharp.y), sharp.w * k, sharp.h * k);
  for (const [look, width] of /** @type {[string, number][]} */ ([["rgb(255 255 255 / .75)", 3], ["#000", 1.2]])) {
    c.strokeStyle = look;
    c.lineWidth = width * (window.devicePixelRatio || 1);
    for (const line of lines) {
      c.beginPath();
      line.forEach((p, i) => i ? c.lineTo(x(p[0]), y(p[1])) : c.moveTo(x(p[0]), y(p[1])));
      c.stroke();
    }
    c.strokeRect(size / 2 - 4, size / 2 - 4, 8, 8);
  }
}

/** @param {import("./types.js").Photo} photo @param {Point} at @param {number} seen */
function load(photo, at, seen) {
  const half = seen / 2;
  if (loading || (sharp && sharp.photo === photo.id && at[0] - half >= sharp.x && at[1] - half >= sharp.y &&
    at[0] + half <= sharp.x + sharp.w && at[1] + half <= sharp.y + sharp.h)) return;
  const side = Math.min(Math.round(seen * SPARE), 400);
  const x = Math.round(Math.min(Math.max(at[0] - side / 2, 0), photo.width_px - 1));
  const y = Math.round(Math.min(Math.max(at[1] - side / 2, 0), photo.height_px - 1));
  const picture = new Image();
  loading = true;
  picture.addEventListener("load", () => {
    loading = false;
    sharp = { photo: photo.id, x, y, w: picture.naturalWidth, h: picture.naturalHeight, picture };
    if (redraw) redraw();
  });
  picture.addEventListener("error", () => { loading = false; });
  picture.src = `./photos/${encodeURIComponent(photo.id)}/region?x=${x}&y=${y}&w=${side}&h=${side}`;
}
