// Package work is what is to be made, resolved to plain data in program
// coordinates: stock, skin, members, clamps, machine, cutters and the cuts asked
// for. job fills it in; plan, proof and picture read it and change nothing. It
// has no behaviour beyond look-ups.
//
// Program coordinates are those of the active workpiece coordinate system: what
// the operator's display shows while touching the datums. X right, Y away, Z up.
// Depth is positive into the material, below the local skin.
package work

import (
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
)

// Work is a whole job, resolved.
type Work struct {
	Title      string
	Name       string // base name of the outputs
	Sheet      bool   // a sheet job; otherwise a wing
	Panel      string // wing: "port", "starboard" or ""
	SideUp     string // wing: "upper", "lower" or ""
	Machine    shop.Machine
	Material   shop.Material
	Cutters    []shop.Cutter
	Skin       skin.Model
	Zero       string        // "table" or "skin"
	Thickness  float64       // of the skin or sheet, mm
	ThickTol   float64       // ± of the thickness, mm
	Stock      []geom.Region // where there is material
	Hollow     bool          // air below the skin
	Floor      float64       // depth below the skin that nothing may ever pass, mm: far skin or spoilboard allowance
	Frame      geom.Rigid    // drawing → program, wing jobs
	Origin     *[3]float64   // machine coordinates of the program's zero, when known
	Datums     []Datum       // wing: what was touched
	Register   Registration  // wing: uncertainty of where the drawing lies
	Members    []keepout.Volume
	Clamps     []keepout.Volume
	ClampsSaid bool // the job says something about clamps, if only that there are none
	Cuts       []Cut
	Parts      []Part   // sheet: what is made
	SafeZ      float64  // height of rapids across, program coordinates
	HeightTol  float64  // how far a draped path may stray from its depth, mm
	ChordTol   float64  // how far short lines may stray from an arc, mm
	Fibre      *float64 // direction of the 0° fibre, rad from +X, nil unknown
	Blank      Blank    // sheet: which piece of stock this is
	Accepted   []Acceptance
	Wear       []Wear  // by cutter, once the programs are planned
	Inputs     []Input // what the job was made from
}

// Datum is a named point, drawn and touched.
type Datum struct {
	Name     string
	Drawn    geom.Point
	Touched  geom.Point
	Residual float64 // mm
}

// Registration tells how well the place of the drawing is known: the standard
// uncertainty of position at p is Base·sqrt(1 + |p-Centroid|²/Spread²) (see
// package locate). The zero value means exact (sheet jobs cut their own datum).
type Registration struct {
	Base     float64    // standard uncertainty at the centroid, mm, both axes together
	Centroid geom.Point // of the touched datums
	Spread   float64    // mm; 0 = no turn error
	Fixed    float64    // bound that always holds, added linearly (reversal value), mm
}

// Kind is the kind of a cut.
type Kind string

// The kinds of cut.
const (
	Opening Kind = "opening" // inside of an outline
	PartCut Kind = "part"    // outside of an outline
	Pocket  Kind = "pocket"
	Rebate  Kind = "rebate"
	Bore    Kind = "bore" // helical hole
	Drill   Kind = "drill"
	Slot    Kind = "slot"
	Score   Kind = "score"
	Mark    Kind = "mark"
	Chamfer Kind = "chamfer"
	Door    Kind = "door"
)

// Tabs holds the part or slug until the end.
type Tabs struct {
	Count  int     // 0 = none
	Width  float64 // along the outline, at the top, mm
	Height float64 // above the lower face, mm
	Auto   bool
}

// Cut is one thing asked for, with every number resolved.
type Cut struct {
	Name     string
	Kind     Kind
	Part     int           // index into Parts, -1 for wings
	Regions  []geom.Region // outlines, program coordinates
	Chains   []geom.Chain  // open lines
	Points   []geom.Point  // drill positions
	Diameter float64       // of a drilled or bored hole
	Cutter   int           // index into Cutters
	Through  bool
	Depth    float64 // depth of the finished cut below the skin; for through cuts the thickness plus Overcut
	Overcut  float64 // below the lower face, mm
	Limit    float64 // nothing below this depth, ever
	Step     float64 // deepest pass, mm
	RPM      float64
	Feed     float64 // along the path at full engagement, mm/min
	Plunge   float64 // straight down, mm/min
	Ramp     float64 // steepest ramp, rad
	Finish   float64 // allowance left for the finish pass, mm; 0 = none
	Climb    bool    // climb milling; otherwise conventional
	Tabs     Tabs
	Onion    float64 // skin left on purpose, mm
	Peck     float64 // depth of a peck, 0 = one stroke
	Tol      float64 // how far the finished edge may lie from the drawn one, mm
	Visible  bool    // no tab on this edge
	Relief   string  // "", "dogbone", "tbone"
	Open     bool    // drops into the wing: slug not held, said by the job
	Layer    string
	Frame    geom.Rigid // drawing → program
	Accept   []string   // codes of findings accepted under this cut
	File     string     // job file, for findings
	Line     int        // of the [[cut]] table
	Options  map[string]float64
	Text     string            // of a mark
	Fit      *Fit              // allowance that the outlines already hold, nil none
	Data     shop.CuttingData  // what speed, feed and depth per pass follow from, and lead to
	Fibre    *shop.FibreReport // wing: how its edges meet the fibre, nil when no direction is stated
	Place    []Share           // of a wing: what keeps its edge from lying where it is drawn
}

// Share is one contribution to how far the edge of a cut may lie from where it is
// drawn on the work as it is; the shares add up.
type Share struct {
	Name string
	MM   float64
}

// Astray is the sum of the shares of Place, mm: how far the edge may lie from where
// it is drawn, at coverage factor 2; 0 when nothing is known.
func (c Cut) Astray() float64 {
	var sum float64
	for _, s := range c.Place {
		sum += s.MM
	}
	return sum
}

// Wear is what a job takes out of a cutter.
type Wear struct {
	Cutter  int     // index into Cutters
	Metres  float64 // at feed, m
	Before  float64 // that the job says were cut before, m
	Life    float64 // m, 0 unknown
	Changes []Change
}

// Change is a place at which a fresh cutter is put in.
type Change struct {
	Cut    string  // before a run of this cut
	Metres float64 // cut since the start or the last change, m
}

// Fit is the allowance by which finished outlines were moved, and why. Sizes mm.
type Fit struct {
	Class        string  // ISO 286 class or pair that asked for it, "" for a number
	Nominal      float64 // size that the class is taken at
	Upper, Lower float64 // deviations that the class allows, 0 for a number
	Side         float64 // how far each edge was moved, outwards positive
	Held         float64 // width of the tolerance that machine and cutter hold on a size
	HeldBy       string  // what that is made of
	Tab          float64 // measured thickness of the tab that goes in, 0 none
}

// Blank is the piece of stock that a sheet job is cut from.
type Blank struct {
	Name   string
	Piece  int      // which piece of that name, from 1
	Pieces int      // how many of that name the job uses, 0 or 1 when it is the only one
	Number int      // which sheet of the job, from 1
	Of     int      // how many the job uses, 0 or 1 when it is the only one
	Cost   *float64 // of the whole piece, in the user's currency, nil unknown
}

// Part is one part on a sheet.
type Part struct {
	Name    string
	Mark    string // printed on the picture
	Region  geom.Region
	Frame   geom.Rigid
	FileRef string
	Kind    string            // name without the number of the copy
	Copy    int               // number of the copy, from 1 over all sheets
	Of      int               // copies that the job makes, 0 unknown
	Job     string            // title of the job that the part comes from, "" the one at hand
	Fibre   *shop.FibreReport // how its edges meet the fibre, program coordinates; nil when no direction is stated
}

// Acceptance is a confirm that the job accepts.
type Acceptance struct{ Cut, Code string }

// Input is a file that the job was made from.
type Input struct {
	Role   string // "job", "drawing", "profile", "heights"
	File   string
	SHA256 string
}
