package analysis

const (
	longShare    = 0.4  // of the longest stretch: long
	levelShare   = 0.5  // of the highest starting pressure: at pressure
	briefShare   = 0.01 // of the longest: too brief to say what the pressure was
	mentionLevel = 0.05 // of the chosen one's starting pressure, and
	mentionShare = 0.1  // of its length: worth a note
	fewestPlaces = 3    // of a stretch, in a track
)

// length is the time that a stretch takes, s.
func (l looked) length(s stretch) float64 { return l.pressure.t[s.last] - l.pressure.t[s.first] }

// level is a stretch's starting pressure.
func (l looked) level(s stretch) float64 { return l.pressure.v[s.first] }

// candidates are the stretches at pressure, in order of time.
func (l looked) candidates() []stretch {
	var held []stretch
	longest, highest := 0.0, 0.0
	for _, s := range l.stretches {
		if s.last-s.first+1 >= fewestPlaces && l.level(s) > noiseClear*l.pressure.noise {
			held = append(held, s)
			longest = max(longest, l.length(s))
		}
	}
	for _, s := range held {
		if l.length(s) >= briefShare*longest {
			highest = max(highest, l.level(s))
		}
	}
	var at []stretch
	for _, s := range held {
		if l.level(s) >= levelShare*highest {
			at = append(at, s)
		}
	}
	return at
}

// lastLong returns the last of the long stretches.
func (l looked) lastLong(candidates []stretch) stretch {
	longest := 0.0
	for _, s := range candidates {
		longest = max(longest, l.length(s))
	}
	var last stretch
	for _, s := range candidates {
		if l.length(s) >= longShare*longest {
			last = s
		}
	}
	return last
}

// others are the stretches, besides the chosen one, that somebody may have
// meant for a hold.
func (l looked) others(chosen stretch) []stretch {
	var out []stretch
	for _, s := range l.stretches {
		if s.first != chosen.first && l.level(s) >= mentionLevel*l.level(chosen) && l.length(s) >= mentionShare*l.length(chosen) {
			out = append(out, s)
		}
	}
	return out
}

// pumpedFor is how long was pumped before a stretch: since the last stretch
// that was not much shorter, s.
func (l looked) pumpedFor(chosen stretch) float64 {
	tr := l.pressure
	begin := tr.t[0]
	for _, s := range l.stretches {
		if s.first < chosen.first && l.length(s) >= mentionShare*l.length(chosen) {
			begin = tr.t[s.last]
		}
	}
	return min(tr.t[chosen.first]-begin, l.pressUpTime(chosen.first))
}
