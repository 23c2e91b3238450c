package shop

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sparclear/pkg/diag"
)

// SourceUnstated is the source mark of a value that a profile gives without one.
const SourceUnstated = "not stated"

// kindOfProfile is what one kind of profile needs to be resolved.
type kindOfProfile[T any] struct {
	noun   string // "cutter"
	fields func() []field[T]
	source func(*T) *map[string]string
	name   func(*T) *string
	finish func(*T, table, string) diag.List // rows, and what several keys say together
	clone  func(T) T
}

// entry is a resolved profile.
type entry[T any] struct {
	value T
	has   map[string]bool // keys given, here or in the profile it is like
	at    diag.Place
}

// resolveTable reads the table t into a profile; parent answers like = "…". The
// value means nothing when the list blocks.
func resolveTable[T any](k kindOfProfile[T], name string, t table, parent func(like string) (entry[T], *diag.Finding)) (entry[T], diag.List) {
	var out entry[T]
	var list diag.List
	subject := k.noun + " " + name
	out.has = map[string]bool{}
	out.at = t.place()
	bad := func(code, message, help string, path ...string) {
		list.Add(diag.Finding{Code: code, Severity: diag.Stop, Subject: subject, Input: true,
			Message: message, Help: help, At: []diag.Place{t.place(path...)}})
	}
	if v, ok := t.values["like"]; ok {
		if s, err := asText(v); err != nil {
			bad("profile-value", "like "+err.Error(), "name the profile it is like", "like")
		} else if base, f := parent(s); f != nil {
			f.At = append(f.At, t.place("like"))
			list.Add(*f)
			return out, list // without its base every other key would be reported missing
		} else {
			out.value, out.has = k.clone(base.value), maps.Clone(base.has)
		}
	}
	*k.name(&out.value) = name
	source := maps.Clone(*k.source(&out.value))
	if source == nil {
		source = map[string]string{}
	}
	fields := k.fields()
	marks := t.marks(keysOf(fields), bad)
	for _, given := range t.flatten(fieldTables(keysOf(fields))) {
		key := strings.Join(given.path, ".")
		if key == "like" || key == "source" {
			continue
		}
		i := slices.IndexFunc(fields, func(f field[T]) bool { return f.key == key })
		if i < 0 {
			names := append(keysOf(fields), "like", "source")
			bad("profile-key", fmt.Sprintf("unknown key %q", clip(key)), diag.DidYouMean(key, names), given.path...)
			continue
		}
		if err := fields[i].set(&out.value, given.value); err != nil {
			bad("profile-value", key+" "+err.Error(), unitHelp(key, fields[i].unit), given.path...)
			continue
		}
		out.has[key] = true
		source[key] = marks(key)
	}
	*k.source(&out.value) = source
	list.Add(k.finish(&out.value, t, subject)...)
	var missing []string
	for _, f := range fields {
		if f.required && !out.has[f.key] {
			missing = append(missing, f.key)
		}
	}
	if len(missing) > 0 && !list.Blocks() {
		bad("profile-missing", "missing "+strings.Join(missing, ", "), "give the keys, or say like = \"…\" to start from another "+k.noun)
	}
	return out, list
}

func unitHelp(key, unit string) string {
	if unit == "" {
		return "correct " + key
	}
	return "correct " + key + ", unit " + unit
}

// marks reads the source table and returns the mark of a key: its own, else that
// of "default", else SourceUnstated.
func (t table) marks(keys []string, bad func(code, message, help string, path ...string)) func(string) string {
	own := map[string]string{}
	v, ok := t.values["source"]
	if s, isText := v.(string); isText {
		own["default"] = s
	} else if ok {
		sub, isTable := t.sub(v, "source")
		if !isTable {
			bad("profile-value", "source must be a text or a table of texts", "write source = \"where the values are from\"", "source")
		}
		for _, g := range sub.flatten(fieldTables(keys)) {
			key := strings.Join(g.path, ".")
			path := append([]string{"source"}, g.path...)
			if key != "default" && !slices.Contains(keys, key) {
				bad("profile-key", fmt.Sprintf("source names an unknown key %q", clip(key)), diag.DidYouMean(key, append(slices.Clone(keys), "default")), path...)
				continue
			}
			s, err := asText(g.value)
			if err != nil {
				bad("profile-value", "source of "+key+" "+err.Error(), "write where the value is from", path...)
			}
			own[key] = s
		}
	}
	return func(key string) string {
		if s, ok := own[key]; ok {
			return s
		}
		if s, ok := own["default"]; ok {
			return s
		}
		return SourceUnstated
	}
}

// given is a key that a table gives.
type given struct {
	path  []string
	value any
}

// fieldTables returns the first parts of dotted keys: the tables to look into.
func fieldTables(keys []string) []string {
	var out []string
	for _, k := range keys {
		if head, _, dotted := strings.Cut(k, "."); dotted && !slices.Contains(out, head) {
			out = append(out, head)
		}
	}
	return out
}

// flatten lists the keys of the table in order, looking into the named tables.
func (t table) flatten(tables []string) []given {
	var out []given
	for _, k := range sortedKeys(t.values) {
		m, isTable := t.values[k].(map[string]any)
		if !isTable || !slices.Contains(tables, k) {
			out = append(out, given{[]string{k}, t.values[k]})
			continue
		}
		for _, kk := range sortedKeys(m) {
			out = append(out, given{[]string{k, kk}, m[kk]})
		}
	}
	return out
}

// readRules reads the rows of a material. A row replaces the one of the same
// form that the material inherits.
func readRules(m *Material, t table, subject string) diag.List {
	v, ok := t.values["rule"]
	if !ok {
		return nil
	}
	var list diag.List
	bad := func(code, message, help string, path ...string) {
		list.Add(diag.Finding{Code: code, Severity: diag.Stop, Subject: subject, Input: true,
			Message: message, Help: help, At: []diag.Place{t.place(path...)}})
	}
	rows, isList := v.([]any)
	if !isList || len(rows) > 100 {
		bad("profile-value", "rule must be a list of at most 100 tables", "write each row under [[material.NAME.rule]]", "rule")
		return list
	}
	fields := ruleFields()
	rules := slices.Clone(m.Rules)
	seen := map[string]bool{}
	for i := range rows {
		here := []string{"rule", strconv.Itoa(i)}
		row, isTable := t.sub(rows[i], here...)
		if !isTable {
			bad("profile-value", "rule must be a list of tables", "write each row under [[material.NAME.rule]]", here...)
			continue
		}
		var r Rule
		has := map[string]bool{}
		for _, key := range sortedKeys(row.values) {
			path := append(slices.Clone(here), key)
			n := slices.IndexFunc(fields, func(f field[Rule]) bool { return f.key == key })
			if n < 0 {
				bad("profile-key", fmt.Sprintf("unknown key %q in a rule", clip(key)), diag.DidYouMean(key, keysOf(fields)), path...)
				continue
			}
			if err := fields[n].set(&r, row.values[key]); err != nil {
				bad("profile-value", key+" "+err.Error(), unitHelp(key, fields[n].unit), path...)
				continue
			}
			has[key] = true
		}
		switch {
		case list.Blocks():
		case !has["form"] || !has["speed_m_min"] || !has["source"]:
			bad("profile-missing", "a rule needs form, speed_m_min and source", "give the three keys", here...)
		case !has["feed_rev_mm"] && !has["feed_tooth_d"] && !has["feed_tooth_mm"]:
			bad("profile-missing", "a rule for "+r.Form+" gives no feed", "give feed_tooth_d, feed_tooth_mm or feed_rev_mm", here...)
		case (r.Form == FormBurr || r.Form == FormDrill) && !has["feed_rev_mm"]:
			bad("profile-missing", "a rule for "+r.Form+" gives no feed per revolution", "give feed_rev_mm, the feed of a cutter without countable teeth and of a drill", here...)
		case r.Form != FormDrill && !has["step_d"] && !has["step_max"]:
			bad("profile-missing", "a rule for "+r.Form+" gives no depth per pass", "give step_d or step_max", here...)
		case seen[r.Form]:
			bad("profile-value", "two rules for form "+r.Form, "keep one of them", here...)
		}
		seen[r.Form] = true
		if n := slices.IndexFunc(rules, func(o Rule) bool { return o.Form == r.Form }); n >= 0 {
			rules[n] = r
		} else {
			rules = append(rules, r)
		}
	}
	m.Rules = rules
	return list
}
