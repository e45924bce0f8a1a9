package sequence

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"holdbench/analysis/si"
	"holdbench/daq/procedure"
)

// parts of channels, in order.
var parts = [...]Part{Trapped, Feed, Temperature}

// cutShort is the reason of a run that is not over.
const cutShort = "the recording ends before vented was shown"

// pressure writes a gauge pressure in display units to about a tenth of a
// bar; NaN is "no fresh reading".
func (r Roles) pressure(pa float64) string {
	if math.IsNaN(pa) {
		return "no fresh reading"
	}
	return r.figure(pa) + " " + r.Display.Pressure.Symbol
}

// figure is a pressure's number alone.
func (r Roles) figure(pa float64) string {
	u := r.Display.Unit(si.Pressure)
	return si.Format(u.FromSI(pa), si.Decimals(1e5/u.Factor))
}

// startWindow is "95.0–105.0 bar".
func (m *Machine) startWindow() string {
	return m.roles.figure(m.p.StartLow) + "–" + m.roles.pressure(m.p.StartHigh)
}

// circuits names the tested ones: "circuit a", "circuits a and b".
func (m *Machine) circuits() string {
	var names []string
	for _, c := range m.roles.Circuits {
		if c.Tested {
			names = append(names, c.Name)
		}
	}
	if len(names) == 1 {
		return "circuit " + names[0]
	}
	return "circuits " + strings.Join(names, " and ")
}

// promptText is the step's own prompt or the phase's default, and how the
// phase ends.
func (m *Machine) promptText(step procedure.Step) string {
	text := step.Prompt
	if text == "" {
		text = m.defaultPrompt(step.Phase)
	}
	switch {
	case step.Phase == procedure.Vented:
		return text + " " + m.ventText()
	case strings.Contains(text, "press Enter"):
		return text
	case step.ByOperator || m.again:
		return text + " Then press Enter."
	}
	return text + " (" + minutes(step.Duration) + ")"
}

// defaultPrompt says what the operator does in a phase.
func (m *Machine) defaultPrompt(ph procedure.Phase) string {
	switch ph {
	case procedure.Fill:
		return "Fill " + m.circuits() + " and let out the air."
	case procedure.Pressurise:
		return "Pump " + m.circuits() + " up to " + m.roles.pressure(m.p.TestPressure) + " (" + m.startWindow() + ")."
	case procedure.Lock:
		return "Lock " + m.circuits() + "."
	case procedure.VentFeed:
		return "Vent the feed side of " + m.circuits() + " below " + m.roles.pressure(m.p.FeedBelow) + "."
	case procedure.Stabilise:
		return "Stabilise: leave the unit alone."
	case procedure.Hold:
		return "Hold: leave the unit alone."
	case procedure.Release:
		return "Release the pressure of " + m.circuits() + "."
	case procedure.Vented:
		return "Vent watch."
	}
	return capital(string(ph)) + "."
}

// minutes writes a duration as "4:05", or "1:04:05" from an hour upwards.
func minutes(d time.Duration) string {
	s := int(max(d, 0).Round(time.Second) / time.Second)
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// capital makes the first letter a capital.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// nonempty is a list of s, or of nothing.
func nonempty(s string) []string {
	if s == "" {
		return nil
	}
	return []string{s}
}
