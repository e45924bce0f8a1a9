package si

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

// written prints an SI number so that Parse reads the same number back.
func written(x float64, q Quantity) string {
	text := strconv.FormatFloat(x, 'g', -1, 64)
	if q != Dimensionless {
		text += " " + q.SI().Symbol
	}
	return text
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{"100 bar", "-0.5 psi", "4.5 bar/K", "23 °C", "1e5Pa", "5 %", "0.3 mL/min", "6 kgf/cm²/h", "1,5 bar", "12 mA", "± 3", "", "/", "5 /min", "~bar"} {
		for q := range quantities {
			f.Add(text, uint8(q))
		}
	}
	f.Fuzz(func(t *testing.T, text string, quantity uint8) {
		q := Quantity(quantity % uint8(len(quantities)))
		x, err := Parse(text, q)
		if err != nil {
			return
		}
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("Parse(%q, %s) = %g", text, q, x)
		}
		again, err := Parse(written(x, q), q)
		if err != nil || math.Float64bits(again) != math.Float64bits(x) {
			t.Fatalf("Parse(%q, %s) = %g, printed %q, parsed again %g, %v", text, q, x, written(x, q), again, err)
		}
	})
}

func FuzzParseUncertain(f *testing.F) {
	for _, text := range []string{"4.5 ± 0.2 bar/K", "23 +- 0.5 °C", "23 °C ± 0.5 K", "(1+/-2) s", "5 ± -1 %", "±", "1 ± ± 2 s", "0.5 ± 0.1"} {
		for q := range quantities {
			f.Add(text, uint8(q))
		}
	}
	f.Fuzz(func(t *testing.T, text string, quantity uint8) {
		q := Quantity(quantity % uint8(len(quantities)))
		x, u, err := ParseUncertain(text, q)
		if err != nil {
			return
		}
		if !(u >= 0) || math.IsInf(u, 0) || math.IsNaN(x) {
			t.Fatalf("ParseUncertain(%q, %s) = %g, %g", text, q, x, u)
		}
		printed := written(x, q) + " ± " + written(u, q.Difference())
		x2, u2, err := ParseUncertain(printed, q)
		if err != nil || x2 != x || u2 != u {
			t.Fatalf("ParseUncertain(%q, %s) = %g, %g; printed %q, parsed again %g, %g, %v", text, q, x, u, printed, x2, u2, err)
		}
	})
}

func FuzzParseUnit(f *testing.F) {
	for _, text := range []string{"bar", "Bar per min", "kgf/cm^2", "degC", "°F/h", "US gal/min", "µL", "", "/", "1", "//"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, u := range ParseAnyUnit(text) {
			again, err := ParseUnit(u.Symbol, u.Quantity)
			if err != nil || again != u {
				t.Fatalf("%q is %v, its symbol gives %v, %v", text, u, again, err)
			}
		}
	})
}

func FuzzFormat(f *testing.F) {
	for _, x := range []float64{0, -0.001, 12.5, -1e-300, 1e20, 99.995} {
		f.Add(x, uint8(2))
	}
	f.Fuzz(func(t *testing.T, x float64, decimals uint8) {
		d := int(decimals % 13)
		text := Format(x, d)
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return
		}
		back, err := strconv.ParseFloat(text, 64)
		if err != nil || math.Signbit(back) && back == 0 || strings.HasPrefix(text, "-0") && back == 0 {
			t.Fatalf("Format(%g, %d) = %q, read as %g, %v", x, d, text, back, err)
		}
		if math.Abs(back-x) > 0.500001*math.Pow(10, -float64(d))+1e-15*math.Abs(x) {
			t.Fatalf("Format(%g, %d) = %q", x, d, text)
		}
	})
}
