package verdict

import "holdbench/analysis/si"

// QuantityRow describes one quantity that a limit may name.
type QuantityRow struct {
	// Name as in files and results.
	Name string
	// Title is the quantity in words, for pages.
	Title string
	// Quantity gives the units in which it may be written.
	Quantity si.Quantity
	// Default is the bound that a limit has unless it says otherwise.
	Default Bound
	// StateUMax is true where the simple rule has no default UMax.
	StateUMax bool
	// OfHold is true where the quantity belongs to a hold of a certain length:
	// a look before its end does not decide it, and a longer hold is another
	// requirement.
	OfHold bool
}

// Quantities is the one table of what can be estimated and limited, in the
// order in which pages list it.
var Quantities = []QuantityRow{
	{Name: "drop", Title: "Drop", Quantity: si.PressureChange, Default: Max, OfHold: true},
	{Name: "decay_rate", Title: "Decay rate", Quantity: si.PressureRate, Default: Max},
	{Name: "settling", Title: "Settling", Quantity: si.PressureChange, Default: Max, OfHold: true},
	{Name: "leak_rate", Title: "Leak rate", Quantity: si.PressureRate, Default: Max},
	{Name: "leak_rate_at_test_pressure", Title: "Leak rate at test pressure", Quantity: si.PressureRate, Default: Max},
	{Name: "leak_flow", Title: "Leak flow", Quantity: si.VolumeFlow, Default: Max},
	{Name: "pressure_end", Title: "Pressure at end", Quantity: si.Pressure, Default: Min, StateUMax: true, OfHold: true},
	{Name: "pressure_after", Title: "Pressure after", Quantity: si.Pressure, Default: Min, StateUMax: true},
	{Name: "time_constant", Title: "Time constant", Quantity: si.Time, Default: Min, StateUMax: true},
	{Name: "other_circuit_rise", Title: "Rise of the other circuit", Quantity: si.PressureChange, Default: Max, OfHold: true},
	{Name: "thermal_coefficient", Title: "Thermal coefficient", Quantity: si.ThermalCoefficient, Default: Max},
	{Name: "stiffness", Title: "Stiffness", Quantity: si.Stiffness, Default: Max},
}

// Lookup returns the row of that name.
func Lookup(name string) (QuantityRow, bool) {
	for _, q := range Quantities {
		if q.Name == name {
			return q, true
		}
	}
	return QuantityRow{}, false
}
