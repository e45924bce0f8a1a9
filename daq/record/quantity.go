package record

import "holdbench/analysis/si"

// quantities are the words and SI units that the format has for quantities.
// They are the format's own: a word, once written, keeps its meaning for as
// long as recordings are kept, whatever screens call it later.
var quantities = []struct {
	quantity   si.Quantity
	word, unit string
}{
	{si.Dimensionless, "dimensionless", "1"},
	{si.Time, "time", "s"},
	{si.Pressure, "pressure", "Pa"},
	{si.PressureChange, "pressure change", "Pa"},
	{si.PressureRate, "pressure rate", "Pa/s"},
	{si.Temperature, "temperature", "K"},
	{si.TemperatureDifference, "temperature difference", "K"},
	{si.TemperatureRate, "temperature rate", "K/s"},
	{si.ThermalCoefficient, "thermal coefficient", "Pa/K"},
	{si.Stiffness, "stiffness", "Pa/m³"},
	{si.Volume, "volume", "m³"},
	{si.VolumeFlow, "volume flow", "m³/s"},
	{si.Current, "current", "A"},
	{si.Voltage, "voltage", "V"},
	{si.Frequency, "frequency", "Hz"},
}

// wordOf and unitOf return "" for a quantity that the format does not have.
func wordOf(q si.Quantity) string {
	for _, row := range quantities {
		if row.quantity == q {
			return row.word
		}
	}
	return ""
}

func unitOf(q si.Quantity) string {
	for _, row := range quantities {
		if row.quantity == q {
			return row.unit
		}
	}
	return ""
}

func quantityOf(word string) (si.Quantity, bool) {
	for _, row := range quantities {
		if row.word == word {
			return row.quantity, true
		}
	}
	return 0, false
}
