// SPDX-License-Identifier: GPL-3.0-or-later
/* CIE L*a*b* (D50) to sRGB for swatches and ribbons: CIE 15:2004 for L*a*b*, the Bradford-adapted D50
 * matrix of the ICC sRGB profile, IEC 61966-2-1 for the curve. Numbers never come from here. */

const EPSILON = 216 / 24389, KAPPA = 24389 / 27, WHITE_D50 = [0.9642, 1, 0.8249];
const XYZ_TO_RGB = [[3.1338561, -1.6168667, -0.4906146], [-0.9787684, 1.9161415, 0.033454], [0.0719453, -0.2289914, 1.4052427]];

/** @param {import("./types.js").Triple|undefined} lab @returns {string} */
export function css(lab) {
  if (!lab || lab[0] === null || lab[1] === null || lab[2] === null) return "transparent";
  const fy = (lab[0] + 16) / 116, f = [fy + lab[1] / 500, fy, fy - lab[2] / 200];
  const xyz = f.map((v, i) => WHITE_D50[i] * (v ** 3 > EPSILON ? v ** 3 : (116 * v - 16) / KAPPA));
  const rgb = XYZ_TO_RGB.map(row => row.reduce((sum, m, i) => sum + m * xyz[i], 0)).map(encode);
  return `rgb(${rgb.join(" ")})`;
}

/** @param {number} linear */
function encode(linear) {
  const v = Math.min(Math.max(linear, 0), 1);
  return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
}
