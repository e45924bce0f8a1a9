package record

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// benchMeta is a bench of four channels of one module and two of another.
func benchMeta() Meta {
	m := testMeta()
	m.Channels = nil
	for i := range 6 {
		m.Channels = append(m.Channels, daq.Channel{
			Name: fmt.Sprintf("p%d", i), Quantity: si.Pressure, Converted: true, RawUnit: "mA",
			Instrument: []string{"module", "thermometer"}[i/4],
		})
	}
	return m
}

// benchScans are a module's scans with numbers as a converted 16-bit signal
// gives them.
func benchScan(i int, readings []daq.Reading) daq.Scan {
	for k := range readings {
		raw := float64(12000+(i*7+k*13)%977) / 1000
		readings[k] = daq.Reading{Channel: k, Raw: raw, Value: (raw - 4) / 16 * 4e7}
	}
	return daq.Scan{At: time.Duration(i) * 100 * time.Millisecond, Instrument: "module", Readings: readings}
}

func BenchmarkScan(b *testing.B) {
	w, err := Create(filepath.Join(b.TempDir(), "run"), benchMeta())
	require.NoError(b, err)
	readings := make([]daq.Reading, 4)
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		if err := w.Scan(benchScan(i, readings)); err != nil {
			b.Fatal(err)
		}
		i++
	}
	require.NoError(b, w.Close())
}

// BenchmarkOpen reads 50,000 rows of four converted channels.
func BenchmarkOpen(b *testing.B) {
	w, err := Create(filepath.Join(b.TempDir(), "run"), benchMeta())
	require.NoError(b, err)
	readings := make([]daq.Reading, 4)
	for i := range 50_000 {
		require.NoError(b, w.Scan(benchScan(i, readings)))
	}
	require.NoError(b, w.Close())
	b.SetBytes(w.readings.bytes)
	b.ReportAllocs()
	for b.Loop() {
		r, err := Open(w.Dir())
		if err != nil || r.Series().Columns[0].Len() != 50_000 {
			b.Fatal(err)
		}
	}
	b.ReportMetric(50_000*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
