package fluid

import "math"

// Ends says what holds a tube along its length.
type Ends string

// The ways in which a tube's ends can be held.
const (
	// EndsFree: closed, and free to grow longer under pressure.
	EndsFree Ends = "free"
	// EndsOpen: the pressure does not pull along the tube.
	EndsOpen Ends = "open"
	// EndsFixed: it can grow no longer.
	EndsFixed Ends = "fixed"
)

// AllEnds in the order in which they are shown.
var AllEnds = []Ends{EndsFree, EndsOpen, EndsFixed}

// Tube is a straight round tube of metal. Outside, Wall and Length in m, each
// with its uncertainty and source.
type Tube struct {
	Material              Material
	Ends                  Ends
	Outside, Wall, Length Parameter
}

// bore is a tube as numbers: radii in m, Young's modulus in Pa.
type bore struct {
	inner, outer, young, poisson float64
	ends                         Ends
}

// compliance is the relative growth of the tube's inner volume per pressure,
// 1/Pa, after Lamé. With Δ = r_o² − r_i²:
//
//	open   2[(1−ν)r_i² + (1+ν)r_o²]/(EΔ)
//	free   { 2[(1−2ν)r_i² + (1+ν)r_o²] + (1−2ν)r_i² }/(EΔ)
//	fixed  2(1+ν)[(1−2ν)r_i² + r_o²]/(EΔ)
//
// Source: [9].
func (b bore) compliance() float64 {
	i2, o2, nu := b.inner*b.inner, b.outer*b.outer, b.poisson
	var sum float64
	switch b.ends {
	case EndsOpen:
		sum = 2 * ((1-nu)*i2 + (1+nu)*o2)
	case EndsFixed:
		sum = 2 * (1 + nu) * ((1-2*nu)*i2 + o2)
	default:
		sum = 2*((1-2*nu)*i2+(1+nu)*o2) + (1-2*nu)*i2
	}
	return sum / (b.young * (o2 - i2))
}

// expansion is the relative growth of the inner volume per kelvin, 1/K, for a
// linear expansion: threefold, and held lengthways 2(1 + ν)-fold, because what
// cannot grow longer bulges (mark M).
func (b bore) expansion(linear float64) float64 {
	if b.ends == EndsFixed {
		return 2 * (1 + b.poisson) * linear
	}
	return 3 * linear
}

// volume of a length, m³.
func (b bore) volume(length float64) float64 { return math.Pi * b.inner * b.inner * length }

// bore returns the tube with these numbers.
func (t Tube) bore(outside, wall, young float64) bore {
	return bore{inner: outside/2 - wall, outer: outside / 2, young: young, poisson: t.Material.Poisson, ends: t.Ends}
}

// Volume inside the tube, m³.
func (t Tube) Volume() float64 {
	return t.bore(t.Outside.Value, t.Wall.Value, t.Material.Young.Value).volume(t.Length.Value)
}
