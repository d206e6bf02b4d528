package rules_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func placed(level models.Sensitivity, lat, lon float64) *models.Stand {
	return &models.Stand{
		Locality: "left bank", Sensitivity: level, Latitude: &lat, Longitude: &lon, CoordinateUncertaintyM: ptr(15.0),
	}
}

func TestPlacesAreShownAsCoarselyAsTheirSensitivityAsks(t *testing.T) {
	for _, c := range []struct {
		level         models.Sensitivity
		lat, lon      float64
		uncertainty   float64
		generalized   string
		withheldWhole bool
	}{
		{models.LowSensitivity, 46.123, -122.543, 83, "0.001 degrees", false},
		{models.MediumSensitivity, 46.12, -122.54, 695, "0.01 degrees", false},
		{models.HighSensitivity, 46.1, -122.5, 6814, "0.1 degrees", false},
		{models.ExtremeSensitivity, 0, 0, 0, "", true},
		{"unheard of", 0, 0, 0, "", true},
	} {
		t.Run(string(c.level), func(t *testing.T) {
			view := models.StandView{Locality: "left bank"}
			rules.Mask(placed(c.level, 46.12345, -122.54321), &view)
			if c.withheldWhole {
				if view.Latitude != nil || view.Longitude != nil || view.CoordinateUncertaintyM != nil || view.Locality != "" || view.InformationWithheld == "" {
					t.Errorf("a place to be withheld is shown: %+v", view)
				}
				return
			}
			if *view.Latitude != c.lat || *view.Longitude != c.lon || *view.CoordinateUncertaintyM != c.uncertainty {
				t.Errorf("shown %v, %v within %v m, want %v, %v within %v", *view.Latitude, *view.Longitude, *view.CoordinateUncertaintyM, c.lat, c.lon, c.uncertainty)
			}
			if !strings.Contains(view.DataGeneralizations, c.generalized) || view.Locality != "left bank" {
				t.Errorf("it says %q of a place at %q", view.DataGeneralizations, view.Locality)
			}
		})
	}
}

func TestAPlaceWithoutCoordinatesIsLeftAlone(t *testing.T) {
	view := models.StandView{Locality: "left bank"}
	rules.Mask(&models.Stand{Sensitivity: models.HighSensitivity, Locality: "left bank"}, &view)
	if view.Latitude != nil || view.DataGeneralizations != "" || view.Locality != "left bank" {
		t.Errorf("%+v", view)
	}
}

func TestTheLocalityOfAnExtremePlaceIsWithheldWithoutCoordinatesToo(t *testing.T) {
	view := models.StandView{Locality: "left bank"}
	rules.Mask(&models.Stand{Sensitivity: models.ExtremeSensitivity, Locality: "left bank"}, &view)
	if view.Locality != "" || view.InformationWithheld == "" {
		t.Errorf("the locality %q of an extreme place is shown", view.Locality)
	}
}

func TestExactPlaces(t *testing.T) {
	view := models.StandView{}
	rules.Exact(placed(models.ExtremeSensitivity, 46.12345, -122.54321), &view)
	if *view.Latitude != 46.12345 || *view.Longitude != -122.54321 || *view.CoordinateUncertaintyM != 15 {
		t.Errorf("%+v", view)
	}
}

// The true place lies within the circle that is shown, and the shown one is the
// same for every place of its cell.
func TestTheTruePlaceLiesWithinTheShownCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.SampledFrom([]models.Sensitivity{models.LowSensitivity, models.MediumSensitivity, models.HighSensitivity}).Draw(t, "level")
		lat, lon := rapid.Float64Range(-80, 80).Draw(t, "latitude"), rapid.Float64Range(-179.9, 179.9).Draw(t, "longitude")
		var view, again models.StandView
		stand := placed(level, lat, lon)
		stand.CoordinateUncertaintyM = nil
		rules.Mask(stand, &view)
		if far := metres(lat, lon, *view.Latitude, *view.Longitude); far > *view.CoordinateUncertaintyM {
			t.Errorf("%v, %v is shown at %v, %v within %v m, and is %v m away", lat, lon, *view.Latitude, *view.Longitude, *view.CoordinateUncertaintyM, far)
		}
		shown := placed(level, *view.Latitude, *view.Longitude)
		shown.CoordinateUncertaintyM = nil
		rules.Mask(shown, &again)
		if *again.Latitude != *view.Latitude || *again.Longitude != *view.Longitude {
			t.Errorf("what is shown moves when it is masked again: %v, %v", *again.Latitude, *again.Longitude)
		}
		if math.Signbit(*view.Latitude) && *view.Latitude == 0 || math.Signbit(*view.Longitude) && *view.Longitude == 0 {
			t.Errorf("%v, %v is shown at minus zero", lat, lon)
		}
	})
}

// metres is the distance on a sphere of the mean radius of the earth.
func metres(lat1, lon1, lat2, lon2 float64) float64 {
	const radius, rad = 6371008.8, math.Pi / 180
	dLat, dLon := (lat2-lat1)*rad/2, (lon2-lon1)*rad/2
	a := math.Sin(dLat)*math.Sin(dLat) + math.Cos(lat1*rad)*math.Cos(lat2*rad)*math.Sin(dLon)*math.Sin(dLon)
	return 2 * radius * math.Asin(math.Min(1, math.Sqrt(a)))
}
