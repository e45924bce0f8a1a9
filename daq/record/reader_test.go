package record

import (
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/strict"
)

func TestOpenSaysWhatIsNoRecording(t *testing.T) {
	for name, test := range map[string]struct {
		text string
		want string
	}{
		"no JSON":         {"{\n\n]", `datapackage.json:3: found text that is no JSON from here on`},
		"empty":           {"", `found text that is no JSON from here on`},
		"another package": {`{"profile": "tabular-data-package"}`, `: holdbench: found nothing, want what makes a data package a recording`},
		"wrong type":      {"{\n\"holdbench\":\n{\"version\": \"x\"}}", `datapackage.json:3: found a string where something else belongs`},
		"no version":      {`{"holdbench": {"state": "open"}}`, `: version: found 0, want 1 or more`},
		"unknown state":   {`{"holdbench": {"version": 1, "state": "ajar"}}`, `: state: found "ajar", want "open" or "closed"`},
		"unknown quantity": {`{"holdbench": {"version": 1, "state": "open", "channels": [{"name": "p", "quantity": "taste"}]}}`,
			`: channel "p": quantity: found "taste", want a quantity, e.g. "pressure"`},
		"bad interval": {`{"holdbench": {"version": 1, "state": "open", "channels": [{"name": "p", "quantity": "pressure", "interval": -1}]}}`,
			`: channel "p": interval: found "-1", want a number of seconds`},
		"two alike": {`{"holdbench": {"version": 1, "state": "open", "channels": [` +
			`{"name": "p", "quantity": "pressure", "interval": 1, "instrument": "m"}, {"name": "p", "quantity": "pressure", "interval": 1, "instrument": "m"}]}}`,
			`: channels: found recording: two columns named "p [Pa]"`},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, packageFile), []byte(test.text), 0o666))
			_, err := Open(dir)
			var fault *strict.Error
			require.ErrorAs(t, err, &fault)
			require.Contains(t, err.Error(), test.want)
			require.True(t, strings.HasPrefix(err.Error(), filepath.Join(dir, packageFile)), err.Error())
		})
	}
}

func TestOpenSaysWhatIsMissing(t *testing.T) {
	c := newCrashed(t, true)
	require.NoError(t, os.Remove(filepath.Join(c.dir, packageFile)))
	for _, dir := range []string{c.dir, t.TempDir(), filepath.Join(t.TempDir(), "nowhere")} {
		_, err := Open(dir)
		require.ErrorIs(t, err, fs.ErrNotExist)
		require.Equal(t, filepath.Join(dir, packageFile)+": found no such file, want the folder of a recording, which has one", err.Error())
	}
}

func TestOpenRefusesANewerFormat(t *testing.T) {
	c := newCrashed(t, true)
	text := strings.Replace(string(c.read(t, packageFile)), `"version": 1`, `"version": 2`, 1)
	c.put(t, packageFile, []byte(text))
	_, err := Open(c.dir)
	require.ErrorIs(t, err, ErrNewer)
	require.ErrorContains(t, err, "format version 2, this program reads up to 1")
}

func TestRunningRecordingIsReadUpToItsLastFlush(t *testing.T) {
	w := newRecording(t)
	r, err := Open(w.Dir())
	require.NoError(t, err)
	require.Equal(t, StateOpen, r.State)
	require.True(t, math.IsNaN(r.End()))
	require.Empty(t, r.Findings)
	require.Zero(t, column(t, r.Series(), "oil").Len())

	for i := range 3 {
		require.NoError(t, w.Scan(scanNumber(i)))
		require.NoError(t, w.Flush())
		r, err = Open(w.Dir())
		require.NoError(t, err)
		require.Empty(t, r.Findings)
		readNumbers(t, r, i+1)
		require.Equal(t, Seconds(scanNumber(i).At), r.End())
	}
	require.NoError(t, w.Close())
	hashes := r.Hashes
	r, err = Open(w.Dir())
	require.NoError(t, err)
	require.Equal(t, StateClosed, r.State)
	require.Equal(t, hashes[readingsFile], r.Hashes[readingsFile])
	require.NotEqual(t, hashes[packageFile], r.Hashes[packageFile])
	require.Len(t, r.Hashes, 3)
}

func TestColumnsOfOneInstrumentShareTheirTimes(t *testing.T) {
	c := newCrashed(t, false)
	r, err := Open(c.dir)
	require.NoError(t, err)
	p, u := column(t, r.Series(), "trapped_a"), column(t, r.Series(), "supply")
	require.Same(t, &p.Time[0], &u.Time[0])
	require.Equal(t, 20, u.Len())
}

// One recording of every released version of the format opens for ever.
func TestEveryReleasedVersionOpens(t *testing.T) {
	r, err := Open(filepath.Join("testdata", "version-1"))
	require.NoError(t, err)
	require.Empty(t, r.Findings)
	require.Equal(t, StateClosed, r.State)
	require.Equal(t, testMeta(), r.Meta)
	require.Equal(t, bits([]float64{1e7, math.NaN()}), bits(column(t, r.Series(), "trapped_a").Value))
	require.Equal(t, []float64{24.1, 24}, column(t, r.Series(), "supply").Value)
	require.Equal(t, []float64{293.4}, column(t, r.Series(), "oil").Value)
	require.Equal(t, []daq.Event{
		{Kind: daq.PhaseBegins, Circuit: "a", Subject: "fill"},
		{At: 180e6, Until: 200e6, Kind: daq.Fault, Subject: "trapped_a", Text: "over range"},
		{At: 210e6, Until: 210e6, Kind: daq.Note, Text: "two\nlines, \"quoted\""},
	}, r.Events)
	require.Equal(t, map[string]string{
		packageFile:  hashOfFile(t, "testdata/version-1/datapackage.json"),
		readingsFile: hashOfFile(t, "testdata/version-1/readings.csv"),
		eventsFile:   hashOfFile(t, "testdata/version-1/events.csv"),
	}, r.Hashes)
}

func hashOfFile(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return strict.Hash(text)
}

func TestReplaceFileIsAllOrNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.json")
	hello := func(text string) func(io.Writer) error {
		return func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		}
	}
	require.NoError(t, ReplaceFile(path, hello("one")))
	require.NoError(t, ReplaceFile(path, hello("two")))
	broken := errors.New("broken")
	err := ReplaceFile(path, func(w io.Writer) error {
		return errors.Join(hello("three")(w), broken)
	})
	require.ErrorIs(t, err, broken)
	require.ErrorContains(t, err, "write "+path)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "two", string(text))
	entries, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	require.Len(t, entries, 1, "a temporary file was left")
	require.Error(t, ReplaceFile(filepath.Join(path, "nowhere"), hello("")))
}
