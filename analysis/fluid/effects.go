package fluid

import (
	"slices"

	"holdbench/analysis/si"
)

// Warming is how much the liquid is warmer after it was pumped up from one
// atmosphere to the state (K), and Decay the pressure (Pa) that goes while it
// cools back, with no leak: B·ΔT.
type Warming struct{ Rise, Decay Figure }

// Warming returns what pressurising leaves in the liquid.
//
//	ΔT = ∫ T·α/(ρ·c_p) dp
func (v Volume) Warming(s State) (Warming, error) {
	rise := func(b balance, at func(State) point) float64 {
		return b.quickness * warmed(at, Atmosphere, s.PressureAbs, s.Temperature)
	}
	var w Warming
	var err error
	if w.Rise, err = v.figure(si.TemperatureDifference, s, rise); err != nil {
		return w, err
	}
	w.Decay, err = v.figure(si.PressureChange, s, func(b balance, at func(State) point) float64 {
		return b.coefficient() * rise(b, at)
	})
	return w, err
}

// RateOf is the pressure rate (Pa/s) of a leak flow (m³/s, as exact) out of
// the volume.
func (v Volume) RateOf(flow float64, s State) (Figure, error) {
	return v.figure(si.PressureRate, s, func(b balance, _ func(State) point) float64 { return flow / b.compliance() })
}

// Change says what something does to the volume: thermal coefficient and
// stiffness as factors on what they were.
type Change struct{ ThermalCoefficient, Stiffness Figure }

// MoreAir is what a further share of free air does.
func (v Volume) MoreAir(share float64, s State) (Change, error) {
	w := v
	w.Air.Value += share
	return v.change(w, s)
}

// MoreHose is what a further hose does, filled with the same liquid.
func (v Volume) MoreHose(h Hose, s State) (Change, error) {
	w := v
	w.Hoses = append(slices.Clone(v.Hoses), h)
	w.extra += h.Volume()
	return v.change(w, s)
}

// change compares the volume with another whose parameters are the same, or
// the same and further ones; of a parameter that differs, the difference is
// taken as exact.
func (v Volume) change(w Volume, s State) (Change, error) {
	if err := v.known(s); err != nil {
		return Change{}, err
	}
	if err := w.known(s); err != nil {
		return Change{}, err
	}
	mine, all := v.parameters(), w.parameters()
	ratio := func(f func(balance) float64) Figure {
		return figure(si.Dimensionless, all, v.source(), func(x []float64) float64 {
			own := slices.Clone(x[:len(mine)])
			for i := range own {
				own[i] += mine[i].Value - all[i].Value
			}
			return f(w.balance(x, s)) / f(v.balance(own, s))
		})
	}
	return Change{
		ThermalCoefficient: ratio(balance.coefficient),
		Stiffness:          ratio(func(b balance) float64 { return 1 / b.compliance() }),
	}, nil
}

// Saturation is the pressure (Pa absolute) from which on all the volume's free
// air can go into solution, given minutes to hours: see SaturationPressure.
func (v Volume) Saturation() Figure {
	return figure(si.Pressure, []Parameter{v.Air, v.Liquid.AirSolubility}, v.source(), func(x []float64) float64 {
		return SaturationPressure(x[0], x[1])
	})
}

// Dissolving is the pressure (Pa) that is lost when a share of free air, by
// volume at one atmosphere, goes into solution for good.
func (v Volume) Dissolving(share float64, s State) (Figure, error) {
	return v.figure(si.PressureChange, s, func(b balance, _ func(State) point) float64 {
		return freeAir(share, s.PressureAbs) * b.trapped / b.compliance()
	})
}
