package stats

import (
	"math/bits"
	"math/rand/v2"
)

// below is a number from 0 up to but not n, each as likely: the very one that
// rand.New(random).Uint64N(n) gives, without a call through an interface, since
// draws take them by the hundred million. Lemire (2019), ACM Trans Model Comput
// Simul 29(1):3; powers of two take the lowest bits.
func below(random *rand.PCG, n uint64) uint64 {
	x := random.Uint64()
	if n&(n-1) == 0 {
		return x & (n - 1)
	}
	high, low := bits.Mul64(x, n)
	if low < n {
		for uneven := -n % n; low < uneven; {
			high, low = bits.Mul64(random.Uint64(), n)
		}
	}
	return high
}
