package record

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/daq"
)

// testMeta is a bench of two instruments: one reads a pressure (converted)
// and a voltage (not converted), the other a temperature.
func testMeta() Meta {
	return Meta{
		RunID: "0196a5f0-0000-7000-8000-000000000001", SerialNumber: "HV1-0001", Model: "HV-1",
		Operator: "Jo \"J\" Müller", Position: "left", ClockKind: "lock-step", Program: "holdbench 0.1",
		Note:      "invented <demo> data",
		Started:   time.Date(2026, 11, 3, 8, 30, 0, 123456789, time.UTC),
		Bench:     SourceFile{Name: "bench.toml", Hash: "sha256:00", Text: "name = \"x\"\r\n# µ\n"},
		Procedure: SourceFile{Name: "procedure.toml", Hash: "sha256:01", Text: "model = 'HV-1'\n"},
		Channels: []daq.Channel{
			{Name: "trapped_a", Quantity: si.Pressure, Converted: true, RawUnit: "mA", Instrument: "module", Interval: 100 * time.Millisecond},
			{Name: "supply", Quantity: si.Voltage, RawUnit: "V", Instrument: "module", Interval: 100 * time.Millisecond},
			{Name: "oil", Quantity: si.Temperature, Converted: true, RawUnit: "degC", Instrument: "thermometer, left", Interval: 1234567891 * time.Nanosecond},
		},
	}
}

// moduleScan and oilScan are one scan of each instrument.
func moduleScan(at time.Duration, raw, value, supply float64) daq.Scan {
	return daq.Scan{At: at, Instrument: "module", Readings: []daq.Reading{
		{Channel: 0, Raw: raw, Value: value}, {Channel: 1, Raw: supply, Value: supply},
	}}
}

func oilScan(at time.Duration, raw, value float64) daq.Scan {
	return daq.Scan{At: at, Instrument: "thermometer, left", Readings: []daq.Reading{{Channel: 2, Raw: raw, Value: value}}}
}

// newRecording begins a recording in a new folder and ends it with the test.
func newRecording(t *testing.T) *Writer {
	t.Helper()
	w, err := Create(filepath.Join(t.TempDir(), "run"), testMeta())
	require.NoError(t, err)
	t.Cleanup(func() { _ = w.Close() })
	return w
}

func bits(x []float64) []uint64 {
	out := make([]uint64, len(x))
	for i := range x {
		out[i] = math.Float64bits(x[i])
	}
	return out
}

func column(t *testing.T, s series.Series, name string) series.Column {
	t.Helper()
	c, ok := s.Column(name)
	require.True(t, ok, name)
	return c
}

func TestRecordingReadsBackWhatWasWritten(t *testing.T) {
	w := newRecording(t)
	require.NoError(t, w.Scan(moduleScan(100*time.Millisecond, 12.5, 1e7, 24.1)))
	require.NoError(t, w.Scan(oilScan(150*time.Millisecond, 20.25, 293.4)))
	require.NoError(t, w.Scan(daq.Scan{At: 200 * time.Millisecond, Instrument: "module", Readings: []daq.Reading{
		{Channel: 1, Raw: 24, Value: 24},
		{Channel: 0, Raw: 21.7, Value: math.NaN(), Health: daq.OverRange},
	}}))
	require.NoError(t, w.Event(daq.Event{At: 0, Kind: daq.PhaseBegins, Circuit: "a", Subject: "fill"}))
	require.NoError(t, w.Close())

	text, err := os.ReadFile(filepath.Join(w.Dir(), "readings.csv"))
	require.NoError(t, err)
	require.Equal(t, "time [s],scan,trapped_a [Pa],trapped_a raw [mA],supply [V],oil [K],oil raw [degC]\r\n"+
		"0.1,module,10000000,12.5,24.1,,\r\n"+
		"0.15,\"thermometer, left\",,,,293.4,20.25\r\n"+
		"0.2,module,,21.7,24,,\r\n", string(text))

	r, err := Open(w.Dir())
	require.NoError(t, err)
	require.Equal(t, testMeta(), r.Meta)
	require.Equal(t, StateClosed, r.State)
	require.Empty(t, r.Findings)
	require.Equal(t, 0.2, r.End())
	require.Equal(t, []daq.Event{{Kind: daq.PhaseBegins, Circuit: "a", Subject: "fill"}}, r.Events)
	p := column(t, r.Series(), "trapped_a")
	require.Equal(t, []float64{0.1, 0.2}, p.Time)
	require.Equal(t, bits([]float64{1e7, math.NaN()}), bits(p.Value))
	require.Equal(t, []float64{0.15}, column(t, r.Series(), "oil").Time)

	raw, err := r.Raw()
	require.NoError(t, err)
	require.Equal(t, []float64{12.5, 21.7}, column(t, raw, "trapped_a").Value)
	require.Equal(t, []float64{24.1, 24}, column(t, raw, "supply").Value)
}
