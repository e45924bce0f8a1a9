package analysis

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
)

// holds checks what has to be so of any answer to any record.
func holds(t *testing.T, trapped series.Column, f Found, reason string) {
	t.Helper()
	if reason != "" {
		require.Zero(t, f)
		return
	}
	require.Less(t, f.Start, f.End)
	require.GreaterOrEqual(t, f.Start, trapped.Time[0])
	require.LessOrEqual(t, f.End, trapped.Time[trapped.Len()-1])
	require.NotEmpty(t, f.How)
	require.Contains(t, []string{HoldFound, HoldWhole, HoldGiven}, f.Method)
	require.False(t, f.Locked > f.Start, "locked at %g, start at %g", f.Locked, f.Start)
	require.GreaterOrEqual(t, trapped.Window(f.Start, f.End).Valid().Len(), fewestReadings)
}

// FuzzFindHold reads a record from bytes: two bytes a reading, the first of
// which now and then is a gap, a jump in time or a huge value.
func FuzzFindHold(f *testing.F) {
	random := rand.New(rand.NewPCG(4, 4))
	for _, n := range []int{0, 1, 9, 10, 40, 400} {
		seed := make([]byte, n)
		for i := range seed {
			seed[i] = byte(random.Uint32())
		}
		f.Add(seed, uint8(n))
	}
	f.Add([]byte("\x10\x00\x10\x00\x10\x40\x10\x80\x10\xff\x10\xff\x10\xfe\x10\xff\x10\xfe\x10\xff\x10\xff\x10\x00"), uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, kind uint8) {
		trapped, feed := fromBytes(data, kind)
		found, reason := FindHold(trapped, feed, FindOptions{})
		holds(t, trapped, found, reason)
		o := FindOptions{Given: true, From: float64(kind) - 20, To: float64(len(data))}
		found, reason = FindHold(trapped, feed, o)
		holds(t, trapped, found, reason)
		both, reasons := FindHolds([]CircuitPressure{{Trapped: trapped}, {Trapped: feed, Feed: trapped}}, FindOptions{})
		holds(t, trapped, both[0], reasons[0])
		holds(t, feed, both[1], reasons[1])
	})
}

func fromBytes(data []byte, kind uint8) (trapped, feed series.Column) {
	at := 0.0
	for ; len(data) >= 2; data = data[2:] {
		at += []float64{0.1, 1, 60, 1e-3}[kind%4]
		v := float64(binary.LittleEndian.Uint16(data)) * 200
		switch data[0] {
		case 0:
			v = math.NaN()
		case 1:
			at += 500
		case 2:
			v *= -1
		case 3:
			v = math.Inf(1)
		case 4:
			v *= 1e250
		}
		if kind&16 != 0 {
			v = math.Round(v/1e6) * 1e6
		}
		trapped.Time, trapped.Value = append(trapped.Time, at), append(trapped.Value, v)
		if data[1]&1 == 0 {
			feed.Time, feed.Value = append(feed.Time, at), append(feed.Value, float64(data[1])*5e4)
		}
	}
	return trapped, feed
}

// Records without any sense, of many lengths: wandering, jumping, sawing.
func TestAnyRecordGetsAnAnswer(t *testing.T) {
	t.Parallel()
	for seed := range uint64(1500) {
		r := rand.New(rand.NewPCG(seed, 9))
		n := 1 + r.IntN(600)
		var c series.Column
		at, p := 0.0, 0.0
		for i := range n {
			at += r.ExpFloat64()
			switch k := r.Float64(); {
			case k < 0.02:
				p = 2e7 * r.Float64()
			case k < 0.03:
				p = 0
			case seed%3 == 0:
				p += 1e5 * r.NormFloat64()
			case seed%3 == 1:
				p = math.Mod(float64(i)*3e5, 1e7)
			}
			v := p
			if r.Float64() < 0.05 {
				v = math.NaN()
			}
			c.Time, c.Value = append(c.Time, at), append(c.Value, v)
		}
		f, reason := FindHold(c, noFeed, FindOptions{})
		holds(t, c, f, reason)
	}
}

func TestTimesThatRunBackwardsAreNoPanic(t *testing.T) {
	m := plain(1, 100)
	for i := 400; i < 500; i++ {
		m.trapped.Time[i] -= 30
	}
	assert.NotPanics(t, func() { FindHold(m.trapped, noFeed, FindOptions{}) })
}
