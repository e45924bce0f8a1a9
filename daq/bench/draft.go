package bench

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/discovery"
)

// Draft is a bench file in the making: what was found out about instruments
// and said about their channels. Its Text is a commented bench file. Figures
// are texts with their units, as bench files have them.
type Draft struct {
	Name, Location string
	// Made says when and by what, for the file's first line.
	Made        string
	Links       []DraftLink
	Instruments []DraftInstrument
	Channels    []DraftChannel
	Circuits    []Circuit
}

// DraftLink is a [[link]].
type DraftLink struct {
	Name string
	// Where is the line that names the port, e.g. `port = "COM3"`, WhereNote
	// what to say beside it.
	Where, WhereNote string
	// Framing is not written for a port behind TCP.
	Framing discovery.Framing
	TCP     bool
	Timeout time.Duration
}

// DraftInstrument is an [[instrument]].
type DraftInstrument struct {
	Name, Kind, Link string
	// Address of a slave or unit; negative for none.
	Address  int
	Interval time.Duration
	// Keys are further lines, Note what was seen of it, for a comment.
	Keys []string
	Note string
}

// DraftChannel is a [[channel]].
type DraftChannel struct {
	Name       string
	Quantity   si.Quantity
	Instrument string
	// Place are the lines that say where it stands, Note what was seen there.
	Place []string
	Note  string
	// RawScale × the number sent is in RawUnit; 0 is 1.
	RawScale float64
	RawUnit  string
	// Conversion are the lines of its conversion, e.g. scaling; nil for none.
	Conversion []string
	Absolute   bool
	// RangeLow and RangeHigh, empty where not known, and Accuracy likewise.
	RangeLow, RangeHigh, Accuracy string
	// Certificate, empty where it is to be written later, its Date and Due day
	// as 2026-03-02, and its standard uncertainty.
	Certificate, Date, Due, Uncertainty string
}

// writer writes the lines of a bench file.
type writer struct{ b strings.Builder }

func (w *writer) line(text string) { w.b.WriteString(text + "\n") }

// key writes a line, with what is said of it beside it.
func (w *writer) key(text, note string) {
	if note == "" {
		w.line(text)
		return
	}
	w.line(fmt.Sprintf("%-28s# %s", text, note))
}

func (w *writer) text(key, value, note string) {
	if value != "" {
		w.key(key+" = "+tomlQuote(value), note)
	}
}

// tomlQuote is a basic string of TOML.
func tomlQuote(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// tableHead begins a part of the file.
func (w *writer) part(title string) {
	w.line("")
	w.line("# --- " + title + " " + strings.Repeat("-", max(3, 72-len(title))))
}

// Text is the bench file.
func (d Draft) Text() string {
	var w writer
	w.line("# " + d.Made + "; every line of it may be changed by hand.")
	w.line("#")
	w.line(`# Every physical figure is a text with its unit. "a ± b" is a value and its`)
	w.line("# STANDARD uncertainty (k = 1); a certificate that states an expanded")
	w.line("# uncertainty with k = 2 is halved here.")
	w.line("")
	w.text("name", d.Name, "characterisations and results name it")
	w.text("location", d.Location, "")
	w.line("")
	w.line("# The air pressure turns absolute readings into gauge ones. Without these lines")
	w.line("# it is 101325 Pa ± 3000 Pa, and results say so.")
	w.line("# [ambient]")
	w.line(`# pressure = "1013 ± 3 mbar"`)
	w.part("links: byte streams to instruments")
	for _, l := range d.Links {
		l.write(&w)
	}
	w.part("instruments")
	for _, in := range d.Instruments {
		in.write(&w)
	}
	w.part("channels")
	for _, c := range d.Channels {
		c.write(&w)
	}
	d.position(&w)
	return w.b.String()
}

func (l DraftLink) write(w *writer) {
	w.line("")
	w.line("[[link]]")
	w.text("name", l.Name, "")
	w.key(l.Where, l.WhereNote)
	if !l.TCP {
		w.key("baud = "+strconv.Itoa(l.Framing.Baud), "as the instruments are set")
		w.key("data_bits = "+strconv.Itoa(l.Framing.DataBits), "")
		w.text("parity", l.Framing.Parity, `"none", "even" or "odd"`)
		w.key("stop_bits = "+strconv.Itoa(l.Framing.StopBits), "")
	}
	w.text("timeout", duration(l.Timeout), "of one exchange")
}

func (in DraftInstrument) write(w *writer) {
	w.line("")
	if in.Note != "" {
		w.line("# " + in.Note)
	}
	w.line("[[instrument]]")
	w.text("name", in.Name, "")
	w.text("kind", in.Kind, "")
	w.text("link", in.Link, "")
	if in.Address >= 0 {
		w.key("address = "+strconv.Itoa(in.Address), "")
	}
	for _, k := range in.Keys {
		w.line(k)
	}
	note := "between two scans"
	if in.Kind == TextStream {
		note = "at which lines are expected"
	}
	w.text("interval", duration(in.Interval), note)
}

func (c DraftChannel) write(w *writer) {
	w.line("")
	if c.Note != "" {
		w.line("# " + c.Note)
	}
	w.line("[[channel]]")
	w.text("name", c.Name, "")
	for word, q := range channelQuantities {
		if q == c.Quantity {
			w.text("quantity", word, "")
		}
	}
	w.text("instrument", c.Instrument, "")
	for _, k := range c.Place {
		w.line(k)
	}
	if c.RawScale != 0 && c.RawScale != 1 {
		w.key("raw_scale = "+strconv.FormatFloat(c.RawScale, 'g', -1, 64), "number sent × raw_scale is in raw_unit")
	}
	w.text("raw_unit", c.RawUnit, "")
	for _, k := range c.Conversion {
		w.line(k)
	}
	if c.Quantity == si.Pressure {
		reference := "gauge"
		if c.Absolute {
			reference = "absolute"
		}
		w.text("reference", reference, `"gauge" or "absolute"`)
	}
	if c.RangeLow != "" && c.RangeHigh != "" {
		w.line(fmt.Sprintf("range = [%s, %s]", tomlQuote(c.RangeLow), tomlQuote(c.RangeHigh)))
	}
	if c.Accuracy != "" {
		w.text("accuracy", c.Accuracy, "the maker's limits of error ±")
	} else {
		w.line("# TODO accuracy of " + c.Name + `: the maker's limits of error ±, e.g. accuracy = "` + c.errorExample() + `"`)
	}
	c.calibration(w)
}

// errorExample is a limit of error of the channel's kind.
func (c DraftChannel) errorExample() string {
	switch c.Quantity {
	case si.Pressure:
		return "0.25 bar"
	case si.Temperature:
		return "0.3 K"
	}
	return "0.1 %"
}

func (c DraftChannel) calibration(w *writer) {
	if c.Certificate == "" {
		w.line("# TODO certificate of " + c.Name + ": number, date, due date and standard uncertainty of its calibration:")
		w.line("# [channel.calibration]")
		w.line(`# certificate = "C-2026-0117"`)
		w.line("# date = 2026-03-02")
		w.line("# due = 2027-03-02")
		w.line(`# uncertainty = "` + map[bool]string{true: "0.1 K", false: "0.05 bar"}[c.Quantity == si.Temperature] + `"       # standard uncertainty (k = 1)`)
		return
	}
	w.line("")
	w.line("[channel.calibration]")
	w.text("certificate", c.Certificate, "")
	w.line("date = " + c.Date)
	w.line("due = " + c.Due)
	w.text("uncertainty", c.Uncertainty, "standard uncertainty (k = 1)")
}

// position writes the one place for a unit.
func (d Draft) position(w *writer) {
	w.part("positions: places for one unit each")
	w.line("")
	if len(d.Circuits) == 0 {
		w.line("# TODO position: which channels watch the unit, e.g.")
		for _, l := range []string{"[[position]]", `name = "1"`, "[[position.circuit]]", `name = "a"`, `trapped = "trapped_a"`, `feed = "unmeasured"`, `temperature = "body"`} {
			w.line("# " + l)
		}
		return
	}
	w.line("[[position]]")
	w.text("name", "1", "")
	for _, c := range d.Circuits {
		w.line("")
		w.line("[[position.circuit]]")
		w.text("name", c.Name, `"a" or "b"`)
		w.text("trapped", c.Trapped, "pressure of the trapped side")
		feed := c.Feed
		if c.FeedUnmeasured {
			feed = "unmeasured"
		}
		w.text("feed", feed, "pressure of the feed side, or \"unmeasured\"")
		if c.Temperature != "" {
			w.text("temperature", c.Temperature, "of the trapped liquid, as near as it was put")
		} else {
			w.line("# TODO temperature of circuit " + c.Name + `: most holds need it, e.g. temperature = "body"`)
		}
	}
}

// duration is a time as bench files have it.
func duration(d time.Duration) string {
	if d <= 0 {
		return ""
	}
	return strconv.FormatFloat(d.Seconds(), 'g', -1, 64) + " s"
}

// PlaceKeys are the lines of a [[channel]] table that say where in a slave's
// registers it stands.
func PlaceKeys(p discovery.Place) []string {
	out := []string{fmt.Sprintf("%-28s# %s", "function = "+strconv.Itoa(int(p.Function)), map[byte]string{3: "holding registers", 4: "input registers"}[p.Function]),
		fmt.Sprintf("%-28s# protocol address, from 0", "register = "+strconv.Itoa(int(p.Register))),
		"type = " + tomlQuote(p.TypeWord())}
	order := map[bool]string{true: `"low-first"`, false: `"high-first"`}
	if p.Format.Registers() > 1 {
		out = append(out, "word_order = "+order[p.Format.LowWordFirst])
	}
	if p.Format.LowByteFirst {
		out = append(out, "byte_order = "+order[true])
	}
	return out
}
