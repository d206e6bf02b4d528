package rules

import (
	"fmt"
	"math"

	"withybed/models"
)

// grids are the cells, in degrees, that coordinates are snapped to.
var grids = map[models.Sensitivity]float64{
	models.LowSensitivity:    0.001,
	models.MediumSensitivity: 0.01,
	models.HighSensitivity:   0.1,
}

// metresPerDegree is the longest a degree gets on WGS84, that of latitude at the
// poles (111,694 m), rounded up, so that the true place is always within.
const metresPerDegree = 111_700

// Mask puts the place of a stand into a view as coarsely as its sensitivity
// asks: snapped to a grid, with the uncertainty grown by half the diagonal of a
// cell, or withheld. What was done is said in words.
func Mask(stand *models.Stand, view *models.StandView) {
	grid, shown := grids[stand.Sensitivity]
	if !shown {
		view.Locality = ""
		view.InformationWithheld = "the coordinates and the locality are withheld: the place is of extreme sensitivity"
		return
	}
	if stand.Latitude == nil || stand.Longitude == nil {
		return
	}
	lat, lon := snap(*stand.Latitude, grid), snap(*stand.Longitude, grid)
	uncertainty := math.Ceil(halfDiagonal(lat, grid) + value(stand.CoordinateUncertaintyM))
	view.Latitude, view.Longitude, view.CoordinateUncertaintyM = &lat, &lon, &uncertainty
	view.DataGeneralizations = fmt.Sprintf("coordinates snapped to a grid of %g degrees", grid)
}

// Exact puts the place of a stand into a view as it is kept.
func Exact(stand *models.Stand, view *models.StandView) {
	view.Latitude, view.Longitude = stand.Latitude, stand.Longitude
	view.CoordinateUncertaintyM = stand.CoordinateUncertaintyM
}

// snap is the nearest line of the grid, free of binary dust: 46.12, never
// 46.120000000000005, and 0, never minus 0.
func snap(degrees, grid float64) float64 {
	lines := math.Round(1 / grid)
	return math.Round(degrees*lines)/lines + 0
}

// halfDiagonal is half the diagonal in metres of the cell around a latitude,
// measured where it is widest.
func halfDiagonal(lat, grid float64) float64 {
	height := grid * metresPerDegree
	width := height * math.Cos(max(0, math.Abs(lat)-grid/2)*math.Pi/180)
	return math.Hypot(height, width) / 2
}

func value(x *float64) float64 {
	if x == nil {
		return 0
	}
	return *x
}
