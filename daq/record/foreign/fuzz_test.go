package foreign

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/daq/strict"
)

// No file makes it panic, what it refuses it refuses in its own words, and
// what it reads keeps what File promises, and comes again with the settings
// that it resolved.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob(filepath.Join(loggers, "*"))
	require.NoError(f, err)
	for _, path := range files {
		text, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(text, "", "")
	}
	f.Add([]byte("a,b\n1,2\n2,3\n"), "a", "b [bar]")
	f.Add([]byte("0"), "d", "p [\xfd\xfda]")
	f.Fuzz(func(t *testing.T, text []byte, time, trapped string) {
		var s Settings
		s.Columns[Time], s.Columns[TrappedA] = ParseColumn(time), ParseColumn(trapped)
		file, err := ReadFrom("x.csv", bytes.NewReader(text), int64(len(text)), s)
		if err != nil {
			var fault *strict.Error
			require.ErrorAs(t, err, &fault)
			return
		}
		checkInvariants(t, file)
		again, err := ReadFrom("x.csv", bytes.NewReader(text), int64(len(text)), file.Settings)
		require.NoError(t, err)
		require.Len(t, again.Series.Columns, len(file.Series.Columns))
		for i, c := range file.Series.Columns {
			require.Equal(t, c.Time, again.Series.Columns[i].Time)
			require.Equal(t, bitsOf(c.Value), bitsOf(again.Series.Columns[i].Value))
		}
	})
}

// What is read as a number is read the same by both ways, and is the nearest.
func FuzzNumber(f *testing.F) {
	for _, text := range []string{"1.5", "-0.001", "1e22", "123456789012345678", "1.7976931348623157e308", "4.9e-324", "9.9e37"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		cell := trim([]byte(text))
		x, ok := parseNumber(cell, '.')
		if !ok || math.IsNaN(x) {
			return
		}
		require.False(t, math.IsInf(x, 0))
		require.Equal(t, math.Float64bits(slowFloat(bytes.Replace(bytes.TrimPrefix(cell, []byte("+")), minusSign, []byte("-"), 1), '.')), math.Float64bits(x))
	})
}

// What settings print, they parse to.
func FuzzColumn(f *testing.F) {
	for _, text := range []string{"p [bar]", "3", "[°C]", "a [b] c", "none", " x "} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c := ParseColumn(text)
		require.Equal(t, c, ParseColumn(c.String()))
	})
}
