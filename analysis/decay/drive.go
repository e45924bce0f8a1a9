package decay

// drive is by how much the trapped pressure itself lies above the one that a
// law is laid to, at even times over the hold: what temperature has added
// since t0, less what settling has taken, Pa. A leak goes by the pressure that
// is there, so where the bench warms it does not slow as the compensated
// pressure falls.
type drive struct {
	step  float64 // s between times, the first at t0
	above []float64
	// mean of it over the readings.
	mean float64
	// last is what followed returned last: a search asks for value and
	// derivative one after the other.
	last struct {
		rate  float64
		clock *clock
		v, w  []float64
	}
}

// driven returns the drive of a hold from its value at the readings.
func driven(t, above []float64, duration float64) *drive {
	d := &drive{step: duration / gridSteps, above: make([]float64, gridSteps+1), mean: mean(above)}
	j := 0
	for i := range d.above {
		at := float64(i) * d.step
		for j < len(t)-2 && t[j+1] < at {
			j++
		}
		d.above[i] = interpolate(t[j:j+2], above[j:j+2], at)
	}
	return d
}

// followed returns what a leak of that rate (1/s) takes because of the drive,
// and its derivative by −ln(rate), at the drive's times:
//
//	dv/dt = rate·(above − v),  v(t0) = 0;  w = −rate·∂v/∂rate:  dw/dt = rate·(v − above − w)
//
// The drive is straight between its times, and so, for the second, is v. With
// a clock t is the leak's own time. Both are shared and must not be changed.
func (d *drive) followed(rate float64, k *clock) (v, w []float64) {
	if d.last.v != nil && d.last.rate == rate && d.last.clock == k {
		return d.last.v, d.last.w
	}
	v, w = make([]float64, len(d.above)), make([]float64, len(d.above))
	keep, first, second := lagStep(d.step, 1/rate)
	for i := 1; i < len(v); i++ {
		if k != nil {
			keep, first, second = lagStep(k.at[i]-k.at[i-1], 1/rate)
		}
		v[i] = keep*v[i-1] + first*d.above[i-1] + second*d.above[i]
		w[i] = keep*w[i-1] + first*(v[i-1]-d.above[i-1]) + second*(v[i]-d.above[i])
	}
	d.last.rate, d.last.clock, d.last.v, d.last.w = rate, k, v, w
	return v, w
}

// at interpolates what followed returned, within the hold.
func (d *drive) at(v []float64, t float64) float64 {
	i := min(max(int(t/d.step), 0), len(v)-2)
	return v[i] + (t/d.step-float64(i))*(v[i+1]-v[i])
}
