// Holds lengths and extents read by package drawing against two independent
// readers. Usage: node compare.mjs written.json read.json
// A drawing is compared where the other reader takes the whole of it. The first
// is held to the digit; it does not measure blocks, splines, ellipses and odd
// extrusions, which are passed over and named. The second draws those too, in
// short lines, and is held to a thousandth. Exits 1 on the first disagreement,
// and when too little was compared.
import fs from "node:fs";
import DxfParser from "dxf-parser";
import { Helper } from "dxf";

const lines = (f) => fs.readFileSync(f, "utf8").trim().split("\n").map((l) => JSON.parse(l));

class Extent {
	box = [Infinity, Infinity, -Infinity, -Infinity];
	length = 0;
	area = 0;
	point(x, y) {
		const b = this.box;
		b[0] = Math.min(b[0], x); b[1] = Math.min(b[1], y);
		b[2] = Math.max(b[2], x); b[3] = Math.max(b[3], y);
	}
	line(a, b) {
		this.length += Math.hypot(b.x - a.x, b.y - a.y);
		this.point(a.x, a.y);
		this.point(b.x, b.y);
	}
	// arc about c from angle a over sweep s, rad
	arc(c, r, a, s) {
		this.length += r * Math.abs(s);
		const at = (t) => this.point(c.x + r * Math.cos(t), c.y + r * Math.sin(t));
		at(a);
		at(a + s);
		const lo = Math.min(a, a + s), hi = Math.max(a, a + s);
		for (let k = Math.ceil(lo / (Math.PI / 2)); k * (Math.PI / 2) <= hi; k++) at(k * (Math.PI / 2));
	}
	bulge(a, b, bulge) {
		if (!bulge) return this.line(a, b);
		const s = 4 * Math.atan(bulge), d = Math.hypot(b.x - a.x, b.y - a.y);
		if (d === 0) return;
		const k = (1 - bulge * bulge) / (4 * bulge);
		const c = { x: (a.x + b.x) / 2 - k * (b.y - a.y), y: (a.y + b.y) / 2 + k * (b.x - a.x) };
		this.arc(c, Math.hypot(a.x - c.x, a.y - c.y), Math.atan2(a.y - c.y, a.x - c.x), s);
		const r = Math.hypot(a.x - c.x, a.y - c.y);
		this.area += (r * r * (s - Math.sin(s))) / 2;
	}
	poly(v, closed) {
		let shoelace = 0;
		const before = this.area;
		for (let i = 0; i + 1 < v.length + (closed ? 1 : 0); i++) {
			const a = v[i], b = v[(i + 1) % v.length];
			this.bulge(a, b, a.bulge);
			shoelace += (a.x * b.y - b.x * a.y) / 2;
		}
		this.area = before + (closed ? Math.abs(shoelace + this.area - before) : 0);
	}
}

// byParser measures with dxf-parser; it returns the reason why it passes over.
function byParser(text) {
	let d;
	try {
		d = new DxfParser().parseSync(text);
	} catch (e) {
		return `dxf-parser: ${String(e.message).split("\n")[0]}`;
	}
	if (!d || !d.entities || !d.entities.length) return "dxf-parser reads nothing";
	const layers = d.tables?.layer?.layers ?? {};
	const x = new Extent();
	for (const e of d.entities) {
		const l = layers[e.layer];
		if (e.inPaperSpace || e.visible === false || (l && (l.visible === false || l.frozen))) continue;
		const up = e.extrusionDirection?.z ?? e.extrusionDirectionZ ?? 1;
		switch (e.type) {
			case "LINE": x.line(e.vertices[0], e.vertices[1]); break;
			case "CIRCLE": case "ARC": {
				if (up !== 1) return "an extrusion";
				let s = e.type === "CIRCLE" ? 2 * Math.PI : e.endAngle - e.startAngle;
				if (s === 0) break;
				if (s < 0) s += 2 * Math.PI;
				x.arc(e.center, e.radius, e.startAngle ?? 0, s);
				if (e.type === "CIRCLE") x.area += Math.PI * e.radius * e.radius;
				break;
			}
			case "LWPOLYLINE": case "POLYLINE":
				if (up !== 1) return "an extrusion";
				if (e.is3dPolyline || e.includesCurveFitVertices || e.includesSplineFitVertices || e.is3dPolygonMesh || e.isPolyfaceMesh) return "an old polyline";
				if (text.includes("AcDb3dPolyline")) return "polylines in space";
				x.poly(e.vertices, e.shape);
				break;
			case "INSERT": case "SPLINE": case "ELLIPSE": case "SOLID": case "3DFACE":
				return e.type;
		}
	}
	return x;
}

// byHelper measures with the reader of package dxf, which flattens everything to
// its own step.
function byHelper(text) {
	const p = new Helper(text).toPolylines();
	let length = 0;
	for (const q of p.polylines)
		for (let i = 1; i < q.vertices.length; i++)
			length += Math.hypot(q.vertices[i][0] - q.vertices[i - 1][0], q.vertices[i][1] - q.vertices[i - 1][1]);
	const b = p.bbox;
	return { length, box: [b.min.x, b.min.y, b.max.x, b.max.y] };
}

// What the second reader takes otherwise, and why.
const otherwise = {
	"mount_inch_frozen_layer_r2007.dxf": "it draws frozen layers",
	"paper_and_model_space_r2018.dxf": "it draws paper space",
	"polylines_wide_bulged_r12.dxf": "it draws tilted planes as seen from above",
};

function near(what, got, want, tol) {
	if (!(Math.abs(got - want) <= tol)) {
		console.error(`${what}: ${got} here, ${want} there, more than ${tol} apart`);
		process.exit(1);
	}
}

let same = 0, alike = 0;
for (const m of [...lines(process.argv[2]), ...lines(process.argv[3])]) {
	const raw = fs.readFileSync(m.file);
	const name = m.file.split("/").pop();
	if (raw.subarray(0, 12).toString() === "AutoCAD Bina") {
		console.log(`${name}: passed over, binary`);
		continue;
	}
	const text = raw.toString("latin1");
	const size = Math.max(1e-3, m.box[2] - m.box[0], m.box[3] - m.box[1]);
	if (otherwise[name]) {
		console.log(`${name}: passed over by the second reader, ${otherwise[name]}`);
	} else {
		const h = byHelper(text);
		near(`${name} length by the second reader`, m.length, h.length, 1e-3 * m.length);
		for (let i = 0; i < 4; i++) near(`${name} extent ${i} by the second reader`, m.box[i], h.box[i], 1e-3 * size);
		alike++;
	}
	const x = byParser(text);
	if (typeof x === "string") {
		console.log(`${name}: passed over, ${x}`);
		continue;
	}
	near(`${name} length`, m.length, x.length, 1e-6 * Math.max(1, m.length));
	for (let i = 0; i < 4; i++) near(`${name} extent ${i}`, m.box[i], x.box[i], 0.01 + 1e-7 * size);
	if (m.exact) {
		near(`${name} area`, m.area, x.area, 1e-6 * m.area);
	}
	same++;
	console.log(`${name}: the same`);
}
if (same < 2 || alike + Object.keys(otherwise).length < same) {
	console.error("too few drawings were compared");
	process.exit(1);
}
console.log(`${same} drawings read alike by the first reader, ${alike} by the second`);
