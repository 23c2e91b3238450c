package shop

import (
	"maps"
	"slices"

	"sparclear/pkg/diag"
)

// What several keys of a profile say together.

func machineKind() kindOfProfile[Machine] {
	return kindOfProfile[Machine]{
		noun: "machine", fields: machineFields,
		source: func(m *Machine) *map[string]string { return &m.Source },
		name:   func(m *Machine) *string { return &m.Name },
		finish: func(m *Machine, t table, subject string) diag.List {
			var list diag.List
			bad := faults(&list, t, subject)
			_, hasMin := t.values["travel_min"]
			_, hasMax := t.values["travel_max"]
			for i, axis := range []string{"X", "Y", "Z"} {
				if (hasMin || hasMax) && m.TravelMin[i] >= m.TravelMax[i] && m.TravelMax != [3]float64{} {
					bad("the travel of "+axis+" ends before it begins", "travel_max must lie above travel_min", "travel_max")
				}
			}
			if m.SpindleMax > 0 && m.SpindleMin > m.SpindleMax {
				bad("spindle_min_rpm is above spindle_max_rpm", "swap the two", "spindle_min_rpm")
			}
			if m.Controller.ArcTol == 0 {
				m.Controller.ArcTol = 0.002 // what NIST RS274/NGC accepts in mm, NISTIR 6556 §3.5.3.2
			}
			if m.Controller.MaxLine == 0 {
				m.Controller.MaxLine = 256 // NISTIR 6556 §3.1
			}
			if m.Controller.PathMode == PathBlend && m.Controller.BlendTol == 0 {
				bad("path_mode is blend and no blend_tolerance is given", "say how far corners may be rounded, as in blend_tolerance = \"0.02 mm\"", "controller")
			}
			return list
		},
		clone: Machine.clone,
	}
}

func cutterKind() kindOfProfile[Cutter] {
	return kindOfProfile[Cutter]{
		noun: "cutter", fields: cutterFields,
		source: func(c *Cutter) *map[string]string { return &c.Source },
		name:   func(c *Cutter) *string { return &c.Name },
		finish: func(c *Cutter, t table, subject string) diag.List {
			var list diag.List
			bad := faults(&list, t, subject)
			if c.StickOut > 0 && c.FluteLength > c.StickOut {
				bad("flutes are longer than the cutter stands out", "correct flute_length or stick_out", "flute_length")
			}
			if c.Diameter > 0 && c.DiameterTol >= c.Diameter/2 {
				bad("diameter_tolerance is half the diameter or more", "correct diameter_tolerance", "diameter_tolerance")
			}
			if c.CornerRadius > c.Diameter/2 {
				bad("corner_radius is larger than half the diameter", "correct corner_radius", "corner_radius")
			}
			if (c.Kind == Vee || c.Kind == Drill) && c.PointAngle == 0 {
				bad("a "+string(c.Kind)+" cutter needs its point_angle_deg", "give the included angle of the point", "kind")
			}
			if c.Flutes == 0 && c.Form != "" && c.Form != FormBurr {
				bad("flutes is 0, only a burr has no countable teeth", "give the number of teeth", "flutes")
			}
			if c.Form == FormCompression && c.UpcutLength == 0 {
				bad("a compression cutter needs its upcut_length", "measure the up-cut part of the flutes from the tip", "form")
			}
			if c.UpcutLength > c.FluteLength {
				bad("upcut_length is longer than the flutes", "correct upcut_length", "upcut_length")
			}
			return list
		},
		clone: Cutter.clone,
	}
}

func materialKind() kindOfProfile[Material] {
	return kindOfProfile[Material]{
		noun: "material", fields: materialFields,
		source: func(m *Material) *map[string]string { return &m.Source },
		name:   func(m *Material) *string { return &m.Name },
		finish: func(m *Material, t table, subject string) diag.List {
			list := readRules(m, t, subject)
			if m.Kc > 0 && (m.KcLow > m.Kc || m.KcHigh > 0 && m.KcHigh < m.Kc) {
				faults(&list, t, subject)("kc_n_mm2 lies outside its own range", "correct kc_low_n_mm2 and kc_high_n_mm2", "kc_n_mm2")
			}
			return list
		},
		clone: Material.clone,
	}
}

// faults returns a function that adds a contradiction between keys.
func faults(list *diag.List, t table, subject string) func(message, help, key string) {
	return func(message, help, key string) {
		list.Add(diag.Finding{Code: "profile-contradiction", Severity: diag.Stop, Subject: subject, Input: true,
			Message: message, Help: help, At: []diag.Place{t.place(key)}})
	}
}

func (m Machine) clone() Machine {
	m.Source = maps.Clone(m.Source)
	m.Holder = slices.Clone(m.Holder)
	m.Controller.Start = slices.Clone(m.Controller.Start)
	m.Controller.End = slices.Clone(m.Controller.End)
	return m
}

func (c Cutter) clone() Cutter {
	c.Source = maps.Clone(c.Source)
	return c
}

func (m Material) clone() Material {
	m.Source = maps.Clone(m.Source)
	m.Rules = slices.Clone(m.Rules)
	m.Dust = slices.Clone(m.Dust)
	return m
}
