package picture

import (
	"fmt"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// linear turns an sRGB byte into linear light (IEC 61966-2-1).
func linear(v uint8) float64 {
	c := float64(v) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

func light(c color.RGBA) [3]float64 { return [3]float64{linear(c.R), linear(c.G), linear(c.B)} }

func times(m [9]float64, v [3]float64) (out [3]float64) {
	for i := range 3 {
		out[i] = m[3*i]*v[0] + m[3*i+1]*v[1] + m[3*i+2]*v[2]
	}
	return out
}

// luminance and contrast: W3C, Web Content Accessibility Guidelines 2.1, terms
// "relative luminance" and "contrast ratio".
func luminance(v [3]float64) float64 { return 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2] }

func contrast(a, b color.RGBA) float64 {
	x, y := luminance(light(a)), luminance(light(b))
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func TestContrastAsPublished(t *testing.T) {
	// WCAG 2.1: black on white is 21:1; closed form of the definition.
	assert.InDelta(t, 21, contrast(color.RGBA{0, 0, 0, 255}, color.RGBA{255, 255, 255, 255}), 1e-9)
	// #767676 is the lightest grey that passes 4.5:1 on white; W3C, Understanding SC 1.4.3, from memory.
	assert.Greater(t, contrast(color.RGBA{0x76, 0x76, 0x76, 255}, entryC), 4.5)
	assert.Less(t, contrast(color.RGBA{0x77, 0x77, 0x77, 255}, entryC), 4.5)
}

func TestTextsReadWithContrast(t *testing.T) {
	for _, tc := range []struct {
		fact     string
		on, text color.RGBA
	}{
		{"ink on paper", entryC, ink}, {"grey ink on paper", entryC, greyInk}, {"member names", entryC, memberC},
		{"clamp names", entryC, clampC}, {"call-outs", entryC, warnC}, {"ink on a clamp", clampFillC, clampC},
		{"ink on the sheet", stockC, ink}, {"rapids on the sheet", stockC, rapidC}, {"outline on the sheet", stockC, outlineC},
		{"member edge on its clearance", clearC, memberC}, {"errors' dots", errorC, memberC}, {"ink on a tab", tabC, ink},
		{"white arrows and lines on the deepest kerf", depthColour(1), entryC},
	} {
		assert.GreaterOrEqual(t, contrast(tc.on, tc.text), 4.5, tc.fact)
	}
	for i, c := range cutterColours {
		assert.GreaterOrEqual(t, contrast(c, entryC), 4.5, "number on the colour of cutter %d", i)
	}
}

// oklab: B. Ottosson, "A perceptual color space for image processing", 2020.
func oklab(v [3]float64) [3]float64 {
	for i := range v {
		v[i] = math.Max(0, v[i])
	}
	m := times([9]float64{0.4122214708, 0.5363325363, 0.0514459929, 0.2119034982, 0.6806995451, 0.1073969566, 0.0883024619, 0.2817188376, 0.6299787005}, v)
	for i := range m {
		m[i] = math.Cbrt(m[i])
	}
	return times([9]float64{0.2104542553, 0.7936177850, -0.0040720468, 1.9779984951, -2.4285922050, 0.4505937099, 0.0259040371, 0.7827717662, -0.8086757660}, m)
}

func apart(a, b [3]float64) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

// sights are how colours look to those who lack a kind of cone, severity 1: G. M.
// Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-based model for
// simulation of color vision deficiency", IEEE TVCG 15 (2009), table of matrices
// (from memory); and to no one, as a grey print.
var sights = map[string][9]float64{
	"all cones":  {1, 0, 0, 0, 1, 0, 0, 0, 1},
	"protanopia": {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998},
	"deutanopia": {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881},
	"tritanopia": {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.303900},
	"grey print": {0.2126, 0.7152, 0.0722, 0.2126, 0.7152, 0.0722, 0.2126, 0.7152, 0.0722},
}

func TestDepthReadsForEveryEyeAndInGrey(t *testing.T) {
	for name, m := range sights {
		last := math.Inf(1)
		for i := range depthSteps {
			c := depthColour((float64(i) + 0.5) / depthSteps)
			l := oklab(times(m, light(c)))[0]
			assert.Less(t, l, last-0.025, "%s: step %d is not darker than the one before", name, i)
			last = l
		}
	}
}

// What is told apart by colour alone is nothing; what colour helps to tell apart
// stays apart for every eye.
func TestColoursStayApart(t *testing.T) {
	groups := map[string][]color.RGBA{
		"kerf, member, tab, clamp": {depthColour(0.95), memberC, tabC, clampFillC},
		"call-out against rapid":   {warnC, rapidC, skinLineC},
		"bands":                    {clearC, entryC},
	}
	for group, cs := range groups {
		for name, m := range sights {
			if name == "grey print" {
				continue // there hatch, dash and shape do it
			}
			for i := range cs {
				for _, o := range cs[:i] {
					assert.Greater(t, apart(oklab(times(m, light(cs[i]))), oklab(times(m, light(o)))), 0.06, "%s, %s: %v and %v", group, name, cs[i], o)
				}
			}
		}
	}
}

func TestCuttersDifferInShapeAndDash(t *testing.T) {
	seen := map[string]bool{}
	for i := range cutterColours {
		seen[cutterShape(i).String()] = true
		seen[fmt.Sprint(cutterDashes(i))] = true
	}
	assert.Len(t, seen, 2*len(cutterColours), "a grey print tells cutters apart by shape and dash")
}
