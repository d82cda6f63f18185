// SPDX-License-Identifier: GPL-3.0-or-later
/* Replicates on the page: node test_replicates.mjs STRANDLINE FIXTURES PICTURES DRAW
 *
 * Several strips of one ink, drawn so that one of them is known to differ. What the page shows is compared with what the
 * command line gives for the same files. */
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { drop, serious, settled, setUp, state, tabTo } from "./bench.mjs";
import { read } from "./server.mjs";
import { runAll, test } from "./tap.mjs";

const [binary, fixtures, pictures, draw] = process.argv.slice(2).map(p => resolve(p));
const bench = await setUp(binary, fixtures, pictures);
const { complaints, handIs, open, outside, work } = bench;
/* A saved reading's numbers are rounded before means are taken of them. */
const ROUNDED = 2e-5;
const INK = "Ullowen Slate", OF_THE_PAGE = ["strips", "immediate", "dried", "words", "unfinished", "alone", "treatment"];

function drawn(scene, name) {
  const path = join(work, name);
  execFileSync(draw, [scene, path]);
  return { name, path };
}
const pairs = [drawn("pair", "noon.jpg"), drawn("pair", "dusk.png")];
const singles = [drawn("single", "ash.jpg"), drawn("single", "birch.png"), drawn("dried", "cedar.jpg")], kept = drawn("single", "elm.tif");
const page = await open(), section = page.locator("#replicates");

/** Without what names strips and words: these are the page's. */
const numbers = list => list.map(one => Object.fromEntries(Object.entries(one).filter(([name]) => !OF_THE_PAGE.includes(name))));
const percent = (share, digits) => (100 * share).toFixed(digits);

/** Until the page shows so many sets of so many strips in all. */
const sets = (count, strips) => page.waitForFunction(([c, s]) => {
  const titles = [...document.querySelectorAll("#replicates .set h3")].map(e => /(\d+) strips together$/.exec(e.textContent || "")).filter(m => !!m);
  return titles.length === c && titles.reduce((sum, m) => sum + Number(m[1]), 0) === s && document.querySelector("#replicates")?.getAttribute("aria-busy") !== "true";
}, [count, strips]);

test("strips whose ink was not told are not taken together, and nothing is shown of it", async () => {
  await drop(page, pairs);
  await settled(page, 2);
  await page.locator("#verdicts .answer").first().waitFor();
  assert.deepEqual((await state(page)).replicates, []);
  assert.ok(!await section.isVisible());
  assert.equal(await section.innerHTML(), "");
});

test("strips of one ink are taken together, with the verdict of all that the command line gives", async () => {
  await page.locator('#conditions [name="ink"]').fill(INK);
  await page.locator('#conditions [name="ink"]').press("Tab");
  await sets(2, 4);
  const want = await read(binary, "pair", ...pairs.map(p => p.path), "--ink", INK), got = await state(page);
  assert.equal(want.combined.length, 1);
  assert.deepEqual(numbers(got.replicates), numbers(want.replicates));
  assert.deepEqual(numbers(got.combined), numbers(want.combined));
  assert.deepEqual(got.replicates.map(r => r.strips), want.replicates.map(r => r.strips.map(([p, k]) => [`p${p + 1}`, k])));
  const text = await section.innerText(), { answer, sure, level, soak } = got.combined[0].words;
  assert.match(answer, /stay/i);
  assert.equal(await section.locator(".scale .index").count(), 1);
  for (const words of [`${INK}, dipped at once: 2 strips together`, `${INK}, dried first: 2 strips together`, answer, sure, level, soak, ...want.combined[0].reasons, want.combined[0].caution]) {
    assert.ok(text.includes(words), `${words}\n${text}`);
  }
});

test("each number is shown with its interval, its spread and from how many strips it is", async () => {
  const [set] = (await state(page)).replicates, card = section.locator(".set", { hasText: "dipped at once: 2 strips" });
  const rows = await card.locator("table").nth(1).locator("tbody tr").allInnerTexts();
  assert.equal(rows.length, set.bands.length);
  set.bands.forEach((band, i) => {
    for (const words of [band.hue_name, Math.abs(band.rf.value).toFixed(3), `–${band.rf.interval[1].toFixed(3)})`, band.rf.between_sd.toFixed(3), `${percent(band.share.between_sd, 1)}\u00a0%`, `${band.rf.count} of 2`]) {
      assert.ok(rows[i].includes(words), `${rows[i]}: ${words}`);
    }
    assert.equal(/retained/.test(rows[i]), band.retained, rows[i]);
  });
  assert.ok(set.bands.some(band => band.retained));
  const lay = await card.locator("table").first().innerText();
  assert.match(lay, /^What lay at the origin, strip by strip and together/);
  for (const mean of [set.retained, set.bound]) {
    const digits = mean.value < 0.0995 ? 1 : 0;
    assert.ok(lay.includes(`${percent(mean.value, digits)}\u00a0%`) && lay.includes(`(${percent(mean.interval[0], digits)}–${percent(mean.interval[1], digits)})`), lay);
    assert.ok(lay.includes(`${percent(mean.between_sd, 1)}\u00a0%`), lay);
  }
});

test("the strip that disagrees is pointed at in words, and brought up by keyboard", async () => {
  const saved = join(work, "elm.json");
  writeFileSync(saved, JSON.stringify(await read(binary, "read", kept.path, "--ink", INK)));
  await drop(page, singles);
  await settled(page, 5);
  await page.setInputFiles("#picker", saved);
  await sets(3, 8);
  const want = (await read(binary, "read", ...singles.map(s => s.path), saved, "--ink", INK)).replicates[0];
  const set = (await state(page)).replicates.find(r => r.strips.length === 4), card = section.locator(".set", { hasText: "run alike: 4 strips together" });
  assert.deepEqual(numbers([set]), numbers([want]));
  assert.match(await card.locator(".warnings").innerText(), /one strip differs from the others by more than chance: cedar\.jpg/i);
  assert.equal(await card.locator("tr.differs").count(), 1);
  assert.match(await card.locator("tr.differs").innerText(), /Strip 1 of cedar\.jpg[^]*differs from the others: its bound share, its retained share, the share of its grey/);
  assert.equal(await card.locator("tbody button", { hasText: "elm" }).count(), 0, "a saved reading has no photo to bring up");
  assert.equal(await page.locator("#photo-title").innerText(), "noon.jpg");
  await tabTo(page, "#replicates tr.differs button");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.querySelector("#photo-title")?.textContent === "cedar.jpg" && document.querySelector("#replicates tr.differs button")?.getAttribute("aria-current") === "true");
  await page.waitForFunction(() => document.activeElement?.id === "stage-frame" && document.querySelector("#stage-frame").getBoundingClientRect().top < innerHeight / 2);
  await section.locator("button", { hasText: "Strip 2 of dusk.png" }).click();
  await page.waitForFunction(() => document.querySelector("#photo-title")?.textContent === "dusk.png" && document.querySelector('#strip-choice button:nth-child(2)')?.getAttribute("aria-pressed") === "true");
});

test("the means follow a value set by hand, and are drawn anew only then", async () => {
  await page.evaluate(() => { document.querySelector("#replicates h2")?.setAttribute("data-seen", "before"); });
  await page.locator('[data-key="band-1"]').click();
  await page.locator("#zoom button[value='2']").click();
  await page.locator('[data-handle="band-from"]').waitFor();
  assert.equal(await section.locator("h2").getAttribute("data-seen"), "before", "drawn though nothing of it has changed");
  await page.locator('[data-handle="front"]').focus();
  await page.keyboard.press("Shift+ArrowDown");
  const set = await handIs(page, "p2", h => h[1]?.front);
  await page.waitForFunction(() => !document.querySelector("#replicates h2")?.hasAttribute("data-seen") && document.querySelector("#replicates")?.getAttribute("aria-busy") === "false");
  const saved = [join(work, "noon.json"), join(work, "dusk.json")];
  writeFileSync(saved[0], JSON.stringify(await read(binary, "read", pairs[0].path, "--ink", INK)));
  writeFileSync(saved[1], JSON.stringify(await read(binary, "read", pairs[1].path, "--ink", INK, "--front", `,${set[1].front}`)));
  const dried = document => document.replicates.find(r => r.role === "dried"), want = dried(await read(binary, "pair", ...saved)), got = dried(await state(page));
  const means = one => [one.retained, one.bound, ...one.bands.flatMap(b => [b.rf, b.share])].flatMap(m => [m.value, ...m.interval]);
  assert.equal(means(got).length, means(want).length);
  means(got).forEach((value, i) => assert.ok(Math.abs(value - means(want)[i]) < ROUNDED, `${value} ${means(want)[i]}`));
  assert.ok((await section.locator(".set", { hasText: "dried first: 2 strips" }).innerText()).includes(got.bands.at(-1).rf.value.toFixed(3)));
  await page.getByRole("button", { name: "Undo" }).click();
  await handIs(page, "p2", h => !h[1]?.front);
});

for (const [width, height] of [[360, 740], [1440, 1000], [1920, 1080]]) {
  test(`${width} px: replicates hinder nobody, light and dark, and are no wider than the page`, async () => {
    await page.setViewportSize({ width, height });
    for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
      await page.emulateMedia({ colorScheme });
      assert.deepEqual(await serious(page), []);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
      await section.screenshot({ path: join(pictures, `replicates-${width}-${colorScheme}.png`) });
    }
  });
}

test("on paper the replicates are there", async () => {
  await page.setViewportSize({ width: 1440, height: 1000 });
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  for (const shown of [".answer", ".scale", ".warnings", "tr.differs", "tr.mean"]) assert.ok(await section.locator(shown).first().isVisible(), shown);
  assert.equal(await section.locator("tr.differs button").evaluate(b => getComputedStyle(b).textDecorationLine), "none", "what can't be pressed on paper does not look so");
  await page.pdf({ path: join(pictures, "replicates.pdf"), format: "A4", printBackground: true });
  await page.emulateMedia({ media: null, colorScheme: "light" });
});

test("they are there again after a start anew, and gone with the ink", async () => {
  const before = (await state(page)).replicates;
  await bench.restart("SIGKILL");
  const again = await open();
  await settled(again, 5);
  assert.deepEqual((await state(again)).replicates, before);
  await again.locator("#replicates .set").first().waitFor();
  await again.locator('#conditions [name="ink"]').fill("");
  await again.locator('#conditions [name="ink"]').press("Tab");
  await again.waitForFunction(() => /** @type {HTMLElement} */ (document.querySelector("#replicates")).hidden);
  assert.deepEqual((await state(again)).combined, []);
});

test("no request has left the page's own address, and the browser has nothing to complain of", async () => {
  assert.deepEqual(outside, []);
  assert.deepEqual(complaints.filter(c => !/ERR_CONNECTION_REFUSED|ERR_EMPTY_RESPONSE|ERR_CONNECTION_RESET|ERR_INCOMPLETE|Failed to load resource/.test(c)), []);
});

await runAll(bench.finish);
