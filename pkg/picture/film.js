"use strict";
// The film reads one packed block of data: a JSON head, the program text and the
// moves as numbers. It asks nothing of any network.
(async () => {
  const $ = id => document.getElementById(id);
  const packed = Uint8Array.from(atob($("data").textContent.trim()), c => c.charCodeAt(0));
  const raw = new Uint8Array(await new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer());
  const view = new DataView(raw.buffer);
  const headLength = view.getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(raw.subarray(4, 4 + headLength)));
  let offset = 4 + headLength;
  const n = head.moves;
  // Columns lie one after the other: whole numbers as differences, the sign in the
  // lowest bit, seven bits a byte.
  const column = (count, unit) => {
    const out = new Float64Array(count);
    let last = 0;
    for (let k = 0; k < count; k++) {
      let v = 0, m = 1, b;
      do { b = raw[offset++]; v += (b & 127) * m; m *= 128; } while (b > 127);
      last += v % 2 ? -(v + 1) / 2 : v / 2;
      out[k] = last / unit;
    }
    return out;
  };
  const FLAGS = Int32Array.from(column(n, 1)); // 1 rapid, 2 arc, 4 jump; program << 3
  const X1 = column(n, 1e4), Y1 = column(n, 1e4), Z1 = column(n, 1e4), TIME = column(n, 1e3), DEPTH = column(n, 1e3);
  const LINE = column(n, 1), TOOL = column(n, 1);
  const X0 = new Float64Array(n), Y0 = new Float64Array(n), Z0 = new Float64Array(n), CX = new Float64Array(n), CY = new Float64Array(n), SWEEP = new Float64Array(n);
  {
    let jumps = 0, arcs = 0;
    for (const f of FLAGS) { jumps += f >> 2 & 1; arcs += f >> 1 & 1; }
    const jx = column(jumps, 1e4), jy = column(jumps, 1e4), jz = column(jumps, 1e4), ax = column(arcs, 1e4), ay = column(arcs, 1e4), as = column(arcs, 1e6);
    for (let i = 0, j = 0, k = 0; i < n; i++) {
      if (FLAGS[i] & 4) { X0[i] = jx[j]; Y0[i] = jy[j]; Z0[i] = jz[j++]; } else if (i) { X0[i] = X1[i - 1]; Y0[i] = Y1[i - 1]; Z0[i] = Z1[i - 1]; }
      if (FLAGS[i] & 2) { CX[i] = ax[k]; CY[i] = ay[k]; SWEEP[i] = as[k++]; }
    }
  }
  const text = new TextDecoder().decode(raw.subarray(offset)).split("\f").map(t => t.split("\n"));
  const total = n ? TIME[n - 1] : 0;

  const clock = s => `${Math.floor(s / 60)}:${String(Math.floor(s % 60)).padStart(2, "0")}`;
  const above = d => d > 0 ? `${d.toFixed(2)} mm deep` : `${Math.abs(d).toFixed(2)} mm above the ${(head.stock || []).length ? "sheet" : "skin"}`;
  const state = { t: 0, playing: false, last: 0, frames: 0 };
  const at = $("at");
  at.max = String(Math.max(1, n * 16)); // sixteen steps within a move

  // place of the tip at step s of sixteen within move i
  function tip(i, f) {
    if (n === 0) return [0, 0, head.safe];
    const z = Z0[i] + (Z1[i] - Z0[i]) * f;
    if (FLAGS[i] & 2) {
      const a = Math.atan2(Y0[i] - CY[i], X0[i] - CX[i]) + SWEEP[i] * f, r = Math.hypot(X0[i] - CX[i], Y0[i] - CY[i]);
      return [CX[i] + r * Math.cos(a), CY[i] + r * Math.sin(a), z];
    }
    return [X0[i] + (X1[i] - X0[i]) * f, Y0[i] + (Y1[i] - Y0[i]) * f, z];
  }
  const now = () => { const s = Math.min(state.t, n * 16 - 1e-6); const i = Math.max(0, Math.floor(s / 16)); return [i, s / 16 - i]; };

  // height of the skin: bilinear over a grid made with the job's own model
  function skin(x, y) {
    const g = head.skin, u = Math.min(g.nx - 1.000001, Math.max(0, (x - g.x0) / g.dx)), v = Math.min(g.ny - 1.000001, Math.max(0, (y - g.y0) / g.dy));
    const i = Math.floor(u), j = Math.floor(v), a = u - i, b = v - j, z = (p, q) => g.z[q * g.nx + p];
    return z(i, j) * (1 - a) * (1 - b) + z(i + 1, j) * a * (1 - b) + z(i, j + 1) * (1 - a) * b + z(i + 1, j + 1) * a * b;
  }

  // ---- plan view
  const plan = $("plan"), section = $("section");
  let scale = 1, sx = 0, sy = 0, ratio = 1, base = null;
  const px = x => x * scale + sx, py = y => sy - y * scale;
  function fit(c) {
    ratio = window.devicePixelRatio || 1;
    const w = Math.max(1, Math.round(c.clientWidth * ratio)), h = Math.max(1, Math.round(c.clientHeight * ratio));
    if (c.width !== w || c.height !== h) { c.width = w; c.height = h; return true; }
    return false;
  }
  function layOut() {
    const b = head.window, w = b[2] - b[0], h = b[3] - b[1];
    scale = Math.min(plan.width / w, plan.height / h) * 0.94;
    sx = plan.width / 2 - scale * (b[0] + b[2]) / 2;
    sy = plan.height / 2 + scale * (b[1] + b[3]) / 2;
    base = new OffscreenCanvas(plan.width, plan.height);
    const g = base.getContext("2d");
    g.fillStyle = "#fff";
    g.fillRect(0, 0, plan.width, plan.height);
    for (const r of head.stock) { g.fillStyle = "#f2efe8"; shape(g, r); g.fill("evenodd"); }
    for (const m of head.members) {
      g.strokeStyle = "#f4d9c8"; g.lineWidth = 2 * m.needed * scale; g.lineJoin = "round"; shape(g, m.rings); g.stroke();
      g.fillStyle = hatch(g, m.clamp ? "#3a3a3a" : "#8c2a00"); shape(g, m.rings); g.fill("evenodd");
      g.strokeStyle = m.clamp ? "#3a3a3a" : "#8c2a00"; g.lineWidth = 1.2 * ratio; g.stroke();
    }
    g.strokeStyle = "#000"; g.lineWidth = ratio;
    for (const r of head.outlines) { shape(g, r); g.stroke(); }
    g.fillStyle = "#1c1c1c"; g.font = `${12 * ratio}px system-ui, sans-serif`;
    for (const m of head.members) {
      const [x, y] = m.label;
      if (x > b[0] && x < b[2] && y > b[1] && y < b[3]) g.fillText(m.name, px(x), py(y));
    }
    prepare();
  }
  function shape(g, rings) {
    g.beginPath();
    for (const r of rings) {
      for (let i = 0; i < r.length; i += 2) i ? g.lineTo(px(r[i]), py(r[i + 1])) : g.moveTo(px(r[i]), py(r[i + 1]));
      g.closePath();
    }
  }
  const patterns = new Map();
  function hatch(g, colour) {
    const key = colour + ratio;
    if (patterns.has(key)) return patterns.get(key);
    const c = new OffscreenCanvas(8 * ratio, 8 * ratio), h = c.getContext("2d");
    h.fillStyle = "#fff"; h.fillRect(0, 0, c.width, c.height);
    h.strokeStyle = colour; h.lineWidth = ratio;
    h.beginPath();
    for (const k of [-1, 0, 1]) { h.moveTo(k * c.width, c.height); h.lineTo((k + 1) * c.width, 0); }
    h.stroke();
    patterns.set(key, g.createPattern(c, "repeat"));
    return patterns.get(key);
  }
  const shade = i => Math.min(head.depths.length - 1, Math.max(0, Math.floor(DEPTH[i] / head.deepest * head.depths.length)));
  const cuts = i => !(FLAGS[i] & 1) && DEPTH[i] > 0;
  function trace(g, i, f) { // appends move i up to f of it
    if (FLAGS[i] & 2) {
      const r = Math.hypot(X0[i] - CX[i], Y0[i] - CY[i]), a = Math.atan2(Y0[i] - CY[i], X0[i] - CX[i]);
      g.moveTo(px(X0[i]), py(Y0[i]));
      g.arc(px(CX[i]), py(CY[i]), r * scale, -a, -(a + SWEEP[i] * f), SWEEP[i] > 0);
    } else {
      g.moveTo(px(X0[i]), py(Y0[i]));
      g.lineTo(px(X0[i] + (X1[i] - X0[i]) * f) + 0.01, py(Y0[i] + (Y1[i] - Y0[i]) * f));
    }
  }
  function style(g, i) {
    g.strokeStyle = head.depths[shade(i)];
    g.lineWidth = Math.max(1, cutter(i).diameter * scale);
    g.lineCap = "round";
  }
  // kerf draws moves from a up to b; moves alike go into one stroke.
  function kerf(g, a, b) {
    let i = a;
    while (i < b) {
      if (!cuts(i)) { i++; continue; }
      const s = shade(i), t = TOOL[i];
      style(g, i);
      g.beginPath();
      for (let k = 0; i < b && k < 64; i++) {
        if (!cuts(i)) { if (FLAGS[i] & 1) continue; break; }
        if (shade(i) !== s || TOOL[i] !== t) break;
        trace(g, i, 1);
        k++;
      }
      g.stroke();
    }
  }
  // What has been cut is kept as snapshots, so that a jump to anywhere redraws a
  // short stretch only. They are made beside the picture, a little in each frame.
  let every = 1, snaps = [], done = null, doneTo = 0, build = null, buildTo = 0;
  const budget = 6; // ms a frame for drawing cuts
  function canvasLike(c) {
    const o = new OffscreenCanvas(c.width, c.height);
    o.getContext("2d").drawImage(c, 0, 0);
    return o;
  }
  function prepare() {
    const most = Math.max(4, Math.min(128, Math.floor(256e6 / (4 * plan.width * plan.height))));
    every = Math.max(200, Math.ceil(n / most));
    snaps = [base];
    build = canvasLike(base); buildTo = 0;
    done = canvasLike(base); doneTo = 0;
  }
  function buildOn(until) {
    const g = build.getContext("2d");
    while (buildTo < n && performance.now() < until) {
      const end = Math.min(n, buildTo + 100, (Math.floor(buildTo / every) + 1) * every);
      kerf(g, buildTo, end);
      buildTo = end;
      if (buildTo % every === 0) snaps.push(canvasLike(build));
    }
    return buildTo >= n;
  }
  function drawTo(i, until) { // true when all up to i is drawn
    const g = done.getContext("2d"), k = Math.min(snaps.length - 1, Math.floor(i / every));
    if (i < doneTo || k * every > doneTo) { g.drawImage(snaps[k], 0, 0); doneTo = k * every; }
    while (doneTo < i) {
      const end = Math.min(i, doneTo + 100);
      kerf(g, doneTo, end);
      doneTo = end;
      if (doneTo < i && performance.now() > until) return false;
    }
    return true;
  }
  function drawPlan(i, f, q) {
    const until = performance.now() + budget, all = drawTo(i, until);
    const built = buildOn(until);
    const g = plan.getContext("2d");
    g.drawImage(done, 0, 0);
    if (n && cuts(i)) { style(g, i); g.beginPath(); trace(g, i, f); g.stroke(); }
    const c = cutter(i);
    g.beginPath(); g.arc(px(q[0]), py(q[1]), Math.max(3 * ratio, c.diameter / 2 * scale), 0, 7);
    g.fillStyle = "#ffffffb0"; g.fill(); g.strokeStyle = "#1c1c1c"; g.lineWidth = 2 * ratio; g.stroke();
    g.strokeStyle = "#6a6a6a"; g.lineWidth = ratio; g.setLineDash([6 * ratio, 4 * ratio]); g.beginPath();
    if (axis() === 0) { g.moveTo(0, py(q[1])); g.lineTo(plan.width, py(q[1])); } else { g.moveTo(px(q[0]), 0); g.lineTo(px(q[0]), plan.height); }
    g.stroke(); g.setLineDash([]);
    return all && built;
  }
  const axis = () => Number($("axis").value);
  const cutter = i => head.cutters[n ? TOOL[i] : 0] || head.cutters[0];

  // ---- section through the tip
  function crossings(rings, k, level) { // where rings cross the line at level of the other axis
    const out = [];
    for (const r of rings) for (let i = 0; i < r.length; i += 2) {
      const j = (i + 2) % r.length, a = r[i + 1 - k], b = r[j + 1 - k];
      if ((a <= level) !== (b <= level)) out.push(r[i + k] + (level - a) / (b - a) * (r[j + k] - r[i + k]));
    }
    return out.sort((a, b) => a - b);
  }
  function drawSection(i, q) {
    const g = section.getContext("2d"), k = axis(), w = section.width, h = section.height;
    const reach = Math.max(14, 5 * cutter(i).diameter), m = w / (2 * reach);
    const low = Math.min(head.floor > 0 ? head.floor : 8, 16), zTop = skin(q[0], q[1]) + 12;
    const mz = Math.min(m, h / (low + 14));
    const u = a => w / 2 + (a - q[k]) * m, v = z => (zTop - z) * mz;
    const height = a => k === 0 ? skin(a, q[1]) : skin(q[0], a);
    const line = d => { g.beginPath(); for (let s = 0; s <= 60; s++) { const a = q[k] - reach + s / 30 * reach; s ? g.lineTo(u(a), v(height(a) - d)) : g.moveTo(u(a), v(height(a) - d)); } };
    const band = (a0, a1, d0, d1) => { g.beginPath(); for (let s = 0; s <= 24; s++) { const a = a0 + (a1 - a0) * s / 24; s ? g.lineTo(u(a), v(height(a) - d0)) : g.moveTo(u(a), v(height(a) - d0)); } for (let s = 24; s >= 0; s--) { const a = a0 + (a1 - a0) * s / 24; g.lineTo(u(a), v(height(a) - d1)); } g.closePath(); };
    g.fillStyle = "#fff"; g.fillRect(0, 0, w, h);
    band(q[k] - reach, q[k] + reach, 0, head.thickness); g.fillStyle = "#e2d9c4"; g.fill();
    g.strokeStyle = "#1c1c1c"; g.lineWidth = 1.5 * ratio; line(0); g.stroke(); line(head.thickness); g.stroke();
    if (head.floor > 0) { g.strokeStyle = "#b00020"; g.setLineDash([8 * ratio, 4 * ratio]); line(head.floor); g.stroke(); g.setLineDash([]); }
    for (const mb of head.members) {
      const x = crossings(mb.rings, k, q[1 - k]);
      for (let j = 0; j + 1 < x.length; j += 2) {
        const a0 = Math.max(x[j], q[k] - reach), a1 = Math.min(x[j + 1], q[k] + reach);
        if (a0 >= a1) continue;
        band(a0, a1, mb.from, Math.min(mb.to, low + 10)); g.fillStyle = hatch(g, mb.clamp ? "#3a3a3a" : "#8c2a00"); g.fill();
        g.strokeStyle = mb.clamp ? "#3a3a3a" : "#8c2a00"; g.stroke();
      }
    }
    const c = cutter(i), body = (d, z0, z1, fill) => { g.fillStyle = fill; g.strokeStyle = "#1c1c1c"; g.lineWidth = 1.2 * ratio; g.beginPath(); g.rect(u(q[k] - d / 2), v(z1), d * m, (z1 - z0) * mz); g.fill(); g.stroke(); };
    let z = q[2] + c.stickout;
    for (const s of c.holder) { body(s[0], z, z + s[1], "#b8b8b8"); z += s[1]; }
    body(c.shank, q[2] + c.flute, q[2] + c.stickout, "#d8d8d8");
    g.fillStyle = "#9ecae1"; g.strokeStyle = "#08306b"; g.lineWidth = 1.5 * ratio; g.beginPath();
    const r = c.diameter / 2, p = c.point;
    g.moveTo(u(q[k] - r), v(q[2] + c.flute)); g.lineTo(u(q[k] - r), v(q[2] + p)); g.lineTo(u(q[k]) - (p ? 0 : r * m), v(q[2])); g.lineTo(u(q[k]) + (p ? 0 : r * m), v(q[2])); g.lineTo(u(q[k] + r), v(q[2] + p)); g.lineTo(u(q[k] + r), v(q[2] + c.flute)); g.closePath(); g.fill(); g.stroke();
    g.fillStyle = "#1c1c1c"; g.font = `${12 * ratio}px system-ui, sans-serif`;
    if (mz < m * 0.99) g.fillText(`depth drawn ${(mz / m).toFixed(2)} times`, 8 * ratio, h - 8 * ratio);
    $("cut").textContent = `section along ${k === 0 ? "X at Y" : "Y at X"} ${q[1 - k].toFixed(2)} mm`;
  }

  // ---- how near, for this place: sketch of the picture, the certificate decides
  function inside(rings, x, y) {
    let w = false;
    for (const r of rings) for (let i = 0, j = r.length - 2; i < r.length; j = i, i += 2)
      if ((r[i + 1] > y) !== (r[j + 1] > y) && x < (r[j] - r[i]) * (y - r[i + 1]) / (r[j + 1] - r[i + 1]) + r[i]) w = !w;
    return w;
  }
  function apart(rings, x, y) {
    if (inside(rings, x, y)) return 0;
    let d = Infinity;
    for (const r of rings) for (let i = 0, j = r.length - 2; i < r.length; j = i, i += 2) {
      const dx = r[i] - r[j], dy = r[i + 1] - r[j + 1], l = dx * dx + dy * dy;
      const t = l ? Math.min(1, Math.max(0, ((x - r[j]) * dx + (y - r[j + 1]) * dy) / l)) : 0;
      d = Math.min(d, Math.hypot(x - r[j] - t * dx, y - r[j + 1] - t * dy));
    }
    return d;
  }
  const cell = (row, s, cls) => { const e = document.createElement("td"); e.textContent = s; if (cls) e.className = cls; row.append(e); return e; };
  const jump = (move, label) => { const b = document.createElement("button"); b.textContent = label; b.addEventListener("click", () => go(move * 16 + 8)); return b; };
  const rows = [];
  for (const p of head.margins) { // what the certificate says, unchanged
    const m = p.check === "members" ? head.members.find(m => m.name === p.member) : null;
    const row = document.createElement("tr"), bar = document.createElement("meter");
    row.dataset.check = p.check; row.dataset.member = p.member;
    cell(row, p.member);
    const here = cell(row, ""), num = cell(row, "", "num");
    if (m) { bar.min = 0; bar.max = 20; bar.low = p.needed; bar.high = 2 * p.needed; bar.optimum = 20; here.append(bar); rows.push({ m, bar, num }); }
    cell(row, `${p.margin.toFixed(2)} mm`, "num margin");
    cell(row, `${p.needed.toFixed(2)} mm`, "num needed");
    const where = cell(row, "");
    if (p.move >= 0) where.append(jump(p.move, p.where.slice(p.where.lastIndexOf(":") + 1)));
    $("rows").append(row);
  }
  for (const s of head.stops) $("stops").append(jump(Math.min(s.move, n - 1), `${clock(s.move ? TIME[s.move - 1] : 0)}  ${s.text}`));
  function drawMeter(i, q) {
    const c = cutter(i), depth = skin(q[0], q[1]) - q[2];
    for (const { m, bar, num } of rows) {
      const flat = Math.max(0, apart(m.rings, q[0], q[1]) - c.diameter / 2), below = Math.max(0, m.from - depth);
      const d = Math.hypot(flat, below);
      bar.value = Math.min(20, d);
      num.textContent = `${d.toFixed(1)} mm`;
    }
  }

  function drawText(i) {
    const lines = n ? text[FLAGS[i] >> 3] : [""], at = n ? LINE[i] - 1 : 0, from = Math.max(0, at - 2), b = $("blocks");
    b.replaceChildren();
    for (let k = from; k < Math.min(lines.length, from + 6); k++) {
      const e = document.createElement(k === at ? "b" : "span");
      e.textContent = `${String(k + 1).padStart(6)}  ${lines[k]}\n`;
      b.append(e);
    }
  }

  let wanted = true, resized = true, shownLine = -1;
  function draw() {
    if (resized) { // asking for sizes in every frame would lay the page out twice
      resized = false;
      if (fit(plan) || !base) layOut();
      fit(section);
    }
    const [i, f] = now(), q = tip(i, f);
    if (!drawPlan(i, f, q)) wanted = true; // more of the cut in the next frame
    drawSection(i, q);
    drawMeter(i, q);
    if (shownLine !== i) { drawText(i); shownLine = i; }
    const t = n ? (i ? TIME[i - 1] : 0) + (TIME[i] - (i ? TIME[i - 1] : 0)) * f : 0;
    $("where").textContent = `${clock(t)} of ${clock(total)}   X ${q[0].toFixed(2)}  Y ${q[1].toFixed(2)}  Z ${q[2].toFixed(2)}   ${above(skin(q[0], q[1]) - q[2])}   ${n ? (c => `T${c.number} ${c.name}`)(cutter(i)) : ""}`;
    at.value = String(Math.round(state.t));
    at.setAttribute("aria-valuetext", `${clock(t)} of ${clock(total)}, line ${n ? LINE[i] : 0}`);
    state.frames++;
  }
  function tick(ms) {
    if (state.playing && n) {
      let left = (ms - state.last) / 1000 * Number($("speed").value);
      while (left > 0 && state.t < n * 16) {
        const [i, f] = now(), span = TIME[i] - (i ? TIME[i - 1] : 0), rest = span * (1 - f);
        if (rest > left) { state.t += left / span * 16; left = 0; } else { left -= rest; state.t = (i + 1) * 16; }
      }
      if (state.t >= n * 16) { state.t = n * 16; stop(); }
      wanted = true;
    }
    state.last = ms;
    if (wanted) { wanted = false; draw(); }
    requestAnimationFrame(tick);
  }
  function go(t) { state.t = Math.min(n * 16, Math.max(0, t)); wanted = true; }
  // A block may give several moves (a canned cycle): a step goes to the next line.
  function block(d) {
    let i = Math.min(n - 1, Math.floor(state.t / 16)), own = state.t % 16 === 0;
    if (n === 0) return;
    if (d > 0) { const l = LINE[i], p = FLAGS[i] >> 3; while (i < n && LINE[i] === l && FLAGS[i] >> 3 === p) i++; return go(i * 16); }
    if (own && i > 0) i--;
    const l = LINE[i], p = FLAGS[i] >> 3;
    while (i > 0 && LINE[i - 1] === l && FLAGS[i - 1] >> 3 === p) i--;
    go(i * 16);
  }
  function stop() { state.playing = false; $("play").textContent = "play"; }
  function toggle() { if (state.playing) return stop(); if (state.t >= n * 16) state.t = 0; state.playing = true; $("play").textContent = "stop"; }
  at.addEventListener("input", () => go(Number(at.value)));
  $("play").addEventListener("click", toggle);
  $("next").addEventListener("click", () => block(1));
  $("back").addEventListener("click", () => block(-1));
  for (const id of ["axis", "speed"]) $(id).addEventListener("change", () => { wanted = true; });
  document.addEventListener("keydown", e => {
    if (e.target.tagName === "SELECT" || e.target.tagName === "BUTTON" && (e.key === " " || e.key === "Enter")) return;
    if (e.ctrlKey || e.altKey || e.metaKey) return;
    if (e.key === "ArrowRight") block(1);
    else if (e.key === "ArrowLeft") block(-1);
    else if (e.key === "PageDown") go(state.t + 160);
    else if (e.key === "PageUp") go(state.t - 160);
    else if (e.key === "Home") go(0);
    else if (e.key === "End") go(n * 16);
    else if (e.key === " ") toggle();
    else return;
    e.preventDefault();
  });
  let drag = null; // dragging over the plan scrubs
  plan.addEventListener("pointerdown", e => { drag = [e.clientX, state.t]; plan.setPointerCapture(e.pointerId); });
  plan.addEventListener("pointermove", e => { if (drag) go(drag[1] + (e.clientX - drag[0]) / plan.clientWidth * n * 16); });
  for (const end of ["pointerup", "pointercancel"]) plan.addEventListener(end, () => { drag = null; });
  const watch = new ResizeObserver(() => { wanted = resized = true; });
  watch.observe(plan);
  watch.observe(section);
  $("proven").textContent = head.proven;
  $("least").textContent = head.least;
  if (head.time[1] > 0) $("time").textContent = `on the machine ${clock(head.time[0])} to ${clock(head.time[1])}, stops not counted`;
  window.film = { head, state, go, moves: n, total, tip, now, ready: () => buildTo >= n }; // for those who test it
  requestAnimationFrame(tick);
})();
