package rules

import (
	"cmp"
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"

	"withybed/models"
)

const mostNear = 3 // names suggested; a longer list is not read

// Near finds the names that may have been meant by one that is none of them, the
// nearest first and at most three: names that differ in a few letters, or that
// hold it. Case and extra spaces do not count.
func Near(name string, names []string) []string {
	type near struct {
		name     string
		distance int
	}
	key := models.NameKey(name)
	if key == "" {
		return nil
	}
	var found []near
	for _, candidate := range names {
		other := models.NameKey(candidate)
		distance := levenshtein.ComputeDistance(key, other)
		if distance <= 1+len(key)/4 || strings.Contains(other, key) {
			found = append(found, near{candidate, distance})
		}
	}
	slices.SortFunc(found, func(a, b near) int {
		return cmp.Or(cmp.Compare(a.distance, b.distance), cmp.Compare(a.name, b.name))
	})
	var nearest []string
	for _, n := range found[:min(mostNear, len(found))] {
		nearest = append(nearest, n.name)
	}
	return nearest
}
