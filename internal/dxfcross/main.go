// Command dxfcross prints what package drawing makes of drawings, one JSON object
// a line, for compare.mjs to hold against independent readers. Called with
// "-write FILE" it first writes a layout with every kind of contour there, and
// prints its exact measures.
//
//	go run ./internal/dxfcross panel.dxf plate.dxf
package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
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
	m := measure{File: name, Exact: true}
	box := geom.EmptyBox()
	for _, g := range regions {
		l.Add("PARTS", g)
		m.Length += g.Length()
		for _, c := range g.Contours() {
			if a := c.Area(); a > 0 {
				m.Area += a
			} else {
				m.Area -= a
			}
		}
		box = box.Union(g.Bounds())
	}
	m.Box = [4]float64{box.Min.X, box.Min.Y, box.Max.X, box.Max.Y}
	f, err := os.Create(name)
	if err != nil {
		return m, err
	}
	if err := drawing.Write(f, l); err != nil {
		return m, err
	}
	return m, f.Close()
}
