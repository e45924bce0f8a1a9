package fluid

import "holdbench/analysis/si"

// DropFactor is how many drops make a volume: a convention, real drops differ
// by a factor of two or more.
type DropFactor struct {
	PerMillilitre float64
	Source        string
}

// DropFactors that are in use.
var DropFactors = []DropFactor{
	{si.DropsPerMillilitre, "API 598, valve closure tests"},
	{20, "pharmacopoeial dropper and hydraulic trade rule, from memory"},
}

// Drop is the volume of one, m³.
func (f DropFactor) Drop() float64 { return 1e-6 / f.PerMillilitre }
