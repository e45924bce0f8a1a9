package bench

import (
	"slices"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// Counts is the raw unit of bare numbers.
const Counts = "1"

// signals are the quantities in which an instrument may report, in the order
// in which an ambiguous unit is read: a state before a difference.
var signals = []si.Quantity{si.Current, si.Voltage, si.Pressure, si.Temperature, si.Frequency, si.Time, si.Dimensionless}

// conversion reads the way from the number sent to the quantity. known is
// false where the channel's quantity is not.
func conversion(c *Channel, t *strict.Table, known bool) {
	if k := t.Optional("raw_scale"); k.Given() {
		c.RawScale = k.Number("a number other than 0", func(x float64) bool { return x != 0 })
	}
	unit, scaling := t.Required("raw_unit"), t.Optional("scaling")
	c.RawUnit = unit.Text()
	if c.RawUnit == "" || !known {
		return
	}
	if !scaling.Given() {
		u, err := si.ParseUnit(c.RawUnit, c.Quantity)
		if err != nil {
			unit.Fault(strict.Quote(c.RawUnit), "a unit of "+c.Quantity.String()+", or scaling from this unit to it")
		}
		c.RawQuantity = u.Quantity
		return
	}
	quantity, ok := signalQuantity(c.RawUnit)
	if !ok {
		unit.Fault(strict.Quote(c.RawUnit), `the unit of a signal, e.g. "mA", "V", "bar", or "1" for bare counts`)
		return
	}
	c.RawQuantity = quantity
	c.Scaling = points(scaling, quantity, c.Quantity)
}

// signalQuantity is the quantity of a raw unit.
func signalQuantity(unit string) (si.Quantity, bool) {
	if unit == Counts {
		return si.Dimensionless, true
	}
	for _, q := range signals {
		if slices.ContainsFunc(si.ParseAnyUnit(unit), func(u si.Unit) bool { return u.Quantity == q }) {
			return q, true
		}
	}
	return 0, false
}

// points reads the two points of a straight line, nil unless they are right.
func points(k strict.Key, signal, value si.Quantity) *Scaling {
	const want = `two points of signal and value, e.g. [["4 mA", "0 bar"], ["20 mA", "250 bar"]]`
	low, high, ok := k.Pair("point 1", "point 2", want)
	if !ok {
		return nil
	}
	var s Scaling
	for _, p := range []struct {
		key           strict.Key
		signal, value *float64
	}{{low, &s.SignalLow, &s.ValueLow}, {high, &s.SignalHigh, &s.ValueHigh}} {
		a, b, ok := p.key.Pair("signal", "value", `a signal and a value, e.g. ["4 mA", "0 bar"]`)
		if !ok {
			return nil
		}
		*p.signal, *p.value = a.Quantity(signal), b.Quantity(value)
	}
	switch {
	case s.SignalLow == s.SignalHigh:
		k.Fault("two points with the same signal", "two different signals")
	case s.ValueLow == s.ValueHigh:
		k.Fault("two points with the same value", "two different values")
	}
	return &s
}
