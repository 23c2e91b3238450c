// Package nest places parts on sheets and offcuts. In come regions (arcs
// allowed), how many of each, which turns relative to the fibre they may take,
// and the sheets with their margins, flaws and clamp zones; out comes one rigid
// transform per copy, what is used of each sheet, and what remains. It never
// returns a layout that breaks a rule: the search works on outlines flattened to
// the safe side, and Verify measures every distance again on the outlines as
// drawn before anything is handed out.
//
//	layout, findings := nest.Nest(ctx, parts, sheets, nest.Options{Spacing: 5, Seed: 1})
//
// Method: overlap allowed and removed by guided separation, then shrink and
// compress (J. Gardeyn, G. Vanden Berghe, T. Wauters, "An open-source heuristic
// to reboot 2D nesting research", 2025, algorithms 2 to 13); the severity of an
// overlap is tabulated for every pair of turned parts, and some of the places are
// drawn along the sides of other parts. Parts that would fill the stock without
// waste are put together from corner to corner before that, and strips of parts whose
// corners lie on a coarse grid are searched on that grid too. Free parts, and those
// whose turns have a tolerance, end in turns between the listed ones.
package nest

import (
	"time"

	"sparclear/pkg/geom"
)

// Part is one shape to be placed. Its 0° fibre runs along +X of the region.
type Part struct {
	Name   string
	Region geom.Region // mm; arcs allowed
	// Quantity is the number of copies; Fill means as many as fit on the sheets
	// that the other parts need.
	Quantity int
	// Turns are the allowed directions relative to the sheet's fibre, rad. Empty
	// means 0 only. TurnTol widens each by ± that many rad. Free allows every
	// direction and goes with no Turns.
	Turns   []float64
	TurnTol float64
	Free    bool
	// Mirror allows the part to be turned over; otherwise it stays face up.
	Mirror bool
	// Locked puts the copies by hand: one entry per copy, in order; the search
	// places the rest around them.
	Locked []Lock
}

// Fill as a Part.Quantity asks for as many copies as fit.
const Fill = -1

// Lock is the place of a copy that was laid by hand: the transform from part to
// sheet, and which sheet (index into the sheets given, and which piece of it,
// from 0).
type Lock struct {
	Sheet int
	Piece int
	Frame geom.Rigid
}

// Sheet is a kind of stock. Holes of the region are missing material.
type Sheet struct {
	Name   string
	Region geom.Region // mm
	// Margin is the least distance of a part from the edge of the sheet and of
	// its holes, mm.
	Margin float64
	// Zones are flaws and clamps: no part comes nearer to one than the spacing.
	// They may overlap each other and the edge.
	Zones []geom.Region
	// Fibre is the direction of the 0° fibre, rad from +X.
	Fibre float64
	// Cost orders the stock: cheaper pieces are filled first, then those that
	// come first in the list.
	Cost float64
	// Quantity is the number of pieces at hand, Unlimited for no limit.
	Quantity int
}

// Unlimited as a Sheet.Quantity means that there is always one more piece.
const Unlimited = -1

// Options steer the search.
type Options struct {
	// Spacing is the least distance between two parts, mm: cutter diameter plus
	// web.
	Spacing float64
	// Budget is how many positions the search may try, where one of a part with very
	// many turns counts as several, since it takes longer. The same budget and seed
	// give the same layout on every machine. 0 means DefaultBudget, unless Time is
	// set, which then rules alone and makes the result depend on the machine.
	Budget int64
	// Time stops the search early with the best layout so far; 0 means never.
	Time time.Duration
	// Elapsed, when not nil, stands in for the clock that Time is held against: what
	// has been spent since the call began. A measurement gives the processor time, so
	// that other work on the machine does not count.
	Elapsed func() time.Duration
	// Seed picks the run.
	Seed uint64
	// Workers is the number of searches that go side by side from each state, of
	// which the best is kept; 0 means 2. It changes the result, the number of
	// processors does not.
	Workers int
	// Progress, when not nil, is told now and then how far the search is.
	Progress func(Progress)
}

// DefaultBudget is the number of positions tried when Options names none: some
// seconds of work for a few dozen parts.
const DefaultBudget = 20_000_000

// Progress is a moment of the search.
type Progress struct {
	Phase  string  // "place", "save", "explore", "compress" or "fill"
	Done   float64 // share of the budget or time that is spent, 0…1
	Sheets int     // pieces of stock in use
	Use    float64 // area of the parts by area of the sheets, or of the used strip
	Tried  int64   // what was spent of the budget
}

// Layout is the result.
type Layout struct {
	// Placements are ordered by part, then copy.
	Placements []Placement
	// Used are the pieces of stock in use, cheapest first.
	Used []Used
	// Unplaced counts, for every part, the copies that found no room.
	Unplaced []int
	// Tried is what was spent of the budget.
	Tried int64
	// Stopped tells that the time or the context ended the search, not the budget.
	Stopped bool
}

// Placement is one copy on one piece of stock.
type Placement struct {
	Part  int        // index into the parts
	Copy  int        // from 0
	Piece int        // index into Layout.Used
	Frame geom.Rigid // part to sheet coordinates
	// Locked copies were laid by hand.
	Locked bool
}

// Used is one piece of stock in use.
type Used struct {
	Sheet    int     // index into the sheets
	Piece    int     // which piece of that sheet, from 0
	PartArea float64 // area of the parts on it, mm²
	Area     float64 // area of the sheet, mm²
	Share    float64 // PartArea by Area
	Cost     float64
	// Remnant is what can be the next job's sheet: the material to the right of a
	// straight cut, one spacing beyond the last part, less the zones; zero or more
	// regions in sheet coordinates, none when it would be narrower than twice the
	// margin.
	Remnant []geom.Region
}
