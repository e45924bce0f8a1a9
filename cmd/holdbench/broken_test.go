package main

import (
	"encoding/json"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/record"
	"holdbench/daq/simbench"
	"holdbench/report/result"
)

// breakages are deliberate mistakes in what judges. Each one replaces a piece
// of source that stands exactly once in its file, while the program is built;
// nothing of it is in the program. It must turn at least one demo verdict, or
// turn the named test red.
var breakages = []struct {
	name, file string
	old, new   string
	// red is a package and a test that must fail, where the demo's noise is
	// too tame to show the mistake.
	pkg, test string
}{
	{name: "compensation off", file: "analysis/decay/temperature.go",
		old: "compensated[i] = p - b*(tf-tf0)", new: "compensated[i] = p - 0*b*(tf-tf0)"},
	{name: "sign of the thermal coefficient turned", file: "analysis/decay/temperature.go",
		old: "compensated[i] = p - b*(tf-tf0)", new: "compensated[i] = p + b*(tf-tf0)"},
	{name: "limit ignored", file: "analysis/verdict/decide.go",
		old: "excess := x - l.Value", new: "excess := 0*x - max(l.Value, 1)"},
	{name: "autocorrelation ignored", file: "analysis/decay/line.go",
		old: "u *= inflation", new: "u *= max(1, 0*inflation)",
		pkg: "./analysis", test: "^TestCoverageWithAutocorrelatedNoise$"},
	{name: "validity gate off", file: "analysis/assess.go",
		old: "if len(invalid) > 0 {", new: "if len(invalid) > 1000 {"},
	{name: "guard band forgotten", file: "analysis/verdict/decide.go",
		old: "return uncertainty.T(1-risk, e.DegreesOfFreedom) * e.StdUncertainty", new: "return 0 * uncertainty.T(1-risk, e.DegreesOfFreedom)"},
}

// demoOnce makes the demo's recordings once for all tests of the package.
var demoOnce = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "holdbench-demo")
	if err != nil {
		return "", err
	}
	var code int
	root := newRoot(&code)
	root.SetArgs([]string{"demo", "--out", filepath.Join(dir, "demo")})
	root.SetOut(&strings.Builder{})
	if err := root.Execute(); err != nil {
		return "", err
	}
	return filepath.Join(dir, "demo"), nil
})

// demoRecordings copies the demo's recordings to a folder of the test's own.
func demoRecordings(t *testing.T) []string {
	t.Helper()
	made, err := demoOnce()
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "demo")
	require.NoError(t, os.CopyFS(dir, os.DirFS(made)))
	found, err := filepath.Glob(filepath.Join(dir, "*", "datapackage.json"))
	require.NoError(t, err)
	require.Len(t, found, len(simbench.CraneLot()))
	for i := range found {
		found[i] = filepath.Dir(found[i])
	}
	return found
}

// verdicts reads "VERDICT valid" of each recording's result of that name.
func verdicts(t *testing.T, recordings []string, name string) []string {
	t.Helper()
	var out []string
	for _, dir := range recordings {
		text, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		var r result.Result
		require.NoError(t, json.Unmarshal(text, &r))
		out = append(out, r.Verdict+map[bool]string{true: " valid", false: " invalid"}[r.Circuits[0].Tests[0].Valid])
	}
	return out
}

// overlay writes the file that makes go build see a broken source.
func overlay(t *testing.T, root, file, old, new string) string {
	t.Helper()
	dir := t.TempDir()
	path := filepath.Join(root, filepath.FromSlash(file))
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(text), old), "%s no longer has %q exactly once: mend the breakage", file, old)
	broken := filepath.Join(dir, "broken.go")
	require.NoError(t, os.WriteFile(broken, []byte(strings.Replace(string(text), old, new, 1)), 0o666))
	list, err := json.Marshal(map[string]any{"Replace": map[string]string{path: broken}})
	require.NoError(t, err)
	name := filepath.Join(dir, "overlay.json")
	require.NoError(t, os.WriteFile(name, list, 0o666))
	return name
}

func TestBreakingTheJudgementTurnsAVerdict(t *testing.T) {
	t.Parallel() // beside tests that wait for the wall clock
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	for _, b := range breakages {
		t.Run(b.name, func(t *testing.T) {
			list := overlay(t, root, b.file, b.old, b.new)
			if b.test != "" {
				cmd := exec.Command("go", "test", "-count=1", "-overlay", list, "-run", b.test, b.pkg)
				cmd.Dir = root
				out, err := cmd.CombinedOutput()
				require.Error(t, err, "%s stays green: %s", b.test, out)
				require.Contains(t, string(out), "--- FAIL", "it must fail, not merely not build: %s", out)
				return
			}
			program := filepath.Join(t.TempDir(), "holdbench-broken.exe")
			cmd := exec.Command("go", "build", "-overlay", list, "-o", program, "./cmd/holdbench")
			cmd.Dir = root
			out, err := cmd.CombinedOutput()
			require.NoError(t, err, string(out))
			recordings := demoRecordings(t)
			before := verdicts(t, recordings, "result.json")
			// Its exit code is that of a verdict; only the results count here.
			out, err = exec.Command(program, append([]string{"assess"}, recordings...)...).CombinedOutput()
			var exit *exec.ExitError
			if err != nil {
				require.ErrorAs(t, err, &exit, string(out))
			}
			after := verdicts(t, recordings, "result-2.json")
			assert.NotEqual(t, before, after, "no demo verdict turned")
			t.Logf("before %q", before)
			t.Logf("after  %q", after)
		})
	}
}

// The unbroken program must say again what it said.
func TestReassessmentEqualsTheRunBitForBit(t *testing.T) {
	for _, dir := range demoRecordings(t) {
		_, err := judgeFolder(dir, styleOf(t, "bar,°C"), reassessment, record.SourceFile{})
		require.NoError(t, err)
		assert.Equal(t, withoutAssessment(t, filepath.Join(dir, "result.json")), withoutAssessment(t, filepath.Join(dir, "result-2.json")))
		leftovers, err := fs.Glob(os.DirFS(dir), "*.tmp*")
		require.NoError(t, err)
		assert.Empty(t, leftovers)
	}
}

// withoutAssessment is a result's text without the assessment's own time and
// number, which stand at its end.
func withoutAssessment(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	head, _, found := strings.Cut(string(text), `"assessment": {`)
	require.True(t, found)
	return head
}
