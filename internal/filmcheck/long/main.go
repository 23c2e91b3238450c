// Command long writes a film of many moves on standard output, to measure how
// fast it scrubs: a pocket cut in short lines over a curved skin.
//
//	go run ./internal/filmcheck/long -moves 100000 > long.html
package main

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"

	"sparclear/pkg/geom"
	"sparclear/pkg/picture"
	"sparclear/pkg/proof"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

func main() {
	moves := flag.Int("moves", 100000, "how many")
	flag.Parse()
	film, err := picture.Film(scene(*moves))
	if err == nil {
		_, err = os.Stdout.Write(film)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// scene runs to and fro over 200 by 120 mm in short lines, a little deeper with
// each layer, over a skin that rises as a wave.
func scene(moves int) picture.Scene {
	var b bytes.Buffer
	b.WriteString("G21 G17 G90 G94\nG54\nG61\nT1\nS18000 M3\nG0 Z10\nG0 X0 Y0\nG1 Z0 F300\n")
	const across, rows = 100, 60
	for i := range moves - 4 {
		layer, k := i/(across*rows), i%(across*rows)
		row, c := k/across, k%across
		if row%2 == 1 {
			c = across - 1 - c
		}
		x, y := float64(c)*200/across, float64(row)*120/rows
		z := math.Sin(x/30)*math.Cos(y/40) - 0.15*float64(layer+1)
		fmt.Fprintf(&b, "G1 X%.3f Y%.3f Z%.3f F1200\n", x, y+0.3*math.Sin(x/7), z)
	}
	b.WriteString("G0 Z10\nM5\nM2\n")
	w := &work.Work{Title: "Long film", Name: "long", Machine: shop.Machine{FeedXY: 3000, FeedZ: 1500, RapidXY: 4000, RapidZ: 2000, Accel: 300, AccelZ: 200, Holder: shop.Holder{{Diameter: 20, Length: 18}}},
		Cutters: []shop.Cutter{{Name: "mill", Number: 1, Diameter: 3, FluteLength: 12, Shank: 3, StickOut: 20}},
		Skin:    skin.Flat(0), Thickness: 4, Floor: 14, SafeZ: 10,
		Cuts: []work.Cut{{Name: "pocket", Kind: work.Pocket, Part: -1, Regions: []geom.Region{{Outer: geom.Rect(-2, -2, 202, 122)}}}}}
	return picture.Scene{Work: w, Programs: []proof.Source{{File: "long.nc", Text: b.Bytes()}}}
}
