package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// channelsMoveFreely sees that no channel is stuck or at an end of its range,
// and that none has jumped.
func channelsMoveFreely(h Hold, d decay.Diagnostics) (found []finding) {
	add := func(f finding) {
		if f.reason != "" {
			found = append(found, f)
		}
	}
	add(movesFreely(h, h.Trapped, "pressure", h.Transducer.Resolution, h.Transducer.Low, h.Transducer.High))
	add(pressureJumped(h, d.Jumps))
	probe := func(what string, c series.Column, x Thermometer) {
		add(movesFreely(h, c, what, x.Resolution, x.Low, x.High))
		add(probeJumped(h, c, what, x.Resolution))
	}
	probe("temperature", h.Temperature, h.Thermometer)
	for i, p := range h.MoreProbes {
		probe(probeName(p.Column, i), p.Column, p.Thermometer)
	}
	return found
}

// probeName names one of several probes: by its channel, or by its number.
func probeName(c series.Column, i int) string {
	if c.Name != "" {
		return "temperature " + c.Name
	}
	return fmt.Sprintf("temperature %d", i+2)
}

// pressureJumped tells of steps of the pressure's reading. A fall by more than
// decay.BurstShare of the pressure is the unit's own loss, and judged as one.
func pressureJumped(h Hold, jumps []decay.Jump) finding {
	for _, j := range jumps {
		if before, ok := levelBefore(h.Trapped, j.At-j.Within, h.TrappedInterval); ok && j.Burst(before) {
			continue
		}
		return finding{
			reason: fmt.Sprintf("the pressure's reading jumps by %s within %s at %s and stays there: a step of the transducer's zero, or a sudden loss; no steady leak does that",
				signed(j.Size, si.PressureChange), seconds(j.Within), seconds(j.At)),
			advice: "look at the transducer's mounting and wiring, and repeat",
		}
	}
	return finding{}
}

// levelBefore is the last valid reading up to an instant.
func levelBefore(c series.Column, at, interval float64) (float64, bool) {
	near := c.Window(at-10*max(interval, 1), at).Valid()
	if near.Len() == 0 {
		return 0, false
	}
	return near.Value[near.Len()-1], true
}

func probeJumped(h Hold, c series.Column, what string, resolution float64) finding {
	kept, _, _ := decay.WithoutSpikes(c.Window(h.Start, h.End))
	jumps := decay.Jumps(kept, resolution)
	if len(jumps) == 0 {
		if j, ok := decay.LastingStep(kept, resolution); ok {
			jumps = append(jumps, j)
		}
	}
	for _, j := range jumps {
		return finding{
			reason: fmt.Sprintf("the %s reading jumps by %s within %s at %s and stays there: no liquid does that",
				what, signed(j.Size, si.TemperatureDifference), seconds(j.Within), seconds(j.At)),
			advice: "look at the " + what + " probe's seat and wiring, and repeat",
		}
	}
	return finding{}
}

// signed writes a difference with its sign.
func signed(x float64, q si.Quantity) string {
	if x > 0 {
		return "+" + fine(x, q)
	}
	return fine(x, q)
}

// pumpedOnce: a hold that was pumped up again only once, and for which nobody
// states segments, is no unit that keeps its pressure by itself.
func pumpedOnce(h Hold, d decay.Diagnostics) finding {
	if len(h.Segments) > 0 || d.Segments == 0 || d.Repumps > 1 {
		return finding{}
	}
	return finding{
		reason: "the pressure was re-pumped during the hold",
		advice: "see that nothing feeds the trapped side, and repeat",
	}
}

// zeroShare is what share of the largest loss allowed the zero may have moved
// over the hold.
//
// Source: common practice of soaks (mark P).
const zeroShare = 1.0 / 3

// zeroMoved sees that the transducer's zero, read before and after, did not
// move by so much that taking it off is no remedy.
func zeroMoved(h Hold, d decay.Diagnostics) finding {
	if h.Zeros == nil {
		return finding{}
	}
	for _, l := range h.Limits {
		allowed, ok := allowedLoss(l, h.End-h.Start)
		if !ok || math.Abs(d.ZeroShift) <= zeroShare*allowed {
			continue
		}
		return finding{
			reason: fmt.Sprintf("the transducer's zero moved by %s from before the hold to after it, more than a third of the %s that the limit allows over it",
				signed(d.ZeroShift, si.PressureChange), fine(allowed, si.PressureChange)),
			advice: "let the transducer warm up and keep its surroundings steady, or use a steadier one, and repeat",
		}
	}
	return finding{}
}

// allowedLoss is the loss over a hold that a limit allows, Pa; false for limits
// on something else.
func allowedLoss(l verdict.Limit, duration float64) (float64, bool) {
	switch {
	case l.Bound != verdict.Max:
		return 0, false
	case l.Quantity == quantityDrop:
		return l.Value, true
	case l.Quantity == quantityDecayRate || l.Quantity == quantityLeakRate || l.Quantity == quantityTestPressure:
		return l.Value * duration, true
	}
	return 0, false
}
