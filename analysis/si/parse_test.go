package si

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseForgivesSpelling(t *testing.T) {
	for _, row := range []struct {
		text string
		q    Quantity
		want float64
	}{
		{"100 bar", Pressure, 1e7},
		{"100bar", Pressure, 1e7},
		{"  100\u00a0Bar ", Pressure, 1e7},
		{"-0.5 bar", Pressure, -5e4},
		{"\u22120.5 bar", Pressure, -5e4},
		{"+.5 BAR", Pressure, 5e4},
		{"1e5Pa", Pressure, 1e5},
		{"2.5 MPa", Pressure, 2.5e6},
		{"0.5 bar/min", PressureRate, 5e4 / 60},
		{"0.5 bar per min", PressureRate, 5e4 / 60},
		{"0.5 bar / min", PressureRate, 5e4 / 60},
		{"6 kgf/cm^2/h", PressureRate, 6 * 98066.5 / 3600},
		{"4.5 bar/K", ThermalCoefficient, 4.5e5},
		{"4.5 bar/°C", ThermalCoefficient, 4.5e5},
		{"2 bar/cm³", Stiffness, 2e11},
		{"2 bar/cm3", Stiffness, 2e11},
		{"2 bar/mL", Stiffness, 2e11},
		{"6 mL/min", VolumeFlow, 1e-7},
		{"6 ml/min", VolumeFlow, 1e-7},
		{"3 µL", Volume, 3e-9},
		{"3 \u03bcL", Volume, 3e-9},
		{"3 uL", Volume, 3e-9},
		{"20 degC", Temperature, 293.15},
		{"20 deg C", Temperature, 293.15},
		{"20 °C", Temperature, 293.15},
		{"20 ºC", Temperature, 293.15},
		{"20 ℃", Temperature, 293.15},
		{"1 °C", TemperatureDifference, 1},
		{"20 mK", TemperatureDifference, 0.02},
		{"3 K/h", TemperatureRate, 3.0 / 3600},
		{"1.5 h", Time, 5400},
		{"250 ms", Time, 0.25},
		{"12 mA", Current, 0.012},
		{"5 V", Voltage, 5},
		{"10 Hz", Frequency, 10},
		{"600 1/min", Frequency, 10},
		{"0.05", Dimensionless, 0.05},
		{"5 %", Dimensionless, 0.05},
		{"2 mV/V", Dimensionless, 0.002},
		{"107.8 ohm", Resistance, 107.8},
		{"1.1 kΩ", Resistance, 1100},
		{"100 \u2126", Resistance, 100},
	} {
		got, err := Parse(row.text, row.q)
		require.NoError(t, err, row.text)
		assert.InEpsilon(t, row.want, got, 1e-14, row.text)
	}
}

func TestParseErrorsSayWhatWouldBeRight(t *testing.T) {
	const pressures = "a pressure in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O"
	for _, row := range []struct {
		text string
		q    Quantity
		want string
	}{
		{"400", Pressure, `found 400, want a pressure with unit, e.g. "400 bar"`},
		{"", Pressure, `found "", want a pressure with unit, e.g. "100 bar"`},
		{"bar", Pressure, `found "bar", want a pressure with unit, e.g. "100 bar"`},
		{"NaN bar", Pressure, `found "NaN bar", want a pressure with unit, e.g. "100 bar"`},
		{"Inf bar", Pressure, `found "Inf bar", want a pressure with unit, e.g. "100 bar"`},
		{"1e999 bar", Pressure, `found "1e999 bar", want a smaller number, e.g. "100 bar"`},
		{"1e305 bar", Pressure, `found "1e305 bar", want a smaller number, e.g. "100 bar"`},
		{"400 barr", Pressure, `found "400 barr", want ` + pressures + `, e.g. "100 bar"`},
		{"~bar", Pressure, `found "~bar", want a pressure with unit, e.g. "100 bar"`},
		{"5 ~bar", Pressure, `found "5 ~bar", want ` + pressures + `, e.g. "100 bar"`},
		{"5 mpa", Pressure, `found "5 mpa", want ` + pressures + ` (upper and lower case differ: MPa), e.g. "100 bar"`},
		{"5 K", Pressure, `found "5 K", a temperature, want ` + pressures + `, e.g. "100 bar"`},
		{"1,5 bar", Pressure, `found "1,5 bar", want a decimal point and no comma, e.g. "100 bar"`},
		{"0.5 bar", PressureRate, `found "0.5 bar", a pressure, want a pressure rate in Pa/s, bar/min and the like, e.g. "0.5 bar/min"`},
		{"4.5 ± 0.2 bar/K", ThermalCoefficient, `found "4.5 ± 0.2 bar/K", want a thermal coefficient in Pa/K, bar/K and the like, e.g. "4.5 bar/K"`},
		{"-300 °C", Temperature, `found "-300 °C", want a temperature not below absolute zero (0 K), e.g. "23 °C"`},
		{"five", Dimensionless, `found "five", want a number, e.g. "0.05" or "5 %"`},
		{"5 1", Dimensionless, `found "5 1", want a number in 1, %, ppm, mV/V, e.g. "5 %"`},
	} {
		got, err := Parse(row.text, row.q)
		var e *Error
		require.ErrorAs(t, err, &e, row.text)
		assert.Equal(t, row.want, err.Error())
		assert.Zero(t, got, row.text)
	}
}

func TestParseUncertainReadsStandardUncertainty(t *testing.T) {
	for _, row := range []struct {
		text  string
		q     Quantity
		value float64
		u     float64
	}{
		{"4.5 ± 0.2 bar/K", ThermalCoefficient, 4.5e5, 2e4},
		{"4.5 +- 0.2 bar/K", ThermalCoefficient, 4.5e5, 2e4},
		{"4.5+/-0.2bar/K", ThermalCoefficient, 4.5e5, 2e4},
		{"(4.5 ± 0.2) bar/K", ThermalCoefficient, 4.5e5, 2e4},
		{"4.5 bar/K ± 200 mbar/K", ThermalCoefficient, 4.5e5, 2e4},
		{"4.5 bar/K", ThermalCoefficient, 4.5e5, 0},
		{"23 ± 0.5 °C", Temperature, 296.15, 0.5},
		{"23 °C ± 0.5 K", Temperature, 296.15, 0.5},
		{"50 ± 9 °F", Temperature, 283.15, 5},
		{"1.013 ± 0.003 bar", Pressure, 101300, 300},
		{"-20 ± 5 s", Time, -20, 5},
		{"5 ± 1 %", Dimensionless, 0.05, 0.01},
		{"0.5 ± 0.1", Dimensionless, 0.5, 0.1},
	} {
		value, u, err := ParseUncertain(row.text, row.q)
		require.NoError(t, err, row.text)
		assert.InEpsilon(t, row.value, value, 1e-14, row.text)
		assert.InDelta(t, row.u, u, 1e-14*max(1, row.u), row.text)
	}
}

func TestParseUncertainErrors(t *testing.T) {
	const coefficient = `a thermal coefficient ± its standard uncertainty in Pa/K, bar/K and the like, e.g. "4.5 ± 0.2 bar/K"`
	for text, want := range map[string]string{
		"4.5 ± 0.2":               coefficient,
		"4.5 bar/K ± 0.2":         coefficient,
		"4.5 ± bar/K":             coefficient,
		"± 0.2 bar/K":             coefficient,
		"4.5 ± 0.2 K":             coefficient,
		"4.5 ± -0.2 bar/K":        `an uncertainty that is not negative, e.g. "4.5 ± 0.2 bar/K"`,
		"4.5 ± 0.2 ± 0.1 bar/K":   `a thermal coefficient in Pa/K, bar/K and the like, e.g. "4.5 bar/K"`,
		"4.5 bar/K plus minus 10": `a thermal coefficient in Pa/K, bar/K and the like, e.g. "4.5 bar/K"`,
	} {
		_, _, err := ParseUncertain(text, ThermalCoefficient)
		require.EqualError(t, err, `found "`+text+`", want `+want)
	}
}

func TestParseUnitErrors(t *testing.T) {
	_, err := ParseUnit("bar", PressureRate)
	assert.EqualError(t, err, `found unit "bar", a pressure, want a pressure rate in Pa/s, bar/min and the like, e.g. "bar/min"`)
	_, err = ParseUnit("furlong", Time)
	assert.EqualError(t, err, `found unit "furlong", want a time in s, ms, min, h, d, e.g. "min"`)
	_, err = ParseUnit("", Volume)
	assert.ErrorContains(t, err, `found unit "", want a volume in m³`)
}

func TestParseAnyUnitNamesEveryQuantity(t *testing.T) {
	quantities := func(text string) (all []Quantity) {
		for _, u := range ParseAnyUnit(text) {
			all = append(all, u.Quantity)
		}
		return all
	}
	assert.Equal(t, []Quantity{Pressure, PressureChange}, quantities("bar"))
	assert.Equal(t, []Quantity{Temperature, TemperatureDifference}, quantities("°C"))
	assert.Equal(t, []Quantity{ThermalCoefficient}, quantities("bar/K"))
	assert.Equal(t, []Quantity{Current}, quantities("mA"))
	assert.Equal(t, []Quantity{Dimensionless}, quantities("1"))
	assert.Empty(t, quantities("bananas"))
}
