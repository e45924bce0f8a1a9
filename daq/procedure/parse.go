package procedure

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// Parse reads the text of a procedure file; path is used in messages only.
// The error joins one *strict.Error for each fault, in the order of their
// lines.
func Parse(path string, text []byte) (*Procedure, error) {
	root, faults := strict.ParseTOML(path, text)
	if root == nil {
		return nil, faults.Err()
	}
	p := &Procedure{Path: path, Text: string(text), Hash: strict.Hash(text)}
	p.Name = root.Required("name").Text()
	p.Revision = root.Optional("revision").Text()
	p.Model = root.Required("model").Text()
	p.Fluid = root.Required("fluid").Text()
	p.Source = root.Optional("source").Text()
	p.SerialPattern = serialPattern(root.Optional("serial_pattern"))
	p.Circuits = circuits(root.Required("circuits"))
	p.Unresolvable = "warn"
	if k := root.Optional("unresolvable"); k.Given() {
		p.Unresolvable = k.OneOf("warn", "refuse")
	}
	p.TemperatureSwing = temperatureSwing(root.Optional("temperature_swing"))
	p.ChallengeEvery, p.Unchallenged = challenges(root)
	p.LostAfter = lost(root)
	p.pressures(root)
	p.Zero = p.zeroRule(root.Optional("zero_check").Table())
	p.Steps = steps(root.Required("phase").Table(), p.words(root.Required("test_pressure").Written()))
	p.Looks = looks(root.Optional("early_decision"), p.Steps)
	p.limits(root.Required("limit").Tables())
	root.Close()
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return p, nil
}

// temperatureSwing is 0 where the key is not given.
func temperatureSwing(k strict.Key) float64 {
	if !k.Given() {
		return 0
	}
	return k.Positive(si.TemperatureDifference)
}

func serialPattern(k strict.Key) string {
	pattern := k.Text()
	if pattern == "" {
		return ""
	}
	if _, err := strict.WholePattern(pattern); err != nil {
		k.Fault(strict.Quote(pattern), `a regular expression, e.g. "HV1-[0-9]{5}" (`+err.Error()+")")
	}
	return pattern
}

func circuits(k strict.Key) []string {
	const want = `the circuits to test, e.g. ["a"] or ["a", "b"]`
	var out []string
	seen := map[string]bool{}
	for _, e := range k.List(want, 1) {
		name := e.OneOf("a", "b")
		if name != "" && seen[name] {
			e.Fault(strict.Quote(name)+" a second time", "each circuit once")
		}
		seen[name] = true
		out = append(out, name)
	}
	return out
}

// The share of the start window's lower end that counts as empty of pressure
// at most, and the pressure that no procedure may call safe (own bounds,
// against slips of the unit; what is safe is for the user to say).
const (
	safeShare   = 0.2
	feedShare   = 0.5
	highestSafe = 10e5 // Pa
	highestMax  = 1e9  // Pa
)

// pressures reads the pressures and checks them against each other. A NaN is
// a pressure that is at fault already, and compares with nothing.
func (p *Procedure) pressures(t *strict.Table) {
	test, highest := t.Required("test_pressure"), t.Required("maximum_pressure")
	safe, feed := t.Required("safe_pressure"), t.Required("feed_below")
	p.TestPressure = test.Positive(si.Pressure)
	p.MaxPressure = highest.Positive(si.Pressure)
	p.SafePressure = safe.Positive(si.Pressure)
	p.FeedBelow = feed.Positive(si.Pressure)
	p.startWindow(t)
	switch {
	case p.MaxPressure > highestMax:
		highest.Fault(highest.Found(), "at most 10000 bar")
	case p.MaxPressure <= p.TestPressure:
		highest.Fault(highest.Found(), "a pressure above test_pressure")
	case p.MaxPressure <= p.StartHigh:
		highest.Fault(highest.Found(), "a pressure above the upper end of the start window")
	}
	low := p.StartLow
	if math.IsNaN(low) || low <= 0 {
		low = p.TestPressure
	}
	if p.SafePressure > highestSafe || p.SafePressure > safeShare*low {
		safe.Fault(safe.Found(), "at most 10 bar and at most a fifth of the start window's lower end")
	}
	if p.FeedBelow > feedShare*low {
		feed.Fault(feed.Found(), "at most half of the start window's lower end")
	}
}

// startWindow reads start_window, or tolerance around the test pressure.
func (p *Procedure) startWindow(t *strict.Table) {
	window, tolerance := t.Optional("start_window"), t.Optional("tolerance")
	p.StartLow, p.StartHigh = math.NaN(), math.NaN()
	switch {
	case window.Given() && tolerance.Given():
		tolerance.Refuse("start_window says it already")
	case tolerance.Given():
		d := tolerance.Positive(si.PressureChange)
		p.StartLow, p.StartHigh = p.TestPressure-d, p.TestPressure+d
		if p.StartLow <= 0 {
			tolerance.Fault(tolerance.Found(), "less than test_pressure")
		}
	default:
		if !window.Given() {
			window.Fault("nothing", `the pressures between which a hold may begin, e.g. start_window = ["95 bar", "105 bar"], or tolerance = "5 bar"`)
			return
		}
		p.StartLow, p.StartHigh = window.Range(si.Pressure)
		if p.TestPressure < p.StartLow || p.TestPressure > p.StartHigh {
			window.Fault("a window without test_pressure in it", "one around "+t.Required("test_pressure").Found())
		}
		if p.StartLow <= 0 {
			window.Fault("a window that begins at no pressure", "a lower end above zero")
		}
	}
}
