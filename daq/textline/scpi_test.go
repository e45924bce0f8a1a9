package textline

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

// published returns the rows of a file of testdata/signals without its header.
func published(t *testing.T, name string) [][]string {
	f, err := os.Open(filepath.Join("../../testdata/signals", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1)
	return rows[1:]
}

// health of a number that stands for none.
func health(x float64) daq.Health {
	switch {
	case math.IsNaN(x):
		return daq.Invalid
	case math.IsInf(x, 1):
		return daq.OverRange
	case math.IsInf(x, -1):
		return daq.UnderRange
	}
	return daq.Healthy
}

func TestNumericResponses(t *testing.T) {
	for _, row := range published(t, "scpi-numeric-responses.csv") {
		want, err := strconv.ParseFloat(row[2], 64)
		require.NoError(t, err)
		for _, text := range []string{row[0], row[0] + " ", " " + row[0], strings.ToLower(row[0])} {
			dst := make([]daq.Signal, 1)
			require.NoError(t, Format{Separator: ","}.Read(text, columns(1), dst), text)
			assert.Equal(t, health(want), dst[0].Health, text)
			if health(want) == daq.Healthy {
				assert.Equal(t, want, dst[0].Raw, text)
			}
		}
	}
}

func TestSpecialValues(t *testing.T) {
	want := map[string]daq.Health{"INFinity": daq.OverRange, "NINFinity": daq.UnderRange, "NAN": daq.Invalid}
	for _, row := range published(t, "scpi-special-values.csv") {
		dst := make([]daq.Signal, 1)
		require.NoError(t, Format{}.Read(row[1], columns(1), dst))
		assert.Equal(t, want[row[0]], dst[0].Health, row[0])
		delete(want, row[0])
	}
	assert.Empty(t, want)
}

func TestBlocksAndOtherResponses(t *testing.T) {
	seen := 0
	for _, row := range published(t, "ieee4882-blocks.csv") {
		dst := make([]daq.Signal, 1)
		err := Format{Separator: ","}.Read(row[1], columns(1), dst)
		switch row[0] {
		case "definite_block_example", "definite_block_example_2", "indefinite_block_start":
			require.ErrorIs(t, err, ErrBlock, row[0])
		case "boolean_true":
			assert.Equal(t, daq.Signal{Raw: 1}, dst[0])
		case "boolean_false":
			assert.Equal(t, daq.Signal{Raw: 0}, dst[0])
		case "string_response", "hex_prefix", "octal_prefix", "binary_prefix":
			require.Error(t, err, row[0])
		default:
			continue
		}
		seen++
	}
	assert.Equal(t, 9, seen)
}
