package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/simbench"
)

// craneFolder is a folder with the crane's bench and procedures.
func craneFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, simbench.CraneFiles()))
	return dir
}

// planned runs the command and reads its JSON.
func planned(t *testing.T, args ...string) (out planJSON, table string) {
	t.Helper()
	var code int
	var stdout bytes.Buffer
	file := filepath.Join(t.TempDir(), "plan.json")
	root := newRoot(&code)
	root.SetArgs(append([]string{"plan", "--json", file}, args...))
	root.SetOut(&stdout)
	require.NoError(t, root.Execute())
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &out))
	return out, stdout.String()
}

// A recording brings the noise of its readings: ten times the noise, ten times
// its line.
func TestPlanTakesNoiseFromARecording(t *testing.T) {
	dir := craneFolder(t)
	files := []string{"--bench", filepath.Join(dir, "bench.toml"), "--procedure", filepath.Join(dir, "hold.toml")}
	noiseOf := func(p planJSON) float64 {
		for _, line := range p.Limits[0].Budget {
			if line.Source == "noise" {
				return line.U
			}
		}
		return 0
	}
	plain, _ := planned(t, files...)
	louder, _ := planned(t, append(files, "--noise", "0.1 bar")...)
	assert.InEpsilon(t, 10*noiseOf(plain), noiseOf(louder), 1e-9, "0.01 bar is characterised")

	recording := demoRecordings(t)[0]
	measured, table := planned(t, append(files, "--blank", recording)...)
	assert.Contains(t, table, "(of "+filepath.Base(recording)+", × ")
	assert.InEpsilon(t, noiseOf(plain), noiseOf(measured), 0.5, "the simulated bench has about the noise that is characterised")
	assert.NotEqual(t, noiseOf(plain), noiseOf(measured))
}

// The warning before a test names the limit and what would be decided, as the
// plan does; a procedure may have it refused. Every limit is looked at.
func TestUnresolvableLimitsAreWarnedOfOrRefused(t *testing.T) {
	dir := craneFolder(t)
	b, err := bench.Load(filepath.Join(dir, "bench.toml"))
	require.NoError(t, err)
	load := func(unresolvable string, limits ...string) *procedure.Procedure {
		text, err := os.ReadFile(filepath.Join(dir, "hold.toml"))
		require.NoError(t, err)
		head, _, ok := strings.Cut(string(text), "[[limit]]")
		require.True(t, ok)
		require.NotContains(t, head, "unresolvable")
		head = `unresolvable = "` + unresolvable + "\"\n" + head
		path := filepath.Join(dir, "made.toml")
		require.NoError(t, os.WriteFile(path, []byte(head+"\n"+strings.Join(limits, "\n")), 0o666))
		p, err := procedure.Load(path)
		require.NoError(t, err)
		return p
	}
	limit := func(quantity, bound, value string) string {
		return "[[limit]]\nquantity = \"" + quantity + "\"\n" + bound + " = \"" + value + "\"\n"
	}
	position, err := choosePosition(b, "")
	require.NoError(t, err)

	var said bytes.Buffer
	require.NoError(t, warnUnresolvable(&said, b, load("warn", limit("decay_rate", "max", "0.5 bar/min"), limit("pressure_end", "min", "95 bar")), position))
	assert.Empty(t, said.String())

	tight := []string{limit("drop", "max", "0.01 bar"), limit("pressure_end", "min", "99.9999 bar"), limit("leak_rate", "max", "0.001 bar/min")}
	require.NoError(t, warnUnresolvable(&said, b, load("warn", tight...), position))
	for _, want := range []string{
		`made.toml: circuit a: this 5 min hold decides reliably at least `, `; the limit on drop is 0.01 bar (assumed: the temperature changes by 0.2 K; temperature_swing in the procedure states it); see holdbench plan`,
		`this 5 min hold decides reliably at most `, ` below the test pressure; the limit on pressure_end is 99.9999 bar`,
		`circuit a: the limit on leak_rate is 0.001 bar/min; INCONCLUSIVE is to be expected: settling`,
	} {
		assert.Contains(t, said.String(), want)
	}
	assert.Equal(t, 3, strings.Count(said.String(), "warning: "))

	said.Reset()
	err = warnUnresolvable(&said, b, load("refuse", tight...), position)
	require.Error(t, err)
	assert.Equal(t, 2, strings.Count(err.Error(), "circuit a: found "), err.Error())
	for _, want := range []string{"the limit on pressure_end is", "the limit on leak_rate is", `or unresolvable = "warn"; see holdbench plan`} {
		assert.Contains(t, err.Error(), want)
	}
	assert.Contains(t, said.String(), "the limit on drop is 0.01 bar")
	assert.Contains(t, said.String(), "not refused, because that rests on the assumption")

	// A swing that the procedure states is no assumption.
	said.Reset()
	err = warnUnresolvable(&said, b, load("refuse\"\ntemperature_swing = \"0.2 K", tight...), position)
	require.Error(t, err)
	assert.Equal(t, 3, strings.Count(err.Error(), "circuit a: found "))
	assert.NotContains(t, err.Error(), "assumed")
	assert.Empty(t, said.String())
}
