package characterisation

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Thermal is what a run while the temperature moves says of the thermal
// coefficient and the lag.
type Thermal struct {
	// Refused says why the run says nothing, and what to do; the figures are
	// then empty.
	Refused          string
	Coefficient, Lag Figure
	// Correlation of the two.
	Correlation float64
	// Trend is the pressure's steady fall beside temperature, Pa/s: the
	// reference unit's own leak, positive.
	Trend uncertainty.Estimate
	// Followed is how far the liquid moved as a share of the probe's movement,
	// 1 where it moved slowly against its lag.
	Followed float64
	// VarianceInflation (≥ 1) is that by time and temperature moving together, 1
	// where they have nothing in common.
	VarianceInflation float64
	// Noise is that of a block's mean, Pa; Autocorrelation that of the blocks'
	// residuals.
	Noise, Autocorrelation float64
	Curve                  Curve
	// Liquid is T_f as fitted at the curve's times, Probe what the probe showed,
	// smoothed, K.
	Liquid, Probe []float64
}

// The bounds on what a thermal run may look like.
//
// Source: a variance inflation of 10 is common practice for regressors that
// can hardly be told apart (mark P); the others are the house's own.
const (
	mostVarianceInflation = 10
	mostRelativeU         = 1.0 / 3
	// mostUnexplained is how far the slow movement of what is left may go, as
	// a share of what the temperature does to the pressure.
	mostUnexplained = 0.05
	thermalBlocks   = 300
)

const upAndDown = "make the temperature go up and down during the run, or begin and end at the same temperature"

// ThermalOf finds thermal coefficient and lag together, by least squares in
// which the temperature carries its error:
//
//	p(t) = level + B·T_f(t; lag, second) − trend·t + a·exp(−t/τ) + noise
//
// with a second time constant (the probe's own, or a second lag of the liquid)
// and a settling or warming that dies away, each held loosely; what successive
// residuals have in common makes uncertainties larger, and where it is more
// than a twentieth of what the temperature does the run is refused. The smooth
// temperature's coefficients are parameters too, held by what the probe says of
// them. Where time and temperature cannot be told apart the run
// is refused. It has no other failure.
//
// Source: [2] for the form.
func ThermalOf(r Record) Thermal {
	readings, why := r.pressures(r.Start, r.End)
	if why != "" {
		return Thermal{Refused: why}
	}
	if r.Temperature.Len() == 0 {
		return Thermal{Refused: "no temperature channel: a thermal coefficient needs a thermometer at the liquid"}
	}
	probe, err := newProbe(r.Temperature, r.Start, r.End, r.Thermometer.Resolution)
	if err != nil {
		return Thermal{Refused: err.Error()}
	}
	m := newThermalModel(probe, readings)
	if refusal := m.together(); refusal != "" {
		return Thermal{Refused: refusal, VarianceInflation: m.inflation(0, 0)}
	}
	solution, inflation, effective, err := m.fit()
	if err != nil {
		return Thermal{Refused: "no thermal coefficient can be fitted: " + err.Error() + "; " + upAndDown}
	}
	return m.thermal(r, solution, inflation, effective)
}

// thermal turns the solution into figures.
func (m *thermalModel) thermal(r Record, s fit.Solution, inflation, effective float64) Thermal {
	b, lag, second := s.Parameters[atCoefficient], s.Parameters[atLag], s.Parameters[atSecond]
	liquid := m.at(lag, second)
	dof := max(effective-thermalParameters-1, 1)
	out := Thermal{
		VarianceInflation: m.inflation(lag, second), Followed: m.spread(lag, second) / m.spread(0, 0), Noise: s.ResidualStd, Autocorrelation: fit.Autocorrelation(s.Residuals),
		Trend: uncertainty.Estimate{
			Value: s.Parameters[atTrend] / m.half, StdUncertainty: s.StdUncertainty(atTrend) / m.half,
			DegreesOfFreedom: dof, Quantity: si.PressureRate,
		},
	}
	for i := range m.t {
		shown, _ := m.probe.at(m.t[i])
		out.Probe = append(out.Probe, shown)
		out.Liquid = append(out.Liquid, m.probe.base+strayed(liquid, s.Parameters[atErrors:], i))
	}
	for i, v := range m.p {
		out.Curve.Time = append(out.Curve.Time, m.t[i])
		out.Curve.Measured = append(out.Curve.Measured, v+m.level)
		out.Curve.Fitted = append(out.Curve.Fitted, v+m.level-s.Residuals[i])
	}
	note := fmt.Sprintf("scatter of pressure and temperature, × %.2f for autocorrelation", inflation)
	spread := m.spread(lag, second)
	quantum, unexplained := 0.0, wave(s.Residuals)
	if spread > 0 {
		quantum = b * m.probe.quantum / spread
	}
	share := unexplained / (math.Abs(b) * spread)
	own := uncertainty.Budget{
		line("noise", s.StdUncertainty(atCoefficient), dof, note),
		line("what no term explains", b*share, dof, "as if the slow movement of what is left were the temperature's"),
		line("temperature resolution", quantum, exactly, "what the probe's step leaves"),
	}
	if moves := ownMovement(r); moves > 0 {
		own = append(own, line("thermometer's own movement", b*moves/(slices.Max(out.Liquid)-slices.Min(out.Liquid)), exactly,
			"what its cold junction or excitation may pretend, of the liquid's whole change"))
	}
	out.Coefficient = figure(b, si.ThermalCoefficient, own,
		uncertainty.Budget{
			line("transducer gain", b*r.Transducer.Gain, exactly, "of the transducer"),
			line("thermometer gain", b*r.Thermometer.AllGain(), exactly, "of the thermometer"),
		})
	out.Lag = figure(lag, si.Time,
		uncertainty.Budget{
			line("noise", s.StdUncertainty(atLag), dof, note),
			line("what no term explains", share*m.half, dof, "as for the coefficient"),
		},
		uncertainty.Budget{line("reading interval", interval(r.Temperature.Time)/math.Sqrt(12), exactly, "when within its interval the thermometer was read")})
	covariance := s.Covariance.At(atCoefficient, atLag)
	out.Correlation = covariance / (out.Coefficient.StdUncertainty * out.Lag.StdUncertainty)
	switch {
	case b > 0 && !(share <= mostUnexplained):
		out = Thermal{Refused: fmt.Sprintf("the pressure moves by ±%.2g bar in a way that neither lags, settling nor a steady leak explain, %.0f %% of what the temperature moves it: %s",
			unexplained/1e5, 100*share, slowly(lag)), VarianceInflation: out.VarianceInflation}
	case !(b > 0):
		out = Thermal{Refused: "the pressure does not rise with the temperature: the probe does not stand for this liquid", VarianceInflation: out.VarianceInflation}
	case !(out.Coefficient.StdUncertainty <= mostRelativeU*b):
		out = Thermal{Refused: fmt.Sprintf("the thermal coefficient is known to no better than a third of itself (%.2g ± %.2g bar/K): let the temperature move further; %s",
			b/1e5, out.Coefficient.StdUncertainty/1e5, upAndDown), VarianceInflation: out.VarianceInflation}
	case math.IsNaN(out.Correlation) || !(out.Lag.StdUncertainty < m.half):
		out = Thermal{Refused: "the lag cannot be told: let the temperature change its direction during the run", VarianceInflation: out.VarianceInflation}
	}
	return out
}

// ownMovement is by how much the thermometer's reading may move in the run
// though no temperature does, K.
func ownMovement(r Record) (moves float64) {
	for _, s := range r.Thermometer.Shares {
		moves = math.Hypot(moves, s.Moves(r.Start, r.End))
	}
	return moves
}
