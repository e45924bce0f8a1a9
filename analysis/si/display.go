package si

// Display is the choice of units in which pages and screens show figures;
// nothing else depends on it.
type Display struct {
	Pressure, Temperature Unit
}

// DefaultDisplay shows bar and °C.
var DefaultDisplay = Display{
	Pressure:    mustUnit("bar", Pressure),
	Temperature: mustUnit("°C", Temperature),
}

// ParseDisplay reads the unit of pressure (bar, psi, kPa, MPa, …) and of
// temperature (°C, °F, K); an empty text means the default. The errors are
// those of ParseUnit.
func ParseDisplay(pressure, temperature string) (Display, error) {
	d := DefaultDisplay
	var err error
	if pressure != "" {
		if d.Pressure, err = ParseUnit(pressure, Pressure); err != nil {
			return DefaultDisplay, err
		}
	}
	if temperature != "" {
		if d.Temperature, err = ParseUnit(temperature, Temperature); err != nil {
			return DefaultDisplay, err
		}
	}
	return d, nil
}

// Unit returns the unit in which a quantity is shown: rates of pressure per
// minute, of temperature per hour, volumes in mL, volume flows in mL/min,
// current in mA, lengths in mm, bulk moduli in GPa, viscosities in mm²/s;
// times in s. Differences of temperature are in K unless
// temperatures are shown in °F.
func (d Display) Unit(q Quantity) Unit {
	difference := "K"
	if d.Temperature.Symbol == "°F" {
		difference = "°F"
	}
	switch q {
	case Pressure:
		return d.Pressure
	case PressureChange:
		return mustUnit(d.Pressure.Symbol, q)
	case PressureRate:
		return mustUnit(d.Pressure.Symbol+"/min", q)
	case Temperature:
		return d.Temperature
	case TemperatureDifference:
		return mustUnit(difference, q)
	case TemperatureRate:
		return mustUnit(difference+"/h", q)
	case ThermalCoefficient:
		return mustUnit(d.Pressure.Symbol+"/"+difference, q)
	case Stiffness:
		return mustUnit(d.Pressure.Symbol+"/mL", q)
	case Volume:
		return mustUnit("mL", q)
	case VolumeFlow:
		return mustUnit("mL/min", q)
	case Current:
		return mustUnit("mA", q)
	case Length:
		return mustUnit("mm", q)
	case PerKelvin:
		return mustUnit("1/"+difference, q)
	case BulkModulus:
		return mustUnit("GPa", q)
	case Viscosity:
		return mustUnit("mm²/s", q)
	case VolumePerLength:
		return mustUnit("mL/m", q)
	}
	return q.SI()
}

// mustUnit is for symbols of the table.
func mustUnit(symbol string, q Quantity) Unit {
	u, err := ParseUnit(symbol, q)
	if err != nil {
		panic("si: " + err.Error())
	}
	return u
}
