package picture

import (
	"image/color"
	"math"
)

// The colours. They differ in lightness, not in hue alone, so that a grey print
// and colour-blind readers tell them apart.
var (
	ink       = color.RGBA{0x1c, 0x1c, 0x1c, 0xff}
	greyInk   = color.RGBA{0x6a, 0x6a, 0x6a, 0xff}
	outlineC  = color.RGBA{0x00, 0x00, 0x00, 0xff}
	memberC   = color.RGBA{0x9c, 0x2f, 0x00, 0xff}
	clearC    = color.RGBA{0xf4, 0xd9, 0xc8, 0xff}
	clampC    = color.RGBA{0x4a, 0x4a, 0x4a, 0xff}
	stockC    = color.RGBA{0xf2, 0xef, 0xe8, 0xff}
	rapidC    = color.RGBA{0x5b, 0x7f, 0x3f, 0xff}
	tabC      = color.RGBA{0xe0, 0xa8, 0x00, 0xff}
	entryC    = color.RGBA{0xff, 0xff, 0xff, 0xff}
	warnC     = color.RGBA{0xb0, 0x00, 0x20, 0xff}
	paleGuide = color.RGBA{0xd8, 0xd8, 0xd8, 0xff}
)

// depthColour runs from light (0, the skin) to dark (1, the deepest), even in
// lightness: L of OKLab from 0.88 to 0.32 in a blue hue (B. Ottosson, "A
// perceptual color space for image processing", 2020; matrices from memory).
func depthColour(t float64) color.RGBA {
	t = math.Min(1, math.Max(0, t))
	l := 0.88 - 0.56*t
	a, b := -0.03+0.01*t, -0.06-0.07*t
	l1 := l + 0.3963377774*a + 0.2158037573*b
	m1 := l - 0.1055613458*a - 0.0638541728*b
	s1 := l - 0.0894841775*a - 1.2914855480*b
	l3, m3, s3 := l1*l1*l1, m1*m1*m1, s1*s1*s1
	return color.RGBA{
		channel(4.0767416621*l3 - 3.3077115913*m3 + 0.2309699292*s3),
		channel(-1.2684380046*l3 + 2.6097574011*m3 - 0.3413193965*s3),
		channel(-0.0041960863*l3 - 0.7034186147*m3 + 1.7076147010*s3),
		0xff,
	}
}

// channel turns linear light into an sRGB byte (IEC 61966-2-1).
func channel(v float64) uint8 {
	v = math.Min(1, math.Max(0, v))
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return uint8(math.Round(v * 255))
}
