package sensor

import (
	"math"
	"slices"
)

// Class is a tolerance class: how far a sensor may be off what the reference
// function says. A limit of error: within it every deviation is as likely.
type Class struct {
	// Name as the standard has it, Standard the standard.
	Name, Standard string
	// parts are in °C, one after the other.
	parts []part
}

// part of a class from low to high in °C: ±(a + b·|t − about|) K.
type part struct{ low, high, a, b, about float64 }

// Range returns the lowest and highest temperature, K, for which the class
// holds.
func (c Class) Range() (low, high float64) {
	return c.parts[0].low + zeroCelsius, c.parts[len(c.parts)-1].high + zeroCelsius
}

// Limit returns the limit of error ± at temperature, K; NaN where the class
// does not hold.
func (c Class) Limit(temperature float64) float64 {
	t := temperature - zeroCelsius
	for _, p := range c.parts {
		if p.low-missed <= t && t <= p.high+missed {
			return p.limit(t)
		}
	}
	return math.NaN()
}

func (p part) limit(t float64) float64 { return p.a + p.b*math.Abs(t-p.about) }

// Slope returns by how much, in K per K, a change of temperature may be
// misread: the steepest straight line that stays within the limits of error
// over the whole range of the class. What a deviation has besides its slope
// is the same before and after, and cancels in a change; how it may bend the
// standards do not say.
//
// The steepest line touches the lower limit at one temperature and the upper
// limit at a higher one, so it is the least of (Δ(t1) + Δ(t2))/(t2 − t1); where
// limits are made of straight pieces it is reached at ends of these.
func (c Class) Slope() float64 {
	var at []float64
	for _, p := range c.parts {
		at = append(at, p.low, p.high)
		if p.low < p.about && p.about < p.high {
			at = append(at, p.about)
		}
	}
	slope := math.Inf(1)
	for _, a := range at {
		for _, b := range at {
			if a < b {
				slope = min(slope, (c.Limit(a+zeroCelsius)+c.Limit(b+zeroCelsius))/(b-a))
			}
		}
	}
	return slope
}

// ClassOf returns the tolerance class of a sensor, by the name of either:
// "1" to "3" of thermocouples; "AA", "A", "B", "C" of platinum thermometers,
// which hold as far as those of film resistors do, and those of resistors,
// "W 0.15" (wound) or "F 0.15" (film). False where there is none.
func ClassOf(sensor, name string) (Class, bool) {
	for _, row := range classes {
		if slices.Contains(row.sensors, sensor) && row.Name == name {
			return row.Class, true
		}
	}
	return Class{}, false
}

// Classes returns the names of a sensor's tolerance classes.
func Classes(sensor string) []string {
	var names []string
	for _, row := range classes {
		if slices.Contains(row.sensors, sensor) {
			names = append(names, row.Name)
		}
	}
	return names
}

type classRow struct {
	sensors []string
	Class
}

// classes are all tolerance classes.
//
// Source: [4] for thermocouples, [3] for platinum.
var classes = append([]classRow{
	thermocoupleClass("1", "T", part{-40, 125, 0.5, 0, 0}, part{125, 350, 0, 0.004, 0}),
	thermocoupleClass("2", "T", part{-40, 133, 1, 0, 0}, part{133, 350, 0, 0.0075, 0}),
	thermocoupleClass("3", "T", part{-200, -67, 0, 0.015, 0}, part{-67, 40, 1, 0, 0}),
	thermocoupleClass("1", "E", part{-40, 375, 1.5, 0, 0}, part{375, 800, 0, 0.004, 0}),
	thermocoupleClass("2", "E", part{-40, 333, 2.5, 0, 0}, part{333, 900, 0, 0.0075, 0}),
	thermocoupleClass("3", "E", part{-200, -167, 0, 0.015, 0}, part{-167, 40, 2.5, 0, 0}),
	thermocoupleClass("1", "J", part{-40, 375, 1.5, 0, 0}, part{375, 750, 0, 0.004, 0}),
	thermocoupleClass("2", "J", part{-40, 333, 2.5, 0, 0}, part{333, 750, 0, 0.0075, 0}),
	thermocoupleClass("1", "KN", part{-40, 375, 1.5, 0, 0}, part{375, 1000, 0, 0.004, 0}),
	thermocoupleClass("2", "KN", part{-40, 333, 2.5, 0, 0}, part{333, 1200, 0, 0.0075, 0}),
	thermocoupleClass("3", "KN", part{-200, -167, 0, 0.015, 0}, part{-167, 40, 2.5, 0, 0}),
	thermocoupleClass("1", "RS", part{0, 1100, 1, 0, 0}, part{1100, 1600, 1, 0.003, 1100}),
	thermocoupleClass("2", "RS", part{0, 600, 1.5, 0, 0}, part{600, 1600, 0, 0.0025, 0}),
	thermocoupleClass("2", "B", part{600, 1700, 0, 0.0025, 0}),
	thermocoupleClass("3", "B", part{600, 800, 4, 0, 0}, part{800, 1700, 0, 0.005, 0}),
}, platinumClasses()...)

func thermocoupleClass(name, letters string, parts ...part) classRow {
	row := classRow{Class: Class{Name: name, Standard: "IEC 60584-1", parts: parts}}
	for _, letter := range letters {
		row.sensors = append(row.sensors, string(letter))
	}
	return row
}

func platinumClasses() []classRow {
	var rows []classRow
	for _, c := range []struct {
		name, wound, film                  string
		a, b                               float64
		woundLow, woundHigh, filmLow, high float64
	}{
		{"AA", "W 0.1", "F 0.1", 0.1, 0.0017, -50, 250, 0, 150},
		{"A", "W 0.15", "F 0.15", 0.15, 0.002, -100, 450, -30, 300},
		{"B", "W 0.3", "F 0.3", 0.3, 0.005, -196, 600, -50, 500},
		{"C", "W 0.6", "F 0.6", 0.6, 0.01, -196, 600, -50, 600},
	} {
		for _, r := range []struct {
			name      string
			low, high float64
		}{{c.name, c.filmLow, c.high}, {c.wound, c.woundLow, c.woundHigh}, {c.film, c.filmLow, c.high}} {
			rows = append(rows, classRow{
				sensors: []string{"Pt100", "Pt1000"},
				Class:   Class{Name: r.name, Standard: "IEC 60751", parts: []part{{r.low, r.high, c.a, c.b, 0}}},
			})
		}
	}
	return rows
}
