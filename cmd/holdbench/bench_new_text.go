package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/discovery"
	"holdbench/daq/textline"
)

// text deals with an instrument that sends lines; false when a person says
// that the proposal is wrong.
func (b *newBench) text(p onePort, heard discovery.Lines) (bool, error) {
	b.say("lines of text come%s, every %s s:\n", at(p, heard.Framing), shortNumber(rounded(heard.Every).Seconds()))
	for _, line := range heard.Texts[max(0, len(heard.Texts)-3):] {
		b.say("  %s", textline.Printable(line))
	}
	proposal, ok := textline.Propose(heard.Texts)
	if !ok {
		b.say("\nbut they make no columns of numbers; write the [[instrument]] by hand (holdbench listen shows more of them)")
		return false, nil
	}
	every := rounded(heard.Every)
	if every <= 0 {
		every = time.Second
	}
	in := bench.DraftInstrument{Name: b.freeInstrument("text"), Kind: bench.TextStream, Link: p.link, Address: -1,
		Keys: bench.FormatKeys(proposal.Format, ""), Note: fmt.Sprintf("Sends lines like %q.", textline.Printable(heard.Texts[len(heard.Texts)-1]))}
	return true, b.textInstrument(p, heard.Framing, in, proposal, every)
}

// textInstrument takes the columns of an instrument's lines as channels.
func (b *newBench) textInstrument(p onePort, f discovery.Framing, in bench.DraftInstrument, proposal textline.Proposal, every time.Duration) error {
	printColumns(b, proposal)
	var err error
	if in.Interval, err = b.interval(shortNumber(every.Seconds()) + " s"); err != nil {
		return err
	}
	before := len(b.draft.Channels)
	for i, column := range proposal.Columns {
		if column.Number {
			if err := b.textChannel(in, i+1, column); err != nil {
				return err
			}
		}
	}
	if len(b.draft.Channels) == before {
		b.say("no column was taken")
		return nil
	}
	l := b.draftLink(p, f)
	l.Timeout = time.Second
	if in.Kind == bench.TextStream {
		l.Timeout = max(time.Second, 3*in.Interval)
	}
	b.draft.Links = append(b.draft.Links, l)
	b.draft.Instruments = append(b.draft.Instruments, in)
	return nil
}

func at(p onePort, f discovery.Framing) string {
	if p.tcp {
		return ""
	}
	return " at " + f.String()
}

// rounded is a time between lines as somebody would have set it.
func rounded(d time.Duration) time.Duration {
	for _, step := range []time.Duration{time.Second, 100 * time.Millisecond, 10 * time.Millisecond, time.Millisecond} {
		if r := d.Round(step); r > 0 && (r-d).Abs() < d/20 {
			return r
		}
	}
	return d.Round(time.Millisecond)
}

// printColumns shows how lines would be read.
func printColumns(b *newBench, p textline.Proposal) {
	b.say("\nThey can be read so (%d of %d lines):", p.Read, p.Read+p.Garbled)
	w := tabwriter.NewWriter(b.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  COLUMN\tCALLED\tEXAMPLE\tFROM\tTO\tUNIT")
	for i, c := range p.Columns {
		if !c.Number {
			fmt.Fprintf(w, "  %d\t%s\t%s\t\t\t\n", i+1, c.Header, strings.Join(c.Words, ", "))
			continue
		}
		fmt.Fprintf(w, "  %d\t%s\t%s\t%s\t%s\t%s\n", i+1, c.Header, c.Example, shortNumber(c.Least), shortNumber(c.Most), c.Unit)
	}
	_ = w.Flush() // a terminal that is gone has nobody to tell
}

// textChannel takes a column as a channel, or leaves it out.
func (b *newBench) textChannel(in bench.DraftInstrument, number int, column textline.Column) error {
	place := "column " + strconv.Itoa(number)
	given, scripted := b.take(in, func(a answers) bool { return a.by["place"] == place })
	if !scripted && len(b.flags.channels) > 0 {
		return nil
	}
	if !scripted {
		ok, err := b.agree("--channel", fmt.Sprintf("\nTake column %d (%s %s) as a channel?", number, column.Example, column.Unit), true)
		if err != nil || !ok {
			return err
		}
	}
	c := bench.DraftChannel{Instrument: in.Name, Place: bench.FieldKeys(column.Field), RawUnit: column.Unit}
	if column.Header != "" {
		c.Note = fmt.Sprintf("The instrument calls it %q.", column.Header)
	}
	if c.RawUnit == "" {
		// Nothing says what it is; of numbers that people stream most are temperatures.
		c.RawUnit = guessOfStream(column)
	}
	return b.channel(&c, given, column.Most, true)
}

// guessOfStream offers °C for what could be a temperature of a room or a bench.
func guessOfStream(c textline.Column) string {
	if c.Least > 5 && c.Most < 80 {
		return "°C"
	}
	return ""
}

// positions asks which channels watch the unit.
func (b *newBench) positions() error {
	pressures, temperatures := b.named(si.Pressure), b.named(si.Temperature)
	if len(b.flags.circuits) == 0 && len(pressures) > 0 {
		return b.askPositions(pressures, temperatures)
	}
	for _, a := range b.circuits {
		c := bench.Circuit{Name: a.by["name"], Trapped: a.by["trapped"], Feed: a.by["feed"], Temperature: a.by["temperature"]}
		if c.Name == "" {
			c.Name = "a"
		}
		if c.Feed == "" || c.Feed == unmeasured {
			c.Feed, c.FeedUnmeasured = "", true
		}
		b.draft.Circuits = append(b.draft.Circuits, c)
	}
	return nil
}

const (
	unmeasured = "unmeasured"
	none       = "none"
)

// askPositions asks a person for circuit a, and for b where a pressure is left.
func (b *newBench) askPositions(pressures, temperatures []string) error {
	b.say("\nWhich channels watch the unit? Circuit a is its only one, or its first.")
	left := slices.Clone(pressures)
	for _, name := range []string{"a", "b"} {
		offered := prefer(left, "trapped_"+name, "trapped")
		if offered == "" || name == "b" && !strings.HasPrefix(offered, "trapped") {
			return nil
		}
		c := bench.Circuit{Name: name}
		var err error
		if c.Trapped, err = b.ask(question{flag: "--circuit", key: "trapped", text: "  Circuit " + name + ": pressure of the trapped side", offered: offered, check: oneOf(pressures...)}); err != nil {
			return err
		}
		left = slices.DeleteFunc(left, func(s string) bool { return s == c.Trapped })
		feeds := append([]string{unmeasured}, pressures...)
		offered = unmeasured
		if f := prefer(left, "feed_"+name, "feed"); strings.HasPrefix(f, "feed") {
			offered = f
		}
		if c.Feed, err = b.ask(question{flag: "--circuit", key: "feed", text: "  Circuit " + name + ": pressure of the feed side", offered: offered, check: oneOf(feeds...)}); err != nil {
			return err
		}
		if c.Feed == unmeasured {
			c.Feed, c.FeedUnmeasured = "", true
		} else {
			left = slices.DeleteFunc(left, func(s string) bool { return s == c.Feed && !strings.HasPrefix(s, "feed") })
		}
		offered = none
		if len(temperatures) > 0 {
			offered = prefer(temperatures, "body")
		}
		if c.Temperature, err = b.ask(question{flag: "--circuit", key: "temperature", text: "  Circuit " + name + ": temperature of the trapped liquid", offered: offered, check: oneOf(append([]string{none}, temperatures...)...)}); err != nil {
			return err
		}
		if c.Temperature == none {
			c.Temperature = ""
		}
		b.draft.Circuits = append(b.draft.Circuits, c)
	}
	return nil
}

// named are the channels of a quantity.
func (b *newBench) named(q si.Quantity) []string {
	var out []string
	for _, c := range b.draft.Channels {
		if c.Quantity == q {
			out = append(out, c.Name)
		}
	}
	return out
}

// prefer is the first of the names that begins with one of the words, in their
// order; else the first; empty for none.
func prefer(names []string, words ...string) string {
	for _, w := range words {
		for _, n := range names {
			if strings.HasPrefix(n, w) {
				return n
			}
		}
	}
	if len(names) == 0 {
		return ""
	}
	return names[0]
}
