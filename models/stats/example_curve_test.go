package stats_test

import (
	"context"
	"fmt"

	"withybed/models/stats"
)

// Two batches of dogwood, looked at on different days.
var dogwood = []stats.Lot{
	{ID: "MB-03-2026-1", Cuttings: 24, Looks: []stats.Look{
		{Day: 14, Rooted: 3, Lost: 1, Saw: stats.SawRoots}, {Day: 28, Rooted: 11, Saw: stats.SawRoots}, {Day: 42, Rooted: 4, Lost: 2, Saw: stats.SawRoots}}},
	{ID: "MB-03-2026-2", Cuttings: 24, Looks: []stats.Look{
		{Day: 21, Rooted: 9, Saw: stats.SawRoots}, {Day: 35, Rooted: 6, Lost: 3, Saw: stats.SawRoots}}},
}

func ExampleFitIncidence() {
	inc := stats.FitIncidence(stats.Pool(dogwood), 0)
	for _, day := range []int{14, 28, 42} {
		lower, upper := inc.RootedBy(day)
		fmt.Printf("rooted by day %d: %.2f to %.2f\n", day, lower, upper)
	}
	// Output:
	// rooted by day 14: 0.12 to 0.12
	// rooted by day 28: 0.58 to 0.58
	// rooted by day 42: 0.75 to 0.75
}

func ExampleIncidence_DayOf() {
	inc := stats.FitIncidence(stats.Pool(dogwood), 0)
	watch := stats.WatchOf(dogwood)
	tau := watch.Tau()
	half := inc.DayOf(0.5, tau)
	fmt.Printf("half of those stuck had rooted by day %d, after day %d\n", half.By, half.After)
	fmt.Println("nine tenths:", inc.DayOf(0.9, tau).Status)
	// Output:
	// half of those stuck had rooted by day 28, after day 21
	// nine tenths: not_reached
}

func ExampleWatch_Tau() {
	watch := stats.WatchOf(dogwood)
	fmt.Println("nothing is said beyond day", watch.Tau())
	// Output: nothing is said beyond day 35
}

func ExampleCurveSpreads() {
	lots := append(dogwood, stats.Lot{ID: "MB-03-2026-3", Cuttings: 30, Looks: []stats.Look{{Day: 28, Rooted: 12, Lost: 2, Saw: stats.SawRoots}}})
	spreads, err := stats.CurveSpreads(context.Background(), lots, []int{28}, stats.Drawing{Replicates: 1000, Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	p, _ := stats.FitIncidence(stats.Pool(lots), 0).RootedBy(28)
	rate := stats.LogitRate(p, spreads[0].Logit, 78, 3, 0.95)
	fmt.Printf("%.2f of those stuck, between %.2f and %.2f\n", rate.Estimate, rate.Lower, rate.Upper)
	// Output: 0.49 of those stuck, between 0.18 and 0.81
}
