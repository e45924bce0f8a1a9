package bench

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/strict"
)

// AttachCharacterisation reads the text of a characterisation file into the
// bench, in place of what was there; path is used in messages only. The error
// joins one *strict.Error for each fault; the bench is then unchanged.
func (b *Bench) AttachCharacterisation(path string, text []byte) error {
	root, faults := strict.ParseTOML(path, text)
	if root == nil {
		return faults.Err()
	}
	var all []Characterisation
	for _, t := range root.Required("characterisation").Tables() {
		all = append(all, characterisation(t))
	}
	root.Close()
	if err := faults.Err(); err != nil {
		return err
	}
	b.Characterisations = all
	b.CharacterisationText, b.CharacterisationHash = string(text), strict.Hash(text)
	return nil
}

func characterisation(t *strict.Table) Characterisation {
	c := Characterisation{
		Bench: t.Required("bench").Text(), Model: t.Required("model").Text(),
		Circuit: t.Required("circuit").OneOf("a", "b"), Fluid: t.Required("fluid").Text(),
		Date: t.Required("date").Day(), Source: t.Required("source").Text(), Line: t.Line(),
	}
	c.PressureLow, c.PressureHigh = t.Required("pressure_range").Range(si.Pressure)
	expiry := t.Required("expiry")
	c.Expiry = expiry.Day()
	if !c.Date.IsZero() && !c.Expiry.IsZero() && !c.Expiry.After(c.Date) {
		expiry.Fault(expiry.Found(), "a day after the characterisation's own, "+c.Date.Format("2006-01-02"))
	}
	c.ThermalCoefficient = estimate(t, "thermal_coefficient", si.ThermalCoefficient, positive)
	c.Lag = estimate(t, "lag", si.Time, anySign)
	c.Stiffness = estimate(t, "stiffness", si.Stiffness, positive)
	c.SettlingAmplitude = estimate(t, "settling_amplitude", si.PressureChange, anySign)
	c.SettlingTimeConstant = estimate(t, "settling_time_constant", si.Time, positive)
	c.Noise = noise(t)
	complete(t, c)
	return c
}

// Which signs a characterised figure may have.
const (
	anySign  = false
	positive = true
)

// estimate reads key = "a ± b unit" and key_dof; nil when absent or none.
func estimate(t *strict.Table, key string, q si.Quantity, mustBePositive bool) *uncertainty.Estimate {
	k, dofKey := t.Optional(key), t.Optional(key+"_dof")
	dof := math.Inf(1)
	if dofKey.Given() {
		if !k.Given() {
			dofKey.Refuse("only beside " + key)
		}
		dof = dofKey.Number("a number of at least 1", func(x float64) bool { return x >= 1 })
	}
	value, u, ok := k.Uncertain(q)
	if !ok {
		return nil
	}
	if mustBePositive && value <= 0 {
		k.Fault(k.Found(), "a value above zero")
	}
	return &uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: q}
}

// noise reads the channel noise, a standard deviation that has no uncertainty
// of its own here.
func noise(t *strict.Table) *uncertainty.Estimate {
	k := t.Optional("noise")
	if !k.Given() {
		return nil
	}
	e := exactDOF(k.Positive(si.PressureChange), 0, si.PressureChange)
	return &e
}

// complete notes a block that says nothing, or half of settling.
func complete(t *strict.Table, c Characterisation) {
	amplitude, constant := t.Has("settling_amplitude"), t.Has("settling_time_constant")
	switch {
	case amplitude && !constant:
		t.Required("settling_time_constant").Fault("nothing", "the time constant that belongs to settling_amplitude, e.g. \"60 ± 15 s\"")
	case constant && !amplitude:
		t.Required("settling_amplitude").Fault("nothing", "the amplitude that belongs to settling_time_constant, e.g. \"1.5 ± 0.3 bar\"")
	}
	if !t.Has("thermal_coefficient") && !t.Has("lag") && !t.Has("stiffness") && !t.Has("noise") && !amplitude && !constant {
		t.Fault("no figure", "at least one of thermal_coefficient, lag, stiffness, settling_amplitude with settling_time_constant, noise")
	}
}
