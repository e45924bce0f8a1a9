package result

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/analysis/series"
	"holdbench/daq"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
)

// soaked is a soak of two hours at 100 bar: vented at before until 20 s, pumped
// up, held from 300 s to 7500 s, vented at after from 7600 s to 7660 s.
func soaked(before, after float64) (*Run, analysis.Hold) {
	random := rand.New(rand.NewPCG(1, 61))
	var c series.Column
	for t := 0.0; t <= 7660; t += 0.5 {
		p := before
		switch {
		case t > 7600:
			p = after
		case t > 7550:
			p = after + 100e5*(7600-t)/50
		case t > 60:
			p = 100e5
		case t > 20:
			p = 100e5 * (t - 20) / 40
		}
		c.Time, c.Value = append(c.Time, t), append(c.Value, p+500*random.NormFloat64())
	}
	phase := func(at float64, p procedure.Phase) daq.Event {
		return daq.Event{At: time.Duration(at * float64(time.Second)), Kind: daq.PhaseBegins, Subject: string(p)}
	}
	r := &Run{
		Procedure: &procedure.Procedure{SafePressure: 2e5},
		Recording: &record.Recording{Events: []daq.Event{
			phase(0, procedure.Fill), phase(30, procedure.Pressurise), phase(60, procedure.Lock),
			phase(300, procedure.Hold), phase(7500, procedure.Release), phase(7600, procedure.Vented),
		}},
	}
	h := analysis.Hold{Circuit: "a", Start: 300, End: 7500, Trapped: c, TestPressure: 100e5, Transducer: analysis.Transducer{Resolution: 100}}
	return r, h
}

func TestZerosOfASoakAreReadWhileVented(t *testing.T) {
	r, h := soaked(2000, 9000)
	z := r.zeros(h)
	require.NotNil(t, z)
	shift := z.Shift()
	assert.InDelta(t, 7000, shift.Value, 4*shift.StdUncertainty)
	assert.InDelta(t, 500*math.Sqrt(1.0/38+1.0/60), shift.StdUncertainty, 60)
	assert.InDelta(t, 9.5, z.Before.At, 1.5)
	assert.InDelta(t, 7645, z.After.At, 1)
}

// No zero is better than a wrong one.
func TestZerosAreNotTakenWhereTheyAreNone(t *testing.T) {
	for name, spoil := range map[string]func(r *Run, h *analysis.Hold){
		"a short hold":          func(_ *Run, h *analysis.Hold) { h.Start = 7000 },
		"never vented":          func(r *Run, _ *analysis.Hold) { r.Recording.Events = r.Recording.Events[:5] },
		"pressure left before":  func(_ *Run, h *analysis.Hold) { shiftBy(h.Trapped, 0, 20, 1e5) },
		"pressure left after":   func(_ *Run, h *analysis.Hold) { shiftBy(h.Trapped, 7600, 8000, 1e5) },
		"no reading before":     func(_ *Run, h *analysis.Hold) { shiftBy(h.Trapped, 0, 29, math.NaN()) },
		"no reading after":      func(_ *Run, h *analysis.Hold) { shiftBy(h.Trapped, 7600, 8000, math.NaN()) },
		"still falling when on": func(_ *Run, h *analysis.Hold) { slope(h.Trapped, 7600, -500) },
	} {
		r, h := soaked(2000, 9000)
		spoil(r, &h)
		assert.Nil(t, r.zeros(h), name)
	}
}

func shiftBy(c series.Column, from, to, by float64) {
	for i, t := range c.Time {
		if t >= from && t <= to {
			c.Value[i] += by
		}
	}
}

func slope(c series.Column, from, by float64) {
	for i, t := range c.Time {
		if t >= from {
			c.Value[i] += by * (t - from - 30)
		}
	}
}
