package characterisation

import (
	"fmt"
	"math"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Settling is what a blank or reference run says of what follows locking.
type Settling struct {
	// Refused says why the run says nothing, and what to do.
	Refused string
	// Exponential is A·(1 − exp(−s/τ)), s since locking; nil with the reason
	// where it cannot be told.
	Exponential   *Exponential
	ExponentialNo string
	// Creep is C per decade of time since locking; nil with the reason.
	Creep   *Figure
	CreepNo string
	// Prefers names the one that the readings speak for, "exponential" or
	// "creep"; empty where they do not decide. Preference is the difference of
	// the criterion (AICc), above 0; Words say it for pages.
	Prefers    string
	Preference float64
	Words      string
	// Noise is that of a block's mean, Pa.
	Noise float64
	Curve Curve
}

// Exponential is a settling that ends.
type Exponential struct {
	Amplitude, TimeConstant Figure
	Correlation             float64
	// Trend is the steady fall beside it, Pa/s, positive.
	Trend uncertainty.Estimate
}

// What a run must be for a settling to be told from a steady leak.
//
// Source: the house's own rule: a time constant of at most a third of the
// window, 1.5 decades of time for what slows with the logarithm of time.
const (
	longestTau     = 1.0 / 3
	fewestDecades  = 1.5
	settlingBlocks = 600
	// decided is the difference of the criterion from which on one of two
	// models is preferred (common practice, mark P).
	decided = 6
)

// SettlingOf finds settling and creep after locking, beside a steady fall.
// It has no other failure than a refusal.
func SettlingOf(r Record) Settling {
	if math.IsNaN(r.Locked) {
		return Settling{Refused: "the instant of locking is not known, and settling counts from there"}
	}
	readings, why := r.pressures(math.Max(r.Start, r.Locked), r.End)
	if why != "" {
		return Settling{Refused: why}
	}
	w, why := newSettlingWindow(r, readings)
	if why != "" {
		return Settling{Refused: why}
	}
	out := Settling{}
	e, c := w.exponential(&out), w.creep(&out)
	w.choose(&out, e, c)
	if out.Exponential == nil && out.Creep == nil {
		out.Refused = "no settling can be told: " + out.ExponentialNo + "; " + out.CreepNo
	}
	return out
}

// exponential lays the settling that ends; nil where nothing can be laid.
func (w *settlingWindow) exponential(out *Settling) *settlingFit {
	f, err := w.lay(endingLaw{})
	if err != nil {
		out.ExponentialNo = "no exponential can be laid through what follows locking"
		return nil
	}
	amplitude, tau := f.Parameters[atAmount], math.Exp(f.Parameters[atLaw])
	uTau := f.StdUncertainty(atLaw)
	switch {
	case tau > longestTau*w.duration():
		out.ExponentialNo = fmt.Sprintf("an exponential would have a time constant of %s, more than a third of the window (%s), and cannot be told from a steady leak: record for longer", longTime(tau), longTime(w.duration()))
		return f
	case !(f.StdUncertainty(atAmount) < math.Abs(amplitude)/2) || !(uTau < 0.5):
		out.ExponentialNo = "an exponential's amplitude and time constant are not known to better than half of themselves"
		return f
	}
	e := &Exponential{
		Amplitude:    figure(amplitude, si.PressureChange, f.lines(atAmount, 1), w.gain(amplitude)),
		TimeConstant: figure(tau, si.Time, f.lines(atLaw, tau), nil),
		Trend: uncertainty.Estimate{Value: f.Parameters[atFall] / w.duration(), StdUncertainty: f.StdUncertainty(atFall) / w.duration(),
			DegreesOfFreedom: f.dof, Quantity: si.PressureRate},
	}
	covariance := f.Covariance.At(atAmount, atLaw) * tau
	e.Correlation = covariance / (e.Amplitude.StdUncertainty * e.TimeConstant.StdUncertainty)
	out.Exponential = e
	return f
}

// creep lays the settling that slows with the logarithm of time.
func (w *settlingWindow) creep(out *Settling) *settlingFit {
	f, err := w.lay(slowingLaw{first: w.s[0]})
	if err != nil {
		out.CreepNo = "no logarithm of time can be laid through what follows locking"
		return nil
	}
	if math.Log10(w.duration()/w.s[0]) < fewestDecades {
		out.CreepNo = fmt.Sprintf("creep needs a record that ends 32 times as long after locking as it begins, this one begins %.3g s and ends %.3g s after it: record from sooner after locking, or until %s after it",
			w.s[0], w.duration(), longTime(w.s[0]*math.Pow(10, fewestDecades)))
		return f
	}
	c := figure(f.Parameters[atAmount], si.PressureChange, f.lines(atAmount, 1), w.gain(f.Parameters[atAmount]))
	out.Creep = &c
	return f
}

func (w *settlingWindow) gain(value float64) uncertainty.Budget {
	return uncertainty.Budget{line("transducer gain", value*w.r.Transducer.Gain, exactly, "of the transducer")}
}

// choose compares the two by the criterion, with as many readings as are
// independent after the one that leaves least, and draws that one.
func (w *settlingWindow) choose(out *Settling, e, c *settlingFit) {
	better := e
	if e == nil || c != nil && c.RSS < e.RSS {
		better = c
	}
	if better == nil {
		return
	}
	out.Noise = better.ResidualStd
	out.Curve = w.drawn(better)
	if e == nil || c == nil {
		return
	}
	n := len(w.p)
	_, effective := fit.AR1Inflation(fit.Autocorrelation(better.Residuals), n)
	share := effective / float64(n)
	difference := fit.AICc(c.RSS*share, int(effective), 4) - fit.AICc(e.RSS*share, int(effective), 5)
	out.Preference = math.Abs(difference)
	switch {
	case difference > decided:
		out.Prefers = "exponential"
		out.Words = "the readings speak" + clearly(difference) + "for a settling that ends"
	case -difference > decided:
		out.Prefers = "creep"
		out.Words = "the readings speak" + clearly(-difference) + "for a creep that slows with the logarithm of time"
	default:
		out.Words = "the readings do not tell a settling that ends from a creep that slows with the logarithm of time"
	}
}

// clearly says how strongly a criterion's difference speaks.
func clearly(difference float64) string {
	if difference > 10*decided {
		return " clearly "
	}
	return " "
}

// longTime is a time in the unit in which it reads well.
func longTime(s float64) string {
	switch {
	case s < 10:
		return fmt.Sprintf("%.2g s", s)
	case s < 120:
		return fmt.Sprintf("%.0f s", s)
	case s < 7200:
		return fmt.Sprintf("%.0f min", s/60)
	case s < 1e6:
		return fmt.Sprintf("%.1f h", s/3600)
	}
	return "weeks"
}
