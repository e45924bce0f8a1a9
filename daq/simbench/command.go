package simbench

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"holdbench/analysis/si"
)

// verb is one command that a person may type to a simulated bench.
type verb struct {
	words string // what it begins with
	args  string // what follows, for help
	help  string
	do    func(r *Rig, rest string) (string, error)
}

// pumpTime is how long a typed pump takes.
const pumpTime = 8 * time.Second

// verbs is the one table of commands; help lists it. (A function: help is in
// it.)
func verbs() []verb {
	return []verb{
		{"pump", "[PRESSURE]", "pump up to a pressure, e.g. pump 100 bar (without one: the test pressure)", doPump},
		{"lock", "", "lock the valve: nothing leaves the trapped side but by its leak", plainly("locked", (*Rig).Lock)},
		{"vent feed", "", "open the feed side to the tank", plainly("feed side vented", (*Rig).VentFeed)},
		{"leave feed", "RATE", "leave the feed side closed and slowly pumped, e.g. leave feed 1 bar/min", doLeaveFeed},
		{"release", "", "open the valve and the vent: the trapped side empties", plainly("released", (*Rig).Release)},
		{"leak", "RATE", "give the unit a leak, e.g. leak 0.3 bar/min", doLeak},
		{"temperature", "RATE", "let the unit's temperature run, e.g. temperature -0.2 K/min", doTemperature},
		{"break", "CHANNEL WHAT", "break a channel's wire, short its sensor (short) or let it stand still (stuck), e.g. break trapped_a wire", doBreak},
		{"mend", "CHANNEL", "make a broken channel whole again", doMend},
		{"unplug", "LINK", "pull the cable of a link", doUnplug},
		{"plug", "LINK", "put the cable of a link in again", doPlug},
		{"state", "", "what is true now, as no instrument sees it", doState},
		{"help", "", "this list", doHelp},
	}
}

// Command does what a line of text says, e.g. "pump 100 bar", and returns
// what to answer. The error is for a person to read: an unknown command, a
// figure without its unit, no such link. An empty line does nothing.
func (r *Rig) Command(line string) (reply string, err error) {
	words := strings.Fields(line)
	text := strings.Join(words, " ")
	if text == "" {
		return "", nil
	}
	for _, v := range verbs() {
		rest, ok := strings.CutPrefix(text, v.words)
		if !ok || rest != "" && rest[0] != ' ' {
			continue
		}
		rest = strings.TrimSpace(rest)
		if v.args == "" && rest != "" {
			return "", fmt.Errorf("%s: found %q, want nothing more", v.words, rest)
		}
		if v.args != "" && v.args[0] != '[' && rest == "" {
			return "", fmt.Errorf("%s: found nothing, want %s", v.words, v.args)
		}
		reply, err := v.do(r, rest)
		if err != nil {
			return "", fmt.Errorf("%s: %w", v.words, err)
		}
		return reply, nil
	}
	return "", fmt.Errorf("found %q, want one of the commands that help lists", words[0])
}

func plainly(reply string, do func(*Rig)) func(*Rig, string) (string, error) {
	return func(r *Rig, _ string) (string, error) {
		do(r)
		return reply, nil
	}
}

func doPump(r *Rig, rest string) (string, error) {
	to := r.testPressure()
	if rest != "" {
		p, err := si.Parse(rest, si.Pressure)
		if err != nil {
			return "", err
		}
		if !(p >= 0 && p <= 1e8) {
			return "", fmt.Errorf("found %q, want a pressure from 0 to 1000 bar", rest)
		}
		to = p
	}
	r.Pump(to, pumpTime)
	return fmt.Sprintf("pumping to %.6g bar in %v", to/1e5, pumpTime), nil
}

func doLeaveFeed(r *Rig, rest string) (string, error) {
	rate, err := si.Parse(rest, si.PressureRate)
	if err != nil {
		return "", err
	}
	r.LeaveFeed(rate)
	return "feed side left closed, pumped at " + rest, nil
}

func doLeak(r *Rig, rest string) (string, error) {
	rate, err := si.Parse(rest, si.PressureRate)
	if err != nil {
		return "", err
	}
	if !(rate >= 0) {
		return "", fmt.Errorf("found %q, want a rate of loss, zero or more", rest)
	}
	r.SetLeak(rate)
	return fmt.Sprintf("leaking %s at %.6g bar", rest, r.testPressure()/1e5), nil
}

func doTemperature(r *Rig, rest string) (string, error) {
	rate, err := si.Parse(rest, si.TemperatureRate)
	if err != nil {
		return "", err
	}
	r.SetTemperature(Programme{Start: math.NaN(), Rate: rate})
	return "temperature running at " + rest, nil
}

func doUnplug(r *Rig, rest string) (string, error) { return rest + " unplugged", r.Unplug(rest) }

func doPlug(r *Rig, rest string) (string, error) { return rest + " plugged in", r.Replug(rest) }

func doState(r *Rig, _ string) (string, error) {
	var lines []string
	for _, s := range r.States() {
		lines = append(lines, s.String())
	}
	return strings.Join(lines, "\n"), nil
}

// String is the state in one line, in bar and °C.
func (s State) String() string {
	valve, feed := "open", "closed"
	if s.Locked {
		valve = "locked"
	}
	switch {
	case s.FeedVented:
		feed = "vented"
	case s.FeedCreeping:
		feed = "slowly pumped"
	}
	return fmt.Sprintf("%scircuit %s: trapped %.3f bar, feed %.3f bar (%s), valve %s, liquid %.3f °C, body %.3f °C, room %.2f °C",
		prefix(s.Position), s.Circuit, s.Trapped/1e5, s.Feed/1e5, feed, valve, s.Liquid-273.15, s.Body-273.15, s.Room-273.15)
}

func prefix(position string) string {
	if position == "" {
		return ""
	}
	return position + ", "
}

func doHelp(*Rig, string) (string, error) {
	var lines []string
	for _, v := range verbs() {
		lines = append(lines, fmt.Sprintf("%-22s %s", strings.TrimSpace(v.words+" "+v.args), v.help))
	}
	return strings.Join(lines, "\n"), nil
}

// testPressure is that of the unit that is mounted, Pa.
func (r *Rig) testPressure() float64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	return cmp.Or(r.flows[0].c.TestPressure, 100e5)
}
