package picture

import (
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Reach is the feed that the machine reaches in one cut, from the program text by
// the acceleration and the corners of the machine.
type Reach struct {
	Cut   string
	Asked float64 // highest feed in the text along the path, mm/min
	Mean  float64 // length over time of all moves in the material, mm/min
	Path  float64 // their length, mm
	Short float64 // of those that reach less than nine tenths of their feed, mm
}

// Reached tells for each cut of a scene, in the order of the programs, what feed
// is reached: short blocks never get to the one that stands in the text. It fails
// when a program cannot be read back.
func Reached(s Scene) ([]Reach, error) {
	rs, err := s.runs()
	if err != nil {
		return nil, err
	}
	return reached(rs), nil
}

func reached(rs []run) (out []Reach) {
	at := map[string]int{}
	spent := map[string]float64{}
	for _, r := range rs {
		for i, m := range r.moves {
			if m.rapid || m.deepest() <= 0 || m.cut == "" {
				continue
			}
			k, ok := at[m.cut]
			if !ok {
				k = len(out)
				at[m.cut] = k
				out = append(out, Reach{Cut: m.cut})
			}
			l, t, f := r.play.Moves[i].Length(), float64(r.times.Quick[i]), r.play.Moves[i].Feed
			out[k].Path += l
			spent[m.cut] += t
			if math.Abs(m.z1-m.z0) < l/2 {
				out[k].Asked = math.Max(out[k].Asked, f)
			}
			if t > 0 && l/t*60 < 0.9*f {
				out[k].Short += l
			}
		}
	}
	for k := range out {
		if t := spent[out[k].Cut]; t > 0 {
			out[k].Mean = out[k].Path / t * 60
		}
	}
	return out
}

// mostData is how many rows of cutting data a run sheet holds; alike cuts share one.
const mostData = 8

// data lists what the shop worked out for each cut, alike ones once: forces with
// the specific cutting force that they assume, and the feed that is reached.
func (d *sheet) data(s Scene, rs []run) {
	type row struct {
		cut  work.Cut
		data shop.CuttingData
		n    int
	}
	var kinds []row
	reach := map[string]Reach{}
	for _, r := range reached(rs) {
		reach[r.Cut] = r
	}
	for _, c := range s.Work.Cuts {
		if c.Data.RPM == 0 {
			continue
		}
		found := false
		for i := range kinds {
			k := &kinds[i]
			if k.cut.Cutter == c.Cutter && k.cut.Kind == c.Kind && k.data.RPM == c.Data.RPM && k.data.FeedXY == c.Data.FeedXY && k.data.Step == c.Data.Step {
				k.n++
				found = true
				break
			}
		}
		if !found {
			kinds = append(kinds, row{c, c.Data, 1})
		}
	}
	if len(kinds) == 0 {
		return
	}
	d.heading("Cutting data")
	var rows [][]string
	for _, k := range kinds[:min(len(kinds), mostData)] {
		x := k.data
		name := k.cut.Name
		if k.n > 1 {
			name += fmt.Sprintf(" and %d like it", k.n-1)
		}
		feed := fmt.Sprintf("f_z %.3f", x.FeedTooth)
		if x.FeedTooth == 0 || x.Engagement.Drill {
			feed = fmt.Sprintf("f %.3f", x.FeedRev)
		}
		bend := "-"
		if x.Deflection > 0 {
			bend = fmt.Sprintf("%.3f", x.Deflection)
			if x.DeflectionShare > 0 {
				bend += fmt.Sprintf(" (%.0f %%)", 100*x.DeflectionShare)
			}
		}
		met := "-"
		if r := reach[k.cut.Name]; r.Mean > 0 {
			met = fmt.Sprintf("%.0f", r.Mean)
		}
		rows = append(rows, []string{name, fmt.Sprintf("%.0f", x.Speed), feed, fmt.Sprintf("%.3f", x.ChipMax), fmt.Sprintf("%.0f", x.Kc),
			fmt.Sprintf("%.1f / %.1f", x.ForceSharp, x.ForceDull), fmt.Sprintf("%.0f", 100*x.PowerShare), bend, met})
	}
	d.table([]float64{46, 18, 16, 11, 20, 23, 16, 22, 14}, []string{"cut", "v_c, m/min", "feed, mm", "h, mm", "k_c, N/mm²", "N, sharp / dull", "power, %", "bend, mm", "mm/min"}, rows)
	if len(kinds) > mostData {
		d.line("and %d more", len(kinds)-mostData)
	}
	d.line("Forces are estimates from k_c (sparclear feeds JOB: sources); bend of the sharp cutter, and its part of the tolerance; last: mean feed reached.")
}

// wear lists how far each cutter cuts against its life, and where it is changed.
func (d *sheet) wear(s Scene) {
	for _, u := range s.Work.Wear {
		if u.Metres == 0 || u.Cutter >= len(s.Work.Cutters) {
			continue
		}
		text := fmt.Sprintf("T%d %s cuts %.2f m", s.Work.Cutters[u.Cutter].Number, s.Work.Cutters[u.Cutter].Name, u.Metres)
		if u.Before > 0 {
			text += fmt.Sprintf(" after %.2f m before", u.Before)
		}
		if u.Life > 0 {
			text += fmt.Sprintf(", blunt after about %.0f m", u.Life)
		}
		for _, c := range u.Changes {
			text += fmt.Sprintf("; fresh one before %s, after %.1f m", c.Cut, c.Metres)
		}
		d.line("%s.", text)
	}
}

// fits lists the allowances that the finished outlines hold, with what machine and
// cutter hold.
func (d *sheet) fits(s Scene) {
	var rows [][]string
	said := map[string]bool{}
	held := ""
	for _, c := range s.Work.Cuts {
		f := c.Fit
		if f == nil {
			continue
		}
		word, limits := "a number", "-"
		if f.Tab > 0 {
			word = fmt.Sprintf("tab of %.2f mm", f.Tab)
		}
		if f.Class != "" {
			word, limits = f.Class, fmt.Sprintf("%+.0f / %+.0f", f.Upper*1000, f.Lower*1000)
		}
		r := []string{c.Name, word, fmt.Sprintf("%.3f", f.Nominal), limits, fmt.Sprintf("%+.3f", f.Side), fmt.Sprintf("%.0f", f.Held*1000)}
		if held == "" || f.Held > 0 && len(rows) == 0 {
			held = f.HeldBy
		}
		if key := strings.Join(r[1:], "|"); !said[key] && len(rows) < mostData {
			said[key] = true
			rows = append(rows, r)
		}
	}
	if len(rows) == 0 {
		return
	}
	d.heading("Fits: what was asked for, and what a router holds")
	d.table([]float64{56, 30, 20, 28, 20, 28}, []string{"cut", "fit", "size, mm", "limits, µm", "edge, mm", "held, µm"}, rows)
	d.line("edge: how far each edge was moved outward. held: what machine and cutter hold on a size (the first by %s). Finer than that: cut undersize, then drill, ream or sand to size.", held)
}

// fibre says how edges meet the fibre: how much is cut against it, and by classes.
func (d *sheet) fibre(s Scene) {
	type of struct {
		name string
		r    shop.FibreReport
	}
	var all []of
	said := map[string]bool{}
	for _, p := range s.Work.Parts {
		if p.Fibre == nil {
			continue
		}
		name := p.Kind
		if name == "" {
			name = p.Name
		}
		if key := fmt.Sprintf("%s %.1f", name, p.Fibre.Against); !said[key] { // copies turned alike
			said[key] = true
			all = append(all, of{name, *p.Fibre})
		}
	}
	for _, c := range s.Work.Cuts {
		if c.Fibre != nil {
			all = append(all, of{c.Name, *c.Fibre})
		}
	}
	if len(all) == 0 {
		return
	}
	d.heading("Fibre: angle between the way of the tooth and the top ply, mm of edge")
	var rows [][]string
	for _, o := range all[:min(len(all), mostData)] {
		var sums [6]float64
		for i, l := range o.r.Histogram {
			sums[i*6/shop.FibreClasses] += l
		}
		row := []string{o.name}
		for _, v := range sums {
			row = append(row, fmt.Sprintf("%.0f", v))
		}
		where := "-"
		if len(o.r.Bad) > 0 {
			p := o.r.Bad[0].From.Lerp(o.r.Bad[0].To, 0.5)
			where = fmt.Sprintf("X%.0f Y%.0f", p.X, p.Y)
		}
		rows = append(rows, append(row, fmt.Sprintf("%.0f of %.0f", o.r.Against, o.r.Length), where))
	}
	d.table([]float64{44, 12, 12, 12, 14, 14, 14, 30, 30}, []string{"edges of", "0-30°", "30-60°", "60-90°", "90-120°", "120-150°", "150-180°", "against, mm", "longest at"}, rows)
	if len(all) > mostData {
		d.line("and %d more in the certificate", len(all)-mostData)
	}
}
