package sequence

import (
	"fmt"
	"math"
	"strings"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/procedure"
)

// zeroing is a zero check under way: the transducers of the tested circuits
// are read while vented, for as long as the procedure says.
type zeroing struct {
	on   bool
	from time.Duration
	// after is true once the unit was tested: the check then ends the run, and
	// remark is what the operator said when confirming vented.
	after  bool
	remark string
	sums   [][2]zeroSum // by circuit; trapped and feed
}

// zeroSum is what came of one channel.
type zeroSum struct {
	n        int
	mean, m2 float64 // Welford's sums
}

func (s *zeroSum) take(x float64) {
	s.n++
	d := x - s.mean
	s.mean += d / float64(s.n)
	s.m2 += d * (x - s.mean)
}

func (s zeroSum) sd() float64 { return math.Sqrt(s.m2 / float64(s.n-1)) }

// fewestZeros is how many readings a zero needs.
const fewestZeros = 3

// beginZero begins to read the zeros.
func (m *Machine) beginZero(after bool, remark string) {
	m.zero = zeroing{on: true, from: m.now, after: after, remark: remark, sums: make([][2]zeroSum, len(m.roles.Circuits))}
	if !after {
		m.do(Say{fmt.Sprintf("Reading the zeros for %.0f s: leave everything vented.", m.p.Zero.Duration.Seconds())})
		return
	}
	m.do(Say{fmt.Sprintf("Leave it open: the zeros are read again, for %.0f s.", m.p.Zero.Duration.Seconds())})
}

// takeZero takes a reading into the check, if one is under way.
func (m *Machine) takeZero(at time.Duration, r Reading) {
	if m.zero.on && at > m.zero.from && r.Part != Temperature && r.healthy() {
		m.zero.sums[r.Circuit][r.Part].take(r.Value)
	}
}

// watchZero ends a check whose time is over.
func (m *Machine) watchZero() {
	if !m.zero.on || m.now-m.zero.from < m.p.Zero.Duration {
		return
	}
	m.zero.on = false
	read, wrong := m.recordZeros()
	if len(wrong) == 0 {
		m.do(Say{fmt.Sprintf("Zeros within ± %s: %s.", m.zeroTolerance(), strings.Join(read, ", "))})
	}
	switch {
	case m.zero.after:
		m.afterZero(wrong)
	case len(wrong) > 0:
		m.show(AskedAgain, GoOn, strings.Join(wrong, "; ")+". The test stops here, nothing is pressurised. "+
			"Vent it and press Enter to check again; where that does not help, abort <reason>, and mend or recalibrate the transducer.")
	default:
		m.next()
	}
}

// afterZero ends the run when the unit is still vented; otherwise it has to be
// confirmed again.
func (m *Machine) afterZero(wrong []string) {
	if len(wrong) > 0 {
		m.do(Say{strings.Join(wrong, "; ") + ". Mend or recalibrate the transducer before the next test."})
	}
	if missing := m.vent.missing(m.now); len(missing) > 0 {
		m.zero, m.shown = zeroing{}, false
		m.show(VentNotShown, ConfirmVented, "No longer measured as vented. "+m.ventText())
		return
	}
	m.confirmed(m.zero.remark)
}

// recordZeros writes an event for each channel that was read, and says what each
// read, and what is outside the tolerance. A feed side that stands for two
// circuits is one channel.
func (m *Machine) recordZeros() (read, wrong []string) {
	seen := map[string]bool{}
	for i, c := range m.roles.Circuits {
		for _, part := range []Part{Trapped, Feed} {
			role := c.role(part)
			if !c.Tested || !role.Exists() || seen[role.Name] {
				continue
			}
			seen[role.Name] = true
			s := m.zero.sums[i][part]
			text, fits := m.zeroText(s)
			m.do(Record{daq.Event{At: m.zero.from, Until: m.now, Kind: daq.ZeroRead, Circuit: c.Name, Subject: role.Name, Text: text}})
			if fits {
				read = append(read, role.Name+" "+m.zeroRead(s))
				continue
			}
			what := fmt.Sprintf("gave %d valid readings, at least %d wanted", s.n, fewestZeros)
			if s.n >= fewestZeros {
				what = fmt.Sprintf("reads %s where 0 ± %s is wanted", m.zeroRead(s), m.zeroTolerance())
			}
			wrong = append(wrong, fmt.Sprintf("Zero check: %s %s (channel %s) %s", part, c.Name, role.Name, what))
		}
	}
	return read, wrong
}

// zeroRead is what a channel read, for the screen.
func (m *Machine) zeroRead(s zeroSum) string {
	unit := m.roles.Display.Unit(si.PressureChange)
	return si.Format(s.mean/unit.Factor, si.Decimals(m.p.Zero.Tolerance/10/unit.Factor)) + " " + unit.Symbol
}

// zeroTolerance is the tolerance, for the screen.
func (m *Machine) zeroTolerance() string {
	unit := m.roles.Display.Unit(si.PressureChange)
	return fmt.Sprintf("%.3g %s", m.p.Zero.Tolerance/unit.Factor, unit.Symbol)
}

// zeroText says what a vented channel read, and whether that is a zero.
func (m *Machine) zeroText(s zeroSum) (text string, fits bool) {
	unit := m.roles.Display.Unit(si.PressureChange)
	figure := func(pa, to float64) string { return si.Format(pa/unit.Factor, si.Decimals(to/unit.Factor)) }
	tolerance := m.p.Zero.Tolerance
	if s.n < fewestZeros {
		return fmt.Sprintf("%d valid readings, at least %d wanted", s.n, fewestZeros), false
	}
	fine := tolerance / 100
	within := "within"
	if fits = math.Abs(s.mean) <= tolerance; !fits {
		within = "outside"
	}
	return fmt.Sprintf("%s %s, standard deviation %s %s, %d readings: %s ±%s %s", figure(s.mean, fine), unit.Symbol,
		figure(s.sd(), fine), unit.Symbol, s.n, within, figure(tolerance, tolerance), unit.Symbol), fits
}

// zeroStep is the phase in which the zeros are read first.
func zeroStep(z *procedure.ZeroRule) procedure.Step {
	return procedure.Step{Phase: procedure.ZeroCheck, ByOperator: true,
		Prompt: fmt.Sprintf("Zero check: open the unit and the feed side to the air; nothing may be pumped. Then press Enter: the transducers are read for %.0f s.", z.Duration.Seconds())}
}
