package job

import (
	"fmt"
	"math"

	"sparclear/pkg/drawing"
)

// questionUnits holds what is asked for against what it must fit: a part the
// largest sheet, a cut the reach of the machine. What is larger was perhaps drawn
// in other units than its file says; where the job itself says the units, nothing
// is asked.
func (s *state) questionUnits() {
	ask := func(key string, d *drawing.Drawing, layer string, limit float64, fit string) {
		if d == nil || d.UnitsFrom != "header" || layer == "" || !(limit > 0) {
			return
		}
		ly, fault := d.Layer(layer)
		if fault != nil {
			return // told when it is used
		}
		if f, doubtful := d.SizeQuestionOf("layer "+ly.Layer.Name, ly.Bounds(), limit, fit); doubtful {
			s.add(withPlace(f, s.placeOf(key)))
		}
	}
	m := s.w.Machine
	reach := math.Max(m.TravelMax[0]-m.TravelMin[0], m.TravelMax[1]-m.TravelMin[1])
	for i, c := range s.file.Cuts {
		if c.Part == "" {
			ask(fmt.Sprintf("cut.%d.layer", i), s.wingDrawing(), c.Layer, reach, fmt.Sprintf("the reach of the machine, %.0f mm", reach))
		}
	}
	sheet := 0.0
	for _, sh := range s.file.Sheets {
		if len(sh.Size) != 2 {
			return // as large as its drawing, which says its own units
		}
		sheet = math.Max(sheet, math.Max(float64(sh.Size[0]), float64(sh.Size[1])))
	}
	for i, p := range s.file.Parts {
		ask(fmt.Sprintf("part.%d.layer", i), s.drawings[p.Drawing+"|"+p.Units], p.Layer, sheet, fmt.Sprintf("the largest sheet, %.0f mm", sheet))
	}
}
