// SPDX-License-Identifier: GPL-3.0-or-later
/* How fast the page is: measure.mjs STRANDLINE PHOTO [MOVES [HANDLE...]]. No test: what it prints hangs on the machine.
 *
 * 1. From the program's start, in a browser that runs already, to a page that can be used.
 * 2. For each kind of handle, from a key's press to the frame that shows the list of bands with new numbers; how long
 *    of that the program took to answer, and how long the page before and after.
 * 3. The same where a handle is dragged: from a pointer's move to the numbers of that place or of a later one. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { drop, settled } from "./bench.mjs";
import { start } from "./server.mjs";

const [binary, photo, moves = "30", ...wanted] = process.argv.slice(2);
const PAUSE_MS = 450, AWAKE_MS = 1500, HANDLES = ["band-from", "band-to", "front", "origin", "corner-2", "corner-0"]; // limits first, while the band chosen is there

const part = (list, p) => [...list].sort((a, b) => a - b)[Math.min(Math.ceil(p * list.length), list.length) - 1];
const told = list => `${part(list, .5).toFixed(0)} (${part(list, .95).toFixed(0)})`;

/** One press of a key; the times of what follows, ms. */
const press = (page, handle, key) => page.evaluate(async ([name, code]) => {
  const list = document.getElementById("strip-tables"), began = performance.now();
  const seen = new Promise((resolve, reject) => {
    const watch = new MutationObserver(() => {
      if (document.querySelector("#bands tbody")?.textContent === before) return;
      watch.disconnect();
      const changed = performance.now();
      setTimeout(() => resolve({ changed, shown: performance.now() })); // drawn within a frame: this comes after it
    });
    watch.observe(list, { childList: true, subtree: true, characterData: true });
    setTimeout(() => reject(new Error("no new numbers")), 8000);
  });
  const before = document.querySelector("#bands tbody")?.textContent;
  document.querySelector(`[data-handle="${name}"]`).dispatchEvent(new KeyboardEvent("keydown", { key: code, shiftKey: true, bubbles: true, cancelable: true }));
  const { changed, shown } = await seen;
  const asked = performance.getEntriesByType("resource").filter(e => e.name.includes("/hand") && e.startTime >= began)[0];
  return { whole: shown - began, before: asked?.startTime - began, answer: asked?.responseEnd - asked?.startTime, after: changed - asked?.responseEnd, frame: shown - changed };
}, [handle, key]);

async function measureHandle(page, name) {
  const times = [];
  await page.locator(`[data-handle="${name}"]`).scrollIntoViewIfNeeded();
  await page.locator(`[data-handle="${name}"]`).focus();
  for (let k = 0; k <= Number(moves); k++) {
    const sideways = name.startsWith("corner"), key = (sideways ? ["ArrowLeft", "ArrowRight"] : ["ArrowUp", "ArrowDown"])[k % 2];
    await page.keyboard.press(sideways ? "ArrowRight" : "ArrowUp"); // so that no place comes twice: the program remembers
    await page.waitForTimeout(PAUSE_MS);
    await page.evaluate(() => performance.clearResourceTimings());
    const time = await press(page, name, key);
    if (k) times.push(time); // the first one wakes the photo
    await page.waitForTimeout(PAUSE_MS);
  }
  const of = what => told(times.map(t => t[what]));
  console.log(`${name}: move to numbers ${of("whole")} ms; before the request ${of("before")}, answer ${of("answer")}, to the list ${of("after")}, to the frame ${of("frame")}`);
}

/** A real drag up and down, a move every 16 ms. */
async function measureDrag(page, name) {
  const handle = page.locator(`[data-handle="${name}"]`);
  await handle.scrollIntoViewIfNeeded();
  const box = await handle.boundingBox(), x = box.x + box.width / 2, y = box.y + box.height / 2;
  await page.evaluate(() => {
    const seen = { frames: [], moves: [], last: performance.now() };
    window.addEventListener("pointermove", () => seen.moves.push(performance.now()), true);
    new MutationObserver(() => {
      const text = document.querySelector("#bands tbody")?.textContent;
      if (text !== seen.text) setTimeout(() => seen.frames.push(performance.now()));
      seen.text = text;
    }).observe(document.getElementById("strip-tables"), { childList: true, subtree: true, characterData: true });
    Object.assign(window, { seen });
  });
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let k = 1; k <= 120; k++) {
    await page.mouse.move(x, y + 20 * Math.sin(k / 15));
    await page.waitForTimeout(10);
  }
  await page.mouse.up();
  await page.waitForTimeout(PAUSE_MS);
  const { frames, gaps } = await page.evaluate(() => {
    const seen = /** @type {any} */ (window).seen, frames = seen.frames.filter(t => t >= seen.moves[1]);
    return { frames: frames.length, gaps: frames.slice(1).map((t, i) => t - frames[i]).concat([frames[frames.length - 1] - seen.moves[seen.moves.length - 1]]) };
  });
  console.log(`${name}, dragged: new numbers ${frames} times, ${told(gaps.slice(0, -1))} ms apart; after the last move ${gaps[gaps.length - 1].toFixed(0)} ms`);
}

const work = mkdtempSync(join(tmpdir(), "strandline-measure-"));
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
await (await browser.newPage()).goto("about:blank");
const began = Date.now(), server = await start(binary, work);
const page = await (await browser.newContext({ viewport: { width: 1440, height: 1000 } })).newPage();
const opened = Date.now();
await page.goto(server.address);
await page.getByText("Put your photos here").first().waitFor();
console.log(`address after ${server.started_ms} ms, browser's window after ${opened - began} ms, page usable after ${Date.now() - began} ms`);
await drop(page, [{ name: "photo.jpg", path: photo }]);
await settled(page, 1);
await page.waitForTimeout(AWAKE_MS);
await page.locator('[data-key="band-0"]').click();
for (const name of HANDLES.filter(h => !wanted.length || wanted.includes(h))) await measureHandle(page, name);
await measureDrag(page, "front");
await browser.close();
await server.end("SIGTERM");
rmSync(work, { recursive: true });
