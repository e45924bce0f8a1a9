package si

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFormatHasNoNegativeZero(t *testing.T) {
	for _, row := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{-0.004, 2, "0.00"},
		{math.Copysign(0, -1), 0, "0"},
		{-0.4, 0, "0"},
		{-0.006, 2, "-0.01"},
		{-10, 0, "-10"},
		{0.126, 2, "0.13"},
		{1234567.891, 1, "1234567.9"},
		{99.96, 1, "100.0"},
		{5, -3, "5"},
		{math.NaN(), 2, "–"},
		{math.Inf(1), 2, "∞"},
		{math.Inf(-1), 2, "-∞"},
	} {
		assert.Equal(t, row.want, Format(row.x, row.decimals))
	}
}

// Source of the rule: JCGM 100:2008, 7.2.6, "at most two significant digits".
func TestUncertaintyShowsTwoSignificantDigits(t *testing.T) {
	for _, row := range []struct {
		u    float64
		want int
		text string
	}{
		{0.0123, 3, "0.012"},
		{0.0996, 2, "0.10"},
		{0.0994, 3, "0.099"},
		{0.1, 2, "0.10"},
		{0.95, 2, "0.95"},
		{1, 1, "1.0"},
		{9.94, 1, "9.9"},
		{9.96, 0, "10"},
		{31.67, 0, "32"},
		{1234, 0, "1234"},
	} {
		assert.Equal(t, row.want, Decimals(row.u), "u %g", row.u)
		assert.Equal(t, row.text, Format(row.u, Decimals(row.u)))
	}
	for _, nothing := range []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		assert.Equal(t, 2, Decimals(nothing))
	}
	assert.Equal(t, 12, Decimals(1e-300))
	assert.Equal(t, 0, Decimals(1e300))
}
