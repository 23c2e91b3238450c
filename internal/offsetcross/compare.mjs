// Offsets outlines a second time with a general-purpose polygon library and
// holds the result against ours:
//
//   node compare.mjs OFFSETBENCH OUTLINE.txt …
//
// The library knows no arcs, so both ways means: what it makes of d - e lies in
// our answer for d, and our answer lies in what it makes of d + e. That leaves
// room for e on either hand and asks nothing where a neck or a gap is twice the
// offset to within e. An answer 3 e off must be refused, or the comparison of
// that outline proves nothing.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';

const require = createRequire(import.meta.url);
const UNIT = 1e6; // the library's integers are nanometres
const ALLOWED = 3e-3; // mm
const ARC = 2e-4; // mm, the library's arc tolerance, also for arcs made straight here
const E = ALLOWED + ARC;
const SPECK = 1e3; // nm², what rounding leaves of two edges that meet

const folder = path.dirname(require.resolve('clipper2-wasm'));
const lib = await require('clipper2-wasm')({ locateFile: (f) => path.join(folder, f) });

/** Reads contours of "x y bulge" triples and the offsets of "# d=" lines. */
function read(file) {
  const contours = [];
  const offsets = [];
  for (const line of readFileSync(file, 'utf8').split('\n')) {
    const d = /^# d=(\S+)/.exec(line);
    if (d) offsets.push(Number(d[1]));
    if (!line.trim() || line.startsWith('#')) continue;
    const f = line.trim().split(/\s+/).map(Number);
    contours.push(Array.from({ length: f.length / 3 }, (_, i) => f.slice(3 * i, 3 * i + 3)));
  }
  return { contours, offsets };
}

/** Straightens arcs to within ARC and rounds to the library's units. */
function straighten(contour) {
  const out = [];
  const push = (x, y) => out.push(BigInt(Math.round(x * UNIT)), BigInt(Math.round(y * UNIT)), 0n);
  contour.forEach(([ax, ay, bulge], i) => {
    const [bx, by] = contour[(i + 1) % contour.length];
    push(ax, ay);
    const chord = Math.hypot(bx - ax, by - ay);
    if (bulge === 0 || chord === 0) return;
    const sweep = 4 * Math.atan(bulge);
    const radius = chord / 2 / Math.sin(sweep / 2); // signed as the sweep
    // The centre stands to the left of the chord where the radius is positive
    // and the arc less than half a turn.
    const up = radius * Math.cos(sweep / 2);
    const cx = (ax + bx) / 2 - (by - ay) / chord * up;
    const cy = (ay + by) / 2 + (bx - ax) / chord * up;
    const r = Math.abs(radius);
    const n = Math.ceil(Math.abs(sweep) / (2 * Math.acos(Math.max(0, 1 - ARC / r))));
    const from = Math.atan2(ay - cy, ax - cx);
    for (let k = 1; k < n; k++) {
      push(cx + r * Math.cos(from + sweep * k / n), cy + r * Math.sin(from + sweep * k / n));
    }
  });
  return out;
}

function paths(contours) {
  const all = new lib.Paths64();
  for (const c of contours) {
    const p = new lib.Path64();
    p.assign(BigInt64Array.from(straighten(c)));
    all.push_back(p);
    p.delete();
  }
  return all;
}

const inflate = (ps, d) => lib.InflatePaths64(ps, d * UNIT, lib.JoinType.Round, lib.EndType.Polygon, 2, ARC * UNIT);

/** The area of a outside of b, mm². */
function outside(a, b) {
  const rest = lib.Difference64(a, b, lib.FillRule.NonZero);
  let area = 0;
  for (let i = 0; i < rest.size(); i++) {
    const p = rest.get(i);
    const s = lib.AreaPath64(p);
    if (Math.abs(s) > SPECK) area += s;
    p.delete();
  }
  rest.delete();
  return area / UNIT ** 2;
}

/** Returns a sentence on how ours differs from the library's offset by d, or nothing. */
function compare(input, d, ours) {
  const small = inflate(input, d - E);
  const large = inflate(input, d + E);
  const less = outside(small, ours);
  const more = outside(ours, large);
  small.delete();
  large.delete();
  if (less !== 0) return `${less.toPrecision(3)} mm² of theirs are missing here`;
  if (more !== 0) return `${more.toPrecision(3)} mm² of ours are missing there`;
  return '';
}

const [program, ...files] = process.argv.slice(2);
const tmp = mkdtempSync(path.join(tmpdir(), 'offsetcross-'));
let passed = 0;
let failed = 0;
for (const file of files) {
  const name = path.basename(file, '.txt');
  const { contours, offsets } = read(file);
  const input = paths(contours);
  for (const d of offsets) {
    const out = path.join(tmp, 'out.txt');
    let difference;
    try {
      execFileSync(program, [file, String(d), '0', out, '1'], { stdio: ['ignore', 'ignore', 'pipe'] });
      const ours = paths(read(out).contours);
      difference = compare(input, d, ours);
      if (!difference && ours.size() > 0 && !compare(input, d + 3 * E, ours)) difference = 'an offset 3 e larger passes too';
      ours.delete();
    } catch (err) {
      difference = String(err.stderr ?? err.stack).trim();
    }
    if (difference) {
      failed++;
      console.error(`${name} by ${d}: ${difference}`);
    } else {
      passed++;
    }
  }
  if (offsets.length === 0) {
    failed++;
    console.error(`${name}: no "# d=" line`);
  }
  input.delete();
}
rmSync(tmp, { recursive: true });
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed || !passed ? 1 : 0);
