// Replays programs through a general-purpose G-code interpreting library and
// holds the result against the JSON of our own reader (standard input): end
// points, lengths and boxes of every move and of the whole, to 1e-6 mm.
// The lengths and boxes of arcs are reckoned here from the library's start, end
// and centre, by other formulas than ours.
import { readFileSync } from 'node:fs';
import Toolpath from 'gcode-toolpath';

const TOLERANCE = 1e-6; // mm
const axes = ['x', 'y', 'z'];

/** Turns a point of the arc plane back into X, Y, Z. */
const fromPlane = {
  G17: (p) => [p.x, p.y, p.z],
  G18: (p) => [p.y, p.z, p.x],
  G19: (p) => [p.z, p.x, p.y],
};

function line(start, end) {
  const a = axes.map((k) => start[k]);
  const b = axes.map((k) => end[k]);
  return {
    to: b,
    length: Math.hypot(...a.map((v, i) => b[i] - v)),
    low: a.map((v, i) => Math.min(v, b[i])),
    high: a.map((v, i) => Math.max(v, b[i])),
  };
}

function arc(modal, start, end, centre) {
  const back = fromPlane[modal.plane];
  const from = Math.atan2(start.y - centre.y, start.x - centre.x);
  let to = Math.atan2(end.y - centre.y, end.x - centre.x);
  const radius = Math.hypot(start.x - centre.x, start.y - centre.y);
  const endRadius = Math.hypot(end.x - centre.x, end.y - centre.y);
  const whole = start.x === end.x && start.y === end.y;
  const left = modal.motion === 'G3';
  if (whole) to = from + (left ? 2 : -2) * Math.PI;
  else if (left) while (to <= from) to += 2 * Math.PI;
  else while (to >= from) to -= 2 * Math.PI;
  const corners = [start, end];
  const [small, large] = left ? [from, to] : [to, from];
  for (let k = Math.ceil(small / (Math.PI / 2)); k * (Math.PI / 2) <= large; k++) {
    const a = k * (Math.PI / 2);
    const r = Math.max(radius, endRadius);
    corners.push({ x: centre.x + r * Math.cos(a), y: centre.y + r * Math.sin(a), z: start.z });
  }
  const points = corners.map(back);
  return {
    to: back(end),
    length: Math.hypot(radius * (to - from), end.z - start.z),
    low: [0, 1, 2].map((i) => Math.min(...points.map((p) => p[i]))),
    high: [0, 1, 2].map((i) => Math.max(...points.map((p) => p[i]))),
    // Rounded ends leave two radii; which one holds where an arc begins or ends
    // at its highest or lowest point is not said anywhere.
    spread: Math.abs(radius - endRadius),
  };
}

function replay(file) {
  const moves = [];
  const path = new Toolpath({
    addLine: (modal, a, b) => moves.push({ cut: modal.motion !== 'G0', ...line(a, b) }),
    addArcCurve: (modal, a, b, c) => moves.push({ cut: true, ...arc(modal, a, b, c) }),
  });
  // The library runs on behind M2, which a program of ours never does.
  path.loadFromStringSync(readFileSync(file, 'utf8'));
  return moves;
}

/** Returns a sentence on the first difference, or nothing. */
function compare(ours, theirs) {
  if (ours.moves.length !== theirs.length) {
    return `${ours.moves.length} moves here, ${theirs.length} there`;
  }
  const near = (a, b, spread = 0) => Math.abs(a - b) <= TOLERANCE + spread;
  const widest = Math.max(0, ...theirs.map((m) => m.spread ?? 0));
  for (const [i, m] of ours.moves.entries()) {
    const t = theirs[i];
    for (const key of ['to', 'low', 'high']) {
      for (let k = 0; k < 3; k++) {
        if (!near(m[key][k], t[key][k], key === 'to' ? 0 : t.spread)) return `line ${m.line}: ${key} ${m[key]} here, ${t[key]} there`;
      }
    }
    if (!near(m.length, t.length)) return `line ${m.line}: length ${m.length} here, ${t.length} there`;
  }
  const sum = (cut) => theirs.filter((m) => m.cut === cut).reduce((s, m) => s + m.length, 0);
  for (const [name, a, b] of [['cut', ours.cut_mm, sum(true)], ['rapid', ours.rapid_mm, sum(false)]]) {
    if (Math.abs(a - b) > TOLERANCE * Math.max(1, theirs.length / 1000)) return `${name} length ${a} here, ${b} there`;
  }
  for (let k = 0; k < 3; k++) {
    const low = Math.min(...theirs.map((m) => m.low[k]));
    const high = Math.max(...theirs.map((m) => m.high[k]));
    if (!near(low, ours.low[k], widest) || !near(high, ours.high[k], widest)) return `box of ${axes[k]} differs`;
    if (!near(theirs.at(-1).to[k], ours.end[k])) return `end of ${axes[k]} differs`;
  }
  return '';
}

let passed = 0;
let failed = 0;
for (const ours of JSON.parse(readFileSync(0, 'utf8'))) {
  const theirs = replay(ours.file);
  const difference = ours.moves.length === 0 ? 'program without a move' : compare(ours, theirs);
  if (difference) {
    failed++;
    console.error(`${ours.file}: ${difference}`);
  } else {
    passed++;
    console.log(`${ours.file}: ${ours.moves.length} moves, ${ours.cut_mm.toFixed(3)} mm cut, ${ours.rapid_mm.toFixed(3)} mm rapid agree`);
  }
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed || !passed ? 1 : 0);
