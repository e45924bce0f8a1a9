package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"holdbench/daq/bench"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// instruments deals with the Modbus instruments that were found on a port.
func (b *newBench) instruments(ctx context.Context, p onePort, found []discovery.Found) error {
	interval, err := b.interval("0.1 s")
	if err != nil {
		return err
	}
	l := b.draftLink(p, found[0].Framing)
	l.Timeout = 300 * time.Millisecond
	if p.tcp {
		l.Timeout = time.Second
	}
	line, closeLine, err := b.master(p, found[0].Framing)
	if err != nil {
		return mended(err)
	}
	channels := len(b.draft.Channels)
	for _, f := range found {
		in := bench.DraftInstrument{Name: b.freeInstrument("module"), Kind: p.kind, Link: p.link, Address: int(f.Address), Interval: interval}
		if p.kind == bench.ModbusTCP && f.Address == modbus.NoUnit {
			in.Address = -1
		}
		before := len(b.draft.Channels)
		if err := b.registersOf(ctx, line, f, in); err != nil {
			return errors.Join(err, closeLine())
		}
		if len(b.draft.Channels) > before {
			b.draft.Instruments = append(b.draft.Instruments, in)
		}
	}
	if len(b.draft.Channels) > channels {
		b.draft.Links = append(b.draft.Links, l)
	}
	return closeLine()
}

// draftLink is a port as the bench file names it.
func (b *newBench) draftLink(p onePort, f discovery.Framing) bench.DraftLink {
	l := bench.DraftLink{Name: p.link, Framing: f, TCP: p.tcp}
	ports, err := link.Ports()
	if err != nil {
		ports = nil // its name will do
	}
	swappable := false
	if l.Where, l.WhereNote, swappable = draftPort(p.name, ports, link.ByPath); swappable {
		b.say("\n%s\n  %s", l.Where, l.WhereNote)
	}
	return l
}

// interval asks how often the instruments on a port are read.
func (b *newBench) interval(offered string) (time.Duration, error) {
	var d time.Duration
	_, err := b.ask(question{flag: "--interval", text: "Time between two scans", offered: offered, given: b.flags.interval, wasGiven: b.flags.interval != "",
		check: func(s string) (err error) {
			d, err = parseInterval(s)
			return err
		}})
	if err == nil && d == 0 {
		d, err = parseInterval(offered) // taken without a question
	}
	return d, err
}

// parseInterval reads e.g. "0.1 s".
func parseInterval(text string) (time.Duration, error) {
	seconds, err := parseSeconds(text)
	if err != nil || !(seconds >= 0.001 && seconds <= 3600) {
		return 0, fmt.Errorf("found %q, want a time from 1 ms to 1 h, e.g. 0.1 s", text)
	}
	return time.Duration(math.Round(seconds*1e6)) * time.Microsecond, nil
}

// freeInstrument is a name that no instrument has yet.
func (b *newBench) freeInstrument(name string) string {
	for n := 1; ; n++ {
		free := fmt.Sprintf("%s_%d", name, n)
		if !slices.ContainsFunc(b.draft.Instruments, func(in bench.DraftInstrument) bool { return in.Name == free }) {
			return free
		}
	}
}

// restReadings are how many readings are taken before something is moved.
const restReadings = 8

// registersOf shows a slave's registers and takes its channels.
func (b *newBench) registersOf(ctx context.Context, line discovery.Asker, f discovery.Found, in bench.DraftInstrument) error {
	b.say("\nReading the registers %d–%d of %s (address %d), input and holding …", b.registers[0], b.registers[1], in.Name, f.Address)
	registers, err := discovery.Scan(ctx, line, f.Address, b.registers[0], b.registers[1], b.pace, b.tellBlock)
	switch {
	case errors.Is(err, link.ErrTimeout):
		b.say("it fell silent: %v", err)
	case err != nil:
		return mended(err)
	}
	if registers.Count() == 0 {
		b.say("it gives none of them; its manual says which it has (--registers)")
		return nil
	}
	if err := registers.Merge(ctx); err != nil {
		return mended(err)
	}
	var rest []discovery.Snapshot
	for range restReadings {
		s, err := registers.Snapshot(ctx)
		if err != nil {
			return mended(err)
		}
		rest = append(rest, s)
	}
	b.say("%d registers can be read. Each under every type; * moved between %d readings,\n° has the low word first:\n", registers.Count(), restReadings)
	printRegisters(b.out, rest, false)
	if worthSwapping(rest[0]) {
		b.say("\nThe same with the bytes of each register the other way round:\n")
		printRegisters(b.out, rest, true)
	}
	for {
		more, err := b.modbusChannel(ctx, registers, &rest, in)
		if err != nil || !more {
			return err
		}
	}
}

// functionWords are the words for the registers of a function.
var functionWords = map[byte]string{modbus.ReadHolding: "holding", modbus.ReadInput: "input"}

// tellBlock shows how far a scan of registers is.
func (b *newBench) tellBlock(function byte, first, count, given int) {
	b.say("  %s %d–%d: %s", functionWords[function], first, first+count-1, map[bool]string{true: "none", false: strconv.Itoa(given)}[given == 0])
}

// columnOfType is a type under which registers are shown.
type columnOfType struct {
	head   string
	format modbus.Format
}

// says whether a place holds a number other than 0 under the type.
func (c columnOfType) says(s discovery.Snapshot, p discovery.Place, swapped bool) bool {
	p.Format = c.format
	p.Format.LowByteFirst = swapped
	x := s.Value(p)
	return x != 0 && shownNumber(x, p.Format.Type.Float()) != "–"
}

// columnsOfTypes are the types shown side by side.
var columnsOfTypes = []columnOfType{
	{"INT16", modbus.Format{Type: modbus.Int16}},
	{"UINT16", modbus.Format{Type: modbus.Uint16}},
	{"INT32", modbus.Format{Type: modbus.Int32}},
	{"INT32°", modbus.Format{Type: modbus.Int32, LowWordFirst: true}},
	{"FLOAT32", modbus.Format{Type: modbus.Float32}},
	{"FLOAT32°", modbus.Format{Type: modbus.Float32, LowWordFirst: true}},
	{"FLOAT64", modbus.Format{Type: modbus.Float64}},
	{"FLOAT64°", modbus.Format{Type: modbus.Float64, LowWordFirst: true}},
}

// printRegisters writes a row for each register under all types that begin in
// it, unless it is 0 under each, and marks those that moved. Unsigned 32-bit
// numbers are left to INT32, whose bits they share.
func printRegisters(out io.Writer, seen []discovery.Snapshot, swapped bool) {
	last := seen[len(seen)-1]
	shown := typesThatSay(last, swapped)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(w, "REGISTER\tHEX\t")
	for _, c := range shown {
		fmt.Fprint(w, c.head+"\t")
	}
	fmt.Fprintln(w)
	zero := 0
	for _, function := range []byte{modbus.ReadInput, modbus.ReadHolding} {
		for _, r := range sortedRegisters(last[function]) {
			moved := slices.ContainsFunc(seen, func(s discovery.Snapshot) bool { return s[function][r] != last[function][r] })
			place := discovery.Place{Function: function, Register: r}
			if last[function][r] == 0 && !moved && !slices.ContainsFunc(shown, func(c columnOfType) bool { return c.says(last, place, swapped) }) {
				zero++
				continue
			}
			mark := ""
			if moved {
				mark = "*"
			}
			fmt.Fprintf(w, "%s%s %d\t%04x\t", mark, functionWords[function], r, last[function][r])
			for _, c := range shown {
				p := discovery.Place{Function: function, Register: r, Format: c.format}
				p.Format.LowByteFirst = swapped
				fmt.Fprint(w, shownNumber(last.Value(p), p.Format.Type.Float())+"\t")
			}
			fmt.Fprintln(w)
		}
	}
	_ = w.Flush() // a terminal that is gone has nobody to tell
	if zero > 0 {
		fmt.Fprintf(out, "(%d registers that hold 0 are not shown)\n", zero)
	}
}

// typesThatSay are the types under which at least one register shows a number:
// a column of dashes only makes the table too wide for its screen.
func typesThatSay(s discovery.Snapshot, swapped bool) []columnOfType {
	return slices.DeleteFunc(slices.Clone(columnsOfTypes), func(c columnOfType) bool {
		for function, registers := range s {
			for r := range registers {
				if c.says(s, discovery.Place{Function: function, Register: r}, swapped) {
					return false
				}
			}
		}
		return true
	})
}

func sortedRegisters(m map[uint16]uint16) []uint16 {
	var out []uint16
	for r := range m {
		out = append(out, r)
	}
	slices.Sort(out)
	return out
}

// shownNumber is a number, or a dash for one that nobody would use.
func shownNumber(x float64, float bool) string {
	size := math.Abs(x)
	switch {
	case math.IsNaN(x), float && size != 0 && (size < 1e-4 || size > 1e8):
		return "–"
	case float:
		return strconv.FormatFloat(x, 'g', 6, 64)
	}
	return strconv.FormatFloat(x, 'f', 0, 64)
}

// worthSwapping says whether some float makes sense with its bytes swapped
// that makes none otherwise.
func worthSwapping(s discovery.Snapshot) bool {
	for _, p := range s.Places() {
		if !p.Format.LowByteFirst || p.Format.Type != modbus.Float32 || s.Value(p) == 0 {
			continue
		}
		straight := p
		straight.Format.LowByteFirst = false
		if shownNumber(s.Value(p), true) != "–" && shownNumber(s.Value(straight), true) == "–" {
			return true
		}
	}
	return false
}

// modbusChannel takes one channel of a slave; false when there is none more.
func (b *newBench) modbusChannel(ctx context.Context, registers *discovery.Registers, rest *[]discovery.Snapshot, in bench.DraftInstrument) (bool, error) {
	given, scripted := b.take(in, func(a answers) bool { return !strings.HasPrefix(a.by["place"], "column") })
	if !scripted && (len(b.channels) > 0 || len(b.flags.channels) > 0) {
		return false, nil
	}
	place, note, err := b.place(ctx, registers, rest, given, scripted)
	if err != nil || place == nil {
		return scripted, err
	}
	seen := (*rest)[len(*rest)-1]
	if math.IsNaN(seen.Value(*place)) {
		b.say("  %s does not give these registers", in.Name)
		if scripted {
			return false, &channelError{"place", place.String(), "registers that " + in.Name + " gives"}
		}
		return true, nil
	}
	c := bench.DraftChannel{Instrument: in.Name, Place: bench.PlaceKeys(*place), Note: note}
	if err := b.channel(&c, given, seen.Value(*place), place.Format.Type.Float()); err != nil {
		return false, err
	}
	return true, nil
}

// take takes the next --channel that is meant for an instrument.
func (b *newBench) take(in bench.DraftInstrument, fits func(answers) bool) (answers, bool) {
	for i, a := range b.channels {
		if who := a.by["instrument"]; fits(a) && (who == "" || who == in.Name || who == strconv.Itoa(in.Address)) {
			b.channels = slices.Delete(b.channels, i, i+1)
			return a, true
		}
	}
	return answers{}, false
}

// place finds out where a channel stands; nil for none.
func (b *newBench) place(ctx context.Context, registers *discovery.Registers, rest *[]discovery.Snapshot, given answers, scripted bool) (*discovery.Place, string, error) {
	answer := given.by["place"]
	if !scripted {
		b.say("\nNext channel: press Enter, and then move what it measures (pump up, warm the")
		b.say("probe); or type where it stands, e.g. \"input 0 int16\"; or \"done\".")
		var err error
		if answer, err = b.ask(question{flag: "--channel", key: "place", text: "Channel", offered: "moved", check: func(s string) error {
			if s == "moved" || s == "done" {
				return nil
			}
			_, err := discovery.ParsePlace(s)
			return err
		}}); err != nil {
			return nil, "", err
		}
	}
	switch answer {
	case "done":
		return nil, "", nil
	case "moved":
		return b.moved(ctx, registers, rest, scripted)
	}
	p, err := discovery.ParsePlace(answer)
	if err != nil {
		return nil, "", &channelError{"place", answer, `where it stands, e.g. "input 0 int16", or "moved"`}
	}
	return &p, "", nil
}

// moved watches registers while something is moved and has the person choose.
func (b *newBench) moved(ctx context.Context, registers *discovery.Registers, rest *[]discovery.Snapshot, scripted bool) (*discovery.Place, string, error) {
	for {
		moving, err := b.watch(ctx, registers)
		if err != nil {
			return nil, "", err
		}
		found := discovery.Moved(*rest, moving)
		*rest = moving[max(0, len(moving)-restReadings):] // what is so now is the next one's rest
		if len(found) == 0 {
			b.say("nothing moved")
			if scripted {
				return nil, "", &channelError{"place", "moved, and nothing moved", "something to be moved while it is watched (--watch), or its place"}
			}
			again, err := b.agree("--channel", "Watch once more?", true)
			if err != nil || !again {
				return nil, "", err
			}
			continue
		}
		found = slices.DeleteFunc(found, func(c discovery.Candidate) bool { return c.Score < found[0].Score/5 })
		found = found[:min(8, len(found))]
		printCandidates(b.out, found)
		choice := 1
		if !scripted {
			answer, err := b.ask(question{flag: "--channel", key: "place", text: "Which one is it (number; again; none)", offered: "1", check: func(s string) error {
				if n, err := strconv.Atoi(s); (err != nil || n < 1 || n > len(found)) && s != "again" && s != "none" {
					return fmt.Errorf("found %q, want 1 to %d, again or none", s, len(found))
				}
				return nil
			}})
			if err != nil {
				return nil, "", err
			}
			if answer == "none" {
				return nil, "", nil
			}
			if answer == "again" {
				continue
			}
			choice, _ = strconv.Atoi(answer) // checked
		}
		c := found[choice-1]
		return &c.Place, fmt.Sprintf("Found by moving it: it went from %s to %s.", shortNumber(c.Rest), shortNumber(c.End)), nil
	}
}

// watch reads the registers over and over while something is moved.
func (b *newBench) watch(ctx context.Context, registers *discovery.Registers) ([]discovery.Snapshot, error) {
	long := 10 * time.Second // where nobody can press Enter
	if b.flags.watch > 0 {
		long = time.Duration(b.flags.watch * float64(time.Second))
		b.say("Watching for %s s: move it now …", number(b.flags.watch))
	} else {
		b.say("Watching: move it now, slowly and far, and press Enter when it is there …")
	}
	watching, stop := context.WithTimeout(ctx, long)
	if b.flags.watch == 0 && b.person {
		stop()
		watching, stop = b.until(ctx)
	}
	defer stop()
	var all []discovery.Snapshot
	for watching.Err() == nil {
		s, err := registers.Snapshot(ctx)
		switch {
		case errors.Is(err, link.ErrTimeout):
			continue // one that is missing is no matter
		case err != nil:
			return nil, mended(err)
		}
		all = append(all, s)
	}
	return all, ctx.Err()
}

func printCandidates(out io.Writer, found []discovery.Candidate) {
	fmt.Fprintln(out, "What moved, the likely first:")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  \tWHERE AND AS WHAT\tBEFORE\tNOW\tHOW IT WENT")
	for i, c := range found {
		how := "to and fro"
		switch {
		case c.Steady > 0.9 && c.Leap < 0.5:
			how = "steadily"
		case c.Steady > 0.9:
			how = "in one leap"
		case c.Steady > 0.6:
			how = "mostly one way"
		}
		fmt.Fprintf(w, "  %d\t%s\t%s\t%s\t%s\n", i+1, c.Place, shortNumber(c.Rest), shortNumber(c.End), how)
	}
	_ = w.Flush()
}

func shortNumber(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }
