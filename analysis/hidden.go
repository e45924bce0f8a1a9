package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// farAtAnEnd is from how many standard deviations of a reading on one that was
// set aside at an end of the hold may be a sudden loss.
const farAtAnEnd = 8.0

// lostAtAnEnd: the first readings of the hold lie far above the rest, or the
// last ones far below, so that they were taken for spikes; at an end nothing
// tells a spike from a sudden loss.
func lostAtAnEnd(h Hold) finding {
	all := h.Trapped.Window(h.Start, h.End).Valid()
	kept, aside, _ := decay.WithoutSpikes(all)
	n, m := all.Len(), kept.Len()
	if aside == 0 || m == 0 {
		return finding{}
	}
	sigma, _ := scatter(kept, min(m, startReadings))
	far := farAtAnEnd*sigma + h.Transducer.Resolution
	first := all.Time[0] < kept.Time[0] && all.Value[0]-kept.Value[0] > far
	last := all.Time[n-1] > kept.Time[m-1] && kept.Value[m-1]-all.Value[n-1] > far
	if !first && !last {
		return finding{}
	}
	return finding{
		reason: "pressure readings at an end of the hold stray far from the rest: spikes, or a sudden loss",
		advice: "look at the pressure channel, and repeat the hold",
	}
}

// fewestRepumps is from how many re-pumps on their pace says what is lost.
const fewestRepumps = 3

// lostAfterPumping: between re-pumps clearly more is lost than what the
// segments' common slope, which leaves out the first readings after each, and
// the liquid's cooling tell: a quick loss hides there.
func lostAfterPumping(h Hold, fitted decay.Result) finding {
	d, rate := fitted.Diagnostics, fitted.Estimates[quantityDecayRate]
	if d.Repumps < fewestRepumps || !(d.RepumpRate > 0) || rate.Absent != "" {
		return finding{}
	}
	largest := decay.UnknownThermalCoefficient
	if b := h.Characterised.ThermalCoefficient; b != nil {
		largest = math.Abs(b.Value) + uncertainty.T(signLevel, math.Inf(1))*b.StdUncertainty
	}
	seen := d.RepumpRate*(1-largest*adiabaticRise) - largest*math.Abs(d.LiquidRate)
	t := uncertainty.T(signLevel, min(rate.DegreesOfFreedom, max(float64(d.Repumps-2), 1)))
	if seen-rate.Value <= t*math.Hypot(rate.StdUncertainty, d.RepumpRateU) {
		return finding{}
	}
	return finding{
		reason: fmt.Sprintf("between re-pumps more pressure is lost (%s) than the slope of the segments and the liquid's cooling tell",
			fine(d.RepumpRate, si.PressureRate)),
		advice: "hold without re-pumps",
	}
}

// leastReach is for how long a temperature is carried on at an end of the hold
// at least, s: a tenth of what a probe in a pocket takes, three times over.
const leastReach = 3 * decay.UnknownLag / 10

// temperatureToTheEnds: the probe's valid readings reach both ends of the hold,
// but for three intervals or leastReach; what the liquid does beyond, nobody
// knows.
func temperatureToTheEnds(h Hold) finding {
	c := h.Temperature.Window(h.Start, h.End).Valid()
	n := c.Len()
	if n == 0 {
		return finding{} // enoughReadings says so
	}
	interval := h.TemperatureInterval
	if !(interval > 0) {
		interval = medianInterval(c.Time)
	}
	reach := 3 * max(interval, leastReach/3)
	if c.Time[0]-h.Start <= reach && h.End-c.Time[n-1] <= reach {
		return finding{}
	}
	return finding{
		reason: "the temperature is missing at an end of the hold",
		advice: "look at the temperature channel's gaps and faults, and repeat",
	}
}
