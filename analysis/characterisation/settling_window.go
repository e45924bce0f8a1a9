package characterisation

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// settlingWindow is what follows locking: times s since then, pressures counted
// from level, and the liquid's temperature counted from the first place.
type settlingWindow struct {
	r     Record
	at, s []float64
	p     []float64
	level float64
	t     liquid // empty without a thermometer
	// coefficient as characterised; 0 with the bound where it is not.
	coefficient uncertainty.Estimate
}

func newSettlingWindow(r Record, readings series.Column) (*settlingWindow, string) {
	w := &settlingWindow{r: r}
	w.at, w.p = means(readings, settlingBlocks)
	for len(w.at) > 0 && !(w.at[0] > r.Locked) {
		w.at, w.p = w.at[1:], w.p[1:]
	}
	if len(w.at) < fewestReadings {
		return nil, "fewer than 30 valid pressure readings after locking"
	}
	w.level = w.p[0]
	for i := range w.p {
		w.p[i] -= w.level
		w.s = append(w.s, w.at[i]-r.Locked)
	}
	return w, w.takeTemperature()
}

// settlingStart is the least doubt of the liquid's temperature at locking, K: a
// liquid that was left to come to rest.
const settlingStart = 0.002

func (w *settlingWindow) takeTemperature() (why string) {
	w.coefficient = uncertainty.Estimate{StdUncertainty: decay.UnknownThermalCoefficient, DegreesOfFreedom: exactly}
	if known := w.r.Known.ThermalCoefficient; known != nil {
		w.coefficient = *known
	}
	if w.r.Temperature.Len() == 0 {
		return ""
	}
	p, err := newProbe(w.r.Temperature, w.at[0], w.at[len(w.at)-1], w.r.Thermometer.Resolution)
	if err != nil {
		return err.Error()
	}
	lag := 0.0
	if w.r.Known.Lag != nil {
		lag = w.r.Known.Lag.Value
	}
	w.t = p.liquid(lag, w.at, settlingStart)
	for _, curve := range append([][]float64{w.t.at}, w.t.shapes...) {
		first := curve[0]
		for i := range curve {
			curve[i] -= first
		}
	}
	return ""
}

func (w *settlingWindow) duration() float64 { return w.s[len(w.s)-1] }

// settlingLaw is what settling takes per unit of its amount, s after locking,
// with at most one parameter of its own.
type settlingLaw interface {
	starts(duration float64) []float64 // of the parameter; none without
	taken(s, parameter float64) float64
	by(s, parameter float64) float64
}

// endingLaw is 1 − exp(−s/τ), the parameter ln τ.
type endingLaw struct{}

func (endingLaw) starts(d float64) []float64 {
	return []float64{math.Log(0.01 * d), math.Log(0.03 * d), math.Log(0.1 * d), math.Log(0.25 * d)}
}
func (endingLaw) taken(s, ln float64) float64 { return -math.Expm1(-s / math.Exp(ln)) }
func (endingLaw) by(s, ln float64) float64 {
	r := s / math.Exp(ln)
	return -r * math.Exp(-r)
}

// slowingLaw is log10(s/first).
type slowingLaw struct{ first float64 }

func (slowingLaw) starts(float64) []float64 { return nil }
func (l slowingLaw) taken(s, _ float64) float64 {
	return math.Log10(s / l.first)
}
func (slowingLaw) by(float64, float64) float64 { return 0 }

// The places of the parameters: level, amount, fall over the window, then the
// law's own where it has one; behind it the coefficient's error and those of
// the temperature, each in standard uncertainties.
const (
	atAmount = 1
	atFall   = 2
	atLaw    = 3
)

// settlingFit is a law laid.
type settlingFit struct {
	fit.Solution
	// errors is the place of the first error with a prior.
	errors    int
	dof       float64
	inflation float64
	law       settlingLaw
	w         *settlingWindow
}

// lay fits
//
//	p = level − amount·law(s) − fall·s/duration + B·T_f
//
// with B held by what is characterised of it and T_f by the probe.
func (w *settlingWindow) lay(law settlingLaw) (*settlingFit, error) {
	starts := law.starts(w.duration())
	f := &settlingFit{errors: atLaw, law: law, w: w}
	if len(starts) > 0 {
		f.errors++
	} else {
		starts = []float64{0}
	}
	model := fit.Model{Values: f.values, Jacobian: f.jacobian}
	o := fit.Options{Tolerance: 1e-5, MaxIterations: 300}
	errors := 0
	if len(w.t.at) > 0 {
		errors = 1 + len(w.t.shapes)
	}
	for k := range errors {
		o.Priors = append(o.Priors, fit.Prior{Parameter: f.errors + k, StdUncertainty: 1})
	}
	if _, flat := law.(flatLaw); flat {
		o.Priors = append(o.Priors, fit.Prior{Parameter: atAmount, StdUncertainty: 1})
	}
	last := len(w.p) - 1
	err := fit.ErrRank
	for _, parameter := range starts {
		start := make([]float64, f.errors+errors)
		start[atAmount] = -w.p[last] / max(law.taken(w.s[last], parameter), 0.1)
		if f.errors > atLaw {
			start[atLaw] = parameter
		}
		s, e := fit.Nonlinear(model, w.p, start, o)
		if e == nil && (err != nil || s.RSS < f.RSS) {
			f.Solution, err = s, nil
			f.Residuals = append([]float64(nil), s.Residuals...)
		}
	}
	if err != nil {
		return nil, err
	}
	inflation, effective := fit.AR1Inflation(fit.Autocorrelation(f.Residuals), len(w.p))
	o.Sigma = f.ResidualStd * inflation
	s, err := fit.Nonlinear(model, w.p, f.Parameters, o)
	if err != nil {
		return nil, err
	}
	f.Solution, f.inflation, f.dof = s, inflation, max(effective-float64(f.errors), 1)
	return f, nil
}

// own is the law's own parameter at x.
func (f *settlingFit) own(x []float64) float64 {
	if f.errors > atLaw {
		return x[atLaw]
	}
	return 0
}

// temperature is T_f at place i and the coefficient, at x.
func (f *settlingFit) temperature(x []float64, i int) (t, b float64) {
	if len(f.w.t.at) == 0 {
		return 0, 0
	}
	b = f.w.coefficient.Value + x[f.errors]*f.w.coefficient.StdUncertainty
	return strayed(f.w.t, x[f.errors+1:], i), b
}

func (f *settlingFit) values(dst, x []float64) {
	end, own := f.w.duration(), f.own(x)
	for i, s := range f.w.s {
		t, b := f.temperature(x, i)
		dst[i] = x[0] - x[atAmount]*f.law.taken(s, own) - x[atFall]*s/end + b*t
	}
}

func (f *settlingFit) jacobian(dst [][]float64, x []float64) {
	end, own := f.w.duration(), f.own(x)
	for i, s := range f.w.s {
		dst[0][i], dst[atAmount][i], dst[atFall][i] = 1, -f.law.taken(s, own), -s/end
		if f.errors > atLaw {
			dst[atLaw][i] = -x[atAmount] * f.law.by(s, own)
		}
		if len(f.w.t.at) == 0 {
			continue
		}
		t, b := f.temperature(x, i)
		dst[f.errors][i] = t * f.w.coefficient.StdUncertainty
		for k, shape := range f.w.t.shapes {
			dst[f.errors+1+k][i] = b * shape[i]
		}
	}
}

// lines parts the uncertainty of a parameter, times scale, into what comes of
// the coefficient, of the temperature and of the pressure's scatter.
//
// Source: a prior of variance 1 brings the square of its covariance (mark L,
// C·P·C).
func (f *settlingFit) lines(place int, scale float64) uncertainty.Budget {
	total := f.Covariance.At(place, place)
	var coefficient, temperature float64
	for k := f.errors; k < len(f.Parameters); k++ {
		c := f.Covariance.At(place, k)
		if k == f.errors {
			coefficient = math.Abs(c)
		} else {
			temperature += c * c
		}
	}
	rest := math.Sqrt(max(0, total-coefficient*coefficient-temperature))
	note := "characterised thermal coefficient"
	if f.w.r.Known.ThermalCoefficient == nil {
		note = "the thermal coefficient is not characterised"
	}
	return uncertainty.Budget{
		line("noise", scale*rest, f.dof, fmt.Sprintf("scatter of the pressure, × %.2f for autocorrelation", f.inflation)),
		line("temperature reading", scale*math.Sqrt(temperature), exactly, "what the probe does not know of the liquid"),
		line("thermal coefficient", scale*coefficient, f.w.coefficient.DegreesOfFreedom, note),
	}
}

// drawn is the run as compensated by the fit, and the fit.
func (w *settlingWindow) drawn(f *settlingFit) Curve {
	var c Curve
	for i, v := range w.p {
		t, b := f.temperature(f.Parameters, i)
		c.Time = append(c.Time, w.at[i])
		c.Measured = append(c.Measured, w.level+v-b*t)
		c.Fitted = append(c.Fitted, w.level+v-b*t-f.Residuals[i])
	}
	return c
}

// drawnMeasured is the run as measured, and the fit.
func (w *settlingWindow) drawnMeasured(f *settlingFit) Curve {
	var c Curve
	for i, v := range w.p {
		c.Time = append(c.Time, w.at[i])
		c.Measured = append(c.Measured, w.level+v)
		c.Fitted = append(c.Fitted, w.level+v-f.Residuals[i])
	}
	return c
}
