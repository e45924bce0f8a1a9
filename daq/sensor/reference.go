package sensor

import (
	"math"
	"sort"
)

// reference is the reference function of a type in mV over °C, and its
// inverse from a temperature on from which it rises.
type reference struct {
	pieces []piece
	from   float64
	// emfs are the voltages at nodes+1 temperatures evenly spaced from from to
	// the end.
	emfs []float64
}

// nodes is into how many parts a range is cut where the inverse begins to
// look.
const nodes = 128

// lowestTold is the temperature from which a type's voltage tells one, °C,
// where that is not the beginning of its reference function.
//
// Source: [2], range of type B's inverse function.
var lowestTold = map[string]float64{"B": 250}

// thermocouples are the references by letter.
var thermocouples = newReferences()

func newReferences() map[string]*reference {
	all := map[string]*reference{}
	for letter, pieces := range references {
		r := &reference{pieces: pieces, from: pieces[0].low}
		if low, ok := lowestTold[letter]; ok {
			r.from = low
		}
		for k := range nodes + 1 {
			r.emfs = append(r.emfs, r.emf(r.node(k)))
		}
		all[letter] = r
	}
	return all
}

func (r *reference) to() float64 { return r.pieces[len(r.pieces)-1].high }

func (r *reference) node(k int) float64 {
	if k == nodes {
		return r.to()
	}
	return r.from + (r.to()-r.from)*float64(k)/nodes
}

// ends are the voltages between which the inverse is.
func (r *reference) ends() (low, high float64) { return r.emfs[0], r.emfs[nodes] }

// missed is by how much a temperature may miss an end by rounding on its way
// through kelvins, °C.
const missed = 1e-9

// piece returns the part of the function at t; false beyond its ends.
func (r *reference) piece(t float64) (piece, bool) {
	if !(t >= r.pieces[0].low-missed && t <= r.to()+missed) {
		return piece{}, false
	}
	for _, p := range r.pieces {
		if t <= p.high+missed {
			return p, true
		}
	}
	return r.pieces[len(r.pieces)-1], true
}

func (r *reference) emf(t float64) float64 {
	if p, ok := r.piece(t); ok {
		return p.at(t)
	}
	return math.NaN()
}

func (r *reference) seebeck(t float64) float64 {
	if p, ok := r.piece(t); ok {
		return p.slope(t)
	}
	return math.NaN()
}

// steps of Newton's method at most: each is kept between two bounds, which
// halve where it would leave them.
const newtonSteps = 60

// inverse returns the temperature of a voltage, NaN beyond the ends.
func (r *reference) inverse(emf float64) float64 {
	low, high := r.ends()
	if !(low <= emf && emf <= high) {
		return math.NaN()
	}
	k := min(max(sort.SearchFloat64s(r.emfs, emf), 1), nodes)
	return newton(r.emf, r.seebeck, r.node(k-1), r.node(k), emf)
}

// newton returns x from low to high with f(x) = y, for an f that rises.
func newton(f, slope func(float64) float64, low, high, y float64) float64 {
	x := low + (high-low)*(y-f(low))/(f(high)-f(low))
	for range newtonSteps {
		off := f(x) - y
		switch {
		case off > 0:
			high = x
		case off < 0:
			low = x
		default:
			return x
		}
		next := x - off/slope(x)
		if !(low <= next && next <= high) {
			next = low + (high-low)/2
		}
		if math.Abs(next-x) <= 1e-12*(1+math.Abs(x)) {
			return next
		}
		x = next
	}
	return x
}
