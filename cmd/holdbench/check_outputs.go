package main

import (
	"fmt"
	"io"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/sensor"
)

// roleWords say what an output of a role switches.
var roleWords = map[daq.Role]string{daq.Pump: "pump", daq.Lock: "lock", daq.Vent: "vent"}

// printOutputs says what the bench can drive, and what switches it off when this
// program is killed. It returns false where nothing does. check itself drives
// nothing.
func printOutputs(out io.Writer, b *bench.Bench) bool {
	if len(b.Outputs) == 0 {
		return true
	}
	fmt.Fprintln(out)
	for _, o := range b.Outputs {
		where := ""
		if o.Position != "" {
			where = ", position " + o.Position
		}
		fmt.Fprintf(out, "output %s: switches the %s, on instrument %s%s\n", o.Name, roleWords[o.Role], o.Instrument, where)
	}
	if !b.DrivesOutputs {
		fmt.Fprintln(out, "none of them is driven: the bench file does not say outputs = true")
		return true
	}
	for _, in := range b.Instruments {
		if in.Watchdog > 0 {
			fmt.Fprintf(out, "instrument %s: its own communication watchdog switches its outputs off after %g s, says the bench file; see that the module is set so, and that it does: pull the cable while an output is on\n",
				in.Name, in.Watchdog.Seconds())
		}
	}
	unwatched := b.Unwatched()
	for _, in := range unwatched {
		fmt.Fprintf(out, "instrument %s: no communication watchdog stated: when this program is killed or the machine stops, nothing switches its outputs off\n"+
			"  to mend it: set the module's own watchdog, try it, and write watchdog = \"…\" into its [[instrument]]\n", in.Name)
	}
	return len(unwatched) == 0
}

// describeState is what a digital input showed: how it stood last, and how often
// it was read to have changed.
func describeState(values []float64) (state, changes string) {
	if len(values) == 0 {
		return "–", "–"
	}
	n := 0
	for i := 1; i < len(values); i++ {
		if values[i] != values[i-1] {
			n++
		}
	}
	state = sensor.OnOff(values[len(values)-1] == 1)
	if n == 0 {
		return state, "steady"
	}
	return state, fmt.Sprintf("changed %d×", n)
}
