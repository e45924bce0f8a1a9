package si

// Constants that define units outside the SI, all exact.
//
// Source: [1] B.8 and footnotes; international yard and pound (1959),
// standard gravity (CGPM 1901), standard atmosphere (CGPM 1954). Tested against
// testdata/units/factors.csv, where each factor stands as a fraction, mark C.
const (
	inch       = 0.0254     // m
	foot       = 12 * inch  // m
	pound      = 0.45359237 // kg
	gravity    = 9.80665    // m/s²
	atmosphere = 101325.0   // Pa
	mercury    = 13595.1    // kg/m³, conventional
	water      = 1000.0     // kg/m³, conventional

	poundPerSquareInch    = pound * gravity / (inch * inch) // Pa
	kilopondPerSquareCm   = gravity * 1e4                   // Pa
	millimetreOfMercury   = mercury * gravity * 1e-3        // Pa
	inchOfMercury         = mercury * gravity * inch        // Pa
	millimetreOfWater     = water * gravity * 1e-3          // Pa
	inchOfWater           = water * gravity * inch          // Pa
	footOfWater           = water * gravity * foot          // Pa
	cubicInch             = inch * inch * inch              // m³
	cubicFoot             = foot * foot * foot              // m³
	gallonUS              = 231 * cubicInch                 // m³
	gallonUK              = 4.54609e-3                      // m³
	fluidOunceUS          = gallonUS / 128                  // m³
	degreeFahrenheit      = 5.0 / 9.0                       // K
	zeroCelsius           = 273.15                          // K
	zeroFahrenheit        = 459.67 * 5.0 / 9.0              // K
	minute, hour, dayLong = 60.0, 3600.0, 86400.0           // s
)

// DropsPerMillilitre is the drop factor by which a leak flow is shown in drops;
// it is never stored in drops. Of oils and brake fluids a drop is smaller: 20
// and more to the millilitre are common (mark M).
//
// Source: API Standard 598, 1 mL = 16 drops (mark V).
const DropsPerMillilitre = 16.0

// unitRow is one unit that is not built from others.
type unitRow struct {
	symbol         string
	factor, offset float64
	// also lists other spellings; spaces, °/deg, µ/u and superscripts need
	// none of their own.
	also []string
	// anyCase: upper and lower case do not matter, since no other unit
	// differs by them alone (mPa and MPa do).
	anyCase bool
}

// table is the one list of units that people may write. A compound quantity
// has no rows: its units are built of two rows.
var table = map[Quantity][]unitRow{
	Dimensionless: {
		{symbol: "1", factor: 1, also: []string{""}},
		{symbol: "%", factor: 1e-2},
		{symbol: "ppm", factor: 1e-6},
		{symbol: "mV/V", factor: 1e-3},
	},
	Time: {
		{symbol: "s", factor: 1, also: []string{"sec", "second", "seconds"}},
		{symbol: "ms", factor: 1e-3},
		{symbol: "min", factor: minute, also: []string{"minute", "minutes"}},
		{symbol: "h", factor: hour, also: []string{"hr", "hour", "hours"}},
		{symbol: "d", factor: dayLong, also: []string{"day", "days"}},
	},
	Pressure:       pressures,
	PressureChange: pressures,
	Temperature: {
		{symbol: "°C", factor: 1, offset: zeroCelsius, also: []string{"C", "℃", "Celsius"}, anyCase: true},
		{symbol: "°F", factor: degreeFahrenheit, offset: zeroFahrenheit, also: []string{"F", "℉", "Fahrenheit"}, anyCase: true},
		{symbol: "K", factor: 1},
	},
	TemperatureDifference: {
		{symbol: "K", factor: 1},
		{symbol: "mK", factor: 1e-3},
		{symbol: "°C", factor: 1, also: []string{"C", "℃"}, anyCase: true},
		{symbol: "°F", factor: degreeFahrenheit, also: []string{"F", "℉"}, anyCase: true},
	},
	Volume: {
		{symbol: "m³", factor: 1},
		{symbol: "L", factor: 1e-3, also: []string{"l", "dm³"}},
		{symbol: "mL", factor: 1e-6, also: []string{"ml"}},
		{symbol: "cm³", factor: 1e-6, also: []string{"cc"}},
		{symbol: "µL", factor: 1e-9, also: []string{"µl"}},
		{symbol: "mm³", factor: 1e-9},
		{symbol: "in³", factor: cubicInch, also: []string{"cu in"}},
		{symbol: "ft³", factor: cubicFoot, also: []string{"cu ft"}},
		{symbol: "US gal", factor: gallonUS, also: []string{"US_gal"}, anyCase: true},
		{symbol: "UK gal", factor: gallonUK, also: []string{"UK_gal"}, anyCase: true},
		{symbol: "US fl oz", factor: fluidOunceUS, also: []string{"US_fl_oz"}, anyCase: true},
	},
	Current: {
		{symbol: "A", factor: 1},
		{symbol: "mA", factor: 1e-3},
		{symbol: "µA", factor: 1e-6},
	},
	Voltage: {
		{symbol: "V", factor: 1},
		{symbol: "mV", factor: 1e-3},
		{symbol: "µV", factor: 1e-6},
	},
	Resistance: {
		{symbol: "Ω", factor: 1, also: []string{"ohm", "ohms", "Ohm", "\u2126"}}, // Greek omega; the ohm sign
		{symbol: "mΩ", factor: 1e-3, also: []string{"mohm", "m\u2126"}},
		{symbol: "kΩ", factor: 1e3, also: []string{"kohm", "k\u2126"}},
	},
	Frequency: {
		{symbol: "Hz", factor: 1, also: []string{"1/s"}, anyCase: true},
		{symbol: "kHz", factor: 1e3, anyCase: true},
		{symbol: "1/min", factor: 1 / minute},
	},
	Length: {
		{symbol: "m", factor: 1},
		{symbol: "cm", factor: 1e-2},
		{symbol: "mm", factor: 1e-3},
		{symbol: "in", factor: inch, also: []string{"inch"}},
		{symbol: "ft", factor: foot},
	},
	Density: {
		{symbol: "kg/m³", factor: 1},
		{symbol: "g/cm³", factor: 1e3, also: []string{"g/mL", "kg/L"}},
		{symbol: "lb/ft³", factor: pound / cubicFoot},
	},
	PerKelvin: {
		{symbol: "1/K", factor: 1, also: []string{"/K", "1/°C", "/°C"}},
		{symbol: "%/K", factor: 1e-2, also: []string{"%/°C"}},
		{symbol: "1/°F", factor: 1 / degreeFahrenheit, also: []string{"/°F"}},
	},
	BulkModulus: {
		{symbol: "Pa", factor: 1},
		{symbol: "MPa", factor: 1e6},
		{symbol: "GPa", factor: 1e9},
		{symbol: "psi", factor: poundPerSquareInch},
		{symbol: "ksi", factor: 1e3 * poundPerSquareInch},
	},
	SpecificHeat: {
		{symbol: "J/(kg K)", factor: 1, also: []string{"J/kg/K", "J/kgK", "J/(kg·K)", "J/kg·K"}},
		{symbol: "kJ/(kg K)", factor: 1e3, also: []string{"kJ/kg/K", "kJ/kgK", "kJ/(kg·K)", "kJ/kg·K"}},
	},
	Viscosity: {
		{symbol: "m²/s", factor: 1},
		{symbol: "mm²/s", factor: 1e-6, also: []string{"cSt"}},
	},
}

var pressures = []unitRow{
	{symbol: "Pa", factor: 1},
	{symbol: "hPa", factor: 1e2, anyCase: true},
	{symbol: "kPa", factor: 1e3, anyCase: true},
	{symbol: "MPa", factor: 1e6},
	{symbol: "bar", factor: 1e5, anyCase: true},
	{symbol: "mbar", factor: 1e2},
	{symbol: "psi", factor: poundPerSquareInch, also: []string{"lbf/in²"}, anyCase: true},
	{symbol: "ksi", factor: 1e3 * poundPerSquareInch, anyCase: true},
	{symbol: "kgf/cm²", factor: kilopondPerSquareCm, also: []string{"kp/cm²"}, anyCase: true},
	{symbol: "at", factor: kilopondPerSquareCm},
	{symbol: "atm", factor: atmosphere, anyCase: true},
	{symbol: "Torr", factor: atmosphere / 760, anyCase: true},
	{symbol: "mmHg", factor: millimetreOfMercury, anyCase: true},
	{symbol: "inHg", factor: inchOfMercury, anyCase: true},
	{symbol: "mmH2O", factor: millimetreOfWater, anyCase: true},
	{symbol: "inH2O", factor: inchOfWater, anyCase: true},
	{symbol: "ftH2O", factor: footOfWater, anyCase: true},
}
