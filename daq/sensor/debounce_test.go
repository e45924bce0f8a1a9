package sensor

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq"
)

const ms = time.Millisecond

// traced gives a debouncer a reading each millisecond, "0" or "1", "." for one
// that stays away, and returns the edges.
func traced(hold time.Duration, readings string) (edges []Edge) {
	d := Debouncer{Hold: hold}
	for i, c := range readings {
		if c == '.' {
			continue
		}
		if e, ok := d.Take(time.Duration(i)*ms, c == '1'); ok {
			edges = append(edges, e)
		}
	}
	return edges
}

func TestDebouncer(t *testing.T) {
	for _, c := range []struct {
		name, readings string
		hold           time.Duration
		want           []Edge
	}{
		{"steady", "0000000000", 3 * ms, nil},
		{"starts on", "1111111111", 3 * ms, nil},
		{"clean edge", "0000111111", 3 * ms, []Edge{{From: 3 * ms, To: 4 * ms, On: true}}},
		{"without a hold", "0001", 0, []Edge{{From: 2 * ms, To: 3 * ms, On: true}}},
		{"not held for long enough", "0000111", 3 * ms, nil},
		{"just long enough", "00001111", 3 * ms, []Edge{{From: 3 * ms, To: 4 * ms, On: true}}},
		{"spike", "00001100000000", 3 * ms, nil},
		{"chatter counts from the reading that held", "000101100111111", 3 * ms, []Edge{{From: 8 * ms, To: 9 * ms, On: true, Bounces: 2}}},
		{"spike long before is no bounce of it", "00010000000001111", 3 * ms, []Edge{{From: 12 * ms, To: 13 * ms, On: true}}},
		{"readings that stay away widen it", "000...111111", 3 * ms, []Edge{{From: 2 * ms, To: 6 * ms, On: true}}},
		{"there and back", "0001111111000000", 3 * ms, []Edge{
			{From: 2 * ms, To: 3 * ms, On: true}, {From: 9 * ms, To: 10 * ms}}},
		{"chatter both ways", "0010111101000000", 3 * ms, []Edge{
			{From: 3 * ms, To: 4 * ms, On: true, Bounces: 1}, {From: 9 * ms, To: 10 * ms, Bounces: 1}}},
	} {
		assert.Equal(t, c.want, traced(c.hold, c.readings), c.name)
	}
}

func TestEdgeInWords(t *testing.T) {
	assert.Equal(t, "on", Edge{On: true}.String())
	assert.Equal(t, "off after 1 bounce", Edge{Bounces: 1}.String())
	assert.Equal(t, "on after 3 bounces", Edge{On: true, Bounces: 3}.String())
}

// Whatever is read: edges come in turn, each lies between two readings that
// were made, a reading of the old state and the first of a stretch of the new
// one that lasted; and what never lasts makes no edge.
func TestEdgesComeInTurnAndLieBetweenReadings(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		hold := time.Duration(rapid.IntRange(0, 20).Draw(rt, "hold")) * ms
		gaps := rapid.SliceOfN(rapid.IntRange(1, 15), 1, 60).Draw(rt, "gaps")
		states := rapid.SliceOfN(rapid.Bool(), len(gaps), len(gaps)).Draw(rt, "states")
		d := Debouncer{Hold: hold}
		var now, before time.Duration
		read := map[time.Duration]bool{}
		next := !states[0]
		for i, on := range states {
			now += time.Duration(gaps[i]) * ms
			read[now] = on
			e, ok := d.Take(now, on)
			if !ok {
				continue
			}
			was, made := read[e.From]
			is, made2 := read[e.To]
			require.True(rt, made && made2 && was != e.On && is == e.On)
			require.Equal(rt, next, e.On)
			require.True(rt, before <= e.From && e.From < e.To && now-e.To >= hold)
			for at, on := range read {
				require.True(rt, at < e.To || on == e.On, "it did not last")
			}
			next, before = !next, e.To
		}
	})
}

func TestStateReadsOnOffAndInverted(t *testing.T) {
	for _, c := range []struct {
		raw      float64
		inverted bool
		value    float64
		ok       bool
	}{{0, false, 0, true}, {1, false, 1, true}, {0, true, 1, true}, {1, true, 0, true}, {2, false, 0, false}, {0.5, true, 0, false}} {
		r := State(daq.Signal{Raw: c.raw}, c.inverted)
		assert.Equal(t, c.raw, r.Raw, "as sent")
		assert.Equal(t, c.ok, r.Health == 0)
		if c.ok {
			assert.Equal(t, c.value, r.Value)
		} else {
			assert.NotEqual(t, r.Value, r.Value, "NaN")
		}
	}
}
