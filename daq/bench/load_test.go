package bench_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
)

func TestExampleFileLoads(t *testing.T) {
	b, err := bench.Load("testdata/bench.toml")
	require.NoError(t, err)
	t.Logf("%+v", b)
}
