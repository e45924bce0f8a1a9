// Package comparison knows how a channel is compared with a reference, point
// by point, up and down, and what the comparison says: the correction, its
// residuals, hysteresis, repeatability and standard uncertainty. It does no
// I/O and knows no instrument, file or page.
//
// Conventions: SI; a deviation is indicated less reference. What a channel
// indicates is its value without any calibration.
//
// Sources:
//
//	[1] JCGM 100:2008 (GUM): 4.3.7 rectangular distributions, 5.1.2
//	    combination, G.4 effective degrees of freedom.
//	[2] EURAMET cg-17, Guidelines on the calibration of electromechanical and
//	    mechanical manometers: cycles up and down, hysteresis, repeatability and
//	    the structure of the budget (mark M).
//
// Caveats: the reference is taken as right within its stated uncertainty;
// what both have in common, such as a height between them or a leak in the
// line, is not seen. Noise of the mean of a point is in the repeatability.
package comparison

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Stop is one point of a comparison: where the pressure, or whatever is
// measured, is brought to.
type Stop struct {
	Cycle int // from 1
	Up    bool
	// Nominal is where to, SI.
	Nominal float64
}

// Direction is "up" or "down".
func (s Stop) Direction() string {
	if s.Up {
		return "up"
	}
	return "down"
}

// Plan returns the stops of so many cycles over points in rising order, each
// up through all of them and down again.
func Plan(points []float64, cycles int) []Stop {
	var stops []Stop
	for cycle := 1; cycle <= cycles; cycle++ {
		for _, p := range points {
			stops = append(stops, Stop{Cycle: cycle, Up: true, Nominal: p})
		}
		for i := len(points) - 1; i >= 0; i-- {
			stops = append(stops, Stop{Cycle: cycle, Nominal: points[i]})
		}
	}
	return stops
}

// Even returns n points at even steps from low to high.
func Even(low, high float64, n int) []float64 {
	points := make([]float64, n)
	for i := range points {
		points[i] = low + (high-low)*float64(i)/float64(n-1)
	}
	return points
}

// Reading is what came of one stop.
type Reading struct {
	Stop
	// From and To are the window of the readings, s since the recording's start.
	From, To float64
	// Reference is what the reference showed, ReferenceU its standard
	// uncertainty.
	Reference, ReferenceU float64
	// Indicated is the mean of the channel without any calibration, AsFound with
	// that of the bench; Noise is the standard deviation of one of its N readings.
	Indicated, AsFound, Noise float64
	N                         int
}

// ErrWords: a text that does not say what came of a stop.
var ErrWords = errors.New("comparison: no words of a stop")

// Words are a stop and its reference as an event of the recording keeps them,
// with every digit.
func Words(s Stop, reference, u float64) string {
	return fmt.Sprintf("cycle %d %s to %v: reference %v ± %v", s.Cycle, s.Direction(), s.Nominal, reference, u)
}

// ParseWords reads what Words wrote. The error is ErrWords.
func ParseWords(text string) (s Stop, reference, u float64, err error) {
	var direction string
	n, err := fmt.Sscanf(strings.ReplaceAll(text, ":", " :"), "cycle %d %s to %g : reference %g ± %g", &s.Cycle, &direction, &s.Nominal, &reference, &u)
	s.Up = direction == "up"
	if err != nil || n != 5 || s.Cycle < 1 || direction != "up" && direction != "down" ||
		math.IsNaN(s.Nominal+reference+u) || math.IsInf(s.Nominal+reference+u, 0) || u < 0 {
		return Stop{}, 0, 0, fmt.Errorf("%w: %q", ErrWords, text)
	}
	return s, reference, u, nil
}
