// Package stats holds the nursery's estimators: how many stems a stand has, how
// sure a rooting percent is, when half a batch had rooted. Each is a pure
// function over aggregated counts, with its source (author, year) in its doc
// comment, an example, and reference values in its test.
//
// One file holds one estimator. Whatever turns counts into an estimate is at
// home here: totals from surveys, proportions and their intervals, time to
// rooting, variation between batches, comparisons, forecasts. What is decided
// with an estimate is not: caps, flags and refusals live in models/rules.
//
// Counts are whole numbers, days are counted from sticking, confidence levels
// are shares between 0 and 1. No function reads a clock, draws a random number
// it was not given, or returns NaN: what cannot be estimated is an error or a
// status.
package stats
