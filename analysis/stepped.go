package analysis

import (
	"fmt"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
)

// steppedShare is of the pressure what a step up comes to at the most that
// leaves it at the same level; steppedTime within which share of the shorter
// stretch it comes at the most. The house's own (mark P).
const (
	steppedShare = 0.05
	steppedTime  = 0.02
)

// steppedUp returns the step with which a stretch began, where the unit had
// been held just before at about the same pressure and for a time that is not
// far shorter: what was found to be pumped may as well be a step of the
// transducer's zero, and what was held before is part of the hold. Nil where it
// is not so.
func (l looked) steppedUp(chosen stretch) *decay.Jump {
	tr := l.pressure
	for i, next := range l.stretches {
		if i == 0 || next.first != chosen.first {
			continue
		}
		s := l.stretches[i-1]
		within := tr.t[next.first] - tr.t[s.last]
		size := tr.v[next.first] - tr.v[s.last]
		quick := within <= max(topUpTimes[len(topUpTimes)-1], steppedTime*min(l.length(s), l.length(next)))
		if s.end == endPumped && next.pressed && !next.letDown && quick && size > 0 && size <= steppedShare*tr.v[next.first] &&
			l.length(s) >= longShare*l.length(next) {
			return &decay.Jump{At: tr.t[next.first], Within: within, Size: size}
		}
	}
	return nil
}

// notStepped turns a hold away that began with a step up from the same level.
func notStepped(h Hold) finding {
	j := h.Stepped
	if j == nil {
		return finding{}
	}
	return finding{
		reason: fmt.Sprintf("the pressure steps up by %s at %s after it was held at the same level: a step of the transducer's zero, a re-pump or a feed that leaks in; what was held before it would be left out",
			fine(j.Size, si.PressureChange), seconds(j.At)),
		advice: "look at the transducer's mounting and wiring and at the feed side, and repeat; if it was a re-pump, state which hold is meant",
	}
}
