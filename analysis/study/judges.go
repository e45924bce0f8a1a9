package study

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"holdbench/analysis"
	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// Assessed judges by analysis.Assess at the end of the hold.
func Assessed() Judge {
	return Judge{Name: "holdbench", Title: "holdbench", Judge: func(h analysis.Hold) Answer {
		return answerOf(analysis.Assess(h))
	}}
}

// answerOf takes an answer out of an assessment at the end of a hold.
func answerOf(a analysis.Assessment) Answer {
	return Answer{
		DecayRate: a.Estimates["decay_rate"], LeakRate: a.Estimates["leak_rate"],
		Verdict: a.Verdict, Valid: a.Valid, At: 1,
	}
}

// TwoPoints judges as is done by hand: the pressure at the end against that
// at the start, without uncertainty, temperature or settling.
func TwoPoints() Judge {
	return Judge{Name: "two-points", Title: "two-point drop", Judge: func(h analysis.Hold) Answer {
		c := h.Trapped.Window(h.Start, h.End).Valid()
		if c.Len() < 2 {
			return Answer{DecayRate: none(), LeakRate: none(), At: 1}
		}
		last := c.Len() - 1
		rate := (c.Value[0] - c.Value[last]) / (c.Time[last] - c.Time[0])
		e := uncertainty.Estimate{Value: rate, DegreesOfFreedom: math.Inf(1), Quantity: si.PressureRate}
		a := Answer{DecayRate: estimated(e), LeakRate: estimated(e), Valid: true, At: 1, Verdict: verdict.Pass}
		if h.Limits[0].Exceeded(rate) > 0 {
			a.Verdict = verdict.Fail
		}
		return a
	}}
}

// LeastSquares judges as is done in a spreadsheet: the pressure on time and
// on the thermometer's readings as they are, the coefficient free, without
// settling. Inflated, the standard uncertainty is multiplied by
// √((1+ρ)/(1−ρ)) for the autocorrelation ρ of the residuals, with the degrees
// of freedom of the independent readings.
func LeastSquares(inflated bool) Judge {
	j := Judge{Name: "least-squares", Title: "least squares on time and temperature, readings taken as independent"}
	if inflated {
		j = Judge{Name: "least-squares-inflated", Title: "least squares on time and temperature, inflated for autocorrelation", Honest: "least-squares-honest"}
	}
	j.Judge = func(h analysis.Hold) Answer {
		e := slopeBeside(h, inflated)
		d := verdict.Decide(h.Limits[0], e)
		return Answer{DecayRate: estimated(e), LeakRate: estimated(e), Valid: true, At: 1, Verdict: d.Verdict}
	}
	return j
}

// slopeBeside is the loss rate from least squares of the pressure on time and
// temperature.
func slopeBeside(h analysis.Hold, inflated bool) uncertainty.Estimate {
	t, p, temp := Together(h)
	x := mat.NewDense(max(len(t), 1), 3, nil)
	for i := range t {
		x.SetRow(i, []float64{1, t[i], temp[i]})
	}
	if len(t) < 5 {
		return none().Estimate
	}
	l, err := fit.LeastSquares(x, p)
	if err != nil {
		return none().Estimate
	}
	u, dof := math.Sqrt(l.Covariance.At(1, 1)), float64(l.DegreesOfFreedom)
	if inflated {
		factor, effective := fit.AR1Inflation(fit.Autocorrelation(l.Residuals), len(t))
		u, dof = u*factor, max(effective-3, 1)
	}
	return uncertainty.Estimate{Value: -l.Coefficients[1], StdUncertainty: u, DegreesOfFreedom: dof, Quantity: si.PressureRate}
}

// Together are the readings of pressure and temperature that were made at the
// same instants of the hold, less the first of each.
func Together(h analysis.Hold) (t, p, temp []float64) {
	pressure, temperature := h.Trapped.Window(h.Start, h.End).Valid(), h.Temperature.Window(h.Start, h.End).Valid()
	next := 0
	for i, at := range pressure.Time {
		for next < temperature.Len() && temperature.Time[next] < at {
			next++
		}
		if next < temperature.Len() && temperature.Time[next] == at {
			t, p, temp = append(t, at-h.Start), append(p, pressure.Value[i]), append(temp, temperature.Value[next])
		}
	}
	return t, less(p), less(temp)
}

func less(v []float64) []float64 {
	if len(v) == 0 {
		return v
	}
	first := v[0]
	for i := range v {
		v[i] -= first
	}
	return v
}
