package shop

import (
	"sparclear/pkg/diag"
)

// MachineFrom reads a machine that stands in a job: a name, or a table decoded
// from TOML, which may say like = "…". at is where it stands in the job.
func (l *Library) MachineFrom(name string, v any, at diag.Place) (Machine, diag.List) {
	return from(machineKind(), name, v, at, l.machines)
}

// CutterFrom reads a cutter that stands in a job: a name or a table.
func (l *Library) CutterFrom(name string, v any, at diag.Place) (Cutter, diag.List) {
	return from(cutterKind(), name, v, at, l.cutters)
}

// MaterialFrom reads a material that stands in a job: a name or a table.
func (l *Library) MaterialFrom(name string, v any, at diag.Place) (Material, diag.List) {
	return from(materialKind(), name, v, at, l.materials)
}

// ParseMachine reads a machine from TOML text: the keys of one profile, without a
// [machine.NAME] line. file names the text in findings.
func (l *Library) ParseMachine(name, file string, src []byte) (Machine, diag.List) {
	return parse(machineKind(), name, file, src, l.machines)
}

// ParseCutter reads a cutter from TOML text, as ParseMachine does.
func (l *Library) ParseCutter(name, file string, src []byte) (Cutter, diag.List) {
	return parse(cutterKind(), name, file, src, l.cutters)
}

// ParseMaterial reads a material from TOML text, as ParseMachine does.
func (l *Library) ParseMaterial(name, file string, src []byte) (Material, diag.List) {
	return parse(materialKind(), name, file, src, l.materials)
}

func from[T any](k kindOfProfile[T], name string, v any, at diag.Place, have map[string]entry[T]) (T, diag.List) {
	var none T
	switch x := v.(type) {
	case string:
		value, f := lookup(k.noun, x, have, k.clone)
		if f != nil {
			f.At = append(f.At, at)
			return none, diag.List{*f}
		}
		return value, nil
	case map[string]any:
		return inline(k, name, table{values: x, at: at}, have)
	}
	return none, diag.List{{Code: "profile-value", Severity: diag.Stop, Input: true, At: []diag.Place{at},
		Message: k.noun + " must be a name or a table, not " + kindOf(v), Help: "write " + k.noun + " = \"NAME\" or " + k.noun + " = { like = \"NAME\", … }"}}
}

func parse[T any](k kindOfProfile[T], name, file string, src []byte, have map[string]entry[T]) (T, diag.List) {
	doc, list := readDocument(file, src)
	if doc == nil {
		var none T
		return none, list
	}
	return inline(k, name, table{values: doc.values, doc: doc}, have)
}

func inline[T any](k kindOfProfile[T], name string, t table, have map[string]entry[T]) (T, diag.List) {
	if name == "" {
		name = "of the job"
	}
	e, list := resolveTable(k, name, t, func(like string) (entry[T], *diag.Finding) {
		_, f := lookup(k.noun, like, have, k.clone)
		return have[like], f
	})
	return e.value, list
}
