package record

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
)

func TestChallengeReadsBackAsItWas(t *testing.T) {
	m := testMeta()
	m.Challenge = &Challenge{Code: "K-17", Circuit: "a",
		Known: Leak{Value: 1.0 / 3e-3, U: 0.1, Quantity: si.PressureRate, Written: "0.2 ± 0.01 bar/min"},
		Own:   Leak{Value: 1e-12 / 7, Quantity: si.VolumeFlow, Written: "0", Source: "run 3"}}
	dir := filepath.Join(t.TempDir(), "r")
	w, err := Create(dir, m)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	r, err := Open(dir)
	require.NoError(t, err)
	assert.Equal(t, m.Challenge, r.Meta.Challenge)

	path := filepath.Join(dir, packageFile)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(text), `"quantity": "volume flow"`, `"quantity": "time"`, 1)), 0o600))
	_, err = Open(dir)
	assert.EqualError(t, err, path+`: challenge: own: quantity: found "time", want "pressure rate" or "volume flow"`)

	m.Challenge.Known.Value = math.NaN()
	_, err = Create(filepath.Join(t.TempDir(), "n"), m)
	assert.ErrorContains(t, err, `recording: challenge "K-17": a leak of NaN ± 0.1`)
}
