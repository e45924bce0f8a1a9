package fluid

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/si"
)

// NotMeasured begins the Source of everything that is computed of a volume.
const NotMeasured = "from fluid and bench data, not measured"

// Volume is a trapped volume: liquid with some free air in tubes, hoses and
// the cavities of a body.
type Volume struct {
	Liquid Liquid
	// Trapped is the whole volume at the test pressure, m³: body, tubes and
	// hoses together.
	Trapped Parameter
	// Air is the share of free air, by volume at one atmosphere.
	Air   Parameter
	Tubes []Tube
	Hoses []Hose
	// Body is what the cavities beside tubes and hoses lie in.
	Body Material

	// extra is added to Trapped: what a further hose holds.
	extra float64
}

// bodyGive: a cavity in a thick block grows like a bore in an infinite one,
// 2(1+ν)/E; real ones have thin places, covers and seals.
var bodyGive = Parameter{"give of the body over that of a bore in a thick block", 1.5, 0.5, "no source: between a thick block and twice its give"}

// quickness: pumping up takes seconds, and some heat leaves meanwhile.
var quickness = Parameter{"share of the warming that is left at locking", 1, 0.25, "no source: heat that leaves while pumping"}

// Check returns what makes the volume impossible, nil if nothing does.
func (v Volume) Check() error {
	within := 0.0
	for i, t := range v.Tubes {
		if !(t.Wall.Value > 0 && t.Wall.Value < t.Outside.Value/2) {
			return fmt.Errorf("tube %d: a wall of %.4g mm in an outside diameter of %.4g mm", i+1, 1e3*t.Wall.Value, 1e3*t.Outside.Value)
		}
		within += t.Volume()
	}
	for _, h := range v.Hoses {
		within += h.Volume()
	}
	switch {
	case !(v.Trapped.Value > 0):
		return fmt.Errorf("a trapped volume of %.4g mL", 1e6*v.Trapped.Value)
	case !(within <= v.Trapped.Value*(1+1e-9)):
		return fmt.Errorf("tubes and hoses hold %.4g mL, the trapped volume is %.4g mL", 1e6*within, 1e6*v.Trapped.Value)
	case !(v.Air.Value >= 0 && v.Air.Value < 1):
		return fmt.Errorf("a share of air of %.4g", v.Air.Value)
	}
	return nil
}

// parameters lists all that the volume's figures are computed from; balance
// reads them in the same order.
func (v Volume) parameters() []Parameter {
	p := slices.Clone(v.Liquid.Parameters)
	p = append(p, v.Trapped, v.Air, v.Body.Young, v.Body.Expansion, bodyGive, quickness, hoseShape, hoseWarmth)
	for _, t := range v.Tubes {
		p = append(p, t.Outside, t.Wall, t.Length, t.Material.Young, t.Material.Expansion)
	}
	for _, h := range v.Hoses {
		p = append(p, h.Length, h.Bore, h.Expansion)
	}
	return p
}

// balance is a trapped volume as numbers at one state; SI.
type balance struct {
	point
	state                State
	trapped, liquid, gas float64 // m³
	// airShare and quickness as given.
	airShare, quickness float64
	// container is what tubes, body and hoses give, m³/Pa, and warmth what
	// they grow, m³/K.
	container, warmth float64
}

// balance reads the parameters.
func (v Volume) balance(x []float64, s State) balance {
	b := balance{point: v.Liquid.law(x[:len(v.Liquid.Parameters)], s), state: s}
	x = x[len(v.Liquid.Parameters):]
	next := func() float64 {
		first := x[0]
		x = x[1:]
		return first
	}
	b.trapped = next() + v.extra
	b.airShare = next()
	young, linear, give := next(), next(), next()
	b.quickness = next()
	shape, hoseGrowth := next(), next()
	cavity := b.trapped
	for _, t := range v.Tubes {
		outside, wall, length := next(), next(), next()
		tube := t.bore(outside, wall, next())
		volume := tube.volume(length)
		cavity -= volume
		b.container += volume * tube.compliance()
		b.warmth += volume * tube.expansion(next())
	}
	for _, h := range v.Hoses {
		length, bore := next(), next()
		volume := math.Pi / 4 * bore * bore * length
		cavity -= volume
		b.container += length * next() / h.At * shape
		b.warmth += volume * hoseGrowth
	}
	b.container += cavity * give * 2 * (1 + v.Body.Poisson) / young
	b.warmth += cavity * 3 * linear
	b.gas = freeAir(b.airShare, s.PressureAbs) * b.trapped
	b.liquid = b.trapped - b.gas
	return b
}

// compliance is C = −dV/dp at constant temperature, m³/Pa: what liquid, air
// and container give.
//
// Source: [8].
func (b balance) compliance() float64 {
	return b.liquid/b.modulus + b.gas/b.state.PressureAbs + b.container
}

// quickCompliance is that of a step too quick for heat to move.
func (b balance) quickCompliance() float64 {
	return b.liquid/(b.modulus*b.adiabaticRatio(b.state.Temperature)) + b.gas/(adiabaticAir*b.state.PressureAbs) + b.container
}

// coefficient is B, Pa/K: what liquid and air grow more than what holds them,
// over the compliance.
//
// Source: balance of the trapped volume (mark L).
func (b balance) coefficient() float64 {
	return (b.liquid*b.expansion + b.gas/b.state.Temperature - b.warmth) / b.compliance()
}

// figure computes something of the volume at a state.
func (v Volume) figure(q si.Quantity, s State, f func(b balance, at func(State) point) float64) (Figure, error) {
	if err := v.known(s); err != nil {
		return Figure{}, err
	}
	return figure(q, v.parameters(), v.source(), func(x []float64) float64 {
		return f(v.balance(x, s), func(s State) point { return v.Liquid.law(x[:len(v.Liquid.Parameters)], s) })
	}), nil
}

// known says why nothing can be said at a state; nil if something can.
func (v Volume) known(s State) error {
	if !v.Liquid.Range.holds(s) {
		return &RangeError{Liquid: v.Liquid.Name, State: s, Range: v.Liquid.Range}
	}
	return v.Check()
}

func (v Volume) source() string { return NotMeasured + ": " + v.Liquid.Name + ", volume as stated" }

// ThermalCoefficient is B, the pressure per kelvin at constant liquid, Pa/K.
// The errors are a *RangeError and those of Check, here and below.
func (v Volume) ThermalCoefficient(s State) (Figure, error) {
	return v.figure(si.ThermalCoefficient, s, func(b balance, _ func(State) point) float64 { return b.coefficient() })
}

// Stiffness is the pressure per volume at constant temperature, Pa/m³.
func (v Volume) Stiffness(s State) (Figure, error) {
	return v.figure(si.Stiffness, s, func(b balance, _ func(State) point) float64 { return 1 / b.compliance() })
}

// EffectiveModulus is V/C, Pa: the bulk modulus that the whole seems to have.
func (v Volume) EffectiveModulus(s State) (Figure, error) {
	return v.figure(si.BulkModulus, s, func(b balance, _ func(State) point) float64 { return b.trapped / b.compliance() })
}

// QuickRatio is by how much a quick volume step finds the volume stiffer than
// a slow one.
func (v Volume) QuickRatio(s State) (Figure, error) {
	return v.figure(si.Dimensionless, s, func(b balance, _ func(State) point) float64 {
		return b.compliance() / b.quickCompliance()
	})
}

// PumpedIn is the liquid, as at one atmosphere, that takes the volume from one
// atmosphere to the state at constant temperature, m³: a sum of small
// differences, never one of two totals.
func (v Volume) PumpedIn(s State) (Figure, error) {
	return v.figure(si.Volume, s, func(b balance, at func(State) point) float64 {
		start := at(State{Atmosphere, s.Temperature})
		packed := (b.density - start.density) / start.density
		return b.liquid*packed + b.container*(s.PressureAbs-Atmosphere) + b.airShare*b.trapped - b.gas
	})
}
