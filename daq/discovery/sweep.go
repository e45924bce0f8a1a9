package discovery

import "time"

// Sweep is one round of all that is asked on a line, by the lengths of its
// frames.
type Sweep struct {
	// Frames are the lengths of each exchange's request and answer.
	Frames [][2]int
	// Character is the time of one character, Silent the pause that must part
	// two frames; both 0 for a stream that has no line.
	Character, Silent time.Duration
}

// OnTheWire is how long the round takes where nobody hesitates: characters,
// and the silent interval before each request and each answer ([1] section
// 2.5.1.1). No module and no adapter can make it shorter.
func (s Sweep) OnTheWire() time.Duration {
	var d time.Duration
	for _, f := range s.Frames {
		d += time.Duration(f[0]+f[1])*s.Character + 2*s.Silent
	}
	return d
}

// AtMost is how many such rounds a second the line can carry; 0 where the
// line sets no limit.
func (s Sweep) AtMost() float64 {
	if d := s.OnTheWire(); d > 0 {
		return float64(time.Second) / float64(d)
	}
	return 0
}
