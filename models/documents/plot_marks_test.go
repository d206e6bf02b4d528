package documents

import (
	"image/color"
	"math"
	"testing"
)

// linear is a channel without its gamma (IEC 61966-2-1).
func linear(channel uint8) float64 {
	c := float64(channel) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

func channels(c color.NRGBA) [3]float64 { return [3]float64{linear(c.R), linear(c.G), linear(c.B)} }

func luminance(rgb [3]float64) float64 { return 0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2] }

// lightness is CIE 1976 L*, which is what is left of a colour in grey.
func lightness(y float64) float64 {
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}

// The eyes of those who lack one kind of cone, in linear RGB: Machado, Oliveira and
// Fernandes (2009), severity 1.
var eyes = map[string][3][3]float64{
	"every cone":    {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"no long cones": {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"no mid cones":  {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"no short ones": {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

func seen(by [3][3]float64, rgb [3]float64) (out [3]float64) {
	for i, row := range by {
		for j, weight := range row {
			out[i] += weight * rgb[j]
		}
		out[i] = min(1, max(0, out[i]))
	}
	return out
}

// lab is CIE 1976 L*a*b* under D65.
func lab(rgb [3]float64) [3]float64 {
	f := func(t float64) float64 { return (lightness(t) + 16) / 116 }
	x := (0.4124*rgb[0] + 0.3576*rgb[1] + 0.1805*rgb[2]) / 0.9505
	z := (0.0193*rgb[0] + 0.1192*rgb[1] + 0.9505*rgb[2]) / 1.089
	y := luminance(rgb)
	return [3]float64{lightness(y), 500 * (f(x) - f(y)), 200 * (f(y) - f(z))}
}

func distance(a, b [3]float64) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

func TestLooksDifferInGrey(t *testing.T) {
	for i, a := range looks {
		y := luminance(channels(a.colour))
		if contrast := 1.05 / (y + 0.05); contrast < 3 {
			t.Errorf("colour %d stands out from white by %.2f to 1 only", i, contrast)
		}
		for j, b := range looks[:i] {
			if apart := math.Abs(lightness(y) - lightness(luminance(channels(b.colour)))); apart < 7.5 {
				t.Errorf("colours %d and %d are %.1f steps of lightness apart", i, j, apart)
			}
		}
	}
}

func TestLooksDifferToEveryEye(t *testing.T) {
	for who, eye := range eyes {
		for i, a := range looks {
			for j, b := range looks[:i] {
				if apart := distance(lab(seen(eye, channels(a.colour))), lab(seen(eye, channels(b.colour)))); apart < 9 {
					t.Errorf("with %s, colours %d and %d are %.1f apart", who, i, j, apart)
				}
			}
		}
	}
}
