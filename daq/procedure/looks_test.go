package procedure_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/analysis/verdict"
	"holdbench/daq/procedure"
)

// tenths are times in tenths of a second.
func tenths(all ...int) (out []time.Duration) {
	for _, n := range all {
		out = append(out, time.Duration(n)*time.Second/10)
	}
	return out
}

func TestLooksAreFixedOverTheLongestHold(t *testing.T) {
	const minute = time.Minute
	for _, c := range []struct {
		name, hold, early string
		want              []time.Duration
		spending          verdict.Spending
	}{
		{"none", "", "", nil, 0},
		{"default", "", "[early_decision]\n", tenths(300, 545, 791, 1036, 1282, 1527, 1773, 2018, 2264, 2509, 2755, 3000), 0},
		{"counted", "", "[early_decision]\nlooks = 5\nfirst_look = \"1 min\"\nspending = \"obrien-fleming-like\"\n",
			[]time.Duration{minute, 2 * minute, 3 * minute, 4 * minute, 5 * minute}, verdict.OBrienFlemingLike},
		{"the hold's own end takes the nearest one's place", "extend_to = \"9 min\"\n", "[early_decision]\nlooks = 4\nfirst_look = \"1 min\"\n",
			[]time.Duration{minute, 5 * minute, 380 * time.Second, 9 * minute}, 0},
		{"listed, with both ends added", "extend_to = \"9 min\"\n", "[early_decision]\nlooks = [\"30 s\", \"6 min\"]\n",
			[]time.Duration{30 * time.Second, 5 * minute, 6 * minute, 9 * minute}, 0},
		{"extended only", "extend_to = \"9 min\"\n", "",
			[]time.Duration{5 * minute, 6 * minute, 7 * minute, 8 * minute, 9 * minute}, 0},
	} {
		text := broken(t, small, "[phase.fill]", c.early+"[phase.fill]", "[phase.release]", c.hold+"[phase.release]")
		p, err := procedure.Parse("p.toml", []byte(text))
		require.NoError(t, err, c.name)
		if c.want == nil {
			require.Nil(t, p.Looks, c.name)
			continue
		}
		require.Equal(t, &procedure.Looks{Times: c.want, Spending: c.spending}, p.Looks, c.name)
		hold, ok := p.HoldTime()
		require.True(t, ok)
		require.Contains(t, p.Looks.Times, hold)
	}
}
