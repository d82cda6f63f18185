// SPDX-License-Identifier: GPL-3.0-or-later
/* Tests one after the other, told as TAP for meson. A failing one does not stop those after it. */

const tests = [];
let failed = 0;

export const test = (name, body) => tests.push({ name, body });
export const note = text => console.log("# " + text);

export async function runAll(cleanup) {
  console.log(`1..${tests.length}`);
  for (const [i, { name, body }] of tests.entries()) {
    const began = Date.now();
    try {
      await body();
      console.log(`ok ${i + 1} - ${name} # ${Date.now() - began} ms`.replace(" # ", " in "));
    } catch (error) {
      failed++;
      console.log(`not ok ${i + 1} - ${name}`);
      String(error && error.stack || error).split("\n").slice(0, 14).forEach(note);
    }
  }
  await cleanup();
  process.exitCode = failed ? 1 : 0;
}
