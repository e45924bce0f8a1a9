package result

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
)

// instruments lists the channels that took part at the run's position, with
// their certificates as on the day of the run.
func instruments(run *Run) []Instrument {
	overdue := map[string]bool{}
	for _, ch := range run.Bench.Overdue(run.Recording.Meta.Started) {
		overdue[ch.Name] = true
	}
	var out []Instrument
	var add func(name, circuit, role string)
	add = func(name, circuit, role string) {
		ch, _, ok := run.Bench.Channel(name)
		if !ok {
			return
		}
		i := instrument(ch, circuit, role)
		i.Overdue = overdue[ch.Name]
		out = append(out, i)
		for needed, role := range map[string]string{ch.ColdJunction.Channel: "cold junction", ch.Excitation.Channel: "excitation"} {
			if !slices.ContainsFunc(out, func(i Instrument) bool { return i.Channel == needed && i.Circuit == circuit && i.Role == role }) {
				add(needed, circuit, role)
			}
		}
	}
	for _, c := range run.Position.Circuits {
		add(c.Trapped, c.Name, "trapped")
		add(c.Feed, c.Name, "feed")
		add(c.Temperature, c.Name, "temperature")
		for _, name := range c.MoreTemperatures {
			add(name, c.Name, "temperature")
		}
		add(c.WarningSwitch, c.Name, "warning switch")
	}
	add(run.Position.PumpState, "", "pump state")
	add(run.Bench.Ambient.Channel, "", "ambient pressure")
	add(run.Bench.Ambient.Temperature, "", "ambient temperature")
	return out
}

// timing is what the recording says of how punctually each instrument was
// scanned: a line for each.
func timing(events []daq.Event) (out []string) {
	for _, e := range events {
		if instrument, ok := strings.CutPrefix(e.Subject, daq.TimingOf); ok && e.Kind == daq.Note {
			out = append(out, instrument+": "+e.Text)
		}
	}
	return out
}

const day = "2006-01-02"

func instrument(ch bench.Channel, circuit, role string) Instrument {
	i := Instrument{Channel: ch.Name, Instrument: ch.Instrument, Circuit: circuit, Role: role, Range: rangeText(ch)}
	if c := ch.Calibration; c != nil {
		i.Certificate = c.Certificate
		i.Calibrated = c.Date.Format(day)
		i.Due = c.Due.Format(day)
	}
	return i
}

// rangeText writes a channel's range in the default display unit.
func rangeText(ch bench.Channel) string {
	if math.IsNaN(ch.RangeLow) || math.IsNaN(ch.RangeHigh) {
		return ""
	}
	u := si.DefaultDisplay.Unit(ch.Quantity)
	decimals := 0
	if u.FromSI(ch.RangeHigh)-u.FromSI(ch.RangeLow) < 10 {
		decimals = 2 // a barometer's, an excitation's
	}
	return fmt.Sprintf("%s…%s %s", si.Format(u.FromSI(ch.RangeLow), decimals), si.Format(u.FromSI(ch.RangeHigh), decimals), u.Symbol)
}
