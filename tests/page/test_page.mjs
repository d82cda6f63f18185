// SPDX-License-Identifier: GPL-3.0-or-later
/* The page in a real browser against the real program: node test_page.mjs STRANDLINE FIXTURES PICTURES
 *
 * The parts build on each other, as a user's evening does. What the page shows is compared with what the command
 * line gives for the same photo and the same hand-set values. Pictures of the page are left in PICTURES. */
import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { choose, drop, dragHandle, hand, reading, serious, settled, setUp, state, tabTo } from "./bench.mjs";
import { read } from "./server.mjs";
import { note, runAll, test } from "./tap.mjs";

const [binary, fixtures, pictures] = process.argv.slice(2).map(p => resolve(p));
const bench = await setUp(binary, fixtures, pictures);
const { complaints, handIs, open, outside, photo, restart, work } = bench;

const page = await open();

test("an empty page says what to do, and has nothing that hinders", async () => {
  await page.getByRole("heading", { name: "Put your photos here" }).waitFor();
  const { told, loaded } = await page.evaluate(() => ({
    told: [...document.querySelectorAll('link[rel="modulepreload"], script[type="module"]')].map(e => /** @type {HTMLLinkElement} */ (e).href || /** @type {HTMLScriptElement} */ (e).src).sort(),
    loaded: performance.getEntriesByType("resource").map(e => e.name).filter(n => /\.js$/.test(n) && !/(dygraph\.min|profile_plot)\.js$/.test(n)).sort()
  }));
  assert.deepEqual(told, [...new Set(loaded)], "modules that the page tells of at once, so that none waits for another");
  note(`address printed ${bench.server.started_ms} ms after the start`);
  assert.deepEqual(await serious(page), []);
  await page.screenshot({ path: join(pictures, "empty-1440.png") });
});

test("photos dropped together are read, the verdict is that of the command line", async () => {
  const began = Date.now();
  await drop(page, ["bench-pair.jpg", "washable-pair.jpg"].map(name => ({ name, path: photo(name) })));
  await settled(page, 2);
  await page.locator("#verdicts .answer").first().waitFor();
  note(`drop to verdicts: ${Date.now() - began} ms`);
  const want = (await read(binary, "pair", photo("bench-pair.jpg"))).pairs[0];
  const got = (await state(page)).pairs.find(p => p.immediate[0] === "p1");
  for (const name of ["index", "index_interval", "answer", "level", "level_probability", "dried_retained_share", "soak", "reasons"]) assert.deepEqual(got[name], want[name], name);
  await choose(page, "bench-pair.jpg");
  const text = await page.locator("#verdicts").innerText();
  assert.ok(text.includes(want.reasons[0]) && text.includes(want.caution), text);
});

/** Where an index lies on the scale: four levels, equally wide. */
function placeOf(index) {
  const limits = [0, 2, 8, 30, 100], level = limits.filter(limit => limit <= index).length - 1;
  return (level + (index - limits[level]) / (limits[level + 1] - limits[level])) / 4;
}

test("the answer comes first, then how sure, then the scale with its dot where the index says", async () => {
  for (const [name, id, answer, soaked] of [["bench-pair.jpg", "p1", "Stays in this dip", 1], ["washable-pair.jpg", "p2", "Washes away", 0]]) {
    await choose(page, name);
    const card = page.locator("#verdicts > .pair", { hasText: `${name}: does it stay` });
    await card.waitFor();
    const pair = (await state(page)).pairs.find(p => p.immediate[0] === id), texts = kind => card.locator("." + kind).allInnerTexts();
    assert.deepEqual(await card.locator(".verdict > div").first().locator("> *").evaluateAll(all => all.map(e => e.getAttribute("class"))), ["answer", "sure", "scale", null]);
    assert.deepEqual([await texts("answer"), await texts("sure")], [[answer], [pair.words.sure]]);
    assert.match(pair.words.sure, /^Virtually certain \((more than )?99\u00a0%\): .* the ink line\.$/);
    assert.ok((await texts("verdict"))[0].includes(pair.words.level), pair.words.level);
    assert.deepEqual(await texts("soak"), soaked ? [pair.words.soak] : []);
    const seen = await card.locator(".scale").evaluate(scale => {
      const box = part => { const { left, right } = part.getBoundingClientRect(); return { left, right, middle: (left + right) / 2 }; };
      const boxes = [...scale.querySelectorAll(".box")].map(box), from = boxes[0].left, wide = boxes[3].right - from;
      const at = selector => [...scale.querySelectorAll(selector)].map(e => (box(e).middle - from) / wide);
      return { boxes: boxes.length, dot: at(".index"), ends: at(".end"), own: scale.querySelector(".own")?.textContent, yellow: at(".holds"), words: [...scale.querySelectorAll("text")].map(t => t.textContent), role: scale.getAttribute("role"), label: scale.getAttribute("aria-label") };
    });
    [seen.dot[0], ...seen.ends].forEach((at, i) => {
      const want = placeOf([pair.index, ...pair.index_interval][i]);
      assert.ok(Math.abs(at - want) < 0.01, `${at} instead of ${want}`);
    });
    assert.deepEqual([seen.boxes, seen.dot.length, seen.ends.length, seen.own, seen.role], [4, 1, 2, pair.level, "img"]);
    assert.ok(seen.yellow.length === 2 && seen.yellow.every((at, i) => Math.abs(at - (5 + 2 * i) / 8) < 0.01), JSON.stringify(seen.yellow));
    assert.deepEqual(seen.words, ["none", "trace", "partial", "strong", "0", "2", "8", "30", "100"]);
    assert.ok(seen.label.includes(pair.words.level), seen.label);
    assert.match((await texts("stays"))[0], /^what is retained: \w/);
    const [rows] = await texts("shares");
    for (const share of [pair.immediate_retained_share, pair.dried_retained_share, pair.immediate_bound_share, pair.dried_bound_share]) assert.ok(rows.includes((100 * share).toFixed(share < 0.0995 ? 1 : 0) + "\u00a0%"), rows);
    assert.match(rows, /^What lay at the origin/);
  }
  await choose(page, "bench-pair.jpg");
});

test("the band list shows what the command line lists", async () => {
  const want = (await read(binary, "read", photo("bench-pair.jpg"))).photos[0].strips[0].bands;
  await page.locator("#bands tbody tr").first().waitFor();
  const rows = await page.locator("#bands tbody tr").allInnerTexts();
  assert.equal(rows.length, want.length);
  want.forEach((band, i) => {
    assert.ok(rows[i].includes(band.hue_name), rows[i]);
    assert.ok(rows[i].includes(Math.abs(band.rf).toFixed(3)), `${rows[i]}: ${band.rf}`);
  });
});

test("photos chosen with the picker are read; what is no photo is told at its place", async () => {
  writeFileSync(join(work, "notes.jpg"), "no picture at all\n");
  await page.setInputFiles("#picker", [photo("ink-row.jpg"), join(work, "notes.jpg")]);
  await page.waitForFunction(() => /ink-row/.test(document.querySelector("#tray-list")?.textContent || ""));
  await page.waitForFunction(() => {
    const text = document.querySelector("#tray-list")?.textContent || "";
    return /ink-row.jpg4 strips/.test(text) && /notes.jpg/.test(text) && /not (read|added)/.test(text);
  });
  const refused = page.locator("#tray li", { hasText: "notes.jpg" });
  if (await refused.locator("button.thumb").count()) {
    await refused.locator("button.thumb").click();
    await page.locator("#photo-problems .errors").waitFor();
    page.once("dialog", d => d.accept());
    await refused.getByRole("button", { name: "Remove notes.jpg" }).click();
  } else await refused.getByRole("button", { name: "Dismiss" }).click();
  await settled(page, 3);
});

test("dragging origin and front changes numbers to those of the command line", async () => {
  await choose(page, "bench-pair.jpg");
  await (await dragHandle(page, "front", 0, 14))();
  await handIs(page, "p1", h => h[0]?.front);
  await (await dragHandle(page, "origin", 0, -9))();
  const set = await handIs(page, "p1", h => h[0]?.origin);
  const want = (await read(binary, "read", photo("bench-pair.jpg"), "--origin", `${set[0].origin},`, "--front", `${set[0].front},`)).photos[0];
  const got = await reading(page, "p1");
  assert.deepEqual(got.strips.map(s => s.bands), want.strips.map(s => s.bands));
  assert.deepEqual(got.strips.map(s => [s.origin, s.front, s.bound_share]), want.strips.map(s => [s.origin, s.front, s.bound_share]));
  assert.equal(got.strips[0].origin_given, true);
  await page.waitForFunction(rf => document.querySelector("#bands tbody tr:last-child")?.textContent?.includes(rf), want.strips[0].bands.at(-1).rf.toFixed(3));
});

test("dragging a corner shows the lens and gives what the command line gives for these corners", async () => {
  const before = await reading(page, "p1");
  const release = await dragHandle(page, "corner-2", 6, 8);
  await page.locator("#lens").waitFor({ state: "visible" });
  await page.screenshot({ path: join(pictures, "lens-1440.png") });
  await release();
  await page.locator("#lens").waitFor({ state: "hidden" });
  const set = await handIs(page, "p1", h => h[0]?.corners_px);
  assert.notDeepEqual(set[0].corners_px[2], before.strips[0].corners_px[2]);
  assert.deepEqual(set[0].corners_px[0], before.strips[0].corners_px[0]);
  const corners = s => s.corners_px.flat().join(",");
  const want = (await read(binary, "read", photo("bench-pair.jpg"), "--corners", corners(set[0]), "--origin", `${set[0].origin},`, "--front", `${set[0].front},`)).photos[0];
  assert.deepEqual((await reading(page, "p1")).strips[0].bands, want.strips[0].bands);
});

test("the limits of a band are dragged, and one is marked anew, to what the command line gives for them", async () => {
  const corners = s => s.corners_px.flat().join(",");
  await page.locator('[data-key="band-2"]').click();
  await page.locator('[data-handle="band-from"]').waitFor();
  await (await dragHandle(page, "band-from", 0, -5))();
  await handIs(page, "p1", h => h[0]?.bands);
  await page.locator('[data-handle="band-to"]').focus();
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("Shift+ArrowDown");
  await page.locator('[data-key="add-band"]').click();
  const set = await handIs(page, "p1", h => h[0]?.bands?.length === 2);
  const want = (await read(binary, "read", photo("bench-pair.jpg"), "--corners", corners(set[0]),
    "--origin", `${set[0].origin},`, "--front", `${set[0].front},`, "--band-limits", set[0].bands.map(b => b.join("-")).join("+") + ",")).photos[0];
  const got = await reading(page, "p1");
  assert.deepEqual(got.strips[0].bands, want.strips[0].bands);
  assert.equal(got.strips[0].bands.filter(b => b.limits_given).length, 2);
  assert.match(await page.evaluate(() => fetch("./export/command.txt").then(r => r.text())), /--band-limits [0-9.]+-[0-9.]+\+[0-9.]+-[0-9.]+,/);
  assert.equal(await page.locator("#bands .tag").count(), 2);
  await page.screenshot({ path: join(pictures, "band-limits-1440.png") });
  await page.locator("body").click({ position: { x: 3, y: 3 } });
  for (let i = 0; i < 2; i++) await page.keyboard.press("Control+z");
  await handIs(page, "p1", h => h[0]?.bands?.length === 1);
  await page.locator('[data-find="bands"]').click();
  await handIs(page, "p1", h => h[0] && !h[0].bands);
  for (let i = 0; i < 2; i++) await page.keyboard.press("Control+z");
  await handIs(page, "p1", h => h[0] && !h[0].bands && h[0].corners_px);
});

test("undo goes back step by step, redo forward, and each value can be found again", async () => {
  await page.locator("body").click({ position: { x: 3, y: 3 } });
  for (let i = 0; i < 3; i++) await page.keyboard.press("Control+z");
  await handIs(page, "p1", h => h.every(s => !s.corners_px && !s.origin && !s.front));
  const plain = (await read(binary, "read", photo("bench-pair.jpg"))).photos[0];
  assert.deepEqual((await reading(page, "p1")).strips.map(s => s.bands), plain.strips.map(s => s.bands));
  await page.getByRole("button", { name: "Redo" }).click();
  await page.keyboard.press("Control+Shift+z");
  await handIs(page, "p1", h => h[0]?.origin && h[0]?.front && !h[0].corners_px);
  await page.locator('[data-find="front"]').click();
  await handIs(page, "p1", h => h[0]?.origin && !h[0].front);
  await page.locator('[data-find="origin"]').click();
  await handIs(page, "p1", h => !h[0]?.origin);
});

test("numbers follow a move; how fast is told", async () => {
  await page.locator('[data-handle="front"]').focus();
  const times = [];
  for (let i = 0; i < 8; i++) {
    times.push(await page.evaluate(() => new Promise(done => {
      const words = () => document.querySelector("#bands")?.textContent, before = words(), began = performance.now();
      const watch = new MutationObserver(() => {
        if (words() === before) return;
        watch.disconnect();
        done(performance.now() - began);
      });
      watch.observe(document.body, { childList: true, subtree: true, characterData: true });
      document.querySelector('[data-handle="front"]')?.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowDown", shiftKey: true, bubbles: true }));
    })));
    await page.waitForTimeout(120);
  }
  const asked = await page.evaluate(() => performance.getEntriesByType("resource").filter(r => r.name.endsWith("/hand")).slice(-8).map(r => r.duration).sort((a, b) => a - b)[4]);
  note(`of that, the program's answer: ${asked.toFixed(0)} ms`);
  times.sort((a, b) => a - b);
  note(`a move shows in the numbers after ${times[4].toFixed(0)} ms (median of 8, slowest ${times[7].toFixed(0)} ms)`);
  for (let set = (await hand(page, "p1"))[0]?.front; set;) { // one step or several, as fast as the moves came
    await page.keyboard.press("Control+z");
    const before = set;
    set = (await handIs(page, "p1", h => h[0]?.front !== before))[0]?.front;
  }
});

test("a verdict follows at once, marked until then; what a longer soak would do comes after it", async () => {
  const held = { true: [], false: [] }, holding = { true: true, false: true };
  await page.route("**/hand", async route => {
    const quick = !!route.request().postDataJSON().quick;
    if (holding[quick]) await new Promise(go => { held[quick].push(go); });
    await route.continue();
  });
  const go = async quick => {
    while (!held[quick].length) await page.waitForTimeout(20);
    holding[quick] = false;
    held[quick].forEach(one => one());
  };
  const card = page.locator("#verdicts > .pair").first(), texts = async () => [await card.locator(".answer").innerText(), await card.locator(".soak").innerText()];
  const busy = is => page.waitForFunction(text => document.querySelector("#verdicts")?.getAttribute("aria-busy") === text, String(is));
  const before = await texts();
  await page.locator("#strip-choice button").nth(1).click();
  await page.locator('[data-handle="origin"]').focus();
  for (let i = 0; i < 2; i++) await page.keyboard.press("Shift+ArrowUp");
  await busy(true);
  assert.deepEqual(await texts(), before, "what is marked is what stood there");
  await go(true);
  await busy(false);
  await page.waitForFunction(() => /is being worked out/.test(document.querySelector("#verdicts .soak")?.textContent || ""));
  const [set] = (await hand(page, "p1")).slice(1), want = (await read(binary, "pair", photo("bench-pair.jpg"), "--origin", `,${set.origin}`)).pairs[0];
  const check = async () => {
    const pair = (await state(page)).pairs.find(p => p.immediate[0] === "p1"), text = await card.innerText();
    for (const name of ["index", "index_interval", "answer", "level_probability", "drying", "reasons"]) assert.deepEqual(pair[name], want[name], name);
    for (const words of [pair.words.answer, pair.words.sure, pair.words.level, ...want.reasons]) assert.ok(text.includes(words), `${words}\n${text}`);
    return pair;
  };
  assert.notEqual((await texts())[0], before[0], "the move is too small to be seen in the answer");
  assert.deepEqual((await check()).soak.bound_share, null);
  assert.match(await card.locator(".shares").innerText(), /being worked out/);
  assert.match(await page.locator("#strip-words").innerText(), /is being worked out/);
  await page.locator("#verdicts").screenshot({ path: join(pictures, "worked-out-1440.png") });
  await go(false);
  await page.waitForFunction(() => !/being worked out/.test(document.querySelector("#verdicts")?.textContent || ""));
  await handIs(page, "p1", h => h[1]?.origin);
  const whole = await check();
  assert.deepEqual(whole.soak, want.soak);
  assert.equal((await texts())[1], whole.words.soak);
  for (let now = set.origin; now;) { // one step or two, as fast as the keys came
    await page.keyboard.press("Control+z");
    const last = now;
    now = (await handIs(page, "p1", h => h[1]?.origin !== last))[1]?.origin;
  }
  await page.unroute("**/hand");
  await page.locator("#strip-choice button").first().click();
});

test("a place pointed at in the list shows in photo, strip and profile", async () => {
  await page.locator("#bands tbody tr").nth(1).hover();
  await page.locator("#stage-lines .pointed").first().waitFor({ state: "attached" });
  await page.waitForFunction(() => /Rf 0\.1/.test(document.querySelector("#strip-plot output")?.textContent || ""));
  assert.equal(await page.locator("#bands tr.pointed").count(), 1);
  await page.locator("#strip-plot .canvas").focus();
  await page.keyboard.press("Home");
  await page.waitForFunction(() => /Rf −/.test(document.querySelector("#strip-plot output")?.textContent || ""));
});

for (const kind of ["Density", "Dye load", "L*a*b*", "Hue and intensity"]) {
  test(`the profile can show ${kind}`, async () => {
    await page.locator("#strip-plot .bar label", { hasText: kind }).click();
    assert.ok(await page.locator("#strip-plot .key").innerText());
  });
}

test("role and ink are told at the strip", async () => {
  await page.locator('[data-key="ink"]').fill("Harbour Blue");
  await page.locator('[data-key="ink"]').press("Tab");
  await handIs(page, "p1", h => h[0]?.ink === "Harbour Blue");
  await page.waitForFunction(() => /Harbour Blue/.test(document.querySelector("#strip-choice")?.textContent || ""));
  await page.getByRole("button", { name: "Undo" }).click();
  await handIs(page, "p1", h => !h[0]?.ink);
});

test("strips of photos and of a saved reading lie on one axis", async () => {
  const saved = join(work, "saved.json");
  writeFileSync(saved, JSON.stringify(await read(binary, "read", photo("kitchen-pair.jpg"))));
  await page.setInputFiles("#picker", saved);
  await page.waitForFunction(() => /saved reading/.test(document.querySelector("#tray-list")?.textContent || ""));
  const ticks = page.locator("#overlay-ticks input");
  for (const i of [0, 2, 4, 8]) await ticks.nth(i).check();
  await page.waitForFunction(() => document.querySelectorAll("#overlay .legend li").length === 4);
  assert.equal(await page.locator("#overlay .legend line").evaluateAll(all => new Set(all.map(l => l.getAttribute("stroke-dasharray"))).size), 4);
  await page.locator("#shared, #overlay-tables p").first().waitFor();
  await page.locator('[data-key="normalise"]').check();
  await page.locator("#overlay-view .canvas").focus();
  await page.keyboard.press("End");
  await page.waitForFunction(() => /^Rf 1\.2/.test(document.querySelector("#overlay-view output")?.textContent || ""));
  await page.locator("#overlay .legend button").first().click();
  assert.equal(await page.locator("#overlay .legend button").first().getAttribute("aria-pressed"), "false");
  await page.locator("#overlay .legend button").first().click();
});

test("everything can be taken away", async () => {
  await page.locator("#take summary").click();
  await page.waitForFunction(() => /strandline /.test(document.querySelector("#command")?.textContent || ""));
  const links = await page.locator("#take a").evaluateAll(all => all.map(a => /** @type {HTMLAnchorElement} */ (a).href));
  assert.ok(links.length > 15, String(links.length));
  const starts = { png: "\x89PNG", svg: "<", pdf: "%PDF", html: "<!DOCTYPE html>", csv: "", json: "{" };
  const wanted = links.filter(l => !/(pair|review)/.test(l) || /n=0(&|$)/.test(l));
  for (const link of wanted) {
    const answer = await page.request.get(link), name = new URL(link).pathname.split("/").pop();
    assert.equal(answer.status(), 200, link);
    const kind = name.includes(".") ? name.split(".").pop() : "json";
    assert.ok((await answer.body()).toString("latin1").startsWith(starts[kind]), `${link} begins as ${kind}`);
  }
  await page.keyboard.press("Escape");
});

for (const [width, height] of [[360, 740], [1000, 800], [1920, 1080]]) {
  test(`${width} px: nothing serious for axe, nothing wider than the page, pictures taken`, async () => {
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      await page.setViewportSize({ width, height });
      await page.evaluate(() => scrollTo(0, 0));
      assert.deepEqual(await serious(page), []);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
      const names = await page.locator("#verdicts > .pair .scale").first().locator("text").evaluateAll(all => all.slice(0, 4).map(t => ({ ...t.getBoundingClientRect().toJSON(), letter: parseFloat(getComputedStyle(t).fontSize) })));
      names.forEach((name, i) => assert.ok(name.letter >= 12 && (i === 0 || name.left > names[i - 1].right), "the scale's words can be read: " + JSON.stringify(names)));
      await page.screenshot({ path: join(pictures, `page-${width}-${colorScheme}.png`) });
      if (colorScheme === "light") await page.screenshot({ path: join(pictures, `page-${width}-whole.png`), fullPage: true });
    }
  });
}

test("a reload loses nothing", async () => {
  await page.emulateMedia({ colorScheme: "light" });
  await page.setViewportSize({ width: 1440, height: 1000 });
  await page.locator('[data-handle="front"]').focus();
  await page.keyboard.press("Shift+ArrowDown");
  await handIs(page, "p1", h => h[0]?.front);
  const before = await state(page);
  await page.reload();
  await page.locator("#bands tbody tr").first().waitFor();
  const after = await state(page);
  assert.deepEqual(after.photos.map(p => [p.name, p.hand]), before.photos.map(p => [p.name, p.hand]));
  assert.equal(await page.locator('[data-find="front"]').count(), 1);
});

test("closing while something is on its way warns", async () => {
  const other = await open();
  await other.locator("#bands tbody tr").first().waitFor();
  const sent = [];
  await other.route("**/photos?name=*", route => { sent.push(route); }); // not answered
  await other.locator("body").click({ position: { x: 3, y: 3 } });
  await other.setInputFiles("#picker", photo("bench-pair.jpg"));
  await other.locator("#tray progress").waitFor();
  const asked = other.waitForEvent("dialog");
  void other.close({ runBeforeUnload: true });
  const dialog = await asked;
  assert.equal(dialog.type(), "beforeunload");
  for (const route of sent) await route.abort(); // or it may go on to the program when the page closes
  await dialog.accept();
});

test("the work is there again after kill -9", async () => {
  const before = await state(page), bands = (await reading(page, "p1")).strips[0].bands;
  const killed = bench.server;
  await killed.end("SIGKILL");
  await page.waitForFunction(() => document.body.classList.contains("lost"));
  await restart("SIGKILL");
  const again = await open();
  await settled(again, before.photos.length);
  const after = await state(again);
  assert.deepEqual(after.photos.map(p => [p.name, p.hand]), before.photos.map(p => [p.name, p.hand]));
  assert.deepEqual(after.saved.map(p => p.name), before.saved.map(p => p.name));
  assert.deepEqual((await reading(again, after.photos[0].id)).strips[0].bands, bands);
  await again.context().close();
});

test("the whole job by keyboard alone, from the picker to a report taken away", async () => {
  await restart("SIGTERM", "second");
  const keys = await open();
  await keys.getByRole("heading", { name: "Put your photos here" }).waitFor();
  await tabTo(keys, "#picker");
  const chosen = keys.waitForEvent("filechooser");
  await keys.waitForTimeout(300); // until the browser has been told to hand the chooser over
  await keys.keyboard.press("Enter");
  await (await chosen).setFiles([photo("bench-pair.jpg")]);
  await settled(keys, 1);
  await keys.locator("#bands tbody tr").first().waitFor();
  await tabTo(keys, '[data-handle="corner-0"]');
  await keys.keyboard.press("ArrowRight");
  await keys.keyboard.press("Shift+ArrowUp");
  const set = await handIs(keys, "p1", h => h[0]?.corners_px);
  await tabTo(keys, '[data-handle="origin"]');
  await keys.keyboard.press("ArrowUp");
  await handIs(keys, "p1", h => h[0]?.origin);
  assert.ok(set[0].corners_px);
  await tabTo(keys, '[data-key="pair-make"], #verdicts summary');
  await tabTo(keys, '[data-key="band-1"]');
  await keys.locator("#bands tr.pointed").waitFor();
  await keys.keyboard.press("Enter");
  await tabTo(keys, '[data-handle="band-to"]');
  await keys.keyboard.press("Shift+ArrowUp");
  await handIs(keys, "p1", h => h[0]?.bands);
  await tabTo(keys, "#undo");
  await keys.keyboard.press("Enter");
  await handIs(keys, "p1", h => !h[0]?.bands && h[0]?.origin);
  await tabTo(keys, '#overlay-ticks input');
  await keys.keyboard.press("Space");
  await keys.locator("#overlay .legend li").first().waitFor();
  await tabTo(keys, "#take summary");
  await keys.keyboard.press("Enter");
  await tabTo(keys, '#take a[href*="report.html"]');
  const download = keys.waitForEvent("download");
  await keys.keyboard.press("Enter");
  assert.match((await download).suggestedFilename(), /\.html$/);
  await keys.context().close();
});

test("a finger drags a handle", async () => {
  const touch = await open({ viewport: { width: 390, height: 800 }, hasTouch: true, isMobile: true });
  await touch.locator('[data-handle="front"]').scrollIntoViewIfNeeded();
  const box = await touch.locator('[data-handle="front"]').boundingBox();
  const at = { x: box.x + box.width / 2, y: box.y + box.height / 2 }, wire = await touch.context().newCDPSession(touch);
  await wire.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: [at] });
  for (const dy of [4, 9, 14]) await wire.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints: [{ x: at.x, y: at.y + dy }] });
  await touch.locator("#lens").waitFor({ state: "visible" });
  await wire.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
  await handIs(touch, "p1", h => h[0]?.front);
  await touch.context().close();
});

test("no request has left the page's own address, and the browser has nothing to complain of", async () => {
  assert.deepEqual(outside, []);
  assert.deepEqual(complaints.filter(c => !/ERR_CONNECTION_REFUSED|ERR_EMPTY_RESPONSE|ERR_CONNECTION_RESET|ERR_INCOMPLETE|Failed to load resource/.test(c)), []);
});

await runAll(bench.finish);
