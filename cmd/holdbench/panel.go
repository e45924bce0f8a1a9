package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"

	"holdbench/analysis/si"
	"holdbench/daq/procedure"
	"holdbench/daq/sensor"
	"holdbench/daq/sequence"
)

// banner stands on the screen as long as vented is not shown.
const banner = "TRAPPED PRESSURE: TREAT AS PRESSURISED"

// barSteps is the length of a phase's bar; the bar never reaches it, because
// a full bar ends.
const barSteps = 1000

// panel shows a run to the operator: prompts as lines, and how things stand
// as a progress bar on a terminal, as plain lines elsewhere.
type panel struct {
	w       io.Writer
	display si.Display
	// every is the clock time between two plain lines.
	every time.Duration

	// width of the terminal in columns; 0 where there is none.
	width int

	mu       sync.Mutex
	progress *mpb.Progress // nil where there is no terminal
	bar      *mpb.Bar
	last     sequence.Status
	phase    procedure.Phase
	lineAt   time.Duration
}

var _ sequence.Panel = (*panel)(nil)

// newPanel returns a panel that writes to w; terminal says that w can show a
// bar. It must be closed.
func newPanel(w io.Writer, display si.Display, terminal bool) *panel {
	p := &panel{w: w, display: display, every: 5 * time.Second}
	if terminal {
		p.width = widthOf(w)
		p.startBar(mpb.WithOutput(w))
	}
	return p
}

// startBar puts the bar on the screen.
func (p *panel) startBar(options ...mpb.ContainerOption) {
	p.progress = mpb.New(options...)
	shown := func(text func(sequence.Status) string) decor.Decorator {
		return decor.Any(func(decor.Statistics) string { return text(p.status()) })
	}
	p.bar = p.progress.New(barSteps, mpb.BarStyle(),
		mpb.BarFillerTrim(), // the spaces beside the bar are part of the texts, which stand side by side where there is no room for it
		mpb.PrependDecorators(shown(func(s sequence.Status) string { return phaseText(s) + " " })),
		mpb.AppendDecorators(shown(func(s sequence.Status) string { return prefixed(" ", remainingText(s)) }), shown(func(s sequence.Status) string { return "  " + p.readings(s) })),
		mpb.BarExtender(mpb.BarFillerFunc(func(w io.Writer, _ decor.Statistics) error {
			_, err := fmt.Fprintln(w, ventText(p.status()))
			return err
		}), false))
}

// status is the newest one.
func (p *panel) status() sequence.Status {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.last
}

// Prompt writes a prompt. What waits for an answer stands out.
func (p *panel) Prompt(q sequence.Prompt) {
	mark := "  "
	if q.Wants != "" {
		mark = "> "
	}
	p.line(mark + q.Text)
}

// Message writes a message, each of its lines on its own.
func (p *panel) Message(text string) {
	for line := range strings.Lines(text) {
		p.line("  " + strings.TrimRight(line, "\r\n"))
	}
}

// line writes one line, above the bar where there is one. On a terminal it is
// broken between words, because a line that wraps by itself leaves pieces of
// the bar behind.
func (p *panel) line(text string) {
	if p.width > 0 {
		text = wrapped(text, p.width)
	}
	p.mu.Lock()
	w := p.w
	if p.progress != nil {
		w = p.progress
	}
	p.mu.Unlock()
	// Nobody is left to tell when the screen itself cannot be written; the
	// recording and the vent watch do not depend on it.
	_, _ = fmt.Fprintln(w, text)
}

// Status moves the bar, or writes a line at each phase and now and then.
func (p *panel) Status(s sequence.Status) {
	p.mu.Lock()
	p.last = s
	due := s.Phase != p.phase || s.At-p.lineAt >= p.every
	if due {
		p.phase, p.lineAt = s.Phase, s.At
	}
	bar := p.bar
	p.mu.Unlock()
	switch {
	case bar != nil:
		bar.SetCurrent(barAt(s))
	case due:
		p.line(strings.Join([]string{phaseText(s) + prefixed(", ", remainingText(s)), p.readings(s), ventText(s)}, "  "))
	}
}

// barAt is how far the bar is: the part of a timed phase that has passed.
func barAt(s sequence.Status) int64 {
	whole := s.Elapsed + s.Remaining
	if !s.Timed || whole <= 0 {
		return 0
	}
	return min(int64(barSteps*s.Elapsed.Seconds()/whole.Seconds()), barSteps-1)
}

// close takes the bar off the screen and says how the run ended.
func (p *panel) close(o sequence.Outcome) {
	p.mu.Lock()
	progress, bar := p.progress, p.bar
	p.progress, p.bar = nil, nil
	p.mu.Unlock()
	if progress != nil {
		bar.Abort(true)
		progress.Wait()
	}
	state := strings.ToUpper(o.Vented)
	if o.Vented == sequence.TreatAsPressurised {
		state = banner
	}
	p.line(state + ": " + o.Reason)
}

// widthOf is the width of the terminal behind w, or the usual one.
func widthOf(w io.Writer) int {
	if f, ok := w.(*os.File); ok {
		if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns > 20 {
			return columns
		}
	}
	return 80
}

// wrapped breaks a line between words so that no part is wider than width;
// what follows is indented like the line.
func wrapped(text string, width int) string {
	if utf8.RuneCountInString(text) < width {
		return text
	}
	indent := text[:len(text)-len(strings.TrimLeft(text, " >"))]
	var out strings.Builder
	column := 0
	for i, word := range strings.Fields(text[len(indent):]) {
		long := utf8.RuneCountInString(word)
		switch {
		case i == 0:
			out.WriteString(indent)
			column = len(indent)
		case column+1+long >= width:
			out.WriteString("\n" + strings.Repeat(" ", len(indent)))
			column = len(indent)
		default:
			out.WriteString(" ")
			column++
		}
		out.WriteString(word)
		column += long
	}
	return out.String()
}

// phaseText is "hold 1:20".
func phaseText(s sequence.Status) string {
	return fmt.Sprintf("%s %s", s.Phase, clockText(s.Elapsed))
}

// remainingText is "3:40 left", or nothing where the operator ends the phase.
// Of a hold that is looked at it says how long it may go on.
func remainingText(s sequence.Status) string {
	switch {
	case !s.Timed:
		return ""
	case s.Until > 0 && s.Elapsed >= s.Until && s.Longest > s.Until:
		return "goes on, to " + clockText(s.Longest) + " at most"
	case s.Longest > s.Until:
		return "looks until " + clockText(s.Until) + ", may go on to " + clockText(s.Longest)
	case s.Until > 0:
		return "looks until " + clockText(s.Until)
	}
	return clockText(s.Remaining) + " left"
}

// prefixed puts a mark before a text that is not empty.
func prefixed(mark, text string) string {
	if text == "" {
		return ""
	}
	return mark + text
}

// readings are pressure, feed pressure and temperature of each circuit.
func (p *panel) readings(s sequence.Status) string {
	var parts []string
	for _, c := range s.Circuits {
		parts = append(parts, fmt.Sprintf("%s %s, feed %s, %s", c.Name,
			p.figure(c.Trapped, si.Pressure, 1e4), p.figure(c.Feed, si.Pressure, 1e5), p.figure(c.Temperature, si.Temperature, 0.1)))
	}
	for _, w := range s.Switches {
		state := "–"
		if w.Known {
			state = sensor.OnOff(w.On)
		}
		parts = append(parts, w.Name+" "+state)
	}
	return strings.Join(parts, "; ")
}

// figure writes x (SI) in display units to about a tenth of step (SI).
func (p *panel) figure(x float64, q si.Quantity, step float64) string {
	if math.IsNaN(x) {
		return "–"
	}
	u := p.display.Unit(q)
	return si.Format(u.FromSI(x), si.Decimals(step/u.Factor)) + " " + u.Symbol
}

// ventText is the banner until vented is shown.
func ventText(s sequence.Status) string {
	if s.Vent.State == "" || s.Vent.State == sequence.TreatAsPressurised {
		return banner
	}
	return s.Vent.State
}

// clockText is "4:05", or "1:04:05" from an hour upwards.
func clockText(d time.Duration) string {
	s := int(max(d, 0) / time.Second)
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// readAnswers hands on what the operator types, line by line, until r ends;
// say shows help, and what was not understood. It returns r's error, nil at
// its end.
func readAnswers(r io.Reader, answer func(sequence.Answer), say func(string)) error {
	lines := bufio.NewScanner(r)
	for lines.Scan() {
		switch a, help, err := sequence.ParseAnswer(lines.Text()); {
		case help:
			say(sequence.Spoken)
		case err != nil:
			say(err.Error())
		default:
			answer(a)
		}
	}
	return lines.Err()
}
