package characterisation

import (
	"math"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Air is what the curve of relaxed pressure against volume put in says of the
// liquid: whether it was bled well.
type Air struct {
	// Share of gas in the trapped volume at atmospheric pressure.
	Share uncertainty.Estimate
	// Modulus of everything but the gas, Pa: liquid and container together.
	Modulus uncertainty.Estimate
}

const atmosphere = 101325.0 // Pa

// fewestAirSteps is how many steps tell air from modulus.
const fewestAirSteps = 3

func (out *Stiffness) air(r StiffnessRun, steps []Step, m *stepModel) {
	switch {
	case out.Refused != "":
		return
	case !(r.Volume > 0):
		out.AirNo = "the trapped volume is not stated"
		return
	case len(steps) < fewestAirSteps:
		out.AirNo = "air needs at least 3 steps, best from low pressure up"
		return
	}
	ambient := r.Ambient
	if !(ambient > 0) {
		ambient = atmosphere
	}
	var volumes, pressures []float64
	sum := 0.0
	pressures = append(pressures, m.levelOf(0)+ambient)
	for i, s := range steps {
		sum += s.Volume.Value
		volumes = append(volumes, sum)
		pressures = append(pressures, m.levelOf(i+1)+ambient)
	}
	a, err := AirContent(volumes, pressures, r.Volume)
	if err != nil {
		out.AirNo = "the curve of pressure against volume does not tell air from stiffness: begin the steps at a low pressure"
		return
	}
	if a.Share.Value < -2*a.Share.StdUncertainty || !(a.Share.StdUncertainty < 0.2) {
		out.AirNo = "the curve of pressure against volume does not tell air from stiffness: begin the steps at a low pressure"
		return
	}
	out.Air = &a
}

// AirContent fits the share of gas x0 (at 101 325 Pa) and the modulus K of
// everything else to the volumes (m³, each counted from the first pressure)
// put into a trapped volume (m³) and the absolute pressures (Pa) from before
// the first on; len(pressures) == len(volumes)+1 ≥ 4:
//
//	ΔV_k/V = v(p_0) − v(p_k),  v(p) = x0·p_n/p + (1 − x0)·exp(−(p − p_n)/K)
//
// the gas isothermal, as it is once the pressure has relaxed, and none of it
// dissolving. Errors are those of fit.Nonlinear. It panics for other lengths.
//
// Source: [5], the exact mixture instead of its linear form (mark C).
func AirContent(volumes, pressures []float64, volume float64) (Air, error) {
	if len(pressures) != len(volumes)+1 || len(volumes) < fewestAirSteps {
		panic("characterisation: air needs 3 volumes at least, and one pressure more")
	}
	share := func(p, x0, k float64) float64 {
		return x0*atmosphere/p + (1-x0)*math.Exp(-(p-atmosphere)/k)
	}
	const scale = 1e9 // Pa
	model := fit.Model{Values: func(dst, x []float64) {
		k := scale * math.Exp(x[1])
		start := share(pressures[0], x[0], k)
		for i := range dst {
			dst[i] = (start - share(pressures[i+1], x[0], k)) * 1e3
		}
	}}
	y := make([]float64, len(volumes))
	for i, v := range volumes {
		y[i] = v / volume * 1e3
	}
	s, err := fit.Nonlinear(model, y, []float64{0.01, math.Log(1.2)}, fit.Options{Tolerance: 1e-6, MaxIterations: 300})
	if err != nil {
		return Air{}, err
	}
	k := scale * math.Exp(s.Parameters[1])
	return Air{
		Share:   uncertainty.Estimate{Value: s.Parameters[0], StdUncertainty: s.StdUncertainty(0), DegreesOfFreedom: s.DegreesOfFreedom, Quantity: si.Dimensionless},
		Modulus: uncertainty.Estimate{Value: k, StdUncertainty: k * s.StdUncertainty(1), DegreesOfFreedom: s.DegreesOfFreedom, Quantity: si.Pressure},
	}, nil
}
