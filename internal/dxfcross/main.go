// Command dxfcross prints what package drawing makes of drawings, one JSON object
// a line, for compare.mjs to hold against independent readers. Called with
// "-write FILE" it first writes a layout with every kind of contour there, and
// prints its exact measures; with "-located JOB FILE" the outlines of a job where
// they lie on the machine.
//
//	go run ./internal/dxfcross panel.dxf plate.dxf
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
)

// measure is what is compared, in the units of the file.
type measure struct {
	File   string     `json:"file"`
	Length float64    `json:"length"` // of everything drawn
	Box    [4]float64 `json:"box"`
	Area   float64    `json:"area,omitempty"`  // of a written layout
	Exact  bool       `json:"exact,omitempty"` // the numbers come from the layout, not from reading it
}

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "dxfcross:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	out := json.NewEncoder(os.Stdout)
	if len(args) == 2 && args[0] == "-write" {
		m, err := write(args[1])
		if err != nil {
			return err
		}
		return out.Encode(m)
	}
	if len(args) == 3 && args[0] == "-located" {
		m, err := located(args[1], args[2])
		if err != nil {
			return err
		}
		return out.Encode(m)
	}
	for _, name := range args {
		f, err := os.Open(name)
		if err != nil {
			return err
		}
		d, _ := drawing.Read(f, filepath.Base(name), drawing.Options{Units: "mm", Limit: 1e12})
		if err := f.Close(); err != nil {
			return err
		}
		m := measure{File: name, Length: d.Join.Drawn}
		if b := d.Bounds; !b.Empty() {
			m.Box = [4]float64{b.Min.X, b.Min.Y, b.Max.X, b.Max.Y}
		}
		if err := out.Encode(m); err != nil {
			return err
		}
	}
	return nil
}

// write writes a layout of rectangles, round corners, circles, islands and an
// arc of more than half a turn, some far from the origin.
func write(name string) (measure, error) {
	regions := []geom.Region{
		geom.NewRegion(geom.RoundRect(10, 20, 130, 80, 7.5), geom.Circle(geom.Pt(40, 50), 12.25), geom.Rect(70, 35, 110, 65)),
		{Outer: geom.Circle(geom.Pt(-300.125, 1e4/3), 1.0/3)},
		{Outer: geom.Contour{{Point: geom.Pt(200, 0), Bulge: 2}, {Point: geom.Pt(220, 0)}, {Point: geom.Pt(210, 30)}}},
	}
	var l drawing.Layout
	for _, g := range regions {
		l.Add("PARTS", g)
	}
	m := exact(name, regions, nil)
	f, err := os.Create(name)
	if err != nil {
		return m, err
	}
	if err := drawing.Write(f, l); err != nil {
		return m, err
	}
	return m, f.Close()
}

// exact is the measure of regions and open chains as they stand in memory.
func exact(name string, regions []geom.Region, chains []geom.Chain) measure {
	m := measure{File: name, Exact: true}
	box := geom.EmptyBox()
	for _, g := range regions {
		m.Length += g.Length()
		for _, c := range g.Contours() {
			m.Area += math.Abs(c.Area())
		}
		box = box.Union(g.Bounds())
	}
	for _, c := range chains {
		m.Length += c.Length()
		box = box.Union(c.Bounds())
	}
	m.Box = [4]float64{box.Min.X, box.Min.Y, box.Max.X, box.Max.Y}
	return m
}

// located writes the outlines of a job in program coordinates.
func located(file, name string) (measure, error) {
	r, err := job.Run(context.Background(), job.Request{Name: filepath.Base(file), Files: job.Dir(filepath.Dir(file))})
	if err != nil {
		return measure{}, err
	}
	if r.Findings.Blocks() {
		return measure{}, fmt.Errorf("%s: %v", file, r.Findings)
	}
	b, err := job.LocatedDXF(r)
	if err != nil {
		return measure{}, err
	}
	regions := slices.Clone(r.Work.Stock)
	var chains []geom.Chain
	for _, p := range r.Work.Parts {
		regions = append(regions, p.Region)
	}
	for _, c := range r.Work.Cuts {
		regions = append(regions, c.Regions...)
		chains = append(chains, c.Chains...)
	}
	for _, v := range slices.Concat(r.Work.Members, r.Work.Clamps) {
		regions = append(regions, v.Footprint...)
	}
	return exact(name, regions, chains), os.WriteFile(name, b, 0o644)
}
