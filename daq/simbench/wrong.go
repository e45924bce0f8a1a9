package simbench

import "holdbench/daq/bench"

// wrong is how a transducer is wrong beside what its certificate says.
type wrong struct {
	offset, gain, loop float64 // SI, gain relative
	// rest is where its element came to rest: it follows what is measured with
	// half the loop's slack either way.
	rest float64
	any  bool
}

// wrongTransducers are those of the bench's [simulated] table, by channel.
func wrongTransducers(b *bench.Bench) []wrong {
	all := make([]wrong, len(b.Channels))
	if b.Simulated == nil {
		return all
	}
	for _, t := range b.Simulated.Transducers {
		if _, i, ok := b.Channel(t.Channel); ok {
			all[i] = wrong{offset: t.Offset, gain: t.Gain, loop: t.Hysteresis}
		}
	}
	return all
}

// shows returns what the transducer makes of a value.
func (w *wrong) shows(x float64) float64 {
	if !w.any {
		w.rest, w.any = x, true
	}
	w.rest = min(max(w.rest, x-w.loop/2), x+w.loop/2)
	return w.rest + w.offset + w.gain*x
}
