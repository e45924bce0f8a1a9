package textline

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq"
)

func TestSignalFromText(t *testing.T) {
	number := func(x float64) daq.Signal { return daq.Signal{Raw: x} }
	for text, want := range map[string]daq.Signal{
		"0": number(0), "12.5": number(12.5), "+12.5": number(12.5), "-12.5": number(-12.5), "- 12.5": number(-12.5),
		"+ 012.50": number(12.5), ".5": number(0.5), "5.": number(5), "1.25E+02": number(125), "-1.25e-02": number(-0.0125),
		"": none(daq.Missing), "----": none(daq.Missing), "-": none(daq.Missing), "n/a": none(daq.Missing),
		"OL": none(daq.OverRange), "+OL": none(daq.OverRange), "-OL": none(daq.UnderRange), "O.L": none(daq.OverRange),
		"0.L": none(daq.OverRange), "Inf": none(daq.OverRange), "-inf": none(daq.UnderRange),
		"NaN": none(daq.Invalid), "Err": none(daq.Invalid),
		"+9.9E37": none(daq.OverRange), "9.90000000E+37": none(daq.OverRange), "-9.9E37": none(daq.UnderRange),
		"1e999": none(daq.OverRange),
	} {
		got, ok := signalOf(text, true)
		assert.True(t, ok, text)
		same(t, want, got, text)
	}
	got, ok := signalOf("12,5", true)
	assert.True(t, ok)
	assert.Equal(t, number(12.5), got)
	for _, text := range []string{"12.5.6", "1,234.5", "1,2,3", "12.5 bar 3", "0x1F", "1_000", "1e5e", "e5", ".", "+", "--5", "5-", "1 2", "\x00", "12:30"} {
		_, ok := signalOf(text, true)
		assert.False(t, ok, text)
	}
	_, ok = signalOf("12,5", false)
	assert.False(t, ok, "a comma where it parts columns")
}

func none(h daq.Health) daq.Signal { return daq.Signal{Raw: math.NaN(), Health: h} }

func same(t *testing.T, want, got daq.Signal, text string) {
	assert.Equal(t, want.Health, got.Health, text)
	assert.True(t, want.Raw == got.Raw || math.IsNaN(want.Raw) && math.IsNaN(got.Raw), text)
}

// signalOf is what a field without a unit makes of a text.
func signalOf(text string, comma bool) (daq.Signal, bool) {
	n, ok := parseNumber(text, comma)
	if !ok {
		return daq.Signal{}, false
	}
	return Field{}.inUnit(n.signal, n.unit)
}
