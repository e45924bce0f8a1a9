package bench

import (
	"math"
	"time"
)

// Channel returns the channel of that name and its index in Channels.
func (b *Bench) Channel(name string) (Channel, int, bool) {
	for i, c := range b.Channels {
		if c.Name == name {
			return c, i, true
		}
	}
	return Channel{}, -1, false
}

// Position returns the position of that name.
func (b *Bench) Position(name string) (Position, bool) {
	for _, p := range b.Positions {
		if p.Name == name {
			return p, true
		}
	}
	return Position{}, false
}

// Overdue returns the channels whose calibration was due on a day before that
// of at (UTC), in the order of the bench file. A channel without a
// certificate has no due date and is not among them.
func (b *Bench) Overdue(at time.Time) []Channel {
	var out []Channel
	for _, c := range b.Channels {
		if c.Calibration != nil && past(c.Calibration.Due, at) {
			out = append(out, c)
		}
	}
	return out
}

// OverdueAt parts the overdue channels (see Overdue) into those that a test at
// the position needs (see Needed) and the others.
func (b *Bench) OverdueAt(p Position, at time.Time) (needed, others []Channel) {
	takesPart := b.Needed(p)
	for _, c := range b.Overdue(at) {
		if takesPart[c.Name] {
			needed = append(needed, c)
		} else {
			others = append(others, c)
		}
	}
	return needed, others
}

// Needed names the channels that take part in a test at a position: those of
// its circuits, tested or watched, its pump's state, those of the surroundings,
// and what any of these needs besides its own signal.
func (b *Bench) Needed(p Position) map[string]bool {
	names := []string{p.PumpState, b.Ambient.Channel, b.Ambient.Temperature}
	for _, c := range p.Circuits {
		names = append(names, c.Trapped, c.Feed, c.Temperature, c.WarningSwitch)
		names = append(names, c.MoreTemperatures...)
	}
	needed := map[string]bool{}
	for len(names) > 0 {
		c, _, ok := b.Channel(names[0])
		names = names[1:]
		if !ok || needed[c.Name] {
			continue
		}
		needed[c.Name] = true
		names = append(names, c.ColdJunction.Channel, c.Excitation.Channel)
	}
	return needed
}

// past reports whether at lies after the calendar day, both UTC, so that the
// same recording is judged alike in every time zone.
func past(day, at time.Time) bool {
	return !at.Before(day.AddDate(0, 0, 1))
}

// AmbientU returns the standard uncertainty of what is taken off a channel's
// absolute pressure to make it a gauge one, Pa: that of the stated ambient
// pressure, or of the channel that measures it; 0 for a channel from which
// nothing is taken off.
func (b *Bench) AmbientU(c Channel) float64 {
	if !c.Absolute || c.Name == b.Ambient.Channel {
		return 0
	}
	barometer, _, ok := b.Channel(b.Ambient.Channel)
	if !ok || b.Ambient.Channel == "" {
		return b.Ambient.Pressure.StdUncertainty
	}
	u := barometer.Accuracy / math.Sqrt(3)
	if barometer.Calibration != nil {
		u = math.Hypot(u, barometer.Calibration.U)
	}
	return u
}
