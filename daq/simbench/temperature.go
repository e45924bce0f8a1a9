package simbench

import "math"

// Programme is how the body of the unit under test changes its temperature:
// a start, a steady ramp and a slow swing about it.
type Programme struct {
	// Start in K; NaN: from where the body is.
	Start float64
	// Rate of the ramp, K/s.
	Rate float64
	// Swing is the amplitude of a sine about the ramp, K; Period its period
	// in s, > 0 where Swing is not 0.
	Swing, Period float64
}

// at returns the body's temperature (K) after t seconds of the programme.
func (p Programme) at(t float64) float64 {
	out := p.Start + p.Rate*t
	if p.Swing != 0 && p.Period > 0 {
		out += p.Swing * math.Sin(2*math.Pi*t/p.Period)
	}
	return out
}

// follow returns what a first-order body (liquid in the unit, probe on it)
// shows after h seconds in which what surrounds it went in a straight line
// from before to after, all K:
//
//	τ·dT/dt = T_s(t) − T
//
// solved exactly; tau ≥ 0 and h > 0 in s.
func follow(temp, before, after, tau, h float64) float64 {
	if tau <= 0 {
		return after
	}
	lag := (after - before) / h * tau
	return after - lag + (temp-before+lag)*math.Exp(-h/tau)
}

// roomAhead is the time constant in s by which the body follows its
// surroundings: the room is as far ahead of the body as its rate asks for.
const roomAhead = 600

// warmth is the temperature state that all circuits share.
type warmth struct {
	programme Programme
	since     float64 // s, when the programme began
	body      float64 // K
	probe     float64 // K, of the probe on the body
	rate      float64 // K/s, of the body over the last step
}

// begin starts a programme at t as if it had been running for long: the probe
// is behind by its lag already.
func (w *warmth) begin(p Programme, t, probeLag float64) {
	*w = warmth{programme: p, since: t, body: p.at(0), rate: p.Rate}
	w.probe = w.body - p.Rate*probeLag
}

// change puts a programme in the place of the running one at t.
func (w *warmth) change(p Programme, t float64) {
	if math.IsNaN(p.Start) {
		p.Start = w.body
	}
	w.programme, w.since = p, t
}

// step carries body and probe from t to t+h and returns the body's
// temperature before and after, K.
func (w *warmth) step(t, h, probeLag float64) (before, after float64) {
	before = w.body
	after = w.programme.at(t + h - w.since)
	w.probe = follow(w.probe, before, after, probeLag, h)
	w.body = after
	w.rate = (after - before) / h
	return before, after
}

// room returns the temperature of the room, K.
func (w *warmth) room() float64 { return w.body + w.rate*roomAhead }
