package comparison

import (
	"fmt"
	"math"
	"strings"
	"time"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/daq"
)

// Config says how a comparison is led.
type Config struct {
	// Channel is the name of what is compared, Typed that the reference is read
	// by a person; otherwise its own readings come as Input.Reference.
	Channel string
	Typed   bool
	// ReferenceU is the reference's standard uncertainty, SI.
	ReferenceU float64
	Stops      []Stop
	// Settle is how long a reading must have been steady, Average over how long
	// it is then averaged.
	Settle, Average time.Duration
	// Unit and Change are those of prompts.
	Unit, Change si.Unit
	Quantity     si.Quantity
}

// Input is what happened: a reading, an answer, or nothing but time.
type Input struct {
	At time.Duration
	// Channel and Reference are new healthy readings, SI; NaN where none came.
	Channel, Reference float64
	// Answer is a line that the operator typed; nil for none.
	Answer *string
}

// Tick is an input of nothing but time.
func Tick(at time.Duration) Input {
	return Input{At: at, Channel: math.NaN(), Reference: math.NaN()}
}

// Output is what is to be done after a step, in order: events to be written,
// then lines to be shown.
type Output struct {
	Events []daq.Event
	Lines  []string
	// Done is true once the last stop was taken, or the comparison was given up:
	// then Aborted says why.
	Done    bool
	Aborted string
}

// Spoken lists what an operator can type.
const Spoken = `Enter              take the point (a reference read by eye: at its nominal value)
100.02 bar         take it, the reference showing this (a reference read by eye only)
again              average the point once more
take               average now, steady or not
abort <reason>     give up; what was recorded stays
note <text>        write a note into the recording`

// What keeps an operator from nonsense.
const (
	// near is how far from a point the channel may read, as a share of the span
	// from the first to the last point; a transducer that is further off is
	// broken, not to be calibrated.
	near = 0.1
	// steadyShare is by how much a steady reading may move while it settles, as
	// a share of the span.
	steadyShare = 2e-4
	// fewest readings tell whether it is steady.
	fewest = 5
	// remind is how often the operator is told what is waited for.
	remind = 30 * time.Second
)

// stage is where a stop stands.
type stage uint8

const (
	approaching stage = iota
	averaging
	asking
)

// Machine leads through a comparison: one step at a time, without a goroutine,
// without reading a clock.
type Machine struct {
	c     Config
	span  float64
	at    int // of Stops
	stage stage
	now   time.Duration
	begun bool
	told  time.Duration
	from  time.Duration // of the average
	// channel and reference are the newest readings, as far back as needed.
	channel, reference trail
	forced             bool
	// mean and shown are what channel and reference read over the average.
	mean, shown float64
	out         Output
}

// trail is a channel's newest readings.
type trail struct{ time, value []float64 }

func (t *trail) take(at time.Duration, x float64) {
	if !math.IsNaN(x) {
		t.time, t.value = append(t.time, at.Seconds()), append(t.value, x)
	}
}

// since is what came after a time.
func (t *trail) since(from float64) trail {
	i := len(t.time)
	for i > 0 && t.time[i-1] > from {
		i--
	}
	return trail{t.time[i:], t.value[i:]}
}

// forget drops what came before a time.
func (t *trail) forget(before float64) { *t = t.since(before) }

func (t trail) mean() (mean, sd float64) {
	n := float64(len(t.value))
	for _, v := range t.value {
		mean += v / n
	}
	for _, v := range t.value {
		sd += (v - mean) * (v - mean)
	}
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	return mean, math.Sqrt(sd / (n - 1))
}

// NewMachine returns a machine that is ready for its first step. Stops must
// not be empty.
func NewMachine(c Config) *Machine {
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range c.Stops {
		low, high = min(low, s.Nominal), max(high, s.Nominal)
	}
	return &Machine{c: c, span: high - low}
}

// Step takes one input.
func (m *Machine) Step(in Input) Output {
	m.out = Output{}
	if m.at >= len(m.c.Stops) {
		return Output{Done: true}
	}
	m.now = max(m.now, in.At)
	if !m.begun {
		m.begun = true
		m.approach()
	}
	m.channel.take(in.At, in.Channel)
	m.reference.take(in.At, in.Reference)
	if in.Answer != nil {
		m.answer(strings.TrimSpace(*in.Answer))
	}
	if !m.out.Done {
		m.passTime()
	}
	keep := m.now - max(m.c.Settle, m.c.Average) - time.Second
	m.channel.forget(keep.Seconds())
	m.reference.forget(keep.Seconds())
	return m.out
}

func (m *Machine) stop() Stop { return m.c.Stops[m.at] }

func (m *Machine) say(format string, args ...any) {
	m.out.Lines = append(m.out.Lines, fmt.Sprintf(format, args...))
}

// approach begins a stop.
func (m *Machine) approach() {
	m.stage, m.told, m.forced = approaching, m.now, false
	s := m.stop()
	if m.at == 0 {
		m.say("  Exercise the transducer first: to the highest point and back, three times.")
	}
	if m.at > 0 && m.c.Stops[m.at-1].Nominal == s.Nominal {
		m.say("> Point %d of %d, cycle %d %s: stay at %s.", m.at+1, len(m.c.Stops), s.Cycle, s.Direction(), m.text(s.Nominal))
		return
	}
	m.say("> Point %d of %d, cycle %d %s: go %s to %s and keep it there; do not overshoot.", m.at+1, len(m.c.Stops), s.Cycle, s.Direction(), s.Direction(), m.text(s.Nominal))
}

// passTime does what happens by itself.
func (m *Machine) passTime() {
	switch m.stage {
	case approaching:
		wrong := m.unsteady()
		switch {
		case wrong == "" || m.forced:
			m.stage, m.from = averaging, m.now
			m.say("  steady: averaging for %.3g s", m.c.Average.Seconds())
		case m.now-m.told >= remind:
			m.told = m.now
			m.say("  waiting: %s", wrong)
		}
	case averaging:
		if m.now-m.from >= m.c.Average {
			m.averaged()
		}
	}
}

// unsteady says why a stop cannot be averaged yet; empty when it can.
func (m *Machine) unsteady() string {
	nominal := m.stop().Nominal
	for _, t := range m.trails() {
		recent := t.trail.since((m.now - m.c.Settle).Seconds())
		mean, _ := recent.mean()
		n := len(recent.value)
		switch {
		case n < fewest || recent.time[n-1]-recent.time[0] < 0.7*m.c.Settle.Seconds():
			return m.tooFew(t.name, n)
		case math.Abs(mean-nominal) > near*m.span:
			return fmt.Sprintf("%s shows %s, %s wanted", t.name, m.text(mean), m.text(nominal))
		}
		line, err := fit.Line(recent.time, recent.value)
		if err != nil {
			return m.tooFew(t.name, n)
		}
		moved := math.Abs(line.Coefficients[1]) * m.c.Settle.Seconds()
		if moved > max(steadyShare*m.span, 3*line.StdUncertainty(1)*m.c.Settle.Seconds()) {
			return fmt.Sprintf("%s still moves, by %s in %.3g s", t.name, m.change(moved), m.c.Settle.Seconds())
		}
	}
	return ""
}

// tooFew says that a channel is not heard often enough to be seen steady.
func (m *Machine) tooFew(name string, n int) string {
	return fmt.Sprintf("too few valid readings of %s: %d in the last %.3g s, at least %d wanted over most of that time (a longer --settle has more)", name, n, m.c.Settle.Seconds(), fewest)
}

// named is a trail with the name of what it is of.
type named struct {
	trail
	name string
}

func (m *Machine) trails() []named {
	all := []named{{m.channel, m.c.Channel}}
	if !m.c.Typed {
		all = append(all, named{m.reference, "the reference"})
	}
	return all
}

// averaged ends the average: what moved meanwhile is averaged again.
func (m *Machine) averaged() {
	if !m.forced {
		settle := m.c.Settle
		m.c.Settle = max(settle, m.c.Average)
		wrong := m.unsteady()
		m.c.Settle = settle
		if wrong != "" {
			m.stage, m.told = approaching, m.now
			m.say("  not taken: %s", wrong)
			return
		}
	}
	mean, sd := m.over(m.channel)
	m.mean = mean
	n := len(m.channel.since(m.from.Seconds()).value)
	m.stage = asking
	text := fmt.Sprintf("  %s %s, noise %s (1 SD, %d readings)", m.c.Channel, m.text(mean), m.change(sd), n)
	if m.c.Typed {
		m.say("%s\n> What does the reference show? Enter: %s; or its value with unit; or again", text, m.text(m.stop().Nominal))
		return
	}
	reference, rsd := m.over(m.reference)
	m.shown = reference
	m.say("%s; reference %s, noise %s; deviation %s\n> Enter takes the point; or again", text, m.text(reference), m.change(rsd), m.change(mean-reference))
}

func (m *Machine) over(t trail) (mean, sd float64) {
	return t.since(m.from.Seconds()).mean()
}

// answer takes a typed line.
func (m *Machine) answer(text string) {
	word, rest, _ := strings.Cut(text, " ")
	rest = strings.TrimSpace(rest)
	switch strings.ToLower(word) {
	case "abort":
		if rest == "" {
			m.say("  abort: found nothing after it, want a reason")
			return
		}
		m.event(daq.Abort, "operator", rest)
		m.out.Done, m.out.Aborted, m.at = true, rest, len(m.c.Stops)
	case "note":
		m.event(daq.Note, "operator", rest)
		m.say("  noted")
	case "?", "help":
		m.say("%s", Spoken)
	case "again":
		m.approach()
	case "take":
		if m.stage == approaching {
			m.forced = true
			m.event(daq.Note, "operator", "averaged although not steady: "+m.unsteady())
		}
	default:
		m.point(text)
	}
}

// point takes a stop with the reference's value.
func (m *Machine) point(text string) {
	if m.stage != asking {
		if m.stage == averaging {
			m.say("  averaging; wait for the question")
			return
		}
		wrong := m.unsteady()
		if wrong == "" {
			wrong = "the average begins now"
		}
		m.say("  not yet: %s (take averages all the same)", wrong)
		return
	}
	mean := m.mean
	if math.IsNaN(mean) {
		m.say("  no valid reading of %s came: again", m.c.Channel)
		return
	}
	reference := m.stop().Nominal
	switch {
	case !m.c.Typed && text != "":
		m.say("  found %q, want Enter, or again; the reference is a channel of the bench", text)
		return
	case !m.c.Typed:
		reference = m.shown
	case text != "":
		x, err := si.Parse(text, m.c.Quantity)
		if err != nil {
			m.say("  %v", err)
			return
		}
		reference = x
	}
	if !(math.Abs(mean-reference) <= near*m.span) {
		m.say("  found %s while %s shows %s: too far apart to be the same, not taken", m.text(reference), m.c.Channel, m.text(mean))
		return
	}
	m.out.Events = append(m.out.Events, daq.Event{At: m.from, Until: m.from + m.c.Average, Kind: daq.Compared, Subject: m.c.Channel,
		Text: Words(m.stop(), reference, m.c.ReferenceU)})
	m.at++
	if m.at == len(m.c.Stops) {
		m.out.Done = true
		return
	}
	m.approach()
}

func (m *Machine) event(kind daq.EventKind, subject, text string) {
	m.out.Events = append(m.out.Events, daq.Event{At: m.now, Until: m.now, Kind: kind, Subject: subject, Text: text})
}

// text writes a value to a hundred-thousandth of the span.
func (m *Machine) text(x float64) string {
	return si.Format(m.c.Unit.FromSI(x), si.Decimals(m.span*1e-4/m.c.Unit.Factor)) + " " + m.c.Unit.Symbol
}

func (m *Machine) change(x float64) string {
	return si.Format(x/m.c.Change.Factor, si.Decimals(m.span*1e-4/m.c.Change.Factor)) + " " + m.c.Change.Symbol
}
