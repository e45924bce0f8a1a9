package bench

import (
	"strconv"

	"holdbench/daq"
	"holdbench/daq/modbus"
	"holdbench/daq/strict"
)

// modbusOutput reads where an output stands in a slave.
func modbusOutput(o *Output, _ Instrument, t *strict.Table) {
	var at strict.Key
	o.Function, o.Register, at = modbusAddress(t, map[byte]int{modbus.ReadCoils: 5, modbus.ReadHolding: 6})
	if t.Has("number") {
		o.Number = at.Found()
	}
	on, off, bits := t.Optional("on_value"), t.Optional("off_value"), t.Optional("bits")
	o.OnValue = 1
	if o.coil() {
		for _, k := range []strict.Key{on, off, bits} {
			k.Refuse("registers only, functions 6 and 16")
		}
		return
	}
	o.BitFirst, o.BitCount = bitField(bits, "uint16")
	largest := 1<<16 - 1
	if o.BitCount > 0 {
		largest = 1<<o.BitCount - 1
	}
	sound := true
	value := func(k strict.Key, x *int) {
		if k.Given() {
			*x = k.Int(0, largest)
			sound = sound && (*x != 0 || k.Found() == "0")
		}
	}
	value(on, &o.OnValue)
	value(off, &o.OffValue)
	if sound && o.OnValue == o.OffValue {
		k := off
		if !off.Given() {
			k = on
		}
		k.Fault(strconv.Itoa(o.OffValue)+" for both on and off", "two different values of on_value and off_value")
	}
}

// coil says whether the output is a coil; one whose function was at fault is
// taken for none.
func (o Output) coil() bool { return o.Function == 5 || o.Function == 15 }

// register is the output as it is written. A register's values stand in their
// bits.
func (o Output) register() modbus.Output {
	out := modbus.Output{Function: byte(o.Function), Register: uint16(o.Register)}
	if o.coil() {
		return out
	}
	out.On, out.Off = uint16(o.OnValue<<o.BitFirst), uint16(o.OffValue<<o.BitFirst)
	if o.BitCount > 0 {
		out.Mask = uint16((1<<o.BitCount - 1) << o.BitFirst)
	}
	return out
}

// Off is what the output's bits of a register, or its coil, are when it is
// off.
func (o Output) Off() uint16 { return o.register().Off }

// Switched says whether a register, or a coil as 0 or 1, has the output on.
func (o Output) Switched(value uint16) bool {
	r := o.register()
	if o.coil() {
		return value == 1
	}
	if r.Mask != 0 {
		value &= r.Mask
	}
	return value == r.On
}

func sameOutput(o, other Output) (key, found, want string) {
	if o.Function == 0 || other.Function == 0 || o.coil() != other.coil() || o.Register != other.Register {
		return "", "", ""
	}
	a, b := o.register().Mask, other.register().Mask
	if a != 0 && b != 0 && a&b == 0 {
		return "", "", ""
	}
	key = "register"
	if o.Number != "" {
		key = "number"
	}
	return key, ", which output " + strict.Quote(other.Name) + " switches already", "an output of its own"
}

func driveModbus(_ *daq.Source, w *wire, in Instrument, outputs []Output) daq.Driver {
	places := make([]modbus.Output, len(outputs))
	for i, o := range outputs {
		places[i] = o.register()
	}
	return modbus.NewOutputs(w.master, byte(in.Address), places)
}
