package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// quantities are the names of all estimates and what they are.
var quantities = map[string]si.Quantity{
	"drop": si.PressureChange, "decay_rate": si.PressureRate, "settling": si.PressureChange,
	"leak_rate": si.PressureRate, "leak_rate_at_test_pressure": si.PressureRate, "leak_flow": si.VolumeFlow,
	"pressure_end": si.Pressure, "pressure_after": si.Pressure, "time_constant": si.Time,
	"thermal_coefficient": si.ThermalCoefficient, "stiffness": si.Stiffness,
}

const noTime = "no time after the hold's start is stated"

// nothing is the result where there is no fit.
func (f *fitting) nothing(reason string) Result {
	r := Result{Estimates: map[string]Quantity{}, Diagnostics: f.diagnostics, StartPressure: absent(si.Pressure, reason)}
	for name, q := range quantities {
		r.Estimates[name] = absent(q, reason)
	}
	for range f.o.After {
		r.After = append(r.After, absent(si.Pressure, reason))
	}
	f.asUsed(r.Estimates)
	d, nan := &r.Diagnostics, math.NaN()
	d.ValidShare, d.Noise, d.Autocorrelation, d.Inflation, d.EffectiveReadings = nan, nan, nan, nan, nan
	d.AICcLine, d.AICcExponential = nan, nan
	d.CurvatureT, d.CurvatureDOF, d.BlockMeanRate, d.BlockMeanRateU = nan, nan, nan, nan
	d.TemperatureChange, d.TemperatureChangeU, d.LiquidRate, d.RawRate = nan, nan, nan, nan
	d.withoutCourse()
	return r
}

func (f *fitting) result() Result {
	leak, decay := f.rates()
	e := map[string]Quantity{
		"drop":                       f.lostInAll(decay),
		"decay_rate":                 decay,
		"settling":                   f.settling(),
		"leak_rate":                  leak,
		"leak_rate_at_test_pressure": f.atTestPressure(),
		"leak_flow":                  f.flow(leak),
		"pressure_end":               f.measuredEnd(),
		"pressure_after":             absent(si.Pressure, noTime),
		"time_constant":              f.timeConstant(),
	}
	f.asUsed(e)
	f.diagnostics.Words, f.diagnostics.Laws = f.courseWords(e), f.candidates()
	r := Result{Estimates: e, Curves: f.curves, Diagnostics: f.diagnostics, StartPressure: f.measuredAt(f.in.Start)}
	for k := range f.o.After {
		r.After = append(r.After, f.after(k))
	}
	if len(r.After) > 0 {
		e["pressure_after"] = r.After[0]
	}
	return r
}

// asUsed adds the characterised quantities.
func (f *fitting) asUsed(e map[string]Quantity) {
	held := func(known *uncertainty.Estimate, q si.Quantity, name string) Quantity {
		if known == nil {
			return absent(q, name+" is not characterised")
		}
		return estimated(known.Value, q, uncertainty.Budget{{
			Source: "characterisation", StdUncertainty: known.StdUncertainty,
			DegreesOfFreedom: known.DegreesOfFreedom, Note: f.in.Known.Source,
		}})
	}
	e["thermal_coefficient"] = held(f.in.Known.ThermalCoefficient, si.ThermalCoefficient, "the thermal coefficient")
	if f.learned != nil {
		e["thermal_coefficient"] = f.learned.estimate(f.coefficientSource(), f.in.Known.ThermalCoefficient)
	}
	e["stiffness"] = held(f.in.Known.Stiffness, si.Stiffness, "the stiffness")
}

// rates returns leak rate and decay rate: what the law, or the freer curve
// where one was taken, loses over the hold, without settling and with it. A leak
// parted from its settling follows its law unless that is ruled out.
func (f *fitting) rates() (leak, decay Quantity) {
	if f.liquid == nil {
		return absent(si.PressureRate, f.noTemp), absent(si.PressureRate, f.noTemp)
	}
	estimate := func(settling float64, besides []float64) Quantity {
		rate, budget := f.together(f.choice.weight, besides, f.meanLoss)
		return estimated(rate+settling, si.PressureRate, budget)
	}
	freely := func(settling float64, besides []float64) Quantity {
		lost, budget := f.lostFreely(times(besides, f.duration))
		return estimated(lost+settling*f.duration, si.PressureChange, budget).scaled(1/f.duration, si.PressureRate)
	}
	lost := estimate
	if f.instead != nil {
		lost = freely
	}
	if !f.explained() {
		estimate = freely
	}
	switch {
	case f.own != nil:
		return f.own.leakRate(f), lost(0, nil)
	case f.settled == nil:
		return absent(si.PressureRate, f.noSett), lost(0, nil)
	}
	besides := times(f.settled.until(f.duration), 1/f.duration)
	return estimate(0, nil), lost(besides[0], besides)
}

// meanLoss is a law's mean loss rate over the hold.
func (f *fitting) meanLoss(l *law) said {
	rate := l.lost(l.c, l.frame, f.duration).times(1 / f.duration)
	return said{rate, rate}
}

// times returns k·x.
func times(x []float64, k float64) []float64 {
	out := append([]float64(nil), x...)
	for i := range out {
		out[i] *= k
	}
	return out
}

func (f *fitting) settling() Quantity {
	switch {
	case f.own != nil:
		return f.own.settling(f)
	case f.settled == nil:
		return absent(si.PressureChange, f.noSett)
	}
	taken := f.settled.until(f.duration)
	return estimated(taken[0], si.PressureChange, f.settled.lines(taken))
}

// flow is the leak rate over the stiffness.
func (f *fitting) flow(leak Quantity) Quantity {
	k := f.in.Known.Stiffness
	switch {
	case leak.Absent != "":
		return absent(si.VolumeFlow, leak.Absent)
	case k == nil:
		return absent(si.VolumeFlow, "the stiffness is not characterised")
	case !(k.Value > 0):
		return absent(si.VolumeFlow, "the characterised stiffness is not above 0")
	}
	out := leak.scaled(1/k.Value, si.VolumeFlow)
	return estimated(out.Value, si.VolumeFlow, append(out.Budget, uncertainty.Line{
		Source: SourceStiffness, StdUncertainty: math.Abs(out.Value) * k.StdUncertainty / k.Value,
		DegreesOfFreedom: k.DegreesOfFreedom, Note: "characterised stiffness",
	}))
}

// Pressure at an end of the hold is read from a line through a tenth of its
// readings, and not fewer than endReadings if there are so many.
const (
	endShare    = 10
	endReadings = 12
)

// measuredEnd is the pressure at t1; none of an interrupted hold, which was
// pumped up since t0.
func (f *fitting) measuredEnd() Quantity {
	if f.interrupted() {
		return absent(si.Pressure, acrossSegments)
	}
	return f.measuredAt(f.in.End)
}

// measuredAt returns the measured pressure at t0 or t1.
func (f *fitting) measuredAt(at float64) Quantity {
	n := len(f.p)
	m := min(max(n/endShare, endReadings), n)
	part := series.Column{Time: f.t[n-m:], Value: f.p[n-m:]}
	if at <= f.in.Start {
		part = series.Column{Time: f.t[:m], Value: f.p[:m]}
	}
	l, err := straightLine(part.Time, part.Value)
	if err != nil {
		return absent(si.Pressure, "too few pressure readings at this end of the hold")
	}
	level := l.at(l.c, l.frame, at-f.in.Start)
	budget := uncertainty.Budget{{
		Source: SourceNoise, StdUncertainty: l.noise(level), DegreesOfFreedom: l.dof,
		Note: fmt.Sprintf("line through %d readings, × %.2f for autocorrelation", m, l.inflation),
	}}
	return estimated(level.value, si.Pressure, append(budget, f.levelLines(level.value, at-f.in.Start)...))
}

// after predicts the pressure the time Options.After[k] after t0 at constant
// temperature. A freer curve says nothing outside the hold.
func (f *fitting) after(k int) Quantity {
	t := f.o.After[k]
	switch {
	case f.liquid == nil:
		return absent(si.Pressure, f.noTemp)
	case f.interrupted():
		return absent(si.Pressure, acrossSegments)
	case f.instead != nil && t >= 0 && t <= f.duration:
		level, budget := f.afterFreely(k)
		return estimated(level, si.Pressure, budget)
	case !f.explained():
		return absent(si.Pressure, unexplained+": it cannot be followed past its end")
	}
	settled := 0.0
	var besides []float64
	if f.settled != nil {
		besides = f.settled.until(t)
		for k := range besides {
			besides[k] = -besides[k]
		}
		settled = besides[0]
	}
	weight, ok := f.choice.weight, true
	if !(t >= 0 && t <= f.duration) {
		weight, ok = f.choice.beyond()
	}
	if !ok {
		return absent(si.Pressure, wanders)
	}
	level, budget := f.together(weight, besides, func(l *law) said {
		alone := l.frame.resting()
		return said{l.at(l.c, alone, t), l.lost(l.c, alone, t)}
	})
	return estimated(level+settled, si.Pressure, budget)
}

// draw makes the curves, over all readings, whatever was fitted.
func (f *fitting) draw() Curves {
	f.thinOut()
	c := Curves{Time: f.drawn.Time, Measured: f.drawn.Value, Compensated: f.compensated}
	fitted := make([]float64, len(f.t))
	residuals := f.choice.law().residuals
	if f.instead != nil {
		residuals = f.instead.residuals
	}
	for i, r := range residuals {
		fitted[i] = f.compensated[i] - r
	}
	c.Fitted = f.overReadings(fitted)
	if f.liquid == nil {
		c.Compensated = c.Measured
		return c
	}
	u := make([]float64, len(f.t))
	for i := range u {
		u[i] = f.liquid.uncertaintyAt(i)
	}
	c.LiquidTemperature, c.LiquidTemperatureU = f.overReadings(f.liquid.at), f.overReadings(u)
	if f.gathered() || f.calm {
		c.Compensated = compensate(c.Measured, c.LiquidTemperature, f.liquid.start, f.coefficient().Value)
	}
	return c
}

// overReadings carries a smooth curve from what is fitted to all readings,
// straight between the blocks.
func (f *fitting) overReadings(curve []float64) []float64 {
	if !f.gathered() {
		return curve
	}
	out := make([]float64, 0, f.drawn.Len())
	for _, p := range f.parts() {
		j := p.first
		for _, at := range f.drawn.Time[p.fromDrawn:p.endDrawn] {
			t := at - f.in.Start
			for j < p.end-2 && f.t[j+1] < t {
				j++
			}
			out = append(out, curve[j]+(curve[j+1]-curve[j])*(t-f.t[j])/(f.t[j+1]-f.t[j]))
		}
	}
	return out
}

// noise is the standard deviation of single readings about the curve.
func (f *fitting) noise() float64 {
	c := f.curves
	var sum float64
	for i, v := range c.Compensated {
		sum += (v - c.Fitted[i]) * (v - c.Fitted[i])
	}
	return math.Sqrt(sum / float64(len(c.Fitted)-2))
}
