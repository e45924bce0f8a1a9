package analysis

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"holdbench/analysis/decay"
	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

const (
	// leastValid is the share of valid readings below which a hold may not
	// be judged.
	leastValid = 0.95
	// signLevel is the level of the test that the compensated pressure rises,
	// and of the other one-sided tests of the gate.
	signLevel = 0.99
)

// finding is something that keeps a hold from being judged.
type finding struct {
	reason, advice string
}

// gate sees whether a hold may be judged at all: it returns what speaks
// against it, gravest first, and notes of what was not checked.
func gate(h Hold, fitted decay.Result, a *Assessment) (invalid []finding, notes []string) {
	add := func(f finding, note string) {
		if f.reason != "" {
			invalid = append(invalid, f)
		}
		if note != "" {
			notes = append(notes, note)
		}
	}
	add(rises(fitted.Estimates[quantityDecayRate]), "")
	add(risesUnexplained(h, fitted.Estimates[quantityDecayRate]), "")
	add(coefficientContradicted(h, fitted.Diagnostics), "")
	vented, note := feedVented(h)
	add(vented, note)
	if vented.reason == "" {
		add(feedFollowed(h))
	}
	add(startPressure(h))
	invalid = append(invalid, channelsMoveFreely(h, fitted.Diagnostics)...)
	add(notStepped(h), "")
	add(lostAtAnEnd(h), "")
	add(lostAfterPumping(h, fitted), "")
	add(pumpedOnce(h, fitted.Diagnostics), "")
	add(zeroMoved(h, fitted.Diagnostics), "")
	a.Diagnostics.ValidShare = validShare(h.Trapped, h.Start, h.End, h.TrappedInterval)
	add(enoughReadings("pressure", a.Diagnostics.ValidShare), "")
	if h.Temperature.Len() > 0 {
		add(enoughReadings("temperature", validShare(h.Temperature, h.Start, h.End, h.TemperatureInterval)), "")
		add(temperatureToTheEnds(h), "")
	}
	for i, p := range h.MoreProbes {
		add(enoughReadings(probeName(p.Column, i), validShare(p.Column, h.Start, h.End, p.Interval)), "")
	}
	if !h.Completed {
		add(finding{ReasonNotCompleted, "repeat the hold over its full length"}, "")
	}
	notes = append(notes, remarks(h, fitted.Diagnostics)...)
	return invalid, append(notes, soakRemarks(h, fitted.Diagnostics, fitted.Curves)...)
}

// rises is the one-sided test of sign: a compensated pressure that clearly
// rises is not a good unit.
func rises(rate Quantity) finding {
	if rate.Absent != "" || rate.Value >= 0 {
		return finding{}
	}
	high := rate.Value
	if rate.StdUncertainty != 0 {
		high += uncertainty.T(signLevel, rate.DegreesOfFreedom) * rate.StdUncertainty
	}
	if !(high < 0) {
		return finding{}
	}
	return finding{
		reason: "the compensated pressure rises: the feed side is not vented, the thermal coefficient is wrong or the probe is loose",
		advice: "vent the feed side, look at the probe and the characterisation, and repeat",
	}
}

// risesUnexplained is the test of sign where there is no compensated pressure:
// a measured one that clearly rises may be a feed that leaks in as well as a
// bench that warms. It rises where the mean of its last tenth lies above that
// of its first by more than noise, and than rounding and drift of the
// transducer, whatever the way from one to the other.
func risesUnexplained(h Hold, rate Quantity) finding {
	if rate.Absent == "" {
		return finding{}
	}
	c, _, _ := decay.WithoutSpikes(h.Trapped.Window(h.Start, h.End))
	n := c.Len()
	m := max(n/startShare, min(startReadings, n/2))
	first, u1, ok1 := meanOf(c.Time[:m], c.Value[:m])
	last, u2, ok2 := meanOf(c.Time[n-m:], c.Value[n-m:])
	if !ok1 || !ok2 {
		return finding{}
	}
	noise := uncertainty.T(signLevel, float64(2*(m-2))) * math.Hypot(u1, u2)
	instrument := uncertainty.T(signLevel, math.Inf(1)) * math.Hypot(h.Transducer.Drift*(h.End-h.Start), h.Transducer.Resolution/math.Sqrt(6))
	if !(last-first > math.Hypot(noise, instrument)+1e-9*math.Abs(first)) {
		return finding{}
	}
	return finding{
		reason: "the pressure rises, and without a temperature nothing tells why",
		advice: "record the liquid's temperature together with the pressure, see that the feed side is vented, and repeat",
	}
}

// meanOf is the mean of neighbouring readings and its standard uncertainty
// from their scatter about a line, inflated for autocorrelation. False with
// fewer than 3.
func meanOf(t, v []float64) (mean, u float64, ok bool) {
	line, err := fit.Line(t, v)
	if err != nil {
		return 0, 0, false
	}
	inflation := fit.MemoryOf(line.Residuals, 2).Inflation
	return stat.Mean(v, nil), inflation * line.ResidualStd / math.Sqrt(float64(len(v))), true
}

// feedVented sees that the feed side was below its threshold all the time.
func feedVented(h Hold) (finding, string) {
	switch {
	case h.FeedDeclaredUnmeasured:
		return finding{}, "feed side not checked: declared unmeasured"
	case math.IsNaN(h.FeedBelow):
		return finding{}, "feed side not checked: no threshold stated"
	}
	feed, _, _ := decay.WithoutSpikes(h.Feed.Window(h.Start, h.End))
	if share := validShare(h.Feed, h.Start, h.End, 0); !(share >= leastValid) {
		return finding{
			reason: fmt.Sprintf("the feed side has valid readings over %.0f %% of the hold only", 100*share),
			advice: "mend the feed side's channel, or declare it unmeasured, and repeat",
		}, ""
	}
	highest := math.Inf(-1)
	for _, p := range feed.Value {
		highest = math.Max(highest, p)
	}
	if highest < h.FeedBelow {
		return finding{}, ""
	}
	return finding{
		reason: fmt.Sprintf("the feed side is not vented: %s during the hold, vented is below %s", shown(highest, si.Pressure), shown(h.FeedBelow, si.Pressure)),
		advice: "vent the feed side and repeat",
	}, ""
}

// startPressure sees that the measured pressure at t0 is in its window, noise
// allowed for.
func startPressure(h Hold) (finding, string) {
	if math.IsNaN(h.StartLow) && math.IsNaN(h.StartHigh) {
		return finding{}, "start pressure not checked: no window stated"
	}
	start, ok := startLevel(h)
	if !ok {
		return finding{
			reason: "the start pressure cannot be told: too few pressure readings at the hold's start",
			advice: "look at the pressure channel's gaps and faults, and repeat",
		}, ""
	}
	low := math.IsNaN(h.StartLow) || start.value+start.doubt >= h.StartLow
	high := math.IsNaN(h.StartHigh) || start.value-start.doubt <= h.StartHigh
	if low && high {
		return finding{}, ""
	}
	return finding{
		reason: fmt.Sprintf("start pressure %s is outside its window of %s to %s",
			shown(start.value, si.Pressure), shown(h.StartLow, si.Pressure), shown(h.StartHigh, si.Pressure)),
		advice: "bring the pressure into its window before the hold, and repeat",
	}, ""
}

func enoughReadings(what string, share float64) finding {
	if share >= leastValid {
		return finding{}
	}
	return finding{
		reason: fmt.Sprintf("valid %s readings cover %.0f %% of the hold, %.0f %% are needed", what, 100*share, 100*leastValid),
		advice: "look at the " + what + " channel's gaps and faults, and repeat",
	}
}

// validShare returns the share of from…to that valid readings cover: the
// smaller of the share of time (a gap of more than 1½ intervals counts as one
// interval) and the share of places with a valid reading. interval is the
// nominal time between readings; 0 takes the column's own median.
func validShare(c series.Column, from, to, interval float64) float64 {
	places := c.Window(from, to)
	valid := places.Valid()
	if valid.Len() == 0 || !(to > from) {
		return 0
	}
	if !(interval > 0) {
		interval = medianInterval(places.Time)
	}
	covered, last := 0.0, from
	reach := func(t float64) {
		if t-last <= 1.5*interval {
			covered += t - last
		} else {
			covered += interval
		}
		last = t
	}
	for _, t := range valid.Time {
		reach(t)
	}
	reach(to)
	return min(covered/(to-from), float64(valid.Len())/float64(places.Len()))
}

// remarks are what a reader should know of the fit, whatever the verdict.
func remarks(h Hold, d decay.Diagnostics) (notes []string) {
	if h.Characterised.ThermalCoefficient == nil && h.Temperature.Len() > 0 && !d.LearnedCoefficient {
		notes = append(notes, ReasonNoCoefficient)
	}
	notes = append(notes, d.Notes...)
	spikes := func(what string, aside, suspect int) {
		switch {
		case aside == 1:
			notes = append(notes, fmt.Sprintf("1 %s reading set aside as a spike", what))
		case aside > 1:
			notes = append(notes, fmt.Sprintf("%d %s readings set aside as spikes", aside, what))
		}
		switch {
		case suspect == 1:
			notes = append(notes, fmt.Sprintf("1 %s reading looks like a spike: too much of so few readings to be set aside", what))
		case suspect > 1:
			notes = append(notes, fmt.Sprintf("%d %s readings look like spikes: too many to be set aside", suspect, what))
		}
	}
	spikes("pressure", d.SetAside, d.Suspect)
	spikes("temperature", d.TemperatureSetAside, d.TemperatureSuspect)
	return notes
}

// countReadings counts the places without a valid reading.
func (a *Assessment) countReadings(h Hold) {
	missing := func(c series.Column) (n int) {
		for _, v := range c.Window(h.Start, h.End).Value {
			if math.IsNaN(v) {
				n++
			}
		}
		return n
	}
	a.InvalidReadings, a.InvalidTemperatures = missing(h.Trapped), missing(h.Temperature)
}

// shown writes an SI value in the unit in which it is shown by default.
func shown(x float64, q si.Quantity) string {
	unit := si.DefaultDisplay.Unit(q)
	return si.Format(unit.FromSI(x), 2) + " " + unit.Symbol
}
