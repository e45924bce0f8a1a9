package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/series"
)

const (
	// aliveShare is the share of the readings of a hold that a further probe
	// must have valid, and of the hold's time that they must reach over.
	aliveShare = 0.8
	// stillFor is by how many of its steps the others must have moved while a
	// probe stood still.
	stillFor = 5.0
)

// probe is one thermometer over the hold.
type probe struct {
	Probe
	name string
	// inside are the readings of the hold without spikes, before those before.
	inside, before series.Column
}

// probes are the thermometers of the circuit that can be used, the first
// first; a reason where there is none. What was left out is said.
func (f *fitting) probes() (out []probe, why string) {
	all := []Probe{{Column: f.in.Temperature, Thermometer: f.in.Thermometer}}
	if f.in.Temperature.Len() == 0 {
		all = nil
	}
	d := &f.diagnostics
	for k, p := range append(all, f.in.MoreProbes...) {
		column := p.Column.Window(f.in.Start, f.in.End)
		one := probe{Probe: p, name: nameOf(p.Column, k)}
		var aside, suspect int
		one.inside, aside, suspect = WithoutSpikes(column)
		d.TemperatureSetAside, d.TemperatureSuspect = d.TemperatureSetAside+aside, d.TemperatureSuspect+suspect
		one.before, _, _ = WithoutSpikes(p.Column.Window(math.Inf(-1), math.Nextafter(f.in.Start, math.Inf(-1))))
		out = append(out, one)
	}
	if len(out) < 2 {
		return out, ""
	}
	return f.live(out)
}

func nameOf(c series.Column, place int) string {
	if c.Name != "" {
		return c.Name
	}
	return fmt.Sprintf("%d", place+1)
}

// live leaves out probes that dropped out, stand still while others move, or
// read an end of their range.
func (f *fitting) live(all []probe) (out []probe, why string) {
	for i, p := range all {
		reason := f.dropped(p)
		if reason == "" {
			reason = stands(p, all, i)
		}
		if reason == "" {
			out = append(out, p)
			continue
		}
		why = fmt.Sprintf("temperature probe %s: %s", p.name, reason)
		f.diagnostics.Notes = append(f.diagnostics.Notes, why+"; left out")
	}
	return out, why
}

// dropped says what is wrong with a probe's readings of the hold.
func (f *fitting) dropped(p probe) string {
	c := p.inside
	places := p.Column.Window(f.in.Start, f.in.End).Len()
	switch {
	case c.Len() < fewestReadings:
		return "fewer than 3 valid readings in the hold"
	case float64(c.Len()) < aliveShare*float64(places):
		return fmt.Sprintf("only %.0f %% of its readings are valid", 100*float64(c.Len())/float64(places))
	case c.Time[c.Len()-1]-c.Time[0] < aliveShare*f.duration:
		return "its readings reach over a part of the hold only"
	}
	ends := 0
	for _, v := range c.Value {
		if p.Low < p.High && (v <= p.Low || v >= p.High) {
			ends++
		}
	}
	if ends >= fewestReadings {
		return fmt.Sprintf("saturated: %d readings at an end of its range", ends)
	}
	return ""
}

// stands says whether a probe never moved while another one did by far more
// than this one's resolution.
func stands(p probe, all []probe, place int) string {
	if moved(p.inside.Value) > 0 {
		return ""
	}
	for i, o := range all {
		if i == place || o.inside.Len() < fewestReadings {
			continue
		}
		_, v := blockMeans(o.inside, (o.inside.Len()+mostBlocks-1)/mostBlocks)
		if far := moved(v); far > stillFor*p.Resolution && far > 0 {
			return fmt.Sprintf("stuck: it never moved while probe %s moved by %.2g K", o.name, far)
		}
	}
	return ""
}

// moved is the range of values.
func moved(v []float64) float64 {
	low, high := v[0], v[0]
	for _, x := range v {
		low, high = min(low, x), max(high, x)
	}
	return high - low
}

// scaledPart is a part of a liquid of which only a share counts.
type scaledPart struct {
	part
	share float64
}

func (p scaledPart) by(g []float64, sum float64) []float64 {
	out := p.part.by(g, sum)
	for i := range out {
		out[i] *= p.share
	}
	return out
}

func (p scaledPart) squareAt(i int) float64 { return p.share * p.share * p.part.squareAt(i) }

// together is the mean of liquids, each the same share of the whole, whose
// parameters know nothing of each other. What a reading's steps leave is
// taken to be as large as of one of them on average, and so are the doubts of
// the start, for the probes stand in the same place's air.
func together(all []*liquid) *liquid {
	if len(all) == 1 {
		return all[0]
	}
	m := float64(len(all))
	out := &liquid{at: make([]float64, len(all[0].at)), dof: math.Inf(1)}
	for _, l := range all {
		for i, v := range l.at {
			out.at[i] += v / m
		}
		out.start += l.start / m
		for _, p := range l.parts {
			out.parts = append(out.parts, scaledPart{p, 1 / m})
		}
		out.dof = min(out.dof, l.dof)
		out.startDoubt += l.startDoubt / m
		if l.fades != nil {
			out.fades = l.fades
		}
		out.noise += l.noise / m
		out.resolution += l.resolution / m
		out.quantum += l.quantum / m
		out.sweep += l.sweep / m
	}
	return out
}

// gradientOf is the doubt of the liquid's mean temperature in a sum that the
// single probes make r.probes: it may be anywhere between them.
//
// Source: [1] 4.3.7, a rectangular distribution.
func (f *fitting) gradientOf(r response) float64 {
	if len(r.probes) < 2 {
		return 0
	}
	return moved(r.probes) / math.Sqrt(12)
}
