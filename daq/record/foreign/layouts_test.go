package foreign

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var writeLoggers = flag.Bool("loggers", false, "write the files of testdata/loggers again")

const loggers = "../../../testdata/loggers"

// Law: the same hold, written by any logger, is the same series.
func TestEveryLayoutGivesTheSameSeries(t *testing.T) {
	rows := inventedHold()
	for _, row := range layoutRows() {
		t.Run(row.file, func(t *testing.T) {
			path := filepath.Join(loggers, row.file)
			text := row.style.write(t, rows)
			if *writeLoggers {
				require.NoError(t, os.WriteFile(path, text, 0o666))
			}
			kept, err := os.ReadFile(path)
			require.NoError(t, err)
			require.True(t, bytes.Equal(kept, text), "the file is not what the style writes; go test -loggers writes it")

			f, err := Read(path, row.settings)
			require.NoError(t, err)
			assert.Equal(t, row.columns, describeSeries(f))
			assert.Equal(t, row.notes, f.Notes)
			assert.InDelta(t, 0.1, f.Interval, 1e-12)
			assert.InDelta(t, row.origin, f.Origin, 1e-9)
			start := ""
			if !f.Start.IsZero() {
				start = f.Start.Format(time.RFC3339Nano)
			}
			assert.Equal(t, row.start, start)
			wantSeries(t, f, row.style, rows, row.missing)
		})
	}
	assert.GreaterOrEqual(t, len(layoutRows()), 15)
}

// Law: read with the settings that came out, it is the same file; and those
// settings survive being written down.
func TestResolvedSettingsReadTheSame(t *testing.T) {
	for _, row := range layoutRows() {
		t.Run(row.file, func(t *testing.T) {
			path := filepath.Join(loggers, row.file)
			first, err := Read(path, row.settings)
			require.NoError(t, err)

			saved := filepath.Join(t.TempDir(), "logger.toml")
			require.NoError(t, SaveSettings(saved, first.Settings))
			loaded, err := LoadSettings(saved)
			require.NoError(t, err)
			assert.Equal(t, first.Settings, loaded)

			again, err := Read(path, loaded)
			require.NoError(t, err)
			assert.Equal(t, first.Settings, again.Settings)
			assert.Equal(t, len(first.Series.Columns), len(again.Series.Columns))
			for i, c := range first.Series.Columns {
				d := again.Series.Columns[i]
				assert.Equal(t, c.Name, d.Name)
				assert.Equal(t, c.Time, d.Time)
				assert.Equal(t, bitsOf(c.Value), bitsOf(d.Value))
			}
		})
	}
}
