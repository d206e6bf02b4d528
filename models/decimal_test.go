package models

import (
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseDecimal(t *testing.T) {
	for text, want := range map[string]Decimal{
		"0": 0, "1": 10000, "0.05": 500, "0.0001": 1, "12.3400": 123400, "0.10000": 1000, "-0.5": -5000,
		"663.2": 6632000, "007": 70000, "100000000000": 1000000000000000,
	} {
		if got, err := ParseDecimal(text); err != nil || got != want {
			t.Errorf("%q is %d, %v, want %d", text, got, err, want)
		}
	}
	for _, text := range []string{
		"", ".", "-", ".5", "-.5", "1e3", "1E-2", "+1", "--1", "0.00001", "1.2.3", "1,5", " 1", "1 ", "0x1", "1_0", "NaN", "inf",
		"1.-5", "1.+5", "1.0000-", "99999999999999999999", "null", "½",
	} {
		if got, err := ParseDecimal(text); err == nil {
			t.Errorf("%q is read as %s", text, got)
		}
	}
}

func TestDecimalsAreWrittenShort(t *testing.T) {
	for d, want := range map[Decimal]string{0: "0", 1: "0.0001", 500: "0.05", 6632000: "663.2", 120000: "12", 1000000: "100", -5000: "-0.5", -10000: "-1"} {
		if got := d.String(); got != want {
			t.Errorf("%d is written %s, want %s", int64(d), got, want)
		}
	}
}

func TestDecimalsAreReadAsTheyAreWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Decimal(rapid.Int64Range(-1e15, 1e15).Draw(t, "decimal"))
		text, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		var read Decimal
		if err := json.Unmarshal(text, &read); err != nil || read != d {
			t.Errorf("%d is written %s and read %d, %v", d, text, read, err)
		}
		if stored, err := d.Value(); stored != int64(d) || err != nil {
			t.Errorf("%d is stored as %v, %v", d, stored, err)
		}
	})
}

func TestFloorsAreExact(t *testing.T) {
	for _, c := range []struct {
		share, of string
		num, den  int
		want      int
	}{
		{"0.29", "100", 1, 1, 29},
		{"0.57", "100", 1, 1, 57},
		{"0.05", "663.2", 1, 1, 33},
		{"0.05", "300", 1, 2, 7},
		{"0.1", "600", 6, 40, 9},
		{"0.3333", "30000", 1, 1, 9999},
		{"1", "10000000", 10000000, 10000000, 10000000},
		{"1", "10000000", 9999999, 10000000, 9999999},
		{"0.05", "0", 1, 2, 0},
	} {
		if got := MustDecimal(c.share).FloorMul(MustDecimal(c.of), c.num, c.den); got != c.want {
			t.Errorf("⌊%s × %s × %d ÷ %d⌋ is %d, want %d", c.share, c.of, c.num, c.den, got, c.want)
		}
	}
}

func TestFloorsOfAnySizeAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Int64Range(0, decimalOne).Draw(t, "share")
		of := rapid.Int64Range(0, MaxCount*decimalOne).Draw(t, "of")
		den := rapid.IntRange(1, MaxCount).Draw(t, "den")
		num := rapid.IntRange(0, den).Draw(t, "num")
		exact := big.NewInt(share)
		exact.Mul(exact, big.NewInt(of)).Mul(exact, big.NewInt(int64(num)))
		exact.Quo(exact, new(big.Int).Mul(big.NewInt(int64(den)), big.NewInt(decimalOne*decimalOne)))
		if got := Decimal(share).FloorMul(Decimal(of), num, den); int64(got) != exact.Int64() {
			t.Errorf("%d, want %s", got, exact)
		}
	})
}

func TestFloorDecimal(t *testing.T) {
	for x, want := range map[float64]string{
		663.20009: "663.2", 2736.1847: "2736.1847", 663.19999: "663.1999", 0.1 + 0.2: "0.3", 0.99999: "0.9999", 29: "29", 0: "0", 1e-5: "0",
	} {
		if got := FloorDecimal(x).String(); got != want {
			t.Errorf("%v is rounded down to %s, want %s", x, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(0, MaxCount*decimalOne).Draw(t, "ten-thousandths")
		if got := FloorDecimal(Decimal(n).Float()); got != Decimal(n) {
			t.Errorf("%s is rounded down to %s", Decimal(n), got)
		}
	})
}

func FuzzParseDecimal(f *testing.F) {
	for _, seed := range []string{"0.05", "-12.3400", "", ".", "1e9", "0.00000", "18446744073709551616", "1.00000000x"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ParseDecimal(text)
		if err != nil {
			return
		}
		exact, ok := new(big.Rat).SetString(text)
		if !ok || exact.Cmp(big.NewRat(int64(d), decimalOne)) != 0 {
			t.Fatalf("%q is read as %d ten-thousandths", text, int64(d))
		}
		again, err := ParseDecimal(d.String())
		if err != nil || again != d || strings.HasSuffix(d.String(), ".") {
			t.Errorf("%q is written %s and read %s, %v", text, d, again, err)
		}
	})
}
