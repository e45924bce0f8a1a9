package record

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/analysis/series"
	"holdbench/daq"
)

// liveSeries grows as a live screen's would: from the scans themselves.
type liveSeries struct {
	meta       Meta
	value, raw series.Series
}

func newLiveSeries(m Meta) *liveSeries {
	l := &liveSeries{meta: m}
	for _, ch := range m.Channels {
		c := series.Column{Name: ch.Name, Quantity: ch.Quantity}
		l.value.Columns = append(l.value.Columns, c)
		l.raw.Columns = append(l.raw.Columns, c)
	}
	return l
}

func (l *liveSeries) take(s daq.Scan) {
	for i, ch := range l.meta.Channels {
		if ch.Instrument != s.Instrument {
			continue
		}
		value, raw := math.NaN(), math.NaN()
		for _, r := range s.Readings {
			if r.Channel == i {
				if r.Health == daq.Healthy {
					value = r.Value
				}
				if raw = r.Raw; !ch.Converted {
					raw = value
				}
			}
		}
		grow(&l.value.Columns[i], s.At, value)
		grow(&l.raw.Columns[i], s.At, raw)
	}
}

func grow(c *series.Column, at time.Duration, x float64) {
	c.Time = append(c.Time, Seconds(at))
	c.Value = append(c.Value, x)
}

func sameBits(t require.TestingT, want, got series.Series) {
	require.Len(t, got.Columns, len(want.Columns))
	for i, w := range want.Columns {
		g := got.Columns[i]
		require.Equal(t, w.Name, g.Name)
		require.Equal(t, w.Quantity, g.Quantity)
		require.Equal(t, bits(w.Time), bits(g.Time))
		require.Equal(t, nanBits(w.Value), nanBits(g.Value))
	}
}

// nanBits are bits with every NaN the same.
func nanBits(x []float64) []uint64 {
	out := bits(x)
	for i := range x {
		if math.IsNaN(x[i]) {
			out[i] = math.Float64bits(math.NaN())
		}
	}
	return out
}

var (
	anyBits = rapid.Map(rapid.Uint64(), math.Float64frombits)
	finite  = rapid.Custom(func(t *rapid.T) float64 {
		return anyBits.Filter(func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }).Draw(t, "x")
	})
)

func drawReading(t *rapid.T, channel int) daq.Reading {
	r := daq.Reading{Channel: channel, Raw: anyBits.Draw(t, "raw"), Value: finite.Draw(t, "value")}
	r.Health = daq.Health(rapid.SampledFrom([]int{0, 0, 0, 1, 2, 3, 4}).Draw(t, "health"))
	if r.Health != daq.Healthy {
		r.Value = math.NaN()
	}
	return r
}

// drawScans draws scans of the test bench: any floats, any health, instruments
// in turns, now and then a reading left out.
func drawScans(t *rapid.T) []daq.Scan {
	at := map[string]time.Duration{}
	var scans []daq.Scan
	for range rapid.IntRange(0, 30).Draw(t, "scans") {
		s := daq.Scan{Instrument: "module"}
		channels := []int{0, 1}
		if rapid.Bool().Draw(t, "oil") {
			s.Instrument, channels = "thermometer, left", []int{2}
		}
		s.At = at[s.Instrument]
		at[s.Instrument] += time.Duration(rapid.Int64Range(1, 1e13).Draw(t, "step"))
		for _, ch := range channels {
			if rapid.IntRange(0, 9).Draw(t, "left out") > 0 {
				s.Readings = append(s.Readings, drawReading(t, ch))
			}
		}
		scans = append(scans, s)
	}
	return scans
}

func TestWhatIsReadBackEqualsWhatWasLiveBitForBit(t *testing.T) {
	parent := t.TempDir()
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		dir := filepath.Join(parent, time.Duration(runs).String())
		w, err := Create(dir, testMeta())
		require.NoError(t, err)
		live := newLiveSeries(testMeta())
		for _, s := range drawScans(t) {
			require.NoError(t, w.Scan(s))
			live.take(s)
		}
		require.NoError(t, w.Close())
		r, err := Open(dir)
		require.NoError(t, err)
		require.Empty(t, r.Findings)
		sameBits(t, live.value, r.Series())
		raw, err := r.Raw()
		require.NoError(t, err)
		sameBits(t, live.raw, raw)
		require.NoError(t, os.RemoveAll(dir))
	})
}

// A recording of the wall clock has a start in the local zone, with a
// monotonic part and nanoseconds.
func TestMetaReadsBackExactly(t *testing.T) {
	m := testMeta()
	m.Started = time.Now().In(time.FixedZone("", 5*3600+1800))
	m.Note = "<&>\u2028\x00\t\"\\"
	dir := filepath.Join(t.TempDir(), "run")
	w, err := Create(dir, m)
	require.NoError(t, err)
	open, err := Open(dir)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	closed, err := Open(dir)
	require.NoError(t, err)
	for _, got := range []Meta{open.Meta, closed.Meta} {
		require.True(t, m.Started.Equal(got.Started))
		require.Equal(t, m.Started.Format(time.RFC3339Nano), got.Started.Format(time.RFC3339Nano))
		got.Started = m.Started
		require.Equal(t, m, got)
	}
}

// A bench's file of own liquids is carried word for word; a recording without
// one does not speak of it.
func TestFluidsComeBackAsTheyWere(t *testing.T) {
	m := testMeta()
	m.Fluids = SourceFile{Name: "fluids.toml", Hash: "sha256:02", Text: "[[fluid]]\r\n# µ\n"}
	dir := filepath.Join(t.TempDir(), "run")
	w, err := Create(dir, m)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	rec, err := Open(dir)
	require.NoError(t, err)
	require.Equal(t, m.Fluids, rec.Meta.Fluids)

	plain := newRecording(t)
	require.NoError(t, plain.Close())
	text, err := os.ReadFile(filepath.Join(plain.Dir(), "datapackage.json"))
	require.NoError(t, err)
	require.NotContains(t, string(text), "fluids")
}
