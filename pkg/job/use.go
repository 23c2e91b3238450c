package job

import (
	"fmt"
	"strings"
)

// Use says what becomes of one piece of stock. What is not known is nil.
type Use struct {
	Sheet     string
	Piece     int      // of that sheet, from 1
	Parts     int      // how many are cut from it
	Share     float64  // area of the parts by area of the sheet
	PartsG    *float64 // weight, g
	SheetG    *float64
	Cost      *float64 // of the whole piece, in the user's currency
	PartsCost *float64 // the parts' share of it, by area
	Remnants  int      // pieces worth keeping
}

// Uses says what becomes of every piece of stock of a resolved sheet job, in the
// order in which they are cut.
func Uses(r *Result) []Use {
	var out []Use
	for _, p := range r.Pieces() {
		w := p.Work
		if w == nil || !w.Sheet {
			continue
		}
		u := Use{Sheet: w.Blank.Name, Piece: w.Blank.Piece, Parts: len(w.Parts), Cost: w.Blank.Cost, Remnants: len(p.Remnants)}
		area, stock := 0.0, areaOf(w.Stock)
		for _, q := range w.Parts {
			area += q.Region.Area()
		}
		if stock > 0 {
			u.Share = area / stock
		}
		if d := w.Material.Density; d > 0 {
			a, b := area*w.Thickness*d/1e6, stock*w.Thickness*d/1e6
			u.PartsG, u.SheetG = &a, &b
		}
		if u.Cost != nil {
			c := *u.Cost * u.Share
			u.PartsCost = &c
		}
		out = append(out, u)
	}
	return out
}

// String is one line for people.
func (u Use) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s", u.Sheet)
	if u.Piece > 1 {
		fmt.Fprintf(&b, ", piece %d", u.Piece)
	}
	fmt.Fprintf(&b, ": %d parts take %.1f %%", u.Parts, 100*u.Share)
	if u.PartsG != nil {
		fmt.Fprintf(&b, ", %s of %s", grams(*u.PartsG), grams(*u.SheetG))
	} else {
		b.WriteString(", weight not known")
	}
	if u.Cost != nil {
		fmt.Fprintf(&b, ", cost %.2f of %.2f", *u.PartsCost, *u.Cost)
	} else {
		b.WriteString(", cost not known")
	}
	if u.Remnants > 0 {
		fmt.Fprintf(&b, ", %d remnant(s) worth keeping", u.Remnants)
	}
	return b.String()
}

func grams(g float64) string {
	if g < 9.95 {
		return fmt.Sprintf("%.1f g", g)
	}
	return fmt.Sprintf("%.0f g", g)
}
