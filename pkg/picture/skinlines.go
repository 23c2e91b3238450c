package picture

import (
	"fmt"
	"image/color"
	"math"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
)

// skinCells is how many cells the window is cut into for contours of the skin.
const skinCells = 60

// skinLine is a line of equal height on paper, by points along it.
type skinLine struct {
	level float64
	at    []geom.Point
}

// skinLines draws lines of equal height of the skin, when it is not level.
func (v *planView) skinLines() {
	if v.Work.Skin.Flat() {
		return
	}
	z := v.heights()
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, row := range z {
		for _, h := range row {
			lo, hi = math.Min(lo, h), math.Max(hi, h)
		}
	}
	if !(hi-lo > 0.02) {
		return
	}
	gap := niceLength((hi - lo) / 5)
	for k := math.Ceil(lo / gap); k*gap <= hi; k++ {
		v.skinLine(z, k*gap)
	}
}

func (v *planView) heights() [][]float64 {
	z := make([][]float64, skinCells+1)
	for j := range z {
		z[j] = make([]float64, skinCells+1)
		for i := range z[j] {
			z[j][i] = v.Work.Skin.Height(v.cell(float64(i), float64(j)))
		}
	}
	return z
}

func (v *planView) cell(i, j float64) geom.Point {
	s := v.window.Size()
	return v.window.Min.Add(geom.Pt(s.X*i/skinCells, s.Y*j/skinCells))
}

// skinLine draws one height by the crossings of each cell's two triangles, and keeps
// it for its figure.
func (v *planView) skinLine(z [][]float64, level float64) {
	path := &canvas.Path{}
	line := skinLine{level: level}
	for j := range skinCells {
		for i := range skinCells {
			x, y := float64(i), float64(j)
			corner := [4][3]float64{{x, y, z[j][i]}, {x + 1, y, z[j][i+1]}, {x + 1, y + 1, z[j+1][i+1]}, {x, y + 1, z[j+1][i]}}
			for _, t := range [2][3]int{{0, 1, 2}, {0, 2, 3}} {
				var ends []geom.Point
				for k := range 3 {
					a, b := corner[t[k]], corner[t[(k+1)%3]]
					if (a[2] <= level) == (b[2] <= level) {
						continue
					}
					f := (level - a[2]) / (b[2] - a[2])
					ends = append(ends, v.at(v.cell(a[0]+float64(f*(b[0]-a[0])), a[1]+float64(f*(b[1]-a[1])))))
				}
				if len(ends) != 2 {
					continue
				}
				path.MoveTo(ends[0].X, ends[0].Y)
				path.LineTo(ends[1].X, ends[1].Y)
				line.at = append(line.at, ends[0])
			}
		}
	}
	if path.Empty() {
		return
	}
	v.pen(skinLineC, 0.18)
	v.draw(path)
	v.lines = append(v.lines, line)
}

// skinFigures writes the height of each line where nothing else is shown, toward the
// lower left, away from the cut in the middle.
func (v *planView) skinFigures() {
	want := v.frame.Center().Sub(v.frame.Size().Mul(0.3))
	for _, l := range v.lines {
		s := fmt.Sprintf("Z %g", math.Round(l.level*1000)/1000)
		half := v.textSize(6, false, s).Add(geom.Pt(0.6, 0.4)).Mul(0.5)
		best, far := geom.EmptyBox(), math.Inf(1)
		for _, q := range l.at {
			b := geom.Box{Min: q.Sub(half), Max: q.Add(half)}
			if d := q.Dist(want); d < far && v.labels.free(b) && v.labels.covered(b) == 0 {
				best, far = b, d
			}
		}
		if best.Empty() {
			continue
		}
		v.labels.block(best)
		v.fill(color.White)
		v.rect(best)
		v.text(best.Center().X, best.Min.Y+0.7, 6, canvas.Center, false, greyInk, s)
	}
}
