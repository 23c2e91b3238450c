// Drives a film in headless Chromium from file:// and fails on anything that an
// operator would be misled by: figures that differ from the certificate, an error
// on the console, a request to anywhere, a control that does nothing.
import { chromium } from "playwright-core";
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [film, certificate, shots] = process.argv.slice(2);
if (!film || !certificate) {
  console.error("usage: run FILM CERTIFICATE|- [FOLDER]");
  process.exit(2);
}
const faults = [];
const expect = (ok, what) => { if (!ok) faults.push(what); };
const url = pathToFileURL(path.resolve(film)).href;

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-dev-shm-usage"],
});

async function open(options) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, ...options });
  const page = await context.newPage();
  // The advice about readback speaks of this script's own looks at the pixels.
  page.on("console", m => { if (["error", "warning"].includes(m.type()) && !m.text().startsWith("Canvas2D: Multiple readback")) faults.push(`console: ${m.text()}`); });
  page.on("pageerror", e => faults.push(`script: ${e.message}`));
  page.on("request", r => { if (r.url() !== url) faults.push(`request: ${r.url()}`); });
  await page.goto(url);
  await page.waitForFunction(() => window.film && window.film.state.frames > 0, null, { timeout: 20000 });
  return page;
}
const at = page => page.evaluate(() => window.film.state.t);
const settled = page => page.evaluate(() => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r))));
const shot = async (page, name) => { if (shots) { fs.mkdirSync(shots, { recursive: true }); await page.screenshot({ path: path.join(shots, name) }); } };
// Two pictures are the same when fewer than one pixel in 500 differs clearly: a
// browser may draw edges by another way after its pixels were asked for.
const keep = (page, name) => page.evaluate(name => {
  const c = document.getElementById("plan");
  (window.kept ||= {})[name] = c.getContext("2d").getImageData(0, 0, c.width, c.height);
}, name);
const same = (page, name) => page.waitForFunction(name => {
  const c = document.getElementById("plan"), a = window.kept[name], b = c.getContext("2d").getImageData(0, 0, c.width, c.height);
  if (a.width !== b.width || a.height !== b.height) return false;
  let off = 0;
  for (let k = 0; k < a.data.length; k += 4) if (Math.abs(a.data[k] - b.data[k]) + Math.abs(a.data[k + 1] - b.data[k + 1]) + Math.abs(a.data[k + 2] - b.data[k + 2]) > 96) off++;
  return off < a.data.length / 4 / 500;
}, name, { timeout: 5000, polling: 200 }).then(() => true, () => false);
const pixels = (page, id) => page.evaluate(i => document.getElementById(i).toDataURL(), id);

async function figures(page) {
  const cert = JSON.parse(fs.readFileSync(certificate, "utf8"));
  const head = await page.evaluate(() => ({ moves: film.moves, total: film.total, time: film.head.time, proven: document.getElementById("proven").textContent }));
  expect(head.moves === cert.programs.reduce((s, p) => s + p.moves, 0), `moves: film ${head.moves}`);
  const [low, high] = [0, 1].map(i => cert.programs.reduce((s, p) => s + p.time_s[i], 0));
  expect(head.time[0] === low && head.time[1] === high, `time: film ${head.time}, certificate ${low} to ${high}`);
  expect(head.total >= low - 0.5 && head.total <= high + 0.5, `clock ends at ${head.total} s, certificate ${low} to ${high} s`);
  expect(head.proven.startsWith("proven") === cert.ok, `says "${head.proven}", certificate ok=${cert.ok}`);
  const shown = await page.$$eval("#rows tr", rows => rows.map(r => ({ check: r.dataset.check, member: r.dataset.member, margin: r.querySelector(".margin").textContent, needed: r.querySelector(".needed").textContent })));
  expect(shown.length === (cert.margins || []).length, `${shown.length} margins shown of ${(cert.margins || []).length}`);
  (cert.margins || []).forEach((m, i) => {
    const s = shown[i] || {};
    expect(s.check === m.check && s.member === m.member && s.margin === `${m.margin_mm.toFixed(2)} mm` && s.needed === `${m.needed_mm.toFixed(2)} mm`,
      `margin ${i}: film ${JSON.stringify(s)}, certificate ${m.check} ${m.member} ${m.margin_mm} ${m.needed_mm}`);
  });
  return shown.length;
}

async function controls(page) {
  const n = await page.evaluate(() => film.moves);
  await page.waitForFunction(() => film.ready(), null, { timeout: 30000 });
  await settled(page);
  const start = await pixels(page, "plan");
  await keep(page, "start");
  await page.locator("#at").fill(String(Math.floor(n * 8)));
  await settled(page);
  expect(Math.abs(await at(page) - Math.floor(n * 8)) < 1, "scrubbing by the slider does not move");
  expect(await pixels(page, "plan") !== start, "the plan does not change while scrubbing");
  await shot(page, "middle.png");
  await page.locator("#plan").focus().catch(() => {});
  for (const [key, want] of [["Home", () => 0], ["End", n => n * 16]]) {
    await page.keyboard.press(key);
    expect(await at(page) === want(n), `${key} goes to ${await at(page)}`);
  }
  await settled(page);
  await page.waitForFunction(() => film.ready(), null, { timeout: 30000 });
  await settled(page);
  await keep(page, "end");
  await shot(page, "end.png");
  await page.keyboard.press("Home");
  await settled(page);
  await shot(page, "home.png");
  expect(await same(page, "start"), "the plan at the start is not what it was at first");
  await page.keyboard.press("End");
  expect(await same(page, "end"), "the plan at the end differs after going back and forth");
  await page.keyboard.press("Home");
  await page.keyboard.press("ArrowRight");
  const one = await at(page);
  expect(one >= 16 && one % 16 === 0, `one block on: ${one}`);
  await page.keyboard.press("ArrowLeft");
  expect(await at(page) === 0, "one block back does not come back");
  await page.locator("#next").click();
  expect(await at(page) === one, "the button for one block on");
  await page.keyboard.press("Home");
  await page.locator("#speed").selectOption("1");
  const plays = () => page.waitForFunction(t => film.state.t > t, await_t, { timeout: 5000 }).then(() => true, () => false);
  let await_t = await at(page);
  await page.locator("#play").click();
  expect(await plays(), "play does not run");
  await page.locator("#play").click();
  await_t = await at(page);
  await page.waitForTimeout(200);
  expect(await at(page) === await_t, "stop does not stop");
  await page.locator("h1").click();
  await page.keyboard.press(" ");
  expect(await plays(), "the space bar does not play");
  await page.keyboard.press(" ");
  expect(!await page.evaluate(() => film.state.playing), "the space bar does not stop");
  const jump = page.locator("#rows button").first();
  if (await jump.count()) {
    const line = await jump.textContent();
    await jump.click();
    await settled(page);
    const text = await page.locator("#blocks b").textContent();
    expect(text.trim().startsWith(line + " "), `a margin's button shows "${text.trim()}", not line ${line}`);
    await shot(page, "margin.png");
  }
  for (const axis of ["1", "0"]) {
    const was = await page.locator("#cut").textContent();
    await page.locator("#axis").selectOption(axis);
    await settled(page);
    expect(await page.locator("#cut").textContent() !== was, `section along ${axis} does not change`);
  }
}

async function touch() {
  const page = await open({ viewport: { width: 390, height: 780 }, hasTouch: true, isMobile: true });
  await page.keyboard.press("Home");
  const t = await at(page);
  await page.locator("#next").tap();
  const on = await page.waitForFunction(t => film.state.t > t, t, { timeout: 5000 }).catch(() => null);
  expect(on, "a tap on one block on does nothing");
  await page.keyboard.press("Home");
  const box = await page.locator("#plan").boundingBox();
  const client = await page.context().newCDPSession(page);
  const y = box.y + box.height / 2, x = box.x + 20;
  await client.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: [{ x, y }] });
  for (let k = 1; k <= 5; k++) await client.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints: [{ x: x + k * box.width / 10, y }] });
  await client.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
  const swept = await page.waitForFunction(() => film.state.t > 16, null, { timeout: 5000 }).catch(() => null);
  expect(swept, "a finger over the plan does not scrub");
  const small = await page.$$eval("footer button", bs => bs.filter(b => b.getBoundingClientRect().height < 44).length);
  expect(small === 0, `${small} buttons are too small for a finger`);
  await shot(page, "touch.png");
  await page.context().close();
}

// frames counts frames while the place in the program runs to and fro.
async function frames(page) {
  await page.waitForFunction(() => film.ready() || (film.go(film.state.t), false), null, { timeout: 120000, polling: 50 });
  return page.evaluate(() => new Promise(done => {
    const n = film.moves * 16, times = [], start = performance.now();
    let last = start, seed = 1;
    const step = now => {
      times.push(now - last);
      last = now;
      const s = (now - start) / 1000;
      if (s > 4) {
        times.shift();
        times.sort((a, b) => a - b);
        const sum = times.reduce((a, b) => a + b, 0);
        return done({ frames: times.length, perSecond: 1000 * times.length / sum, worst: times[times.length - 1], p95: times[Math.floor(0.95 * times.length)] });
      }
      seed = seed * 16807 % 2147483647; // half swing, half jumps
      film.go(s < 2 ? n * (0.5 - 0.5 * Math.cos(s * 3)) : n * seed / 2147483647);
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }));
}

try {
  const page = await open();
  await shot(page, "start.png");
  let margins = 0;
  if (certificate !== "-") {
    margins = await figures(page);
    await controls(page);
    await touch();
  }
  const f = await frames(page);
  const { moves } = await page.evaluate(() => ({ moves: film.moves }));
  console.log(`${path.basename(film)}: ${moves} moves, ${(fs.statSync(film).size / 1e6).toFixed(2)} MB, ${margins} margins as in the certificate; scrubbing ${f.perSecond.toFixed(1)} frames/s, 95 % within ${f.p95.toFixed(1)} ms, longest ${f.worst.toFixed(1)} ms`);
  const least = Number(process.env.FILM_FPS || 0);
  expect(f.perSecond >= least, `${f.perSecond.toFixed(1)} frames/s while scrubbing, ${least} asked for by FILM_FPS`);
  await shot(page, "scrubbed.png");
} catch (e) {
  faults.push(e.message);
}
await browser.close();
for (const f of faults.slice(0, 20)) console.error(`film: ${f.slice(0, 300)}`);
process.exit(faults.length ? 1 : 0);
