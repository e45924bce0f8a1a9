package bench

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/strict"
)

// mostAir is the largest share of free air that is believed: own bound,
// against a share written without its %.
const mostAir = 0.25

// volumes reads [[volume]]; each model and circuit once.
func volumes(tables []*strict.Table) []Volume {
	var out []Volume
	taken := map[[2]string]int{}
	for _, t := range tables {
		v := volume(t)
		key := [2]string{v.Model, v.Circuit}
		if line, ok := taken[key]; ok && v.Model != "" && v.Circuit != "" {
			t.Fault(fmt.Sprintf("model %s, circuit %s a second time", strict.Quote(v.Model), v.Circuit), fmt.Sprintf("one [[volume]] for each (first in line %d)", line))
		}
		taken[key] = v.Line
		out = append(out, v)
	}
	return out
}

func volume(t *strict.Table) Volume {
	v := Volume{
		Model: t.Required("model").Text(), Circuit: t.Required("circuit").OneOf("a", "b"),
		Source: t.Required("source").Text(), Line: t.Line(),
	}
	trapped := t.Required("trapped")
	v.Trapped = above(trapped, si.Volume)
	air := t.Required("air")
	v.Air = uncertain(air, si.Dimensionless)
	if v.Air.Value < 0 || v.Air.Value > mostAir {
		air.Fault(air.Found(), fmt.Sprintf(`a share of free air at one atmosphere from 0 to %.0f %%, e.g. "0.5 ± 0.3 %%"`, 100*mostAir))
	}
	v.Body = t.Required("body").OneOf(Metals...)
	if k := t.Optional("cooling_time"); k.Given() {
		cooling := above(k, si.Time)
		v.CoolingTime = &cooling
	}
	for _, tube := range t.Optional("tube").Tables() {
		v.Tubes = append(v.Tubes, volumeTube(tube))
	}
	for _, hose := range t.Optional("hose").Tables() {
		v.Hoses = append(v.Hoses, volumeHose(hose))
	}
	if within := v.within(); within > v.Trapped.Value && v.Trapped.Value > 0 {
		trapped.Fault(trapped.Found(), fmt.Sprintf("at least the %.4g mL that its tubes and hoses hold", 1e6*within))
	}
	return v
}

// within is what tubes and hoses hold, m³; NaN where one of them is at fault.
func (v Volume) within() float64 {
	sum := 0.0
	for _, t := range v.Tubes {
		bore := t.Outside.Value - 2*t.Wall.Value
		sum += math.Pi / 4 * bore * bore * t.Length.Value
	}
	for _, h := range v.Hoses {
		sum += math.Pi / 4 * h.Bore.Value * h.Bore.Value * h.Length.Value
	}
	return sum
}

func volumeTube(t *strict.Table) VolumeTube {
	wall := t.Required("wall")
	out := VolumeTube{
		Material: t.Required("material").OneOf(Metals...), Ends: t.Required("ends").OneOf("free", "open", "fixed"),
		Outside: above(t.Required("outside"), si.Length), Wall: above(wall, si.Length), Length: above(t.Required("length"), si.Length),
	}
	if out.Wall.Value >= out.Outside.Value/2 {
		wall.Fault(wall.Found(), "less than half the outside diameter")
	}
	return out
}

func volumeHose(t *strict.Table) VolumeHose {
	return VolumeHose{
		Length: above(t.Required("length"), si.Length), Bore: above(t.Required("bore"), si.Length),
		Expansion: above(t.Required("expansion"), si.VolumePerLength), At: t.Required("at").Positive(si.Pressure),
	}
}

// uncertain reads a value with its standard uncertainty; NaN where it is none.
func uncertain(k strict.Key, q si.Quantity) uncertainty.Estimate {
	value, u, ok := k.Uncertain(q)
	if !ok {
		value, u = math.NaN(), math.NaN()
	}
	return exactDOF(value, u, q)
}

// above is uncertain for what must be above zero.
func above(k strict.Key, q si.Quantity) uncertainty.Estimate {
	e := uncertain(k, q)
	if e.Value <= 0 {
		k.Fault(k.Found(), "a value above zero")
	}
	return e
}
