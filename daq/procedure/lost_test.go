package procedure_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/procedure"
)

func TestWhatBecomesOfATestThatLosesAnInstrument(t *testing.T) {
	text, err := os.ReadFile("testdata/hv-1.toml")
	require.NoError(t, err)
	const key = `on_lost_instrument = "continue"`
	require.Contains(t, string(text), key)
	for keys, want := range map[string]time.Duration{
		"":                             0,
		key:                            0,
		`on_lost_instrument = "abort"`: 10 * time.Second,
		"on_lost_instrument = \"abort\"\nlost_after = \"1 min\"": time.Minute,
	} {
		p, err := procedure.Parse("hv-1.toml", []byte(strings.Replace(string(text), key, keys, 1)))
		require.NoError(t, err, keys)
		assert.Equal(t, want, p.LostAfter, keys)
	}
}
