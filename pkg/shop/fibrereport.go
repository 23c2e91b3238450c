package shop

import (
	"cmp"
	"slices"

	"sparclear/pkg/geom"
)

// FibreClasses is the number of classes of a fibre report: 15° each.
const FibreClasses = 12

// mostStretches is how many stretches a fibre report names.
const mostStretches = 6

// FibreReport tells how the edges of a region meet the fibre of the top ply.
type FibreReport struct {
	Direction float64               // of the fibre, rad from +X of the region's frame
	Length    float64               // of all edges, mm
	Against   float64               // of those in the bad range, mm
	Histogram [FibreClasses]float64 // mm of edge by fibre cutting angle, 0 to 180°
	Bad       []FibreStretch        // the longest stretches in the bad range, longest first
}

// ReportFibre reports on every contour of a region that stays (a part); where the
// region is a hole in what stays, hole turns it round. The fibre runs along the
// direction fibre, rad from +X. O(n log n) in the number of edges.
func ReportFibre(g geom.Region, fibre float64, hole bool) FibreReport {
	r := FibreReport{Direction: fibre}
	for _, c := range append([]geom.Contour{g.Outer}, g.Holes...) {
		if hole {
			c = c.Reverse()
		}
		r.Length += c.Length()
		for i, l := range FibreHistogram(c, fibre, FibreClasses) {
			r.Histogram[i] += l
		}
		for _, s := range FibreBad(c, fibre) {
			r.Against += s.Length
			r.Bad = append(r.Bad, s)
		}
	}
	slices.SortStableFunc(r.Bad, func(a, b FibreStretch) int { return cmp.Compare(b.Length, a.Length) })
	r.Bad = r.Bad[:min(len(r.Bad), mostStretches)]
	return r
}

// Add joins two reports of one direction: what several outlines of a cut have
// together.
func (r FibreReport) Add(o FibreReport) FibreReport {
	r.Direction = o.Direction
	r.Length += o.Length
	r.Against += o.Against
	for i := range o.Histogram {
		r.Histogram[i] += o.Histogram[i]
	}
	r.Bad = append(slices.Clone(r.Bad), o.Bad...)
	slices.SortStableFunc(r.Bad, func(a, b FibreStretch) int { return cmp.Compare(b.Length, a.Length) })
	r.Bad = r.Bad[:min(len(r.Bad), mostStretches)]
	return r
}
