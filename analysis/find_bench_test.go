package analysis

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
)

// longRecord is a press-up from 5 % to 6 % of the record, a slow leak with
// noise, and a release at 95 %.
func longRecord(n int, dt float64) series.Column {
	r := rand.New(rand.NewPCG(1, 2))
	c := series.Column{Time: make([]float64, n), Value: make([]float64, n)}
	for i := range n {
		share := float64(i) / float64(n)
		p := 0.0
		switch {
		case share > 0.95:
			p = 0
		case share > 0.06:
			p = 100 - (share - 0.06) + 2*math.Exp(-(share-0.06)/0.01)
		case share > 0.05:
			p = (share - 0.05) * 10200
		}
		c.Time[i], c.Value[i] = float64(i)*dt, (p+0.02*r.NormFloat64())*bar
	}
	return c
}

func benchmarkFind(b *testing.B, n int, dt float64) {
	c := longRecord(n, dt)
	b.ReportAllocs()
	b.ResetTimer()
	for b.Loop() {
		if _, reason := FindHold(c, noFeed, FindOptions{}); reason != "" {
			b.Fatal(reason)
		}
	}
}

func BenchmarkFindHold10k(b *testing.B)        { benchmarkFind(b, 10_000, 0.1) }
func BenchmarkFindHold24hAt10Hz(b *testing.B)  { benchmarkFind(b, 864_000, 0.1) }
func BenchmarkFindHold24hAt100Hz(b *testing.B) { benchmarkFind(b, 8_640_000, 0.01) }
func BenchmarkFindHoldWanderingAbout(b *testing.B) { // nothing but press-ups and releases
	r := rand.New(rand.NewPCG(1, 2))
	c := longRecord(40_000, 0.1)
	p := 0.0
	for i := range c.Value {
		p = math.Abs(p + 1e6*r.NormFloat64())
		c.Value[i] = p
	}
	for b.Loop() {
		FindHold(c, noFeed, FindOptions{})
	}
}

// A record in blocks gives the hold that the same record reading by reading
// gives, as finely as its blocks allow.
func TestLongRecordIsFoundAsAShortOne(t *testing.T) {
	long := longRecord(2_000_000, 0.05)
	var short series.Column
	for i := 0; i < long.Len(); i += 100 {
		short.Time, short.Value = append(short.Time, long.Time[i]), append(short.Value, long.Value[i])
	}
	a, reason := FindHold(long, noFeed, FindOptions{})
	require.Empty(t, reason)
	b, reason := FindHold(short, noFeed, FindOptions{})
	require.Empty(t, reason)
	assert.InDelta(t, b.Start, a.Start, 1600, "a sixtieth of the stretch")
	assert.InDelta(t, b.End, a.End, 20)
	assert.InDelta(t, b.Locked, a.Locked, 20)
}
