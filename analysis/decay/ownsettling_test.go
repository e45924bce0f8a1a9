package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/fit"
)

// partedScene is a hold of 600 s with a steady leak (bar/s) and something
// else, in bar at a time after t0, locked since before t0.
type partedScene struct {
	since float64
	draw  func(between func(low, high float64) float64) (leak float64, other func(t float64) float64)
	// given is the least share of holds that give a leak rate, most the
	// largest.
	given, most float64
}

func crept(a, since float64) func(t float64) float64 {
	return func(t float64) float64 { return a * math.Log10(1+t/since) }
}

func partedScenes() map[string]partedScene {
	type draw = func(low, high float64) float64
	return map[string]partedScene{
		"settling that ends": {60, func(b draw) (float64, func(float64) float64) {
			return b(0, 0.3) / 60, dying(b(0.5, 3), b(25, 100))
		}, 0.6, 1},
		"creep, locked long before the end": {10, func(b draw) (float64, func(float64) float64) {
			return b(0, 0.3) / 60, crept(b(0.5, 1.5), 10)
		}, 0.6, 1},
		"creep, locked too shortly": {60, func(b draw) (float64, func(float64) float64) {
			return b(0, 0.3) / 60, crept(b(0.5, 3), 60)
		}, 0, 0.1},
		"settling that is too slow": {60, func(b draw) (float64, func(float64) float64) {
			return b(0, 0.3) / 60, dying(b(1, 3), b(300, 900))
		}, 0, 0.1},
		"steady leak": {60, func(b draw) (float64, func(float64) float64) {
			return b(0.1, 2) / 60, func(float64) float64 { return 0 }
		}, 0, 0.05},
		"laminar leak": {60, func(b draw) (float64, func(float64) float64) {
			a := b(5, 40)
			return 0, dying(100, 600*100/a)
		}, 0, 0.05},
	}
}

// A settling that is not characterised is parted from the leak where its
// course allows it, and then the leak rate's interval holds the true one; a
// steady leak is not swallowed by it, nor one that slows by itself. Own
// simulation (mark C).
func TestSettlingIsLearnedOnlyWhereItCannotBeALeak(t *testing.T) {
	t.Parallel()
	seeds := uint64(60)
	if raceDetector {
		seeds = 6
	}
	for name, s := range partedScenes() {
		t.Run(name, func(t *testing.T) {
			given, inside, sum := 0, 0, 0
			for seed := range seeds {
				r := rand.New(rand.NewPCG(seed, 71))
				leak, other := s.draw(func(low, high float64) float64 { return low + (high-low)*r.Float64() })
				in := unsettled(seed, 600, func(t float64) float64 { return leak*t + other(t) })
				in.Locked = -s.since
				e := Fit(in, Options{}).Estimates
				truth := (leak*600 + other(600)) * bar / 600
				if low, high := e["decay_rate"].Interval(0.95); low <= truth && truth <= high {
					sum++
				}
				if e["leak_rate"].Absent != "" {
					assert.Contains(t, e["leak_rate"].Absent, "only as their sum")
					continue
				}
				given++
				if low, high := e["leak_rate"].Interval(0.95); low <= leak*bar && leak*bar <= high {
					inside++
				}
			}
			t.Logf("leak rate given in %d of %d, %d inside; decay rate inside in %d", given, seeds, inside, sum)
			share := float64(given) / float64(seeds)
			if !raceDetector {
				assert.GreaterOrEqual(t, share, s.given)
				assert.LessOrEqual(t, share, s.most)
				assert.GreaterOrEqual(t, inside, given-max(1, given/10))
				assert.GreaterOrEqual(t, sum, int(seeds)*9/10)
			}
		})
	}
}

// Derivatives are those of the values, and what is made is found again.
func TestSettlingsBesideALine(t *testing.T) {
	t.Parallel()
	times := sampled(0, 300, 0.5, func(float64) float64 { return 0 }).Time
	x := frame{middle: mean(times), since: 8}
	for m, c := range map[*model]vector{
		&endingBesideLine: {97 * bar, -300, 2 * bar, math.Log(30)},
		&creepBesideLine:  {97 * bar, -300, 0.7 * bar},
	} {
		require.NoError(t, fit.CheckJacobian(fit.Model{
			Values: func(dst, c []float64) { p, _ := m.over(vectorOf(c), x, times); copy(dst, p) },
			Jacobian: func(dst [][]float64, c []float64) {
				_, by := m.over(vectorOf(c), x, times)
				for j := range dst {
					copy(dst[j], by[j])
				}
			},
		}, len(times), 1e-6, c[:m.size]))
		p, _ := m.over(c, x, times)
		l, err := m.lay(times, p, x)
		require.NoError(t, err)
		for j := range m.size {
			assert.InEpsilon(t, c[j], l.c[j], 1e-3, "%s, parameter %d", m.name, j)
		}
		for j := range m.size {
			h := 1e-5 * math.Abs(c[j])
			up, down := c, c
			up[j] += h
			down[j] -= h
			want := (m.taken(up, x, 300).value - m.taken(down, x, 300).value) / (2 * h)
			assert.InDelta(t, want, m.taken(c, x, 300).by[j], 1e-5*math.Max(math.Abs(want), 1e-3))
		}
	}
}
