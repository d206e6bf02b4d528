// Package rules holds what the nursery decides, one file per decision: how many
// stems a stand can bear, whether a record can be, where every cutting is, what
// is due. Every function is pure: values in, values out, today is an argument.
package rules
