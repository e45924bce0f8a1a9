package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/report/result"
)

// loggerHold is an invented hold as a plain logger saw it: pumped up by hand,
// locked, five minutes and more held. Bar, minutes, kelvin.
type loggerHold struct {
	leak, ramp float64 // bar/min, K/min
	settling   float64 // bar, within a quarter of a minute
	circuitB   bool
	leakB      float64
	lag        float64 // s: the liquid follows the probe
}

// csv writes the hold as a CSV file of the documented header.
func (h loggerHold) csv(t *testing.T, seed uint64) string {
	t.Helper()
	random := rand.New(rand.NewPCG(seed, 0))
	var b strings.Builder
	b.WriteString("time [s],pressure_a [bar]")
	if h.circuitB {
		b.WriteString(",pressure_b [bar]")
	}
	b.WriteString(",temperature [degC],ambient [degC]\n")
	const rate, up = 10, 15.0
	for i := range 400 * rate {
		at := float64(i) / rate
		minutes := max(at-up, 0) / 60
		liquid := 20 + h.ramp*max(at-h.lag, 0)/60
		pressure := func(leak float64) float64 {
			if at < up {
				return 100 * max(at-5, 0) / 10
			}
			return 100 + 4.5*(liquid-20-h.ramp*max(up-h.lag, 0)/60) - leak*minutes - h.settling*(1-math.Exp(-minutes*4)) + 0.01*random.NormFloat64()
		}
		fmt.Fprintf(&b, "%.1f,%.3f", at, pressure(h.leak))
		if h.circuitB {
			fmt.Fprintf(&b, ",%.3f", pressure(h.leakB))
		}
		fmt.Fprintf(&b, ",%.2f,21.5\n", 20+h.ramp*at/60+0.02*random.NormFloat64())
	}
	path := filepath.Join(t.TempDir(), "hold.csv")
	require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o666))
	return path
}

// assessed runs assess and returns the JSON on standard output, what went to
// standard error, and the exit code.
func assessed(t *testing.T, args ...string) (stdout []byte, stderr string, code int) {
	t.Helper()
	var out, notes bytes.Buffer
	root := newRoot(&code)
	root.SetOut(&out)
	root.SetErr(&notes)
	root.SetArgs(append([]string{"assess"}, args...))
	require.NoError(t, root.Execute())
	return out.Bytes(), notes.String(), code
}

// one decodes a single result, and holds it against the schema.
func one(t *testing.T, text []byte) result.Result {
	t.Helper()
	path := filepath.Join(t.TempDir(), "result.json")
	require.NoError(t, os.WriteFile(path, text, 0o666))
	return readResult(t, path)
}

func TestAssessJudgesAPlainLoggersFile(t *testing.T) {
	for _, c := range []struct {
		name    string
		hold    loggerHold
		flags   []string
		verdict string
		code    int
	}{
		{"good", loggerHold{leak: 0.02, ramp: 0.01}, []string{"--thermal-coefficient", "4.5 ± 0.3 bar/K"}, "PASS", exitPass},
		{"good, cooling", loggerHold{leak: 0.02, ramp: -0.15}, []string{"--thermal-coefficient", "4.5 ± 0.2 bar/K"}, "PASS", exitPass},
		{"leaking", loggerHold{leak: 0.6, ramp: 0.01}, []string{"--thermal-coefficient", "4.5 ± 0.3 bar/K"}, "FAIL", exitFail},
		{"leaking, warming", loggerHold{leak: 0.6, ramp: 0.12}, []string{"--thermal-coefficient", "4.5 ± 0.3 bar/K"}, "FAIL", exitFail},
		{"coefficient too uncertain", loggerHold{leak: 0.1, ramp: -0.2}, []string{"--thermal-coefficient", "4.5 ± 2 bar/K"}, "INCONCLUSIVE", exitInconclusive},
		{"no coefficient, moving", loggerHold{leak: 0.02, ramp: -0.1}, nil, "INCONCLUSIVE", exitInconclusive},
		{"liquid lags", loggerHold{leak: 0.02, ramp: -0.15, lag: 40}, []string{"--thermal-coefficient", "4.5 ± 0.2 bar/K", "--lag", "40 ± 5 s"}, "PASS", exitPass},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := c.hold.csv(t, 1)
			out, table, code := assessed(t, append([]string{path, "--limit", "decay_rate 0.2 bar/min", "--json", "-"}, c.flags...)...)
			r := one(t, out)
			assert.Equal(t, c.verdict, r.Verdict, table)
			assert.Equal(t, c.code, code)
			assert.Contains(t, table, c.verdict, "the table goes to standard error")
			require.Len(t, r.Circuits, 1)
			hold := r.Circuits[0].Tests[0]
			require.NotNil(t, hold.Found)
			assert.Equal(t, "found", hold.Found.Method)
			assert.Less(t, *hold.Window[0], 150.0)
			assert.Greater(t, *hold.Window[1], 395.0)
			if c.flags != nil {
				rate := hold.Estimates["decay_rate"]
				assert.LessOrEqual(t, *rate.Low, c.hold.leak*1e5/60)
				assert.GreaterOrEqual(t, *rate.High, c.hold.leak*1e5/60)
			} else {
				assert.Contains(t, strings.Join(r.Advice, " "), "thermal coefficient")
			}
		})
	}
}

func TestAssessJudgesBothCircuitsByTheSameLimit(t *testing.T) {
	path := loggerHold{leak: 0.02, leakB: 0.9, circuitB: true}.csv(t, 2)
	out, _, code := assessed(t, path, "--limit", "decay_rate 0.2 bar/min", "--thermal-coefficient", "4.5 ± 0.3 bar/K", "--json", "-")
	r := one(t, out)
	require.Len(t, r.Circuits, 2)
	assert.Equal(t, []string{"PASS", "FAIL", "FAIL"}, []string{r.Circuits[0].Verdict, r.Circuits[1].Verdict, r.Verdict})
	assert.Equal(t, exitFail, code)

	out, _, code = assessed(t, path, "--limit", "decay_rate 0.2 bar/min", "--thermal-coefficient", "4.5 ± 0.3 bar/K", "--json", "-", "--circuit", "a=pressure_a")
	assert.Len(t, one(t, out).Circuits, 1)
	assert.Equal(t, exitPass, code)
}

func TestAssessSeveralFilesGiveAnArrayAndTheGravestCode(t *testing.T) {
	good, bad := loggerHold{leak: 0.02}.csv(t, 3), loggerHold{leak: 0.9}.csv(t, 4)
	pages := filepath.Join(t.TempDir(), "pages")
	out, _, code := assessed(t, good, bad, "--limit", "decay_rate 0.2 bar/min", "--thermal-coefficient", "4.5 ± 0.3 bar/K", "--json", "-", "--pdf", pages, "--png", pages)
	var all []result.Result
	require.NoError(t, json.Unmarshal(out, &all))
	require.Len(t, all, 2)
	assert.Equal(t, []string{"PASS", "FAIL"}, []string{all[0].Verdict, all[1].Verdict})
	assert.Equal(t, exitFail, code)
	drawn, err := os.ReadDir(pages)
	require.NoError(t, err)
	assert.Len(t, drawn, 4)
}

// What the flags said can be written down; the next file of that logger then
// needs nothing and is judged alike.
func TestSettingsSavedAreSettingsUsed(t *testing.T) {
	path := loggerHold{leak: 0.02, ramp: -0.05}.csv(t, 5)
	settings := filepath.Join(t.TempDir(), "logger.toml")
	flags := []string{"--limit", "decay_rate 0.2 bar/min", "--limit", "pressure_after 10 min 80 bar", "--thermal-coefficient", "4.5 ± 0.3 bar/K",
		"--lag", "-10 ± 2 s", "--stiffness", "30 ± 2 bar/mL", "--risk-pass", "0.01", "--test-pressure", "100 bar", "--units", "psi,°F",
		"--start-window", "80 bar..120 bar", "--transducer", "accuracy=0.25 bar,gain_uncertainty=0.05 %,drift=0.002 bar/h,temperature_effect=0.005 bar/K,range=0 bar..250 bar",
		"--thermometer", "resolution=0.001 K,drift=0.001 K/h", "--zero-before", "0.01 ± 0.002 bar", "--zero-after", "0.012 ± 0.002 bar"}
	said, _, _ := assessed(t, append([]string{path, "--json", "-", "--save-settings", settings}, flags...)...)
	used, _, _ := assessed(t, path, "--json", "-", "--settings", settings)
	cut := func(text []byte) string {
		head, _, found := strings.Cut(string(text), `"assessment": {`)
		require.True(t, found)
		return head
	}
	assert.Equal(t, cut(said), cut(used))
}

func TestAssessTakesTheWindowThatItIsGiven(t *testing.T) {
	path := loggerHold{leak: 0.02}.csv(t, 6)
	out, _, _ := assessed(t, path, "--limit", "decay_rate 0.2 bar/min", "--json", "-", "--hold", "100s..5min")
	hold := one(t, out).Circuits[0].Tests[0]
	assert.Equal(t, "given", hold.Found.Method)
	assert.InDelta(t, 100, *hold.Window[0], 0.11)
	assert.InDelta(t, 300, *hold.Window[1], 0.11)
}

// A page that a viewer holds open cannot be replaced on some systems; a folder
// in its place stands for that here. The new page gets a name of its own.
func TestPageThatCannotBeReplacedGetsANameOfItsOwn(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "page.pdf")
	require.NoError(t, os.MkdirAll(filepath.Join(path, "held"), 0o777))
	message, err := replacePage(path, func(w io.Writer) error { _, err := io.WriteString(w, "new"); return err })
	require.NoError(t, err)
	other := filepath.Join(dir, "page (2).pdf")
	assert.Contains(t, message, other)
	text, err := os.ReadFile(other)
	require.NoError(t, err)
	assert.Equal(t, "new", string(text))
}
