package decay

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/series"
)

// course is a pressure hold's reading: noise of AR(1), read in steps.
type course struct {
	n             int
	interval      float64
	sigma, phi    float64
	step          float64
	at            func(t float64) float64
	heavy, uneven bool
	// outliers is the share of readings whose noise is outlierSize times as large.
	outliers float64
}

const outlierSize = 10

func (c course) column(seed uint64) series.Column {
	random := rand.New(rand.NewPCG(seed, 23))
	out := series.Column{}
	noise, t := random.NormFloat64(), 0.0
	for range c.n {
		x := random.NormFloat64()
		if c.heavy { // t with 3 degrees of freedom, of variance 1
			var s float64
			for range 3 {
				g := random.NormFloat64()
				s += g * g
			}
			x *= 1 / math.Sqrt(s)
		}
		if c.outliers > 0 && random.Float64() < c.outliers {
			x *= outlierSize
		}
		noise = c.phi*noise + math.Sqrt(1-c.phi*c.phi)*x
		v := c.sigma * noise
		if c.at != nil {
			v += c.at(t)
		}
		if c.step > 0 {
			v = c.step * math.Round(v/c.step)
		}
		out.Time, out.Value = append(out.Time, t), append(out.Value, v)
		t += c.interval
		if c.uneven {
			t += c.interval * random.Float64()
		}
	}
	return out
}

func (c course) jumps(seed uint64) []Jump {
	kept, _, _ := WithoutSpikes(c.column(seed))
	found := Jumps(kept, c.step)
	if s, ok := LastingStep(kept, c.step); ok && len(found) == 0 {
		found = append(found, s)
	}
	return found
}

// What a good hold shows is no jump: at most 1 hold in 100 of each sort.
func TestGoodHoldsHaveNoJumps(t *testing.T) {
	const runs = 200
	tail := func(tau float64) func(t float64) float64 {
		return func(t float64) float64 { return 3 * bar * math.Exp(-t/tau) }
	}
	for _, c := range []struct {
		name string
		course
	}{
		{"white", course{sigma: 1000}},
		{"autocorrelated 0.5", course{sigma: 1000, phi: 0.5}},
		{"autocorrelated 0.9", course{sigma: 1000, phi: 0.9}},
		{"autocorrelated 0.99", course{sigma: 1000, phi: 0.99}},
		{"heavy tails", course{sigma: 1000, heavy: true}},
		{"one outlier in 20", course{sigma: 1000, outliers: 0.05}},
		{"one outlier in 10", course{sigma: 1000, outliers: 0.1}},
		{"outliers that hang together", course{sigma: 1000, outliers: 0.05, phi: 0.5}},
		{"coarse, quiet", course{sigma: 100, step: 1000}},
		{"coarse ramp", course{sigma: 50, step: 1000, at: func(t float64) float64 { return -100 * t }}},
		{"coarse and correlated", course{sigma: 500, phi: 0.9, step: 1000}},
		{"settling", course{sigma: 500, at: tail(20)}},
		{"quick settling", course{sigma: 500, at: tail(3)}},
		{"heating to and fro", course{sigma: 500, at: func(t float64) float64 { return 5000 * math.Abs(math.Mod(t, 80)-40) }}},
		{"uneven times", course{sigma: 1000, phi: 0.5, uneven: true}},
		{"settling without noise", course{at: tail(5)}},
	} {
		name := c.name
		for _, n := range []int{120, 600, 3000} {
			c := c.course
			c.n, c.interval = n, 300/float64(n)
			t.Run(fmt.Sprint(name, " ", n), func(t *testing.T) {
				t.Parallel()
				alarms := 0
				for seed := range uint64(runs) {
					if len(c.jumps(seed)) > 0 {
						alarms++
					}
				}
				assert.LessOrEqual(t, alarms, runs/100)
			})
		}
	}
}

// A step of the zero is found with its place and size: of 12 standard
// deviations of the noise always, of 5 in most holds; also where it falls into
// a gap, and where readings are so many that blocks of them are looked at.
func TestJumpsAreFound(t *testing.T) {
	const runs = 50
	for _, c := range []struct {
		name string
		course
		sigmas, share float64
	}{
		{"white", course{sigma: 1000}, 12, 1},
		{"white, small", course{sigma: 1000}, 5, 0.9},
		{"autocorrelated", course{sigma: 1000, phi: 0.9}, 12, 1},
		{"heavy tails", course{sigma: 1000, heavy: true}, 12, 0.95},
		{"outliers", course{sigma: 1000, outliers: 0.05}, 12, 0.3}, // with twice the scatter of the others
		{"coarse", course{sigma: 500, step: 1000}, 12, 1},
		{"on a ramp", course{sigma: 1000, at: func(t float64) float64 { return -500 * t }}, 12, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.n, c.interval = 3000, 0.1
			size := c.sigmas * c.sigma
			level := c.at
			c.at = func(t float64) float64 {
				v := 0.0
				if t > 133.04 {
					v = -size
				}
				if level != nil {
					v += level(t)
				}
				return v
			}
			found := 0
			for seed := range uint64(runs) {
				jumps := c.jumps(seed)
				if len(jumps) == 1 && math.Abs(jumps[0].At-133.04) < 1.5 {
					found++
					assert.InDelta(t, -size, jumps[0].Size, 6*c.sigma+c.step)
				}
			}
			assert.GreaterOrEqual(t, float64(found), c.share*runs)
		})
	}
	long := course{n: 20 * mostFitted, interval: 0.1, sigma: 1000, at: func(t float64) float64 { return -2000 * math.Floor(t/3000) }}
	assert.Len(t, long.jumps(1), 2)
}
