package si

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Parse reads a number with its unit, e.g. "100 bar", and returns it in SI. A
// bare number is an error unless the quantity is dimensionless; so are what
// is not finite and a temperature below absolute zero. Every error is an
// *Error.
func Parse(text string, q Quantity) (float64, error) {
	number, unit, ok := cutNumber(text)
	if !ok {
		return 0, &Error{Found: quote(text), Want: want(q)}
	}
	u, err := unitOf(text, number, unit, q)
	if err != nil {
		return 0, err
	}
	return convert(text, number, u)
}

// ParseUncertain reads a value with its standard uncertainty (k = 1):
// "4.5 ± 0.2 bar/K", or with a unit on both, "23 °C ± 0.5 K". "+-" and "+/-"
// are read like ±. Without ± the uncertainty is 0. Both results are in the SI
// unit of q; the uncertainty of a temperature is a difference, so that
// "23 ± 0.5 °C" is 296.15 K with 0.5 K. Every error is an *Error.
//
// Source: [2] 7.2.2 for a stated standard uncertainty; the notation is the
// house's own.
func ParseUncertain(text string, q Quantity) (value, u float64, err error) {
	left, right, both := cutUncertainty(text)
	if !both {
		value, err = Parse(text, q)
		return value, 0, err
	}
	if number, unit, ok := cutNumber(left); ok && unit == "" {
		// One unit for both: it stands after the uncertainty.
		_, unit, _ = cutNumber(right)
		left = number + " " + unit
	}
	value, errLeft := Parse(left, q)
	u, errRight := Parse(right, q.Difference())
	switch {
	case errLeft != nil || errRight != nil:
		return 0, 0, &Error{Found: quote(text), Want: wantUncertain(q)}
	case u < 0:
		return 0, 0, &Error{Found: quote(text), Want: "an uncertainty that is not negative, e.g. " + exampleUncertain(q)}
	}
	return value, u, nil
}

// unitOf reads the unit that follows a number.
func unitOf(text, number, unit string, q Quantity) (Unit, error) {
	// A second number is no unit, though "1" is the unit of a bare one.
	if u, ok := lookup(unit, q); ok && unit != "1" {
		return u, nil
	}
	switch {
	case unit == "":
		return Unit{}, &Error{Found: number, Want: article(q) + " with unit, e.g. " + quote(number+" "+quantities[q].example)}
	case unit[0] == ',':
		return Unit{}, &Error{Found: quote(text), Want: "a decimal point and no comma, e.g. " + example(q)}
	}
	if q == VolumeFlow && strings.HasPrefix(unit, "drop") {
		return Unit{}, &Error{Found: quote(text), Want: fmt.Sprintf("mL/min, for a drop is no unit: by API 598 %g drops are 1 mL, %s", float64(DropsPerMillilitre), "e.g. "+example(q))}
	}
	return Unit{}, &Error{Found: quote(text) + otherQuantity(unit, q), Want: wantUnit(unit, q) + ", e.g. " + example(q)}
}

func convert(text, number string, u Unit) (float64, error) {
	x, err := strconv.ParseFloat(number, 64)
	v := u.ToSI(x)
	if err != nil || math.IsInf(v, 0) {
		return 0, &Error{Found: quote(text), Want: "a smaller number, e.g. " + example(u.Quantity)}
	}
	if u.Quantity == Temperature && v < 0 {
		return 0, &Error{Found: quote(text), Want: "a temperature not below absolute zero (0 K), e.g. " + example(u.Quantity)}
	}
	return v, nil
}

var (
	numberStart = regexp.MustCompile(`^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?`)
	plusMinus   = strings.NewReplacer("+/-", "±", "+-", "±")
	brackets    = strings.NewReplacer("(", " ", ")", " ")
)

// cutNumber parts a leading number from what follows. The minus sign of
// typography is read like a hyphen.
func cutNumber(text string) (number, rest string, ok bool) {
	text = strings.TrimSpace(strings.ReplaceAll(text, "\u2212", "-"))
	number = numberStart.FindString(text)
	return number, strings.TrimSpace(text[len(number):]), number != ""
}

// cutUncertainty parts "a ± b unit" at its only ±; brackets as in
// "(4.5 ± 0.2) bar/K" are let fall.
func cutUncertainty(text string) (left, right string, both bool) {
	text = plusMinus.Replace(text)
	if strings.Count(text, "±") != 1 {
		return "", "", false
	}
	left, right, _ = strings.Cut(brackets.Replace(text), "±")
	return strings.TrimSpace(left), strings.TrimSpace(right), true
}
