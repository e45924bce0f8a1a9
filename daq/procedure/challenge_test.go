package procedure_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/procedure"
)

func TestChallengeIsAskedForOncePerShiftOrATime(t *testing.T) {
	for _, c := range []struct {
		text, unchallenged string
		every              time.Duration
	}{
		{`challenge_every = "shift"`, "warn", 8 * time.Hour},
		{"challenge_every = \"24 h\"\nunchallenged = \"refuse\"", "refuse", 24 * time.Hour},
		{``, "", 0},
	} {
		p, err := procedure.Parse("p.toml", []byte(broken(t, small, `unresolvable = "warn"`, c.text)))
		require.NoError(t, err)
		assert.Equal(t, c.every, p.ChallengeEvery)
		assert.Equal(t, c.unchallenged, p.Unchallenged)
	}
}
