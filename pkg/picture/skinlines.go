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

// skinLines draws lines of equal height of the skin, when it is not level, and
// writes the height of every other one.
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

// skinLine draws one height by the crossings of each cell's two triangles.
func (v *planView) skinLine(z [][]float64, level float64) {
	path := &canvas.Path{}
	var best geom.Point
	far := math.Inf(1)
	mid := v.frame.Center()
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
				// The figure stands toward the lower left, away from the cut in the middle.
				if d := ends[0].Dist(geom.Pt(mid.X-0.3*(v.frame.Size().X), mid.Y-0.3*v.frame.Size().Y)); d < far {
					best, far = ends[0], d
				}
			}
		}
	}
	if path.Empty() {
		return
	}
	v.pen(skinLineC, 0.18)
	v.draw(path)
	s := fmt.Sprintf("Z %g", math.Round(level*1000)/1000)
	d := v.textSize(6, false, s).Add(geom.Pt(0.6, 0.4))
	if b, ok := v.labels.place(best, d, 0.3); ok {
		v.fill(color.White)
		v.rect(b)
		v.text(b.Center().X, b.Min.Y+0.7, 6, canvas.Center, false, greyInk, s)
	}
}
