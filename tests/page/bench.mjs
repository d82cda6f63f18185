// SPDX-License-Identifier: GPL-3.0-or-later
/* What the tests of the page share: the program and a browser beside it, and what a user does and sees. */
import assert from "node:assert/strict";
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { extname, join } from "node:path";
import { chromium } from "playwright-core";
import { start } from "./server.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
/* Other tests share the machine: photos may take minutes. */
const PATIENCE_MS = 180000, STEP_MS = 100, CALM_MS = 250;
const TYPES = { ".jpg": "image/jpeg", ".png": "image/png", ".heic": "image/heic", ".tif": "image/tiff" };

/** Starts program and browser. `restart` ends the program and starts it again, on its work or on other work. */
export async function setUp(binary, fixtures, pictures) {
  const work = mkdtempSync(join(tmpdir(), "strandline-page-"));
  mkdirSync(pictures, { recursive: true });
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
  const outside = [], complaints = [], pending = new Map();
  const bench = { server: await start(binary, join(work, "state")), browser, work, outside, complaints };

  bench.photo = name => join(fixtures, "photos", name);
  bench.restart = async (signal, folder = "state") => {
    await bench.server.end(signal);
    bench.server = await start(binary, join(work, folder));
  };
  bench.open = async (options = {}) => {
    const context = await browser.newContext({ viewport: { width: 1440, height: 1000 }, acceptDownloads: true, ...options });
    const page = await context.newPage();
    const own = bench.server.address;
    page.on("request", r => { if (!r.url().startsWith(own) && !/^(blob|data):/.test(r.url())) outside.push(r.url()); });
    pending.set(page, 0);
    for (const [event, by] of [["request", 1], ["requestfinished", -1], ["requestfailed", -1]]) {
      page.on(event, r => { if (r.url().endsWith("/hand")) pending.set(page, pending.get(page) + by); });
    }
    page.on("pageerror", e => complaints.push(String(e)));
    page.on("console", m => { if (m.type() === "error") complaints.push(m.text()); });
    page.setDefaultTimeout(PATIENCE_MS);
    await page.goto(own);
    return page;
  };
  bench.handIs = async (page, id, want) => {
    let last = "";
    for (const end = Date.now() + PATIENCE_MS; Date.now() < end;) {
      const now = await hand(page, id), text = JSON.stringify(now);
      if (want(now) && text === last && pending.get(page) === 0) return now;
      last = text;
      await page.waitForTimeout(CALM_MS);
    }
    return assert.fail("the hand-set values never came: " + JSON.stringify(await hand(page, id)));
  };
  bench.finish = async () => {
    await browser.close();
    await bench.server.end("SIGTERM");
    rmSync(work, { recursive: true, force: true });
  };
  return bench;
}

export const state = page => page.evaluate(() => fetch("./state").then(r => r.json()));
export const reading = (page, id) => page.evaluate(i => fetch(`./photos/${i}/reading`).then(r => r.json()), id);
export const hand = async (page, id) => (await state(page)).photos.find(p => p.id === id).hand.strips;
export const choose = (page, name) => page.locator("#tray button.thumb", { hasText: name }).click();

/** Waits until so many photos are on the page and all are read. */
export async function settled(page, count) {
  for (const end = Date.now() + PATIENCE_MS; Date.now() < end;) {
    const { photos } = await state(page);
    if (photos.length === count && photos.every(p => p.phase === "done" && p.reading_version !== null)) return;
    await page.waitForTimeout(STEP_MS);
  }
  assert.fail("the photos were never read: " + JSON.stringify((await state(page)).photos.map(p => [p.name, p.phase, p.reading_version])));
}

/** A DataTransfer of the page that holds these files. */
const transferOf = (page, files) => page.evaluateHandle(list => {
  const data = new DataTransfer();
  for (const [name, type, text] of list) data.items.add(new File([Uint8Array.from(atob(text), c => c.charCodeAt(0))], name, { type }));
  return data;
}, files.map(({ name, path }) => [name, TYPES[extname(path)], readFileSync(path).toString("base64")]));

/** @param files [{name, path}] */
export async function drop(page, files) {
  const dataTransfer = await transferOf(page, files);
  for (const kind of ["dragenter", "dragover", "drop"]) await page.dispatchEvent("body", kind, { dataTransfer });
}

export async function paste(page, files) {
  const data = await transferOf(page, files);
  await page.evaluate(clipboardData => document.body.dispatchEvent(new ClipboardEvent("paste", { clipboardData, bubbles: true, cancelable: true })), data);
}

/** What axe finds serious or critical, once the colours have come to rest (on a change of scheme they move). */
export async function serious(page) {
  await page.evaluate(axe);
  await page.waitForFunction(() => document.getAnimations().every(a => a.playState !== "running"));
  const found = await page.evaluate(() => /** @type {any} */ (window).axe.run(document, { resultTypes: ["violations"] }));
  return found.violations.filter(v => v.impact === "serious" || v.impact === "critical").map(v => `${v.id}: ${v.nodes.slice(0, 3).map(n => n.html.slice(0, 120)).join(" | ")}`);
}

/** Takes a handle and moves it; gives what lets it go. */
export async function dragHandle(page, name, dx, dy) {
  const handle = page.locator(`[data-handle="${name}"]`);
  await handle.scrollIntoViewIfNeeded();
  const box = await handle.boundingBox(), x = box.x + box.width / 2, y = box.y + box.height / 2;
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + dx / 2, y + dy / 2);
  await page.mouse.move(x + dx, y + dy);
  return () => page.mouse.up();
}

/** Goes with Tab until the focus is where `selector` says. */
export async function tabTo(page, selector) {
  for (let i = 0; i < 200; i++) {
    await page.keyboard.press("Tab");
    if (await page.evaluate(s => !!document.activeElement?.matches(s), selector)) return;
  }
  assert.fail("Tab never comes to " + selector);
}
