package sequence

import (
	"fmt"
	"math"
	"strings"
	"time"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// wrong says why what is measured does not fit the end of the phase: the
// pressure after pressurise and lock, the feed side after vent feed.
func (m *Machine) wrong() []string {
	switch m.phase() {
	case procedure.Pressurise, procedure.Lock:
		return m.wrongPressure()
	case procedure.VentFeed:
		return m.wrongFeed()
	}
	return nil
}

// remedy says what to do about it.
func (m *Machine) remedy() string {
	switch m.phase() {
	case procedure.Pressurise:
		return "pump further or let off"
	case procedure.Lock:
		return "see to the pressure and lock again"
	}
	return "vent the feed side"
}

// wrongPressure names the tested circuits whose pressure is outside the start
// window. A circuit without a transducer cannot be checked here.
func (m *Machine) wrongPressure() []string {
	var out []string
	for i, c := range m.roles.Circuits {
		if !c.Tested || !c.Trapped.Exists() {
			continue
		}
		p := m.value(i, Trapped)
		if outside := p < m.p.StartLow || p > m.p.StartHigh; outside || math.IsNaN(p) {
			out = append(out, fmt.Sprintf("trapped pressure %s %s, %s wanted", c.Name, m.roles.pressure(p), m.startWindow()))
		}
	}
	return out
}

// wrongFeed names the tested circuits whose feed side is not shown vented.
func (m *Machine) wrongFeed() []string {
	var out []string
	for i, c := range m.roles.Circuits {
		if !c.Tested || !c.Feed.Exists() || math.IsNaN(m.p.FeedBelow) {
			continue
		}
		if p := m.value(i, Feed); !(p < m.p.FeedBelow) {
			out = append(out, fmt.Sprintf("feed pressure %s %s, below %s wanted", c.Name, m.roles.pressure(p), m.roles.pressure(m.p.FeedBelow)))
		}
	}
	return out
}

// warnAtStart records what does not fit when the hold begins; the hold goes
// on, its validity is for the judgement.
func (m *Machine) warnAtStart() {
	if wrong := append(m.wrongPressure(), m.wrongFeed()...); len(wrong) > 0 {
		text := strings.Join(wrong, "; ")
		m.record(daq.Note, "", "start of hold", text)
		m.do(Say{"The hold begins with " + text + "."})
	}
}

// watchReadings tells the operator when a tested circuit's readings stay away,
// and when they come back. The test goes on, and whether enough was read is for
// the judgement, unless the procedure wants it aborted.
func (m *Machine) watchReadings() {
	for i, c := range m.roles.Circuits {
		for _, part := range parts {
			n := &m.newest[i][part]
			if !c.Tested || !n.role.Exists() {
				continue
			}
			last := m.begun
			if n.hasGood {
				last = n.goodAt
			}
			age := m.now - last
			if lost := age > freshFor(n.role.Interval); lost != m.lost[i][part] {
				m.lost[i][part] = lost
				m.tellReadings(c.Name, n.what(part, c.Name), lost, age)
			}
			if limit := m.p.LostAfter; limit > 0 && age > max(limit, freshFor(n.role.Interval)) && m.testing() {
				m.trip(c.Name, "readings lost", fmt.Sprintf("no valid reading of %s for %.0f s", n.what(part, c.Name), age.Seconds()))
			}
		}
	}
}

// what names the channel by its part in a circuit.
func (n *newest) what(part Part, circuit string) string {
	return fmt.Sprintf("%s %s (channel %s)", part, circuit, n.role.Name)
}

// tellReadings records and says that readings stay away or are back.
func (m *Machine) tellReadings(circuit, what string, lost bool, age time.Duration) {
	if !lost {
		m.record(daq.Note, circuit, "readings back", what)
		m.do(Say{"Valid readings of " + what + " are back."})
		return
	}
	then := "The test goes on."
	if m.p.LostAfter > 0 && m.testing() {
		then = fmt.Sprintf("After %.0f s without one the test is aborted.", m.p.LostAfter.Seconds())
	}
	text := fmt.Sprintf("No valid reading of %s for %.0f s: look at instrument and cable. %s", what, age.Seconds(), then)
	m.record(daq.Asked, circuit, "readings lost", text)
	m.do(Show{Prompt{At: m.now, Phase: m.phase(), Kind: ReadingsLost, Text: text}})
}

// overRange follows how long a channel has been over its range.
type overRange struct {
	is   bool
	from time.Duration
	last time.Duration
}

// take reads one reading.
func (o *overRange) take(at time.Duration, r Reading) {
	o.is, o.from = since(o.is, o.from, r.Health == daq.OverRange, at)
	o.last = at
}

// overRangeFor is how long a pressure channel may be over its range before it
// counts as above the maximum pressure: nobody knows how far above.
const overRangeFor = time.Second

// interlock aborts the test when a pressure is above the maximum, or when the
// recording cannot be written.
func (m *Machine) interlock(in Input) {
	if in.RecordingFault != "" {
		m.trip("", "recording", in.RecordingFault)
	}
	for _, r := range in.Readings {
		if r.Part == Temperature || !m.testing() {
			continue
		}
		name := m.roles.Circuits[r.Circuit].Name
		over := m.over[r.Circuit][r.Part]
		switch {
		case r.healthy() && r.Value > m.p.MaxPressure:
			m.trip(name, "maximum pressure", fmt.Sprintf("%s %s %s, above %s", r.Part, name,
				m.roles.pressure(r.Value), m.roles.pressure(m.p.MaxPressure)))
		case over.is && over.last-over.from >= overRangeFor:
			m.trip(name, "maximum pressure", fmt.Sprintf("%s %s over the range of its transducer", r.Part, name))
		}
	}
}

// trip records an interlock and aborts.
func (m *Machine) trip(circuit, which, text string) {
	m.record(daq.Interlock, circuit, which, text)
	if m.testing() {
		m.abort(which, text)
	}
}
