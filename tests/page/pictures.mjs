// SPDX-License-Identifier: GPL-3.0-or-later
/* The README's pictures of the page: node pictures.mjs STRANDLINE PHOTOS DIR
 *
 * They show what a newcomer meets: the empty page, the whole job on a wide screen, and the same on a phone. PHOTOS is
 * the demo's folder; all names in it are invented. */
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";
import { start } from "./server.mjs";

const [binary, photos, out] = process.argv.slice(2).map(p => resolve(p));
const PATIENCE_MS = 180000;
const work = mkdtempSync(join(tmpdir(), "strandline-pictures-"));
const server = await start(binary, work);
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
mkdirSync(out, { recursive: true });

async function open(width, height, more = {}) {
  const context = await browser.newContext({ viewport: { width, height }, colorScheme: "light", reducedMotion: "reduce", ...more });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  await page.goto(server.address);
  return page;
}

/** Until the reading is there and what was told about it has gone from the status line. */
async function ready(page) {
  await page.locator("#bands tbody tr").first().waitFor();
  await page.locator("#verdicts .mirror image").first().waitFor({ state: "attached" });
  await page.waitForLoadState("load");
  await page.waitForTimeout(1500);
  await page.evaluate(() => { document.getElementById("status").textContent = ""; });
}

const empty = await open(1280, 680);
await empty.getByRole("heading", { name: "Put your photos here" }).waitFor();
await empty.screenshot({ path: join(out, "page-start.png") });
const files = ["bench-pair.jpg", "washable-pair.jpg", "ink-row.jpg"];
await empty.setInputFiles("#picker", files.map(name => join(photos, name)));
const all_read = () => empty.evaluate(n => fetch("./state").then(r => r.json()).then(s => s.photos.length === n && s.photos.every(p => p.phase === "done")), files.length);
for (const end = Date.now() + PATIENCE_MS; !await all_read();) {
  if (Date.now() > end) throw new Error("the photos were never read");
  await empty.waitForTimeout(300);
}
await empty.evaluate(async () => {
  const tell = (address, body) => fetch(address, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
  await tell("./photos/p1/hand", { strips: [{ ink: "Ullowen Slate" }, { ink: "Ullowen Slate" }] });
  await tell("./photos/p2/hand", { strips: [{ ink: "Tarrowby Rush" }, { ink: "Tarrowby Rush" }] });
});
await empty.context().close();

const wide = await open(1800, 1080);
await ready(wide);
await wide.screenshot({ path: join(out, "page.png") });
await wide.context().close();

const phone = await open(390, 780, { deviceScaleFactor: 2, isMobile: true, hasTouch: true });
await ready(phone);
await phone.screenshot({ path: join(out, "page-phone-photo.png") });
await phone.locator("#verdicts").evaluate(e => e.scrollIntoView({ block: "start" }));
await phone.waitForTimeout(500);
await phone.screenshot({ path: join(out, "page-phone-verdict.png") });

await browser.close();
await server.end("SIGTERM");
rmSync(work, { recursive: true, force: true });
