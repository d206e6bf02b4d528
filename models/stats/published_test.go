package stats_test

import (
	"fmt"

	"withybed/models/stats"
)

// cosmesis are the times to retraction of 94 people under two therapies, in
// months: after the first and by the second, or not by the first where the second
// is 0. Finkelstein & Wolfe (1985), Biometrics 41:933-945.
var cosmesis = map[string][][2]int{
	"Rad": {
		{0, 5}, {0, 7}, {0, 8}, {4, 11}, {5, 11}, {5, 12}, {6, 10}, {7, 14}, {7, 16}, {11, 15}, {11, 18}, {15, 0},
		{17, 25}, {17, 25}, {17, 0}, {18, 0}, {19, 26}, {19, 35}, {22, 0}, {24, 0}, {24, 0}, {25, 37}, {26, 40},
		{27, 34}, {32, 0}, {33, 0}, {34, 0}, {36, 44}, {36, 48}, {36, 0}, {36, 0}, {37, 44}, {37, 0}, {37, 0},
		{37, 0}, {38, 0}, {40, 0}, {45, 0}, {46, 0}, {46, 0}, {46, 0}, {46, 0}, {46, 0}, {46, 0}, {46, 0}, {46, 0},
	},
	"RadChem": {
		{0, 5}, {0, 22}, {4, 8}, {4, 9}, {5, 8}, {8, 12}, {8, 21}, {10, 17}, {10, 35}, {11, 13}, {11, 17}, {11, 20},
		{11, 0}, {11, 0}, {12, 20}, {13, 39}, {13, 0}, {13, 0}, {13, 0}, {14, 17}, {14, 19}, {15, 22}, {16, 20},
		{16, 24}, {16, 24}, {16, 60}, {17, 23}, {17, 26}, {17, 27}, {18, 24}, {18, 25}, {19, 32}, {21, 0}, {22, 32},
		{23, 0}, {24, 30}, {24, 31}, {30, 34}, {30, 36}, {31, 0}, {32, 0}, {33, 40}, {34, 0}, {34, 0}, {35, 39},
		{35, 0}, {44, 48}, {48, 0},
	},
}

// cosmesisLots is one therapy, each person a lot of one.
func cosmesisLots(therapy string) []stats.Lot {
	var lots []stats.Lot
	for i, times := range cosmesis[therapy] {
		lot := stats.Lot{ID: fmt.Sprintf("%s%02d", therapy, i+1), Cuttings: 1}
		if times[0] > 0 {
			lot.Looks = append(lot.Looks, stats.Look{Day: int32(times[0]), Saw: stats.SawRoots})
		}
		if times[1] > 0 {
			lot.Looks = append(lot.Looks, stats.Look{Day: int32(times[1]), Rooted: 1, Saw: stats.SawRoots})
		}
		lots = append(lots, lot)
	}
	return lots
}
