package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// BurstShare is from what share of the pressure on a reading that falls all at
// once is taken for a loss: no transducer's zero goes so far.
const BurstShare = 0.05

// Burst reports whether a jump is a loss all at once of that pressure.
func (j Jump) Burst(before float64) bool { return j.Size < -BurstShare*math.Abs(before) }

// burst lays a line with steps where pressure was lost all at once, if it was:
// what was lost is then what the line and the steps lose together. Readings in
// the midst of a step are few and stay.
func (f *fitting) burst(y []float64) bool {
	c := freer{duration: f.duration, degree: 1}
	for _, j := range f.diagnostics.Jumps {
		at := j.At - f.in.Start
		if j.Burst(interpolate(f.t, f.p, at-j.Within)) {
			c.tails = append(c.tails, tail{tau: at, step: true})
		}
	}
	if len(c.tails) == 0 || len(f.t) <= len(c.tails)+4 {
		return false
	}
	level := y[0]
	near := append([]float64(nil), y...)
	floats.AddConst(-level, near)
	s := c.lay(f.t, near, append([]float64{0, f.duration}, f.o.After...))
	f.instead = &instead{shape: s, gain: math.Inf(1), sure: true, sudden: len(c.tails)}
	f.level = level
	return true
}
