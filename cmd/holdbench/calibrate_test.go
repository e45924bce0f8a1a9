//go:build linux || darwin

package main

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/comparison"
	"holdbench/daq/record"
	"holdbench/daq/simbench"
)

// wrongTransducer is how the simulated trapped side is wrong, beside what its
// certificate says.
const wrongTransducer = `
[[simulated.transducer]]
channel = "trapped_a"
offset = "0.3 bar"
gain = "0.1 %"
hysteresis = "0.2 bar"
`

// comparedOn leads through a comparison on a simulated bench, in lock-step,
// with hands that do what the prompts say, and returns the recording's folder.
func comparedOn(t *testing.T, f calibrateFlags, answer func(line string, answers func(string))) (folder, aborted, screen string) {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, simbench.CraneFiles()))
	path := filepath.Join(dir, "bench.toml")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append(text, wrongTransducer...), 0o666))
	f.bench, f.folder = path, dir
	f.certificate, f.due, f.operator, f.settle, f.average = "own-7", "2099-11-25", "Ada", "2 s", "3 s"
	if f.fit == "" {
		f.fit = "points"
	}
	p, err := f.plan(si.DefaultDisplay)
	require.NoError(t, err)

	clock := simbench.NewLockStep(simbench.CraneStart)
	rig, err := simbench.New(p.bench, clock, 3)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	served, err := rig.Serve(ctx, simbench.ServeOptions{})
	require.NoError(t, err)
	leave := clock.Join()
	scan, err := startScanning(ctx, p.bench, clock, bench.WireOptions{Ports: served.Ports, Taken: clock.Taken})
	require.NoError(t, err)
	var said strings.Builder
	meta := p.recorded(f.operator, "run-1", clock, scan.wiring.Channels)
	meta.Note = demoNote
	folder, aborted, err = compare(ctx, p, scan, clock, meta, dir, func(c *comparing) {
		c.say = func(line string) {
			said.WriteString(line + "\n")
			if _, to, ok := strings.Cut(line, ": go "); ok {
				_, to, _ = strings.Cut(to, " to ")
				to, _, _ = strings.Cut(to, " and keep")
				pressure, err := si.Parse(to, si.Pressure)
				require.NoError(t, err)
				rig.Pump(pressure, 4*time.Second)
			}
			answer(line, c.answer)
		}
	})
	require.NoError(t, err)
	leave()
	require.NoError(t, scan.stop())
	require.NoError(t, served.Close())
	return folder, aborted, said.String()
}

// takes answers each question with an Enter.
func takes(line string, answer func(string)) {
	if strings.Contains(line, "> Enter takes") || strings.Contains(line, "> What does the reference") {
		answer("")
	}
}

func TestCalibrateFindsWhatWasPutIn(t *testing.T) {
	folder, aborted, screen := comparedOn(t, calibrateFlags{channel: "trapped_a", reference: "feed", referenceU: "0.02 bar", points: "0 bar, 50 bar, 100 bar, 150 bar, 200 bar", cycles: 2}, takes)
	require.Empty(t, aborted, screen)
	c, err := openComparison(folder)
	require.NoError(t, err)
	readings, err := c.readings()
	require.NoError(t, err)
	require.Len(t, readings, 20)
	bar, err := si.ParseUnit("bar", si.Pressure)
	require.NoError(t, err)
	change, err := si.ParseUnit("bar", si.PressureChange)
	require.NoError(t, err)
	figures, err := comparison.Evaluate(readings, comparison.Options{Fit: comparison.ByPoints, Unit: bar, Change: change, Resolution: c.channel.Resolution})
	require.NoError(t, err)
	for i, p := range figures.Points {
		want := 0.3e5 + 0.001*p.Reference // the loop's halves cancel
		if i == 0 || i == len(figures.Points)-1 {
			continue // at the ends the loop is not whole
		}
		assert.InDelta(t, want, p.AsFound, 0.012e5, "%v", p.Nominal)
		assert.InDelta(t, 0.2e5, p.Hysteresis, 0.03e5, "%v", p.Nominal)
		assert.InDelta(t, 0, p.AsLeft, 100, "%v", p.Nominal)
	}
	assert.Less(t, figures.Repeatability, 0.03e5, "the first way up begins without the loop")
	assert.Greater(t, figures.U, figures.Hysteresis/math.Sqrt(12))

	// The block is taken by the bench file and corrects what was put in.
	var out strings.Builder
	root := newRoot(new(int))
	root.SetArgs([]string{"calibrate", "--from", folder, "--fit", "line"})
	root.SetOut(&out)
	require.NoError(t, root.Execute())
	block, err := os.ReadFile(filepath.Join(folder, "calibration.toml"))
	require.NoError(t, err)
	assert.Contains(t, out.String(), string(block))
	assert.Contains(t, string(block), "not an accredited certificate")
	_, err = c.bench.Recalibrate("calibration.toml", block)
	require.NoError(t, err)
	ch, _, _ := c.bench.Channel("trapped_a")
	assert.Equal(t, "own-7", ch.Calibration.Certificate)
	require.Len(t, ch.Calibration.Coefficients, 2)
	for _, r := range readings {
		assert.InDelta(t, r.Reference, ch.Calibration.Correct(r.Indicated), 0.15e5, "half the loop and noise remain")
	}
	pages, err := filepath.Glob(filepath.Join(folder, "*.p[dn][fg]"))
	require.NoError(t, err)
	assert.Len(t, pages, 2)
	if keep := os.Getenv("HOLDBENCH_KEEP"); keep != "" {
		require.NoError(t, os.CopyFS(keep, os.DirFS(folder)))
	}

	// A recording of a comparison is no unit's test.
	root = newRoot(new(int))
	root.SetArgs([]string{"assess", folder})
	assert.ErrorContains(t, root.Execute(), "calibrate --from")
}

func TestCalibrateByAPersonRefusesNonsense(t *testing.T) {
	asked := 0
	folder, aborted, screen := comparedOn(t, calibrateFlags{channel: "trapped_a", reference: "dead-weight tester R-7", referenceU: "0.01 bar", points: "0 bar, 100 bar", cycles: 1}, func(line string, answer func(string)) {
		if !strings.Contains(line, "> What does the reference") {
			return
		}
		if asked++; asked == 2 {
			for _, nonsense := range []string{"yes", "100", "100 K", "62 bar", "abort"} {
				answer(nonsense)
			}
			answer("100.25 bar")
			return
		}
		answer("")
	})
	require.Empty(t, aborted)
	for _, want := range []string{`"yes"`, "found 100, want", `"100 K"`, "found 62.000 bar while trapped_a shows 100", "want a reason"} {
		assert.Contains(t, screen, want)
	}
	rec, err := record.Open(folder)
	require.NoError(t, err)
	assert.Equal(t, "dead-weight tester R-7", rec.Meta.Comparison.Reference)
	c, err := openComparison(folder)
	require.NoError(t, err)
	readings, err := c.readings()
	require.NoError(t, err)
	require.Len(t, readings, 4)
	assert.Equal(t, 100.25e5, readings[1].Reference)
	assert.Equal(t, 1000.0, readings[1].ReferenceU)
}

func TestACalibrationThatIsGivenUpIsNotEvaluated(t *testing.T) {
	folder, aborted, _ := comparedOn(t, calibrateFlags{channel: "trapped_a", reference: "feed", points: "0 bar, 100 bar", cycles: 1}, func(line string, answer func(string)) {
		if strings.Contains(line, "> Enter takes") {
			answer("abort hose burst")
		}
	})
	assert.Equal(t, "hose burst", aborted)
	_, err := openComparison(folder)
	assert.ErrorContains(t, err, "given up: hose burst")
}

// A slow instrument gives few readings: without a word, settling and averaging
// wait for enough of them.
func TestASlowInstrumentSettlesLonger(t *testing.T) {
	b, err := bench.Parse("bench.toml", []byte(craneFile(t, "bench.toml")))
	require.NoError(t, err)
	_, at, _ := b.Channel("trapped_a")
	p := comparisonPlan{bench: b, channel: at, reference: -1}
	settle, average := p.durations()
	assert.Equal(t, []time.Duration{5 * time.Second, 10 * time.Second}, []time.Duration{settle, average})
	for i := range b.Instruments {
		if b.Instruments[i].Name == "probe" {
			b.Instruments[i].Interval = 2 * time.Second
		}
	}
	_, p.reference, _ = b.Channel("body")
	settle, average = p.durations()
	assert.Equal(t, []time.Duration{16 * time.Second, 20 * time.Second}, []time.Duration{settle, average})
}
