package decay

import "holdbench/analysis/si"

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
	rs, against := f.responses, f.against()
	if l, _ := f.choice.named(Exponential); l != nil && l != rs.law && !against {
		rs = f.responsesOf(l)
	}
	l := rs.law
	rate := l.relative(l.c, l.frame)
	turned := estimated(rate.value, reciprocalUnit, f.doubts(rs, rate, rate, nil))
	q := turned.scaled(1/(rate.value*rate.value), si.Time)
	q.Value = 1 / rate.value
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
	case f.settled == nil:
		return absent(si.PressureRate, f.noSett)
	case !(p > 0):
		return absent(si.PressureRate, "the test pressure is not known")
	}
	l := f.responses.law
	rate := l.rateAt(l.c, l.frame, p)
	budget := append(f.doubts(f.responses, rate, rate, nil),
		f.lawLine(rate.value, func(l *law) float64 { return l.rateAt(l.c, l.frame, p).value })...)
	return estimated(rate.value, si.PressureRate, budget)
}
