package procedure_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/daq/procedure"
)

func TestExampleFileLoads(t *testing.T) {
	p, err := procedure.Load("testdata/hv-1.toml")
	require.NoError(t, err)
	t.Logf("%+v", p)
}
