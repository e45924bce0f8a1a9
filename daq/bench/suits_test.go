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
