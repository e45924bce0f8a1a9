package result

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq"
	"holdbench/daq/procedure"
)

// ZeroCheck is what one pressure transducer read while vented. Pressures in
// Pa; null where there were too few readings.
type ZeroCheck struct {
	Circuit string `json:"circuit"`
	Channel string `json:"channel"`
	// When is "before" anything was pressurised, or "after" the unit was vented.
	When     string     `json:"when"`
	Window   [2]float64 `json:"window"` // s
	Readings int        `json:"readings"`
	Mean     *float64   `json:"mean"`
	// SD is the standard deviation of a reading.
	SD        *float64 `json:"sd"`
	Tolerance float64  `json:"tolerance"`
	Within    bool     `json:"within"`
}

// The two times at which zeros are read.
const (
	ZeroBefore = "before"
	ZeroAfter  = "after"
)

// zeroChecks reads the zeros that the events name from the readings.
func zeroChecks(run *Run) []ZeroCheck {
	rule := run.Procedure.Zero
	if rule == nil {
		return nil
	}
	when := ZeroAfter
	var out []ZeroCheck
	for _, e := range run.Recording.Events {
		switch {
		case e.Kind == daq.PhaseBegins && e.Subject == string(procedure.ZeroCheck):
			when = ZeroBefore
		case e.Kind == daq.PhaseBegins:
			when = ZeroAfter
		case e.Kind == daq.ZeroRead && e.Until != daq.Open:
			z := ZeroCheck{Circuit: e.Circuit, Channel: e.Subject, When: when,
				Window: [2]float64{e.At.Seconds(), e.Until.Seconds()}, Tolerance: rule.Tolerance}
			col, _ := run.column(e.Subject)
			z.read(col)
			out = append(out, z)
		}
	}
	return out
}

// read takes mean and standard deviation of the readings in the window.
func (z *ZeroCheck) read(c series.Column) {
	c = c.Valid().Window(math.Nextafter(z.Window[0], math.Inf(1)), z.Window[1])
	n := float64(c.Len())
	z.Readings = c.Len()
	if z.Readings < 2 {
		return
	}
	mean, sum := 0.0, 0.0
	for _, v := range c.Value {
		mean += v / n
	}
	for _, v := range c.Value {
		sum += (v - mean) * (v - mean)
	}
	z.Mean, z.SD = number(mean), number(math.Sqrt(sum/(n-1)))
	z.Within = math.Abs(mean) <= z.Tolerance
}

// last returns the newest zero of a channel, before or after; nil without.
func lastZero(all []ZeroCheck, channel, when string) *ZeroCheck {
	for _, z := range slices.Backward(all) {
		if z.Channel == channel && z.When == when && z.Mean != nil {
			return &z
		}
	}
	return nil
}

// zeroReasons say which zeros were outside their tolerance or are missing. The
// newest of each counts.
func (r *Result) zeroReasons(run *Run) (reasons []string) {
	rule := run.Procedure.Zero
	if rule == nil {
		return nil
	}
	unit := si.DefaultDisplay.Unit(si.PressureChange)
	text := func(pa float64) string { return si.Format(pa/unit.Factor, 3) + " " + unit.Symbol }
	for _, channel := range zeroChannels(run) {
		for _, when := range []string{ZeroBefore, ZeroAfter} {
			z := lastZero(r.ZeroChecks, channel, when)
			switch {
			case z == nil && (when == ZeroBefore || r.Completed):
				reasons = append(reasons, fmt.Sprintf("zero of %s %s the test not checked: it was not read", channel, when))
			case z != nil && !z.Within:
				reasons = append(reasons, fmt.Sprintf("zero of %s %s the test is outside its tolerance: it read %s where 0 ± %s is wanted", channel, when, text(*z.Mean), text(z.Tolerance)))
			}
		}
	}
	return reasons
}

// zeroChannels are the pressure channels whose zeros the procedure asks for,
// each once.
func zeroChannels(run *Run) (names []string) {
	for _, c := range run.Position.Circuits {
		if !slices.Contains(run.Procedure.Circuits, c.Name) {
			continue
		}
		for _, name := range []string{c.Trapped, c.Feed} {
			if name != "" && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	return names
}

// checkedZero is a channel's zero as the check read it, as a budget takes it.
// steady says that it stays where it is, over enough readings; a zero that
// still moves, or of few readings, is as uncertain as one reading scatters.
func (r *Run) checkedZero(h analysis.Hold, z *ZeroCheck) (zero decay.Zero, steady, ok bool) {
	if z == nil {
		return decay.Zero{}, false, false
	}
	if zero, steady = zeroOf(h.Trapped.Valid().Window(z.Window[0], z.Window[1]), h.Transducer, math.Inf(1)); steady {
		return zero, true, true
	}
	return decay.Zero{At: (z.Window[0] + z.Window[1]) / 2, Value: uncertainty.Estimate{
		Value: *z.Mean, StdUncertainty: *z.SD, DegreesOfFreedom: float64(z.Readings - 1), Quantity: si.Pressure,
	}}, false, true
}

// takeZeros takes what is known of the trapped transducer's zero into the hold.
// A hold of an hour or more has the zero's shift taken off as a drift (see
// decay.Zeros), where both zeros were steady. In a shorter one a zero moves by
// itself under pressure, and comes back, so that nobody knows when it did: all
// of the shift may have come within the hold, either way, and counts as drift
// (a rectangular distribution, JCGM 100:2008, 4.3.7). So it does where a zero
// was still moving.
func (r *Run) takeZeros(h *analysis.Hold, channel string) {
	h.Zeros = r.zeros(*h)
	checks := zeroChecks(r)
	before, steady1, ok1 := r.checkedZero(*h, lastZero(checks, channel, ZeroBefore))
	after, steady2, ok2 := r.checkedZero(*h, lastZero(checks, channel, ZeroAfter))
	if !ok1 || !ok2 || !(before.At < h.Start && after.At > h.End) {
		return
	}
	zeros := decay.Zeros{Before: before, After: after}
	if h.End-h.Start >= zerosFrom {
		if steady1 && steady2 {
			h.Zeros = &zeros
		}
		if h.Zeros != nil {
			return
		}
	}
	shift := zeros.Shift()
	h.Transducer.Drift = max(h.Transducer.Drift, math.Hypot(shift.Value/math.Sqrt(3), shift.StdUncertainty)/(h.End-h.Start))
}
