package proof

import (
	"context"
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/shop"
)

// keysOf lists the JSON keys of a type, those of what it holds behind a point.
func keysOf(t reflect.Type, at string) []string {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct {
		return keysOf(t.Elem(), at)
	}
	if t.Kind() != reflect.Struct {
		return nil
	}
	var out []string
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "-" {
			continue
		}
		key := at + name
		if f.Type.Kind() == reflect.Slice {
			key += "[]"
		}
		inner := keysOf(f.Type, key+".")
		if len(inner) == 0 && f.Type.Kind() == reflect.Slice && at+name != "assumptions" && at+name != "accepted" && at+name != "not_checked" {
			key = strings.TrimSuffix(key, "[]")
		}
		out = append(out, key)
		out = append(out, inner...)
	}
	return out
}

func TestEveryKeyOfTheCertificateIsExplained(t *testing.T) {
	text, err := os.ReadFile("CERTIFICATE.md")
	require.NoError(t, err)
	var told []string
	for _, l := range strings.Split(string(text), "\n") {
		if rest, ok := strings.CutPrefix(l, "| `"); ok {
			key, _, _ := strings.Cut(rest, "`")
			told = append(told, key)
		}
	}
	assert.Equal(t, keysOf(reflect.TypeFor[Certificate](), ""), told)
	assert.Contains(t, string(text), fmt.Sprintf("layout %d", Schema))
}

// Every figure of machine, cutter and material counts, also one that no check uses.
func TestAChangedProfileIsNoticed(t *testing.T) {
	w := square(3)
	w.Material = shop.Material{Name: "balsa", Family: "foam"}
	c, l := prove(t, w, squareProgram())
	require.True(t, c.OK, codes(l))
	c.Tool = "sparclear 1"
	cert, err := c.Encode()
	require.NoError(t, err)
	look := func() diag.List {
		_, l := Recheck(context.Background(), "certificate.json", "sparclear 1", cert, w, []Source{{"square.nc", []byte(squareProgram())}})
		return l
	}
	require.False(t, look().Blocks())
	for name, v := range map[string]reflect.Value{"machine": reflect.ValueOf(&w.Machine).Elem(), "cutter": reflect.ValueOf(&w.Cutters[0]).Elem(), "material": reflect.ValueOf(&w.Material).Elem()} {
		for i := range v.NumField() {
			f := v.Field(i)
			old := reflect.ValueOf(f.Interface())
			switch f.Kind() {
			case reflect.Float64:
				f.SetFloat(f.Float() + 1e-9)
			case reflect.Int:
				f.SetInt(f.Int() + 1)
			case reflect.Bool:
				f.SetBool(!f.Bool())
			case reflect.String:
				f.SetString(f.String() + "x")
			default:
				continue
			}
			assert.True(t, look().Blocks(), "%s %s", name, v.Type().Field(i).Name)
			f.Set(old)
		}
	}
	require.False(t, look().Blocks())
}
