package simbench

import "math"

// maxSettling is how many settling exponentials a circuit may have.
const maxSettling = 4

// Settling is one exponential by which hoses and seals give way after the
// pressure was put on: it costs Amplitude (Pa, for a step from zero to the
// test pressure) in all, with the time constant in s.
type Settling struct{ Amplitude, TimeConstant float64 }

// Circuit is the truth about one circuit: what an ideal observer would know.
// All SI.
type Circuit struct {
	// ThermalCoefficient B of the trapped liquid, Pa/K.
	ThermalCoefficient float64
	// Stiffness of the trapped side, Pa/m³, > 0. FeedStiffness of the feed
	// side; 0: twice the trapped side's.
	Stiffness, FeedStiffness float64
	// TestPressure is where Leak and Settling hold, Pa, > 0.
	TestPressure float64
	// Leak is the rate of pressure loss at the test pressure with the feed
	// side vented, Pa/s; laminar, so it goes with the pressure difference.
	Leak float64
	// Trip and Reset are the pressures, Pa, at which the warning switch comes on
	// when the trapped pressure falls and goes off when it rises; 0: usual ones.
	Trip, Reset float64
	// Settling after pressurising, at most four exponentials.
	Settling []Settling
	// LogSettling is the pressure lost for each e-fold of the time since
	// pressurising (counted from 1 s), Pa.
	LogSettling float64
	// Warming is how much the liquid warms when it is pumped up, K/Pa. (Ideal
	// oil: about 1.3 K for 100 bar; an effective figure is smaller, since
	// much of the heat leaves while one pumps.) WarmingTime is the time
	// constant in s with which that warmth leaves.
	Warming, WarmingTime float64
	// Lag is the time constant in s with which the liquid follows the body.
	Lag float64
}

// Time constants of flow, s.
const (
	throughValve = 0.05 // feed and trapped side, through an open valve
	throughVent  = 0.3  // feed side, through its vent
)

// supply is what the operator does to the feed side.
type supply struct {
	state    supplyState
	from, to float64 // Pa, while pumped
	begin    float64 // s
	duration float64 // s; afterwards the pump holds `to`
	rate     float64 // Pa/s, while slowly pumped
}

type supplyState uint8

const (
	closed supplyState = iota // nothing in, nothing out
	pumped
	creeping // not vented, slowly pumped
	vented
)

// flow is the state of one circuit.
type flow struct {
	c      Circuit
	lambda float64 // leak, 1/s

	feed, trapped float64 // Pa
	locked        bool
	supply        supply

	liquid  float64 // K, without the warmth of pumping
	excess  float64 // K, that warmth
	pressed float64 // Pa, what was put on last, on which settling depends
	since   float64 // s, end of the last pumping
	settled [maxSettling]float64

	warning, running contact // of its warning switch and of its pump
}

// newFlow returns a circuit at rest, without pressure, its valve open, its
// liquid following a body at temperature body with that rate for long.
func newFlow(c Circuit, body, rate, t float64) flow {
	if c.FeedStiffness <= 0 {
		c.FeedStiffness = 2 * c.Stiffness
	}
	return flow{c: c, lambda: c.Leak / c.TestPressure, liquid: body - rate*c.Lag, since: t,
		warning: contact{on: true, turned: t - 1}, running: contact{turned: t - 1}}
}

// step carries the circuit from t to t+h while the body goes from before to
// after (K). With nothing flowing in or out,
//
//	dp/dt = B·dT_f/dt − λ·(p − p_feed) − ds/dt
//
// is solved exactly where the last two are absent or the first and third are
// steady over the step; flow through the valve is an exact exponential that
// keeps the liquid.
func (f *flow) step(t, h, before, after float64) {
	warmer := f.warm(h, before, after)
	f.lose(h, f.c.ThermalCoefficient*warmer-f.settle(t, h))
	f.feedStep(t, h)
	f.equalise(t, h)
	f.switches(t + h)
}

// warm returns by how much the liquid got warmer, K.
func (f *flow) warm(h, before, after float64) float64 {
	liquid := follow(f.liquid, before, after, f.c.Lag, h)
	excess := follow(f.excess, 0, 0, f.c.WarmingTime, h)
	out := (liquid - f.liquid) + (excess - f.excess)
	f.liquid, f.excess = liquid, excess
	return out
}

// settle returns the pressure lost to settling, Pa.
func (f *flow) settle(t, h float64) float64 {
	load := f.pressed / f.c.TestPressure
	var lost float64
	for i, s := range f.c.Settling {
		to := s.Amplitude * load
		next := follow(f.settled[i], to, to, s.TimeConstant, h)
		lost += next - f.settled[i]
		f.settled[i] = next
	}
	if f.c.LogSettling != 0 && t >= f.since {
		lost += f.c.LogSettling * load * math.Log1p(h/(t-f.since+1))
	}
	return lost
}

// lose adds gain (Pa) to the trapped side and takes the leak from it, which
// goes to the feed side.
func (f *flow) lose(h, gain float64) {
	if f.lambda == 0 {
		f.trapped += gain
		return
	}
	stays := math.Exp(-f.lambda * h)
	over := f.trapped - f.feed
	p := f.feed + over*stays + gain*(1-stays)/(f.lambda*h)
	leaked := f.trapped + gain - p
	f.trapped = p
	if f.supply.state == closed {
		f.feed += leaked * f.c.FeedStiffness / f.c.Stiffness
	}
}

// feedStep does to the feed side what the operator does.
func (f *flow) feedStep(t, h float64) {
	s := f.supply
	switch s.state {
	case pumped:
		done := 1.0
		if s.duration > 0 {
			done = min(1, (t+h-s.begin)/s.duration)
		}
		f.feed = s.from + (s.to-s.from)*done
	case creeping:
		f.feed += s.rate * h
	case vented:
		f.feed *= math.Exp(-h / throughVent)
	}
}

// equalise lets liquid through the valve: both ways when it is open, into the
// trapped side only when it is locked.
func (f *flow) equalise(t, h float64) {
	if f.locked && f.feed <= f.trapped {
		return
	}
	gone := -math.Expm1(-h / throughValve)
	before := f.trapped
	if f.supply.state == closed {
		part := f.c.FeedStiffness / (f.c.FeedStiffness + f.c.Stiffness)
		level := f.trapped*part + f.feed*(1-part) // capacities are the inverses
		f.trapped += (level - f.trapped) * gone
		f.feed += (level - f.feed) * gone
	} else {
		f.trapped += (f.feed - f.trapped) * gone
	}
	f.excess += f.c.Warming * (f.trapped - before)
	f.pressed = f.trapped
	if f.trapped > before && f.supply.state == pumped {
		f.since = t + h
	}
}
