package documents_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/documents"
)

// rootingCurve is a curve whose share rooted rises by a tenth and whose share lost
// by a twentieth at each look, up to a day of which something is said.
func rootingCurve(key string, tau int, days ...int) models.RootingCurve {
	c := models.RootingCurve{Key: models.RootingKey{"treatment": key}, Tau: &tau, Rate: models.RootingRate{Level: 0.95}}
	c.Cuttings, c.Rooted, c.Lost = 40, 4*len(days), 2*len(days)
	for i, day := range days {
		share := 0.1 * float64(i+1)
		point := models.CurvePoint{Day: day, RootedLower: share, RootedUpper: share, LostLower: share / 2, LostUpper: share / 2}
		if day <= tau {
			point.Limits = &[2]float64{share * 0.6, min(1, share*1.4)}
		}
		c.Curve = append(c.Curve, point)
	}
	return c
}

func twoGroups() models.CurveReport {
	return models.CurveReport{On: models.MustDate("2026-05-01"), By: []string{"treatment"}, Groups: []models.RootingCurve{
		rootingCurve("none", 42, 14, 28, 42, 70), rootingCurve("willow_water", 56, 14, 21, 35, 56),
	}}
}

// textOf wants a picture to be XML, and gives what is written in it.
func textOf(t testing.TB, svg []byte) string {
	t.Helper()
	var text strings.Builder
	for d := xml.NewDecoder(bytes.NewReader(svg)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return text.String()
		}
		if err != nil {
			t.Fatal(err)
		}
		if chars, ok := token.(xml.CharData); ok {
			text.Write(chars)
		}
	}
}

func TestCurvePictureAsSVG(t *testing.T) {
	svg, err := documents.CurvePicture(twoGroups(), documents.SVG)
	if err != nil {
		t.Fatal(err)
	}
	text := textOf(t, svg)
	for _, want := range []string{
		"days after sticking", "percent of those stuck", "2026-05-01", "A  none: 40 stuck, 16 rooted", "B  willow water: 40 stuck",
		"lost before rooting", "95 % limits", "rooted somewhere in here", "too few watched",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("nothing says %q", want)
		}
	}
	again, err := documents.CurvePicture(twoGroups(), documents.SVG)
	if err != nil || !bytes.Equal(svg, again) {
		t.Errorf("the same report gives another picture: %v", err)
	}
	wantGolden(t, "curve.svg", string(svg))
}

func TestPicturesAsPNG(t *testing.T) {
	for lines, draw := range map[int]func() ([]byte, error){
		5: func() ([]byte, error) { return documents.CurvePicture(twoGroups(), documents.PNG) },
		0: func() ([]byte, error) { return documents.CurvePicture(models.CurveReport{}, documents.PNG) },
		2: func() ([]byte, error) { return documents.ForecastPicture(forecast(), documents.PNG) },
		1: func() ([]byte, error) {
			return documents.CalibrationPicture(calibrated(models.CalibrationPoint{Forecast: 0.4, Observed: 0.5, Looks: 3}), documents.PNG)
		},
	} {
		text, err := draw()
		if err != nil {
			t.Fatal(err)
		}
		picture, err := png.Decode(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		size := picture.Bounds().Size()
		if want := (360 + 10 + 15*lines) * 150 / 72; size.X != 1200 || size.Y < want-1 || size.Y > want+1 {
			t.Errorf("with %d lines beneath it is %v, want 1200 by %d", lines, size, want)
		}
	}
}

func forecast() models.ForecastReport {
	b := models.BatchForecast{Batch: "MB-03-2026-1", Cuttings: 36, Rooted: 9, Pot: models.ForecastDue{Wanted: 20}}
	for i := range 9 {
		b.Days = append(b.Days, models.ForecastDay{On: models.MustDate("2026-02-08").Add(7 * i), Expected: float64(9 + 2*i), Lower: 9 + i, Upper: 9 + 3*i})
	}
	return models.ForecastReport{Batches: []models.BatchForecast{b}}
}

func calibrated(points ...models.CalibrationPoint) models.Calibration {
	return models.Calibration{Status: "scored", Points: points}
}

func TestForecastAndCalibration(t *testing.T) {
	svg, err := documents.ForecastPicture(forecast(), documents.SVG)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"MB-03-2026-1", "2026-02-08", "20 wanted", "9 of 36 rooted", "80 %"} {
		if !strings.Contains(textOf(t, svg), want) {
			t.Errorf("nothing says %q", want)
		}
	}
	svg, err = documents.CalibrationPicture(calibrated(models.CalibrationPoint{Forecast: 0.4, Observed: 0.5, Looks: 37}, models.CalibrationPoint{Forecast: 1, Observed: 1, Looks: 4}), documents.SVG)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"percent forecast", "percent observed", "37", "41 in all"} {
		if !strings.Contains(textOf(t, svg), want) {
			t.Errorf("nothing says %q", want)
		}
	}
}

func TestEmptyPicturesSaySo(t *testing.T) {
	curve, err1 := documents.CurvePicture(models.CurveReport{Groups: []models.RootingCurve{{}}}, documents.SVG)
	ahead, err2 := documents.ForecastPicture(models.ForecastReport{}, documents.SVG)
	behind, err3 := documents.CalibrationPicture(models.Calibration{}, documents.SVG)
	unseen, err4 := documents.ForecastPicture(models.ForecastReport{Batches: make([]models.BatchForecast, 1)}, documents.SVG)
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		t.Fatal(err)
	}
	for _, svg := range [][]byte{curve, ahead, behind, unseen} {
		if !strings.Contains(textOf(t, svg), "There is no") {
			t.Errorf("an empty picture does not say so:\n%s", svg)
		}
	}
}

func TestModelsAreDrawnOverTheCurve(t *testing.T) {
	fit := func(roots float64) models.FitReport {
		parameters := &models.FitParameters{PiRoot: roots, Mu: 3.2, Sigma: 0.4}
		return models.FitReport{FitGroup: models.FitGroup{Fits: []models.RootingFit{{Family: "log_logistic", Parameters: parameters}, {Family: "weibull", Status: "declined"}}}}
	}
	svg, err := documents.FitPicture(twoGroups(), fit(0.6), documents.SVG)
	if text := textOf(t, svg); err != nil || !strings.Contains(text, "log logistic") || strings.Contains(text, "weibull") {
		t.Errorf("not the one model there is: %v", err)
	}
	if _, err := documents.FitPicture(twoGroups(), fit(math.NaN()), documents.SVG); err == nil {
		t.Error("a model without numbers is drawn")
	}
}

func TestPicturesThatCannotBe(t *testing.T) {
	many := models.CurveReport{By: []string{"treatment"}}
	for i := range documents.MostGroups + 1 {
		many.Groups = append(many.Groups, rootingCurve(fmt.Sprint(i), 14, 14))
	}
	_, err1 := documents.CurvePicture(many, documents.SVG)
	_, err2 := documents.CurvePicture(twoGroups(), "gif")
	_, err3 := documents.FitPicture(twoGroups(), models.FitReport{By: []string{"treatment"}}, documents.SVG)
	_, err4 := documents.ForecastPicture(models.ForecastReport{Batches: make([]models.BatchForecast, 2)}, documents.SVG)
	for _, err := range []error{err1, err2, err3, err4} {
		if known := models.AsError(err); known == nil || known.Kind != models.Invalid {
			t.Errorf("got %v", err)
		}
	}
	if text := documents.CurveText(many, 60); !strings.Contains(text, "1 more") || strings.Count(text, "\n") > 20 {
		t.Errorf("of nine groups:\n%s", text)
	}
}

// TestTextsFromPeople never break a picture or a plot of text.
func TestTextsFromPeople(t *testing.T) {
	r := twoGroups()
	r.Groups[0].Key["treatment"] = "\x1b[31m</text>&\"\x00\xff\uffff\u202e" + strings.Repeat("W", 300)
	svg, err := documents.CurvePicture(r, documents.SVG)
	if err != nil {
		t.Fatal(err)
	}
	if text := textOf(t, svg); !strings.Contains(text, "</text>&") || strings.Contains(text, strings.Repeat("W", 60)) {
		t.Error("the name is not there, or is not cut")
	}
	if text := documents.CurveText(r, 50); strings.ContainsAny(text, "\x1b\x00\u202e") {
		t.Errorf("%q", text)
	}
}

func TestCurveText(t *testing.T) {
	wantGolden(t, "curve.txt", documents.CurveText(twoGroups(), 60))
	if text := documents.CurveText(models.CurveReport{}, 60); text != "" {
		t.Errorf("of nothing: %q", text)
	}
}

// TestAnyReportIsDrawn draws any report that can be, in every way.
func TestAnyReportIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := models.CurveReport{By: []string{"treatment"}}
		for range rapid.IntRange(0, documents.MostGroups).Draw(t, "groups") {
			r.Groups = append(r.Groups, anyCurve(t))
		}
		width := rapid.IntRange(24, 200).Draw(t, "width")
		text := documents.CurveText(r, width)
		if strings.Count(text, "\n") > 20 {
			t.Fatalf("more than 20 lines:\n%s", text)
		}
		for line := range strings.Lines(text) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > width {
				t.Fatalf("%d characters in a width of %d: %q", n, width, line)
			}
		}
		svg, err := documents.CurvePicture(r, documents.SVG)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(svg, []byte("NaN")) || xml.Unmarshal(svg, new(struct{})) != nil {
			t.Fatalf("not a picture:\n%s", svg)
		}
	})
}

func anyCurve(t *rapid.T) models.RootingCurve {
	c := models.RootingCurve{Key: models.RootingKey{"treatment": rapid.String().Draw(t, "treatment")}, Rate: models.RootingRate{Level: 0.95}}
	if rapid.Bool().Draw(t, "told") {
		tau := rapid.IntRange(1, 400).Draw(t, "tau")
		c.Tau = &tau
	}
	day, rooted := 0, 0.0
	share := rapid.Float64Range(0, 1)
	for range rapid.IntRange(0, 12).Draw(t, "looks") {
		day += rapid.IntRange(1, 5000).Draw(t, "days")
		rooted += (1 - rooted) * share.Draw(t, "newly rooted")
		point := models.CurvePoint{Day: day, RootedLower: rooted, RootedUpper: rooted + (1-rooted)*share.Draw(t, "perhaps"), LostLower: (1 - rooted) * share.Draw(t, "lost")}
		if rapid.Bool().Draw(t, "limits") {
			point.Limits = &[2]float64{rooted * share.Draw(t, "below"), rooted + (1-rooted)*share.Draw(t, "above")}
		}
		c.Curve, c.Lost = append(c.Curve, point), c.Lost+1
	}
	return c
}
