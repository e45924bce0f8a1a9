package decay

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// reciprocalUnit: 1/τ is a number per second.
const reciprocalUnit = si.Dimensionless

// endless is why there is no time constant where 1/τ is not clearly above 0.
const endless = "its 95 % interval reaches infinity: the loss is not clearly above 0"

// timeConstant is τ of the exponential law, of leak and settling together
// where settling is not characterised. It is estimated through 1/τ, which is
// nearly linear in the readings, and is there under any law: where no
// exponential can be laid, or the readings speak against one, 1/τ is the
// mean loss rate over the mean height above the sink.
//
// Source: u(τ) = u(1/τ)·τ², [1] eq. 11a.
func (f *fitting) timeConstant() Quantity {
	if f.liquid == nil {
		return absent(si.Time, f.noTemp)
	}
	if !f.explained() {
		q := absent(si.Time, unexplained+", so no time constant does")
		turned := f.relativeLoss()
		q.Reciprocal = &turned
		return q
	}
	against := f.against()
	rate, budget := f.together(f.choice.weight, nil, func(l *law) said {
		rate := l.relative(l.c, l.frame)
		return said{rate, rate}
	})
	turned := estimated(rate, reciprocalUnit, budget)
	q := turned.scaled(1/(rate*rate), si.Time)
	q.Value = 1 / rate
	slow, _ := turned.Interval(timeLevel)
	switch {
	case against:
		q = absent(si.Time, "the hold does not fall exponentially: "+f.choice.reason)
	case !(slow > 0):
		q = absent(si.Time, endless)
	}
	q.Reciprocal = &turned
	return q
}

// relativeLoss is the mean loss rate over the mean height above the sink,
// 1/s, where no law gives it.
func (f *fitting) relativeLoss() Quantity {
	rate, decay := f.rates()
	if rate.Absent != "" || f.own != nil {
		rate = decay
	}
	sink := f.in.Sink.Pressure
	height := mean(f.p) - sink.Value
	q := rate.scaled(1/height, reciprocalUnit)
	return estimated(q.Value, reciprocalUnit, append(q.Budget,
		uncertainty.Line{
			Source: SourceSink, StdUncertainty: math.Abs(q.Value / height * sink.StdUncertainty),
			DegreesOfFreedom: sink.DegreesOfFreedom, Note: f.in.Sink.source(),
		},
		uncertainty.Line{
			Source: SourceOffset, StdUncertainty: math.Abs(q.Value / height * f.in.Transducer.Offset),
			DegreesOfFreedom: math.Inf(1), Note: "transducer's zero",
		}))
}

// timeLevel is the coverage of the interval that must end for a time constant
// to be given.
const timeLevel = 0.95

// atTestPressure is the leak rate that the law gives at the test pressure; of
// a line the leak rate itself.
func (f *fitting) atTestPressure() Quantity {
	p := f.in.TestPressure
	switch {
	case f.liquid == nil:
		return absent(si.PressureRate, f.noTemp)
	case f.own != nil && p > 0:
		return f.own.rateAt(f, p)
	case f.settled == nil && f.own == nil:
		return absent(si.PressureRate, f.noSett)
	case !f.explained() && f.own == nil:
		return absent(si.PressureRate, unexplained)
	case !(p > 0):
		return absent(si.PressureRate, "the test pressure is not known")
	}
	weight, ok := f.choice.beyond()
	if !ok {
		return absent(si.PressureRate, wanders)
	}
	rate, budget := f.together(weight, nil, func(l *law) said {
		rate := l.rateAt(l.c, l.frame, p)
		return said{rate, rate}
	})
	return estimated(rate, si.PressureRate, budget)
}
