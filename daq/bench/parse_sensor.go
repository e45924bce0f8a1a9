package bench

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/sensor"
	"holdbench/daq/strict"
)

// sensorKeys are the keys of [[channel]] that only a sensor's signal has.
var sensorKeys = append([]string{"value_unit", "raw_range", "cold_junction", "excitation", "tolerance_class", "stuck_after", "fastest"},
	conversionKeys()...)

// How long a raw number may be asked to move at least once.
const (
	shortestStuck = time.Second
	longestStuck  = 24 * time.Hour
)

// fewestStuck is how many of its intervals a number must stand still at the
// least: two readings of one value are nothing out of the common.
const fewestStuck = 10

// believable reads what tells a reading that can be true from one that cannot.
// known is false where the channel's quantity is not.
func believable(c *Channel, from Instrument, t *strict.Table, known bool) {
	stuck, fastest := t.Optional("stuck_after"), t.Optional("fastest")
	if stuck.Given() {
		c.StuckAfter = stuck.Duration(shortestStuck, longestStuck)
		if least := fewestStuck * from.Interval; c.StuckAfter > 0 && c.StuckAfter < least {
			stuck.Fault(stuck.Found(), fmt.Sprintf("at least %d intervals of instrument %s, %.6g s", fewestStuck, strict.Quote(from.Name), least.Seconds()))
		}
	}
	if !known || !fastest.Given() {
		return
	}
	switch c.Quantity {
	case si.Pressure:
		c.Fastest = fastest.Positive(si.PressureRate)
	case si.Temperature:
		c.Fastest = fastest.Positive(si.TemperatureRate)
	default:
		fastest.Refuse("pressure and temperature only")
	}
	if math.IsNaN(c.Fastest) {
		c.Fastest = 0
	}
}

// tolerance reads the sensor's tolerance class. It needs the range, within
// which the class must hold.
func tolerance(c *Channel, t *strict.Table, known bool) {
	k := t.Optional("tolerance_class")
	switch {
	case !known || !tellable(c, t) || !k.Given():
		return
	case c.Sensor == "":
		if !t.Optional("thermocouple").Given() && !t.Optional("rtd").Given() {
			k.Refuse("thermocouple and rtd only")
		}
		return
	}
	name := k.OneOf(sensor.Classes(c.Sensor)...)
	class, ok := sensor.ClassOf(c.Sensor, name)
	if !ok {
		return
	}
	low, high := class.Range()
	holds := fmt.Sprintf("a range within %s, where class %s of %s holds (%s)", celsius(low, high), name, c.Sensor, class.Standard)
	switch r := t.Optional("range"); {
	case !r.Given():
		k.Fault(k.Found()+" without a range", holds)
	case c.RangeLow < low || c.RangeHigh > high:
		r.Fault(r.Found(), holds)
	default:
		c.ToleranceClass = name
	}
}

// tellable says whether the sensor tells every temperature of the channel's
// range, and notes it where it does not.
func tellable(c *Channel, t *strict.Table) bool {
	var low, high float64
	switch s := c.Conversion.(type) {
	case sensor.Thermocouple:
		low, high = s.Range()
	case sensor.RTD:
		least, most := s.Signals()
		low, high = s.Temperature(least), s.Temperature(most)
	default:
		return true
	}
	const rounding = 1e-6 // K
	if c.RangeLow < low-rounding || c.RangeHigh > high+rounding {
		r := t.Optional("range")
		r.Fault(r.Found(), fmt.Sprintf("a range within %s, which %s tells", celsius(low, high), c.Sensor))
		return false
	}
	return true
}

// celsius writes two temperatures, K, in °C.
func celsius(low, high float64) string {
	u := si.DefaultDisplay.Temperature
	return fmt.Sprintf("%.6g to %.6g °C", u.FromSI(low), u.FromSI(high))
}

// companions reads where each channel gets from what it needs besides its own
// signal; it may be a channel that stands further down in the file.
func (p *parser) companions() {
	for i := range p.bench.Channels {
		c, t := &p.bench.Channels[i], p.channelTables[i]
		if t.Optional("thermocouple").Given() {
			c.ColdJunction = p.companion(t.Optional("cold_junction"), si.Temperature)
			p.junction(*c, t.Optional("cold_junction"))
		}
		for _, k := range sensor.Kinds {
			if k.Excitation != si.Dimensionless && t.Optional(k.Key).Given() {
				c.Excitation = p.companion(t.Optional("excitation"), k.Excitation)
				break
			}
		}
	}
	p.circles()
}

// companion reads the name of a channel of that quantity, or a fixed value.
func (p *parser) companion(k strict.Key, q si.Quantity) Companion {
	if !k.Given() {
		return Companion{}
	}
	text := k.Text()
	if text == "" {
		return Companion{}
	}
	value, u, err := si.ParseUncertain(text, q)
	_, bare := si.Parse(text, q)
	if err != nil {
		var fault *si.Error
		if errors.As(err, &fault) {
			return Companion{Channel: p.channelOr(k, q, ", or a fixed value, e.g. "+strict.Quote(fixedExamples[q]))}
		}
		return Companion{}
	}
	switch {
	case !(value > 0):
		k.Fault(k.Found(), "above zero")
	case bare == nil:
		k.Fault(k.Found()+" without an uncertainty", "a fixed value with how far it may be off at any time (standard uncertainty), e.g. "+strict.Quote(fixedExamples[q]))
	}
	return Companion{Value: value, U: u}
}

var fixedExamples = map[si.Quantity]string{
	si.Temperature: "23 ± 0.5 °C", si.Voltage: "10 ± 0.005 V", si.Current: "1 ± 0.001 mA",
}

// junction notes a fixed cold junction at which the type gives no voltage.
func (p *parser) junction(c Channel, k strict.Key) {
	couple, ok := c.Conversion.(sensor.Thermocouple)
	if ok && c.ColdJunction.Value > 0 && math.IsNaN(couple.EMF(c.ColdJunction.Value)) {
		k.Fault(k.Found(), "a temperature at which a thermocouple of type "+c.Sensor+" has a voltage")
	}
}

// levels notes channels whose limits of error count, as of an excitation, in
// relation to a level that the file does not tell.
func (p *parser) levels() {
	for i, c := range p.bench.Channels {
		other, _, ok := p.bench.Channel(c.Excitation.Channel)
		if !ok || c.Excitation.Channel == "" || !other.unlevelled() {
			continue
		}
		k := p.channelTables[i].Optional("excitation")
		k.Fault(k.Found()+unlevelledFound, unlevelledWant)
	}
}

const (
	unlevelledFound = ", whose accuracy or calibration is stated and whose range does not begin above zero"
	unlevelledWant  = `a channel with the range of the excitation itself, e.g. range = ["9.5 V", "10.5 V"]: what it is wrong by counts in relation to that`
)

// unlevelled says whether it is stated how wrong the channel is, and not at
// what level.
func (c Channel) unlevelled() bool {
	return (c.Accuracy != 0 || c.Calibration != nil) && !(c.RangeLow > 0)
}

// excites says whether another channel's signal is measured against this one's.
func (b *Bench) excites(name string) bool {
	return slices.ContainsFunc(b.Channels, func(c Channel) bool { return name != "" && c.Excitation.Channel == name })
}

// circles notes channels that need each other: none of them could be read
// first. A channel needs one other at most, but for the air's pressure, which
// needs none that is in want of it.
func (p *parser) circles() {
	said := map[int]bool{}
	for i, c := range p.bench.Channels {
		var circle []int
		for at := p.needed(i); at >= 0 && len(circle) < len(p.bench.Channels); at = p.needed(at) {
			circle = append(circle, at)
			if at != i {
				continue
			}
			if !said[i] {
				key := "excitation"
				if c.ColdJunction.Channel != "" {
					key = "cold_junction"
				}
				k := p.channelTables[i].Optional(key)
				k.Fault(k.Found()+", which cannot be read without this one", "a channel that does not need this one")
			}
			for _, j := range circle {
				said[j] = true
			}
			break
		}
	}
}

// needed is the channel that a channel needs, -1 for none.
func (p *parser) needed(i int) int {
	c := p.bench.Channels[i]
	name := c.ColdJunction.Channel + c.Excitation.Channel // one of them at most
	if _, j, ok := p.bench.Channel(name); ok && name != "" {
		return j
	}
	return -1
}
