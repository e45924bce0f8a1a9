package bench

import (
	"holdbench/analysis/uncertainty"
)

// Volume is one [[volume]] table: what holds the trapped liquid of a model's
// circuit on this bench. Plain data: what follows from it is computed
// elsewhere.
type Volume struct {
	Model, Circuit string
	// Source says where the figures come from.
	Source string
	// Trapped is the whole trapped volume, m³: body, tubes and hoses.
	Trapped uncertainty.Estimate
	// Air is the share of free air by volume at one atmosphere.
	Air uncertainty.Estimate
	// Body is what the unit's body is made of, one of Metals.
	Body string
	// CoolingTime is the time constant, s, with which the liquid gives its
	// warmth to the body after pressurising; nil where not stated.
	CoolingTime *uncertainty.Estimate
	Tubes       []VolumeTube
	Hoses       []VolumeHose
	Line        int
}

// VolumeTube is a tube of metal: Outside diameter, Wall and Length in m.
type VolumeTube struct {
	Material string // one of Metals
	// Ends is "free" (closed, free to grow longer), "open" or "fixed".
	Ends                  string
	Outside, Wall, Length uncertainty.Estimate
}

// VolumeHose is a hose: Length and Bore in m; Expansion is the volume per
// length (m³/m) by which it has grown at the gauge pressure At, Pa.
type VolumeHose struct {
	Length, Bore, Expansion uncertainty.Estimate
	At                      float64
}

// Metals that tubes and bodies can be made of.
var Metals = []string{"steel", "stainless steel", "copper", "aluminium", "brass", "cast iron"}

// Fluid is one [[fluid]] table of a fluids file: a liquid with figures of the
// user's own, at one atmosphere and the temperature Reference, K.
type Fluid struct {
	Name, Source string
	Reference    float64
	// Density kg/m³, Expansion 1/K, BulkModulus Pa, SpecificHeat J/(kg K).
	Density, Expansion, BulkModulus, SpecificHeat uncertainty.Estimate
	// Viscosity at two temperatures.
	Viscosity [2]FluidViscosity
	// TemperatureLow and High, K, and PressureHigh, Pa gauge, bound where the
	// figures hold.
	TemperatureLow, TemperatureHigh, PressureHigh float64
	Line                                          int
}

// FluidViscosity is a kinematic viscosity, m²/s, at a temperature, K.
type FluidViscosity struct {
	Temperature float64
	Viscosity   uncertainty.Estimate
}

// Volume returns the volume of a model's circuit, nil where the bench file has
// none.
func (b *Bench) Volume(model, circuit string) *Volume {
	for i := range b.Volumes {
		if v := &b.Volumes[i]; v.Model == model && v.Circuit == circuit {
			return v
		}
	}
	return nil
}

// Fluid returns the user's own liquid of that name, compared regardless of
// case and blanks; nil where there is none.
func (b *Bench) Fluid(name string) *Fluid {
	for i := range b.Fluids {
		if alike(b.Fluids[i].Name, name) {
			return &b.Fluids[i]
		}
	}
	return nil
}
