package bench

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/strict"
)

// Parse reads the text of a bench file; path is used in messages only, and
// the characterisation file that it names is not read (AttachCharacterisation
// takes its text). The error joins one *strict.Error for each fault, in the
// order of their lines.
func Parse(path string, text []byte) (*Bench, error) {
	root, faults := strict.ParseTOML(path, text)
	if root == nil {
		return nil, faults.Err()
	}
	b := &Bench{Path: path, Text: string(text), Hash: strict.Hash(text)}
	b.Name = root.Required("name").Text()
	b.Location = root.Optional("location").Text()
	b.CharacterisationPath = root.Optional("characterisation").Text()
	b.FluidsPath = root.Optional("fluids").Text()

	p := parser{bench: b}
	p.links(root.Required("link").Tables())
	p.instruments(root.Required("instrument").Tables())
	p.channels(root.Required("channel").Tables())
	p.apart(root.Optional("calibration").Tables())
	p.levels()
	p.positions(root.Optional("position").Tables())
	p.outputs(root)
	p.ambient(root.Optional("ambient").Table())
	b.Volumes = volumes(root.Optional("volume").Tables())
	b.Simulated = p.simulated(root.Optional("simulated").Table())
	root.Close()
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return b, nil
}

// parser carries what the parts of a bench file need to know of each other.
type parser struct {
	bench *Bench
	// The tables of instruments and channels, for faults that show
	// only when everything is known; same order as in the bench.
	instrumentTables, channelTables []*strict.Table
	// trapped says which circuit watches a channel as its trapped side.
	trapped map[string]string
}

// unique returns text, the value of k, and notes that another key has it
// already. what says what the text is: "name", "port".
func unique(k strict.Key, what, text string, taken map[string]int) string {
	line, ok := taken[text]
	switch {
	case text == "":
	case ok:
		k.Fault(strict.Quote(text)+" a second time", fmt.Sprintf("another %s (first in line %d)", what, line))
	default:
		taken[text] = k.Line()
	}
	return text
}

// name returns the table's name, which no other table of its kind may have.
func name(t *strict.Table, taken map[string]int) string {
	k := t.Required("name")
	return unique(k, "name", k.Name(), taken)
}

// ambient reads [ambient]; t is nil when the file has none.
func (p *parser) ambient(t *strict.Table) {
	a := &p.bench.Ambient
	*a = defaultAmbient()
	if t == nil {
		return
	}
	if k := t.Optional("temperature_channel"); k.Given() {
		a.Temperature = p.channelOf(k, si.Temperature)
	}
	pressure, channel := t.Optional("pressure"), t.Optional("channel")
	switch {
	case channel.Given():
		pressure.Refuse("the pressure comes from the channel")
		a.Channel, a.Source = p.channelOf(channel, si.Pressure), "measured"
		if c, _, ok := p.bench.Channel(a.Channel); ok && !c.Absolute {
			channel.Fault(strict.Quote(c.Name)+", a gauge transducer", `a channel with reference = "absolute"`)
		}
	case pressure.Given():
		value, u, ok := pressure.Uncertain(si.Pressure)
		if ok && (value < lowestAmbient || value > highestAmbient) {
			pressure.Fault(pressure.Found(), "an absolute air pressure from 500 mbar to 1100 mbar")
		}
		a.Pressure, a.Source = exactDOF(value, u, si.Pressure), "typed"
	}
}

// Air pressures, Pa absolute, that a bench can stand in: 500 hPa is the air
// at 5.5 km, 1100 hPa more than was ever measured at the ground (own bounds,
// against slips of the unit).
const lowestAmbient, highestAmbient = 500e2, 1100e2

// defaultAmbient is the standard atmosphere with an uncertainty that covers
// the weather and the first few hundred metres of height.
func defaultAmbient() Ambient {
	return Ambient{Pressure: exactDOF(101325, 3000, si.Pressure), Source: "default"}
}

// exactDOF is a value with a standard uncertainty that is taken as exactly
// known.
func exactDOF(value, u float64, q si.Quantity) uncertainty.Estimate {
	return uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: q}
}
