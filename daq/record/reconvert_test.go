package record

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// scaled makes readings of one instrument's channels anew: raw times factor,
// and the value itself of a channel without a raw number plus added.
type scaled struct {
	factor, added float64
	seen          []time.Duration
}

func (s *scaled) Channels(instrument string) []int {
	if instrument == "module" {
		return []int{0, 1}
	}
	return []int{2}
}

func (s *scaled) Reconvert(_ string, at time.Duration, readings []daq.Reading) {
	s.seen = append(s.seen, at)
	for i := range readings {
		r := &readings[i]
		switch {
		case !math.IsNaN(r.Raw):
			r.Value, r.Health = s.factor*r.Raw, daq.Healthy
		case !math.IsNaN(r.Value):
			r.Value, r.Health = r.Value+s.added, daq.Healthy
		}
	}
}

func TestReconvertedKeepsWhatDoesNotChange(t *testing.T) {
	dir := t.TempDir() + "/run"
	m := Meta{RunID: "r", SerialNumber: "s", Started: time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC), ClockKind: "wall",
		Comparison: &Comparison{Channel: "p", Reference: "tester"}, Overdue: &Overdue{Reason: "why", By: "Ada"},
		Channels: []daq.Channel{
			{Name: "p", Quantity: si.Pressure, Converted: true, RawUnit: "mA", Instrument: "module"},
			{Name: "q", Quantity: si.Pressure, RawUnit: "Pa", Instrument: "module"},
			{Name: "t", Quantity: si.Temperature, RawUnit: "K", Instrument: "probe"},
		}}
	w, err := Create(dir, m)
	require.NoError(t, err)
	nan := math.NaN()
	for i, scan := range []daq.Scan{
		{Instrument: "module", Readings: []daq.Reading{{Channel: 0, Raw: 3, Value: 6.0000000000000001}, {Channel: 1, Raw: 7, Value: 7}}},
		{Instrument: "probe", Readings: []daq.Reading{{Channel: 2, Raw: 293, Value: 293}}},
		{Instrument: "module", Readings: []daq.Reading{{Channel: 0, Raw: 21, Value: nan, Health: daq.OverRange}, {Channel: 1, Raw: 9, Value: 9}}},
	} {
		scan.At = time.Duration(i+1) * 100 * time.Millisecond
		require.NoError(t, w.Scan(scan))
	}
	require.NoError(t, w.Close())
	rec, err := Open(dir)
	require.NoError(t, err)
	assert.Equal(t, m.Comparison, rec.Meta.Comparison)
	assert.Equal(t, m.Overdue, rec.Meta.Overdue)

	was := &scaled{factor: 2}
	same, err := rec.Reconverted(was, &scaled{factor: 2})
	require.NoError(t, err)
	sameBits(t, rec.Series(), same.Series())
	assert.Equal(t, []time.Duration{100 * time.Millisecond, 200 * time.Millisecond, 300 * time.Millisecond}, was.seen, "in the order of time, over instruments")

	other, err := rec.Reconverted(&scaled{factor: 2}, &scaled{factor: 2.5, added: 1})
	require.NoError(t, err)
	assert.Equal(t, 7.5, other.Series().Columns[0].Value[0])
	assert.True(t, math.IsNaN(other.Series().Columns[0].Value[1]), "what was not valid stays so")
	assert.Equal(t, []float64{8, 10}, other.Series().Columns[1].Value)
	assert.Equal(t, []float64{294}, other.Series().Columns[2].Value)
	assert.Equal(t, 6.0, rec.Series().Columns[0].Value[0], "the recording as read is unchanged")
}
