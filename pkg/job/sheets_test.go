package job_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/nest"
)

const partsSVG = `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="200mm" viewBox="0 0 400 200">
<g id="RING"><circle cx="50" cy="50" r="40"/><circle cx="50" cy="50" r="31"/></g>
<g id="DISC"><circle cx="130" cy="50" r="9"/><circle cx="130" cy="50" r="1.6"/></g>
<g id="ELL"><path d="M200 20 h50 v12 h-38 v38 h-12 z"/></g>
</svg>`

const sheetHead = `title = "test"
material = "carbon-plate-2"
machine = "small-router-metric"
zero = "table"
no_clamps = true
[nest]
budget = 3000
`

func stockTable(name string, x, y float64, more string) string {
	return fmt.Sprintf("[[sheet]]\nname = %q\nsize = [%g, %g]\nthickness = 2\nfibre_deg = 0\n%s\n", name, x, y, more)
}

func partTable(layer string, more string) string {
	return fmt.Sprintf("[[part]]\nname = %q\ndrawing = \"parts.svg\"\nlayer = %q\ncutter = \"burr-2-coated\"\n%s\n", strings.ToLower(layer), layer, more)
}

// laid resolves a job over files in memory; it must not be refused.
func laid(t *testing.T, text string, more fstest.MapFS) *job.Result {
	t.Helper()
	fs := fstest.MapFS{"job.toml": {Data: []byte(text)}, "parts.svg": {Data: []byte(partsSVG)}}
	for name, f := range more {
		fs[name] = f
	}
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: job.FromFS(fs)})
	require.NoError(t, err)
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	return res
}

func usedSheets(res *job.Result) []string {
	var out []string
	for _, u := range job.Uses(res) {
		out = append(out, fmt.Sprintf("%s %d: %d", u.Sheet, u.Piece, u.Parts))
	}
	return out
}

func TestPartsGoWhereTheyCostLeast(t *testing.T) {
	small := func(cost string) string { return stockTable("small", 112, 70, cost) } // takes one ell and one disc, or so
	large := func(cost string) string { return stockTable("large", 250, 150, cost) }
	for _, tc := range []struct {
		fact, sheets, parts string
		want                []string
	}{
		{"an offcut that is paid for takes what it can", large("cost = 20") + small("cost = 0"), partTable("DISC", "quantity = 2"), []string{"small 1: 2"}},
		{"one sheet instead of two that cost more", small("cost = 15") + large("cost = 20"), partTable("ELL", "quantity = 4"), []string{"large 1: 4"}},
		{"where no price is known one sheet instead of two", small("") + large(""), partTable("ELL", "quantity = 4"), []string{"large 1: 4"}},
		{"two middling pieces instead of one and two small ones", stockTable("tiny", 62, 62, "cost = 5\nquantity = 2") + stockTable("mid", 125, 62, "cost = 8\nquantity = 2"), partTable("ELL", "quantity = 4"), []string{"mid 1: 2", "mid 2: 2"}},
		{"small ones where they are cheaper", stockTable("tiny", 62, 62, "cost = 3\nquantity = 2") + stockTable("mid", 125, 62, "cost = 8\nquantity = 2"), partTable("ELL", "quantity = 4"), []string{"tiny 1: 1", "tiny 2: 1", "mid 1: 2"}},
		{"pieces of one sheet, as many as are needed", stockTable("tiny", 62, 62, "quantity = \"unlimited\""), partTable("ELL", "quantity = 3"), []string{"tiny 1: 1", "tiny 2: 1", "tiny 3: 1"}},
		{"a part that is bound to a sheet, though another is cheaper", large("cost = 20") + small("cost = 0"), partTable("DISC", "quantity = 2\nsheet = \"large\""), []string{"large 1: 2"}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			assert.Equal(t, tc.want, usedSheets(laid(t, sheetHead+tc.sheets+tc.parts, nil)))
		})
	}
}

// Density of carbon plate by its profile, 1550 kg/m³; weight = area · thickness ·
// density, closed form.
func TestWeightAndCostAreThoseOfTheAreas(t *testing.T) {
	u := job.Uses(laid(t, sheetHead+stockTable("plate", 100, 92, "cost = 9.2")+partTable("RING", ""), nil))
	require.Len(t, u, 1)
	area := 3.141592653589793 * (40*40 - 31*31)
	assert.InDelta(t, area/9200, u[0].Share, 1e-9)
	require.NotNil(t, u[0].PartsCost)
	assert.InDelta(t, 9.2*area/9200, *u[0].PartsCost, 1e-9)
	require.NotNil(t, u[0].PartsG)
	assert.InDelta(t, area**u[0].SheetG/9200, *u[0].PartsG, 1e-9)
	assert.InDelta(t, 9200*2*1550e-6, *u[0].SheetG, 1e-9, "g")

	u = job.Uses(laid(t, sheetHead+stockTable("plate", 100, 92, "")+partTable("RING", ""), nil))
	assert.Nil(t, u[0].Cost, "a price that nobody named is not guessed")
	assert.Contains(t, u[0].String(), "cost not known")
}

// What is kept of a sheet is material of it, at least a kerf away from every part
// and flaw, nowhere a mere strip, and the next job can be laid out on it.
func TestARemnantIsTheNextSheet(t *testing.T) {
	res := laid(t, sheetHead+stockTable("plate", 220, 130, "flaws = [[150, 10, 170, 20]]\ncost = 10")+partTable("RING", "")+partTable("ELL", "quantity = 2"), nil)
	outs, l := job.LayoutFiles(res)
	require.False(t, l.Blocks())
	require.NotEmpty(t, res.Remnants)
	const kerf, keep = 2.0, 30.0 // of the cutter, without its tolerance; two margins of 5 mm and 20 mm
	for _, g := range res.Remnants {
		out, err := geom.Subtract([]geom.Region{g}, res.Work.Stock)
		require.NoError(t, err)
		assert.Empty(t, out, "it lies in the sheet")
		for _, p := range res.Work.Parts {
			grown, err := p.Region.Offset(kerf, 0.01)
			require.NoError(t, err)
			common, err := geom.Intersect([]geom.Region{g}, grown)
			require.NoError(t, err)
			assert.Empty(t, common, "no part's kerf runs through it")
		}
		common, err := geom.Intersect([]geom.Region{g}, res.Work.Members[0].Footprint)
		require.NoError(t, err)
		assert.Empty(t, common, "the flaw is not kept")
		core, err := g.Offset(-keep/2+0.05, 0.01)
		require.NoError(t, err)
		assert.NotEmpty(t, core, "something of the least width fits in it")
	}
	files := fstest.MapFS{}
	tables := ""
	for _, o := range outs {
		files[o.Name] = &fstest.MapFile{Data: o.Data}
		if o.Name == "remnants.toml" {
			tables = string(o.Data)
		}
	}
	require.Contains(t, tables, `drawing = "remnant.dxf"`)
	largest := strings.Split(tables, "[[sheet]]")[1]
	next := laid(t, sheetHead+"[[sheet]]"+largest+partTable("DISC", "quantity = 3"), files)
	assert.Len(t, next.Work.Parts, 3)
	assert.InDelta(t, res.Remnants[0].Area(), next.Work.Stock[0].Area(), 1e-3*res.Remnants[0].Area(), "mm²")
	assert.InDelta(t, 10*res.Remnants[0].Area()/(220*130), *next.Work.Blank.Cost, 0.006, "its share of the price")
}

// A search that is told that it is enough hands out what it has, verified.
func TestEnoughKeepsTheBestLayoutSoFar(t *testing.T) {
	fs := fstest.MapFS{"job.toml": {Data: []byte(strings.Replace(sheetHead, "3000", "2000000000", 1) + stockTable("plate", 250, 150, "") + partTable("ELL", "quantity = 5"))}, "parts.svg": {Data: []byte(partsSVG)}}
	enough := make(chan struct{})
	told := 0
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: job.FromFS(fs), Enough: enough, Nesting: func(p nest.Progress) {
		if told++; told == 3 && p.Phase != "place" {
			close(enough)
		} else if p.Phase == "place" {
			told = 0
		}
	}})
	require.NoError(t, err)
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	assert.True(t, res.Findings.Has("search-stopped"))
	assert.Len(t, res.Work.Parts, 5)
}
