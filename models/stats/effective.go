package stats

// EffectiveNumber is how many equal parts would vary as little as these unequal ones:
// (Σc)² ÷ Σc², as 4 for 6, 6, 6 and 6 cuttings of four plants, and 1.7 for 18, 2, 2
// and 2. It lies between 1 and the number of parts, and is 0 where nothing was counted.
// Counts of 0 or less are left out.
//
// Kimura & Crow (1963), Evolution 17:279-288, the effective number as the inverse of
// the chance that two draws come from one part.
func EffectiveNumber(counts []int) float64 {
	sum, squares := 0.0, 0.0
	for _, count := range counts {
		if c := float64(count); count > 0 {
			sum, squares = sum+c, squares+c*c
		}
	}
	if squares == 0 {
		return 0
	}
	return sum * sum / squares
}
