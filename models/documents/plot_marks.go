package documents

import (
	"image/color"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// MostGroups is how many groups one picture tells apart.
const MostGroups = 8

// look is how a group is drawn: colour, dashes and marks each tell it apart.
type look struct {
	colour color.NRGBA
	dashes []vg.Length
	shape  draw.GlyphDrawer
}

// looks stand 8 or more steps of lightness (CIE L*) apart, so that they differ in
// grey and to every kind of colour-blind eye, and neighbours far more. Each stands
// out from white by 3 to 1.
var looks = [MostGroups]look{
	{rgb(0x004390), nil, draw.CircleGlyph{}},
	{rgb(0xee6f00), []vg.Length{7, 3}, draw.TriangleGlyph{}},
	{rgb(0x650a38), []vg.Length{7, 2, 1.5, 2}, draw.SquareGlyph{}},
	{rgb(0x008f8f), []vg.Length{4, 2}, draw.CrossGlyph{}},
	{rgb(0x0b0b0b), []vg.Length{12, 3}, draw.RingGlyph{}},
	{rgb(0x9e46b0), []vg.Length{12, 2, 4, 2}, draw.PlusGlyph{}},
	{rgb(0x963c0f), []vg.Length{7, 2, 1.5, 2, 1.5, 2}, draw.BoxGlyph{}},
	{rgb(0x230f61), []vg.Length{4, 2, 1.5, 2}, draw.PyramidGlyph{}},
}

// beyond are the dashes of a curve where too few were watched to say anything.
var beyond = []vg.Length{1.5, 2.5}

// neutral is the colour of what stands for every group.
var neutral = rgb(0x505050)

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 0xff}
}

// faint is a colour that lets others through; 255 lets none.
func faint(c color.NRGBA, alpha uint8) color.NRGBA {
	c.A = alpha
	return c
}

func (l look) line(width vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: l.colour, Width: width, Dashes: l.dashes}
}

func (l look) glyph() draw.GlyphStyle {
	return draw.GlyphStyle{Color: l.colour, Radius: vg.Points(2.6), Shape: l.shape}
}

// groupLetter is the letter of a group in a picture and in a plot of text.
func groupLetter(i int) string { return string(rune('A' + i)) }
