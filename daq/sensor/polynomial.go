package sensor

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// Polynomial is a curve with coefficients from c0 up, as a certificate states
// it: the value in ValueUnit is Σ cᵢ·xⁱ of the signal x in SignalUnit. It
// holds between Low and High, signals in SI, where it must rise or fall
// strictly (Monotone).
type Polynomial struct {
	Coefficients          []float64
	SignalUnit, ValueUnit si.Unit
	Low, High             float64
}

var _ Conversion = Polynomial{}

// Value evaluates the polynomial. Beyond its ends by more than a transmitter
// may show (NE 43, see chain.go) it is not believed.
func (p Polynomial) Value(signal float64, _ Beside) (float64, daq.Health) {
	span := p.High - p.Low
	if h := outside(signal, p.Low-below*span, p.High+above*span); h != daq.Healthy {
		if !p.rises() {
			h = flipped(h)
		}
		return math.NaN(), h
	}
	return p.at(signal), daq.Healthy
}

// Signal finds the signal by halving the interval; NaN beyond its ends.
func (p Polynomial) Signal(value float64, _ Beside) float64 {
	span := p.High - p.Low
	return halved(p.at, p.Low-below*span, p.High+above*span, value)
}

// Signals are the ends between which it holds.
func (p Polynomial) Signals() (low, high float64) { return p.Low, p.High }

// Highest is the higher of the values at its ends.
func (p Polynomial) Highest() float64 { return math.Max(p.at(p.Low), p.at(p.High)) }

func (p Polynomial) at(signal float64) float64 {
	return p.ValueUnit.ToSI(horner(p.Coefficients, p.SignalUnit.FromSI(signal)))
}

func (p Polynomial) rises() bool { return p.at(p.High) > p.at(p.Low) }

// Monotone reports whether the polynomial rises or falls strictly all the way
// between its ends: each of many small steps must go on in the same direction,
// and its slope must not change sign at any of them.
func (p Polynomial) Monotone() bool {
	const steps = 1000
	sign := 1.0
	if !p.rises() {
		sign = -1
	}
	last := p.at(p.Low)
	for k := 1; k <= steps; k++ {
		next := p.at(p.Low + (p.High-p.Low)*float64(k)/steps)
		if !(sign*(next-last) > 0) {
			return false
		}
		last = next
	}
	return true
}

// horner evaluates Σ cᵢ·xⁱ.
func horner(c []float64, x float64) float64 {
	var y float64
	for i := len(c) - 1; i >= 0; i-- {
		y = y*x + c[i]
	}
	return y
}

// slope evaluates the derivative of Σ cᵢ·xⁱ.
func slope(c []float64, x float64) float64 {
	var y float64
	for i := len(c) - 1; i >= 1; i-- {
		y = y*x + float64(i)*c[i]
	}
	return y
}

// halved returns x between low and high with f(x) = y, for an f that rises or
// falls strictly; NaN where y is not between its ends. It stops when there is
// no number between.
func halved(f func(float64) float64, low, high, y float64) float64 {
	if f(low) > f(high) {
		low, high = high, low
	}
	if !(f(low) <= y && y <= f(high)) {
		return math.NaN()
	}
	for {
		middle := low + (high-low)/2
		if middle == low || middle == high {
			return middle
		}
		if f(middle) < y {
			low = middle
		} else {
			high = middle
		}
	}
}
