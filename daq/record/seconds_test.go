package record

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSecondsAreWrittenExactly(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0", 1: "0.000000001", 100 * time.Millisecond: "0.1", 12500 * time.Millisecond: "12.5",
		time.Hour: "3600", math.MaxInt64: "9223372036.854775807", 1000000010: "1.00000001",
	} {
		require.Equal(t, want, string(appendSeconds(nil, d)))
	}
}

func TestSecondsReadBackToTheSameDuration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, int64(maxSeconds-1)*1e9).Draw(t, "d"))
		text := appendSeconds(nil, d)
		back, ok := parseSeconds(text)
		require.True(t, ok)
		require.Equal(t, d, back)
		require.Equal(t, math.Float64bits(d.Seconds()), math.Float64bits(Seconds(back)))
	})
}

// Who reads the file with another program gets the nearest float64, which may
// be the neighbour of ours, and no shorter text would do.
func TestSecondsMeanTheSameToOtherPrograms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, 1e6*1e9-1).Draw(t, "d"))
		text := string(appendSeconds(nil, d))
		x, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		require.LessOrEqual(t, math.Abs(x-Seconds(d)), math.Nextafter(x, math.Inf(1))-x)
		require.Equal(t, strconv.FormatFloat(x, 'f', -1, 64), text)
	})
}

func TestSecondsRefuseWhatIsNone(t *testing.T) {
	for _, text := range []string{
		"", ".", "1.", ".5", "-1", "+1", "1e3", " 1", "1 ", "1.0000000001", "1,5", "0x1", "99999999999", "9223372036.854775808", "1.2.3", "NaN",
	} {
		_, ok := parseSeconds([]byte(text))
		require.False(t, ok, text)
	}
}
