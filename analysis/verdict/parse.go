package verdict

import (
	"fmt"
	"math"
	"strings"

	"holdbench/analysis/si"
)

// pressureAfter is the quantity whose limit needs a time.
const pressureAfter = "pressure_after"

// exampleLimit shows how each kind of limit is written.
const exampleLimit = `"decay_rate 0.2 bar/min", "pressure_end min 95 bar" or "pressure_after 10 min 95 bar"`

// Parse reads a limit as written on a command line: the quantity, for
// pressure_after the time, max or min where the quantity's own bound is not
// meant, and the value with its unit, or in per cent of the test pressure (Pa,
// not above 0 where none is stated). The rule is guarded, the risks are the
// defaults. An error says what was found and what is wanted.
func Parse(text string, testPressure float64) (Limit, error) {
	words := strings.Fields(text)
	if len(words) == 0 {
		return Limit{}, fmt.Errorf("limit: found nothing, want a limit, e.g. %s", exampleLimit)
	}
	row, ok := Lookup(words[0])
	if !ok {
		return Limit{}, fmt.Errorf("limit %q: found quantity %q, want one of %s", text, words[0], names())
	}
	l := Limit{Quantity: row.Name, Bound: row.Default, RiskPass: defaultRisk, RiskFail: defaultRisk}
	rest := words[1:]
	if row.Name == pressureAfter {
		var err error
		if l.After, rest, err = cutTime(rest); err != nil {
			return Limit{}, fmt.Errorf("limit %q: time after the hold's start: %w", text, err)
		}
	}
	if len(rest) > 0 {
		switch rest[0] {
		case "max":
			l.Bound, rest = Max, rest[1:]
		case "min":
			l.Bound, rest = Min, rest[1:]
		}
	}
	l.Written = strings.Join(rest, " ")
	var err error
	if IsRelative(l.Written) {
		l.Value, l.Written, err = Relative(l.Written, row, testPressure)
	} else {
		l.Value, err = si.Parse(l.Written, row.Quantity)
	}
	if err != nil {
		return Limit{}, fmt.Errorf("limit %q: %w", text, err)
	}
	return l, l.Check()
}

// cutTime reads a time from the first word ("10min") or the first two
// ("10 min") and returns the words after it.
func cutTime(words []string) (seconds float64, rest []string, err error) {
	for n := 1; n <= 2 && n <= len(words); n++ {
		if seconds, err = si.Parse(strings.Join(words[:n], " "), si.Time); err == nil {
			return seconds, words[n:], nil
		}
	}
	if err == nil {
		err = fmt.Errorf(`found nothing, want a time with unit, e.g. "10 min"`)
	}
	return 0, nil, err
}

func names() string {
	var all []string
	for _, row := range Quantities {
		all = append(all, row.Name)
	}
	return strings.Join(all, ", ")
}

// Check returns an error that says what is wrong with the limit: an unknown
// quantity, a value or risk that cannot be, a missing or superfluous UMax or
// After; nil if nothing is.
func (l Limit) Check() error {
	row, ok := Lookup(l.Quantity)
	if !ok {
		return fmt.Errorf("limit: found quantity %q, want one of %s", l.Quantity, names())
	}
	complain := func(found, want string) error {
		return fmt.Errorf("limit on %s: found %s, want %s", l.Quantity, found, want)
	}
	switch {
	case math.IsNaN(l.Value) || math.IsInf(l.Value, 0):
		return complain("no finite value", "a number with unit")
	case l.Value <= 0 && row.Quantity != si.Pressure:
		return complain(l.Text(), "a value above 0 (a loss is positive)")
	case !validRisk(l.RiskPass) || !validRisk(l.RiskFail):
		return complain(fmt.Sprintf("risks %g and %g", l.RiskPass, l.RiskFail), "risks above 0 and at most 0.5")
	case !(l.UMax >= 0) || math.IsInf(l.UMax, 0):
		return complain(fmt.Sprintf("U_max %g", l.UMax), "an expanded uncertainty above 0")
	case l.Rule == Simple && math.IsNaN(l.LargestU()):
		return complain("the simple rule without U_max", "a stated U_max")
	case l.Quantity == pressureAfter && !(l.After > 0 && !math.IsInf(l.After, 0)):
		return complain("no time", `the time after the hold's start, e.g. "pressure_after 10 min 95 bar"`)
	case l.Quantity != pressureAfter && l.After != 0:
		return complain("a time", "none: only pressure_after has one")
	}
	return nil
}

// validRisk accepts 0, which means the default.
func validRisk(r float64) bool { return r >= 0 && r <= 0.5 }
