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
	for i, c := range m.roles.Circuits {
		if c.Tested && c.Feed.Exists() && !m.feeds[i].proved {
			return "see at another gauge that the feed side is vented, and mend its transducer"
		}
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

// wrongFeed names the tested circuits whose feed side is not shown vented: below
// its threshold, by a transducer that followed the pressure in this very test.
func (m *Machine) wrongFeed() []string {
	var out []string
	for i, c := range m.roles.Circuits {
		if !c.Tested || !c.Feed.Exists() || math.IsNaN(m.p.FeedBelow) {
			continue
		}
		switch p, f := m.value(i, Feed), m.feeds[i]; {
		case !(p < m.p.FeedBelow):
			out = append(out, fmt.Sprintf("feed pressure %s %s, below %s wanted", c.Name, m.roles.pressure(p), m.roles.pressure(m.p.FeedBelow)))
		case !f.proved:
			out = append(out, m.feedUnproved(c, f))
		}
	}
	return out
}

// feedUnproved says why a feed side's low reading does not show it vented.
func (m *Machine) feedUnproved(c Circuit, f follower) string {
	why := fmt.Sprintf("it never showed %s or more in this test", m.roles.pressure(f.level))
	if f.doubt != "" {
		why = f.doubt
	}
	return fmt.Sprintf("the feed transducer %s (channel %s) did not follow the pressure: %s, so its low reading does not show the feed side vented",
		c.Name, c.Feed.Name, why)
}

// feedFollowers watch whether the feed sides' transducers followed the pressure
// up: one that is dead shows a feed side vented that is not. How fast it comes
// down tells nothing, as it is vented at once.
func feedFollowers(roles Roles, p *procedure.Procedure) (out []follower) {
	for _, c := range roles.Circuits {
		out = append(out, follower{level: proofLevel(p), safe: p.FeedBelow, fresh: freshFor(c.Feed.Interval)})
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
			if lost := age > m.lostAfter(n, part, m.lost[i][part]); lost != m.lost[i][part] {
				m.lost[i][part] = lost
				m.tellReadings(c.Name, part, n, lost, age)
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

// blindFor is how long a pressure may stay unseen while somebody pumps.
const blindFor = time.Second

// lostAfter is the age at which a channel's last valid reading is told to stay
// away: sooner where somebody may be pumping and cannot see how far. One that
// was told to be lost is back only with a new reading.
func (m *Machine) lostAfter(n *newest, part Part, lost bool) time.Duration {
	if lost || n.hasGood && part == Trapped && m.pumping() {
		return max(3*n.role.Interval, blindFor)
	}
	return freshFor(n.role.Interval)
}

// forgetLost has a trapped pressure that is not seen told again where pumping
// begins.
func (m *Machine) forgetLost() {
	for i := range m.lost {
		m.lost[i][Trapped] = m.lost[i][Trapped] && !m.pumping()
	}
}

// pumping says whether in this phase a person may pump.
func (m *Machine) pumping() bool {
	return m.phase() == procedure.Fill || m.phase() == procedure.Pressurise
}

// tellReadings records and says that readings stay away or are back. To who is
// pumping a trapped pressure that is not seen means to stop.
func (m *Machine) tellReadings(circuit string, part Part, n *newest, lost bool, age time.Duration) {
	what := n.what(part, circuit)
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
	if part == Trapped && m.pumping() {
		why := ""
		if n.asked && n.health != daq.Healthy {
			why = " (" + n.health.String() + ")"
		}
		text = fmt.Sprintf("Stop pumping: %s is not seen%s, and nothing watches the maximum pressure. %s", what, why, text)
	}
	m.record(daq.Asked, circuit, "readings lost", text)
	m.do(Show{Prompt{At: m.now, Phase: m.phase(), Kind: ReadingsLost, Text: text}})
}
