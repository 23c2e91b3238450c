package picture

import (
	"image/color"
	"math"
)

// The colours. They differ in lightness, not in hue alone, so that a grey print
// and colour-blind readers tell them apart; what must not be mixed up differs in
// hatch, dash or shape as well.
var (
	ink        = color.RGBA{0x1c, 0x1c, 0x1c, 0xff}
	greyInk    = color.RGBA{0x5a, 0x5a, 0x5a, 0xff}
	outlineC   = color.RGBA{0x00, 0x00, 0x00, 0xff}
	memberC    = color.RGBA{0x8c, 0x2a, 0x00, 0xff}
	clearC     = color.RGBA{0xf4, 0xd9, 0xc8, 0xff}
	errorC     = color.RGBA{0xfb, 0xef, 0xe6, 0xff}
	clampC     = color.RGBA{0x3a, 0x3a, 0x3a, 0xff}
	clampFillC = color.RGBA{0xe4, 0xe4, 0xe4, 0xff}
	stockC     = color.RGBA{0xf2, 0xef, 0xe8, 0xff}
	stockEdgeC = color.RGBA{0xa8, 0xa2, 0x94, 0xff}
	partC      = color.RGBA{0xdd, 0xe6, 0xd6, 0xff}
	fibreC     = color.RGBA{0xae, 0xa8, 0x9a, 0xff}
	remnantC   = color.RGBA{0x3c, 0x5f, 0x2c, 0xff}
	skinLineC  = color.RGBA{0x9a, 0x9a, 0x9a, 0xff}
	rapidC     = color.RGBA{0x1f, 0x6a, 0x78, 0xff}
	tabC       = color.RGBA{0xe0, 0xa8, 0x00, 0xff}
	entryC     = color.RGBA{0xff, 0xff, 0xff, 0xff}
	warnC      = color.RGBA{0xb0, 0x00, 0x20, 0xff}
	beforeC    = color.RGBA{0xf0, 0xb4, 0xa0, 0xff}
	afterC     = color.RGBA{0x14, 0x3d, 0x82, 0xff}
	coreC      = color.RGBA{0xe2, 0xd9, 0xc4, 0xff}
)

// cutterColours carry white figures; shapes and dashes (cutterShape,
// cutterDashes) tell the same.
var cutterColours = []color.RGBA{
	{0x1c, 0x1c, 0x1c, 0xff},
	{0x0b, 0x5f, 0xa5, 0xff},
	{0xa3, 0x3b, 0x00, 0xff},
	{0x7a, 0x3a, 0x9a, 0xff},
	{0x00, 0x5f, 0x4f, 0xff},
	{0x76, 0x5f, 0x00, 0xff},
}

func cutterColour(i int) color.RGBA {
	return cutterColours[max(0, i)%len(cutterColours)]
}

// cutterDashes are the dashes of the tip's line, paper mm; none for the first.
func cutterDashes(i int) []float64 {
	return [][]float64{nil, {1.6, 0.8}, {0.3, 0.6}, {2.4, 0.6, 0.4, 0.6}, {0.9, 0.9}, {3, 1.2}}[max(0, i)%6]
}

// depthColour runs from light (0, the skin) to dark (1, the deepest), even in
// lightness: L of OKLab from 0.88 to 0.32 in a blue hue (B. Ottosson, "A
// perceptual color space for image processing", 2020; matrices from memory).
func depthColour(t float64) color.RGBA {
	t = math.Min(1, math.Max(0, t))
	l := 0.88 - float64(0.56*t)
	a, b := -0.03+float64(0.01*t), -0.06-float64(0.07*t)
	l1 := l + float64(0.3963377774*a) + float64(0.2158037573*b)
	m1 := l - float64(0.1055613458*a) - float64(0.0638541728*b)
	s1 := l - float64(0.0894841775*a) - float64(1.2914855480*b)
	l3, m3, s3 := l1*l1*l1, m1*m1*m1, s1*s1*s1
	return color.RGBA{
		channel(float64(4.0767416621*l3) - float64(3.3077115913*m3) + float64(0.2309699292*s3)),
		channel(float64(-1.2684380046*l3) + float64(2.6097574011*m3) - float64(0.3413193965*s3)),
		channel(float64(-0.0041960863*l3) - float64(0.7034186147*m3) + float64(1.7076147010*s3)),
		0xff,
	}
}

// channel turns linear light into an sRGB byte (IEC 61966-2-1).
func channel(v float64) uint8 {
	v = math.Min(1, math.Max(0, v))
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = float64(1.055*math.Pow(v, 1/2.4)) - 0.055
	}
	return uint8(math.Round(v * 255))
}
