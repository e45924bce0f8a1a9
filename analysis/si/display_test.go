package si

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDisplayHasUnitOfEveryQuantity(t *testing.T) {
	psi, err := ParseDisplay("psi", "°F")
	require.NoError(t, err)
	kelvin, err := ParseDisplay("kPa", "K")
	require.NoError(t, err)
	for _, row := range []struct {
		q                       Quantity
		inDefault, inPsi, inKPa string
	}{
		{Dimensionless, "1", "1", "1"},
		{Time, "s", "s", "s"},
		{Pressure, "bar", "psi", "kPa"},
		{PressureChange, "bar", "psi", "kPa"},
		{PressureRate, "bar/min", "psi/min", "kPa/min"},
		{Temperature, "°C", "°F", "K"},
		{TemperatureDifference, "K", "°F", "K"},
		{TemperatureRate, "K/h", "°F/h", "K/h"},
		{ThermalCoefficient, "bar/K", "psi/°F", "kPa/K"},
		{Stiffness, "bar/mL", "psi/mL", "kPa/mL"},
		{Volume, "mL", "mL", "mL"},
		{VolumeFlow, "mL/min", "mL/min", "mL/min"},
		{Current, "mA", "mA", "mA"},
		{Voltage, "V", "V", "V"},
		{Frequency, "Hz", "Hz", "Hz"},
		{Length, "mm", "mm", "mm"},
		{Density, "kg/m³", "kg/m³", "kg/m³"},
		{PerKelvin, "1/K", "1/°F", "1/K"},
		{BulkModulus, "GPa", "GPa", "GPa"},
		{SpecificHeat, "J/(kg K)", "J/(kg K)", "J/(kg K)"},
		{Viscosity, "mm²/s", "mm²/s", "mm²/s"},
		{VolumePerLength, "mL/m", "mL/m", "mL/m"},
		{Resistance, "Ω", "Ω", "Ω"},
	} {
		for _, c := range []struct {
			d    Display
			want string
		}{{DefaultDisplay, row.inDefault}, {psi, row.inPsi}, {kelvin, row.inKPa}} {
			u := c.d.Unit(row.q)
			assert.Equal(t, c.want, u.Symbol)
			assert.Equal(t, row.q, u.Quantity)
		}
	}
	assert.Len(t, Quantities(), 23, "a new quantity needs its row above")
}

// Law: every pressure and temperature of the table can be the display.
func TestAnyUnitCanBeTheDisplay(t *testing.T) {
	for _, p := range everyUnit(Pressure) {
		for _, temperature := range everyUnit(Temperature) {
			d, err := ParseDisplay(p, temperature)
			require.NoError(t, err)
			for _, q := range Quantities() {
				assert.NotPanics(t, func() { d.Unit(q) }, "%s in %s, %s", q, p, temperature)
			}
		}
	}
}

func TestParseDisplayErrors(t *testing.T) {
	d, err := ParseDisplay("", "")
	require.NoError(t, err)
	assert.Equal(t, DefaultDisplay, d)
	_, err = ParseDisplay("stone", "")
	assert.ErrorContains(t, err, `found unit "stone", want a pressure in Pa,`)
	_, err = ParseDisplay("", "R")
	assert.ErrorContains(t, err, `found unit "R", want a temperature in °C, °F, K`)
}
