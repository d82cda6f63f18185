// SPDX-License-Identifier: GPL-3.0-or-later
/* Other ways in and out of the page: node test_ways.mjs STRANDLINE FIXTURES PICTURES DRAW
 *
 * Pasting, HEIC, one strip a photo, the history after a reload, paper, large screens, dark ground, calm motion.
 * DRAW draws the photos that are not in FIXTURES. */
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { choose, drop, paste, serious, settled, setUp, state } from "./bench.mjs";
import { read } from "./server.mjs";
import { runAll, test } from "./tap.mjs";

const [binary, fixtures, pictures, draw] = process.argv.slice(2).map(p => resolve(p));
const bench = await setUp(binary, fixtures, pictures);
const { complaints, handIs, open, outside, photo, restart, work } = bench;

/** A drawn photo in the format that its name ends with. */
function drawn(scene, name) {
  const path = join(work, name);
  execFileSync(draw, [scene, path]);
  return { name, path };
}

let page = await open();

test("a dark empty page has nothing that hinders either", async () => {
  await page.emulateMedia({ colorScheme: "dark" });
  await page.getByRole("heading", { name: "Put your photos here" }).waitFor();
  assert.deepEqual(await serious(page), []);
  await page.emulateMedia({ colorScheme: "light" });
});

test("a picture that is pasted is read", async () => {
  await paste(page, [drawn("single", "copied.png")]);
  await settled(page, 1);
  assert.equal((await state(page)).photos[0].name, "copied.png");
  await page.locator("#bands tbody tr").first().waitFor();
});

test("HEIC is shown and read as the command line reads it", async () => {
  const heic = drawn("dried", "dried.heic");
  await drop(page, [heic]);
  await settled(page, 2);
  await choose(page, "dried.heic");
  await page.waitForFunction(() => {
    const shown = document.querySelector("#stage-picture");
    return shown instanceof HTMLImageElement && shown.complete && shown.naturalWidth > 400 && /p2/.test(shown.src);
  });
  const want = (await read(binary, "read", heic.path)).photos[0].strips[0].bands.length;
  await page.waitForFunction(n => document.querySelectorAll("#bands tbody tr").length === n, want);
});

test("two photos of one strip each are offered as a pair, and judged as the command line does", async () => {
  const offer = page.locator("#verdicts .offer");
  assert.match(await offer.innerText(), /copied.png and dried.heic could be a pair/);
  await offer.getByRole("button", { name: "dried.heic" }).click();
  await page.locator("#verdicts .answer").first().waitFor();
  const want = (await read(binary, "pair", join(work, "copied.png"), join(work, "dried.heic"))).pairs[0];
  const pair = (await state(page)).pairs[0];
  assert.deepEqual([pair.immediate, pair.dried, pair.by_hand], [["p1", 0], ["p2", 0], true]);
  for (const name of ["index", "index_interval", "answer", "level", "level_probability", "reasons"]) assert.deepEqual(pair[name], want[name], name);
  assert.equal(await page.locator("#verdicts .offer").count(), 0);
});

test("undo and redo go on after a reload", async () => {
  await choose(page, "copied.png");
  for (const [name, key] of [["front", "Shift+ArrowDown"], ["origin", "ArrowUp"]]) {
    await page.locator(`[data-handle="${name}"]`).focus();
    await page.keyboard.press(key);
    await handIs(page, "p1", h => h[0]?.[name]);
  }
  await page.getByRole("button", { name: "Undo" }).click();
  await handIs(page, "p1", h => h[0]?.front && !h[0].origin);
  await page.reload();
  await page.locator("#bands tbody tr").first().waitFor();
  await page.getByRole("button", { name: "Redo" }).click();
  await handIs(page, "p1", h => h[0]?.front && h[0].origin);
  for (let i = 0; i < 2; i++) await page.getByRole("button", { name: "Undo" }).click();
  await handIs(page, "p1", h => h.every(s => !s.front && !s.origin));
  assert.ok(await page.getByRole("button", { name: "Undo" }).isDisabled());
});

test("a history of another run of the program is not taken up", async () => {
  await page.locator('[data-handle="front"]').focus();
  await page.keyboard.press("ArrowDown");
  await handIs(page, "p1", h => h[0]?.front);
  const other = await open();
  await other.evaluate(() => sessionStorage.setItem("history", JSON.stringify({ run: "another", done: [{}], undone: [] })));
  await other.evaluate(() => window.addEventListener("pagehide", e => e.stopImmediatePropagation(), true));
  await other.reload();
  await other.locator("#bands tbody tr").first().waitFor();
  assert.ok(await other.getByRole("button", { name: "Undo" }).isDisabled());
  await other.context().close();
});

test("the menus have nothing that hinders, light and dark", async () => {
  await page.locator("#take summary").click();
  await page.locator("#verdicts .chooser summary").click();
  for (const details of await page.locator("#strip-tables summary").all()) await details.click();
  for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
    await page.emulateMedia({ colorScheme });
    assert.deepEqual(await serious(page), []);
  }
  await page.emulateMedia({ colorScheme: "light" });
  await page.keyboard.press("Escape");
});

test("on paper there are the photo, the verdict and the numbers, and no tools", async () => {
  for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
    await page.emulateMedia({ media: "print", colorScheme });
    for (const shown of ["#stage-picture", "#verdicts .answer", "#verdicts .scale", "#verdicts .soak", "#verdicts .caution", "#bands"]) assert.ok(await page.locator(shown).first().isVisible(), shown);
    for (const hidden of ["#tools", "#tray", "#zoom", "#strip-settings", ".handle", "#drop-veil"]) assert.ok(!await page.locator(hidden).first().isVisible(), hidden);
    const [ground, text] = await page.evaluate(() => [getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]);
    assert.deepEqual([ground, text], ["rgb(255, 255, 255)", "rgb(0, 0, 0)"], colorScheme);
    await page.emulateMedia({ media: null, colorScheme: "light" });
  }
  const paper = await page.pdf({ path: join(pictures, "page.pdf"), format: "A4", printBackground: true });
  assert.ok(paper.toString("latin1").startsWith("%PDF") && paper.length > 50000);
  const wide = await page.locator("#strip-plot .canvas canvas").first().evaluate(c => c.getBoundingClientRect().width);
  assert.ok(wide <= 1440, String(wide));
});

test("a screen of 3840 x 2160 is filled, with letters that grow along", async () => {
  await page.setViewportSize({ width: 3840, height: 2160 });
  await page.evaluate(() => scrollTo(0, 0));
  await page.waitForTimeout(500);
  const seen = await page.evaluate(() => ({
    letter: parseFloat(getComputedStyle(document.documentElement).fontSize), wide: document.querySelector("#bench")?.getBoundingClientRect().width,
    over: document.documentElement.scrollWidth - innerWidth, tops: ["#photo", "#verdicts", "#reading"].map(s => document.querySelector(s)?.getBoundingClientRect().top)
  }));
  assert.ok(seen.letter >= 22 && seen.wide >= 0.9 * 3840 && seen.over <= 0, JSON.stringify(seen));
  assert.equal(new Set(seen.tops).size, 1, "photo, verdict and reading stand side by side: " + JSON.stringify(seen));
  assert.deepEqual(await serious(page), []);
  await page.screenshot({ path: join(pictures, "page-3840.png") });
  await page.setViewportSize({ width: 1440, height: 1000 });
});

test("nothing moves where motion is not wanted", async () => {
  const durations = () => page.evaluate(() => [...document.querySelectorAll("*")].flatMap(e => {
    const style = getComputedStyle(e);
    return [...style.transitionDuration.split(","), ...style.animationDuration.split(",")].map(parseFloat);
  }));
  await page.emulateMedia({ reducedMotion: "no-preference" });
  assert.ok((await durations()).some(s => s > 0), "there is no motion to be spared");
  await page.emulateMedia({ reducedMotion: "reduce" });
  assert.ok((await durations()).every(s => s === 0));
});

test("pairs, inks and hand-set values are there again after kill -9", async () => {
  const before = await state(page);
  await restart("SIGKILL");
  page = await open();
  await settled(page, 2);
  const after = await state(page);
  assert.deepEqual(after.photos.map(p => [p.id, p.name, p.hand]), before.photos.map(p => [p.id, p.name, p.hand]));
  assert.deepEqual(after.pairs, before.pairs);
});

test("a pair without a verdict says why and what to do, and shows no number", async () => {
  const blank = drawn("blank", "blank.png"), wet = drawn("single", "wet.png");
  await drop(page, [wet, blank]);
  await settled(page, 4);
  await choose(page, "blank.png");
  await page.locator("#verdicts .offer").getByRole("button", { name: "blank.png" }).click();
  const card = page.locator("#verdicts > .pair", { hasText: "wet.png and blank.png" });
  await card.waitFor();
  const want = (await read(binary, "pair", wet.path, blank.path)).pairs[0], pair = (await state(page)).pairs.find(p => p.dried[0] === "p4");
  assert.deepEqual([pair.unjudged, pair.answer, pair.level, pair.index, pair.words.scale], ["blank", "none", null, null, null]);
  assert.equal(await card.locator(".verdict").innerText(), "No ink found");
  assert.equal(await card.locator(".reasons").innerText(), want.reasons.join("\n"));
  assert.match(want.reasons[0], /^No ink was found on the strip dried first\. Check /);
  assert.doesNotMatch(await card.locator(".verdict, .reasons").allInnerTexts().then(t => t.join()), /\d/);
  for (const kind of [".scale", ".sure", ".soak", ".stays"]) assert.equal(await card.locator(kind).count(), 0, kind);
  assert.deepEqual(await serious(page), []);
});

/** No file of the program may grow beyond so many bytes: a writing fails, as on a full disk. */
const limitFiles = most => execFileSync("prlimit", ["--pid", String(bench.server.pid), `--fsize=${most}:unlimited`]);

test("work that is not on the disk yet is told in sight, until it is", async () => {
  const told = page.locator("#unsaved li");
  limitFiles(16);
  await page.locator('#conditions input[name="paper"]').fill("filter");
  await page.keyboard.press("Enter");
  await told.waitFor();
  assert.match(await told.innerText(), /not on the disk.* Make room/);
  await page.evaluate(() => scrollTo(0, document.body.scrollHeight));
  assert.ok(await told.evaluate(e => e.getBoundingClientRect().top >= 0), "it is out of sight");
  assert.ok(await page.locator("#keep").isHidden(), "it is told to be kept");
  assert.deepEqual(await serious(page), []);
  await page.screenshot({ path: join(pictures, "not-on-the-disk.png") });
  limitFiles("unlimited");
  await told.waitFor({ state: "detached" });
  assert.ok(await page.locator("#keep").isVisible());
});

test("what a start put aside is told above the photos", async () => {
  await bench.server.end("SIGTERM");
  writeFileSync(join(work, "state/strandline/bench/state.json"), "broken");
  await restart("SIGTERM");
  page = await open();
  const told = page.locator("#told li");
  await told.waitFor();
  assert.match(await told.innerText(), /can't be read: state.json and 4 files were put aside.* Drop the photos/);
  assert.deepEqual(await serious(page), []);
  await page.screenshot({ path: join(pictures, "put-aside.png") });
});

test("no request has left the page's own address, and the browser has nothing to complain of", async () => {
  assert.deepEqual(outside, []);
  assert.deepEqual(complaints.filter(c => !/ERR_CONNECTION_REFUSED|ERR_EMPTY_RESPONSE|ERR_CONNECTION_RESET|ERR_INCOMPLETE|Failed to load resource/.test(c)), []);
});

await runAll(bench.finish);
