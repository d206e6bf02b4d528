package models

import (
	"database/sql/driver"
	"fmt"
	"math"
	"math/bits"
	"strconv"
	"strings"
)

// Decimal is a number with exactly four decimal places, kept as a count of
// ten-thousandths, so that floors of products are exact: 0.29 × 100 is 29.
type Decimal int64

const decimalOne = 10_000

// ParseDecimal reads a plain decimal number of at most four places, such as 0.05.
func ParseDecimal(s string) (Decimal, error) {
	sign := int64(1)
	digits := s
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		sign, digits = -1, rest
	}
	whole, fraction, _ := strings.Cut(digits, ".")
	if len(fraction) > 4 {
		if strings.Trim(fraction[4:], "0") != "" {
			return 0, fmt.Errorf("%s has more than four decimal places", s)
		}
		fraction = fraction[:4]
	}
	n, err := strconv.ParseUint(whole+(fraction + "0000")[:4], 10, 60)
	if err != nil || whole == "" {
		return 0, fmt.Errorf("%q is not a decimal number such as 0.05", s)
	}
	return Decimal(sign * int64(n)), nil
}

// MustDecimal is ParseDecimal for numbers known to be right; it panics otherwise.
func MustDecimal(s string) Decimal {
	d, err := ParseDecimal(s)
	if err != nil {
		panic(err)
	}
	return d
}

// DecimalOf is a whole number as a Decimal.
func DecimalOf(n int) Decimal { return Decimal(n) * decimalOne }

// FloorDecimal is x rounded down to four places, for values of zero or more. A
// value that binary dust keeps from the next place is taken as that place, so that
// 0.1+0.2 is 0.3: dust is a few parts in 10^15, or 1e-13 of a small value.
func FloorDecimal(x float64) Decimal { return Decimal(math.Floor(x*decimalOne*(1+1e-15) + 1e-9)) }

// Float is the nearest float64.
func (d Decimal) Float() float64 { return float64(d) / decimalOne }

// String is the shortest decimal form: 663.2, 0.05, 12.
func (d Decimal) String() string {
	sign, n := "", int64(d)
	if n < 0 {
		sign, n = "-", -n
	}
	text := fmt.Sprintf("%s%d.%04d", sign, n/decimalOne, n%decimalOne)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}

// Floor is the whole part of a number that is not below zero.
func (d Decimal) Floor() int { return int(d / decimalOne) }

// FloorMul is ⌊d × o × num ÷ den⌋, exact, for values of zero or more, den above
// zero and num ≤ den.
func (d Decimal) FloorMul(o Decimal, num, den int) int {
	hi, lo := bits.Mul64(uint64(d)*uint64(o), uint64(num))
	q, _ := bits.Div64(hi, lo, uint64(den)*decimalOne*decimalOne)
	return int(q)
}

// MarshalJSON writes a JSON number.
func (d Decimal) MarshalJSON() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalJSON reads a JSON number of at most four decimal places.
func (d *Decimal) UnmarshalJSON(data []byte) error {
	parsed, err := ParseDecimal(string(data))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}

// Value stores the count of ten-thousandths.
func (d Decimal) Value() (driver.Value, error) { return int64(d), nil }
