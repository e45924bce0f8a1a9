package bench

import (
	"fmt"
	"slices"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq/sensor"
	"holdbench/daq/strict"
)

// Counts is the raw unit of bare numbers.
const Counts = "1"

// signals are the quantities in which an instrument may report, in the order
// in which an ambiguous unit is read: a state before a difference.
var signals = []si.Quantity{si.Current, si.Voltage, si.Resistance, si.Pressure, si.Temperature, si.Frequency, si.Time, si.Dimensionless}

// conversion reads the way from the number sent to the quantity. known is
// false where the channel's quantity is not.
func conversion(c *Channel, t *strict.Table, known bool) {
	if k := t.Optional("raw_scale"); k.Given() {
		c.RawScale = k.Number("a number other than 0", func(x float64) bool { return x != 0 })
	}
	if k := t.Optional("raw_offset"); k.Given() {
		c.RawOffset = k.Number("a number, in raw_unit", func(float64) bool { return true })
	}
	unit, key, kind := t.Required("raw_unit"), strict.Key{}, sensor.Kind{}
	for _, k := range sensor.Kinds {
		switch at := t.Optional(k.Key); {
		case !at.Given():
		case kind.Key == "":
			key, kind = at, k
		default:
			at.Fault("a second way from the signal to the value, beside "+kind.Key, "one of "+strings.Join(conversionKeys(), ", "))
		}
	}
	excitation, domain, value := t.Optional("excitation"), t.Optional("raw_range"), t.Optional("value_unit")
	if kind.Key != "polynomial" {
		value.Refuse("polynomial only")
		if kind.Key != "scaling" {
			domain.Refuse("polynomial and scaling only")
		}
	}
	if kind.Excitation == si.Dimensionless {
		excitation.Refuse("with scaling, polynomial, table or rtd only")
	}
	switch junction := t.Optional("cold_junction"); {
	case !kind.ColdJunction:
		junction.Refuse("thermocouple only")
	case !junction.Given():
		junction.Fault("nothing", "the temperature channel of the cold junction, or a fixed value, e.g. "+strict.Quote(fixedExamples[si.Temperature]))
	}
	c.RawUnit = unit.Text()
	if c.RawUnit == "" || !known {
		return
	}
	if kind.Key == "" {
		u, err := si.ParseUnit(c.RawUnit, c.Quantity)
		if err != nil {
			unit.Fault(strict.Quote(c.RawUnit), "a unit of "+c.Quantity.String()+", or scaling from this unit to it")
		}
		c.RawQuantity = u.Quantity
		return
	}
	var ok bool
	if c.RawQuantity, ok = signalQuantity(c.RawUnit); !ok {
		unit.Fault(strict.Quote(c.RawUnit), `the unit of a signal, e.g. "mA", "V", "bar", or "1" for bare counts`)
		return
	}
	signal := c.RawQuantity
	if excitation.Given() && kind.Excitation != si.Dimensionless {
		if signal != si.Voltage {
			unit.Fault(strict.Quote(c.RawUnit), `a unit of voltage, which is measured against the excitation, e.g. "mV"`)
			return
		}
		signal = kind.Ratio
	}
	if kind.Signals != nil && !slices.Contains(kind.Signals, signal) {
		unit.Fault(strict.Quote(c.RawUnit), "a unit of "+kind.Signals[0].String()+", which a "+kind.Key+" gives, e.g. "+strict.Quote(rawExamples[kind.Signals[0]]))
		return
	}
	if kind.Values != nil && !slices.Contains(kind.Values, c.Quantity) {
		key.Fault(key.Found()+" of a "+c.Quantity.String()+" channel", "quantity = "+strict.Quote(kind.Values[0].String()))
		return
	}
	switch {
	case kind.Named != nil:
		c.Sensor = key.OneOf(kind.Names...)
		c.Conversion, _ = kind.Named(c.Sensor)
		if c.Sensor == "" {
			c.Conversion = nil
		}
	case kind.Key == "scaling":
		if c.Scaling = points(key, signal, c.Quantity); domain.Given() {
			carried(c.Scaling, domain, signal)
		}
	case kind.Key == "table":
		if table := tableOf(key, signal, c.Quantity); table != nil {
			c.Conversion = table
		}
	case kind.Key == "polynomial":
		if p, ok := polynomial(c, key, t.Required("raw_range"), t.Required("value_unit"), signal); ok {
			c.Conversion = p
		}
	}
}

// rawExamples are units that modules send.
var rawExamples = map[si.Quantity]string{si.Voltage: "mV", si.Resistance: "Ω"}

func conversionKeys() []string {
	var keys []string
	for _, k := range sensor.Kinds {
		keys = append(keys, k.Key)
	}
	return keys
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

// carried reads between what signals the module of a straight line can tell
// signals apart; some of the line between its points must lie within.
func carried(s *Scaling, k strict.Key, signal si.Quantity) {
	low, high := k.Range(signal)
	if s == nil || !(low < high) {
		return
	}
	if least, most := min(s.SignalLow, s.SignalHigh), max(s.SignalLow, s.SignalHigh); !(most > low && least < high) {
		k.Fault(k.Found(), "a range of signals in which the line between scaling's points is used")
	}
	s.CarriedLow, s.CarriedHigh = low, high
}

// tableOf reads the points of a table, nil unless they are right.
func tableOf(k strict.Key, signal, value si.Quantity) sensor.Table {
	const want = `two or more points of signal and value, signals rising, values rising or falling all the way, e.g. [["0 V", "0 bar"], ["5 V", "124 bar"], ["10 V", "250 bar"]]`
	var table sensor.Table
	list := k.List(want, 2)
	for _, point := range list {
		a, b, ok := point.Pair("signal", "value", `a signal and a value, e.g. ["5 V", "124 bar"]`)
		if !ok {
			return nil
		}
		table = append(table, sensor.Pair{Signal: a.Quantity(signal), Value: b.Quantity(value)})
	}
	for i := 1; i < len(table); i++ {
		a, b := table[i-1], table[i]
		up := table[1].Value > table[0].Value
		if !(b.Signal > a.Signal) || b.Value == a.Value || (b.Value > a.Value) != up {
			if a.Signal == a.Signal && b.Signal == b.Signal && a.Value == a.Value && b.Value == b.Value { // else said already
				k.Fault(fmt.Sprintf("points %d and %d out of order", i, i+1), want)
			}
			return nil
		}
	}
	return table
}

// polynomial reads the coefficients of a polynomial with its units and ends.
func polynomial(c *Channel, k, domain, value strict.Key, signal si.Quantity) (p sensor.Polynomial, ok bool) {
	const want = "two or more coefficients, the constant one first, e.g. [-62.5, 15.625, 0.001]"
	for _, item := range k.List(want, 2) {
		p.Coefficients = append(p.Coefficients, item.Number("a number", func(float64) bool { return true }))
	}
	p.Low, p.High = domain.Range(signal)
	unit := c.RawUnit
	if signal != c.RawQuantity {
		unit = "mV/V"
	}
	text := value.Text()
	var err error
	if p.SignalUnit, err = si.ParseUnit(unit, signal); err != nil {
		return p, false // the raw unit is at fault, and that was said
	}
	if p.ValueUnit, err = si.ParseUnit(text, c.Quantity); err != nil {
		if text != "" {
			value.Fault(strict.Quote(text), "a unit of "+c.Quantity.String())
		}
		return p, false
	}
	if !(p.Low < p.High) || len(p.Coefficients) < 2 {
		return p, false
	}
	if !p.Monotone() {
		k.Fault("a polynomial that does not rise or fall all the way over raw_range", want)
		return p, false
	}
	return p, true
}
