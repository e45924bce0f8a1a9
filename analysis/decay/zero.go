package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Zero is what a pressure transducer reads while its circuit is vented.
type Zero struct {
	// At is the middle of the readings, s since the start of the recording.
	At float64
	// Value is their mean in Pa, with its standard uncertainty.
	Value uncertainty.Estimate
}

// Zeros are a transducer's zero before the circuit was pressurised and after
// it was released.
type Zeros struct{ Before, After Zero }

// SourceZeroShift is the line of a budget that stands in place of the
// transducer's drift where its zero was read before and after.
const SourceZeroShift = "zero shift"

// Shift is by how much the zero moved, Pa.
func (z Zeros) Shift() uncertainty.Estimate {
	u, dof := uncertainty.Budget{
		{StdUncertainty: z.Before.Value.StdUncertainty, DegreesOfFreedom: z.Before.Value.DegreesOfFreedom},
		{StdUncertainty: z.After.Value.StdUncertainty, DegreesOfFreedom: z.After.Value.DegreesOfFreedom},
	}.Combined()
	return uncertainty.Estimate{
		Value: z.After.Value.Value - z.Before.Value.Value, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: z.After.Value.Quantity,
	}
}

// zeroCourse is the half width, in shares of the shift over the hold, within
// which what the zero did in the hold may differ from a steady drift between
// the two readings of it: it may have moved before or after the hold, or have
// moved twice as fast in it.
//
// Source: the house's own, a rectangular distribution by [1] 4.3.7.
const zeroCourse = 1.0

// rate is the steady drift that takes the zero from before to after, Pa/s.
func (z Zeros) rate() float64 { return z.Shift().Value / z.span() }

func (z Zeros) span() float64 { return z.After.At - z.Before.At }

// usable: both were read, one before the other, with finite figures.
func (z *Zeros) usable() bool {
	return z != nil && z.span() > 0 && !math.IsInf(z.span(), 0) && !math.IsNaN(z.rate()) && !math.IsInf(z.rate(), 0)
}

// withoutZeroShift takes the steady drift of the zero since t0 off the
// readings.
func (f *fitting) withoutZeroShift() {
	if !f.in.Zeros.usable() {
		return
	}
	rate := f.in.Zeros.rate()
	value := make([]float64, f.readings.Len())
	for i, t := range f.readings.Time {
		value[i] = f.readings.Value[i] - rate*(t-f.in.Start)
	}
	f.readings.Value = value
}

// driftLine is what a drift of the transducer leaves in something that
// answers to a pressure rising by 1 Pa/s as over says, s: a stated drift, or,
// where the zero was read before and after, what is not known of its shift.
func (f *fitting) driftLine(over float64, note string) uncertainty.Line {
	over = math.Abs(over)
	z := f.in.Zeros
	if !z.usable() {
		return uncertainty.Line{
			Source: SourceDrift, DegreesOfFreedom: math.Inf(1), StdUncertainty: f.in.Transducer.Drift * over, Note: note,
		}
	}
	shift, share := z.Shift(), over/z.span()
	u, dof := uncertainty.Budget{
		{StdUncertainty: shift.StdUncertainty, DegreesOfFreedom: shift.DegreesOfFreedom},
		{StdUncertainty: zeroCourse * math.Abs(shift.Value) / math.Sqrt(3), DegreesOfFreedom: math.Inf(1)},
	}.Combined()
	return uncertainty.Line{
		Source: SourceZeroShift, DegreesOfFreedom: dof, StdUncertainty: u * share,
		Note: fmt.Sprintf("the zero moved by %s from before to after, taken off as a steady drift", roughly(shift.Value, si.PressureChange)),
	}
}

// roughly writes an SI value with two digits, in the unit in which it is shown
// by default.
func roughly(x float64, q si.Quantity) string {
	unit := si.DefaultDisplay.Unit(q)
	return fmt.Sprintf("%.2g %s", unit.FromSI(x), unit.Symbol)
}
