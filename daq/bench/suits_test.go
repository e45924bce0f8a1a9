package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/bench"
)

func TestBenchSuitsATestThatItsTransducersCanFollow(t *testing.T) {
	b := parsed(t, small)
	position, _ := b.Position("1")
	assert.NoError(t, b.Suits(position, []string{"a"}, 250e5))
	assert.EqualError(t, b.Suits(position, []string{"a"}, 251e5),
		`bench.toml:26: channel "trapped": range: found up to 250 bar, want at least the procedure's maximum pressure, 251 bar`)
	assert.EqualError(t, b.Suits(position, []string{"a", "b"}, 100e5),
		`bench.toml: position "1": found no circuit "b", want a [[position.circuit]] for it, as the procedure tests it`)

	absolute := parsed(t, broken(t, small, `reference = "gauge"`, `reference = "absolute"`))
	assert.EqualError(t, absolute.Suits(position, []string{"a"}, 249e5),
		`bench.toml:26: channel "trapped": range: found up to 248.987 bar, want at least the procedure's maximum pressure, 249 bar`)
	assert.Error(t, (&bench.Bench{}).Suits(position, []string{"a"}, 1), "a transducer that is not there reads nothing")
}

// However far the range goes: a pressure that the signal cannot carry is not
// seen.
func TestBenchSuitsNoTestBeyondWhatItsSignalsCarry(t *testing.T) {
	const line = `scaling = [["4 mA", "0 bar"], ["20 mA", "250 bar"]]`
	wide := broken(t, small, `range = ["0 bar", "250 bar"]`, `range = ["0 bar", "400 bar"]`)
	suits := func(text string, highest float64) error {
		b := parsed(t, text)
		position, _ := b.Position("1")
		return b.Suits(position, []string{"a"}, highest)
	}
	assert.NoError(t, suits(wide, 250e5))
	assert.EqualError(t, suits(wide, 251e5),
		`bench.toml:26: channel "trapped": scaling: found up to 250 bar, want at least the procedure's maximum pressure, 251 bar; where the module carries more than scaling's points say, raw_range says how far`)
	b := parsed(t, wide)
	assert.Len(t, b.Uncarried(), 1)
	assert.Equal(t, "trapped", b.Uncarried()[0].Name)
	assert.Empty(t, parsed(t, small).Uncarried())

	carried := broken(t, wide, line, line+"\nraw_range = [\"0 mA\", \"28 mA\"]")
	assert.NoError(t, suits(carried, 375e5))
	assert.EqualError(t, suits(carried, 376e5),
		`bench.toml:26: channel "trapped": raw_range: found up to 375 bar, want at least the procedure's maximum pressure, 376 bar`)
	assert.Empty(t, parsed(t, carried).Uncarried())
}

func TestGaugeRangeOfAnAbsoluteTransducer(t *testing.T) {
	b := parsed(t, broken(t, small, `reference = "absolute"`, "reference = \"absolute\"\nrange = [\"0 bar\", \"10 bar\"]"))
	c, _, _ := b.Channel("feed")
	low, high := b.GaugeRange(c)
	assert.InDeltaSlice(t, []float64{-101300, 10e5 - 101300}, []float64{low, high}, 1e-6)
	c, _, _ = b.Channel("trapped")
	low, high = b.GaugeRange(c)
	assert.Equal(t, []float64{0, 250e5}, []float64{low, high})

	b.Ambient.Channel = "feed"
	c, _, _ = b.Channel("feed")
	low, _ = b.GaugeRange(c)
	assert.Zero(t, low, "what measures the air stays absolute")
}
