package sensor

import (
	"reflect"

	"holdbench/analysis/si"
)

// Kind is one kind of conversion.
type Kind struct {
	// Key is its key in bench files.
	Key string
	// Signals are the quantities in which its signal may come, Values those
	// that it may measure; nil: any.
	Signals, Values []si.Quantity
	// Names are the sensors that its key may name; nil where it takes figures.
	Names []string
	// Named returns the sensor of a name.
	Named func(name string) (Conversion, bool)
	// ColdJunction says that a reading needs the cold junction's temperature.
	ColdJunction bool
	// Excitation is the quantity of what its signal, a voltage, may be measured
	// against; Ratio is then that of the signal. Dimensionless: nothing.
	Excitation, Ratio si.Quantity

	like Conversion // one of its type
}

// Kinds are all of them.
var Kinds = []Kind{
	{Key: "scaling", Excitation: si.Voltage, Ratio: si.Dimensionless, like: Scaling{}},
	{Key: "polynomial", Excitation: si.Voltage, Ratio: si.Dimensionless, like: Polynomial{}},
	{Key: "table", Excitation: si.Voltage, Ratio: si.Dimensionless, like: Table{}},
	{
		Key: "thermocouple", Signals: []si.Quantity{si.Voltage}, Values: []si.Quantity{si.Temperature},
		Names: []string{"B", "E", "J", "K", "N", "R", "S", "T"}, ColdJunction: true, like: Thermocouple{},
		Named: func(name string) (Conversion, bool) { c, ok := NewThermocouple(name); return c, ok },
	},
	{
		Key: "rtd", Signals: []si.Quantity{si.Resistance}, Values: []si.Quantity{si.Temperature},
		Names: []string{"Pt100", "Pt1000"}, Excitation: si.Current, Ratio: si.Resistance, like: RTD{},
		Named: func(name string) (Conversion, bool) { c, ok := NewRTD(name); return c, ok },
	},
}

// KindOf returns the kind of a conversion; false for nil.
func KindOf(c Conversion) (Kind, bool) {
	for _, k := range Kinds {
		if c != nil && reflect.TypeOf(k.like) == reflect.TypeOf(c) {
			return k, true
		}
	}
	return Kind{}, false
}
