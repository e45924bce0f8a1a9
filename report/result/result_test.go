package result

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/record/foreign"
)

// line is an invented record: 100 bar and falling by rate (bar/s).
func line(rate float64) *foreign.File {
	var c, temperature series.Column
	c.Name, c.Quantity = "trapped_a", si.Pressure
	temperature.Name, temperature.Quantity = "temperature", si.Temperature
	for i := range 600 {
		at := float64(i) / 2
		c.Time, c.Value = append(c.Time, at), append(c.Value, 1e5*(100-rate*at)+float64(i*7919%13)*100)
		temperature.Time = c.Time
		temperature.Value = append(temperature.Value, 293.15+0.001*float64(i%3))
	}
	return &foreign.File{
		Name: "folder/unit 7.csv", Hash: "sha256:" + string(bytes.Repeat([]byte("ab"), 32)),
		Series: series.Series{Columns: []series.Column{c, temperature}}, Headers: map[string]string{"trapped_a": "p [bar]", "temperature": "T [degC]"},
	}
}

func limited(t *testing.T, text string) FileOptions {
	t.Helper()
	l, err := verdict.Parse(text, 0)
	require.NoError(t, err)
	return FileOptions{Options: Options{Number: 1, Program: "test"}, Limits: []verdict.Limit{l}}
}

// compiled is the published schema in a library that knows nothing of us.
func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("result", text))
	s, err := c.Compile("result")
	require.NoError(t, err)
	return s
}

func valid(t *testing.T, s *jsonschema.Schema, r *Result) error {
	t.Helper()
	var text bytes.Buffer
	require.NoError(t, Encode(&text, r))
	value, err := jsonschema.UnmarshalJSON(&text)
	require.NoError(t, err)
	return s.Validate(value)
}

func TestFileResultsKeepToTheSchema(t *testing.T) {
	s := compiled(t)
	for _, text := range []string{"decay_rate 0.2 bar/min", "leak_rate 0.2 bar/min", "pressure_end min 95 bar", "pressure_after 10 min 95 bar", "time_constant min 3 h"} {
		a := AssessFile(line(0.0005), limited(t, text))
		require.NoError(t, valid(t, s, a.Result), text)
		assert.Equal(t, "unit 7", a.Result.SerialNumber)
		assert.Equal(t, analysis.HoldWhole, a.Result.Circuits[0].Tests[0].Found.Method)
	}
}

func TestAnOrificesResultKeepsToTheSchema(t *testing.T) {
	f := line(0)
	c := f.Series.Columns[0]
	for i, at := range c.Time {
		left := 1 - at/1200
		c.Value[i] += 100e5 * (left*left - 1)
	}
	a := AssessFile(f, limited(t, "decay_rate 0.2 bar/min"))
	require.Equal(t, decay.Orifice, a.Result.Circuits[0].Tests[0].Diagnostics.Law)
	require.NoError(t, valid(t, compiled(t), a.Result))
}

// The schema must be able to say no.
func TestSchemaRefusesWhatIsNoResult(t *testing.T) {
	s := compiled(t)
	for name, spoil := range map[string]func(*Result){
		"a verdict that is none":       func(r *Result) { r.Verdict = "MAYBE" },
		"a hash that is none":          func(r *Result) { r.Recording.Hashes["x"] = "md5:1" },
		"a missing estimate":           func(r *Result) { delete(r.Circuits[0].Tests[0].Estimates, "drop") },
		"an absence without reason":    func(r *Result) { r.Circuits[0].Tests[0].Estimates["drop"] = Estimate{Unit: "Pa"} },
		"a risk above a half":          func(r *Result) { r.Circuits[0].Tests[0].Limits[0].RiskPass = 0.7 },
		"an assessment without number": func(r *Result) { r.Assessment.Number = 0 },
	} {
		a := AssessFile(line(0.0005), limited(t, "decay_rate 0.2 bar/min"))
		spoil(a.Result)
		assert.Error(t, valid(t, s, a.Result), name)
	}
}

func TestFileVerdictFollowsTheLimit(t *testing.T) {
	const rate = 0.005 // bar/s, 0.3 bar/min
	o := limited(t, "decay_rate 0.5 bar/min")
	assert.Equal(t, "PASS", AssessFile(line(rate), o).Result.Verdict)
	o.Limits[0].Value = 0.1e5 / 60
	assert.Equal(t, "FAIL", AssessFile(line(rate), o).Result.Verdict)
	o.Limits = nil
	none := AssessFile(line(rate), o).Result
	assert.Equal(t, "INCONCLUSIVE", none.Verdict)
	assert.Contains(t, none.Reasons, analysis.ReasonNoLimit)
}

func TestAnExistingResultIsNeverReplaced(t *testing.T) {
	dir := t.TempDir()
	r := AssessFile(line(0.0005), limited(t, "decay_rate 0.2 bar/min")).Result
	for want := 1; want <= 3; want++ {
		n, err := NextNumber(dir)
		require.NoError(t, err)
		require.Equal(t, want, n)
		r.Assessment.Number = n
		path, err := Write(dir, r)
		require.NoError(t, err)
		require.Equal(t, filepath.Join(dir, FileName(n)), path)
	}
	before, err := os.ReadFile(filepath.Join(dir, "result.json"))
	require.NoError(t, err)
	r.Assessment.Number = 1
	_, err = Write(dir, r)
	require.ErrorIs(t, err, fs.ErrExist)
	after, err := os.ReadFile(filepath.Join(dir, "result.json"))
	require.NoError(t, err)
	require.Equal(t, before, after)

	require.NoError(t, os.WriteFile(filepath.Join(dir, "result-99999999999999999999.json"), nil, 0o666))
	n, err := NextNumber(dir)
	require.NoError(t, err)
	require.Equal(t, 4, n, "a number that is none of ours does not count")
}

func TestAnEstimateHasOneOfTwoShapes(t *testing.T) {
	known, err := json.Marshal(Estimate{Value: number(1), Unit: "Pa", U: number(2)})
	require.NoError(t, err)
	assert.JSONEq(t, `{"value":1,"unit":"Pa","u":2,"dof":null,"low":null,"high":null}`, string(known))
	absent, err := json.Marshal(Estimate{Unit: "Pa", Reason: "why"})
	require.NoError(t, err)
	assert.JSONEq(t, `{"value":null,"unit":"Pa","reason":"why"}`, string(absent))
}

func TestOnlyDamageForbidsAVerdict(t *testing.T) {
	assert.Empty(t, damage([]string{"torn end: readings.csv: line 7 left out (3 bytes): the last row is not whole"}))
	assert.Len(t, damage([]string{"readings.csv: damaged: line 7 left out", "readings.csv: changed since it was closed: sha256 1"}), 2)
}
