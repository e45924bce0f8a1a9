package simbench

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/textline"
)

// writer writes the lines of a text instrument that hold some of its channels.
type writer struct {
	rig      *Rig
	format   textline.Format
	end      string
	channels []int // of the bench
	fields   []textline.Field
}

// newWriter returns what writes those channels of an instrument.
func newWriter(r *Rig, in bench.Instrument, channels []int) *writer {
	w := &writer{rig: r, format: in.Format(), end: in.Text.Terminator, channels: channels}
	if w.end == "" {
		w.end = "\r\n"
	}
	if c := w.format.Check; c.Sum.Of != nil && c.After == w.end {
		w.end = "" // the line ends with its check
	}
	for _, i := range channels {
		w.fields = append(w.fields, r.bench.Channels[i].TextField())
	}
	return w
}

// line returns the next line with its end: the channels' numbers now.
func (w *writer) line() []byte {
	sent := w.rig.read(w.channels)
	texts := make([]string, len(sent))
	for k, x := range sent {
		texts[k] = w.text(k, x)
	}
	return []byte(w.built(texts) + w.end)
}

// text is the k-th channel's number, or word, as sent.
func (w *writer) text(k int, x float64) string {
	f := w.fields[k]
	switch {
	case f.On != "" && x >= 0.5:
		return f.On
	case f.On != "":
		return f.Off
	case math.IsNaN(x):
		return "9.91E37"
	case math.IsInf(x, 1):
		return "9.9E37"
	case math.IsInf(x, -1):
		return "-9.9E37"
	}
	n := decimals(w.rig.views[w.channels[k]])
	if f.Decimals != nil {
		n = *f.Decimals
	}
	text := strconv.FormatFloat(x, 'f', n, 64)
	if f.Written != "" && f.UnitColumn == 0 {
		text += f.Written
	}
	return text
}

// decimals returns how many decimals show a channel's resolution, four where
// it states none.
func decimals(v view) int {
	if !(v.step > 0) {
		return 4
	}
	return max(0, min(9, int(math.Ceil(-math.Log10(v.step)-1e-9))))
}

// built is a line without its end, of the channels' texts. A column that no
// channel reads shows 0.
func (w *writer) built(texts []string) string {
	body := w.fixed(texts)
	if body == "" {
		body = strings.Join(w.columns(texts), w.separator())
	}
	f := w.format
	around := len([]rune(f.Prefix + f.Suffix))
	if f.Check.Sum.Of != nil {
		around += len([]rune(f.Check.After)) + len(f.Check.Write(""))
	}
	if short := f.Length - around - len([]rune(body)); short > 0 {
		body += strings.Repeat(" ", short)
	}
	if f.Check.Sum.Of == nil {
		return f.Prefix + body + f.Suffix
	}
	return f.Check.Line(f.Prefix, body) + f.Suffix
}

func (w *writer) separator() string {
	if w.format.Separator == "" {
		return " "
	}
	return w.format.Separator
}

// fixed is the text of a line whose fields stand at fixed places, each to the
// right of its own; empty for any other.
func (w *writer) fixed(texts []string) string {
	width := 0
	for _, f := range w.fields {
		width = max(width, f.To)
	}
	line := []rune(strings.Repeat(" ", width))
	for k, f := range w.fields {
		if f.From == 0 {
			continue
		}
		text := []rune(texts[k])
		if room := f.To - f.From + 1; len(text) > room {
			text = []rune(strings.Repeat("-", room)) // as displays that are too short do
		}
		copy(line[f.To-len(text):], text)
	}
	return string(line)
}

// columns are the columns of a line: numbers where channels read them, units
// beside them, then fields with names and what patterns find.
func (w *writer) columns(texts []string) (out []string) {
	set := func(column int, text string) {
		for len(out) < column {
			out = append(out, "0")
		}
		out[column-1] = text
	}
	for k, f := range w.fields {
		if f.Column > 0 {
			set(f.Column, texts[k])
		}
	}
	for k, f := range w.fields {
		if f.UnitColumn > 0 {
			unit := f.Written
			if unit == "" {
				unit = w.rig.bench.Channels[w.channels[k]].RawUnit
			}
			set(f.UnitColumn, unit)
		}
	}
	for k, f := range w.fields {
		switch {
		case f.Name != "":
			out = append(out, f.Name+"="+texts[k])
		case f.Pattern != nil:
			out = append(out, matching(f.Pattern, texts[k]))
		}
	}
	return out
}

// check says whether the program could read what is written here.
func (w *writer) check() error {
	texts := make([]string, len(w.fields))
	for k := range texts {
		texts[k] = w.text(k, 1)
	}
	line := w.built(texts)
	if err := w.format.Read(line, w.fields, make([]daq.Signal, len(w.fields))); err != nil {
		return fmt.Errorf("it would send %q, which does not fit what the bench file says of it: %w", line, err)
	}
	return nil
}

// channelsOf are the channels of an instrument that fit.
func (r *Rig) channelsOf(in bench.Instrument, fits func(bench.Channel) bool) (which []int) {
	for i, c := range r.bench.Channels {
		if c.Instrument == in.Name && fits(c) {
			which = append(which, i)
		}
	}
	return which
}

func each(bench.Channel) bool { return true }

// checkTexts says whether every text instrument can be simulated.
func (r *Rig) checkTexts() error {
	for _, in := range r.bench.Instruments {
		var writers []*writer
		switch in.Kind {
		case bench.TextStream:
			writers = append(writers, newWriter(r, in, r.channelsOf(in, each)))
		case bench.TextAsked:
			for _, w := range newMeter(r, in).writers {
				writers = append(writers, w)
			}
		}
		for _, w := range writers {
			if err := w.check(); err != nil {
				return fmt.Errorf("instrument %q: %w", in.Name, err)
			}
		}
	}
	return nil
}

// stream is an instrument that sends lines of text.
type stream struct {
	*writer
	sent int
}

func newStream(r *Rig, in bench.Instrument) *stream {
	return &stream{writer: newWriter(r, in, r.channelsOf(in, each))}
}

// remarkEvery is how often an instrument whose lines may be comments sends
// one.
const remarkEvery = 20

// line returns the next line with its end, now and then a comment before it.
func (s *stream) line() []byte {
	line := s.writer.line()
	if s.sent++; len(s.format.Comment) > 0 && s.sent%remarkEvery == 1 {
		line = append([]byte(s.format.Comment[0]+" simulated"+s.end), line...)
	}
	return line
}
