package shop

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// field is one key of a profile: how it is read, and what it may be. One table
// per kind of profile is the whole schema; reading, help and listing use it.
type field[T any] struct {
	key      string
	unit     string // for people, "" for words
	required bool
	set      func(*T, any) error
	get      func(T) any // what is listed; nil to leave out
}

// bounds of a number, both ends allowed unless above is set.
type bounds struct {
	min, max float64
	above    bool // min itself is not allowed
}

func (b bounds) check(v float64) error {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return fmt.Errorf("is not finite")
	case b.above && v <= b.min:
		return fmt.Errorf("is %v, it must be above %v", v, b.min)
	case v < b.min:
		return fmt.Errorf("is %v, it must be at least %v", v, b.min)
	case v > b.max:
		return fmt.Errorf("is %v, it must be at most %v", v, b.max)
	}
	return nil
}

// asNumber turns what TOML (or Go) gives for a number into a float.
func asNumber(v any) (float64, error) {
	switch x := v.(type) {
	case float64:
		return x, nil
	case int64:
		return float64(x), nil
	case int:
		return float64(x), nil
	case Length:
		return float64(x), nil
	}
	return 0, fmt.Errorf("must be a number, not %s", kindOf(v))
}

// asLength also takes a text with a unit.
func asLength(v any) (float64, error) {
	if s, ok := v.(string); ok {
		return ParseLength(s)
	}
	x, err := asNumber(v)
	if err != nil {
		return 0, fmt.Errorf("must be a length, as in \"3 mm\" or \"1/8 in\", not %s", kindOf(v))
	}
	return x, nil
}

func kindOf(v any) string {
	switch v.(type) {
	case string:
		return "a text"
	case bool:
		return "true or false"
	case map[string]any:
		return "a table"
	case []any:
		return "a list"
	case int64, float64, int:
		return "a number"
	case nil:
		return "nothing"
	}
	return "a date"
}

func number[T any](key, unit string, b bounds, at func(*T) *float64) field[T] {
	return field[T]{key: key, unit: unit, get: func(t T) any { return *at(&t) }, set: func(t *T, v any) error {
		x, err := asNumber(v)
		if err == nil {
			err = b.check(x)
		}
		if err == nil {
			*at(t) = x
		}
		return err
	}}
}

// scaled is a number whose unit in the file is per units of the field.
func scaled[T any](key, unit string, per float64, b bounds, at func(*T) *float64) field[T] {
	f := number(key, unit, b, at)
	f.get = func(t T) any { return *at(&t) / per }
	f.set = func(t *T, v any) error {
		x, err := asNumber(v)
		if err == nil {
			err = b.check(x)
		}
		if err == nil {
			*at(t) = x * per
		}
		return err
	}
	return f
}

func length[T any](key string, b bounds, at func(*T) *float64) field[T] {
	return field[T]{key: key, unit: "mm", get: func(t T) any { return *at(&t) }, set: func(t *T, v any) error {
		x, err := asLength(v)
		if err == nil {
			err = b.check(x)
		}
		if err == nil {
			*at(t) = x
		}
		return err
	}}
}

func point3[T any](key string, at func(*T) *[3]float64) field[T] {
	return field[T]{key: key, unit: "mm", get: func(t T) any { return *at(&t) }, set: func(t *T, v any) error {
		list, ok := v.([]any)
		if !ok || len(list) != 3 {
			return fmt.Errorf("must be three lengths [X, Y, Z]")
		}
		var out [3]float64
		for i := range list {
			x, err := asLength(list[i])
			if err == nil {
				err = bounds{-maxLength, maxLength, false}.check(x)
			}
			if err != nil {
				return err
			}
			out[i] = x
		}
		*at(t) = out
		return nil
	}}
}

// span is a range [lowest, highest]; a single number is both.
func span[T any](key, unit string, b bounds, at func(*T) *[2]float64) field[T] {
	return field[T]{key: key, unit: unit, get: func(t T) any { return *at(&t) }, set: func(t *T, v any) error {
		list, ok := v.([]any)
		if !ok {
			list = []any{v, v}
		}
		if len(list) != 2 {
			return fmt.Errorf("must be a range [lowest, highest]")
		}
		var out [2]float64
		for i := range list {
			x, err := asNumber(list[i])
			if err == nil {
				err = b.check(x)
			}
			if err != nil {
				return err
			}
			out[i] = x
		}
		if out[0] > out[1] {
			return fmt.Errorf("has its lowest value %v above its highest %v", out[0], out[1])
		}
		*at(t) = out
		return nil
	}}
}

func count[T any](key string, lo, hi int, at func(*T) *int) field[T] {
	return field[T]{key: key, get: func(t T) any { return *at(&t) }, set: func(t *T, v any) error {
		x, ok := v.(int64)
		if i, isInt := v.(int); isInt {
			x, ok = int64(i), true
		}
		if !ok {
			return fmt.Errorf("must be a whole number, not %s", kindOf(v))
		}
		if x < int64(lo) || x > int64(hi) {
			return fmt.Errorf("is %d, it must be %d to %d", x, lo, hi)
		}
		*at(t) = int(x)
		return nil
	}}
}

func flag[T any](key string, at func(*T) *bool) field[T] {
	return field[T]{key: key, get: func(t T) any { return *at(&t) }, set: func(t *T, v any) error {
		b, ok := v.(bool)
		if !ok {
			return fmt.Errorf("must be true or false, not %s", kindOf(v))
		}
		*at(t) = b
		return nil
	}}
}

// maxText is the longest text of a profile, characters.
const maxText = 400

func asText(v any) (string, error) {
	s, ok := v.(string)
	if !ok {
		return "", fmt.Errorf("must be a text, not %s", kindOf(v))
	}
	if len(s) > maxText {
		return "", fmt.Errorf("is longer than %d characters", maxText)
	}
	for _, r := range s {
		if r < ' ' || r == 0x7f || r == 0xfffd {
			return "", fmt.Errorf("has a control character in it")
		}
	}
	return s, nil
}

func text[T any](key string, at func(*T) *string) field[T] {
	return field[T]{key: key, get: func(t T) any { return *at(&t) }, set: func(t *T, v any) error {
		s, err := asText(v)
		if err == nil {
			*at(t) = s
		}
		return err
	}}
}

// word is one word out of a few.
func word[T any, S ~string](key string, at func(*T) *S, words ...S) field[T] {
	return field[T]{key: key, get: func(t T) any { return string(*at(&t)) }, set: func(t *T, v any) error {
		s, err := asText(v)
		if err != nil {
			return err
		}
		if !slices.Contains(words, S(s)) {
			all := make([]string, len(words))
			for i, w := range words {
				all[i] = string(w)
			}
			return fmt.Errorf("is %q, there is %s", clip(s), strings.Join(all, ", "))
		}
		*at(t) = S(s)
		return nil
	}}
}

// texts is a list of texts; of the given words only, when there are any.
func texts[T any](key string, at func(*T) *[]string, words ...string) field[T] {
	return field[T]{key: key, get: func(t T) any { return slices.Clone(*at(&t)) }, set: func(t *T, v any) error {
		list, ok := v.([]any)
		if !ok || len(list) > 100 {
			return fmt.Errorf("must be a list of at most 100 texts")
		}
		out := make([]string, len(list))
		for i := range list {
			s, err := asText(list[i])
			if err != nil {
				return err
			}
			if len(words) > 0 && !slices.Contains(words, s) {
				return fmt.Errorf("holds %q, there is %s", clip(s), strings.Join(words, ", "))
			}
			out[i] = s
		}
		*at(t) = out
		return nil
	}}
}

// must marks a field that has to be given, here or in the profile it is like.
func must[T any](f field[T]) field[T] {
	f.required = true
	return f
}

func keysOf[T any](fields []field[T]) []string {
	out := make([]string, len(fields))
	for i, f := range fields {
		out[i] = f.key
	}
	return out
}
