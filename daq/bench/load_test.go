package bench_test

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/strict"
)

func TestExampleFileLoads(t *testing.T) {
	text, err := os.ReadFile("testdata/bench.toml")
	require.NoError(t, err)
	b, err := bench.Load("testdata/bench.toml")
	require.NoError(t, err)

	assert.Equal(t, "testdata/bench.toml", b.Path)
	assert.Equal(t, string(text), b.Text)
	assert.Equal(t, strict.Hash(text), b.Hash)
	assert.Equal(t, "Bench 3", b.Name)
	assert.Equal(t, []bench.Link{
		{Name: "rs485", Port: "/dev/ttyUSB0", Baud: 19200, DataBits: 8, Parity: "even", StopBits: 1, Timeout: 200 * time.Millisecond},
		{Name: "thermometer", Port: "tcp://10.0.0.7:4001", DataBits: 8, Parity: "none", StopBits: 1, Timeout: 3 * time.Second},
	}, b.Links)
	require.Len(t, b.Instruments, 2)
	assert.Equal(t, 100*time.Millisecond, b.Instruments[0].Interval)
	assert.Equal(t, []bench.Position{{Name: "1", PumpState: "pump_runs", Circuits: []bench.Circuit{
		{Name: "a", Trapped: "trapped_a", Feed: "feed", Temperature: "body", WarningSwitch: "warning_a"},
		{Name: "b", Trapped: "trapped_b", FeedUnmeasured: true, Temperature: "body"},
	}}}, b.Positions)
	assert.Equal(t, "typed", b.Ambient.Source)
	assert.InDelta(t, 101300, b.Ambient.Pressure.Value, 1e-9)
	assert.InDelta(t, 300, b.Ambient.Pressure.StdUncertainty, 1e-9)
	assert.Len(t, b.Characterisations, 3)
	require.NotNil(t, b.Simulated)
	assert.InDelta(t, 0.02e5/60, b.Simulated.Leak, 1e-9)
	assert.InDelta(t, -0.5/3600, b.Simulated.TemperatureRate, 1e-12)
	assert.Equal(t, uint64(7), b.Simulated.Seed)
}

// A circuit may have several probes.
func TestTemperaturesOfACircuitMayBeAList(t *testing.T) {
	text, err := os.ReadFile("testdata/bench.toml")
	require.NoError(t, err)
	changed := strings.Replace(string(text), `temperature = "body" `, `temperature = ["body", "room"] `, 1)
	require.NotEqual(t, string(text), changed)
	b, err := bench.Parse("testdata/bench.toml", []byte(changed))
	require.NoError(t, err)
	assert.Equal(t, bench.Circuit{Name: "a", Trapped: "trapped_a", Feed: "feed", Temperature: "body", WarningSwitch: "warning_a", MoreTemperatures: []string{"room"}}, b.Positions[0].Circuits[0])
}

func TestExampleChannelsAreSI(t *testing.T) {
	b, err := bench.Load("testdata/bench.toml")
	require.NoError(t, err)

	c, i, ok := b.Channel("trapped_a")
	require.True(t, ok)
	assert.Equal(t, 0, i)
	assert.Equal(t, si.Current, c.RawQuantity)
	assert.InDelta(t, 0.020, c.Scaling.SignalHigh, 1e-15)
	assert.InDelta(t, 250e5, c.Scaling.ValueHigh, 1e-6)
	assert.Equal(t, 0.001, c.RawScale)
	assert.InDelta(t, 0.0005, c.GainU, 1e-15)
	assert.InDelta(t, 200.0/3600, c.DriftU, 1e-12)
	assert.InDelta(t, 500, c.TemperatureEffectU, 1e-9)
	assert.Equal(t, []bench.CalibrationPoint{{Reference: 0, Indicated: 2000}, {Reference: 125e5, Indicated: 125.04e5}, {Reference: 250e5, Indicated: 250.05e5}}, c.Calibration.Points)
	assert.Equal(t, day("2027-03-02"), c.Calibration.Due)

	c, _, ok = b.Channel("trapped_b")
	require.True(t, ok)
	assert.True(t, c.Absolute)
	assert.Nil(t, c.Scaling)
	assert.Equal(t, si.Pressure, c.RawQuantity)
	assert.Equal(t, 1.0, c.RawScale)

	c, i, ok = b.Channel("room")
	require.True(t, ok)
	assert.Equal(t, 4, i)
	assert.True(t, math.IsNaN(c.RangeLow) && math.IsNaN(c.RangeHigh), "no range is NaN, not zero")
	_, _, ok = b.Channel("nobody")
	assert.False(t, ok)
	_, ok = b.Position("2")
	assert.False(t, ok)
}

func TestAmbientIsTheDefaultAndSaysSo(t *testing.T) {
	b := parsed(t, broken(t, small, "[ambient]\npressure = \"1013 ± 3 mbar\"\ntemperature_channel = \"room\"\n", ""))
	assert.Equal(t, "default", b.Ambient.Source)
	assert.Equal(t, 101325.0, b.Ambient.Pressure.Value)
	assert.Equal(t, 3000.0, b.Ambient.Pressure.StdUncertainty)
	b = parsed(t, broken(t, small, "pressure = \"1013 ± 3 mbar\"", "channel = \"feed\""))
	assert.Equal(t, "measured", b.Ambient.Source)
	assert.Equal(t, "feed", b.Ambient.Channel)
	assert.Equal(t, 101325.0, b.Ambient.Pressure.Value, "until the channel has been read")
}

func TestRawCountsAreScaled(t *testing.T) {
	b := parsed(t, broken(t, small, `raw_unit = "mA"`, `raw_unit = "1"`, `[["4 mA", "0 bar"], ["20 mA", "250 bar"]]`, `[[0, "0 bar"], ["65535", "250 bar"]]`))
	c, _, _ := b.Channel("trapped")
	assert.Equal(t, si.Dimensionless, c.RawQuantity)
	assert.Equal(t, 65535.0, c.Scaling.SignalHigh)
}

func FuzzParse(f *testing.F) {
	f.Add(small, block)
	f.Add("", "")
	f.Add(small[:300], block[:100])
	f.Fuzz(func(t *testing.T, text, characterisation string) {
		b, err := bench.Parse("bench.toml", []byte(text))
		if err != nil {
			assert.Nil(t, b)
			b = &bench.Bench{}
		}
		if b.AttachCharacterisation("c.toml", []byte(characterisation)) == nil {
			c, reason := b.Characterisation("HV-1", "a", "oil", 100e5, day("2026-10-01"))
			assert.Equal(t, c == nil, reason != "")
		}
		b.Overdue(day("2026-10-01"))
	})
}
