// SPDX-License-Identifier: GPL-3.0-or-later
/* From a place on a strip to a place in its photo and back. Edges are lists of points, evenly spaced
 * along the strip from its lower end. */

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {{left: Point[], right: Point[]}} Edges */

/** @param {Point} a @param {Point} b @param {number} t @returns {Point} */
export const between = (a, b, t) => [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t];

/** @param {Point[]} line @param {number} t @returns {Point} */
function along(line, t) {
  const at = Math.min(Math.max(t, 0), 1) * (line.length - 1), i = Math.min(Math.floor(at), line.length - 2);
  return between(line[i], line[i + 1], at - i);
}

/** Straight edges between corners: lower left, lower right, upper right, upper left. @param {Point[]} c @returns {Edges} */
export const straightEdges = c => ({ left: [c[0], c[3]], right: [c[1], c[2]] });

/** @param {Strip} strip @param {Point[]|null} corners hand-set ones that the reading does not know yet */
export function edgesOf(strip, corners) {
  if (corners && corners.some((c, i) => Math.hypot(c[0] - strip.corners_px[i][0], c[1] - strip.corners_px[i][1]) > 0.01)) {
    return straightEdges(corners);
  }
  const outline = strip.outline;
  if (!outline || outline.left_px.length < 2 || outline.right_px.length < 2) return straightEdges(strip.corners_px);
  return { left: outline.left_px, right: outline.right_px };
}

/** @param {Edges} edges @param {number} position 0 lower .. 1 upper @param {number} across 0 left .. 1 right @returns {Point} */
export function toPhoto(edges, position, across) {
  return between(along(edges.left, position), along(edges.right, position), across);
}

/** The place on the strip's middle line that lies nearest. @param {Edges} edges @param {Point} point */
export function toPosition(edges, point) {
  const parts = 64;
  let best = Infinity, at = 0;
  for (let i = 0; i < parts; i++) {
    const a = toPhoto(edges, i / parts, 0.5), b = toPhoto(edges, (i + 1) / parts, 0.5);
    const dx = b[0] - a[0], dy = b[1] - a[1];
    const t = Math.min(Math.max(((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / (dx * dx + dy * dy || 1), 0), 1);
    const far = Math.hypot(a[0] + t * dx - point[0], a[1] + t * dy - point[1]);
    if (far < best) {
      best = far;
      at = (i + t) / parts;
    }
  }
  return at;
}

/** @param {Edges} edges @returns {Point[]} */
export const polygon = edges => [...edges.left, ...[...edges.right].reverse()];

/** @param {Strip} strip @param {number} rf */
export function positionOf(strip, rf) {
  return strip.origin === null || strip.front === null ? rf : strip.origin + rf * (strip.front - strip.origin);
}

/** @param {Strip} strip @param {number} position */
export function rfOf(strip, position) {
  return strip.origin === null || strip.front === null ? position : (position - strip.origin) / (strip.front - strip.origin);
}

/** Unit vector from the left to the right edge at a position. @param {Edges} edges @param {number} position @returns {Point} */
export function acrossAt(edges, position) {
  const a = toPhoto(edges, position, 0), b = toPhoto(edges, position, 1), far = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  return [(b[0] - a[0]) / far, (b[1] - a[1]) / far];
}
