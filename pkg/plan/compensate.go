package plan

import (
	"errors"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// edge is one contour to be cut.
type edge struct {
	outline geom.Region  // the region that the contour bounds
	inside  bool         // material is taken away inside it (opening); otherwise outside (part)
	final   geom.Contour // where the centre goes for the finished edge, the kept side on the right
	rough   geom.Contour // the same with the finish allowance left; final when there is none
	onPath  bool         // the centre runs on the outline itself
}

// offsetTol is how exactly centre paths are computed, mm, on the safe side.
func (j *job) offsetTol() float64 {
	if t := j.w.ChordTol; t > 0 && t < 0.001 {
		return t
	}
	return 0.001
}

// offset moves the outline by dist mm; a failure becomes a finding.
func (j *job) offset(g geom.Region, dist float64) ([]geom.Region, bool) {
	out, err := g.Offset(dist, j.offsetTol())
	if err == nil {
		return out, true
	}
	j.geomFinding(err)
	return nil, false
}

// geomFinding hands on a fault of geometry under the name of the cut.
func (j *job) geomFinding(err error) {
	var f diag.Finding
	if !errors.As(err, &f) {
		f = diag.Finding{Code: "geometry-failed", Message: err.Error(), Help: "simplify the outline at that place"}
	}
	f.Severity, f.Subject, f.Cut = diag.Stop, j.c.Name, j.c.Name
	j.add(f)
}

// edges makes the centre paths of one outline, compensated for the radius of
// the cutter.
func (j *job) edges(g geom.Region, inside bool) ([]edge, bool) {
	side := 1.0
	if inside {
		side = -1
	}
	finals, ok := j.offset(g, side*j.r)
	if !ok || inside && !j.reaches(g, finals) {
		return nil, false
	}
	roughs := finals
	if j.c.Finish > 0 {
		if roughs, ok = j.offset(g, side*(j.r+j.c.Finish)); !ok {
			return nil, false
		}
	}
	fs, rs := contours(finals, inside), contours(roughs, inside)
	if len(fs) != len(rs) || len(fs) == 0 {
		f := j.finding(diag.Stop, "allowance-vanishes",
			fmt.Sprintf("with a finish allowance of %.3f mm the path of the roughing cut falls apart", j.c.Finish),
			"leave a smaller finish allowance, or use a thinner cutter")
		j.add(j.at(f.With(j.c.Finish, 0, "mm"), g.Bounds().Center()))
		return nil, false
	}
	out := make([]edge, len(fs))
	for i, f := range fs {
		out[i] = edge{outline: g, inside: inside, rough: nearestContour(rs, f[0].Point)}
		fs[i] = j.cornered(g, f)
		out[i].final = fs[i]
		if j.c.Finish == 0 {
			out[i].rough = fs[i]
		}
	}
	j.corners(g, fs)
	return out, true
}

// contours lists the contours of the regions with the kept side on the right.
func contours(gs []geom.Region, inside bool) []geom.Contour {
	var out []geom.Contour
	for _, g := range gs {
		for _, c := range g.Contours() {
			if !inside {
				c = c.Reverse()
			}
			out = append(out, c)
		}
	}
	return out
}

func nearestContour(cs []geom.Contour, q geom.Point) geom.Contour {
	best, dist := cs[0], math.Inf(1)
	for _, c := range cs {
		if d := c.Dist(q); d < dist {
			best, dist = c, d
		}
	}
	return best
}

// reaches refuses an opening that the cutter does not fit into, or that falls
// into several because a neck is narrower than the cutter.
func (j *job) reaches(g geom.Region, finals []geom.Region) bool {
	if len(finals) == 1 {
		return true
	}
	fits := j.largestCutter(g)
	what := "the opening is narrower than the cutter"
	if len(finals) > 1 {
		what = "a neck of the opening is narrower than the cutter"
	}
	f := j.finding(diag.Stop, "cutter-too-wide",
		fmt.Sprintf("%s: %.2f mm of room, the cutter is %.2f mm wide", what, fits, j.cutter.Diameter),
		fmt.Sprintf("use a cutter of at most %.2f mm", math.Floor(fits*100)/100))
	j.add(j.at(f.With(j.cutter.Diameter, fits, "mm"), g.Bounds().Center()))
	return false
}

// largestCutter returns the largest diameter that goes all round inside g in
// one piece, found by halving, on the safe side.
func (j *job) largestCutter(g geom.Region) float64 {
	lo, hi := 0.0, j.r
	for range 24 {
		mid := (lo + hi) / 2
		gs, err := g.Offset(-mid, j.offsetTol())
		if err == nil && len(gs) == 1 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 2 * lo
}

// corners reports where the cutter does not reach the outline because a corner
// is tighter than its radius.
func (j *job) corners(g geom.Region, finals []geom.Contour) {
	worst, where, n := 0.0, geom.Point{}, 0
	near := newNearness(finals)
	for _, c := range g.Contours() {
		for i := range c {
			s := c.Seg(i)
			for _, q := range [...]geom.Point{s.A, s.Mid()} {
				left := near.beyond(q, j.r+math.Max(j.c.Tol, 0.01))
				if left == 0 {
					continue
				}
				n++
				if left-j.r > worst {
					worst, where = left-j.r, q
				}
			}
		}
	}
	if n == 0 {
		return
	}
	help := "draw corner radii of at least the cutter's radius, use a thinner cutter, or relief = \"dogbone\" where a square part must seat"
	f := j.finding(diag.Warn, "corner-left", fmt.Sprintf("the cutter leaves up to %.2f mm in corners tighter than its radius of %.2f mm", worst, j.r), help)
	if worst > 0.5*j.r { // more than a square corner leaves: 0.414 r
		f.Code, f.Severity = "outline-unreached", diag.Confirm
		f.Message = fmt.Sprintf("the cutter does not reach %.2f mm of the outline", worst)
		f.Help = "use a thinner cutter or open the narrow place; accept it where the outline need not be followed there"
	}
	j.add(j.at(f.With(worst, math.Max(j.c.Tol, 0.01), "mm"), where))
}
