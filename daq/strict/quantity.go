package strict

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"time"

	"holdbench/analysis/si"
)

// wanted says in words how a quantity is written: `a pressure with unit, e.g.
// "400 bar"`.
func wanted(q si.Quantity) string {
	_, err := si.Parse("", q)
	return inWords(err, "").Want
}

// wantedUncertain says how it is written with its standard uncertainty.
func wantedUncertain(q si.Quantity) string {
	_, _, err := si.ParseUncertain("±", q)
	return inWords(err, "").Want
}

// inWords returns what si says of a text that is no quantity, with the text
// shortened and on one line.
func inWords(err error, text string) si.Error {
	var fault *si.Error
	if !errors.As(err, &fault) {
		return si.Error{Found: Quote(text), Want: "a number with unit"}
	}
	if found := Quote(text); found != `"`+text+`"` {
		return si.Error{Found: found, Want: fault.Want}
	}
	return *fault
}

// Quantity is a number with its unit, in the SI unit of q; NaN when absent
// or no such quantity.
func (k Key) Quantity(q si.Quantity) float64 {
	return k.QuantityIf(q, "", func(float64) bool { return true })
}

// QuantityIf is a number with its unit for which fits is true; which says in
// words what fits, e.g. "above zero".
func (k Key) QuantityIf(q si.Quantity, which string, fits func(float64) bool) float64 {
	want := wanted(q)
	if what, example, ok := strings.Cut(want, ", e.g. "); ok && which != "" {
		want = what + ", " + which + ", e.g. " + example
	}
	x, fault := k.quantity(q, want, fits)
	if fault != nil {
		k.Fault(fault.Found, fault.Want)
	}
	return x
}

// quantity reads the quantity. It is NaN when absent or at fault; want is what
// the fault says unless the text is no such quantity at all.
func (k Key) quantity(q si.Quantity, want string, fits func(float64) bool) (float64, *si.Error) {
	v, ok := k.get(want)
	if !ok {
		return math.NaN(), nil
	}
	text, ok := quantityText(v)
	if !ok {
		return math.NaN(), &si.Error{Found: describe(v), Want: want}
	}
	x, err := si.Parse(text, q)
	switch {
	case err != nil:
		fault := inWords(err, text)
		return math.NaN(), &fault
	case math.IsNaN(x) || math.IsInf(x, 0) || !fits(x):
		return math.NaN(), &si.Error{Found: describe(v), Want: want}
	}
	return x, nil
}

// quantityText is the text of a quantity. A bare number is handed on as one,
// so that it is refused, or taken for a ratio, like the same number in
// quotes; nan and inf are no numbers here.
func quantityText(v any) (string, bool) {
	switch v := v.(type) {
	case string:
		return v, true
	case int64:
		return describe(v), true
	case float64:
		return describe(v), !math.IsNaN(v) && !math.IsInf(v, 0)
	}
	return "", false
}

// Positive is a quantity above zero.
func (k Key) Positive(q si.Quantity) float64 {
	return k.QuantityIf(q, "above zero", func(x float64) bool { return x > 0 })
}

// NotNegative is a quantity of zero or more; 0 when absent.
func (k Key) NotNegative(q si.Quantity) float64 {
	x := k.QuantityIf(q, "zero or more", func(x float64) bool { return x >= 0 })
	if !k.present {
		return 0
	}
	return x
}

// Uncertain is a value with its standard uncertainty above zero, "a ± b"
// with unit, both in the SI unit of q; ok is false when absent or none.
func (k Key) Uncertain(q si.Quantity) (value, u float64, ok bool) {
	want := wantedUncertain(q)
	v, ok := k.get(want)
	if !ok {
		return 0, 0, false
	}
	text, ok := v.(string)
	if !ok {
		k.Fault(describe(v), want)
		return 0, 0, false
	}
	value, u, err := si.ParseUncertain(text, q)
	switch {
	case err != nil:
		fault := inWords(err, text)
		k.Fault(fault.Found, fault.Want)
		return 0, 0, false
	case !(u > 0) || math.IsInf(u, 0) || math.IsNaN(value) || math.IsInf(value, 0):
		k.Fault(Quote(text), want)
		return 0, 0, false
	}
	return value, u, true
}

// Range is a list of two quantities, the first below the second, in the SI
// unit of q; NaN, NaN when absent or no such list.
func (k Key) Range(q si.Quantity) (low, high float64) {
	want := "a list of two, the lower one first, e.g. " + rangeExample(q)
	a, b, ok := k.Pair("low", "high", want)
	if !ok {
		return math.NaN(), math.NaN()
	}
	low, high = a.Quantity(q), b.Quantity(q)
	if low >= high {
		k.Fault(k.Found(), want)
		return math.NaN(), math.NaN()
	}
	return low, high
}

func rangeExample(q si.Quantity) string {
	switch q {
	case si.Temperature:
		return `["-20 °C", "120 °C"]`
	case si.Pressure:
		return `["0 bar", "250 bar"]`
	case si.Current:
		return `["4 mA", "20 mA"]`
	}
	return `["0 V", "10 V"]`
}

// Duration is a time from low to high; 0 when absent or none.
func (k Key) Duration(low, high time.Duration) time.Duration {
	return k.DurationOr(`a time with unit, from "`+durationText(low)+`" to "`+durationText(high)+`"`, low, high)
}

// DurationOr is Duration where something else may be written too, which the
// caller has looked for; want says in words what the key takes.
func (k Key) DurationOr(want string, low, high time.Duration) time.Duration {
	s, fault := k.quantity(si.Time, want, func(s float64) bool { return s >= low.Seconds() && s <= high.Seconds() })
	if fault != nil {
		k.Fault(fault.Found, want)
	}
	if math.IsNaN(s) {
		return 0
	}
	return time.Duration(math.Round(s * float64(time.Second)))
}

// durationText writes a time as files do.
func durationText(d time.Duration) string {
	for _, u := range []struct {
		size time.Duration
		name string
	}{{24 * time.Hour, "d"}, {time.Hour, "h"}, {time.Minute, "min"}, {time.Second, "s"}, {time.Millisecond, "ms"}} {
		if d >= u.size && d%u.size == 0 {
			return strconv.FormatInt(int64(d/u.size), 10) + " " + u.name
		}
	}
	return strconv.FormatFloat(d.Seconds(), 'g', -1, 64) + " s"
}
