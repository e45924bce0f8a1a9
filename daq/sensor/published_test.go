package sensor_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const published = "../../testdata/"

// rows reads a published table: each row by the names of its columns.
func rows(t *testing.T, file string) []map[string]string {
	f, err := os.Open(published + file)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(all), 1, file)
	var out []map[string]string
	for _, record := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = record[i]
		}
		out = append(out, row)
	}
	return out
}

func number(t *testing.T, text string) float64 {
	x, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return x
}

// half is half the last digit of a figure as printed, and a little for the
// binary halves.
func half(text string) float64 {
	digits := 0
	if _, fraction, ok := strings.Cut(text, "."); ok {
		digits = len(fraction)
	}
	return 0.5 * math.Pow10(-digits) * (1 + 1e-9)
}

const zeroCelsius = 273.15
