package main

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/record"
	"holdbench/report/result"
)

// unchanged is the demonstration bench's own certificate of the trapped side,
// corrected one that reads 0.4 % more, and added one for a channel
// that was recorded without a raw column.
const (
	unchanged = `[[calibration]]
channel = "trapped_a"
certificate = "demo-0117"
date = 2026-03-02
due = 2036-03-02
uncertainty = "0.05 bar"
points = [["0 bar", "0.02 bar"], ["125 bar", "125.04 bar"], ["250 bar", "250.05 bar"]]
`
	corrected = `[[calibration]]
channel = "trapped_a"
certificate = "demo-0117-2"
date = 2026-03-02
due = 2036-03-02
uncertainty = "0.05 bar"
points = [["0 bar", "0.02 bar"], ["125.5 bar", "125.04 bar"], ["251 bar", "250.05 bar"]]
`
	added = `[[calibration]]
channel = "feed"
certificate = "demo-0118-2"
date = 2026-03-02
due = 2036-03-02
uncertainty = "0.1 bar"
coefficients = [0.5, 1.0]
unit = "bar"
span = ["-1 bar", "250 bar"]
`
)

// copied is a recording of the demonstration in a folder of its own, with a
// file of calibrations beside it.
func copied(t *testing.T, text string) (folder, calibration string) {
	t.Helper()
	dir := t.TempDir()
	folder, calibration = filepath.Join(dir, "recording"), filepath.Join(dir, "new.toml")
	require.NoError(t, os.CopyFS(folder, os.DirFS(demoRecordings(t)[0])))
	require.NoError(t, os.WriteFile(calibration, []byte(text), 0o666))
	return folder, calibration
}

func TestAnUnchangedCertificateChangesNothing(t *testing.T) {
	folder, file := copied(t, unchanged)
	before, err := os.ReadFile(filepath.Join(folder, "readings.csv"))
	require.NoError(t, err)
	_, _, code := assessed(t, folder, "--calibration", file)
	assert.Equal(t, exitPass, code)
	first := readResult(t, filepath.Join(folder, "result.json"))
	again := readResult(t, filepath.Join(folder, "result-2.json"))
	require.NotNil(t, again.Calibration)
	assert.Equal(t, "new.toml", again.Calibration.Name)
	assert.Equal(t, []result.AppliedToChannel{{Channel: "trapped_a", Certificate: "demo-0117", Was: "demo-0117"}}, again.Calibration.Channels)
	assert.Equal(t, first.Circuits, again.Circuits, "bit for bit")
	after, err := os.ReadFile(filepath.Join(folder, "readings.csv"))
	require.NoError(t, err)
	assert.Equal(t, before, after, "the recording is not changed")
}

// The raw numbers give the recorded values again, bit for bit: this is what
// the rule that equal conversions keep what was recorded rests on.
func TestRawNumbersGiveTheRecordedValuesAgain(t *testing.T) {
	rec, err := record.Open(demoRecordings(t)[0])
	require.NoError(t, err)
	b, err := bench.Parse("bench.toml", []byte(rec.Meta.Bench.Text))
	require.NoError(t, err)
	c, err := b.Converter()
	require.NoError(t, err)
	raw, err := rec.Raw()
	require.NoError(t, err)
	compared := 0
	for i, ch := range rec.Meta.Channels {
		if !ch.Converted {
			continue
		}
		for k, at := range raw.Columns[i].Time {
			readings := make([]daq.Reading, len(c.Channels(ch.Instrument)))
			for j, of := range c.Channels(ch.Instrument) {
				readings[j] = daq.Reading{Raw: math.NaN(), Value: math.NaN()}
				if of == i {
					readings[j].Raw = raw.Columns[i].Value[k]
				}
			}
			c.Reconvert(ch.Instrument, time.Duration(at*float64(time.Second)), readings)
			for j, of := range c.Channels(ch.Instrument) {
				if of == i {
					require.Equal(t, rec.Series().Columns[i].Value[k], readings[j].Value, "%s at %v s", ch.Name, at)
					compared++
				}
			}
		}
	}
	assert.Greater(t, compared, 1000)
}

func TestACorrectedCertificateIsAppliedToTheRawNumbers(t *testing.T) {
	folder, file := copied(t, corrected+added)
	_, _, _ = assessed(t, folder, "--calibration", file)
	again := readResult(t, filepath.Join(folder, "result-2.json"))
	assert.Contains(t, again.Reasons, "readings converted again from the raw numbers with new.toml: trapped_a by certificate demo-0117-2 (before demo-0117), feed by certificate demo-0118-2 (before demo-0118)")

	rec, err := record.Open(folder)
	require.NoError(t, err)
	run, err := result.Read(rec)
	require.NoError(t, err)
	_, _, recalibrated, err := result.Assess(rec, result.Options{Number: 3, Calibration: record.SourceFile{Name: "new.toml", Text: corrected + added}})
	require.NoError(t, err)
	for _, c := range []struct {
		channel string
		want    func(x float64) float64
	}{
		// Indicated from 0.02 to 125.04 bar the reference rose by 125 bar, and now
		// by 125.5 bar; below, the first point's correction stands in both.
		{"trapped_a", func(x float64) float64 {
			if x < 0 {
				return x
			}
			return x * 125.5 / 125
		}},
		{"feed", func(x float64) float64 { return x + 0.5e5 }},
		{"body", func(x float64) float64 { return x }},
	} {
		was, _ := run.Series.Column(c.channel)
		is, _ := recalibrated.Series.Column(c.channel)
		require.Equal(t, was.Len(), is.Len())
		for i, x := range was.Value {
			require.InDelta(t, c.want(x), is.Value[i], 1e-6, "%s %v", c.channel, x)
		}
	}
}
