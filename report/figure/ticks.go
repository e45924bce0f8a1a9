package figure

import (
	"math"
	"strconv"
	"strings"
)

// Tick is a mark on an axis; minor ones carry no label.
type Tick struct {
	Value float64
	Label string
}

// Ticks returns marks at 1, 2 or 5 times a power of ten inside low…high, at
// most `most` of them labelled (most ≥ 2), and between them a fifth, a
// quarter or half of the step as minor marks. It returns nil unless
// low < high and both are finite.
func Ticks(low, high float64, most int) []Tick {
	if !(low < high) || math.IsInf(low, 0) || math.IsInf(high, 0) {
		return nil
	}
	step, parts := niceStep(low, high, max(most, 2))
	minor := step / float64(parts)
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var ticks []Tick
	for k := math.Ceil(low/minor - 1e-9); k*minor <= high+1e-9*minor; k++ {
		t := Tick{Value: k * minor}
		if math.Mod(math.Abs(k), float64(parts)) == 0 {
			t.Value = k / float64(parts) * step
			t.Label = label(t.Value, decimals)
		}
		ticks = append(ticks, t)
	}
	return ticks
}

// Whole leaves the marks at whole numbers, for an axis that counts.
func Whole(ticks []Tick) (whole []Tick) {
	for _, t := range ticks {
		if n := math.Round(t.Value); math.Abs(t.Value-n) < 1e-6 {
			whole = append(whole, Tick{Value: n, Label: label(n, 0)})
		}
	}
	return whole
}

// niceStep returns the smallest step of 1, 2 or 5 times a power of ten that
// leaves at most `most` labels, and into how many minor steps it is parted.
func niceStep(low, high float64, most int) (step float64, parts int) {
	power := math.Pow(10, math.Floor(math.Log10((high-low)/float64(most)))-1)
	for {
		for _, m := range []struct {
			factor float64
			parts  int
		}{{1, 5}, {2, 4}, {5, 5}} {
			step = m.factor * power
			if math.Floor(high/step+1e-9)-math.Ceil(low/step-1e-9)+1 <= float64(most) {
				return step, m.parts
			}
		}
		power *= 10
	}
}

func label(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// TimeUnit returns the unit in which a time axis of the given length in s
// reads well: seconds, minutes or hours, and how many seconds one of it has.
func TimeUnit(seconds float64) (unit string, inSeconds float64) {
	switch {
	case seconds < 120:
		return "s", 1
	case seconds < 3*3600:
		return "min", 60
	}
	return "h", 3600
}
