package foreign

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

func fullSettings() Settings {
	return Settings{
		Columns: [Roles]Column{
			Time: {Name: "Uhrzeit"}, Date: {Number: 1}, TrappedA: {Name: `p "x" \ y`, Unit: "bar(a)"}, TrappedB: {Number: 4, Unit: "psi"},
			Feed: {Name: None}, Temperature: {Unit: "°C"}, Ambient: {Name: "Raum"},
		},
		Delimiter: "semicolon", Decimal: "comma", Encoding: "windows-1252", HeaderLine: 7, TimeFormat: "dmy", Zone: "+01:00",
		Absolute: true, AmbientPressure: 100325.5, AmbientPressureU: 250, NoReading: []string{"Err", "-"},
	}
}

// Law: what is saved is loaded.
func TestSettingsRoundTrip(t *testing.T) {
	for _, s := range []Settings{{}, fullSettings(), {HeaderLine: NoHeader}, {Absolute: true, AmbientPressure: 99000}, {Columns: [Roles]Column{Feed: {Number: 3}}}} {
		path := filepath.Join(t.TempDir(), "logger.toml")
		require.NoError(t, SaveSettings(path, s))
		loaded, err := LoadSettings(path)
		require.NoError(t, err)
		assert.Equal(t, s, loaded)
	}
}

// A settings file has tables of others.
func TestSettingsFileHasTablesOfOthers(t *testing.T) {
	path := filepath.Join(t.TempDir(), "logger.toml")
	require.NoError(t, SaveSettings(path, fullSettings(), func(w io.Writer) error {
		_, err := fmt.Fprintln(w, "\n[judge]\nstiffness = \"20 bar/mL\"")
		return err
	}))
	stiffness := 0.0
	loaded, err := LoadSettings(path, func(root *strict.Table) {
		stiffness = root.Required("judge").Table().Required("stiffness").Quantity(si.Stiffness)
	})
	require.NoError(t, err)
	assert.Equal(t, fullSettings(), loaded)
	assert.InDelta(t, 20e5/1e-6, stiffness, 1)
	_, err = LoadSettings(path)
	assert.EqualError(t, err, path+`:25: judge: found an unknown key, want "logger"`)
}

func TestSettingsFileFaults(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"delimiter = \"|\"", `:2: logger: delimiter: found "|", want "comma" or "semicolon" or "tab"`},
		{"decimal = \",\"", `:2: logger: decimal: found ",", want "point" or "comma"`},
		{"encoding = \"latin\"", `:2: logger: encoding: found "latin", want "utf-8" or "utf-16le" or "utf-16be" or "windows-1252"`},
		{"time_format = \"us\"", `:2: logger: time_format: found "us", want "dmy" or "mdy" or "ymd" or "hh:mm" or "mm:ss"`},
		{"header_line = 0", `:2: logger: header_line: found 0, want a whole number from 1 to 1000`},
		{"header_line = \"third\"", `:2: logger: header_line: found "third", want a line number, or "none"`},
		{"zone = \"Atlantis\"", `:2: logger: zone: found "Atlantis", want an offset or a name that this machine knows, e.g. "+01:00" or "Europe/Berlin"`},
		{"pressure = \"high\"", `:2: logger: pressure: found "high", want "gauge" or "absolute"`},
		{"ambient_pressure = 1013", `:2: logger: ambient_pressure: found 1013, want a pressure with unit, e.g. "1013 bar"`},
		{"no_reading = \"Err\"", `:2: logger: no_reading: found "Err", want words in quotes, e.g. ["Err"]`},
		{"colums = 1", `:2: logger: colums: found an unknown key, want "columns"?`},
		{"[logger.columns]\ntrapped = \"p\"", `:3: logger: columns: trapped: found an unknown key, want "trapped_a"?`},
		{"[logger.columns]\nfeed = 0", `:3: logger: columns: feed: found 0, want a whole number from 1 to 10000`},
		{"[logger.columns]\nfeed = \"p [stone]\"", `:3: logger: columns: feed: found "p [stone]", want a name or number and a unit of time, pressure or temperature, e.g. "p1 [bar]"`},
	} {
		path := filepath.Join(t.TempDir(), "logger.toml")
		require.NoError(t, os.WriteFile(path, []byte("[logger]\n"+c.text+"\n"), 0o666))
		_, err := LoadSettings(path)
		assert.EqualError(t, err, path+c.want)
		var fault *strict.Error
		assert.ErrorAs(t, err, &fault)
	}
	_, err := LoadSettings(filepath.Join(t.TempDir(), "no.toml"))
	assert.ErrorContains(t, err, "found no such file, want a settings file")
}
