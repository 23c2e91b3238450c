package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/nest"
)

const (
	defaultWeb = 2.0       // narrowest web between two kerfs, mm; common practice, no source
	nestBudget = 2_000_000 // positions that nesting tries when the job names no budget
	// layoutStep is what the rounding of written places may take from a distance,
	// mm: two figures of six decimals, and turns of nine.
	layoutStep = 2e-6
)

// spread places what is not placed by hand. Parts that may lie on the same sheets
// are nested together; those with the smallest choice come first, and what fills
// up the rest comes last. What lies already stands fixed for those that follow.
func (s *state) spread(ctx context.Context) bool {
	if s.req.Enough != nil {
		search, cancel := context.WithCancel(ctx)
		defer cancel()
		go func() {
			select {
			case <-s.req.Enough:
				cancel()
			case <-search.Done():
			}
		}()
		ctx = search
	}
	done := make([]int, len(s.file.Parts))
	for _, p := range s.layout {
		done[p.part]++
	}
	type round struct {
		sheets []int
		parts  []int
		fill   bool
	}
	var rounds []round
	for i, p := range s.file.Parts {
		want := countOf(p.Quantity)
		if want != nest.Fill && done[i] >= want {
			continue
		}
		fill := want == nest.Fill
		k := slices.IndexFunc(rounds, func(r round) bool { return r.fill == fill && slices.Equal(r.sheets, s.allowed[i]) })
		if k < 0 {
			k = len(rounds)
			rounds = append(rounds, round{sheets: s.allowed[i], fill: fill})
		}
		rounds[k].parts = append(rounds[k].parts, i)
	}
	slices.SortStableFunc(rounds, func(a, b round) int {
		if a.fill != b.fill {
			if b.fill {
				return -1
			}
			return 1
		}
		return cmp.Compare(len(a.sheets), len(b.sheets))
	})
	if len(rounds) == 0 { // everything lies by hand: the rules still hold
		all := make([]int, len(s.blanks))
		for i := range all {
			all[i] = i
		}
		rounds = append(rounds, round{sheets: all})
	}
	for _, r := range rounds {
		if !s.nestRound(ctx, r.sheets, r.parts) {
			return false
		}
	}
	return true
}

// question is what is asked of nesting in one round.
type question struct {
	parts  []nest.Part
	index  []int // part of the job for each, -1 for copies that lie already
	sheets []nest.Sheet
	of     []int // sheet of the job for each
	o      nest.Options
	lying  int // copies that lie already
	byHand bool
}

// fills tells whether as many copies as fit are asked for.
func (q question) fills() bool {
	return slices.ContainsFunc(q.parts, func(p nest.Part) bool { return p.Quantity == nest.Fill })
}

// nestRound lays the missing copies of parts on the sheets.
func (s *state) nestRound(ctx context.Context, sheets, parts []int) bool {
	q, ok := s.ask(sheets, parts)
	if !ok {
		return false
	}
	layout, l := nest.Nest(ctx, q.parts, q.sheets, q.o)
	if layout != nil && !l.Blocks() && q.lying == 0 && len(layout.Used) > 1 && !q.fills() {
		if cheaper, of := s.cheaperStock(ctx, q, layout); cheaper != nil {
			layout, q = cheaper, of
		}
	}
	s.addNested(l, q)
	if layout == nil || stops(l) {
		return false
	}
	lie := map[int]int{} // copies of each part that lie so far
	for _, p := range s.layout {
		lie[p.part]++
	}
	for _, p := range layout.Placements {
		i := q.index[p.Part]
		if i < 0 {
			continue
		}
		u := layout.Used[p.Piece]
		s.layout = append(s.layout, placement{part: i, copy: lie[i], at: piece{q.of[u.Sheet], u.Piece}, frame: p.Frame})
		lie[i]++
	}
	if layout.Stopped {
		s.add(diag.Finding{Code: "search-stopped", Severity: diag.Note, Subject: s.req.Name, Message: "the search was stopped early; this is the best layout that it had found", Help: "run again for a tighter one"})
	}
	return true
}

// addNested adds the findings of nesting with the line of the part or sheet that
// they are about.
func (s *state) addNested(l diag.List, q question) {
	for _, f := range l {
		key := "nest"
		for i, p := range s.file.Parts {
			if p.Name == f.Subject {
				key = fmt.Sprintf("part.%d", i)
			}
		}
		for i, b := range s.blanks {
			if b.name == f.Subject {
				key = fmt.Sprintf("sheet.%d", i)
			}
		}
		if f.Code == "no-room" {
			names := ""
			for k, n := range q.of {
				if k > 0 {
					names += ", "
				}
				names += s.blanks[n].name
			}
			f.Message = fmt.Sprintf("%s on %s", f.Message, names)
			f.Help = "add a sheet or a larger quantity of it, allow more turns, or a smaller margin, web or cutter"
		}
		if f.Subject == "" {
			f.Subject = s.req.Name
		}
		line, col := s.pos.Of(key)
		s.add(f.AtLine(s.req.Name, line, col))
	}
}

// ask puts the question of one round.
func (s *state) ask(sheets, parts []int) (question, bool) {
	q := question{o: nest.Options{Budget: nestBudget, Progress: s.req.Nesting}}
	back := map[int]int{} // sheet of the job → sheet of the question
	thick := 0.0
	for _, n := range sheets {
		back[n] = len(q.sheets)
		q.of = append(q.of, n)
		q.sheets = append(q.sheets, s.nestSheet(n))
		thick = math.Max(thick, s.blanks[n].thickness)
	}
	wide, ok := s.widestKerf()
	if !ok {
		return q, false
	}
	web := math.Max(defaultWeb, thick)
	if n := s.file.Nest; n != nil {
		q.o.Seed = n.Seed
		if n.Budget > 0 {
			q.o.Budget = n.Budget
		}
		web = lengthOr(n.Web, web)
	}
	// Each part is cut out along its own kerf, so that two kerfs and the web lie
	// between them: with less, the tabs of one would end in the kerf of the other.
	q.o.Spacing = 2*wide + web
	if n := s.file.Nest; n != nil && n.Spacing != nil {
		q.o.Spacing = float64(*n.Spacing)
	}
	if web < 0 || q.o.Spacing < 0 {
		s.stop("nest", "spacing-wrong", fmt.Sprintf("web %g mm and spacing %g mm between parts", web, q.o.Spacing), "give 0 or more, or leave both out")
		return q, false
	}
	shapes := map[int]geom.Region{}
	shape := func(i int) geom.Region {
		if _, known := shapes[i]; !known {
			shapes[i] = roomy(s.shapes[i], q.o.Spacing)
		}
		return shapes[i]
	}
	done := map[int]int{}
	for _, p := range s.layout {
		done[p.part]++
		k, here := back[p.at.sheet]
		if !here {
			continue
		}
		one := s.nestPart(p.part, shape(p.part))
		one.Quantity = 1
		one.Locked = []nest.Lock{{Sheet: k, Piece: p.at.no, Frame: p.frame}}
		q.parts, q.index = append(q.parts, one), append(q.index, -1)
		q.lying++
		q.byHand = q.byHand || p.byHand
	}
	for _, i := range parts {
		np := s.nestPart(i, shape(i))
		if np.Quantity != nest.Fill {
			np.Quantity -= done[i]
		}
		q.parts, q.index = append(q.parts, np), append(q.index, i)
	}
	if q.byHand { // figures that people round
		q.o.Spacing = math.Max(0, q.o.Spacing-layoutStep)
		for k := range q.sheets {
			q.sheets[k].Margin = math.Max(0, q.sheets[k].Margin-layoutStep)
		}
	}
	return q, true
}

// nestPart is one part as nesting sees it.
func (s *state) nestPart(i int, shape geom.Region) nest.Part {
	p := s.file.Parts[i]
	np := nest.Part{Name: p.Name, Region: shape, Quantity: countOf(p.Quantity), Free: p.AnyTurn, Mirror: p.MayFlip, TurnTol: p.TurnTol * math.Pi / 180}
	for _, t := range p.TurnsDeg {
		np.Turns = append(np.Turns, t*math.Pi/180)
	}
	return np
}

// roomy returns a part with those of its holes that have room for something at the
// spacing. Where that cannot be told the hole stays.
func roomy(part geom.Region, spacing float64) geom.Region {
	g := geom.Region{Outer: part.Outer}
	for _, h := range part.Holes {
		left, err := geom.NewRegion(h).Offset(-spacing, 0.01)
		if err != nil || len(left) > 0 {
			g.Holes = append(g.Holes, h)
		}
	}
	return g
}

func (s *state) nestSheet(n int) nest.Sheet {
	b := s.blanks[n]
	sheet := nest.Sheet{Name: b.name, Region: b.region, Margin: b.margin, Quantity: b.quantity, Cost: s.rank(n)}
	if b.fibre != nil {
		sheet.Fibre = *b.fibre
	}
	sheet.Zones = append(slices.Clone(b.flaws), s.clampZones(n)...)
	return sheet
}

// rank orders the sheets: by cost, those of unknown cost last, in the order of
// the job.
func (s *state) rank(n int) float64 {
	if c := s.blanks[n].cost; c != nil {
		return *c
	}
	most := 0.0
	for _, b := range s.blanks {
		if b.cost != nil {
			most = math.Max(most, *b.cost)
		}
	}
	return most + 1
}

// widestKerf is the width of the widest cut around a part, mm, at its largest.
func (s *state) widestKerf() (float64, bool) {
	wide := 0.0
	for i, p := range s.file.Parts {
		for _, name := range []string{p.Cutter, p.Hole} {
			if name == "" && p.Cutter != "" {
				continue
			}
			c, ok := s.knownCutter(fmt.Sprintf("part.%d.cutter", i), name)
			if !ok {
				return 0, false
			}
			wide = math.Max(wide, c.Diameter+c.DiameterTol+s.w.Machine.Runout)
		}
	}
	return wide, true
}

// clampZones are the clamps of a sheet and the keep-outs with the room that cutter and
// holder need beside them beyond the spacing, so that what is nested can be proven.
func (s *state) clampZones(n int) []geom.Region {
	var out []geom.Region
	wide, _ := s.widestKerf()
	holder := 0.0
	for _, c := range s.w.Machine.Holder {
		holder = math.Max(holder, c.Diameter/2)
	}
	for _, c := range append(s.clampsOf(n), s.keepouts...) {
		beside := c.Clearance + s.planarErrors(c.Bounds(), 0) + math.Max(wide, wide/2+s.reach(-c.From, holder))
		for _, g := range c.Footprint {
			grown, err := g.Offset(beside, 0.01)
			if err != nil { // its box is larger, never smaller
				b := g.Bounds().Grow(beside)
				grown = []geom.Region{geom.NewRegion(geom.Rect(b.Min.X, b.Min.Y, b.Max.X, b.Max.Y))}
			}
			out = append(out, grown...)
		}
	}
	return out
}

// reach is the radius of what may stand beside a clamp of this height above the
// sheet: the holder where the stick-out is too short to keep it above.
func (s *state) reach(high, holder float64) float64 {
	r := 0.0
	for _, p := range s.file.Parts {
		for _, name := range []string{p.Cutter, p.Hole} {
			c, ok := s.ownCutters[name]
			if !ok {
				var bad *diag.Finding
				if c, bad = s.lib.Cutter(name); bad != nil {
					continue
				}
			}
			r = math.Max(r, math.Max(c.Diameter, c.Shank)/2)
			deepest := 0.0
			for _, b := range s.blanks {
				deepest = math.Max(deepest, b.floor)
			}
			if c.StickOut-deepest < high+3 {
				r = math.Max(r, holder)
			}
		}
	}
	return r
}
