package discovery_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/discovery"
	"holdbench/daq/modbus"
)

func place(t *testing.T, text string) discovery.Place {
	t.Helper()
	p, err := discovery.ParsePlace(text)
	require.NoError(t, err)
	assert.Equal(t, text, p.String())
	return p
}

// instrument is a slave whose registers hold several numbers.
type instrument map[discovery.Place]func(k int) float64

// at is a snapshot at the k-th reading; registers 0 to 39 of both functions
// are there, empty where nothing stands.
func (in instrument) at(k int) discovery.Snapshot {
	s := discovery.Snapshot{3: {}, 4: {}}
	for register := range uint16(40) {
		s[3][register], s[4][register] = 0, 0
	}
	for p, value := range in {
		for i, v := range p.Format.Encode(value(k)) {
			s[p.Function][p.Register+uint16(i)] = v
		}
	}
	return s
}

// course is what happens: 8 readings at rest, then moving ones.
func (in instrument) course(moving int) (rest, moved []discovery.Snapshot) {
	for k := range 8 {
		rest = append(rest, in.at(k))
	}
	for k := range moving {
		moved = append(moved, in.at(8+k))
	}
	return rest, moved
}

func TestWhatWasPumpedUpIsFoundInEveryTypeAndOrder(t *testing.T) {
	for _, c := range []struct {
		where      string
		rest, full float64
		noise      float64
	}{
		{"input 0 int16", 4000, 10400, 3},      // mA × 1000
		{"input 3 int16", -2, 1003, 1},         // bar × 10
		{"holding 10 uint16", 13107, 45000, 8}, // counts
		{"holding 10 uint16", 20000, 60000, 8}, // counts that an int16 turns over
		{"input 2 float32 high-first", 0.02, 100.3, 0.01},
		{"input 2 float32 low-first", 0.02, 100.3, 0.01},
		{"holding 7 float32 high-first", 3.99, 10.4, 0.002},
		{"holding 7 float32 low-first bytes low-first", 1.2, 99.7, 0.02},
		{"holding 7 float32 high-first bytes low-first", 1.2, 99.7, 0.02},
		{"input 20 int32 high-first", 1500, 10_030_000, 400}, // Pa
		{"input 20 int32 low-first", 1500, 10_030_000, 400},
		{"input 20 int32 low-first", 101_325, 10_130_000, 300},
		{"holding 30 float64 high-first", 0.013, 100.31, 0.004},
		{"holding 30 float64 low-first", 0.013, 100.31, 0.004},
	} {
		t.Run(fmt.Sprint(c.where, " ", c.full), func(t *testing.T) {
			for seed := range uint64(4) {
				random := rand.New(rand.NewPCG(seed, 2))
				in := instrument{
					place(t, c.where): func(k int) float64 {
						part := min(1, max(0, float64(k-10)/20)) // pumped up over twenty readings
						return c.rest + part*(c.full-c.rest) + c.noise*random.NormFloat64()
					},
					// What else stands there: a temperature with noise, a counter, a constant.
					place(t, "input 15 int16"):   func(int) float64 { return 2150 + math.Round(2*random.NormFloat64()) },
					place(t, "input 16 uint16"):  func(k int) float64 { return float64((7 * k) % 97) },
					place(t, "holding 0 uint16"): func(int) float64 { return 1207 },
				}
				rest, moved := in.course(40)
				found := discovery.Moved(rest, moved)
				require.NotEmpty(t, found)
				assert.Equal(t, c.where, found[0].Place.String(), "seed %d: %+v", seed, found[:min(3, len(found))])
				assert.InDelta(t, c.full, found[0].End, 6*c.noise+1)
				assert.Greater(t, found[0].Steady, 0.8)
			}
		})
	}
}

// Trapped and feed side are pumped up together and stand side by side.
func TestTwoThatMoveTogetherAreTwo(t *testing.T) {
	for _, c := range []struct{ first, second string }{
		{"input 0 int16", "input 1 int16"},
		{"holding 4 float32 high-first", "holding 6 float32 high-first"},
		{"holding 4 float32 low-first", "holding 6 float32 low-first"},
	} {
		for _, full := range []float64{1003, 10400} {
			random := rand.New(rand.NewPCG(3, 4))
			pumped := func(k int) float64 {
				return min(1, max(0, float64(k-10)/20))*full + 1e-4*full*random.NormFloat64()
			}
			in := instrument{
				place(t, c.first):  pumped,
				place(t, c.second): func(k int) float64 { return 0.4 + 0.97*pumped(k) }, // another transducer
			}
			found := discovery.Moved(in.course(40))
			require.GreaterOrEqual(t, len(found), 2)
			got := []string{found[0].Place.String(), found[1].Place.String()}
			assert.ElementsMatch(t, []string{c.first, c.second}, got, "%+v", found[:min(4, len(found))])
		}
	}
}

func TestNothingMovedIsNothingFound(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	in := instrument{
		place(t, "input 0 int16"):              func(int) float64 { return 4000 + math.Round(3*random.NormFloat64()) },
		place(t, "input 2 float32 high-first"): func(int) float64 { return 21.5 + 0.01*random.NormFloat64() },
		place(t, "holding 4 int16"):            func(int) float64 { return 17 },
	}
	rest, moved := in.course(20)
	for _, c := range discovery.Moved(rest, moved) {
		assert.Less(t, c.Score, 0.3, c.Place.String())
	}
	assert.Empty(t, discovery.Moved(nil, moved))
	assert.Empty(t, discovery.Moved(rest, nil))
}

func TestBeforeAndAfterAloneIsEnough(t *testing.T) {
	in := instrument{
		place(t, "input 0 int16"): func(k int) float64 { return 4000 + 6400*float64(min(k, 8)/8) },
		place(t, "input 1 int16"): func(int) float64 { return 4010 },
	}
	found := discovery.Moved([]discovery.Snapshot{in.at(0)}, []discovery.Snapshot{in.at(8)})
	require.NotEmpty(t, found)
	assert.Equal(t, "input 0 int16", found[0].Place.String())
}

func TestPlacesAreReadAsTheyAreWritten(t *testing.T) {
	s := instrument{}.at(0)
	places := s.Places()
	assert.Greater(t, len(places), 1000)
	for _, p := range places {
		again, err := discovery.ParsePlace(p.String())
		require.NoError(t, err)
		assert.Equal(t, p, again)
	}
	for _, text := range []string{"", "input", "input 0", "input 0 int8", "output 0 int16", "input 70000 int16",
		"input 0 float32", "input 0 float32 middle-first", "input 0 int16 low-first", "input 65535 float32 low-first", "input 0 int16 bytes"} {
		_, err := discovery.ParsePlace(text)
		assert.Error(t, err, text)
	}
	assert.True(t, math.IsNaN(s.Value(discovery.Place{Function: modbus.ReadInput, Register: 100})))
}
