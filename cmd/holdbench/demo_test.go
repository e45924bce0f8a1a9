package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/simbench"
	"holdbench/report/result"
)

func styleOf(t *testing.T, units string) style {
	t.Helper()
	f := styleFlags{units: units, paper: "Letter"}
	s, err := f.parse()
	require.NoError(t, err)
	return s
}

// accepted checks a result file against the published schema, by a library
// that knows nothing of holdbench.
func accepted(t *testing.T, path string) {
	t.Helper()
	schema, err := jsonschema.UnmarshalJSON(bytes.NewReader(result.Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("urn:holdbench:result:1", schema))
	compiled, err := c.Compile("urn:holdbench:result:1")
	require.NoError(t, err)
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	value, err := jsonschema.UnmarshalJSON(f)
	require.NoError(t, err)
	require.NoError(t, compiled.Validate(value), path)
}

func TestDemoVerdictsAreTheScenarios(t *testing.T) {
	recordings := demoRecordings(t)
	bySerial := map[string]string{}
	for _, dir := range recordings {
		path := filepath.Join(dir, "result.json")
		accepted(t, path)
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		var r result.Result
		require.NoError(t, json.Unmarshal(text, &r))
		bySerial[r.SerialNumber] = dir
		for _, u := range simbench.CraneLot() {
			if u.Serial == r.SerialNumber {
				assert.True(t, demoRow{u, &r}.asExpected(), "%s %s", u.Serial, r.Verdict)
			}
		}
		assert.Equal(t, "vented", r.Vented.State)
	}
	assert.Len(t, bySerial, len(simbench.CraneLot()))
}

// The scenario's point: without compensation the cooling good unit would
// fail, and the warming leaker would pass.
func TestDemoRawPressureWouldMislead(t *testing.T) {
	const limit = 0.5e5 / 60
	for _, dir := range demoRecordings(t) {
		text, err := os.ReadFile(filepath.Join(dir, "result.json"))
		require.NoError(t, err)
		var r result.Result
		require.NoError(t, json.Unmarshal(text, &r))
		raw := r.Circuits[0].Tests[0].Diagnostics.RawRate
		require.NotNil(t, raw)
		switch r.SerialNumber {
		case "HV1-00103":
			assert.Greater(t, *raw, limit, "the cooling good unit's raw drop alone would fail it")
		case "HV1-00104":
			assert.Less(t, *raw, limit, "the warming leaker's raw pressure looks fine")
		}
	}
}

// What the screen says at the end of the hold is what the result says later,
// to the last digit shown.
func TestDemoLiveVerdictIsTheLaterOne(t *testing.T) {
	var screen strings.Builder
	var code int
	root := newRoot(&code)
	root.SetArgs([]string{"demo", "--out", filepath.Join(t.TempDir(), "demo"), "--seed", "2"})
	root.SetOut(&screen)
	require.NoError(t, root.Execute())
	shown := map[string][]string{}
	for line := range strings.Lines(screen.String()) {
		if line = strings.TrimSpace(line); strings.Contains(line, ", limit max ") {
			shown[line] = append(shown[line], line)
		}
	}
	require.NotEmpty(t, shown)
	for line, times := range shown {
		assert.Zero(t, len(times)%2, "shown live and later: %s", line)
	}
}

// The same seed gives the same results, whichever way the instruments are
// reached.
func TestDemoSameSeedSameResults(t *testing.T) {
	first := demoRecordings(t)
	again := filepath.Join(t.TempDir(), "again")
	var code int
	root := newRoot(&code)
	root.SetArgs([]string{"demo", "--out", again, "--tcp"})
	root.SetOut(&strings.Builder{})
	require.NoError(t, root.Execute())
	require.Zero(t, code)
	for _, dir := range first {
		same := filepath.Join(again, filepath.Base(dir))
		assert.Equal(t, withoutAssessment(t, filepath.Join(dir, "result.json")), withoutAssessment(t, filepath.Join(same, "result.json")))
	}
}

// readResult reads a result and holds it against the schema.
func readResult(t *testing.T, path string) result.Result {
	t.Helper()
	accepted(t, path)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	var r result.Result
	require.NoError(t, json.Unmarshal(text, &r))
	return r
}
