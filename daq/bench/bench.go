// Package bench knows the bench file: what is wired to what, which channels
// form the circuits of a position, the calibration of each channel and what
// was characterised. From it come the instruments that the scanner reads.
package bench

import (
	"time"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq"
	"holdbench/daq/link"
	"holdbench/daq/sensor"
)

// Bench is a bench file as read; every number SI.
type Bench struct {
	// Path as given, Text the file's bytes as read, Hash "sha256:…" of them.
	Path, Text, Hash string
	Name, Location   string

	Links       []Link
	Instruments []Instrument
	Channels    []Channel
	Positions   []Position
	Ambient     Ambient
	// Outputs are what the bench can switch; they are switched only where
	// DrivesOutputs, the file's outputs = true. Without it nothing is ever
	// written to an instrument.
	Outputs       []Output
	DrivesOutputs bool

	// CharacterisationPath as the bench file names it, relative to the bench
	// file; empty when it names none. CharacterisationText and Hash are the
	// file's bytes as read.
	CharacterisationPath, CharacterisationText, CharacterisationHash string
	Characterisations                                                []Characterisation

	// FluidsPath as the bench file names it, relative to the bench file; empty
	// when it names none. FluidsText and Hash are the file's bytes as read.
	FluidsPath, FluidsText, FluidsHash string
	Fluids                             []Fluid
	// Volumes say what holds the trapped liquid, by model and circuit.
	Volumes []Volume

	// Simulated is the [simulated] table: what the simulated bench does when
	// nobody has a real one. Nil when the file has none.
	Simulated *Simulated
}

// Link is a byte stream to instruments.
type Link struct {
	Name string
	// Port is a serial port's name, or "tcp://host:port"; empty where USB says
	// which adapter it is, its numbers in lower case.
	Port     string
	USB      link.Identity
	Baud     int
	DataBits int
	Parity   string // "none", "even", "odd"
	StopBits int    // 1 or 2
	// Timeout is the deadline of one exchange.
	Timeout time.Duration
}

// Kinds of instruments: see kinds.go.
const (
	ModbusRTU  = "modbus-rtu"
	ModbusTCP  = "modbus-tcp"
	TextStream = "text-stream"
	TextAsked  = "text-asked"
)

// Instrument is one device on a link.
type Instrument struct {
	Name, Kind, Link string
	// Interval is the time between two scans; for a stream, the time between
	// lines that the instrument is expected to send.
	Interval time.Duration
	// Address is the Modbus slave address, 1–247; of modbus-tcp the unit
	// identifier, 0–255.
	Address int
	// Bridge is how many Modbus registers that no channel reads may stand
	// between those that one request reads.
	Bridge int
	// Separator parts the columns of a text line: "tab", "space", or what
	// stands for itself; empty: the line is one column. Text says what else
	// there is to a line.
	Separator string
	Text      Text
	// Watchdog is the time after which the module by itself switches its
	// outputs off when nobody talks to it, as set in the module; 0 where not
	// stated.
	Watchdog time.Duration
	Line     int // where it stands in the file
}

// Output is one [[output]]: something that an instrument switches.
type Output struct {
	Name       string
	Role       daq.Role
	Instrument string
	// Position is the one that it serves; empty: all of them.
	Position string
	// Modbus: Function is 5 or 15 for a coil, 6 or 16 for a register; Register
	// the protocol address from 0; OnValue and OffValue what is written into a
	// register (1 and 0 for a coil).
	Function, Register int
	OnValue, OffValue  int
	// Number is the manual's number where the file gives that; BitCount bits
	// from BitFirst on are the output, 0: the whole register.
	Number             string
	BitFirst, BitCount int
	Line               int
}

// Channel is one measured quantity.
type Channel struct {
	Name       string
	Quantity   si.Quantity // Pressure or Temperature (or Voltage, Current: unconverted signals)
	Instrument string
	// State is true for a digital input: 0 or 1, Quantity Dimensionless.
	// Inverted: 1 is read as off. Debounce is how long a new state must hold
	// to be one.
	State, Inverted bool
	Debounce        time.Duration

	// Modbus: Register is the protocol address from 0, Number the manual's
	// number where the file gives that; Function 1 to 4; Type "int16",
	// "uint16", "int32", "uint32", "float32", "float64" or "bit"; WordOrder and
	// ByteOrder "high-first" or "low-first"; BitCount bits from BitFirst on are
	// the number, 0: all of them. See Format.
	Register           int
	Number             string
	Function           int
	Type               string
	WordOrder          string
	ByteOrder          string
	BitFirst, BitCount int
	// Text: Column counts from 1; Place is what else there is to say.
	Column int
	Place  Place

	// RawScale × the number sent + RawOffset is in RawUnit.
	RawScale, RawOffset float64
	RawUnit             string
	// RawQuantity is the quantity of RawUnit, which alone may be several
	// ("V" is one, "bar" a state and a change): Dimensionless for "1", and
	// Quantity itself where Scaling is nil.
	RawQuantity si.Quantity
	// Scaling maps the signal to the quantity by a straight line through two
	// points; nil when RawUnit is a unit of the quantity itself.
	Scaling *Scaling
	// Conversion is another way from the signal to the quantity: a polynomial,
	// a table, a thermocouple or a resistance thermometer; nil for none. Sensor
	// names the thermocouple's type or the resistance thermometer.
	Conversion sensor.Conversion
	Sensor     string
	// ColdJunction is where a thermocouple's cold junction is known from, K;
	// Excitation what the signal, a voltage, is measured against: V, and the
	// signal of the conversion is their ratio, or A, and it is a resistance.
	ColdJunction, Excitation Companion
	// ToleranceClass is that of the sensor, empty where not stated.
	ToleranceClass string
	// StuckAfter is for how long the raw number may stand still, Fastest how
	// fast the value can change, SI per s; 0: not stated.
	StuckAfter time.Duration
	Fastest    float64
	// Absolute is true for a transducer that reads absolute pressure; its
	// values become gauge by the ambient pressure.
	Absolute bool

	// RangeLow and RangeHigh in SI (NaN when not stated).
	RangeLow, RangeHigh float64
	// Accuracy is the maker's limit of error ± in SI (0 when not stated);
	// GainU (relative), DriftU (SI per s), Resolution (SI): see
	// analysis.Transducer.
	Accuracy, GainU, DriftU, Resolution float64
	// TemperatureEffectU is the standard uncertainty of how far a pressure
	// transducer's zero goes with the temperature of its surroundings, Pa/K.
	TemperatureEffectU float64

	Calibration *Calibration
	Line        int
}

// Companion is a value that a channel needs besides its own signal: that of
// another channel, or a fixed one with its standard uncertainty, SI.
type Companion struct {
	Channel  string
	Value, U float64
}

// Given says whether there is one.
func (c Companion) Given() bool { return c.Channel != "" || c.Value > 0 }

// Scaling is a straight line through two points: signal in the SI unit of
// RawUnit's quantity, value in the SI unit of the channel's quantity.
type Scaling struct {
	SignalLow, SignalHigh float64
	ValueLow, ValueHigh   float64
	// CarriedLow and CarriedHigh are raw_range: between what signals the
	// module can tell signals apart; both 0 where not stated.
	CarriedLow, CarriedHigh float64
}

// Position is a place on the bench for one unit.
type Position struct {
	Name     string
	Circuits []Circuit
	// PumpState is the state channel that says whether the pump runs; may be
	// empty.
	PumpState string
}

// Circuit names the channels that watch one circuit of the unit.
type Circuit struct {
	Name string // "a" or "b"
	// Trapped, Feed, Temperature are channel names. Feed may be empty only
	// with FeedUnmeasured.
	Trapped, Feed, Temperature string
	// MoreTemperatures stand beside Temperature, each for the same share of
	// the liquid.
	MoreTemperatures []string
	FeedUnmeasured   bool
	// WarningSwitch is the state channel of the circuit's warning switch; may
	// be empty.
	WarningSwitch string
}

// Ambient is the atmospheric pressure, Pa absolute: from a channel, typed, or
// the default (101 325 Pa ± 3000 Pa, standard uncertainty) that says so.
type Ambient struct {
	Channel  string
	Pressure uncertainty.Estimate
	Source   string // "measured", "typed", "default"
	// Temperature names the channel of the room's temperature; may be empty.
	Temperature string
}

// Characterisation is one [[characterisation]] block, or what several blocks
// come to (Bench.Characterisation). A nil figure is not known.
type Characterisation struct {
	Bench, Model, Circuit, Fluid string
	PressureLow, PressureHigh    float64 // Pa
	Date, Expiry                 time.Time
	Source                       string
	ThermalCoefficient           *uncertainty.Estimate // Pa/K
	Lag                          *uncertainty.Estimate // s
	// LagCorrelation is the correlation of lag and thermal coefficient, 0
	// where not stated.
	LagCorrelation       float64
	Stiffness            *uncertainty.Estimate // Pa/m³
	SettlingAmplitude    *uncertainty.Estimate // Pa
	SettlingTimeConstant *uncertainty.Estimate // s
	// SettlingCorrelation is that of the two, 0 where not stated.
	SettlingCorrelation float64
	// Creep is a settling that slows but does not end, Pa per decade of time.
	Creep *uncertainty.Estimate // Pa
	// WarmingAmplitude is how much the liquid is warmer than the probe says
	// when it is locked, and WarmingTimeConstant how it goes away.
	WarmingAmplitude    *uncertainty.Estimate // K
	WarmingTimeConstant *uncertainty.Estimate // s
	// ViscosityChange is the relative change of the viscosity per kelvin, 1/K.
	ViscosityChange *uncertainty.Estimate
	Noise           *uncertainty.Estimate // Pa
	// NoiseAutocorrelation is that of successive readings; NaN where not
	// stated.
	NoiseAutocorrelation float64
	// Drift is that of the bench alone, Pa/s, above 0 where the pressure falls.
	Drift *uncertainty.Estimate
	Line  int
	// Lapsed says of each figure that no fitting block gives, but another one
	// does, why that does not fit; for a block alone it is empty.
	Lapsed []string
}
