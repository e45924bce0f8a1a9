package link_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/link"
)

// V: MODBUS over Serial Line V1.02, 2.5.1.1: 3.5 characters of 11 bits up to
// 19 200 bit/s, 1750 µs above; the 10-bit columns are C. Durations are cut to
// whole nanoseconds.
func TestSilentIntervalOfTheSpecification(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "testdata", "modbus", "timing.csv"))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 13)
	require.Equal(t, []string{"baud", "character_us", "t1_5_us", "t3_5_us", "character_10_bit_us", "t3_5_10_bit_us"}, rows[0])
	for _, row := range rows[1:] {
		baud, err := strconv.Atoi(row[0])
		require.NoError(t, err)
		for _, c := range []struct {
			want string
			got  time.Duration
		}{
			{row[1], link.CharacterTime(baud, 11)},
			{row[3], link.SilentInterval(baud, 11)},
			{row[4], link.CharacterTime(baud, 10)},
			{row[5], link.SilentInterval(baud, 10)},
		} {
			want, err := strconv.ParseFloat(c.want, 64)
			require.NoError(t, err)
			assert.LessOrEqual(t, math.Abs(want-float64(c.got)/1e3), 0.0011, "%d bit/s: %s µs", baud, c.want)
		}
	}
}

func TestBitsOfACharacter(t *testing.T) {
	for want, c := range map[int]link.Config{
		9:  {DataBits: 7, Parity: "none", StopBits: 1},
		10: {},
		11: {DataBits: 8, Parity: "even", StopBits: 1},
		12: {DataBits: 8, Parity: "odd", StopBits: 2},
	} {
		assert.Equal(t, want, c.Bits())
	}
	assert.Zero(t, link.Config{}.SilentInterval(), "no line, no silence")
}
