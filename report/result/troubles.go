package result

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// mostTroubles of them are listed by name; the others are counted.
const mostTroubles = 40

// trouble is how often and how long one thing was wrong with a channel, or an
// instrument gave nothing; why is for a gap what is known of it.
type trouble struct {
	subject, what, why string
	times              int
	first, whole       time.Duration
}

// troubles adds up the faults and gaps that have a part between from and to, in
// the order in which they came first. end is that of the recording, where what
// is still open ends. causes says of a gap's text what is to be told of it.
func troubles(causes func(text string) string, events []daq.Event, from, to, end time.Duration) (all []trouble) {
	for _, e := range events {
		if e.Kind != daq.Fault && e.Kind != daq.Gap {
			continue
		}
		until := e.Until
		if until == daq.Open {
			until = max(end, e.At)
		}
		until = max(until, e.At) // a fault of an instant
		if until < from || e.At > to {
			continue
		}
		what, why := e.Text, ""
		if e.Kind == daq.Gap {
			what, why = "no reading", causes(e.Text)
		}
		i := slices.IndexFunc(all, func(t trouble) bool { return t.subject == e.Subject && t.what == what && t.why == why })
		if i < 0 {
			i = len(all)
			all = append(all, trouble{subject: e.Subject, what: what, why: why, first: e.At})
		}
		all[i].times++
		all[i].whole += until - e.At
	}
	return all
}

// String says it in words: "trapped_a: broken wire for 12 s at 103 s", "module:
// no reading for 3 s at 5 s: no answer".
func (t trouble) String() string {
	why := ""
	if t.why != "" {
		why = ": " + t.why
	}
	switch {
	case t.times > 1:
		return fmt.Sprintf("%s: %s, %d times, %s in all, first at %s%s", t.subject, t.what, t.times, inSeconds(t.whole), inSeconds(t.first), why)
	case t.whole > 0:
		return fmt.Sprintf("%s: %s for %s at %s%s", t.subject, t.what, inSeconds(t.whole), inSeconds(t.first), why)
	}
	return fmt.Sprintf("%s: %s at %s%s", t.subject, t.what, inSeconds(t.first), why)
}

// plainCauses are what an operator is told of a gap, by what its text in the
// recording holds: the first that fits. The rest of the text, with addresses and
// port names, is for who mends it.
var plainCauses = []struct{ holds, plain string }{
	{"the port is gone", "the port was gone"},
	{"another instrument", "another instrument answered"},
	{"from another address", "another instrument answered"},
	{"bytes came", "what came could not be read"},
	{"check sum", "what came could not be read"},
	{"no answer", "no answer"},
	{"nothing came", "nothing came"},
	{"not a single byte", "nothing came"},
	{"exception", "the instrument refused to answer"},
}

// plainCause is the cause of a gap in plain words; empty where only its details
// are known.
func plainCause(text string) string {
	for _, c := range plainCauses {
		if strings.Contains(text, c.holds) {
			return c.plain
		}
	}
	return ""
}

// inFull is the cause of a gap as the recording has it.
func inFull(text string) string { return text }

// inSeconds writes a time in seconds, to a tenth below a minute.
func inSeconds(d time.Duration) string {
	if d < time.Minute {
		return strings.TrimSuffix(fmt.Sprintf("%.1f", d.Seconds()), ".0") + " s"
	}
	return fmt.Sprintf("%.0f s", d.Seconds())
}

// troubleTexts are what was wrong in the whole recording.
func troubleTexts(run *Run) (texts []string) {
	end := instant(run.Recording.End())
	all := troubles(inFull, run.Recording.Events, 0, end, end)
	for _, t := range all[:min(len(all), mostTroubles)] {
		if _, _, ok := run.Bench.Channel(t.subject); ok {
			t.subject = "channel " + t.subject
		}
		texts = append(texts, t.String())
	}
	if more := len(all) - mostTroubles; more > 0 {
		texts = append(texts, fmt.Sprintf("and %d more, in events.csv", more))
	}
	return texts
}

// holdTroubles are what was wrong with a circuit's own channels, or with what
// reads them or what they need, in its hold; in plain words.
func holdTroubles(run *Run) (texts []string) {
	end := instant(run.Recording.End())
	for _, c := range run.Position.Circuits {
		w, ok := run.Windows[c.Name]
		if !ok || !slices.Contains(run.Procedure.Circuits, c.Name) || !(w.HoldStart >= 0) {
			continue
		}
		to := end
		if w.HoldEnd > w.HoldStart {
			to = instant(w.HoldEnd)
		}
		concerned := concernedBy(run.Bench, c)
		for _, t := range troubles(plainCause, run.Recording.Events, instant(w.HoldStart), to, end) {
			if concerned[t.subject] {
				texts = append(texts, "in the hold of circuit "+c.Name+": "+t.String())
			}
		}
	}
	return texts
}

// concernedBy names the channels of a circuit, what they need and the
// instruments that read them.
func concernedBy(b *bench.Bench, c bench.Circuit) map[string]bool {
	names := append([]string{c.Trapped, c.Feed, c.Temperature}, c.MoreTemperatures...)
	concerned := map[string]bool{}
	for len(names) > 0 {
		ch, _, ok := b.Channel(names[0])
		names = names[1:]
		if !ok || ch.Name == "" || concerned[ch.Name] {
			continue
		}
		concerned[ch.Name], concerned[ch.Instrument] = true, true
		names = append(names, ch.ColdJunction.Channel, ch.Excitation.Channel)
	}
	return concerned
}

// instant is a time in s since the recording's start; NaN is its start.
func instant(s float64) time.Duration {
	if !(s > 0) {
		return 0
	}
	return time.Duration(s * float64(time.Second))
}
