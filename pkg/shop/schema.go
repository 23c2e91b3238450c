package shop

import (
	"fmt"
	"math"
	"slices"
)

// The schema: every key that a profile may have, its unit and its bounds. The
// bounds only catch slips of the pen; they are wide on purpose.

var (
	someLength = bounds{0, 1e5, true}
	orNoLength = bounds{0, 1e5, false}
	someSpeed  = bounds{0, 1e6, true}
	orNothing  = bounds{0, 1e9, false}
	ratio      = bounds{0, 100, false}
)

// dustWords are the kinds of dust that the run sheet has a caution for; a word
// mistyped would lose it silently.
var dustWords = []string{"carbon", "glass", "aramid", "hardwood", "wood", "aluminium", "foam", "plastic"}

const degree = math.Pi / 180

func machineFields() []field[Machine] {
	type m = Machine
	return []field[m]{
		text("title", func(m *m) *string { return &m.Title }),
		must(point3("travel_min", func(m *m) *[3]float64 { return &m.TravelMin })),
		must(point3("travel_max", func(m *m) *[3]float64 { return &m.TravelMax })),
		must(number("feed_xy_mm_min", "mm/min", someSpeed, func(m *m) *float64 { return &m.FeedXY })),
		must(number("feed_z_mm_min", "mm/min", someSpeed, func(m *m) *float64 { return &m.FeedZ })),
		must(number("rapid_xy_mm_min", "mm/min", someSpeed, func(m *m) *float64 { return &m.RapidXY })),
		must(number("rapid_z_mm_min", "mm/min", someSpeed, func(m *m) *float64 { return &m.RapidZ })),
		must(number("accel_mm_s2", "mm/s²", someSpeed, func(m *m) *float64 { return &m.Accel })),
		must(number("accel_z_mm_s2", "mm/s²", someSpeed, func(m *m) *float64 { return &m.AccelZ })),
		number("jerk_mm_s3", "mm/s³", orNothing, func(m *m) *float64 { return &m.Jerk }),
		must(number("spindle_min_rpm", "rpm", orNothing, func(m *m) *float64 { return &m.SpindleMin })),
		must(number("spindle_max_rpm", "rpm", someSpeed, func(m *m) *float64 { return &m.SpindleMax })),
		must(number("power_w", "W", someSpeed, func(m *m) *float64 { return &m.Power })),
		must(number("spin_up_s", "s", bounds{0, 600, false}, func(m *m) *float64 { return &m.SpinUp })),
		must(length("runout", bounds{0, 2, false}, func(m *m) *float64 { return &m.Runout })),
		must(length("reversal", bounds{0, 10, false}, func(m *m) *float64 { return &m.Reversal })),
		must(length("reversal_z", bounds{0, 10, false}, func(m *m) *float64 { return &m.ReversalZ })),
		must(length("repeat", bounds{0, 10, false}, func(m *m) *float64 { return &m.Repeat })),
		must(length("repeat_z", bounds{0, 10, false}, func(m *m) *float64 { return &m.RepeatZ })),
		must(field[m]{key: "holder", unit: "mm", set: setHolder, get: func(m m) any { return slices.Clone(m.Holder) }}),
		must(word("controller.arcs", func(m *m) *ArcForm { return &m.Controller.Arcs }, ArcCentre, ArcRadius, ArcNone)),
		must(word("controller.units", func(m *m) *string { return &m.Controller.Units }, "mm", "inch")),
		must(count("controller.decimals", 1, 8, func(m *m) *int { return &m.Controller.Decimals })),
		must(word("controller.tool_change", func(m *m) *ToolChange { return &m.Controller.ToolChange }, ChangeWord, ChangePause, ChangeFiles)),
		must(word("controller.path_mode", func(m *m) *PathMode { return &m.Controller.PathMode }, PathExactStop, PathExact, PathBlend, PathUnstated)),
		length("controller.blend_tolerance", bounds{0, 5, false}, func(m *m) *float64 { return &m.Controller.BlendTol }),
		flag("controller.line_numbers", func(m *m) *bool { return &m.Controller.LineNumbers }),
		flag("controller.percent", func(m *m) *bool { return &m.Controller.Percent }),
		flag("controller.comments", func(m *m) *bool { return &m.Controller.Comments }),
		texts("controller.start", func(m *m) *[]string { return &m.Controller.Start }),
		texts("controller.end", func(m *m) *[]string { return &m.Controller.End }),
		text("controller.dust_on", func(m *m) *string { return &m.Controller.DustOn }),
		text("controller.dust_off", func(m *m) *string { return &m.Controller.DustOff }),
		flag("controller.dwell", func(m *m) *bool { return &m.Controller.Dwell }),
		length("controller.arc_tolerance", bounds{0, 1, false}, func(m *m) *float64 { return &m.Controller.ArcTol }),
		count("controller.max_line", 0, 100000, func(m *m) *int { return &m.Controller.MaxLine }),
		flag("controller.probe", func(m *m) *bool { return &m.Controller.Probe }),
		flag("controller.length_word", func(m *m) *bool { return &m.Controller.LengthWord }),
	}
}

// setHolder reads a list of cylinders, from the nut's lower face upwards.
func setHolder(m *Machine, v any) error {
	list, ok := v.([]any)
	if !ok || len(list) == 0 || len(list) > 20 {
		return fmt.Errorf("must be a list of 1 to 20 cylinders { diameter = …, length = … }")
	}
	out := make(Holder, len(list))
	for i := range list {
		t, ok := list[i].(map[string]any)
		if !ok {
			return fmt.Errorf("must be a list of cylinders { diameter = …, length = … }")
		}
		if len(t) != 2 {
			return fmt.Errorf("cylinder %d must have diameter and length, nothing else", i+1)
		}
		for _, part := range []struct {
			key string
			at  *float64
		}{{"diameter", &out[i].Diameter}, {"length", &out[i].Length}} {
			x, err := asLength(t[part.key])
			if err == nil {
				err = someLength.check(x)
			}
			if err != nil {
				return fmt.Errorf("cylinder %d, %s: %w", i+1, part.key, err)
			}
			*part.at = x
		}
	}
	m.Holder = out
	return nil
}

func cutterFields() []field[Cutter] {
	type c = Cutter
	return []field[c]{
		text("title", func(c *c) *string { return &c.Title }),
		must(count("number", 0, 99999, func(c *c) *int { return &c.Number })),
		must(word("kind", func(c *c) *CutterKind { return &c.Kind }, Flat, Ball, BullNose, Vee, Drill)),
		must(word("form", func(c *c) *string { return &c.Form },
			FormEndMill, FormDownCut, FormCompression, FormBurr, FormBall, FormVee, FormDrill)),
		must(word("material", func(c *c) *string { return &c.Material }, "carbide", "carbide-diamond-coated", "pcd", "hss")),
		must(length("diameter", bounds{0.05, 500, false}, func(c *c) *float64 { return &c.Diameter })),
		must(length("diameter_tolerance", bounds{0, 1, false}, func(c *c) *float64 { return &c.DiameterTol })),
		length("corner_radius", orNoLength, func(c *c) *float64 { return &c.CornerRadius }),
		scaled("point_angle_deg", "°", degree, bounds{1, 180, false}, func(c *c) *float64 { return &c.PointAngle }),
		must(count("flutes", 0, 20, func(c *c) *int { return &c.Flutes })),
		must(length("flute_length", someLength, func(c *c) *float64 { return &c.FluteLength })),
		must(length("shank", someLength, func(c *c) *float64 { return &c.Shank })),
		must(length("stick_out", someLength, func(c *c) *float64 { return &c.StickOut })),
		must(flag("centre_cutting", func(c *c) *bool { return &c.CentreCutting })),
		must(number("max_rpm", "rpm", someSpeed, func(c *c) *float64 { return &c.MaxRPM })),
		length("upcut_length", orNoLength, func(c *c) *float64 { return &c.UpcutLength }),
		number("life_m", "m", orNothing, func(c *c) *float64 { return &c.Life }),
		number("core", "D", bounds{0, 1, false}, func(c *c) *float64 { return &c.Core }),
	}
}

func materialFields() []field[Material] {
	type m = Material
	return []field[m]{
		text("title", func(m *m) *string { return &m.Title }),
		must(word("family", func(m *m) *string { return &m.Family },
			"cfrp", "gfrp", "balsa", "plywood", "foam", "sandwich", "aluminium", "acetal", "abs")),
		must(number("density_kg_m3", "kg/m³", bounds{0, 30000, true}, func(m *m) *float64 { return &m.Density })),
		length("thickness", orNoLength, func(m *m) *float64 { return &m.Thickness }),
		must(number("kc_n_mm2", "N/mm²", bounds{0, 1e5, true}, func(m *m) *float64 { return &m.Kc })),
		must(number("kc_low_n_mm2", "N/mm²", bounds{0, 1e5, true}, func(m *m) *float64 { return &m.KcLow })),
		must(number("kc_high_n_mm2", "N/mm²", bounds{0, 1e5, true}, func(m *m) *float64 { return &m.KcHigh })),
		number("kc11_n_mm2", "N/mm²", bounds{0, 1e5, false}, func(m *m) *float64 { return &m.Kc11 }),
		number("kc_exponent", "", bounds{0, 0.9, false}, func(m *m) *float64 { return &m.KcExp }),
		must(number("shear_n_mm2", "N/mm²", bounds{0, 1e5, true}, func(m *m) *float64 { return &m.Shear })),
		flag("fibre", func(m *m) *bool { return &m.Fibre }),
		flag("abrasive", func(m *m) *bool { return &m.Abrasive }),
		texts("dust", func(m *m) *[]string { return &m.Dust }, dustWords...),
		number("cost_m2", "currency/m²", orNothing, func(m *m) *float64 { return &m.Cost }),
		// Read after all others, by readRules, since its rows carry positions.
		{key: "rule", set: func(*m, any) error { return nil }},
	}
}

func ruleFields() []field[Rule] {
	type r = Rule
	return []field[r]{
		must(word("form", func(r *r) *string { return &r.Form },
			FormEndMill, FormDownCut, FormCompression, FormBurr, FormBall, FormVee, FormDrill)),
		must(span("speed_m_min", "m/min", bounds{0, 10000, true}, func(r *r) *[2]float64 { return &r.Speed })),
		span("feed_tooth_d", "D", ratio, func(r *r) *[2]float64 { return &r.FeedTooth }),
		span("feed_tooth_mm", "mm", ratio, func(r *r) *[2]float64 { return &r.FeedToothMM }),
		span("feed_rev_mm", "mm", ratio, func(r *r) *[2]float64 { return &r.FeedRev }),
		span("step_d", "D", ratio, func(r *r) *[2]float64 { return &r.Step }),
		length("step_max", orNoLength, func(r *r) *float64 { return &r.StepMax }),
		number("peck_d", "D", ratio, func(r *r) *float64 { return &r.Peck }),
		span("life_m", "m", orNothing, func(r *r) *[2]float64 { return &r.Life }),
		must(text("source", func(r *r) *string { return &r.Source })),
		text("note", func(r *r) *string { return &r.Note }),
	}
}
